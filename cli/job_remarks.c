/* What the owner should think about when a job is written down. */
#include <math.h>
#include <string.h>

#include "beadline/text.h"
#include "job_report.h"
#include "report.h"
#include "say.h"

#define SOON_S           300 /* a clock may differ, and a job may be written down while packing up */
#define LONG_AGO_YEARS   10
#define LONG_AGO_DAYS    3653
#define FRESH_PAINT_DAYS 60 /* common practice, no source: a month or two before a coating */

/* What a label asks for, when the value is outside: "5 to 30 °C". NULL when it is inside. */
static char *outside(double value, const double range[2], const char *unit)
{
    bool low = isfinite(range[0]);
    bool high = isfinite(range[1]);
    if (isnan(value) || ((!low || value >= range[0]) && (!high || value <= range[1]))) {
        return NULL;
    }
    if (low && high) {
        return g_strdup_printf("%g to %g %s", range[0], range[1], unit);
    }
    return low ? g_strdup_printf("at least %g %s", range[0], unit)
               : g_strdup_printf("at most %g %s", range[1], unit);
}

/* Products by what their labels ask for, in the order met: one remark for all of one range. */
struct asked {
    char *range;
    GString *titles;
};

static void asked_clear(gpointer data)
{
    struct asked *asked = data;
    g_free(asked->range);
    g_string_free(asked->titles, TRUE);
}

/* Takes over range. */
static void ask(GArray *all, char *range, const char *title)
{
    for (guint i = 0; i < all->len; i++) {
        struct asked *asked = &g_array_index(all, struct asked, i);
        if (g_str_equal(asked->range, range)) {
            g_string_append_printf(asked->titles, ", %s", title);
            g_free(range);
            return;
        }
    }
    struct asked asked = {range, g_string_new(title)};
    g_array_append_val(all, asked);
}

static void remark_weather(struct job_report *report)
{
    g_autoptr(GArray) all = g_array_new(FALSE, FALSE, sizeof(struct asked));
    const struct bl_job_row *row = report->row;
    const struct bl_treatment *treatment;
    guint next = 0;
    g_array_set_clear_func(all, asked_clear);
    while ((treatment = job_report_treatment(report, &next))) {
        const struct bl_cure *cure = treatment->rule ? &treatment->rule->cure : NULL;
        const char *title = look_title(report->context, treatment);
        char *warmth = cure ? outside(row->temp_c, cure->apply_c, "°C") : NULL;
        char *damp = cure ? outside(row->humidity, cure->apply_rh, "% humidity") : NULL;
        if (warmth) {
            ask(all, warmth, title);
        }
        if (damp) {
            ask(all, damp, title);
        }
    }
    for (guint i = 0; i < all->len; i++) {
        const struct asked *asked = &g_array_index(all, struct asked, i);
        bool degrees = strstr(asked->range, "°C") != NULL;
        report_remark(report->remarks, "the label asks for %s, and it was %g: %s", asked->range,
                      degrees ? row->temp_c : row->humidity, asked->titles->str);
    }
}

static void remark_surface(struct job_report *report, const struct bl_treatment *treatment)
{
    const char *own = bl_surface_name(treatment->rule->surface);
    const char *put_on = bl_surface_name(treatment->surface);
    if (treatment->surface != treatment->rule->surface) {
        report_remark(report->remarks,
                      "%s is meant for %s and was put on %s: its times and its life are those "
                      "of %s and may not hold on %s",
                      look_title(report->context, treatment), own, put_on, own, put_on);
    }
}

/* The treatments of the job from `next` on that are a base in the same place. */
static void remark_two_bases(struct job_report *report, const struct bl_treatment *treatment,
                             guint next)
{
    const struct bl_treatment *other;
    while ((other = job_report_treatment(report, &next))) {
        bool both = other->rule && other->rule->role == BL_BASE &&
                    treatment->rule->role == BL_BASE && other->surface == treatment->surface &&
                    strcmp(other->part, treatment->part) == 0;
        if (both) {
            g_autofree char *place = look_place(treatment->surface, treatment->part);
            report_remark(report->remarks,
                          "%s and %s are both a base on %s in one job: they count as layers, "
                          "each with its own dates, so one of them may be a slip",
                          look_title(report->context, treatment),
                          look_title(report->context, other), place);
        }
    }
}

