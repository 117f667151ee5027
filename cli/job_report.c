/* A job as people read it. */
#include "job_report.h"

#include <math.h>
#include <stdio.h>

#include "beadline/text.h"
#include "report.h"
#include "say.h"
#include "table.h"

#define STANDS_HERE_S                                                                          \
    INT64_C(43200) /* twelve hours after the job the car may still be looked at */

const struct bl_treatment *job_report_treatment(const struct job_report *report, guint *next)
{
    while (report->car && *next < report->car->treatments->len) {
        const struct bl_treatment *treatment =
            &g_array_index(report->car->treatments, struct bl_treatment, (*next)++);
        if (treatment->job == report->row->id) {
            return treatment;
        }
    }
    return NULL;
}

static void print_finished(const struct job_report *report)
{
    const struct bl_job_row *row = report->row;
    g_autoptr(GString) line = g_string_new(NULL);
    g_autofree char *at = say_at(report->context, row->finished_at);
    g_string_append(line, at);
    if (!isnan(row->km)) {
        g_autofree char *distance = say_distance(report->context, row->km);
        g_string_append_printf(line, ", %s", distance);
    }
    if (!isnan(row->temp_c)) {
        g_string_append_printf(line, ", %.4g °C", row->temp_c);
    }
    if (!isnan(row->humidity)) {
        g_string_append_printf(line, ", humidity %.4g %%", row->humidity);
    }
    if (row->cured_indoors) {
        g_string_append(line, ", cured indoors");
    }
    report_line("Finished", "%s", line->str);
}

static void print_head(const struct job_report *report)
{
    const struct bl_car *car = report->car;
    g_autofree char *name = car ? say_car(car->name, car->plate) : g_strdup("");
    if (report->dry) {
        puts("A dry run: nothing is written.");
    } else {
        printf("Job #%" G_GINT64_FORMAT "\n", report->row->id);
    }
    report_line("Car", "%s, %s", name, report->look->facts.customer.name);
    print_finished(report);
    report_line("Package", "%s", report->package ? report->package : "");
    if (report->row->redo_of) {
        report_line("Makes good", "job #%" G_GINT64_FORMAT ", free of charge",
                    report->row->redo_of);
    }
    report_line("Note", "%s", report->row->note ? report->row->note : "");
}

static void add_treatment(const struct job_report *report, const struct bl_treatment *treatment,
                          struct table *table)
{
    struct bl_life life;
    bl_wear_life(report->car, treatment, &report->context->world->settings->shop,
                 report->context->now, &life);
    /* What was just typed needs no number yet, and a dry run has none that will hold. */
    g_autofree char *id =
        report->added ? NULL : g_strdup_printf("#%" G_GINT64_FORMAT, treatment->id);
    g_autofree char *off = look_off(report->context, &life);
    g_autofree char *when = off ? NULL : say_span(report->context, life.early, life.late);
    g_autofree char *place = look_place(treatment->surface, treatment->part);
    g_autofree char *coats = g_strdup_printf("%d", treatment->coats);
    const char *again = when && *when ? look_again(treatment) : "";
    const char *const cells[] = {
        id, look_title(report->context, treatment), coats, place, when, off ? off : again};
    table_row(table, cells);
}

static void print_treatments(const struct job_report *report)
{
    static const char *const titles[] = {
        ">#", "on it", ">coats", "where", "=top-up between", "~done by", NULL};
    BL_AUTO(table) *table = table_new(titles);
    const struct bl_treatment *treatment;
    guint next = 0;
    while ((treatment = job_report_treatment(report, &next))) {
        add_treatment(report, treatment, table);
    }
    if (table_empty(table)) {
        puts("A wash only: nothing was put on.");
    } else {
        table_print(table, 2);
    }
}

static void print_at(const struct job_report *report, const char *label, int64_t at)
{
    g_autofree char *text = at > report->row->finished_at ? say_at(report->context, at) : NULL;
    report_line(label, "%s", text ? text : "");
}

/* Whether a product of another surface was put on the windscreen. */
static bool strange_on_windscreen(const struct job_report *report)
{
    const struct bl_treatment *treatment;
    guint next = 0;
    while ((treatment = job_report_treatment(report, &next))) {
        if (treatment->surface == BL_WINDSCREEN && treatment->rule &&
            treatment->rule->surface != BL_WINDSCREEN) {
            return true;
        }
    }
    return false;
}

