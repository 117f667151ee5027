/*
 * What the files of planning share. The way through them: known.c leaves out what cannot be
 * believed and sorts the rest; ends.c says what is still on the car; cure.c, forecast.c and
 * wear.c do the sums; dues.c makes dues of them; gather.c and intents.c make messages of the
 * dues; restraint.c gives them their days; plan.c is the whole walk.
 *
 * Roundings: a cure's end is rounded up to the second (never before the label), everything worn
 * to the nearest.
 */
#ifndef BEADLINE_PLAN_INTERNAL_H
#define BEADLINE_PLAN_INTERNAL_H

#include "beadline/plan.h"

/* Facts dated further ahead of now than this are left out until they are not. */
#define PLAN_AHEAD BL_DAY

/* What was left out, and when the first of it will count. */
struct plan_notes {
    GPtrArray *skipped; /* char * */
    int64_t next;
};

/* A car as it is known at one instant: the facts that count, sorted by instant and id. */
struct known_car {
    struct bl_car car; /* texts borrowed, arrays its own */
    GArray *ends;      /* struct car_end, one a treatment, in their order */
};

/* notes may be NULL. The source must outlive known. */
void known_car_init(struct known_car *known, const struct bl_car *source, int64_t now,
                    struct plan_notes *notes);
void known_car_clear(struct known_car *known);

/* What became of a treatment. BL_NEVER where it did not happen. */
struct car_end {
    int64_t at;         /* the protection's end by strip, polish or a newer treatment */
    const char *by;     /* static text, or NULL */
    int64_t removed_at; /* taken off the car (not merely covered): its cure is void too */
    int64_t cured_at;   /* an event says it was cured indoors then */
};

/* One for each of car->treatments, which are sorted. Linear in treatments and events. */
GArray *car_ends(const struct bl_car *car);

#define CURE_NONE INT64_MIN

/* What one job leaves to cure. */
struct cure_line {
    const struct bl_job *job;
    int64_t end;      /* of the latest cure, or of the owner's own date; CURE_NONE */
    int32_t date;     /* the first civil day that begins at or after end; BL_NO_DATE */
    guint treatments; /* that can be told of */
};

/* One a job, in their order. */
GArray *cure_lines(const struct known_car *known, const struct bl_shop *shop);

/* The prior for the car, km a year: declared, else the shop's. */
double forecast_prior(const struct bl_car *car, const struct bl_shop *shop);

/* The rate measured between two neighbouring readings; false when they measure none (the same
 * instant, another instrument, backwards, or further than a car goes). */
bool forecast_stretch(const struct bl_reading *a, const struct bl_reading *b, double *km_a_day);

/* As bl_wear_life for a treatment whose end and car's forecast are known. end may be NULL. */
struct wear_use {
    const struct bl_car *car;
    double prior, forecast; /* km a day */
};
void wear_life(const struct wear_use *use, const struct bl_treatment *treatment,
               const struct car_end *end, struct bl_life *life);

struct plan_run {
    const struct bl_facts *facts;
    const struct bl_shop *shop;
    int64_t now;
    struct bl_plan *plan;
    GHashTable *ended; /* struct bl_ended * of facts->ended */
};

void dues_of_car(const struct plan_run *run, const struct known_car *known);

/* Makes the intents of the plan's dues (sorted by key) and lowers *replan_at to the first
 * instant at which time alone changes them. */
void intents_make(const struct plan_run *run, int64_t *replan_at);

/* Messages that want to go together, before they have their day. */
struct bundle {
    enum bl_kind kind;
    int64_t right; /* since when it wants to go; it does not move with now */
    int64_t ideal; /* the sending instant it wants, not before now */
    int64_t from, not_after;
    GArray *dues; /* guint */
};

#define PLAN_NO_HOUR "no sending hour is left in its window"

/* Gives every bundle (struct bundle) its day and appends the intents; empties them. */
void restraint_place(const struct plan_run *run, GArray *bundles);

/* Appends an intent that says why nothing goes. Takes dues. */
void intent_lapse(const struct plan_run *run, enum bl_kind kind, GArray *dues, const char *why);

/* Sorts the dues, and sets from and not_after from them. */
void bundle_measure(const struct plan_run *run, struct bundle *bundle);

#endif
