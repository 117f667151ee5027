/*
 * Whether a job is there already. Inside the room only.
 */
#ifndef BEADLINE_STORE_JOB_SAME_H
#define BEADLINE_STORE_JOB_SAME_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/records.h"

/* The treatments (struct bl_treatment_row; NULL none) as one text that is equal for equal work,
 * in whatever order. NULL and error: a rule version is not there, or one product is on one
 * surface and part twice. Caller frees. */
char *bl_job_work(struct bl_store *store, const GArray *treatments, GError **error);

/* Whether no job of this car was finished at that very time. Error: BL_ERROR_REFUSED, naming
 * the job and saying whether its work is the same. */
bool bl_job_is_new(struct bl_store *store, const struct bl_job_row *job, const char *work,
                   GError **error);

#endif
