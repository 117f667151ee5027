/*
 * What the files of the ledger share. Inside the room only.
 */
#ifndef BEADLINE_STORE_LEDGER_SQL_H
#define BEADLINE_STORE_LEDGER_SQL_H

#include "beadline/ledger.h"
#include "sql.h"

/* Whether the due rides on a message whose outcome is open: the outcome will end it. */
#define BL_SQL_RIDES(due)                                                                      \
    "EXISTS (SELECT 1 FROM message_due l JOIN message m ON m.id = l.message"                   \
    " WHERE l.due = " due ".id AND m.state IN ('claimed', 'unsure'))"

/* One change of a message's state; the table of allowed changes has the last word. */
struct bl_change {
    enum bl_state to;
    const char *reason;
    int64_t now;        /* dates an end or a claim */
    int64_t not_before; /* for a retry; 0 leaves it */
    const char *reference;
};
bool bl_message_set(struct bl_store *store, int64_t message, const struct bl_change *change,
                    GError **error);

/* Sets BL_ERROR_MISSING; always false. */
bool bl_no_such_message(int64_t message, GError **error);

/* A message's state and what decides about it. BL_ERROR_MISSING when there is none. */
struct bl_standing {
    enum bl_state state;
    enum bl_channel channel;
    int64_t customer, not_after;
    char *address; /* NULL by hand */
};
bool bl_message_standing(struct bl_store *store, int64_t message, struct bl_standing *standing,
                         GError **error);

/* Closes the message's open attempt, if it has one. */
bool bl_attempt_close(struct bl_store *store, int64_t message, const char *verdict,
                      const char *answer, int64_t now, GError **error);

/* Ends an unsent message whose time is over at `at` (its own, or the one it would have moved
 * to). Its dues that have time beyond leave it first, and their customer is planned again. */
bool bl_message_lapse(struct bl_store *store, int64_t message, int64_t at, const char *reason,
                      int64_t now, GError **error);

/* Plans the customer again. */
bool bl_store_touch(struct bl_store *store, int64_t customer, GError **error);

#endif
