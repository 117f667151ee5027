/*
 * When a failed attempt is made again: a function of its arguments, chance among them. The
 * waits double from the first to the longest, and every one is spread over a quarter so that a
 * gateway which comes back is not met by everybody at once.
 */
#include "send_inside.h"

/* a + b, BL_NEVER-like at the top instead of wrapping. */
static int64_t later(int64_t a, int64_t b)
{
    return b > INT64_MAX - a ? INT64_MAX : a + b;
}

int64_t bl_retry_at(int64_t now, int attempt, int first_s, int longest_s, int64_t retry_after,
                    uint64_t chance)
{
    int64_t first = MAX(first_s, 1);
    int64_t longest = MAX(longest_s, first);
    /* The longest wait is spread below itself, not above: it is a promise. */
    int64_t ceiling = MAX(longest - longest / 5, first);
    int64_t wait = first;
    for (int n = 1; n < attempt && wait < ceiling; n++) {
        wait = MIN(wait * 2, ceiling);
    }
    /* The upper half of chance is a fraction of 2^32. */
    int64_t spread = (int64_t)(((uint64_t)wait / 4 * (chance >> 32)) >> 32);
    wait = MIN(wait + spread, longest);
    return later(now, MAX(wait, retry_after));
}

static bool all_digits(const char *text)
{
    return *text && strspn(text, "0123456789") == strlen(text);
}

int64_t bl_retry_after(const char *value, int64_t now)
{
    g_autofree char *trimmed = g_strstrip(g_strdup(value ? value : ""));
    int64_t seconds;
    if (all_digits(trimmed)) {
        seconds = strlen(trimmed) > 9 ? SEND_RETRY_LONGEST : g_ascii_strtoll(trimmed, NULL, 10);
    } else {
        int64_t at = curl_getdate(trimmed, NULL);
        seconds = at < 0 ? 0 : at - now;
    }
    return CLAMP(seconds, 0, SEND_RETRY_LONGEST);
}
