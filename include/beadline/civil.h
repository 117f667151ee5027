/*
 * Civil time.
 *
 * An instant (`at`) is int64 seconds since 1970 UTC. A date is a civil day: int32 days since
 * 1970-01-01 in the proleptic Gregorian calendar, of no zone until a zone is named. Nothing
 * here asks mktime or the process's zone. A local time that happens twice is its first
 * occurrence; one that never happens takes the offset before the gap (RFC 5545 section 3.3.5).
 */
#ifndef BEADLINE_CIVIL_H
#define BEADLINE_CIVIL_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/cleanup.h"

#define BL_DAY       ((int64_t)86400)
#define BL_NO_DATE   INT32_MIN
#define BL_NEVER     INT64_MAX /* an instant that does not come */
#define BL_YEAR_DAYS 365.25
#define BL_KM_A_MILE 1.609344 /* exact: international mile */

/* Date arithmetic. year is 1..9999; month 1..12; day 1..31, one past the month's end being the
 * next month's first. */
int32_t bl_date_of(int year, int month, int day);
bool bl_date_valid(int year, int month, int day);
void bl_date_split(int32_t date, int *year, int *month, int *day);
int bl_date_weekday(int32_t date); /* 1 Monday .. 7 Sunday (ISO 8601) */

/* The same day of the month `months` later (or earlier), or that month's last day when it has
 * no such day: six months after 31 August is 28 or 29 February. Held at 0001-01-01 and
 * 9999-12-31; BL_NO_DATE stays BL_NO_DATE. */
int32_t bl_date_add_months(int32_t date, int months);

/* "2026-11-25" to a date (years 1 to 9999) and back. Error: BL_ERROR_INPUT. format's result:
 * caller frees. */
bool bl_date_parse(const char *text, int32_t *date, GError **error);
char *bl_date_format(int32_t date);

/* A time zone of the system's tz database. */
struct bl_zone;

/* Error: BL_ERROR_INPUT when the tz database (/usr/share/zoneinfo, or the directory in TZDIR)
 * has no zone of that name; BL_ERROR_DAMAGED when its file cannot be understood. */
struct bl_zone *bl_zone_new(const char *name, GError **error);
void bl_zone_free(struct bl_zone *zone);
BL_DEFINE_AUTO(bl_zone);
const char *bl_zone_name(const struct bl_zone *zone);

/* An instant outside the years 1 to 9999 (BL_NEVER) is taken for the nearest end of them. */
int32_t bl_zone_offset(const struct bl_zone *zone, int64_t at); /* seconds east of UTC */
int32_t bl_zone_date(const struct bl_zone *zone, int64_t at);   /* the civil day there */
int32_t bl_zone_seconds(const struct bl_zone *zone,
                        int64_t at); /* wall clock, seconds after 00:00 */

/* The instant of wall-clock second 0..86400 of the day; 86400 is the next day's beginning. */
int64_t bl_zone_instant(const struct bl_zone *zone, int32_t date, int32_t seconds);

/* "2026-11-25T14:30:00+01:00" (RFC 3339). Caller frees. */
char *bl_at_format(const struct bl_zone *zone, int64_t at);

/* An instant as typed: RFC 3339, "2026-11-25 14:30" (or with T), "2026-11-25" (its beginning),
 * "14:30" or "9:30" (today), "yesterday 9:30", "today", "tomorrow", "now"; local forms are in
 * the zone, a time may have seconds. Years 1970 to 2199, not before 1970 UTC. *at is written on
 * success only. Error: BL_ERROR_INPUT, naming the forms. */
bool bl_at_parse(const struct bl_zone *zone, const char *text, int64_t now, int64_t *at,
                 GError **error);

#endif
