/*
 * Gathering: windows that can be met together, into the fewest occasions. Pure; for messages
 * about one kind of thing and for bookings alike.
 *
 * The fewest points that pierce all of a set of intervals are found by taking the earliest end
 * that is not pierced yet, again and again.
 */
#ifndef BEADLINE_GATHER_H
#define BEADLINE_GATHER_H

#include <glib.h>
#include <stdint.h>

#include "beadline/shop.h"

struct bl_window {
    int64_t from, best_by; /* from <= best_by */
    guint group;           /* out */
};

/* Gives each window its group and returns their number, the fewest there can be. Groups count
 * from 0 in the order of time; the windows of one have an instant in common. The same windows
 * give the same groups in any order. */
guint bl_gather(struct bl_window *windows, guint count);

/* The instant of each group (times has room for all): the latest of its common interval inside
 * the sending hours, the last group first, each at least one day before the next. Where the day
 * between leaves nothing, without it; where the interval has no sending hour, the next one;
 * BL_NEVER when there is none. */
void bl_gather_times(const struct bl_shop *shop, const struct bl_window *windows, guint count,
                     int64_t *times, guint groups);

/* The same with `apart` seconds between them in place of the day. */
void bl_gather_times_apart(const struct bl_shop *shop, const struct bl_window *windows,
                           guint count, int64_t *times, guint groups, int64_t apart);

#endif
