/*
 * Patterns: the few words of a date's form with names in braces, "{weekday} {day} {month}".
 * Inside this room only.
 */
#ifndef BEADLINE_COMPOSE_PATTERN_H
#define BEADLINE_COMPOSE_PATTERN_H

#include <glib.h>
#include <stdbool.h>

struct bl_slot {
    const char *name;
    const char *value;
};

/* The pattern with each {name} replaced by its slot's value; slots end with a NULL name. The
 * pattern has passed bl_pattern_check with these names. Caller frees. */
char *bl_pattern_fill(const char *pattern, const struct bl_slot *slots);

/* Whether the pattern is well-formed, uses only names of `may` and uses each of `must` (both
 * NULL-terminated). Error: BL_ERROR_INPUT. */
bool bl_pattern_check(const char *pattern, const char *const *may, const char *const *must,
                      GError **error);

#endif
