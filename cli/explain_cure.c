/* The car's one wash date, and the days that make it. */
#include <math.h>
#include <stdio.h>

#include "explain.h"
#include "say.h"
#include "table.h"

#define REMARK_OF_DATE "the first day that begins at or after that"

static const char *warmth_name(enum bl_warmth warmth)
{
    static const char *const names[] = {[BL_WARMTH_LABEL] = "label",
                                        [BL_WARMTH_JOB] = "the job",
                                        [BL_WARMTH_CLIMATE] = "climate",
                                        [BL_WARMTH_INDOORS] = "indoors"};
    return names[warmth];
}

const struct bl_treatment *explained_treatment(const struct bl_car *car, int64_t id)
{
    for (guint i = 0; i < car->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(car->treatments, struct bl_treatment, i);
        if (one->id == id) {
            return one;
        }
    }
    return NULL;
}

/* The date, and the treatment it comes from (NULL: the owner's own date). */
static bool find(const struct explained *explained, const struct bl_car *car,
                 struct bl_wash *wash, const struct bl_treatment **binding)
{
    bool open = bl_cure_wash_tell(car, explained->shop, explained->now, wash);
    *binding = open ? explained_treatment(car, wash->treatment) : NULL;
    return open;
}

/* What ended the cure before its own time, or NULL: then the label's days are not what it took.
 * Caller frees. */
static char *ended_early(const struct explained *explained, const struct bl_car *car,
                         const struct bl_treatment *treatment)
{
    struct bl_cure_story story;
    const char *title = look_title(explained->context, treatment);
    bl_cure_tell(car, treatment, explained->shop, explained->now, &story);
    g_autofree char *end = say_moment(explained->context, MIN(story.end, story.voided_at));
    char *ended = NULL;
    if (story.voided_at != BL_NEVER) {
        ended = g_strdup_printf("the %s came off on %s, before it had cured", title, end);
    } else if (story.indoors) {
        ended = g_strdup_printf("the %s was cured indoors, which ended it on %s", title, end);
    }
    bl_cure_story_clear(&story);
    return ended;
}

char *explain_cure_plain(const struct explained *explained, const struct bl_car *car)
{
    struct bl_wash wash;
    const struct bl_treatment *binding;
    if (!find(explained, car, &wash, &binding)) {
        return NULL;
    }
    g_autofree char *date = say_full_date(wash.date);
    if (!binding) {
        return g_strdup_printf("wash from %s: the date you set yourself", date);
    }
    g_autofree char *ended = ended_early(explained, car, binding);
    if (ended) {
        return g_strdup_printf("wash from %s: %s", date, ended);
    }
    double days = explain_days(binding->last_coat_at, wash.end);
    double label = binding->rule->cure.wash_days[1];
    g_autofree char *is = explain_fixed(days, 1);
    g_autofree char *said = explain_exact(label);
    return days > label + 0.05
               ? g_strdup_printf("wash from %s: in the cold the %s cures %s days, not %s", date,
                                 look_title(explained->context, binding), is, said)
               : g_strdup_printf("wash from %s: the %s cures %s days, as its label says", date,
                                 look_title(explained->context, binding), said);
}

static void print_label(const struct bl_treatment *treatment, const struct bl_cure_story *story)
{
    const struct bl_cure *cure = &treatment->rule->cure;
    g_autofree char *lo = explain_exact(cure->wash_days[0]);
    g_autofree char *hi = explain_exact(cure->wash_days[1]);
    g_autofree char *at = explain_exact(cure->reference_c);
    g_autofree char *longest = explain_exact(story->longest_days);
    g_autofree char *stall = explain_exact(cure->stall_c);
    g_autofree char *ea = explain_exact(cure->ea_ev);
    g_autofree char *kelvin = explain_exact(cure->reference_c + BL_ZERO_C_K);
    explain_line(
        "Label",
        "no wash for %s to %s days; %s of them at %s °C or more count whole, and it never "
        "takes over %s days%s%s%s",
        lo, hi, hi, at, longest, isfinite(cure->stall_c) ? "; below " : "",
        isfinite(cure->stall_c) ? stall : "",
        isfinite(cure->stall_c) ? " °C nothing cures" : "");
    explain_line("Speed",
                 "a = e^(%s / 0.00008617333262 x (1/%s - 1/(273.15 + °C))), at most 1 "
                 "counts",
                 ea, kelvin);
}

static void add_day(const struct bl_cure_day *day, struct table *table)
{
    bool known = isfinite(day->temp_c);
    g_autofree char *date = say_full_date(day->date);
    g_autofree char *days = explain_fixed(explain_days(day->from, day->to), 4);
    g_autofree char *temp = known ? explain_fixed(day->temp_c, 3) : NULL;
    g_autofree char *speed = explain_fixed(day->speed, 4);
    g_autofree char *gained = explain_fixed(day->days, 4);
    g_autofree char *sum = explain_fixed(day->sum, 4);
    const char *const cells[] = {
        date,   days, temp, warmth_name(day->warmth), day->stalled ? "stalled" : speed,
        gained, sum};
    table_row(table, cells);
}

static void print_days(const struct bl_cure_story *story)
{
    static const char *const titles[] = {"=day",     ">days",     ">°C",  "=from",
                                         ">speed a", ">gathered", ">sum", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < story->days->len; i++) {
        add_day(&g_array_index(story->days, struct bl_cure_day, i), table);
    }
    table_print(table, 2);
}

static void print_over(const struct explained *explained, const struct bl_cure_story *story)
{
    g_autofree char *end = say_moment(explained->context, story->end);
    g_autofree char *asked = explain_exact(story->asked_days);
    g_autofree char *longest = explain_exact(story->longest_days);
    if (story->indoors) {
        explain_line("Over", "%s: cured indoors then", end);
    } else if (story->held) {
        explain_line("Over", "%s: the longest, %s days, has come before the %s are gathered",
                     end, longest, asked);
    } else {
        explain_line("Over", "%s: %s days are gathered", end, asked);
    }
}

