/* A job whole: the report `add job` gave, as things stand now. */
#include "beadline/lookup.h"
#include "job_report.h"
#include "report.h"
#include "show.h"

static void tell(struct context *context, const struct bl_job_row *row, const struct look *look)
{
    g_autoptr(GPtrArray) remarks = report_remarks();
    struct job_report report = {
        .context = context,
        .look = look,
        .row = row,
        .car = look_car(look, row->car),
        .remarks = remarks,
    };
    job_report_remark(&report);
    if (context->json) {
        job_report_json(&report);
    } else {
        job_report_print(&report);
    }
}

bool show_job(struct context *context, int64_t id, GError **error)
{
    struct bl_job_row row = {0};
    struct bl_car_row car = {0};
    struct look look = {0};
    bool done = bl_job_get(context->store, id, &row, error) &&
                bl_car_get(context->store, row.car, &car, error) &&
                look_make(context, car.customer, &look, error);
    if (done) {
        tell(context, &row, &look);
    }
    look_clear(&look);
    bl_car_row_clear(&car);
    bl_job_row_clear(&row);
    return done;
}
