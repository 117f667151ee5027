/* How far a car is driven in a day: a weighted mean, written out so that it can be added up. */
#include <math.h>
#include <stdio.h>

#include "explain.h"
#include "say.h"
#include "table.h"

/* As in daemon/plan/forecast.c; the numbers below show that they are. */
#define WEIGHS "365/ln 2 x (2^(-a/365) - 2^(-b/365)), a and b the ages of its end and beginning"

static double age(const struct bl_distance *distance, int64_t at)
{
    return distance->newest == BL_NEVER ? 0 : explain_days(at, distance->newest);
}

static const char *prior_name(const struct bl_distance *distance)
{
    return distance->declared ? "its owner's word" : "the shop's usual";
}

static void add_prior(const struct explained *explained, const struct bl_distance *distance,
                      struct table *table)
{
    double a_day = explain_length(explained, distance->prior_km_a_day);
    g_autofree char *daily = explain_fixed(a_day, 5);
    g_autofree char *weight = explain_fixed(distance->prior_weight, 5);
    const char *const cells[] = {prior_name(distance), NULL, NULL, NULL, daily, NULL, weight};
    table_row(table, cells);
}

static void add_stretch(const struct explained *explained, const struct bl_distance *distance,
                        const struct bl_distance_stretch *stretch, struct table *table)
{
    g_autofree char *from = say_moment(explained->context, stretch->from);
    g_autofree char *to = say_moment(explained->context, stretch->to);
    g_autofree char *length = explain_fixed(explain_length(explained, stretch->km), 1);
    g_autofree char *days = explain_fixed(stretch->days, 6);
    g_autofree char *daily = explain_fixed(explain_length(explained, stretch->km_a_day), 5);
    g_autofree char *old = explain_fixed(age(distance, stretch->from), 3);
    g_autofree char *weight = explain_fixed(stretch->weight, 5);
    const char *const cells[] = {from, to, length, days, daily, old, weight};
    table_row(table, cells);
}

/* "(90.000 x 20.4147 + 71.200 x 91.2 ) / (90.000 + 71.200) = 52.1000 miles a day". */
static void print_mean(const struct explained *explained, const struct bl_distance *distance)
{
    g_autoptr(GString) sum = g_string_new(NULL);
    g_autoptr(GString) weights = g_string_new(NULL);
    g_autofree char *prior = explain_fixed(distance->prior_weight, 5);
    g_autofree char *prior_daily =
        explain_fixed(explain_length(explained, distance->prior_km_a_day), 5);
    g_string_printf(sum, "%s x %s", prior, prior_daily);
    g_string_append(weights, prior);
    for (guint i = 0; i < distance->stretches->len; i++) {
        const struct bl_distance_stretch *stretch =
            &g_array_index(distance->stretches, struct bl_distance_stretch, i);
        g_autofree char *weight = explain_fixed(stretch->weight, 5);
        g_autofree char *daily = explain_fixed(explain_length(explained, stretch->km_a_day), 5);
        g_string_append_printf(sum, " + %s x %s", weight, daily);
        g_string_append_printf(weights, " + %s", weight);
    }
    g_autofree char *mean = explain_fixed(explain_length(explained, distance->km_a_day), 5);
    explain_line("Mean", "(%s) / (%s) = %s %s a day", sum->str, weights->str, mean,
                 explain_unit(explained));
}

void explain_distance_print(const struct explained *explained, const struct bl_car *car)
{
    static const char *const titles[] = {"from",   "=to",  ">driven", ">days",
                                         ">a day", ">age", ">weight", NULL};
    struct bl_distance distance;
    bl_distance_tell(car, explained->shop, explained->now, &distance);
    const char *unit = explain_unit(explained);
    double a_year = distance.km_a_day * BL_YEAR_DAYS;
    g_autofree char *yearly = say_distance(explained->context, a_year);
    g_autofree char *daily = explain_fixed(explain_length(explained, distance.km_a_day), 5);
    g_autofree char *prior =
        say_distance(explained->context, distance.prior_km_a_day * BL_YEAR_DAYS);
    puts("\nHow far it is driven");
    explain_line("Forecast", "%s a year: %s %s a day x 365.25", yearly, daily, unit);
    if (distance.stretches->len == 0) {
        explain_line("", "%s: %s a year; no two readings measure anything yet",
                     prior_name(&distance), prior);
        bl_distance_clear(&distance);
        return;
    }
    BL_AUTO(table) *table = table_new(titles);
    add_prior(explained, &distance, table);
    for (guint i = 0; i < distance.stretches->len; i++) {
        add_stretch(explained, &distance,
                    &g_array_index(distance.stretches, struct bl_distance_stretch, i), table);
    }
    table_print(table, 2);
    print_mean(explained, &distance);
    g_autofree char *first = explain_fixed(age(&distance, distance.first), 3);
    explain_line("Weights",
                 "a stretch weighs " WEIGHS " in days before the newest reading; "
                 "%s, %s a year, weighs 90 x 2^(-%s/365), by the age of the first reading",
                 prior_name(&distance), prior, first);
    bl_distance_clear(&distance);
}

static char *stretch_object(const struct explained *explained,
                            const struct bl_distance *distance,
                            const struct bl_distance_stretch *stretch)
{
    struct json json;
    json_begin(&json);
    json_whole(&json, "first_reading", stretch->first);
    json_whole(&json, "second_reading", stretch->second);
    json_at(&json, "from", explained->shop->zone, stretch->from);
    json_at(&json, "to", explained->shop->zone, stretch->to);
    json_number(&json, "km", stretch->km);
    json_number(&json, "days", stretch->days);
    json_number(&json, "km_a_day", stretch->km_a_day);
    json_number(&json, "from_age_days", age(distance, stretch->from));
    json_number(&json, "to_age_days", age(distance, stretch->to));
    json_number(&json, "weight_days", stretch->weight);
    return json_take(&json);
}

char *explain_distance_object(const struct explained *explained, const struct bl_car *car)
{
    struct bl_distance distance;
    struct json json;
    g_autoptr(GPtrArray) stretches = json_list();
    bl_distance_tell(car, explained->shop, explained->now, &distance);
    for (guint i = 0; i < distance.stretches->len; i++) {
        g_ptr_array_add(
            stretches,
            stretch_object(explained, &distance,
                           &g_array_index(distance.stretches, struct bl_distance_stretch, i)));
    }
    json_begin(&json);
    json_number(&json, "forecast_km_a_day", distance.km_a_day);
    json_number(&json, "forecast_km_a_year", distance.km_a_day * BL_YEAR_DAYS);
    json_number(&json, "prior_km_a_day", distance.prior_km_a_day);
    json_text(&json, "prior", distance.declared ? "declared" : "shop");
    json_number(&json, "prior_weight_days", distance.prior_weight);
    json_number(&json, "first_reading_age_days",
                distance.first == BL_NEVER ? (double)NAN : age(&distance, distance.first));
    json_at(&json, "newest_reading_at", explained->shop->zone, distance.newest);
    json_objects(&json, "stretches", stretches);
    bl_distance_clear(&distance);
    return json_take(&json);
}
