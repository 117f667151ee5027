/*
 * A plan on its way into the tables, shared by the two files that do it: apply.c brings the
 * dues in, apply_messages.c the messages. Inside the room only.
 */
#ifndef BEADLINE_STORE_APPLY_H
#define BEADLINE_STORE_APPLY_H

#include "ledger_sql.h"

/* A due of the plan and its row. */
struct bl_rider {
    int64_t id;
    int64_t message;  /* the customer's unsent message it rides on, or 0 */
    bool free;        /* it has no end and no message that has begun */
    bool placed;      /* on the message of one of the plan's intents */
    const char *held; /* why no message goes for it, or NULL; borrowed from the plan */
};

struct bl_applying {
    struct bl_store *store;
    int64_t customer, now;
    const struct bl_plan *plan;
    struct bl_chance chance;
    GArray *riders; /* struct bl_rider, as plan->dues */
};

bool bl_apply_dues(struct bl_applying *applying, GError **error);
bool bl_apply_messages(struct bl_applying *applying, GError **error);

#endif
