/*
 * Gathering for scripts that compare it with trying everything. Each line of standard input is
 * a question, all words apart by one space:
 *
 *   ZONE DAYS OPEN CLOSE CLOSED APART N FROM BEST_BY FROM BEST_BY ...
 *
 * DAYS is seven letters, Monday first, "y" where there are sending hours; OPEN and CLOSE are
 * seconds after midnight; CLOSED a closed day (days since 1970) or "-"; APART the seconds
 * between two groups, or "-" for the usual day; N windows follow. The answer is the number of
 * groups, the group of each window, and the instant of each group
 * ("never" where there is none):
 *
 *   2 : 0 1 0 : 1772000000 1772100000
 */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "beadline/gather.h"

#define WORDS_BEFORE 7 /* ZONE DAYS OPEN CLOSE CLOSED APART N */

static void set_hours(struct bl_shop *shop, char **words)
{
    for (int day = 1; day <= 7; day++) {
        bool open = words[1][day - 1] == 'y';
        shop->hours.open[day] = open ? (int32_t)g_ascii_strtoll(words[2], NULL, 10) : 0;
        shop->hours.close[day] = open ? (int32_t)g_ascii_strtoll(words[3], NULL, 10) : 0;
    }
    if (strcmp(words[4], "-") != 0) {
        int32_t date = (int32_t)g_ascii_strtoll(words[4], NULL, 10);
        struct bl_closed closed = {.first = date, .last = date};
        g_array_append_val(shop->closed, closed);
    }
}

static void answer(const struct bl_shop *shop, struct bl_window *windows, guint count,
                   const char *apart)
{
    guint groups = bl_gather(windows, count);
    g_autofree int64_t *times = g_new0(int64_t, MAX(groups, 1));
    if (strcmp(apart, "-") == 0) {
        bl_gather_times(shop, windows, count, times, groups);
    } else {
        bl_gather_times_apart(shop, windows, count, times, groups,
                              g_ascii_strtoll(apart, NULL, 10));
    }
    printf("%u :", groups);
    for (guint i = 0; i < count; i++) {
        printf(" %u", windows[i].group);
    }
    printf(" :");
    for (guint i = 0; i < groups; i++) {
        if (times[i] == BL_NEVER) {
            printf(" never");
        } else {
            printf(" %" PRId64, times[i]);
        }
    }
    puts("");
}

static void ask(char **words)
{
    guint count = (guint)g_ascii_strtoull(words[6], NULL, 10);
    if (strlen(words[1]) != 7 || g_strv_length(words) != WORDS_BEFORE + 2 * count) {
        puts("bad");
        return;
    }
    struct bl_shop shop = {.zone = bl_zone_new(words[0], NULL)};
    if (!shop.zone) {
        puts("no zone");
        return;
    }
    shop.closed = g_array_new(FALSE, TRUE, sizeof(struct bl_closed));
    set_hours(&shop, words);
    g_autofree struct bl_window *windows = g_new0(struct bl_window, MAX(count, 1));
    for (guint i = 0; i < count; i++) {
        windows[i].from = g_ascii_strtoll(words[WORDS_BEFORE + 2 * i], NULL, 10);
        windows[i].best_by = g_ascii_strtoll(words[WORDS_BEFORE + 2 * i + 1], NULL, 10);
    }
    answer(&shop, windows, count, words[5]);
    bl_shop_clear(&shop);
}

int main(void)
{
    char line[4096];
    while (fgets(line, sizeof line, stdin)) {
        g_strchomp(line);
        g_auto(GStrv) words = g_strsplit(line, " ", -1);
        if (g_strv_length(words) < WORDS_BEFORE) {
            puts("bad");
            continue;
        }
        ask(words);
    }
    return 0;
}
