/*
 * Wear: when a protection ends, and why.
 *
 * Use V runs on a combined scale of time and distance, in days of ordinary driving:
 * dV = clamp((1 - s) + s m/m_ref, limits) x dt, where m is km a day and x the product of the
 * exposure factors that apply then. Wear is dW = c dV, where c is 1 bare and 1/extends kept up.
 * W reaches the label's shorter life at `early`, the longer at `late`, their mean at `likely`;
 * max_km of plain distance may come first. Linear accumulation (Palmgren 1924, Miner 1945) on a
 * combined scale (Kordonsky and Gertsbakh 1997).
 *
 * Kept up: upkeep instants are the application and each care recorded. A stretch closed by a
 * care is kept up for its first interval + grace (on V, or calendar, by the rule), bare after.
 * The open one is bare for early, kept up for late, and for likely kept up when two cares are
 * recorded, the last two closed stretches were each within interval + grace, and the open one
 * still is at `now`.
 */
#ifndef BEADLINE_WEAR_H
#define BEADLINE_WEAR_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/facts.h"
#include "beadline/shop.h"

/* What is computed three times. */
enum bl_end { BL_EARLY, BL_LIKELY, BL_LATE, BL_ENDS };

/* --- how far it is driven ------------------------------------------------------------------
 */

/* Forecast distance a day: a weighted mean of the measured stretches with a prior; ages count
 * from the newest reading. prior in km a year. */
double bl_forecast_km_a_day(const struct bl_car *car, double prior_km_a_year);

/* One measured stretch between neighbouring readings, and what it weighs in the forecast. */
struct bl_distance_stretch {
    int64_t first, second; /* readings, by id */
    int64_t from, to;
    double km, days, km_a_day, weight;
};

/* Where the forecast comes from: (prior weight x prior + sum of weight x km_a_day) / all
 * weights. */
struct bl_distance {
    double prior_km_a_day, prior_weight;
    bool declared;         /* the prior is the car's own, else the shop's */
    int64_t first, newest; /* readings that count: when; BL_NEVER without any */
    GArray *stretches;     /* struct bl_distance_stretch, in order of time */
    double km_a_day;       /* the forecast */
};

/* Fills distance from the readings that count at `now`. */
void bl_distance_tell(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                      struct bl_distance *distance);
void bl_distance_clear(struct bl_distance *distance);

/* --- when it ends ---------------------------------------------------------------------------
 */

struct bl_life {
    int64_t early, likely, late; /* BL_NEVER: it has no life of its own */
    int64_t ended_at;      /* stripped, superseded or polished off; BL_NEVER while it is on */
    const char *ended_by;  /* why, or NULL; static text */
    double speed;          /* mean speed of use from application to likely */
    double km_a_day;       /* the forecast */
    bool by_distance;      /* max_km came first for likely */
    bool habit;            /* likely counts on the customer's care */
    int64_t habit_lost_at; /* when that ends unless a care is recorded before; else BL_NEVER */
};

/* The treatment is found in the car by its id; facts dated over a day after `now`, and readings
 * that cannot be believed, do not count. Use up to the first reading runs at the prior
 * (declared, else the shop's), after the last at the forecast; instants are rounded to the
 * nearest second; an end more than 200 years off is BL_NEVER. */
void bl_wear_life(const struct bl_car *car, const struct bl_treatment *treatment,
                  const struct bl_shop *shop, int64_t now, struct bl_life *life);

/* How far it has come. */
struct bl_worn {
    double use;           /* V, days */
    double wear[BL_ENDS]; /* W, days; against life_days[0], their mean, life_days[1] */
    double km;
};

/* At an instant from the last coat on, as known at `now`; all 0 before it. */
void bl_wear_use_at(const struct bl_car *car, const struct bl_treatment *treatment,
                    const struct bl_shop *shop, int64_t now, int64_t at, struct bl_worn *worn);

/* --- the sum, for whoever wants to check it -------------------------------------------------
 */

enum bl_driven {
    BL_DRIVEN_PRIOR,    /* before the first reading */
    BL_DRIVEN_MEASURED, /* between two readings */
    BL_DRIVEN_FORECAST  /* after the last, or where two do not measure */
};

/* A stretch in which nothing changes. Stretches touch; one ends at each of early, likely and
 * late. */
struct bl_stretch {
    int64_t from, to;
    enum bl_driven driven;
    double km_a_day;
    double raw;                        /* (1 - s) + s m/m_ref */
    double speed;                      /* held within the limits */
    unsigned exposed;                  /* bit i: rule->exposures[i] applies */
    double exposure;                   /* the product of those factors */
    bool kept[BL_ENDS];                /* kept up, else bare */
    double use;                        /* V added: days x speed x exposure */
    double wear[BL_ENDS];              /* W added, nothing once that end is reached */
    double use_sum, wear_sum[BL_ENDS]; /* V and W at its end */
    double km_sum;                     /* and the distance since the last coat */
};

struct bl_wear_story {
    struct bl_life life;
    double life_days[BL_ENDS]; /* W to reach: the label's shorter, mean and longer life */
    bool by_distance[BL_ENDS]; /* max_km came first */
    GArray *stretches;         /* struct bl_stretch, from the last coat to late */
    GArray *cares;             /* int64_t: the cares that count, in order of time */
    GArray *upkept;            /* double: days of the stretch each of them closed, as the rule
                                * counts: use, or calendar */
    struct bl_distance distance;
};

/* As bl_wear_life, with the sum. Clear what it fills. */
void bl_wear_tell(const struct bl_car *car, const struct bl_treatment *treatment,
                  const struct bl_shop *shop, int64_t now, struct bl_wear_story *story);
void bl_wear_story_clear(struct bl_wear_story *story);

#endif
