/*
 * Mending: what was written down wrongly, or did not happen, is changed or removed, under the
 * same checks as when it was first written. What it said before is kept in `corrected` by the
 * schema's own triggers, whoever writes.
 *
 * Errors as in records.h; a row that is not there is BL_ERROR_MISSING. The rows given in are
 * whole: read one, change what is different, give it back.
 */
#ifndef BEADLINE_MEND_H
#define BEADLINE_MEND_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/records.h"

/* From here to bl_mend_end in this transaction, what is corrected is kept with that instant and
 * reason (NULL none); without it with the machine's time and none. */
bool bl_mend_begin(struct bl_store *store, int64_t now, const char *why, GError **error);
bool bl_mend_end(struct bl_store *store, GError **error);

/* Times, weather, own wash date, cure, note. When the finish moves, so do the job's reading and
 * the treatments whose last coat was the finish; car, customer, package and the job it makes
 * good stay. km is the job's reading: a new figure corrects it, NaN removes it. */
bool bl_job_change(struct bl_store *store, const struct bl_job_row *row, GError **error);

/* With its treatments, their events, and its reading. BL_ERROR_REFUSED, naming it, while
 * another job makes this one good. */
bool bl_job_remove(struct bl_store *store, int64_t id, GError **error);

/* car receives whose treatment it is; NULL: nobody asks. Clear what it fills. */
bool bl_treatment_get(struct bl_store *store, int64_t id, struct bl_treatment_row *row,
                      int64_t *car, GError **error);
void bl_treatment_row_clear(struct bl_treatment_row *row);

/* All but its job. Two of one product on one surface and part of a job: BL_ERROR_REFUSED. */
bool bl_treatment_change(struct bl_store *store, const struct bl_treatment_row *row,
                         GError **error);
/* With the events that are about it alone. */
bool bl_treatment_remove(struct bl_store *store, int64_t id, GError **error);

/* car and job (0: not read at one) receive whose reading it is. */
bool bl_mileage_get(struct bl_store *store, int64_t id, struct bl_reading *reading,
                    int64_t *car, int64_t *job, GError **error);
/* Instant and distance, against the neighbours as in bl_mileage_add; the job it was read at
 * follows the distance, and keeps its reading at its finish (BL_ERROR_REFUSED). */
bool bl_mileage_change(struct bl_store *store, const struct bl_reading *reading,
                       GError **error);
bool bl_mileage_remove(struct bl_store *store, int64_t id, GError **error);

bool bl_event_get(struct bl_store *store, int64_t id, struct bl_event_row *row, GError **error);
void bl_event_row_clear(struct bl_event_row *row);
/* All but its car. */
bool bl_event_change(struct bl_store *store, const struct bl_event_row *row, GError **error);
bool bl_event_remove(struct bl_store *store, int64_t id, GError **error);

/* What a row said before it was changed or removed. */
struct bl_corrected_row {
    int64_t id, at, row, car;
    char *thing;  /* "job" "treatment" "mileage" "event" */
    char *before; /* what was different, as SQL's SET takes it; all of it when it was removed */
    char *why;    /* NULL none */
    bool removed;
};
/* Of the car, newest first. */
GArray *bl_corrected_list(struct bl_store *store, int64_t car, GError **error);

#endif