static bool coats_paint(const struct job_report *report)
{
    const struct bl_treatment *treatment;
    guint next = 0;
    while ((treatment = job_report_treatment(report, &next))) {
        if (treatment->rule && treatment->surface == BL_PAINT &&
            treatment->rule->role == BL_BASE) {
            return true;
        }
    }
    return false;
}

/* A new wing or bonnet comes painted. */
static bool is_fresh_paint(const struct bl_event *event)
{
    bool of_paint = event->surface < 0 || event->surface == (int)BL_PAINT;
    return of_paint && (event->happening == BL_EV_RESPRAYED ||
                        (event->happening == BL_EV_PART_REPLACED && event->treatment == 0));
}

static void remark_fresh_paint(struct job_report *report)
{
    int64_t at = report->row->finished_at;
    for (guint i = 0; i < report->car->events->len && coats_paint(report); i++) {
        const struct bl_event *event = &g_array_index(report->car->events, struct bl_event, i);
        if (is_fresh_paint(event) && event->at <= at &&
            event->at > at - FRESH_PAINT_DAYS * BL_DAY) {
            bool sprayed = event->happening == BL_EV_RESPRAYED;
            g_autofree char *day = say_day(report->context, event->at);
            report_remark(report->remarks,
                          "%s on %s: fresh paint is coated only when its painter says so",
                          sprayed ? "it was resprayed" : "a part of it was replaced", day);
        }
    }
}

/* Both are allowed, and both are what a slip of the finger looks like. */
static void remark_time(struct job_report *report)
{
    const struct context *context = report->context;
    int64_t at = report->row->finished_at;
    g_autofree char *when = say_at(context, at);
    g_autofree char *now = say_at(context, context->now);
    if (at > context->now + SOON_S) {
        report_remark(report->remarks,
                      "it is written down as finished on %s, and it is only %s now: look at "
                      "the time",
                      when, now);
    } else if (at < context->now - LONG_AGO_DAYS * BL_DAY) {
        report_remark(report->remarks,
                      "it is written down as finished on %s, more than %d years ago: look at "
                      "the date",
                      when, LONG_AGO_YEARS);
    }
}

static void remark_mileage(struct job_report *report)
{
    const struct bl_shop *shop = &report->context->world->settings->shop;
    if (report->car->readings->len > 0 || report->car->treatments->len == 0) {
        return;
    }
    bool declared = !isnan(report->car->km_a_year);
    g_autofree char *distance =
        say_distance(report->context, declared ? report->car->km_a_year : shop->km_a_year);
    report_remark(report->remarks, "no mileage was read yet: the dates stand on %s a year%s",
                  distance, declared ? ", as its owner says" : ", the shop's usual");
}

/* The owner's own date never shortens a label's. */
static void remark_own_date(struct job_report *report)
{
    const struct bl_shop *shop = &report->context->world->settings->shop;
    int32_t date = bl_cure_wash_date(report->car, shop, report->context->now, NULL);
    if (report->row->wash_from != BL_NO_DATE && date > report->row->wash_from) {
        g_autofree char *own = say_date(report->context, report->row->wash_from);
        g_autofree char *told = say_date(report->context, date);
        report_remark(
            report->remarks,
            "--wash-from %s is before the labels' date: %s is told; --cured-indoors is "
            "for a car that cured under lamps",
            own, told);
    }
}

/* "beadline sheet 3"; NULL for a job that was not written down. Caller frees. */
static char *sheet_of(const struct job_report *report)
{
    return report->dry
               ? NULL
               : g_strdup_printf("\"beadline sheet %" G_GINT64_FORMAT "\"", report->row->id);
}

static bool carries(const struct bl_plan *plan, const struct bl_intent *intent, int64_t job)
{
    for (guint i = 0; i < intent->dues->len; i++) {
        guint due = g_array_index(intent->dues, guint, i);
        if (g_array_index(plan->dues, struct bl_due, due).job == job) {
            return true;
        }
    }
    return false;
}

