/*
 * Corrections on the screen: what a fact said before it was changed or removed, when and why.
 */
#ifndef BEADLINE_CLI_CORRECTED_H
#define BEADLINE_CLI_CORRECTED_H

#include "beadline/mend.h"
#include "context.h"

/* What the row said: "mileage 48 210 km, read Thu 12 Mar 15:40". Inside the transaction.
 * Caller frees. */
char *corrected_said(struct context *context, const struct bl_corrected_row *row);

/* The newest `most` rows (struct bl_corrected_row) as a table with a heading; nothing when
 * there are none. */
void corrected_print(struct context *context, const GArray *rows, guint most);

/* The rows as objects for json_objects. */
GPtrArray *corrected_objects(struct context *context, const GArray *rows);

/* Those of a job: its own, and of what was or is put on in it. Borrows from rows. */
GArray *corrected_of_job(const GArray *rows, int64_t job, const GArray *treatments);

#endif
