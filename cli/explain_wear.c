/* When a protection ends, and the sum that says so: the label, what moves it, each stretch. */
#include "explain_wear.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "say.h"
#include "table.h"

#define YEAR_MONTHS 12

const char *const explain_end_names[BL_ENDS] = {
    [BL_EARLY] = "early", [BL_LIKELY] = "likely", [BL_LATE] = "late"};

int64_t explain_end_at(const struct bl_life *life, guint end)
{
    const int64_t ends[BL_ENDS] = {life->early, life->likely, life->late};
    return ends[end];
}

const char *explain_driven(const struct bl_wear_story *story, enum bl_driven driven)
{
    if (driven == BL_DRIVEN_PRIOR) {
        return story->distance.declared ? "owner's" : "usual";
    }
    return driven == BL_DRIVEN_MEASURED ? "measured" : "forecast";
}

bool explain_held(const struct bl_stretch *stretch)
{
    return stretch->raw != stretch->speed;
}

double explain_most_km(const struct bl_rule *rule)
{
    return rule->wear.max_km > 0 ? rule->wear.max_km : (double)INFINITY;
}

static const struct bl_stretch *stretch_at(const struct bl_wear_story *story, guint i)
{
    return &g_array_index(story->stretches, struct bl_stretch, i);
}

/* "28 to 42 days (mean 35)". Caller frees. */
static char *say_days(const struct bl_wear_story *story)
{
    g_autofree char *lo = explain_exact(story->life_days[BL_EARLY]);
    g_autofree char *hi = explain_exact(story->life_days[BL_LATE]);
    g_autofree char *mean = explain_exact(story->life_days[BL_LIKELY]);
    return story->life_days[BL_EARLY] < story->life_days[BL_LATE]
               ? g_strdup_printf("%s to %s days (mean %s)", lo, hi, mean)
               : g_strdup_printf("%s days", hi);
}

static void print_label(const struct explained *explained, const struct bl_wear_story *story,
                        const struct bl_rule *rule)
{
    const struct bl_wear *wear = &rule->wear;
    bool own = explain_learned(explained, rule);
    g_autofree char *days = say_days(story);
    g_autofree char *a_year = say_distance(explained->context, wear->km_a_year);
    g_autofree char *daily =
        explain_fixed(explain_length(explained, wear->km_a_year / BL_YEAR_DAYS), 6);
    explain_line(own ? "Learned" : "Label", "%s without care, at %s a year, which is %s a day",
                 days, a_year, daily);
    if (isfinite(explain_most_km(rule))) {
        g_autofree char *most = explain_fixed(explain_length(explained, wear->max_km), 3);
        explain_line("", "and not beyond %s %s, whichever is first", most,
                     explain_unit(explained));
    }
}

static void print_speed(const struct explained *explained, const struct bl_rule *rule)
{
    const struct bl_wear *wear = &rule->wear;
    g_autofree char *share = explain_exact(wear->share);
    g_autofree char *least = explain_exact(wear->limits[0]);
    g_autofree char *most = explain_exact(wear->limits[1]);
    g_autofree char *daily =
        explain_fixed(explain_length(explained, wear->km_a_year / BL_YEAR_DAYS), 6);
    if (wear->share > 0) {
        explain_line("Speed", "1 - %s + %s x %s a day / %s; held at %s at least, %s at most",
                     share, share, explain_unit(explained), daily, least, most);
    } else {
        explain_line("Speed", "1: time wears it, driving does not");
    }
}

