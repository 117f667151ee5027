/*
 * A plan on its way into the tables, shared by the files that do it: apply.c brings the dues
 * in, apply_messages.c the messages, and apply_new.c writes what is new of both. Inside the
 * room only.
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
    bool past; /* its last sending hour is over: a reason known before is the truer one */
};

struct bl_applying {
    struct bl_store *store;
    int64_t customer, now;
    const struct bl_plan *plan;
    struct bl_chance chance;
    GArray *riders; /* struct bl_rider, as plan->dues */
};

/* An intent that keeps no message. */
struct bl_newcomer {
    const struct bl_intent *intent;
    bool paused;
    int64_t id; /* of its message, once there is one */
};

bool bl_apply_dues(struct bl_applying *applying, GError **error);
bool bl_apply_messages(struct bl_applying *applying, GError **error);

/* The numbers of a due, as JSON: they always fit. */
#define BL_NUMBERS_SIZE 384
void bl_apply_numbers(const struct bl_due *due, char numbers[BL_NUMBERS_SIZE]);

/* Adds dues first .. first + count of the plan, BL_INSERT_ROWS at most, all or none. Error:
 * BL_ERROR_REFUSED when the key of one is taken. */
bool bl_apply_new_dues(struct bl_applying *applying, guint first, guint count, GError **error);

/* Adds a message each (struct bl_newcomer), and puts on it the dues that ride on none. */
bool bl_apply_new_messages(struct bl_applying *applying, GArray *newcomers, GError **error);

#endif
