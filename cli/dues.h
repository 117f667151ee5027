/*
 * Dues on the owner's screen: what wants doing between which dates, with the numbers kept
 * beside each.
 */
#ifndef BEADLINE_CLI_DUES_H
#define BEADLINE_CLI_DUES_H

#include "beadline/letterbook.h"
#include "context.h"
#include "table.h"

/* The numbers a due stands on; BL_NEVER and NaN where it has none. */
struct dues_numbers {
    int64_t early, likely, late;
    double km_a_day, speed;
    bool by_distance;
};

void dues_numbers(const struct bl_due_row *row, struct dues_numbers *numbers);

/* The titles of a table that dues_row fills. */
extern const char *const dues_titles[];

/* One more row. Inside the transaction. */
bool dues_row(struct context *context, const struct bl_due_row *row, struct table *table,
              GError **error);

/* The due as a JSON object; caller frees. NULL and error. */
char *dues_object(struct context *context, const struct bl_due_row *row, GError **error);

#endif
