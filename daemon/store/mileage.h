/*
 * What two readings of one instrument may say of each other. Inside the room only: adding a
 * reading and reading the facts hold to the same rule.
 */
#ifndef BEADLINE_STORE_MILEAGE_H
#define BEADLINE_STORE_MILEAGE_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/facts.h"

struct bl_store;

/* Whether later may follow earlier: at another instant, not going back, rising by at most
 * 2 000 km times max(1, days between). Error: BL_ERROR_REFUSED, naming both with date and
 * value. */
bool bl_reading_fits(const struct bl_reading *earlier, const struct bl_reading *later,
                     GError **error);

/* Whether the reading (id 0: a new one) fits between its neighbours on its instrument. same
 * receives another reading of that very instant and distance, else 0. */
bool bl_reading_between(struct bl_store *store, int64_t car, const struct bl_reading *reading,
                        int64_t *same, GError **error);

#endif
