/*
 * Instants as people type and read them: the command's --now and --finished, the full instants
 * of its JSON. The day words and local forms are read in the shop's zone.
 */
#include <string.h>

#include "beadline/civil.h"
#include "beadline/error.h"

struct reading {
    const char *rest; /* what is not read yet */
    int32_t date;
    int32_t seconds;
};

static bool take_number(const char **text, int count, int max, int *value)
{
    int n = 0;
    for (int i = 0; i < count; i++) {
        if (!g_ascii_isdigit((*text)[i])) {
            return false;
        }
        n = n * 10 + ((*text)[i] - '0');
    }
    *text += count;
    *value = n;
    return n <= max;
}

static bool take(const char **text, char c)
{
    if (**text != c) {
        return false;
    }
    (*text)++;
    return true;
}

static bool take_date(const char **text, int32_t *date)
{
    int year;
    int month;
    int day;
    if (!take_number(text, 4, 2199, &year) || !take(text, '-') ||
        !take_number(text, 2, 12, &month) || !take(text, '-') ||
        !take_number(text, 2, 31, &day) || year < 1970 || !bl_date_valid(year, month, day)) {
        return false;
    }
    *date = bl_date_of(year, month, day);
    return true;
}

/* "14:30" or "14:30:05"; a fraction of a second (RFC 3339) is dropped. */
static bool take_time(const char **text, int32_t *seconds)
{
    int hour;
    int minute;
    int second = 0;
    if (!take_number(text, 2, 23, &hour) || !take(text, ':') ||
        !take_number(text, 2, 59, &minute)) {
        return false;
    }
    if (take(text, ':')) {
        if (!take_number(text, 2, 59, &second)) {
            return false;
        }
        if (**text == '.' && g_ascii_isdigit((*text)[1])) {
            *text += 1 + strspn(*text + 1, "0123456789");
        }
    }
    *seconds = hour * 3600 + minute * 60 + second;
    return true;
}

static bool take_offset(const char **text, int32_t *offset)
{
    *offset = 0;
    if (take(text, 'Z') || take(text, 'z')) {
        return true;
    }
    int sign = **text == '-' ? -1 : 1;
    int hours;
    int minutes;
    if ((!take(text, '+') && !take(text, '-')) || !take_number(text, 2, 23, &hours) ||
        !take(text, ':') || !take_number(text, 2, 59, &minutes)) {
        return false;
    }
    *offset = sign * (hours * 3600 + minutes * 60);
    return true;
}

/* "today", "yesterday", "tomorrow" or a date; without any, today and nothing taken. */
static void take_day(const char **text, int32_t today, int32_t *date)
{
    static const struct {
        const char *word;
        int shift;
    } words[] = {{"today", 0}, {"yesterday", -1}, {"tomorrow", 1}};
    *date = today;
    for (size_t i = 0; i < G_N_ELEMENTS(words); i++) {
        if (g_str_has_prefix(*text, words[i].word)) {
            *text += strlen(words[i].word);
            *date = today + words[i].shift;
            return;
        }
    }
    const char *ahead = *text;
    if (take_date(&ahead, date)) {
        *text = ahead;
    } else {
        *date = today;
    }
}

static bool read_at(const struct bl_zone *zone, const char *text, int64_t now, int64_t *at)
{
    if (strcmp(text, "now") == 0) {
        *at = now;
        return true;
    }
    int32_t date;
    int32_t seconds = 0;
    int32_t offset;
    const char *rest = text;
    take_day(&rest, bl_zone_date(zone, now), &date);
    bool full = rest > text && g_ascii_isdigit(*text) && strchr("Tt ", *rest);
    if (rest > text && *rest) {
        if (*rest != ' ' && !full) {
            return false;
        }
        rest++;
    }
    bool day_only = rest > text && !*rest && rest[-1] != ' ' && rest[-1] != 'T';
    if (!day_only && !take_time(&rest, &seconds)) {
        return false;
    }
    if (*rest && full && take_offset(&rest, &offset) && !*rest) {
        *at = date * BL_DAY + seconds - offset;
        return true;
    }
    *at = bl_zone_instant(zone, date, seconds);
    return !*rest;
}

bool bl_at_parse(const struct bl_zone *zone, const char *text, int64_t now, int64_t *at,
                 GError **error)
{
    if (read_at(zone, text, now, at)) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "\"%.40s\" is no time: write \"14:30\", \"yesterday 14:30\", \"2026-11-25\", "
                "\"2026-11-25 14:30\", \"today\", \"now\" or \"2026-11-25T14:30:00+01:00\"",
                text);
    return false;
}

char *bl_at_format(const struct bl_zone *zone, int64_t at)
{
    g_autofree char *day = bl_date_format(bl_zone_date(zone, at));
    int32_t seconds = bl_zone_seconds(zone, at);
    int32_t offset = bl_zone_offset(zone, at);
    return g_strdup_printf("%sT%02d:%02d:%02d%c%02d:%02d", day, seconds / 3600,
                           seconds / 60 % 60, seconds % 60, offset < 0 ? '-' : '+',
                           ABS(offset) / 3600, ABS(offset) / 60 % 60);
}
