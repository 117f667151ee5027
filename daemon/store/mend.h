/*
 * What the files that mend share with those that write first. Inside the room only.
 */
#ifndef BEADLINE_STORE_MEND_H
#define BEADLINE_STORE_MEND_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/records.h"

/* Everything that can be told from the rows alone, as when they are first written. */
bool bl_job_check(const struct bl_job_row *job, GError **error);
bool bl_treatment_check(const struct bl_treatment_row *treatment, const struct bl_job_row *job,
                        GError **error);

/* Writes the reading's new instant and distance when it fits between its neighbours. */
bool bl_reading_move(struct bl_store *store, int64_t car, const struct bl_reading *reading,
                     GError **error);

#endif
