/* Words and numbers of an explanation. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "beadline/text.h"
#include "explain.h"
#include "say.h"

#define INDENT 2
#define LABEL  11
#define WIDTH  96

void explain_line(const char *label, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    g_autofree char *text = g_strdup_vprintf(format, values);
    va_end(values);
    g_autofree char *safe = bl_text_printable(g_strdelimit(text, "\n", ' '));
    g_auto(GStrv) words = g_strsplit(safe, " ", -1);
    int start = label ? INDENT + LABEL : 0;
    int hang = label ? start : INDENT;
    int column = start;
    if (label) {
        printf("%*s%-*s", INDENT, "", LABEL, label);
    }
    for (guint i = 0; words[i]; i++) {
        int width = bl_text_width(words[i]);
        if (i > 0 && column + 1 + width > WIDTH) {
            printf("\n%*s", hang, "");
            column = hang;
        } else if (i > 0) {
            putchar(' ');
            column++;
        }
        fputs(words[i], stdout);
        column += width;
    }
    putchar('\n');
}

char *explain_fixed(double value, int decimals)
{
    char form[8];
    char digits[G_ASCII_DTOSTR_BUF_SIZE];
    g_snprintf(form, sizeof form, "%%.%df", decimals);
    return g_strdup(isfinite(value) ? g_ascii_formatd(digits, sizeof digits, form, value)
                                    : "never");
}

char *explain_exact(double value)
{
    char digits[G_ASCII_DTOSTR_BUF_SIZE];
    return g_strdup(g_ascii_formatd(digits, sizeof digits, "%.10g", value));
}

double explain_length(const struct explained *explained, double km)
{
    return explained->shop->miles ? km / BL_KM_A_MILE : km;
}

const char *explain_unit(const struct explained *explained)
{
    return explained->shop->miles ? "miles" : "km";
}

char *explain_about(const struct explained *explained, double km)
{
    double own = explain_length(explained, km);
    double step = own >= 9500 ? 1000 : 100;
    double unit = explained->shop->miles ? BL_KM_A_MILE : 1;
    return say_distance(explained->context, round(own / step) * step * unit);
}

char *explain_kind_title(enum bl_kind kind)
{
    char *title = g_strdup(bl_kind_name(kind));
    title[0] = g_ascii_toupper(title[0]);
    return title;
}

double explain_days(int64_t from, int64_t to)
{
    return (double)(to - from) / (double)BL_DAY;
}

char *explain_treatment_name(const struct explained *explained,
                             const struct bl_treatment *treatment)
{
    g_autofree char *place = look_place(treatment->surface, treatment->part);
    return g_strdup_printf("%s on %s, #%" G_GINT64_FORMAT,
                           look_title(explained->context, treatment), place, treatment->id);
}

static char *number_word(double number)
{
    static const char *const words[] = {"no",   "one",    "two",   "three", "four",
                                        "five", "six",    "seven", "eight", "nine",
                                        "ten",  "eleven", "twelve"};
    bool whole = number == round(number) && number >= 0 && number < G_N_ELEMENTS(words);
    return whole ? g_strdup(words[(int)number]) : g_strdup_printf("%.4g", number);
}

/* How far it is driven beside what its label is meant for. */
static char *say_ratio(double ratio)
{
    static const struct {
        double below;
        const char *words;
    } ratios[] = {
        {0.2, "hardly driven"},
        {0.29, "about a quarter of the usual"},
        {0.42, "about a third of the usual"},
        {0.58, "about half the usual"},
        {0.72, "about two thirds of the usual"},
        {0.9, "a little less than the usual"},
        {1.1, "the usual"},
        {1.3, "a little more than the usual"},
        {1.7, "about one and a half times the usual"},
        {2.5, "about twice the usual"},
    };
    for (guint i = 0; i < G_N_ELEMENTS(ratios); i++) {
        if (ratio < ratios[i].below) {
            return g_strdup(ratios[i].words);
        }
    }
    g_autofree char *times = number_word(round(ratio));
    return g_strdup_printf("about %s times the usual", times);
}

/* Units people count lives in: up to how many days each, and its step. */
static const struct unit {
    double below, days, step;
    const char *name;
} units[] = {
    {12, 1, 1, "day"},
    {73, 7, 1, "week"},
    {720, BL_YEAR_DAYS / 12, 1, "month"},
    {INFINITY, BL_YEAR_DAYS, 0.5, "year"},
};

static const struct unit *unit_of(double days)
{
    guint i = 0;
    while (days >= units[i].below) {
        i++;
    }
    return &units[i];
}

static double count_of(const struct unit *unit, double days)
{
    return round(days / unit->days / unit->step) * unit->step;
}

