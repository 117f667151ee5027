/*
 * "Did you mean": the known name nearest to a mistyped one, offered beside every fault about an
 * unknown option, product or word.
 */
#include <string.h>

#include "beadline/text.h"

#define LONGEST 64 /* letters; a longer word is no slip of the finger */

static glong letters_of(const char *text, gunichar letters[LONGEST])
{
    if (!g_utf8_validate(text, -1, NULL) || g_utf8_strlen(text, -1) > LONGEST) {
        return -1;
    }
    glong n = 0;
    for (const char *p = text; *p; p = g_utf8_next_char(p)) {
        letters[n++] = g_unichar_tolower(g_utf8_get_char(p));
    }
    return n;
}

static int least(int a, int b, int c)
{
    return MIN(a, MIN(b, c));
}

/* Insertions, deletions, changes and swaps of neighbours that turn a into b (optimal string
 * alignment: Wagner and Fischer's table with Damerau's swap). */
static int edit_distance(const gunichar *a, glong a_len, const gunichar *b, glong b_len)
{
    int row[3][LONGEST + 1];
    for (glong j = 0; j <= b_len; j++) {
        row[0][j] = (int)j;
    }
    for (glong i = 1; i <= a_len; i++) {
        int *now = row[i % 3];
        const int *last = row[(i + 2) % 3];
        const int *before = row[(i + 1) % 3];
        now[0] = (int)i;
        for (glong j = 1; j <= b_len; j++) {
            int change = last[j - 1] + (a[i - 1] != b[j - 1]);
            now[j] = least(last[j] + 1, now[j - 1] + 1, change);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                now[j] = MIN(now[j], before[j - 2] + 1);
            }
        }
    }
    return row[a_len % 3][b_len];
}

const char *bl_text_nearest(const char *word, const char *const *names)
{
    gunichar typed[LONGEST];
    glong typed_len = letters_of(word, typed);
    if (typed_len < 0) {
        return NULL;
    }
    const char *nearest = NULL;
    int best = MAX(2, (int)typed_len / 3) + 1;
    for (; *names; names++) {
        gunichar known[LONGEST];
        glong known_len = letters_of(*names, known);
        if (known_len < 0) {
            continue;
        }
        int distance = edit_distance(typed, typed_len, known, known_len);
        /* Two words without one letter in common are never meant for each other. */
        if (distance < best && distance < MAX(typed_len, known_len)) {
            best = distance;
            nearest = *names;
        }
    }
    return nearest;
}