/* "Nov, Dec, Jan"; "" all the year. */
static char *say_salted(const struct explained *explained)
{
    static const char *const months[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                         "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    GString *list = g_string_new(NULL);
    unsigned salted = explained->shop->salt_months;
    for (guint i = 0; i < YEAR_MONTHS && salted != 0xfff; i++) {
        guint month = (i + 6) % YEAR_MONTHS; /* a winter in one piece */
        if ((salted >> month) & 1u) {
            g_string_append_printf(list, "%s%s", list->len ? ", " : " in ", months[month]);
        }
    }
    return g_string_free(list, FALSE);
}

static void print_exposures(const struct explained *explained, const struct bl_car *car,
                            const struct bl_rule *rule)
{
    g_autoptr(GString) list = g_string_new(NULL);
    for (guint i = 0; rule->exposures && i < rule->exposures->len; i++) {
        const struct bl_exposure *exposure =
            &g_array_index(rule->exposures, struct bl_exposure, i);
        if (!car->exposures ||
            !g_strv_contains((const char *const *)car->exposures, exposure->name)) {
            continue;
        }
        bool winter = g_str_equal(exposure->name, "winter salt");
        g_autofree char *factor = explain_exact(exposure->factor);
        g_autofree char *months = winter ? say_salted(explained) : g_strdup("");
        g_string_append_printf(list, "%s%s x %s%s", list->len ? "; " : "", exposure->name,
                               factor, months);
    }
    if (list->len) {
        explain_line("Exposed to", "%s", list->str);
    }
}

static void print_cares(const struct explained *explained, const struct bl_wear_story *story,
                        const struct bl_rule *rule)
{
    double limit = rule->care.interval_days + rule->care.grace_days;
    for (guint i = 0; i < story->cares->len; i++) {
        double days = g_array_index(story->upkept, double, i);
        g_autofree char *at =
            say_moment(explained->context, g_array_index(story->cares, int64_t, i));
        g_autofree char *after = explain_fixed(days, 3);
        explain_line(i ? "" : "Done", "%s, after %s days%s: %s", at, after,
                     rule->care.on_calendar ? "" : " of use",
                     days <= limit + 1e-9 ? "in time" : "kept up for the first of them only");
    }
    if (story->cares->len == 0) {
        explain_line("Done", "not yet: bare for early and likely, kept up for late");
    } else {
        explain_line("Habit", story->life.habit
                                  ? "yes, the last two were in time: from the last care on it "
                                    "is kept up for likely and late, bare for early"
                                  : "no (it takes two, the last two in time, none overdue): "
                                    "from the last care on it is bare for early and likely, "
                                    "kept up for late");
    }
}

static void print_care(const struct explained *explained, const struct bl_wear_story *story,
                       const struct bl_rule *rule)
{
    const struct bl_care *care = &rule->care;
    if (!isfinite(care->interval_days) || !(care->extends > 1)) {
        return;
    }
    g_autofree char *interval = explain_exact(care->interval_days);
    g_autofree char *grace = explain_exact(care->grace_days);
    g_autofree char *limit = explain_exact(care->interval_days + care->grace_days);
    g_autofree char *extends = explain_exact(care->extends);
    explain_line("Care",
                 "%s every %s days%s and %s of grace: for the first %s after each it is "
                 "kept up and wears 1/%s",
                 care->what, interval, care->on_calendar ? "" : " of use", grace, limit,
                 extends);
    print_cares(explained, story, rule);
}

/* The weekday has no part in a sum. */
static void add_use(const struct explained *explained, const struct bl_wear_story *story,
                    guint i, struct table *table)
{
    const struct bl_stretch *stretch = stretch_at(story, i);
    g_autofree char *number = g_strdup_printf("%u", i + 1);
    g_autofree char *until = say_moment(explained->context, stretch->to);
    g_autofree char *day =
        explain_fixed(explain_days(stretch_at(story, 0)->from, stretch->to), 3);
    g_autofree char *days = explain_fixed(explain_days(stretch->from, stretch->to), 3);
    g_autofree char *daily = explain_fixed(explain_length(explained, stretch->km_a_day), 5);
    g_autofree char *speed = explain_fixed(stretch->raw, 6);
    g_autofree char *held = explain_held(stretch) ? explain_exact(stretch->speed) : NULL;
    g_autofree char *exposed = stretch->exposed ? explain_exact(stretch->exposure) : NULL;
    g_autofree char *use = explain_fixed(stretch->use_sum, 3);
    const char *const cells[] = {number,  strchr(until, ' ') + 1,
                                 day,     days,
                                 daily,   explain_driven(story, stretch->driven),
                                 speed,   held,
                                 exposed, use};
    table_row(table, cells);
}

static void print_use(const struct explained *explained, const struct bl_wear_story *story)
{
    static const char *const titles[] = {">#",     "=until",  ">day",   ">days",
                                         ">a day", "=driven", ">speed", ">held",
                                         ">times", ">use V",  NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < story->stretches->len; i++) {
        add_use(explained, story, i, table);
    }
    table_print(table, 2);
}

/* For which of the three the stretch counts as kept up. */
static const char *kept_for(const struct bl_stretch *stretch)
{
    if (stretch->kept[BL_EARLY]) {
        return "all three";
    }
    if (stretch->kept[BL_LIKELY]) {
        return "likely, late";
    }
    return stretch->kept[BL_LATE] ? "late" : "";
}

/* "early, likely": what is reached at the stretch's end. */
static char *reached_at(const struct bl_wear_story *story, const struct bl_stretch *stretch)
{
    GString *list = g_string_new(NULL);
    bool by_distance = false;
    for (guint end = 0; end < BL_ENDS; end++) {
        if (explain_end_at(&story->life, end) == stretch->to) {
            g_string_append_printf(list, "%s%s", list->len ? ", " : "", explain_end_names[end]);
            by_distance = by_distance || story->by_distance[end];
        }
    }
    g_string_append(list, by_distance ? " by distance" : "");
    return g_string_free(list, FALSE);
}

static void add_wear(const struct explained *explained, const struct bl_wear_story *story,
                     const struct bl_rule *rule, guint i, struct table *table)
{
    const struct bl_stretch *stretch = stretch_at(story, i);
    bool most = isfinite(explain_most_km(rule));
    g_autofree char *number = g_strdup_printf("%u", i + 1);
    g_autofree char *use = explain_fixed(stretch->use, 3);
    g_autofree char *early = explain_fixed(stretch->wear_sum[BL_EARLY], 3);
    g_autofree char *likely = explain_fixed(stretch->wear_sum[BL_LIKELY], 3);
    g_autofree char *late = explain_fixed(stretch->wear_sum[BL_LATE], 3);
    g_autofree char *driven =
        most ? explain_fixed(explain_length(explained, stretch->km_sum), 2) : NULL;
    g_autofree char *reached = reached_at(story, stretch);
    const char *const cells[] = {number, use,    kept_for(stretch), early, likely, late,
                                 driven, reached};
    table_row(table, cells);
}

static void print_wear(const struct explained *explained, const struct bl_wear_story *story,
                       const struct bl_rule *rule)
{
    g_autofree char *far = g_strdup_printf(">%s so far", explain_unit(explained));
    const char *const titles[] = {">#",       ">adds to V", "=kept up for",
                                  ">W early", ">W likely",  ">W late",
                                  far,        "=reached",   NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < story->stretches->len; i++) {
        add_wear(explained, story, rule, i, table);
    }
    table_print(table, 2);
}

static void print_ends(const struct explained *explained, const struct bl_wear_story *story,
                       const struct bl_rule *rule)
{
    static const char *const labels[BL_ENDS] = {"Early", "Likely", "Late"};
    int64_t from = stretch_at(story, 0)->from;
    for (guint end = 0; end < BL_ENDS; end++) {
        int64_t at = explain_end_at(&story->life, end);
        g_autofree char *date = say_full_day(explained->context, at);
        g_autofree char *day = explain_fixed(explain_days(from, at), 3);
        g_autofree char *asked = explain_exact(story->life_days[end]);
        g_autofree char *most = explain_fixed(explain_length(explained, rule->wear.max_km), 3);
        if (at == BL_NEVER) {
            explain_line(labels[end], "over 200 years off");
        } else if (story->by_distance[end]) {
            explain_line(labels[end], "%s, day %s: it is driven %s %s", date, day, most,
                         explain_unit(explained));
        } else {
            explain_line(labels[end], "%s, day %s: W reaches %s", date, day, asked);
        }
    }
}

static void print_worn(const struct explained *explained, const struct bl_car *car,
                       const struct bl_treatment *treatment, const struct bl_wear_story *story)
{
    struct bl_worn worn;
    bl_wear_use_at(car, treatment, explained->shop, explained->now, explained->now, &worn);
    g_autofree char *today = say_moment(explained->context, explained->now);
    g_autofree char *wear = explain_fixed(worn.wear[BL_LIKELY], 3);
    g_autofree char *of = explain_exact(story->life_days[BL_LIKELY]);
    double share = look_used(treatment->rule, &worn);
    if (worn.km > 0 && worn.km / explain_most_km(treatment->rule) >= share) {
        g_autofree char *km = explain_fixed(explain_length(explained, worn.km), 2);
        g_autofree char *most =
            explain_fixed(explain_length(explained, treatment->rule->wear.max_km), 3);
        explain_line("Used", "%.0f %%: %s of %s %s by %s", share * 100, km, most,
                     explain_unit(explained), today);
    } else {
        explain_line("Used", "%.0f %%: W likely %s of %s by %s", share * 100, wear, of, today);
    }
}

void explain_wear_print(const struct explained *explained, const struct bl_car *car,
                        const struct bl_treatment *treatment)
{
    struct bl_wear_story story;
    g_autofree char *name = explain_treatment_name(explained, treatment);
    g_autofree char *since = say_moment(explained->context, treatment->last_coat_at);
    g_autofree char *plain = explain_plain(explained, car, treatment);
    bl_wear_tell(car, treatment, explained->shop, explained->now, &story);
    putchar('\n');
    table_heading(name);
    explain_line("", "%s.", plain);
    explain_line("Last coat", "%s (job #%" G_GINT64_FORMAT ")", since, treatment->job);
    if (story.stretches->len > 0) {
        print_label(explained, &story, treatment->rule);
        print_speed(explained, treatment->rule);
        print_exposures(explained, car, treatment->rule);
        print_care(explained, &story, treatment->rule);
        print_use(explained, &story);
        print_wear(explained, &story, treatment->rule);
        print_ends(explained, &story, treatment->rule);
        print_worn(explained, car, treatment, &story);
    }
    bl_wear_story_clear(&story);
}