/* Whether a time of the first hours is still ahead now and will be past at send_at. */
static bool passes_unsaid(const struct job_report *report, const struct bl_job *job,
                          int64_t send_at)
{
    const struct bl_cure_times times = bl_cure_job_times(report->car, job);
    const int64_t told[] = {times.drive, times.dry, times.wipers};
    for (gsize i = 0; i < G_N_ELEMENTS(told); i++) {
        if (told[i] > report->context->now && told[i] < send_at) {
            return true;
        }
    }
    return false;
}

/* One message a day to an address, and closed hours, can hold a handover back until what it
 * says of the first hours has passed. */
static void remark_late_handover(struct job_report *report)
{
    const struct bl_plan *plan = report->look->plan;
    const struct bl_job *job = look_job(report->car, report->row->id);
    for (guint i = 0; job && i < plan->intents->len; i++) {
        const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
        if (intent->kind != BL_HANDOVER || intent->channel == BL_BY_HAND ||
            !carries(plan, intent, job->id)) {
            continue;
        }
        if (intent->lapse) {
            report_remark(report->remarks,
                          "no handover goes (%s): tell them yourself (\"beadline sheet "
                          "%" G_GINT64_FORMAT "\" prints it)",
                          intent->lapse, job->id);
        } else if (passes_unsaid(report, job, intent->send_at)) {
            g_autofree char *at = say_at(report->context, intent->send_at);
            g_autofree char *sheet = sheet_of(report);
            report_remark(report->remarks,
                          "the handover goes %s, after some of these times: tell them "
                          "yourself%s%s%s",
                          at, sheet ? " (" : "", sheet ? sheet : "",
                          sheet ? " prints it)" : "");
        }
    }
}

/* Work that was done before it went may be written down late; or it was meant for another car.
 */
static void remark_gone(struct job_report *report)
{
    if (report->added && report->car->gone_at != BL_NEVER) {
        g_autofree char *day = say_day(report->context, report->car->gone_at);
        report_remark(report->remarks,
                      "the car is gone since %s, so no message goes for it: \"beadline change "
                      "car #%" G_GINT64_FORMAT " --gone no\" brings it back",
                      day, report->car->id);
    }
}

static void remark_held(struct job_report *report)
{
    if (report->car->offers_held) {
        report_remark(report->remarks,
                      "after the complaint nothing is offered for this car: \"beadline change "
                      "car #%" G_GINT64_FORMAT " --offers yes\" lifts that",
                      report->car->id);
    }
}

static void remark_customer(struct job_report *report)
{
    const struct bl_facts *facts = &report->look->facts;
    const struct bl_customer *customer = &facts->customer;
    const char *address = NULL;
    if (bl_facts_silenced(facts)) {
        report_remark(report->remarks,
                      "%s asked for silence: nothing is sent, tell them yourself",
                      customer->name);
        return;
    }
    if (bl_facts_route(facts, &address) == BL_BY_HAND) {
        g_autofree char *sheet = sheet_of(report);
        report_remark(report->remarks,
                      "no message can go to %s: it all stands on your ring list%s%s%s",
                      customer->name, sheet ? ", and " : "", sheet ? sheet : "",
                      sheet ? " prints the handover" : "");
    }
    if (!customer->consent[BL_OFFERS]) {
        report_remark(report->remarks,
                      "%s has not agreed to offers: nothing is sent when a protection ends "
                      "(change customer #%" G_GINT64_FORMAT " --offers yes --how TEXT)",
                      customer->name, customer->id);
    }
}

void job_report_remark(struct job_report *report)
{
    const struct bl_treatment *treatment;
    guint next = 0;
    if (!report->car) {
        return;
    }
    while ((treatment = job_report_treatment(report, &next))) {
        if (treatment->rule) {
            remark_surface(report, treatment);
            remark_two_bases(report, treatment, next);
        }
    }
    remark_time(report);
    remark_weather(report);
    remark_fresh_paint(report);
    remark_mileage(report);
    remark_own_date(report);
    remark_late_handover(report);
    remark_gone(report);
    remark_held(report);
    remark_customer(report);
    for (guint i = 0; i < report->look->plan->skipped->len; i++) {
        report_remark(report->remarks, "left out: %s",
                      (const char *)g_ptr_array_index(report->look->plan->skipped, i));
    }
}
