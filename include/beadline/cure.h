/*
 * Cure: how long a treated car may not be washed, and why.
 *
 * A civil day at temperature T gathers min(1, a(T)) days of the label's time, nothing below
 * stall_c; a(T) = exp(Ea/k (1/T_ref - 1/T)), Arrhenius as in NIST/SEMATECH e-Handbook 8.1.5.1.
 * T is the job's measured temperature up to its own day, then the shop's climate (monthly
 * means, linear between mid-months, read at noon); without a climate the job's throughout, and
 * with neither the label's time counts as it stands. The cure is over when wash_days[1] are
 * gathered, or after longest_days. Warmth never shortens a label's time.
 */
#ifndef BEADLINE_CURE_H
#define BEADLINE_CURE_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/facts.h"
#include "beadline/shop.h"

#define BL_BOLTZMANN_EV 8.617333262e-5 /* eV/K, exact since 2019 (CODATA 2018) */
#define BL_ZERO_C_K     273.15

/* How many times as fast as at reference_c, both in degrees C. */
double bl_cure_speed(double temp_c, double reference_c, double ea_ev);

/* The shop's climate at noon of the date; NaN without one. */
double bl_cure_climate_c(const struct bl_shop *shop, int32_t date);

/* The instant the treatment's cure ends outdoors, rounded up to the second; the last coat when
 * it does not cure or was cured indoors before it was handed over. job may be NULL. */
int64_t bl_cure_end(const struct bl_treatment *treatment, const struct bl_job *job,
                    const struct bl_shop *shop);

/* The one date the car may be washed: the first civil day that begins at or after the end of
 * every cure, and not before a date the owner set himself; BL_NO_DATE when that day has begun
 * at `now`, or nothing cures. An event "cured indoors" without hours (a lamp) ends a cure, one
 * with hours and a temperature counts those hours at that temperature; one that takes the
 * treatment off voids it, a newer treatment does not. job, when not NULL, receives the id of
 * the job that binds (untouched without a date). */
int32_t bl_cure_wash_date(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                          int64_t *job);

/* The same date with what binds it; false, and all of it empty, when there is none. */
struct bl_wash {
    int32_t date;
    int64_t end;            /* the instant it comes from: a cure's end, or a date's beginning */
    int64_t job, treatment; /* treatment 0: the date is the owner's own, set with the job */
};

bool bl_cure_wash_tell(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                       struct bl_wash *wash);

/* Times the customer is told, the latest of the job's treatments; BL_NEVER where the label says
 * nothing or the job was cured indoors. */
struct bl_cure_times {
    int64_t drive, dry, rinse, wipers;
};

struct bl_cure_times bl_cure_job_times(const struct bl_car *car, const struct bl_job *job);

/* Whether the conditions were outside what the label allows at application; NaN is unknown. */
struct bl_cure_outside {
    bool too_cold, too_warm, too_dry, too_damp;
};

/* False, and all of *outside false, when they were inside or nobody knows. outside may be NULL.
 */
bool bl_cure_outside(const struct bl_rule *rule, double temp_c, double humidity,
                     struct bl_cure_outside *outside);

/* --- the sum, for whoever wants to check it ------------------------------------------------
 */

enum bl_warmth {
    BL_WARMTH_LABEL,   /* nobody knows: the label's time as it stands */
    BL_WARMTH_JOB,     /* measured at the job */
    BL_WARMTH_CLIMATE, /* the shop's climate */
    BL_WARMTH_INDOORS  /* an event says so */
};

/* A stretch of one civil day at one temperature. */
struct bl_cure_day {
    int32_t date;
    int64_t from, to; /* the last ends with the cure */
    enum bl_warmth warmth;
    double temp_c; /* NaN: BL_WARMTH_LABEL */
    double speed;  /* a(T), not yet held at 1 */
    bool stalled;  /* below stall_c: nothing is gathered */
    double days;   /* gathered by this stretch */
    double sum;    /* gathered at its end */
};

struct bl_cure_story {
    double asked_days, longest_days; /* 0: it does not cure */
    GArray *days;                    /* struct bl_cure_day, in order of time */
    int64_t end;                     /* the last coat when it does not cure */
    bool held;                       /* longest_days came before the sum */
    bool indoors;      /* the job, or an event, says it was cured indoors: that ended it */
    int64_t voided_at; /* taken off the car before it was over, else BL_NEVER */
};

/* The cure of the car's treatment as known at `now`. Clear what it fills. */
void bl_cure_tell(const struct bl_car *car, const struct bl_treatment *treatment,
                  const struct bl_shop *shop, int64_t now, struct bl_cure_story *story);
void bl_cure_story_clear(struct bl_cure_story *story);

#endif
