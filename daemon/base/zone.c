/*
 * From instants to the shop's civil time and back. The system's tz database is read by tzif.c;
 * which of two instants a repeated local time means, and what a skipped one means, is decided
 * here, once for the whole program.
 */
#include <string.h>

#include "beadline/civil.h"
#include "beadline/error.h"
#include "beadline/text.h"
#include "beadline/tzif.h"

#define ZONE_FILES "/usr/share/zoneinfo"

/* 0001-01-02 to 9999-12-30 UTC: beyond, an instant is taken for the nearest end, so that
 * BL_NEVER is a day like another and nothing overflows. */
#define FIRST_AT ((int64_t)-62135510400)
#define LAST_AT  ((int64_t)253402214399)

struct bl_zone {
    struct bl_tzif *tzif;
    char *name;
};

/* Zones have names, not paths. Refused besides: the database's leap-second half, its duplicate,
 * and the files that stand for whatever the machine was set to. */
static bool name_ok(const char *name)
{
    static const char allowed[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_+-/";
    static const char *const other[] = {"right/", "posix/", "posixrules", "localtime"};
    for (size_t i = 0; i < G_N_ELEMENTS(other); i++) {
        if (g_str_has_prefix(name, other[i])) {
            return false;
        }
    }
    return g_ascii_isalpha(name[0]) && strspn(name, allowed) == strlen(name);
}

static char *file_of(const char *name)
{
    const char *dir = g_getenv("TZDIR");
    return g_build_filename(dir && *dir ? dir : ZONE_FILES, name, NULL);
}

struct bl_zone *bl_zone_new(const char *name, GError **error)
{
    g_autofree char *file = file_of(name);
    g_autofree char *bytes = NULL;
    gsize length = 0;
    if (!name_ok(name) || !g_file_get_contents(file, &bytes, &length, NULL)) {
        g_autofree char *shown = bl_text_shown(name);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "\"%s\" is no time zone: name one, as in \"Europe/London\"", shown);
        return NULL;
    }
    struct bl_tzif *tzif = bl_tzif_parse(bytes, length, error);
    if (!tzif) {
        g_prefix_error(error, "\"%s\" ", file);
        return NULL;
    }
    struct bl_zone *zone = g_new0(struct bl_zone, 1);
    zone->tzif = tzif;
    zone->name = g_strdup(name);
    return zone;
}

void bl_zone_free(struct bl_zone *zone)
{
    if (!zone) {
        return;
    }
    bl_tzif_free(zone->tzif);
    g_free(zone->name);
    g_free(zone);
}

const char *bl_zone_name(const struct bl_zone *zone)
{
    return zone->name;
}

int32_t bl_zone_offset(const struct bl_zone *zone, int64_t at)
{
    return bl_tzif_span_at(zone->tzif, CLAMP(at, FIRST_AT, LAST_AT)).offset;
}

static int64_t wall_seconds(const struct bl_zone *zone, int64_t at)
{
    return CLAMP(at, FIRST_AT, LAST_AT) + bl_zone_offset(zone, at);
}

static int32_t day_of(int64_t wall)
{
    return (int32_t)(wall / BL_DAY - (wall % BL_DAY < 0));
}

int32_t bl_zone_date(const struct bl_zone *zone, int64_t at)
{
    return day_of(wall_seconds(zone, at));
}

int32_t bl_zone_seconds(const struct bl_zone *zone, int64_t at)
{
    int64_t wall = wall_seconds(zone, at);
    return (int32_t)(wall - day_of(wall) * BL_DAY);
}

/* The spans are tried from before any that could hold the wall-clock time, so the first that
 * does is its first occurrence; a span that begins too late for it means that it fell into the
 * gap in front, and the offset before the gap counts. */
int64_t bl_zone_instant(const struct bl_zone *zone, int32_t date, int32_t seconds)
{
    int64_t wall = CLAMP(date * BL_DAY + seconds, FIRST_AT, LAST_AT);
    struct bl_tzif_span span = bl_tzif_span_at(zone->tzif, wall - BL_TZIF_MOST_OFFSET);
    int32_t before = span.offset;
    while (wall - span.offset >= span.until) {
        before = span.offset;
        span = bl_tzif_span_at(zone->tzif, span.until);
    }
    return wall - (wall - span.offset >= span.from ? span.offset : before);
}
