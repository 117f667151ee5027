/* A job as one JSON object. */
#include <math.h>

#include "job_report.h"
#include "json.h"
#include "report.h"

static const struct bl_zone *zone_of(const struct job_report *report)
{
    return report->context->world->settings->shop.zone;
}

static char *treatment_object(const struct job_report *report,
                              const struct bl_treatment *treatment)
{
    struct bl_life life;
    struct json json;
    bl_wear_life(report->car, treatment, &report->context->world->settings->shop,
                 report->context->now, &life);
    json_begin(&json);
    json_whole(&json, "treatment", treatment->id);
    json_text(&json, "product", treatment->rule ? treatment->rule->product : NULL);
    json_text(&json, "title", look_title(report->context, treatment));
    json_text(&json, "surface", bl_surface_name(treatment->surface));
    json_text(&json, "part", *treatment->part ? treatment->part : NULL);
    json_whole(&json, "coats", treatment->coats);
    json_at(&json, "top_up_early", zone_of(report), life.early);
    json_at(&json, "top_up_likely", zone_of(report), life.likely);
    json_at(&json, "top_up_late", zone_of(report), life.late);
    json_at(&json, "ended_at", zone_of(report), life.ended_at);
    json_text(&json, "ended_by", life.ended_by);
    return json_take(&json);
}

static char *message_object(const struct job_report *report, guint i)
{
    const struct bl_due *due = &g_array_index(report->look->plan->dues, struct bl_due, i);
    const struct bl_intent *intent = look_intent(report->look, i);
    struct json json;
    json_begin(&json);
    json_text(&json, "kind", bl_kind_name(due->kind));
    json_whole(&json, "subject", due->subject);
    json_text(&json, "channel", intent ? bl_channel_name(intent->channel) : NULL);
    json_text(&json, "to", intent ? intent->address : NULL);
    json_at(&json, "send_at", zone_of(report), intent ? intent->send_at : 0);
    json_at(&json, "not_after", zone_of(report), due->not_after);
    json_text(&json, "held", due->held);
    return json_take(&json);
}

static void add_cure(const struct job_report *report, struct json *json)
{
    const struct bl_job *job = look_job(report->car, report->row->id);
    struct bl_cure_times times = {BL_NEVER, BL_NEVER, BL_NEVER, BL_NEVER};
    int32_t wash = BL_NO_DATE;
    if (job) {
        times = bl_cure_job_times(report->car, job);
        wash = bl_cure_wash_date(report->car, &report->context->world->settings->shop,
                                 report->context->now, NULL);
    }
    json_at(json, "drive_from", zone_of(report), times.drive);
    json_at(json, "dry_until", zone_of(report), times.dry);
    json_at(json, "wipers_from", zone_of(report), times.wipers);
    json_at(json, "rinse_from", zone_of(report), times.rinse);
    json_date(json, "wash_from", wash);
}

static void add_lists(const struct job_report *report, struct json *json)
{
    g_autoptr(GPtrArray) treatments = json_list();
    g_autoptr(GPtrArray) messages = json_list();
    const struct bl_treatment *treatment;
    guint next = 0;
    while ((treatment = job_report_treatment(report, &next))) {
        g_ptr_array_add(treatments, treatment_object(report, treatment));
    }
    for (guint i = 0; i < report->look->plan->dues->len; i++) {
        if (g_array_index(report->look->plan->dues, struct bl_due, i).job == report->row->id) {
            g_ptr_array_add(messages, message_object(report, i));
        }
    }
    json_objects(json, "treatments", treatments);
    json_objects(json, "messages", messages);
}

void job_report_json(const struct job_report *report)
{
    const struct bl_job_row *row = report->row;
    struct json json;
    json_begin(&json);
    if (report->dry) {
        json_text(&json, "job", NULL);
    } else {
        json_whole(&json, "job", row->id);
    }
    json_yes(&json, "dry", report->dry);
    json_whole(&json, "car", row->car);
    json_text(&json, "plate", report->car ? report->car->plate : NULL);
    json_text(&json, "customer", report->look->facts.customer.name);
    json_at(&json, "finished_at", zone_of(report), row->finished_at);
    json_number(&json, "km", row->km);
    json_number(&json, "temp_c", row->temp_c);
    json_number(&json, "humidity", row->humidity);
    json_text(&json, "package", report->package);
    if (row->redo_of) {
        json_whole(&json, "redo_of", row->redo_of);
    } else {
        json_text(&json, "redo_of", NULL);
    }
    json_yes(&json, "free_of_charge", row->redo_of != 0);
    json_yes(&json, "cured_indoors", row->cured_indoors);
    json_yes(&json, "leaving_ok", row->leaving_ok);
    json_text(&json, "note", row->note && *row->note ? row->note : NULL);
    add_cure(report, &json);
    add_lists(report, &json);
    if (report->corrected) {
        json_objects(&json, "corrected", report->corrected);
    }
    report_json(&json, report->remarks);
    json_end(&json);
}