static bool same_life(const double one[2], const double other[2])
{
    return one[0] == other[0] && one[1] == other[1];
}

bool explain_learned(const struct explained *explained, const struct bl_rule *rule)
{
    const struct bl_learned *learned =
        bl_catalogue_learned(explained->context->world->catalogue, rule->product);
    return learned && same_life(learned->life_days, rule->wear.life_days);
}

/* Where the rule's life comes from. A version kept with a job may differ from both. */
static const char *says_so(const struct explained *explained, const struct bl_rule *rule)
{
    const struct bl_catalogue *catalogue = explained->context->world->catalogue;
    const struct bl_learned *learned = bl_catalogue_learned(catalogue, rule->product);
    const struct bl_rule *listed = bl_catalogue_rule(catalogue, rule->product);
    const double *label = learned  ? learned->label_days
                          : listed ? listed->wear.life_days
                                   : NULL;
    if (explain_learned(explained, rule)) {
        return "as learned";
    }
    return label && same_life(label, rule->wear.life_days) ? "as the label says"
                                                           : "as its rule says";
}

/* "three weeks, not six"; "five weeks, as the label says". */
static char *say_beside(double days, double label, const char *so)
{
    const struct unit *unit = unit_of(days);
    double count = count_of(unit, days);
    const struct unit *other =
        count_of(unit, label) <= 24 && count_of(unit, label) >= 1 ? unit : unit_of(label);
    double usual = count_of(other, label);
    g_autofree char *is = number_word(count);
    g_autofree char *said = number_word(usual);
    const char *many = count == 1 ? "" : "s";
    if (other == unit && usual == count) {
        return g_strdup_printf("%s %s%s, %s", is, unit->name, many, so);
    }
    if (other == unit) {
        return g_strdup_printf("%s %s%s, not %s", is, unit->name, many, said);
    }
    return g_strdup_printf("%s %s%s, not %s %s%s", is, unit->name, many, said, other->name,
                           usual == 1 ? "" : "s");
}

/* ", stored outdoors, winter salt": what applies in some stretch. */
static void add_exposures(GString *line, const struct bl_wear_story *story,
                          const struct bl_rule *rule)
{
    unsigned any = 0;
    for (guint i = 0; i < story->stretches->len; i++) {
        any |= g_array_index(story->stretches, struct bl_stretch, i).exposed;
    }
    for (guint i = 0; any >> i; i++) {
        if ((any >> i) & 1u) {
            g_string_append_printf(line, ", %s",
                                   g_array_index(rule->exposures, struct bl_exposure, i).name);
        }
    }
}

static char *plain_of(const struct explained *explained, const struct bl_treatment *treatment,
                      const struct bl_wear_story *story)
{
    const struct bl_rule *rule = treatment->rule;
    double a_year = story->life.km_a_day * BL_YEAR_DAYS;
    g_autofree char *distance = explain_about(explained, a_year);
    g_autofree char *ratio = say_ratio(a_year / rule->wear.km_a_year);
    double days = explain_days(treatment->last_coat_at, story->life.likely);
    g_autofree char *lasts =
        say_beside(days, story->life_days[BL_LIKELY], says_so(explained, rule));
    GString *line = g_string_new(NULL);
    g_string_append_printf(line, "%s a year, %s", distance, ratio);
    add_exposures(line, story, rule);
    if (story->life.habit) {
        g_string_append_printf(line, ", kept up with %s", rule->care.what);
    }
    if (story->by_distance[BL_LIKELY]) {
        g_autofree char *most = say_distance(explained->context, rule->wear.max_km);
        g_string_append_printf(line, ", and over after %s", most);
    }
    g_string_append_printf(line, ": %s", lasts);
    return g_string_free(line, FALSE);
}

char *explain_plain(const struct explained *explained, const struct bl_car *car,
                    const struct bl_treatment *treatment)
{
    struct bl_wear_story story;
    bl_wear_tell(car, treatment, explained->shop, explained->now, &story);
    char *plain = NULL;
    if (!treatment->rule) {
        plain = g_strdup("its product's rule cannot be read, so it has no dates");
    } else if (story.life.ended_at != BL_NEVER) {
        plain = look_off(explained->context, &story.life);
    } else if (!isfinite(story.life_days[BL_EARLY])) {
        plain = g_strdup("its rule gives it no life of its own: it stays until it comes off");
    } else if (story.life.likely == BL_NEVER) {
        plain = g_strdup("so little wears it that its end is over 200 years off");
    } else {
        plain = plain_of(explained, treatment, &story);
    }
    bl_wear_story_clear(&story);
    return plain;
}