static bool is_open(const struct explained *explained, const struct bl_car *car,
                    const struct bl_treatment *treatment)
{
    struct bl_cure_story story;
    bl_cure_tell(car, treatment, explained->shop, explained->now, &story);
    bool open = story.asked_days > 0 && story.voided_at == BL_NEVER;
    open = open && story.end > explained->now;
    bl_cure_story_clear(&story);
    return open;
}

/* The other cures still open, one line each. */
static void print_others(const struct explained *explained, const struct bl_car *car,
                         int64_t binding)
{
    for (guint i = 0; i < car->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(car->treatments, struct bl_treatment, i);
        if (one->id != binding && is_open(explained, car, one)) {
            struct bl_cure_story story;
            bl_cure_tell(car, one, explained->shop, explained->now, &story);
            g_autofree char *name = explain_treatment_name(explained, one);
            g_autofree char *end = say_moment(explained->context, story.end);
            explain_line("Also cures", "%s: until %s", name, end);
            bl_cure_story_clear(&story);
        }
    }
}

static void print_binding(const struct explained *explained, const struct bl_car *car,
                          const struct bl_treatment *binding)
{
    struct bl_cure_story story;
    g_autofree char *name = explain_treatment_name(explained, binding);
    g_autofree char *since = say_moment(explained->context, binding->last_coat_at);
    bl_cure_tell(car, binding, explained->shop, explained->now, &story);
    explain_line("Cures", "%s: last coat %s (job #%" G_GINT64_FORMAT ")", name, since,
                 binding->job);
    print_label(binding, &story);
    if (!explained->shop->has_climate && story.days->len > 0) {
        explain_line("Climate", "the settings name none: the job's temperature counts "
                                "throughout");
    }
    print_days(&story);
    print_over(explained, &story);
    bl_cure_story_clear(&story);
}

void explain_cure_print(const struct explained *explained, const struct bl_car *car)
{
    struct bl_wash wash;
    const struct bl_treatment *binding;
    if (!find(explained, car, &wash, &binding)) {
        return;
    }
    g_autofree char *date = say_full_date(wash.date);
    putchar('\n');
    table_heading("When it may be washed");
    if (binding) {
        print_binding(explained, car, binding);
        explain_line("Wash from", "%s: " REMARK_OF_DATE, date);
    } else {
        explain_line("Wash from", "%s: the date you set yourself with job #%" G_GINT64_FORMAT,
                     date, wash.job);
    }
    print_others(explained, car, wash.treatment);
}

static char *day_object(const struct explained *explained, const struct bl_cure_day *day)
{
    struct json json;
    json_begin(&json);
    json_date(&json, "date", day->date);
    json_at(&json, "from", explained->shop->zone, day->from);
    json_at(&json, "to", explained->shop->zone, day->to);
    json_number(&json, "temp_c", day->temp_c);
    json_text(&json, "temp_from", warmth_name(day->warmth));
    json_number(&json, "speed", day->speed);
    json_yes(&json, "stalled", day->stalled);
    json_number(&json, "gathered_days", day->days);
    json_number(&json, "sum_days", day->sum);
    return json_take(&json);
}

static char *cure_object(const struct explained *explained, const struct bl_car *car,
                         const struct bl_treatment *treatment)
{
    const struct bl_cure *cure = &treatment->rule->cure;
    struct bl_cure_story story;
    struct json json;
    g_autoptr(GPtrArray) days = json_list();
    bl_cure_tell(car, treatment, explained->shop, explained->now, &story);
    for (guint i = 0; i < story.days->len; i++) {
        g_ptr_array_add(
            days, day_object(explained, &g_array_index(story.days, struct bl_cure_day, i)));
    }
    json_begin(&json);
    json_whole(&json, "treatment", treatment->id);
    json_at(&json, "last_coat_at", explained->shop->zone, treatment->last_coat_at);
    json_pair(&json, "wash_days", cure->wash_days);
    json_number(&json, "reference_c", cure->reference_c);
    json_number(&json, "ea_ev", cure->ea_ev);
    json_number(&json, "stall_c", cure->stall_c);
    json_number(&json, "asked_days", story.asked_days);
    json_number(&json, "longest_days", story.longest_days);
    json_objects(&json, "days", days);
    json_at(&json, "end_at", explained->shop->zone, story.end);
    json_yes(&json, "held_at_longest", story.held);
    json_yes(&json, "indoors", story.indoors);
    bl_cure_story_clear(&story);
    return json_take(&json);
}

char *explain_cure_object(const struct explained *explained, const struct bl_car *car)
{
    struct bl_wash wash;
    const struct bl_treatment *binding;
    struct json json;
    g_autoptr(GPtrArray) cures = json_list();
    if (!find(explained, car, &wash, &binding)) {
        return NULL;
    }
    for (guint i = 0; i < car->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(car->treatments, struct bl_treatment, i);
        if (one->id == wash.treatment || is_open(explained, car, one)) {
            g_ptr_array_add(cures, cure_object(explained, car, one));
        }
    }
    g_autofree char *plain = explain_cure_plain(explained, car);
    json_begin(&json);
    json_text(&json, "plain", plain);
    json_date(&json, "wash_from", wash.date);
    json_at(&json, "end_at", explained->shop->zone, wash.end);
    json_whole(&json, "job", wash.job);
    json_text(&json, "binds", binding ? "treatment" : "own date");
    json_whole(&json, "treatment", wash.treatment);
    json_objects(&json, "cures", cures);
    return json_take(&json);
}
