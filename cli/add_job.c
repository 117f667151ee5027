/*
 * beadline add job: finished work in one breath. What is typed becomes one row with its
 * treatments; what follows from it is looked up in the same transaction and told at once, so a
 * dry run shows exactly what a real one would.
 */
#include <math.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "command.h"
#include "job_report.h"
#include "report.h"
#include "say.h"
#include "treat.h"
#include "typed.h"
#include "vehicle.h"

static const char usage[] =
    "add job CAR [PRODUCT|PACKAGE]... [--at TIME] [--mileage N] [--temp C] [--dry]\n"
    "Writes down finished work and tells at once what follows: what may be done when, which\n"
    "message goes when to whom, and when each protection wants doing again. --dry only shows it.\n"
    "\n"
    "Each word is a product, alone or with what differs from its rule:\n"
    "  wheel-spray                 on its own surface, one coat\n"
    "  coating-3y:2                two coats\n"
    "  glass-coating@windscreen    on another surface (soft-top for \"soft top\")\n"
    "  paint-film/front-bumper     on a part only\n"
    "or a package (beadline list packages), or nothing at all: a wash is a job, too. A product\n"
    "named beside a package, or beside --same-as-last, replaces the same one in it.\n"
    "\n"
    "  beadline add job \"AB12 CDE\" full-3y wheel-spray --at 15:40 --mileage 48210 --temp 14\n"
    "  beadline add job \"blue estate\" --same-as-last --mileage 52100";

/* As typed; NULL: not said. */
struct breath {
    char *at, *mileage, *temp, *humidity, *place, *note, *wash_from, *redo;
    char **batches, **again;
    gboolean same, cured, leaving_ok, dry;
};

static void breath_clear(struct breath *breath)
{
    char *const texts[] = {breath->at,    breath->mileage, breath->temp,      breath->humidity,
                           breath->place, breath->note,    breath->wash_from, breath->redo};
    for (gsize i = 0; i < G_N_ELEMENTS(texts); i++) {
        g_free(texts[i]);
    }
    g_strfreev(breath->batches);
    g_strfreev(breath->again);
}

/* "14", "14C", "57F". */
static bool read_temp(const char *text, double *temp_c, GError **error)
{
    if (g_str_has_suffix(text, "F") || g_str_has_suffix(text, "f")) {
        double fahrenheit = 0;
        bool done = typed_number("temperature", text, "F", &fahrenheit, error);
        *temp_c = (fahrenheit - 32) / 1.8;
        return done;
    }
    return typed_number("temperature", text, "C", temp_c, error);
}

static bool read_numbers(const struct context *context, const struct breath *breath,
                         struct bl_job_row *row, GError **error)
{
    row->km = (double)NAN;
    row->temp_c = (double)NAN;
    row->humidity = (double)NAN;
    return (!breath->mileage || say_read_distance(context, breath->mileage, &row->km, error)) &&
           (!breath->temp || read_temp(breath->temp, &row->temp_c, error)) &&
           (!breath->humidity ||
            typed_number("humidity", breath->humidity, "%", &row->humidity, error));
}

static bool read_dates(const struct context *context, const struct breath *breath,
                       struct bl_job_row *row, GError **error)
{
    row->entered_at = context->now;
    row->wash_from = BL_NO_DATE;
    if (!typed_at(context, "job", breath->at, &row->finished_at, error) ||
        (breath->wash_from &&
         !typed_date(context, breath->wash_from, &row->wash_from, error))) {
        return false;
    }
    int32_t finished = bl_zone_date(context->world->settings->shop.zone, row->finished_at);
    if (row->wash_from != BL_NO_DATE && row->wash_from < finished) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "--wash-from \"%s\" is before the job was finished: give a later day",
                    breath->wash_from);
        return false;
    }
    return true;
}

/* A job on a car that had gone by then was meant for another one. */
static bool is_here(const struct context *context, const struct bl_car_row *car, int64_t at,
                    GError **error)
{
    if (car->gone_at == BL_NEVER || at <= car->gone_at) {
        return true;
    }
    g_autofree char *day = say_day(context, car->gone_at);
    g_set_error(
        error, BL_ERROR, BL_ERROR_REFUSED,
        "car \"%s\" (#%" G_GINT64_FORMAT
        ") has been gone since %s: if it is back, \"beadline change car #%" G_GINT64_FORMAT
        " --gone no\"",
        car->plate, car->id, day, car->id);
    return false;
}

static bool read_car(struct context *context, const char *name, const struct breath *breath,
                     struct bl_job_row *row, struct bl_car_row *car, GError **error)
{
    if (!say_find_car(context, name, &row->car, error) ||
        !bl_car_get(context->store, row->car, car, error) ||
        !is_here(context, car, row->finished_at, error)) {
        return false;
    }
    row->place = car->place;
    return (!breath->place ||
            vehicle_find_place(context, car->customer, breath->place, &row->place, error)) &&
           (!breath->redo || say_read_id(breath->redo, "job", &row->redo_of, error));
}

