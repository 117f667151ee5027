/*
 * Dates as a customer reads them, in the words of his language. A date is told by its weekday
 * and day, never as "tomorrow": a message may be read late.
 */
#include "language.h"
#include "pattern.h"

#define BY_MONTHS_DAYS 42  /* a span longer than this is told by months */
#define WITH_YEAR_DAYS 300 /* a month further off than this is told with its year */
#define NOON_H         12

static const char *const day_keys[] = {"monday", "tuesday",  "wednesday", "thursday",
                                       "friday", "saturday", "sunday"};
static const char *const month_keys[] = {"january",   "february", "march",    "april",
                                         "may",       "june",     "july",     "august",
                                         "september", "october",  "november", "december"};

static const char *const form_keys[] = {
    [BL_DATE_LONG] = "long",
    [BL_DATE_BRIEF] = "brief",
    [BL_DATE_PLAIN] = "plain",
    [BL_DATE_SHORT] = "short",
};

static char *fill(const struct bl_language *language, const char *group, const char *key,
                  const struct bl_slot *slots)
{
    return bl_pattern_fill(bl_language_word(language, group, key), slots);
}

char *bl_language_date(const struct bl_language *language, int32_t date, enum bl_date_form form)
{
    int year = 0;
    int month = 0;
    int day = 0;
    bl_date_split(date, &year, &month, &day);
    const char *weekday = day_keys[bl_date_weekday(date) - 1];
    const char *name = month_keys[month - 1];
    g_autofree char *number = g_strdup_printf("%d", day);
    const struct bl_slot slots[] = {
        {"weekday", bl_language_word(language, "days", weekday)},
        {"weekday short", bl_language_word(language, "days short", weekday)},
        {"day", number},
        {"month", bl_language_word(language, "months", name)},
        {"month short", bl_language_word(language, "months short", name)},
        {NULL, NULL},
    };
    return fill(language, "dates", form_keys[form], slots);
}

static char *clock_time(const struct bl_language *language, int32_t seconds)
{
    int hour = seconds / 3600;
    g_autofree char *full = g_strdup_printf("%d", hour);
    g_autofree char *twelve =
        g_strdup_printf("%d", hour % NOON_H == 0 ? NOON_H : hour % NOON_H);
    g_autofree char *minute = g_strdup_printf("%02d", seconds / 60 % 60);
    const struct bl_slot slots[] = {
        {"hour", full},
        {"hour12", twelve},
        {"minute", minute},
        {"half", bl_language_word(language, "times", hour < NOON_H ? "am" : "pm")},
        {NULL, NULL},
    };
    return fill(language, "times", "clock", slots);
}

char *bl_language_moment(const struct bl_language *language, const struct bl_zone *zone,
                         int64_t at, enum bl_date_form form)
{
    g_autofree char *date = bl_language_date(language, bl_zone_date(zone, at), form);
    g_autofree char *time = clock_time(language, bl_zone_seconds(zone, at));
    const struct bl_slot slots[] = {{"date", date}, {"time", time}, {NULL, NULL}};
    return fill(language, "dates", "moment", slots);
}

/* "March", or "March 2027" when that March could be taken for a nearer one. */
static char *month_word(const struct bl_language *language, int32_t date, int32_t today)
{
    int year = 0;
    int month = 0;
    int day = 0;
    bl_date_split(date, &year, &month, &day);
    const char *name = bl_language_word(language, "months", month_keys[month - 1]);
    if (date - today < WITH_YEAR_DAYS) {
        return g_strdup(name);
    }
    g_autofree char *number = g_strdup_printf("%d", year);
    const struct bl_slot slots[] = {{"month", name}, {"year", number}, {NULL, NULL}};
    return fill(language, "dates", "month", slots);
}

char *bl_language_span(const struct bl_language *language, int32_t first, int32_t last,
                       int32_t today, enum bl_date_form form)
{
    if (last <= today) {
        return g_strdup(bl_language_word(language, "spans", "now"));
    }
    bool by_months =
        last - MAX(first, today) > BY_MONTHS_DAYS || last - today >= WITH_YEAR_DAYS;
    g_autofree char *from = by_months ? month_word(language, first, today)
                                      : bl_language_date(language, first, form);
    g_autofree char *to =
        by_months ? month_word(language, last, today) : bl_language_date(language, last, form);
    const struct bl_slot slots[] = {{"from", from}, {"to", to}, {NULL, NULL}};
    const char *key = by_months ? "months" : "days";
    if (first <= today) {
        key = by_months ? "until month" : "until day";
    } else if (g_str_equal(from, to)) {
        key = by_months ? "month" : "day";
    }
    return fill(language, "spans", key, slots);
}
