/* Reads the rule at a time zone file's end and says on which instant of a year it changes. */
#include "tz_rule.h"

#include "beadline/civil.h"

static bool take(const char **text, char c)
{
    if (**text != c) {
        return false;
    }
    (*text)++;
    return true;
}

static bool take_number(const char **text, int least, int most, int *value)
{
    int n = 0;
    const char *p = *text;
    for (; g_ascii_isdigit(*p) && n <= most; p++) {
        n = n * 10 + (*p - '0');
    }
    bool ok = p > *text && n >= least && n <= most;
    *text = p;
    *value = n;
    return ok;
}

/* "EST", or in angle brackets "<+0330>". What it is called is of no use here. */
static bool skip_name(const char **text)
{
    const char *start = *text;
    if (take(text, '<')) {
        while (g_ascii_isalnum(**text) || **text == '+' || **text == '-') {
            (*text)++;
        }
        return *text - start >= 4 && take(text, '>');
    }
    while (g_ascii_isalpha(**text)) {
        (*text)++;
    }
    return *text - start >= 3;
}

/* "[+-]h[:mm[:ss]]" in seconds. */
static bool take_clock(const char **text, int most_hours, int32_t *seconds)
{
    int sign = take(text, '-') ? -1 : 1;
    int hours;
    int minutes = 0;
    int rest = 0;
    if (sign > 0) {
        take(text, '+');
    }
    if (!take_number(text, 0, most_hours, &hours)) {
        return false;
    }
    if (take(text, ':')) {
        if (!take_number(text, 0, 59, &minutes)) {
            return false;
        }
        if (take(text, ':') && !take_number(text, 0, 59, &rest)) {
            return false;
        }
    }
    *seconds = sign * (hours * 3600 + minutes * 60 + rest);
    return true;
}

static bool take_day(const char **text, struct tz_change *change)
{
    change->form = **text;
    if (take(text, 'M')) {
        return take_number(text, 1, 12, &change->month) && take(text, '.') &&
               take_number(text, 1, 5, &change->week) && take(text, '.') &&
               take_number(text, 0, 6, &change->day);
    }
    if (take(text, 'J')) {
        return take_number(text, 1, 365, &change->day);
    }
    change->form = '0';
    return take_number(text, 0, 365, &change->day);
}

static bool take_change(const char **text, struct tz_change *change)
{
    change->seconds = 2 * 3600; /* POSIX: two in the morning unless it says otherwise */
    return take(text, ',') && take_day(text, change) &&
           (!take(text, '/') || take_clock(text, 167, &change->seconds));
}

bool tz_rule_parse(const char *text, struct tz_rule *rule)
{
    int32_t west;
    *rule = (struct tz_rule){0};
    if (!skip_name(&text) || !take_clock(&text, 24, &west)) {
        return false;
    }
    rule->standard = -west; /* POSIX counts westward */
    if (!*text) {
        return true;
    }
    rule->has_summer = true;
    rule->summer = rule->standard + 3600;
    if (!skip_name(&text)) {
        return false;
    }
    if (*text != ',') {
        if (!take_clock(&text, 24, &west)) {
            return false;
        }
        rule->summer = -west;
    }
    return take_change(&text, &rule->starts) && take_change(&text, &rule->ends) && !*text;
}

static int32_t weekday_of_month(const struct tz_change *change, int year)
{
    int32_t first = bl_date_of(year, change->month, 1);
    int32_t next = bl_date_add_months(first, 1);
    int32_t date = first + (change->day - bl_date_weekday(first) + 7) % 7;
    date += 7 * (change->week - 1);
    return date < next ? date : date - 7;
}

static int32_t date_of_change(const struct tz_change *change, int year)
{
    if (change->form == 'M') {
        return weekday_of_month(change, year);
    }
    int32_t date = bl_date_of(year, 1, 1) + change->day;
    if (change->form == 'J') {
        date -= !(bl_date_valid(year, 2, 29) && change->day >= 60);
    }
    return date;
}

static int64_t instant_of(const struct tz_change *change, int year, int32_t offset)
{
    return date_of_change(change, year) * BL_DAY + change->seconds - offset;
}

int64_t tz_rule_starts(const struct tz_rule *rule, int year)
{
    return instant_of(&rule->starts, year, rule->standard);
}

int64_t tz_rule_ends(const struct tz_rule *rule, int year)
{
    return instant_of(&rule->ends, year, rule->summer);
}
