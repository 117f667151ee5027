/* A job whole: the report `add job` gave, as things stand now. */
#include "beadline/lookup.h"
#include "corrected.h"
#include "job_report.h"
#include "report.h"
#include "show.h"

static void tell(struct context *context, const struct bl_job_row *row, const struct look *look,
                 const GArray *corrected)
{
    g_autoptr(GPtrArray) remarks = report_remarks();
    g_autoptr(GPtrArray) objects = corrected_objects(context, corrected);
    struct job_report report = {
        .context = context,
        .look = look,
        .row = row,
        .car = look_car(look, row->car),
        .remarks = remarks,
        .corrected = objects,
    };
    job_report_remark(&report);
    if (context->json) {
        job_report_json(&report);
    } else {
        job_report_print(&report);
        corrected_print(context, corrected, corrected->len);
    }
}

/* What the job, and what it put on, said before. */
static GArray *read_corrected(struct context *context, const struct bl_job_row *row,
                              GArray **all, GError **error)
{
    g_autoptr(GArray) treatments = bl_treatment_list(context->store, row->id, error);
    *all = treatments ? bl_corrected_list(context->store, row->car, error) : NULL;
    return *all ? corrected_of_job(*all, row->id, treatments) : NULL;
}

bool show_job(struct context *context, int64_t id, GError **error)
{
    struct bl_job_row row = {0};
    struct bl_car_row car = {0};
    struct look look = {0};
    g_autoptr(GArray) all = NULL;
    g_autoptr(GArray) corrected = NULL;
    bool done = bl_job_get(context->store, id, &row, error) &&
                bl_car_get(context->store, row.car, &car, error) &&
                look_make(context, car.customer, &look, error) &&
                (corrected = read_corrected(context, &row, &all, error)) != NULL;
    if (done) {
        tell(context, &row, &look, corrected);
    }
    look_clear(&look);
    bl_car_row_clear(&car);
    bl_job_row_clear(&row);
    return done;
}
