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
    GArray *indoors;   /* struct bl_event: its hours of cure indoors; borrowed texts */
};

/* notes may be NULL. The source must outlive known. */
void known_car_init(struct known_car *known, const struct bl_car *source, int64_t now,
                    struct plan_notes *notes);
void known_car_clear(struct known_car *known);

#define CAR_END_BARE G_MAXUINT

/* What became of a treatment. BL_NEVER where it did not happen. */
struct car_end {
    int64_t at;         /* the protection's end by strip, polish or a newer treatment */
    const char *by;     /* static text, or NULL */
    int happening;      /* the event that did it: enum bl_happening, or -1 */
    guint under;        /* the treatment that did it, by index, or CAR_END_BARE */
    int64_t removed_at; /* taken off the car (not merely covered): its cure is void too */
    int64_t cured_at;   /* an event says it was cured indoors then */
};

/* Whether the event is hours of cure at a known temperature. */
bool event_cures_for_hours(const struct bl_event *event);

/* Whether the event speaks of the treatment; surface stands in when it names none. */
bool event_names(const struct bl_event *event, int surface,
                 const struct bl_treatment *treatment);

/* Whether two treatments are on one place: the same part, or one on the whole surface. */
bool same_place(const struct bl_treatment *a, const struct bl_treatment *b);

/* One for each of car->treatments, which are sorted. Linear in treatments and events. */
GArray *car_ends(const struct bl_car *car);

#define CURE_NONE INT64_MIN

/* One treatment's cure. job may be NULL, events too. */
struct cure_case {
    const struct bl_treatment *treatment;
    const struct bl_job *job;
    const struct bl_shop *shop;
    const GArray *indoors; /* struct bl_event: hours of cure, or NULL */
};

/* When the label's time is full, or the longest over (held); days, when not NULL, receives the
 * sum (struct bl_cure_day). In cure_sum.c. */
int64_t cure_sum(const struct cure_case *cure, GArray *days, bool *held);

/* Days on the label's scale the treatment has to gather after its last coat, and the most it
 * takes however cold. */
double cure_days_asked(const struct bl_treatment *treatment, const struct bl_job *job);
double cure_longest(const struct bl_treatment *treatment);

/* An instant so many seconds after another, rounded up: no label's time is shortened. Values
 * that a division left a hair above a whole second are not pushed to the next. */
int64_t cure_after(int64_t at, double seconds);

/* What one job leaves to cure. */
struct cure_line {
    const struct bl_job *job;
    int64_t end;      /* of the latest cure, or of the owner's own date; CURE_NONE */
    int64_t binds;    /* the treatment that end is of; 0: the owner's own date */
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

/* What use of a car's protections runs on. */
struct wear_use {
    const struct bl_car *car;
    const struct bl_shop *shop;
    double prior, forecast; /* km a day */
};
struct wear_use wear_use_of(const struct bl_car *car, const struct bl_shop *shop);

/* A piece of use in which nothing changes. */
struct use_piece {
    int64_t from, to; /* to: BL_NEVER, it goes on */
    enum bl_driven driven;
    double km_a_day, raw, speed; /* as in struct bl_stretch */
    unsigned exposed;
    double exposure;
    double rate; /* days of use a day: speed x exposure */
};

/* The pieces of use of a treatment from its last coat on, in order; the last goes on for ever.
 */
struct use_walk {
    const struct wear_use *use;
    const struct bl_rule *rule;
    int64_t at;
    guint reading;
    unsigned always, in_winter; /* which of the rule's exposures the car has */
};
void use_begin(struct use_walk *walk, const struct wear_use *use,
               const struct bl_treatment *treatment);
struct use_piece use_next(struct use_walk *walk);

/* V from the last coat to the instant; 0 before. */
double use_until(const struct wear_use *use, const struct bl_treatment *treatment, int64_t at);

/* The instant V reaches so many days, to the nearest second; BL_NEVER when it is over 200 years
 * off. */
int64_t use_reaches(const struct wear_use *use, const struct bl_treatment *treatment,
                    double days);

/* Past it an end is no date to plan with. */
#define WEAR_LONGEST_DAYS (200 * BL_YEAR_DAYS)

/* upkeep.c */

/* What keeps a treatment alive, and how that went so far. */
struct upkeep {
    GArray *cares;   /* int64_t: those recorded for it, each instant once */
    int64_t last;    /* the last upkeep instant: where the open stretch begins */
    int64_t opened;  /* the care that opened it, by id; 0 the application */
    bool habit;      /* two cares, the last two stretches in time, and the open one at now */
    int64_t lost_at; /* when the open stretch would be too long; BL_NEVER without a habit */
};
void upkeep_init(struct upkeep *upkeep, const struct wear_use *use,
                 const struct bl_treatment *treatment, int64_t now);
void upkeep_clear(struct upkeep *upkeep);

/* How long the stretch between two instants is, as the rule counts: V, or by the calendar. */
double upkeep_measure(const struct wear_use *use, const struct bl_treatment *treatment,
                      int64_t from, int64_t to);

/* The instant so many days after the last upkeep instant, on V or by the calendar as the rule
 * says. */
int64_t upkeep_after(const struct upkeep *upkeep, const struct wear_use *use,
                     const struct bl_treatment *treatment, double days);

/* wear.c */

/* As bl_wear_life for a treatment whose end is known. end may be NULL. */
struct wear_case {
    const struct wear_use *use;
    const struct bl_treatment *treatment;
    const struct upkeep *upkeep;
    const struct car_end *end;
};
void wear_life(const struct wear_case *wear, struct bl_life *life);

struct plan_run {
    const struct bl_facts *facts;
    const struct bl_shop *shop;
    int64_t now;
    struct bl_plan *plan;
    GHashTable *ended; /* struct bl_ended * of facts->ended */
};

/* Adds the car's dues and lowers *replan_at to the first instant at which time alone changes
 * them. */
void dues_of_car(const struct plan_run *run, const struct known_car *known, int64_t *replan_at);

/* A due of the car with nothing in it yet. */
struct bl_due due_begin(enum bl_kind kind, int64_t subject, const struct known_car *known);

/* Appends the due, its window extended to the end of the next sending day when it has no
 * sending hour; held (static, may be NULL) is the due's own reason. */
void due_add(const struct plan_run *run, struct bl_due *due, const char *held);

/* dues_wear.c: top-ups, care, look-overs and mileage. washable: when the car may be washed
 * again, INT64_MIN when it may. */
void dues_of_treatments(const struct plan_run *run, const struct known_car *known,
                        int64_t washable, int64_t *replan_at);

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

/* What the customer's wish makes of the shop's restraint. */
struct bl_restraint restraint_of(const struct plan_run *run);

/* Gives every bundle (struct bundle) its day beside what has one, and appends the intents;
 * empties them. */
void restraint_place(const struct plan_run *run, GArray *bundles);

/* Appends an intent that says why nothing goes; why NULL: no sending hour is left. Takes dues.
 */
void intent_lapse(const struct plan_run *run, enum bl_kind kind, GArray *dues, const char *why);

/* Sorts the dues, and sets from and not_after from them. */
void bundle_measure(const struct plan_run *run, struct bundle *bundle);

#endif
