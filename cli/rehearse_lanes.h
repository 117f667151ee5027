/*
 * From the store to the page: a lane a car. What is on the cars is read before the rehearsal is
 * played (as known now), what came up on them after it.
 */
#ifndef BEADLINE_CLI_REHEARSE_LANES_H
#define BEADLINE_CLI_REHEARSE_LANES_H

#include "rehearse_ends.h"
#include "rehearse_page.h"

struct lanes {
    const struct context *context; /* how things are said; its now is when it began */
    struct rehearsal *rehearsal;
    struct page page;
    GHashTable *cars;   /* int64 car -> its place in page.lanes */
    GHashTable *pieces; /* int64 treatment -> struct spot */
};

/* Clear it even when it failed. */
bool lanes_begin(const struct context *context, struct rehearsal *rehearsal,
                 struct lanes *lanes, GError **error);

/* dues: struct bl_due_row of the played rehearsal. After it the page is whole. */
void lanes_finish(struct lanes *lanes, const GArray *dues);

void lanes_clear(struct lanes *lanes);

#endif
