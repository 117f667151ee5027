/*
 * From instants to the shop's civil time and back. GLib reads the tz database; which of two
 * instants a repeated local time means, and what a skipped one means, is decided here.
 */
#include <string.h>

#include "beadline/civil.h"
#include "beadline/error.h"

/* 0001-01-01 to 9999-12-31 UTC: beyond, an instant is taken for the nearest end, so that
 * BL_NEVER is a date like another and nothing overflows. */
#define FIRST_AT ((int64_t)-62135596800)
#define LAST_AT  ((int64_t)253402300799)

struct bl_zone {
    GTimeZone *tz;
    char *name;
};

static bool name_ok(const char *name)
{
    static const char allowed[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_+-/";
    size_t length = strlen(name);
    return length > 0 && length == strspn(name, allowed) && g_ascii_isalpha(name[0]) &&
           name[length - 1] != '/' && !g_str_has_prefix(name, "right/") &&
           !g_str_has_prefix(name, "posix/");
}

struct bl_zone *bl_zone_new(const char *name, GError **error)
{
    GTimeZone *tz = name_ok(name) ? g_time_zone_new_identifier(name) : NULL;
    if (!tz) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "\"%.60s\" is no time zone: name one as in \"Europe/London\"", name);
        return NULL;
    }
    struct bl_zone *zone = g_new0(struct bl_zone, 1);
    zone->tz = tz;
    zone->name = g_strdup(name);
    return zone;
}

void bl_zone_free(struct bl_zone *zone)
{
    if (!zone) {
        return;
    }
    g_time_zone_unref(zone->tz);
    g_free(zone->name);
    g_free(zone);
}

const char *bl_zone_name(const struct bl_zone *zone)
{
    return zone->name;
}

int32_t bl_zone_offset(const struct bl_zone *zone, int64_t at)
{
    gint i = g_time_zone_find_interval(zone->tz, G_TIME_TYPE_UNIVERSAL,
                                       CLAMP(at, FIRST_AT, LAST_AT));
    return g_time_zone_get_offset(zone->tz, i);
}

static int64_t wall_seconds(const struct bl_zone *zone, int64_t at)
{
    at = CLAMP(at, FIRST_AT, LAST_AT);
    return at + bl_zone_offset(zone, at);
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

int64_t bl_zone_instant(const struct bl_zone *zone, int32_t date, int32_t seconds)
{
    int64_t wall = date * BL_DAY + seconds;
    int32_t before = bl_zone_offset(zone, wall - 2 * BL_DAY);
    int32_t after = bl_zone_offset(zone, wall + 2 * BL_DAY);
    if (bl_zone_offset(zone, wall - before) == before) {
        return wall - before;
    }
    if (bl_zone_offset(zone, wall - after) == after) {
        return wall - after;
    }
    return wall - before;
}
