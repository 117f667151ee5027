/*
 * Wear: when a protection ends. Use runs on a combined scale of time and distance, constant
 * between readings, so it is piecewise linear and its crossings are solved, not stepped.
 *
 * Linear accumulation (Palmgren, Miner) on that scale (Kordonsky and Gertsbakh); distance alone
 * is a second clock.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

/* Past it an end is no date to plan with. */
#define LONGEST_DAYS (200 * BL_YEAR_DAYS)

/* One of early, likely, late on its way. */
struct goal {
    double use; /* days on the scale of use at which it is reached */
    int64_t *at;
    double used; /* on the scale of use when it was reached */
    bool by_distance;
};

/* The walk from the last coat on. */
struct walk {
    const struct bl_rule *rule;
    double exposure; /* product of the factors that apply */
    double used;     /* days on the scale of use so far */
    double km;
    int64_t from; /* where the next stretch begins */
    struct goal goals[3];
};

static double exposure_of(const struct bl_rule *rule, const struct bl_car *car)
{
    double product = 1;
    for (guint i = 0; rule->exposures && i < rule->exposures->len; i++) {
        const struct bl_exposure *exposure =
            &g_array_index(rule->exposures, struct bl_exposure, i);
        if (car->exposures &&
            g_strv_contains((const char *const *)car->exposures, exposure->name)) {
            product *= exposure->factor;
        }
    }
    return product;
}

/* Days of use a day at this distance a day. */
static double speed_at(const struct walk *walk, double km_a_day)
{
    const struct bl_wear *wear = &walk->rule->wear;
    double reference = wear->km_a_year / BL_YEAR_DAYS;
    double driven = reference > 0 ? km_a_day / reference : 1;
    double speed = 1 - wear->share + wear->share * driven;
    return fmin(fmax(speed, wear->limits[0]), wear->limits[1]) * walk->exposure;
}

/* Walks a stretch of constant distance a day of so many days (may be infinite). */
static void walk_stretch(struct walk *walk, double days, double km_a_day)
{
    double speed = speed_at(walk, km_a_day);
    double max_km = walk->rule->wear.max_km;
    for (guint i = 0; i < G_N_ELEMENTS(walk->goals); i++) {
        struct goal *goal = &walk->goals[i];
        if (*goal->at != BL_NEVER) {
            continue;
        }
        double by_use = speed > 0 ? fmax(goal->use - walk->used, 0) / speed : INFINITY;
        double by_km =
            max_km > 0 && km_a_day > 0 ? fmax(max_km - walk->km, 0) / km_a_day : INFINITY;
        double reached = fmin(by_use, by_km);
        if (reached <= days && reached < LONGEST_DAYS) {
            *goal->at = walk->from + llround(reached * (double)BL_DAY);
            goal->used = walk->used + reached * speed;
            goal->by_distance = by_km < by_use;
        }
    }
    walk->used += isfinite(days) ? speed * days : 0;
    walk->km += isfinite(days) ? km_a_day * days : 0;
}

/* The first reading after the instant. */
static guint first_after(const GArray *readings, int64_t at)
{
    guint low = 0;
    guint high = readings->len;
    while (low < high) {
        guint middle = low + (high - low) / 2;
        if (g_array_index(readings, struct bl_reading, middle).at > at) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return low;
}

/* km a day up to reading i: measured since the one before; the prior's before the first; what
 * is forecast where the two do not measure. */
static double rate_up_to(const struct wear_use *use, guint i)
{
    const struct bl_reading *reading = &g_array_index(use->car->readings, struct bl_reading, i);
    double rate;
    if (i == 0) {
        return use->prior;
    }
    return forecast_stretch(reading - 1, reading, &rate) ? rate : use->forecast;
}

static void walk_all(const struct wear_use *use, struct walk *walk)
{
    const GArray *readings = use->car->readings;
    const int64_t *last = walk->goals[2].at;
    for (guint i = first_after(readings, walk->from); i < readings->len && *last == BL_NEVER;
         i++) {
        int64_t to = g_array_index(readings, struct bl_reading, i).at;
        if (to > walk->from) {
            walk_stretch(walk, (double)(to - walk->from) / (double)BL_DAY, rate_up_to(use, i));
            walk->from = to;
        }
    }
    walk_stretch(walk, INFINITY, use->forecast);
}

void wear_life(const struct wear_use *use, const struct bl_treatment *treatment,
               const struct car_end *end, struct bl_life *life)
{
    *life = (struct bl_life){
        .early = BL_NEVER,
        .likely = BL_NEVER,
        .late = BL_NEVER,
        .ended_at = end ? end->at : BL_NEVER,
        .ended_by = end ? end->by : NULL,
        .speed = (double)NAN,
        .km_a_day = use->forecast,
    };
    const struct bl_rule *rule = treatment->rule;
    if (!rule || !isfinite(rule->wear.life_days[0]) || !isfinite(rule->wear.life_days[1])) {
        return;
    }
    double lo = rule->wear.life_days[0];
    double hi = rule->wear.life_days[1];
    struct walk walk = {
        .rule = rule,
        .exposure = exposure_of(rule, use->car),
        .from = treatment->last_coat_at,
        .goals = {{.use = lo, .at = &life->early},
                  {.use = (lo + hi) / 2, .at = &life->likely},
                  {.use = hi, .at = &life->late}},
    };
    walk_all(use, &walk);
    if (life->likely != BL_NEVER) {
        double days = (double)(life->likely - treatment->last_coat_at) / (double)BL_DAY;
        life->speed = days > 0 ? walk.goals[1].used / days : speed_at(&walk, use->forecast);
        life->by_distance = walk.goals[1].by_distance;
    }
}

void bl_wear_life(const struct bl_car *car, const struct bl_treatment *treatment,
                  const struct bl_shop *shop, struct bl_life *life)
{
    double prior = forecast_prior(car, shop);
    const struct wear_use use = {car, prior / BL_YEAR_DAYS, bl_forecast_km_a_day(car, prior)};
    g_autoptr(GArray) ends = car_ends(car);
    const struct car_end *end = NULL;
    for (guint i = 0; i < ends->len && !end; i++) {
        if (g_array_index(car->treatments, struct bl_treatment, i).id == treatment->id) {
            end = &g_array_index(ends, struct car_end, i);
        }
    }
    wear_life(&use, treatment, end, life);
}
