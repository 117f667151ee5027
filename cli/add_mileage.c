/* beadline add mileage. */
#include <stdio.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "command.h"
#include "json.h"
#include "look.h"
#include "report.h"
#include "say.h"
#include "typed.h"

static const char usage[] =
    "add mileage CAR DISTANCE [--at TIME] [--how TEXT]\n"
    "A reading between jobs: told by phone, seen at the roadside. It moves the dates of what\n"
    "wears by driving. One that goes back, or rises by more than a car can drive, is refused.\n"
    "\n"
    "  beadline add mileage \"AB12 CDE\" 52100 --how \"by phone\"";

/* As typed, and what became of it. */
struct reading {
    char *at_text, *how;
    int64_t car, id, at;
    double km;
};

static bool write_reading(struct context *context, const char *car, const char *distance,
                          struct reading *reading, struct look *look, GError **error)
{
    struct bl_car_row row = {0};
    bool done = typed_at(context, "reading", reading->at_text, &reading->at, error) &&
                say_find_car(context, car, &reading->car, error) &&
                say_read_distance(context, distance, &reading->km, error) &&
                bl_mileage_add(context->store, reading->car, reading->at, reading->km,
                               reading->how ? reading->how : "told", &reading->id, error) &&
                bl_car_get(context->store, reading->car, &row, error) &&
                look_make(context, row.customer, look, error);
    bl_car_row_clear(&row);
    return done;
}

static void print_json(const struct context *context, const struct reading *reading,
                       const struct bl_car *car)
{
    struct json json;
    json_begin(&json);
    json_whole(&json, "reading", reading->id);
    json_whole(&json, "car", reading->car);
    json_text(&json, "plate", car->plate);
    json_at(&json, "at", context->world->settings->shop.zone, reading->at);
    json_number(&json, "km", reading->km);
    json_number(&json, "forecast_km_a_year", look_km_a_year(context, car));
    json_end(&json);
}

static void print_text(const struct context *context, const struct reading *reading,
                       const struct bl_car *car)
{
    g_autofree char *name = say_car(car->name, car->plate);
    g_autofree char *at = say_at(context, reading->at);
    g_autofree char *distance = say_distance(context, reading->km);
    g_autofree char *a_year = say_distance(context, look_km_a_year(context, car));
    report_line("Car", "%s", name);
    report_line("Reading", "%s, %s", at, distance);
    report_line("Forecast", "%s a year", a_year);
}

static int add(struct context *context, const char *car, const char *distance,
               struct reading *reading)
{
    struct look look = {0};
    GError *error = NULL;
    bool done = context_write(context, &error);
    if (done && !write_reading(context, car, distance, reading, &look, &error)) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    const struct bl_car *known = done ? look_car(&look, reading->car) : NULL;
    if (known && context->json) {
        print_json(context, reading, known);
    } else if (known) {
        print_text(context, reading, known);
    }
    look_clear(&look);
    return done ? DONE : context_fail(error);
}

int command_add_mileage(struct context *context, int argc, char **argv)
{
    struct reading reading = {0};
    const GOptionEntry entries[] = {
        {"at", 0, 0, G_OPTION_ARG_STRING, &reading.at_text, "When it was read; now if not said",
         "TIME"},
        {"how", 0, 0, G_OPTION_ARG_STRING, &reading.how, "How you know", "TEXT"},
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 3) {
        status = context_misused("name one car and one distance", usage);
    } else {
        status = add(context, argv[1], argv[2], &reading);
    }
    g_free(reading.at_text);
    g_free(reading.how);
    return status;
}
