/*
 * The ledger: dues, messages, attempts, silence. What is to be said, what was said, and how it
 * ended. States and the changes allowed between them are a table in the schema, enforced there
 * for every writer.
 */
#ifndef BEADLINE_LEDGER_H
#define BEADLINE_LEDGER_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/clock.h"
#include "beadline/plan.h"
#include "beadline/send.h"
#include "beadline/store.h"
#include "beadline/words.h"

/* --- the plan goes in ----------------------------------------------------------------------
 */

/* Makes the stored dues and unsent messages of the customer those of the plan. Dues with an end
 * stay as they are; a due no longer in the plan ends withdrawn; a due whose message is claimed,
 * sent or unsure keeps it. An unsent message that still carries one of its dues keeps its row
 * and key and moves; one with none left is withdrawn with the reason; a paused one stays
 * paused. Skipped facts and replan_at are stored. Nothing is written when nothing changed. */
bool bl_store_apply(struct bl_store *store, int64_t customer, const struct bl_plan *plan,
                    int64_t now, struct bl_chance chance, GError **error);

/* Ends what has passed its window at now: planned and paused messages lapse, unended dues lapse
 * with what held them ("no consent for offers", "paused by the owner", ...). */
bool bl_store_lapse(struct bl_store *store, int64_t now, guint *count, GError **error);

/* --- claims and outcomes --------------------------------------------------------------------
 */

struct bl_claim {
    int64_t message, customer;
    enum bl_kind kind;
    enum bl_channel channel;
    char *address;
    char key[33];
    int attempts; /* before this one */
    int64_t not_after;
    GArray *dues; /* struct bl_ended: the keys of its dues */
};
void bl_claim_clear(struct bl_claim *claim);

/* Up to limit messages of the channel that may go now, oldest send_at first: planned, send_at
 * and not_before come, not_after not passed, address not silenced. Nothing is changed. */
bool bl_store_candidates(struct bl_store *store, enum bl_channel channel, int64_t now,
                         guint limit, GArray *claims, GError **error);

/* How many messages to this address began at or after `since` (claimed, sent, delivered, failed
 * after acceptance, unsure). */
bool bl_store_told_since(struct bl_store *store, const char *address, int64_t since, int *count,
                         GError **error);

/* Whether the address is silenced now. Fails closed: an error means yes. */
bool bl_store_silenced(struct bl_store *store, const char *address);

/* planned -> claimed, with what is about to leave; opens attempt number attempts + 1. */
bool bl_store_claim(struct bl_store *store, int64_t message, const char *gateway,
                    const char *subject, const char *text, const char *html, int64_t now,
                    GError **error);

/* The outcome of a claimed message: accepted -> sent (its dues end sent), refused -> failed,
 * later -> planned with not_before = retry_at (or failed when retry_at passes not_after),
 * unknown -> unsure, and on to planned when resend. Closes the attempt. opted_out silences the
 * address. */
bool bl_store_outcome(struct bl_store *store, const struct bl_outcome *outcome, int64_t now,
                      int64_t retry_at, bool resend, GError **error);

/* claimed -> planned, not started after all (silenced since, shutting down). */
bool bl_store_unclaim(struct bl_store *store, int64_t message, const char *reason,
                      GError **error);

/* planned -> planned at another instant (one message a day, hours), or lapsed when send_at is
 * past its not_after. */
bool bl_store_move(struct bl_store *store, int64_t message, int64_t send_at, const char *reason,
                   GError **error);

/* Every claimed message becomes unsure ("the daemon ended while it was on the wire"); their ids
 * and gateways. */
struct bl_left {
    int64_t message;
    char *gateway;
};
bool bl_store_recover(struct bl_store *store, int64_t now, GArray *left, GError **error);

/* A change of state by the owner or a policy; refused by the table of allowed changes with
 * BL_ERROR_REFUSED naming both states. Ends the message's dues when the new state is an end. */
bool bl_message_change(struct bl_store *store, int64_t message, enum bl_state to,
                       const char *reason, int64_t now, GError **error);

/* --- silence
 * ---------------------------------------------------------------------------------- */

bool bl_silence_add(struct bl_store *store, const char *address, const char *how,
                    const char *words, int64_t now, GError **error);
bool bl_silence_lift(struct bl_store *store, const char *address, const char *how,
                     const char *words, int64_t now, GError **error);

/* --- showing
 * ------------------------------------------------------------------------------------ */

struct bl_message_row {
    int64_t id, customer;
    char *customer_name;
    char *cars; /* plates or names of the cars it speaks of, ", " between */
    char *key;
    enum bl_kind kind;
    enum bl_class class;
    enum bl_channel channel;
    enum bl_state state;
    char *gateway, *address, *reason, *subject, *text, *html, *reference; /* NULL none */
    char *answer;                                                       /* the last attempt's */
    int64_t from, send_at, not_before, not_after, claimed_at, ended_at; /* 0 none */
    int attempts;
};
void bl_message_row_clear(struct bl_message_row *row);

/* What a list of messages is to hold; zero and empty fields do not restrict. */
struct bl_message_query {
    guint states; /* bits 1u << enum bl_state; 0 all */
    int64_t customer, car, job;
    int64_t send_before; /* send_at < it */
    int64_t ended_since; /* ended_at >= it */
    bool newest_first;   /* by ended_at, else by send_at */
    guint limit;         /* 0 all */
};
/* struct bl_message_row, texts owned by the array. */
GArray *bl_message_list(struct bl_store *store, const struct bl_message_query *query,
                        GError **error);
bool bl_message_get(struct bl_store *store, int64_t id, struct bl_message_row *row,
                    GError **error);

/* The keys (struct bl_ended) of a message's dues. */
GArray *bl_message_dues(struct bl_store *store, int64_t message, GError **error);

struct bl_due_row {
    int64_t id, customer, car, job, treatment;
    enum bl_kind kind;
    int64_t subject;
    int ordinal;
    int64_t from, best_by, not_after, ended_at;
    char *held, *end, *reason, *numbers; /* NULL none */
};
/* Dues of the customer (0 all), open ones first by from. struct bl_due_row. */
GArray *bl_due_list(struct bl_store *store, int64_t customer, GError **error);

/* Facts left out, as stored by the last plans: char *, "Ada Example: treatment 12: no such
 * rule". */
GPtrArray *bl_skipped_list(struct bl_store *store, GError **error);

#endif
