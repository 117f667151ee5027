/*
 * Finished work in one breath. What is typed becomes one row with its treatments; what follows
 * from it is looked up in the same transaction and told at once, so a dry run shows exactly
 * what a real one would.
 */
#include "breath.h"

#include <math.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "job_report.h"
#include "report.h"
#include "say.h"
#include "treat.h"
#include "typed.h"
#include "vehicle.h"

void breath_numbers_clear(struct breath_numbers *typed)
{
    g_free(typed->mileage);
    g_free(typed->temp);
    g_free(typed->humidity);
}

void breath_clear(struct breath *breath)
{
    breath_numbers_clear(&breath->numbers);
    g_free(breath->at);
    g_free(breath->place);
    g_free(breath->note);
    g_free(breath->wash_from);
    g_strfreev(breath->batches);
    g_strfreev(breath->again);
}

/* Nothing said leaves the value, "none" takes it away. */
static bool is_said(const char *text, double *value)
{
    if (text && typed_none(text)) {
        *value = (double)NAN;
        return false;
    }
    return text != NULL;
}

bool breath_numbers(const struct context *context, const struct breath_numbers *typed,
                    struct bl_job_row *row, GError **error)
{
    return (!is_said(typed->mileage, &row->km) ||
            say_read_distance(context, typed->mileage, &row->km, error)) &&
           (!is_said(typed->temp, &row->temp_c) ||
            typed_temp(typed->temp, &row->temp_c, error)) &&
           (!is_said(typed->humidity, &row->humidity) ||
            typed_number("humidity", typed->humidity, "%", &row->humidity, error));
}

bool breath_wash_from(const struct context *context, const struct bl_job_row *row,
                      GError **error)
{
    int32_t finished = bl_zone_date(context->world->settings->shop.zone, row->finished_at);
    if (row->wash_from == BL_NO_DATE || row->wash_from >= finished) {
        return true;
    }
    g_autofree char *date = bl_date_format(row->wash_from);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "--wash-from \"%s\" is before the job was finished: give a later day", date);
    return false;
}

static bool read_dates(const struct context *context, const struct breath *breath,
                       struct bl_job_row *row, GError **error)
{
    row->entered_at = context->now;
    row->wash_from = BL_NO_DATE;
    return typed_at(context, "job", breath->at, &row->finished_at, error) &&
           (!breath->wash_from ||
            typed_date(context, breath->wash_from, &row->wash_from, error)) &&
           breath_wash_from(context, row, error);
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

/* The car that was named, or that of the job that is made good. */
static bool find_car(struct context *context, const struct breath *breath, const char *name,
                     int64_t *car, GError **error)
{
    struct bl_job_row first = {0};
    if (name) {
        return say_find_car(context, name, car, error);
    }
    if (!bl_job_get(context->store, breath->redo_of, &first, error)) {
        return false;
    }
    *car = first.car;
    bl_job_row_clear(&first);
    return true;
}

static bool read_car(struct context *context, const char *name, const struct breath *breath,
                     struct bl_job_row *row, struct bl_car_row *car, GError **error)
{
    if (!find_car(context, breath, name, &row->car, error) ||
        !bl_car_get(context->store, row->car, car, error) ||
        !is_here(context, car, row->finished_at, error)) {
        return false;
    }
    row->place = car->place;
    return !breath->place ||
           vehicle_find_place(context, car->customer, breath->place, &row->place, error);
}

/* What went on before anything is named beside it. */
static bool read_first(struct context *context, const struct breath *breath, bool named,
                       const struct bl_job_row *row, struct picks *picks, GError **error)
{
    if (breath->redo_of && !named) {
        return picks_job(picks, context, breath->redo_of, error);
    }
    return !breath->same || picks_last(picks, context, row->car, row->finished_at, error);
}

static bool read_picks(struct context *context, const struct breath *breath, char **words,
                       const struct bl_job_row *row, struct picks *picks, GError **error)
{
    if (!read_first(context, breath, *words != NULL, row, picks, error)) {
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

/* What was typed, options and words. */
struct typed_job {
    const struct breath *breath;
    const char *car; /* NULL: that of the job it makes good */
    char **words;
};

/* Everything that needs the transaction. */
static bool write_job(struct context *context, const struct typed_job *typed,
                      struct bl_job_row *row, struct picks *picks, struct look *look,
                      GError **error)
{
    const struct breath *breath = typed->breath;
    struct bl_car_row car = {0};
    row->km = row->temp_c = row->humidity = (double)NAN;
    row->cured_indoors = breath->cured;
    row->leaving_ok = breath->leaving_ok;
    row->note = breath->note;
    row->redo_of = breath->redo_of;
    bool done = breath_numbers(context, &breath->numbers, row, error) &&
                read_dates(context, breath, row, error) &&
                read_car(context, typed->car, breath, row, &car, error) &&
                read_picks(context, breath, typed->words, row, picks, error) &&
                write_row(context, picks, row, error) &&
                look_make(context, car.customer, look, error);
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

int breath_run(struct context *context, const struct breath *breath, const char *car,
               char **words)
{
    const struct typed_job typed = {breath, car, words};
    struct bl_job_row row = {0};
    struct picks picks;
    struct look look = {0};
    GError *error = NULL;
    picks_init(&picks);
    bool done = context_write(context, &error);
    if (done && !write_job(context, &typed, &row, &picks, &look, &error)) {
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
