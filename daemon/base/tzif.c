/*
 * Reads the tz database's own files (RFC 8536, version 2 and later: 64-bit transitions and the
 * rule after the last of them). Every count in the file is checked before it is believed.
 */
#include "beadline/tzif.h"

#include <string.h>

#include "beadline/civil.h"
#include "beadline/error.h"
#include "tz_rule.h"

#define HEADER 44 /* octets of a header, section 3.1 */

struct bl_tzif {
    gsize count;      /* transitions */
    int64_t *at;      /* count instants, ascending */
    int32_t *offsets; /* count + 1: offsets[i] holds before at[i], the last one after all */
    bool has_rule;
    struct tz_rule rule;
};

/* The six counts of a header, in the order of the file. */
struct counts {
    guint32 isut, isstd, leap, time, type, chars;
};

struct reader {
    const guint8 *p;
    gsize left;
};

static const guint8 *take(struct reader *in, guint64 octets)
{
    if (octets > in->left) {
        return NULL;
    }
    const guint8 *start = in->p;
    in->p += octets;
    in->left -= (gsize)octets;
    return start;
}

static guint32 big32(const guint8 *p)
{
    return (guint32)p[0] << 24 | (guint32)p[1] << 16 | (guint32)p[2] << 8 | (guint32)p[3];
}

static int64_t big64(const guint8 *p)
{
    return (int64_t)((guint64)big32(p) << 32 | big32(p + 4));
}

static bool take_header(struct reader *in, struct counts *counts)
{
    const guint8 *h = take(in, HEADER);
    if (!h || memcmp(h, "TZif", 4) != 0 || h[4] < '2') {
        return false;
    }
    *counts = (struct counts){big32(h + 20), big32(h + 24), big32(h + 28),
                              big32(h + 32), big32(h + 36), big32(h + 40)};
    return true;
}

/* The first block repeats what the second says in 32 bits: passed over. */
static bool skip_block(struct reader *in, const struct counts *n)
{
    return take(in, (guint64)n->time * 5 + (guint64)n->type * 6 + n->chars +
                        (guint64)n->leap * 8 + n->isstd + (guint64)n->isut) != NULL;
}

static bool offset_of(const guint8 *types, guint32 type, int32_t *offset)
{
    *offset = (int32_t)big32(types + (gsize)type * 6);
    return *offset > -BL_TZIF_MOST_OFFSET && *offset < BL_TZIF_MOST_OFFSET;
}

static bool fill(struct bl_tzif *tzif, const struct counts *n, const guint8 *times,
                 const guint8 *indexes, const guint8 *types)
{
    tzif->count = n->time;
    tzif->at = g_new0(int64_t, n->time);
    tzif->offsets = g_new0(int32_t, (gsize)n->time + 1);
    if (!offset_of(types, 0, &tzif->offsets[0])) {
        return false;
    }
    for (guint32 i = 0; i < n->time; i++) {
        tzif->at[i] = big64(times + (gsize)i * 8);
        if (indexes[i] >= n->type || !offset_of(types, indexes[i], &tzif->offsets[i + 1]) ||
            (i > 0 && tzif->at[i] <= tzif->at[i - 1])) {
            return false;
        }
    }
    return true;
}

static bool take_block(struct reader *in, struct bl_tzif *tzif)
{
    struct counts n;
    if (!take_header(in, &n) || n.type == 0 || n.leap != 0) {
        return false;
    }
    const guint8 *times = take(in, (guint64)n.time * 8);
    const guint8 *indexes = take(in, n.time);
    const guint8 *types = take(in, (guint64)n.type * 6);
    bool whole = take(in, (guint64)n.chars + n.isstd + n.isut) != NULL;
    return times && indexes && types && whole && fill(tzif, &n, times, indexes, types);
}

/* Section 3.3: the rule between two line feeds; empty when the file knows none. */
static bool take_footer(struct reader *in, struct bl_tzif *tzif)
{
    if (in->left < 2 || in->p[0] != '\n') {
        return false;
    }
    const guint8 *end = memchr(in->p + 1, '\n', in->left - 1);
    if (!end || memchr(in->p + 1, '\0', (gsize)(end - in->p - 1))) {
        return false;
    }
    g_autofree char *text = g_strndup((const char *)in->p + 1, (gsize)(end - in->p - 1));
    tzif->has_rule = *text != '\0';
    return !tzif->has_rule || tz_rule_parse(text, &tzif->rule);
}

static bool read_file(struct reader *in, struct bl_tzif *tzif)
{
    struct counts first;
    return take_header(in, &first) && skip_block(in, &first) && take_block(in, tzif) &&
           take_footer(in, tzif);
}

struct bl_tzif *bl_tzif_parse(const void *bytes, gsize length, GError **error)
{
    struct reader in = {bytes, length};
    struct bl_tzif *tzif = g_new0(struct bl_tzif, 1);
    if (read_file(&in, tzif)) {
        return tzif;
    }
    bl_tzif_free(tzif);
    g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED,
                "is not a time zone file: install the package tzdata again");
    return NULL;
}

void bl_tzif_free(struct bl_tzif *tzif)
{
    if (!tzif) {
        return;
    }
    g_free(tzif->at);
    g_free(tzif->offsets);
    g_free(tzif);
}

/* The number of stored transitions at or before the instant. */
static gsize passed(const struct bl_tzif *tzif, int64_t at)
{
    gsize low = 0;
    gsize high = tzif->count;
    while (low < high) {
        gsize middle = low + (high - low) / 2;
        if (tzif->at[middle] <= at) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

struct change {
    int64_t at;
    int32_t offset; /* from then on */
};

/* The rule's changes of the years around the instant, in order; where two coincide (summer all
 * year round) the later written wins. */
static void changes_around(const struct tz_rule *rule, int64_t at, struct change changes[6])
{
    int year;
    int month;
    int day;
    bl_date_split((int32_t)(at / BL_DAY), &year, &month, &day);
    int n = 0;
    for (int y = year - 1; y <= year + 1; y++) {
        struct change pair[2] = {{tz_rule_starts(rule, y), rule->summer},
                                 {tz_rule_ends(rule, y), rule->standard}};
        for (int i = 0; i < 2; i++, n++) {
            int place = n;
            for (; place > 0 && changes[place - 1].at > pair[i].at; place--) {
                changes[place] = changes[place - 1];
            }
            changes[place] = pair[i];
        }
    }
}

/* The rule's own span around the instant. */
static struct bl_tzif_span rule_span(const struct tz_rule *rule, int64_t at)
{
    struct bl_tzif_span span = {INT64_MIN, INT64_MAX, rule->standard};
    if (!rule->has_summer) {
        return span;
    }
    struct change changes[6] = {0};
    changes_around(rule, at, changes);
    for (int i = 0; i < 6; i++) {
        if (changes[i].at > at) {
            span.until = changes[i].at;
            break;
        }
        span.from = changes[i].at;
        span.offset = changes[i].offset;
    }
    return span;
}

struct bl_tzif_span bl_tzif_span_at(const struct bl_tzif *tzif, int64_t at)
{
    gsize i = passed(tzif, at);
    int64_t last = i > 0 ? tzif->at[i - 1] : INT64_MIN;
    if (i == tzif->count && tzif->has_rule) {
        struct bl_tzif_span span = rule_span(&tzif->rule, at);
        span.from = MAX(span.from, last);
        return span;
    }
    return (struct bl_tzif_span){last, i < tzif->count ? tzif->at[i] : INT64_MAX,
                                 tzif->offsets[i]};
}
