/*
 * How far the car is driven: the measured rates between readings, and what to expect after the
 * last one.
 *
 * The forecast is a weighted mean of the measured stretches and a prior. Ages count from the
 * newest reading, and a stretch weighs what a half-life of a year leaves of each of its days,
 * so cutting a stretch in two, or a reading that says what was forecast, changes nothing.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

#define HALF_LIFE_DAYS 365.0
#define PRIOR_DAYS     90.0   /* what the prior weighs when nothing was measured */
#define LEAP_KM        2000.0 /* no car goes further in a day */

double forecast_prior(const struct bl_car *car, const struct bl_shop *shop)
{
    return isfinite(car->km_a_year) && car->km_a_year >= 0 ? car->km_a_year : shop->km_a_year;
}

bool forecast_stretch(const struct bl_reading *a, const struct bl_reading *b, double *km_a_day)
{
    double days = (double)(b->at - a->at) / (double)BL_DAY;
    double km = b->km - a->km;
    if (a->instrument != b->instrument || !(days > 0) || !(km >= 0) ||
        km > LEAP_KM * fmax(1, days)) {
        return false;
    }
    *km_a_day = km / days;
    return true;
}

/* What a half-life of a year leaves at this age. */
static double fresh(const struct bl_reading *newest, int64_t at)
{
    return exp2(-(double)(newest->at - at) / (double)BL_DAY / HALF_LIFE_DAYS);
}

/* The stretch from reading i - 1 to reading i, and what it weighs; false when it measures
 * nothing. */
static bool weigh(const GArray *readings, guint i, struct bl_distance_stretch *stretch)
{
    const struct bl_reading *b = &g_array_index(readings, struct bl_reading, i);
    const struct bl_reading *a = b - 1;
    const struct bl_reading *newest =
        &g_array_index(readings, struct bl_reading, readings->len - 1);
    *stretch = (struct bl_distance_stretch){
        .first = a->id, .second = b->id, .from = a->at, .to = b->at, .km = b->km - a->km};
    stretch->days = (double)(b->at - a->at) / (double)BL_DAY;
    stretch->weight = HALF_LIFE_DAYS / G_LN2 * (fresh(newest, b->at) - fresh(newest, a->at));
    return forecast_stretch(a, b, &stretch->km_a_day);
}

static double prior_weight(const GArray *readings)
{
    const struct bl_reading *first = &g_array_index(readings, struct bl_reading, 0);
    return readings->len ? PRIOR_DAYS * fresh(first + readings->len - 1, first->at)
                         : PRIOR_DAYS;
}

double bl_forecast_km_a_day(const struct bl_car *car, double prior_km_a_year)
{
    const GArray *readings = car->readings;
    double prior = prior_km_a_year / BL_YEAR_DAYS;
    double weights = prior_weight(readings);
    double sum = prior * weights;
    for (guint i = 1; i < readings->len; i++) {
        struct bl_distance_stretch stretch;
        if (weigh(readings, i, &stretch)) {
            weights += stretch.weight;
            sum += stretch.weight * stretch.km_a_day;
        }
    }
    return readings->len && weights > 0 ? sum / weights : prior;
}

static int64_t reading_at(const GArray *readings, guint i)
{
    return i < readings->len ? g_array_index(readings, struct bl_reading, i).at : BL_NEVER;
}

void bl_distance_tell(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                      struct bl_distance *distance)
{
    struct known_car known;
    known_car_init(&known, car, now, NULL);
    const GArray *readings = known.car.readings;
    double prior = forecast_prior(car, shop);
    *distance = (struct bl_distance){
        .prior_km_a_day = prior / BL_YEAR_DAYS,
        .prior_weight = prior_weight(readings),
        .declared = isfinite(car->km_a_year) && car->km_a_year >= 0,
        .first = reading_at(readings, 0),
        .newest = reading_at(readings, readings->len - 1),
        .stretches = g_array_new(FALSE, FALSE, sizeof(struct bl_distance_stretch)),
        .km_a_day = bl_forecast_km_a_day(&known.car, prior),
    };
    for (guint i = 1; i < readings->len; i++) {
        struct bl_distance_stretch stretch;
        if (weigh(readings, i, &stretch)) {
            g_array_append_val(distance->stretches, stretch);
        }
    }
    known_car_clear(&known);
}

void bl_distance_clear(struct bl_distance *distance)
{
    g_clear_pointer(&distance->stretches, g_array_unref);
}
