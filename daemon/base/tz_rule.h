/*
 * The rule at the end of a time zone file: POSIX's TZ string with the extensions of RFC 8536
 * section 3.3.1. It says what holds after the last stored transition. Inside the room only.
 */
#ifndef BEADLINE_TZ_RULE_H
#define BEADLINE_TZ_RULE_H

#include <stdbool.h>
#include <stdint.h>

/* A day of each year and the wall-clock second on it. */
struct tz_change {
    char form; /* 'M' month.week.weekday, 'J' day 1..365 without 29 February, '0' day 0..365 */
    int month; /* 1..12, form M */
    int week;  /* 1..5, 5 the last, form M */
    int day;   /* weekday 0 Sunday..6 of form M, else the day of the year */
    int32_t seconds; /* after 00:00; may be negative or over a day */
};

struct tz_rule {
    int32_t standard;        /* seconds east of UTC */
    bool has_summer;         /* otherwise standard holds for ever */
    int32_t summer;          /* may be west of standard (Dublin) */
    struct tz_change starts; /* into summer, in standard wall-clock time */
    struct tz_change ends;   /* out of it, in summer wall-clock time */
};

/* False when text is not such a rule. */
bool tz_rule_parse(const char *text, struct tz_rule *rule);

/* The instants at which summer starts and ends in the calendar year. */
int64_t tz_rule_starts(const struct tz_rule *rule, int year);
int64_t tz_rule_ends(const struct tz_rule *rule, int year);

#endif
