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

double bl_forecast_km_a_day(const struct bl_car *car, double prior_km_a_year)
{
    const GArray *readings = car->readings;
    double prior = prior_km_a_year / BL_YEAR_DAYS;
    if (readings->len == 0) {
        return prior;
    }
    const struct bl_reading *first = &g_array_index(readings, struct bl_reading, 0);
    const struct bl_reading *newest = first + readings->len - 1;
    double weights = PRIOR_DAYS * fresh(newest, first->at);
    double sum = prior * weights;
    for (const struct bl_reading *b = first + 1; b <= newest; b++) {
        double rate;
        if (forecast_stretch(b - 1, b, &rate)) {
            double weight =
                HALF_LIFE_DAYS / G_LN2 * (fresh(newest, b->at) - fresh(newest, (b - 1)->at));
            weights += weight;
            sum += weight * rate;
        }
    }
    return weights > 0 ? sum / weights : prior;
}
