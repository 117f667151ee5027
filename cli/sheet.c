/* beadline sheet: the one-page handover of a job, for paper. */
#include <stdio.h>

#include "beadline/lookup.h"
#include "command.h"
#include "json.h"
#include "look.h"
#include "say.h"

static const char usage[] =
    "sheet JOB|CAR\n"
    "The handover on one page, in the customer's language: of the job of that number, or of a\n"
    "car's last job.\n"
    "\n"
    "  beadline sheet 12 | lp";

/* The job of that number, else the last of the car of that name. */
static bool find_job(struct context *context, const char *name, struct bl_job_row *row,
                     GError **error)
{
    int64_t id = 0;
    int64_t car = 0;
    if (say_read_id(name, "job", &id, NULL)) {
        return bl_job_get(context->store, id, row, error);
    }
    if (!say_find_car(context, name, &car, error)) {
        return false;
    }
    g_autoptr(GArray) jobs = bl_job_list(context->store, car, 1, error);
    if (jobs && jobs->len > 0) {
        return bl_job_get(context->store, g_array_index(jobs, struct bl_job_row, 0).id, row,
                          error);
    }
    if (jobs) {
        g_set_error(error, BL_ERROR, BL_ERROR_MISSING, "car \"%s\" has no job yet", name);
    }
    return false;
}

static char *compose(struct context *context, int64_t customer, int64_t job, GError **error)
{
    struct look look;
    char *text = NULL;
    if (look_make(context, customer, &look, error)) {
        text = bl_compose_sheet(context->world->templates, &context->world->settings->shop,
                                &look.facts, look.plan, job, context->now, error);
    }
    look_clear(&look);
    return text;
}

static bool show(struct context *context, const char *name, GError **error)
{
    struct bl_job_row row = {0};
    struct bl_car_row car = {0};
    g_autofree char *text = NULL;
    if (!context_look(context, error)) {
        return false;
    }
    if (find_job(context, name, &row, error) &&
        bl_car_get(context->store, row.car, &car, error)) {
        text = compose(context, car.customer, row.id, error);
    }
    if (text && context->json) {
        struct json json;
        json_begin(&json);
        json_whole(&json, "job", row.id);
        json_text(&json, "sheet", text);
        json_end(&json);
    } else if (text) {
        fputs(text, stdout);
    }
    bl_job_row_clear(&row);
    bl_car_row_clear(&car);
    if (!text) {
        bl_store_rollback(context->store);
        return false;
    }
    return context_shown(context, error);
}

int command_sheet(struct context *context, int argc, char **argv)
{
    GError *error = NULL;
    if (!context_parse(context, NULL, usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc != 2) {
        return context_misused("name one job, or a car", usage);
    }
    return show(context, argv[1], &error) ? DONE : context_fail(error);
}
