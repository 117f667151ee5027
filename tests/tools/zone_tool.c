/*
 * Civil time for scripts that compare it with another implementation. Each line of standard
 * input is a question, each line of output its answer:
 *
 *   at ZONE SECONDS          offset date second-of-day    of the instant there
 *   local ZONE DATE SECOND   the instant of that wall-clock second
 *   months DATE N            the date N months later
 *   split DATE               year-month-day weekday       of days since 1970
 *   parse TEXT               days since 1970, or "no"
 *
 * A zone that cannot be read answers "none".
 */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "beadline/civil.h"

static void answer_at(const struct bl_zone *zone, char **words)
{
    int64_t at = g_ascii_strtoll(words[2], NULL, 10);
    g_autofree char *date = bl_date_format(bl_zone_date(zone, at));
    printf("%d %s %d\n", bl_zone_offset(zone, at), date, bl_zone_seconds(zone, at));
}

static void answer_local(const struct bl_zone *zone, char **words)
{
    int32_t date;
    if (!words[3] || !bl_date_parse(words[2], &date, NULL)) {
        puts("bad");
        return;
    }
    int32_t second = (int32_t)g_ascii_strtoll(words[3], NULL, 10);
    printf("%" PRId64 "\n", bl_zone_instant(zone, date, second));
}

static void answer_months(char **words)
{
    int32_t date;
    if (!words[2] || !bl_date_parse(words[1], &date, NULL)) {
        puts("bad");
        return;
    }
    int months = (int)g_ascii_strtoll(words[2], NULL, 10);
    g_autofree char *later = bl_date_format(bl_date_add_months(date, months));
    puts(later);
}

static void answer_split(char **words)
{
    int32_t date = (int32_t)g_ascii_strtoll(words[1], NULL, 10);
    g_autofree char *day = bl_date_format(date);
    printf("%s %d\n", day, bl_date_weekday(date));
}

static void answer_parse(char **words)
{
    int32_t date;
    if (bl_date_parse(words[1], &date, NULL)) {
        printf("%d\n", date);
    } else {
        puts("no");
    }
}

/* The zone of the line; opened again only when its name changes. */
static struct bl_zone *zone_of(struct bl_zone **last, const char *name)
{
    if (!*last || strcmp(bl_zone_name(*last), name) != 0) {
        bl_zone_free(*last);
        *last = bl_zone_new(name, NULL);
    }
    return *last;
}

static void answer(char *line, struct bl_zone **last)
{
    g_auto(GStrv) words = g_strsplit(g_strchomp(line), " ", 0);
    if (g_strv_length(words) < 2) {
        puts("bad");
    } else if (strcmp(words[0], "months") == 0) {
        answer_months(words);
    } else if (strcmp(words[0], "split") == 0) {
        answer_split(words);
    } else if (strcmp(words[0], "parse") == 0) {
        answer_parse(words);
    } else if (!words[2] || !zone_of(last, words[1])) {
        puts("none");
    } else if (strcmp(words[0], "local") == 0) {
        answer_local(*last, words);
    } else {
        answer_at(*last, words);
    }
}

int main(void)
{
    char line[256];
    struct bl_zone *last = NULL;
    while (fgets(line, sizeof line, stdin)) {
        answer(line, &last);
    }
    bl_zone_free(last);
    return 0;
}
