/* beadline add mileage. */
#include <stdio.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "command.h"
#include "follows.h"
#include "json.h"
#include "report.h"
#include "say.h"
#include "typed.h"

static const char usage[] =
    "add mileage CAR DISTANCE [--at TIME] [--how TEXT] [--new-instrument]\n"
    "A reading between jobs: told by phone, seen at the roadside. It moves the dates of what\n"
    "wears by driving. One that goes back, or rises by more than a car can drive, is refused:\n"
    "the wrong one is corrected with change mileage, and the first of an instrument that took\n"
    "the old one's place is said with --new-instrument; nothing is counted across.\n"
    "\n"
    "  beadline add mileage \"AB12 CDE\" 52100 --how \"by phone\"";

/* As typed, and what became of it. */
struct reading {
    char *at_text, *how;
    gboolean new_instrument;
    int64_t car, id, at;
    double km;
    struct follows follows;
};

static bool write_reading(struct context *context, const char *car, const char *distance,
                          struct reading *reading, GError **error)
{
    const char *how = reading->how ? reading->how : "told";
    bool (*add)(struct bl_store * store, int64_t car, int64_t at, double km, const char *how,
                int64_t *id, GError **error) =
        reading->new_instrument ? bl_mileage_new_instrument : bl_mileage_add;
    return typed_at(context, "reading", reading->at_text, &reading->at, error) &&
           say_find_car(context, car, &reading->car, error) &&
           say_read_distance(context, distance, &reading->km, error) &&
           follows_begin(context, reading->car, &reading->follows, error) &&
           add(context->store, reading->car, reading->at, reading->km, how, &reading->id,
               error) &&
           follows_end(context, &reading->follows, error);
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
    json_yes(&json, "new_instrument", reading->new_instrument);
    follows_json(context, &reading->follows, &json);
    json_end(&json);
}

static void print_text(const struct context *context, const struct reading *reading,
                       const struct bl_car *car)
{
    g_autofree char *name = say_car(car->name, car->plate);
    g_autofree char *at = say_at(context, reading->at);
    g_autofree char *distance = say_distance(context, reading->km);
    g_autofree char *a_year = say_distance(context, look_km_a_year(context, car));
    printf("Reading #%" G_GINT64_FORMAT "\n", reading->id);
    report_line("Car", "%s", name);
    report_line("Reading", "%s, %s%s", at, distance,
                reading->new_instrument ? ", the first of a new instrument" : "");
    report_line("Forecast", "%s a year", a_year);
    follows_print(context, &reading->follows);
}

static int add(struct context *context, const char *car, const char *distance,
               struct reading *reading)
{
    GError *error = NULL;
    bool done = context_write(context, &error);
    if (done && !write_reading(context, car, distance, reading, &error)) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    const struct bl_car *known = done ? follows_car(&reading->follows) : NULL;
    if (known && context->json) {
        print_json(context, reading, known);
    } else if (known) {
        print_text(context, reading, known);
    }
    follows_clear(&reading->follows);
    return done ? DONE : context_fail(error);
}

int command_add_mileage(struct context *context, int argc, char **argv)
{
    struct reading reading = {0};
    const GOptionEntry entries[] = {
        {"at", 0, 0, G_OPTION_ARG_STRING, &reading.at_text, "When it was read; now if not said",
         "TIME"},
        {"how", 0, 0, G_OPTION_ARG_STRING, &reading.how, "How you know", "TEXT"},
        {"new-instrument", 0, 0, G_OPTION_ARG_NONE, &reading.new_instrument,
         "It is the first of an instrument that was put in", NULL},
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