static bool read_picks(struct context *context, const struct breath *breath, char **words,
                       const struct bl_job_row *row, struct picks *picks, GError **error)
{
    if (breath->same && !picks_last(picks, context, row->car, row->finished_at, error)) {
        return false;
    }
    for (; *words; words++) {
        if (!picks_word(picks, context->world->catalogue, *words, error)) {
            return false;
        }
    }
    for (guint i = 0; breath->batches && breath->batches[i]; i++) {
        if (!picks_batch(picks, breath->batches[i], error)) {
            return false;
        }
    }
    for (guint i = 0; breath->again && breath->again[i]; i++) {
        if (!picks_again(picks, breath->again[i], error)) {
            return false;
        }
    }
    return true;
}

static bool write_row(struct context *context, const struct picks *picks,
                      struct bl_job_row *row, GError **error)
{
    if (picks->package) {
        g_autofree char *text = bl_package_write(picks->package);
        if (!bl_package_version(context->store, picks->package->key, text, context->now,
                                &row->package, error)) {
            return false;
        }
    }
    g_autoptr(GArray) treatments = picks_rows(picks, context, error);
    return treatments && bl_job_add(context->store, row, treatments, &row->id, error);
}

/* Everything that needs the transaction. */
static bool write_job(struct context *context, const struct breath *breath, char **words,
                      struct bl_job_row *row, struct picks *picks, struct look *look,
                      GError **error)
{
    struct bl_car_row car = {0};
    row->cured_indoors = breath->cured;
    row->leaving_ok = breath->leaving_ok;
    row->note = breath->note;
    bool done =
        read_numbers(context, breath, row, error) && read_dates(context, breath, row, error) &&
        read_car(context, words[0], breath, row, &car, error) &&
        read_picks(context, breath, words + 1, row, picks, error) &&
        write_row(context, picks, row, error) && look_make(context, car.customer, look, error);
    bl_car_row_clear(&car);
    return done;
}

static void tell(const struct context *context, const struct breath *breath,
                 const struct bl_job_row *row, const struct picks *picks,
                 const struct look *look)
{
    g_autoptr(GPtrArray) remarks = report_remarks();
    struct job_report report = {
        .context = context,
        .look = look,
        .row = row,
        .car = look_car(look, row->car),
        .package = picks->package ? picks->package->title : NULL,
        .dry = breath->dry,
        .added = true,
        .remarks = remarks,
    };
    job_report_remark(&report);
    if (context->json) {
        job_report_json(&report);
    } else {
        job_report_print(&report);
    }
}

static int add(struct context *context, const struct breath *breath, char **words)
{
    struct bl_job_row row = {0};
    struct picks picks;
    struct look look = {0};
    GError *error = NULL;
    picks_init(&picks);
    bool done = context_write(context, &error);
    if (done && !write_job(context, breath, words, &row, &picks, &look, &error)) {
        bl_store_rollback(context->store);
        done = false;
    }
    if (done && breath->dry) {
        bl_store_rollback(context->store);
    } else {
        done = done && context_keep(context, &error);
    }
    if (done) {
        tell(context, breath, &row, &picks, &look);
    }
    look_clear(&look);
    picks_clear(&picks);
    return done ? DONE : context_fail(error);
}

int command_add_job(struct context *context, int argc, char **argv)
{
    struct breath breath = {0};
    const GOptionEntry entries[] = {
        {"at", 0, 0, G_OPTION_ARG_STRING, &breath.at,
         "When it was finished: 15:40, \"yesterday 15:40\", 2026-11-25T15:40; now if not said",
         "TIME"},
        {"mileage", 0, 0, G_OPTION_ARG_STRING, &breath.mileage, "What the instrument showed",
         "DISTANCE"},
        {"temp", 0, 0, G_OPTION_ARG_STRING, &breath.temp, "Temperature, 14 or 57F", "C"},
        {"humidity", 0, 0, G_OPTION_ARG_STRING, &breath.humidity, "Relative humidity",
         "PERCENT"},
        {"same-as-last", 0, 0, G_OPTION_ARG_NONE, &breath.same,
         "All that the job before put on", NULL},
        {"place", 0, 0, G_OPTION_ARG_STRING, &breath.place, "Where, if not at the car's place",
         "NAME"},
        {"note", 0, 0, G_OPTION_ARG_STRING, &breath.note, "A note of your own", "TEXT"},
        {"wash-from", 0, 0, G_OPTION_ARG_STRING, &breath.wash_from,
         "A later wash date of your own", "DATE"},
        {"cured-indoors", 0, 0, G_OPTION_ARG_NONE, &breath.cured,
         "It cured under lamps or in a warm hall: nothing to wait for", NULL},
        {"batch", 0, 0, G_OPTION_ARG_STRING_ARRAY, &breath.batches, "The batch on the bottle",
         "PRODUCT=TEXT"},
        {"again", 0, 0, G_OPTION_ARG_STRING_ARRAY, &breath.again,
         "Who does it again: shop, next-booking or customer", "PRODUCT=WHO"},
        {"redo", 0, 0, G_OPTION_ARG_STRING, &breath.redo, "It makes good an earlier job",
         "JOB"},
        {"leaving-ok", 0, 0, G_OPTION_ARG_NONE, &breath.leaving_ok,
         "Windscreen, discs, tread and pedals were looked at", NULL},
        {"dry", 0, 0, G_OPTION_ARG_NONE, &breath.dry, "Show it, write nothing", NULL},
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc < 2) {
        status = context_misused("name the car", usage);
    } else {
        status = add(context, &breath, argv + 1);
    }
    breath_clear(&breath);
    return status;
}