static void print_cure(const struct job_report *report)
{
    const struct bl_job *job = look_job(report->car, report->row->id);
    if (!job) {
        return;
    }
    const struct bl_shop *shop = &report->context->world->settings->shop;
    struct bl_cure_times times = bl_cure_job_times(report->car, job);
    int32_t wash = bl_cure_wash_date(report->car, shop, report->context->now, NULL);
    print_at(report, "Driven from", times.drive == BL_NEVER ? 0 : times.drive);
    print_at(report, "Dry until", times.dry == BL_NEVER ? 0 : times.dry);
    if (times.wipers == BL_NEVER && !job->cured_indoors && strange_on_windscreen(report)) {
        report_line("Wipers from", "its rule says no hours: see the label");
    }
    print_at(report, "Wipers from", times.wipers == BL_NEVER ? 0 : times.wipers);
    print_at(report, "Rinse from", times.rinse == BL_NEVER ? 0 : times.rinse);
    g_autofree char *date = say_date(report->context, wash);
    report_line("Wash from", "%s", *date ? date : "now on");
}

/* "wash", "top-up: wheel spray sealant". */
static char *about(const struct job_report *report, const struct bl_due *due)
{
    const struct bl_treatment *treatment;
    guint next = 0;
    while (due->treatment && (treatment = job_report_treatment(report, &next))) {
        if (treatment->id == due->treatment) {
            return g_strdup_printf("%s: %s", bl_kind_name(due->kind),
                                   look_title(report->context, treatment));
        }
    }
    return g_strdup(bl_kind_name(due->kind));
}

/* Why the owner reads no date of a message here. */
static const char *why_none(const struct job_report *report, guint i)
{
    const struct bl_due *due = &g_array_index(report->look->plan->dues, struct bl_due, i);
    const char *lapse = look_lapse(report->look, i);
    return due->held                               ? due->held
           : lapse                                 ? lapse
           : due->not_after < report->context->now ? "its time is over"
                                                   : "said already, or ended";
}

static void print_messages(const struct job_report *report)
{
    static const char *const titles[] = {"message", "=goes", "~way", NULL};
    const GArray *dues = report->look->plan->dues;
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < dues->len; i++) {
        const struct bl_due *due = &g_array_index(dues, struct bl_due, i);
        const struct bl_intent *intent = look_intent(report->look, i);
        if (due->job != report->row->id) {
            continue;
        }
        g_autofree char *what = about(report, due);
        g_autofree char *at = intent ? say_at(report->context, intent->send_at) : NULL;
        g_autofree char *way = intent ? look_way(intent->channel, intent->address) : NULL;
        g_autofree char *none = g_strdup_printf("none: %s", why_none(report, i));
        const char *const cells[] = {what, intent ? at : "", intent ? way : none};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_print(table, 2);
    }
}

#define ON(surface) (1u << (surface))

/* What the owner is told in few words. A caution that belongs to surfaces follows where the
 * product went; the others are the product's own wherever it goes. */
static const struct careful {
    const char *caution, *words;
    guint surfaces; /* bits; 0 any */
} careful[] = {
    {"clear windscreen", "no haze on the windscreen, wet and dry", ON(BL_WINDSCREEN)},
    {"not on tread", "nothing on treads, discs, pads", ON(BL_WHEELS) | ON(BL_TYRES)},
    {"try brakes", "try the brakes gently before joining traffic",
     ON(BL_WHEELS) | ON(BL_TYRES)},
    {"not on pedals", "dressings off pedals and steering wheel", 0},
    {"not on windscreen", "toppers and dressings off the windscreen", 0},
    {"gloves", "gloves", 0},
};

static bool calls_for(const struct bl_treatment *treatment, const struct careful *one)
{
    if (!treatment->rule || (one->surfaces && !(one->surfaces & ON(treatment->surface)))) {
        return false;
    }
    bool strange = treatment->surface != treatment->rule->surface;
    const char *const *cautions = (const char *const *)treatment->rule->cautions;
    return (one->surfaces && strange) || (cautions && g_strv_contains(cautions, one->caution));
}

static bool warns(const struct job_report *report, const struct careful *one)
{
    const struct bl_treatment *treatment;
    guint next = 0;
    while ((treatment = job_report_treatment(report, &next))) {
        if (calls_for(treatment, one)) {
            return true;
        }
    }
    return false;
}

static void print_careful(const struct job_report *report)
{
    g_autoptr(GString) line = g_string_new(NULL);
    for (gsize i = 0; i < G_N_ELEMENTS(careful); i++) {
        if (warns(report, &careful[i])) {
            g_string_append_printf(line, "%s%s", line->len ? "; " : "", careful[i].words);
        }
    }
    if (line->len) {
        printf("Careful: %s. The label, its safety data sheet and local rules come first.\n",
               line->str);
    }
    int64_t age = report->context->now - report->row->finished_at;
    if (age < STANDS_HERE_S && !report->row->leaving_ok) {
        puts("Before it leaves, look at: windscreen, discs, tread, pedals (--leaving-ok keeps "
             "the tick).");
    }
}

void job_report_print(const struct job_report *report)
{
    print_head(report);
    print_treatments(report);
    print_cure(report);
    print_messages(report);
    putchar('\n');
    report_print(report->remarks);
    if (report->added) {
        print_careful(report);
    }
}
