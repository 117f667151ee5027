/*
 * Instants as people type and read them: the command's --now and --finished, the full instants
 * of its JSON. The day words and local forms are read in the shop's zone.
 */
#include <string.h>

#include "beadline/civil.h"
#include "beadline/error.h"
#include "beadline/text.h"

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

static bool take_date(const char **from, int32_t *date)
{
    const char *ahead = *from;
    const char **text = &ahead;
    int year;
    int month;
    int day;
    if (!take_number(text, 4, 2199, &year) || !take(text, '-') ||
        !take_number(text, 2, 12, &month) || !take(text, '-') ||
        !take_number(text, 2, 31, &day) || year < 1970 || !bl_date_valid(year, month, day)) {
        return false;
    }
    *date = bl_date_of(year, month, day);
    *from = ahead;
    return true;
}

/* "14:30", "9:30" or "14:30:05"; a fraction of a second (RFC 3339) is dropped. */
static bool take_time(const char **text, int32_t *seconds)
{
    int hour;
    int minute;
    int second = 0;
    int digits = g_ascii_isdigit(**text) && (*text)[1] == ':' ? 1 : 2;
    if (!take_number(text, digits, 23, &hour) || !take(text, ':') ||
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

static bool take_day_word(const char **text, int32_t today, int32_t *date)
{
    static const struct {
        const char *word;
        int shift;
    } words[] = {{"today", 0}, {"yesterday", -1}, {"tomorrow", 1}};
    for (size_t i = 0; i < G_N_ELEMENTS(words); i++) {
        if (g_str_has_prefix(*text, words[i].word)) {
            *text += strlen(words[i].word);
            *date = today + words[i].shift;
            return true;
        }
    }
    return false;
}

/* The forms in turn: a time alone; a day word or a date, alone or with a time behind it; after
 * a date's time, an offset. */
static bool read_at(const struct bl_zone *zone, const char *text, int64_t now, int64_t *at)
{
    int32_t today = bl_zone_date(zone, now);
    int32_t date = today;
    int32_t seconds = 0;
    bool dated = take_date(&text, &date);
    if (dated || take_day_word(&text, today, &date)) {
        bool more = take(&text, ' ') || (dated && (take(&text, 'T') || take(&text, 't')));
        if (more && !take_time(&text, &seconds)) {
            return false;
        }
        if (more && dated && *text) {
            int32_t offset;
            bool whole = take_offset(&text, &offset) && !*text;
            *at = date * BL_DAY + seconds - (whole ? offset : 0);
            return whole;
        }
    } else if (!take_time(&text, &seconds)) {
        return false;
    }
    *at = bl_zone_instant(zone, date, seconds);
    return !*text;
}

bool bl_at_parse(const struct bl_zone *zone, const char *text, int64_t now, int64_t *at,
                 GError **error)
{
    int64_t read = now;
    if ((strcmp(text, "now") == 0 || read_at(zone, text, now, &read)) && read >= 0) {
        *at = read;
        return true;
    }
    g_autofree char *shown = bl_text_shown(text);
    g_set_error(
        error, BL_ERROR, BL_ERROR_INPUT,
        "\"%s\" is no time: write \"9:30\", \"14:30\", \"yesterday 9:30\", \"2026-11-25\", "
        "\"2026-11-25 14:30\", \"today\", \"now\" or \"2026-11-25T14:30:00+01:00\"",
        shown);
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
