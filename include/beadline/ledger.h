/*
 * The ledger: dues, messages, attempts, silence. What is to be said, what was said, and how it
 * ended. States and the changes allowed between them are a table in the schema, enforced there
 * for every writer; so is that a message's end is the end of its dues, that what has begun
 * keeps its text, address and dues, that nothing is removed, and that an ended due stays ended.
 *
 * One end is not for good: a due withdrawn because it vanished from the plan (a job
 * corrected, and corrected back) is marked so, and comes back when the plan has it again. Its
 * old message stays withdrawn; it goes on a new one with a new key. A due the owner dropped
 * with its message never comes back.
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

/* Makes the stored dues and unsent messages of the customer those of the plan.
 *
 * Dues: found by key, whoever they were for (a sold car's open dues move to the new owner).
 * Those ended for good, and those whose message is claimed or unsure, stay as they are; one the
 * plan no longer has vanishes. A held due, and one of an intent that gives way (`lapse`),
 * leaves its message, and keeps the reason for when its window passes.
 *
 * Messages: an intent keeps the row and key of an unsent message of its kind that carries one
 * of its dues: a paused one first, else the one with most of them, else the oldest. It stays
 * paused, and an intent that takes a due off a paused message is paused: what the owner paused
 * does not slip out. A message with no due left is withdrawn, with the reason. One whose window
 * has passed is left to bl_store_lapse.
 *
 * Skipped facts and replan_at are stored. Nothing is written when nothing changed. */
bool bl_store_apply(struct bl_store *store, int64_t customer, const struct bl_plan *plan,
                    int64_t now, struct bl_chance chance, GError **error);

/* Ends what has passed its window at now (not_after < now): planned and paused messages lapse,
 * unended dues lapse with what held them ("no consent for offers", "paused by the owner", ...).
 * A due with time left leaves a message that lapses, and its customer is planned again. A due
 * whose message is claimed or unsure waits for the outcome. count: messages, and dues without
 * one. */
bool bl_store_lapse(struct bl_store *store, int64_t now, guint *count, GError **error);

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

/* Up to limit messages of the channel that may go now, longest waiting first: planned, send_at
 * and not_before come, not_after not passed, address not silenced, at least one due open (those
 * are the claim's dues). Appends struct bl_claim, to be cleared by the caller also after a
 * failure. Reads about as many rows as it returns, however long the queue. Nothing is changed.
 */
bool bl_store_candidates(struct bl_store *store, enum bl_channel channel, int64_t now,
                         guint limit, GArray *claims, GError **error);

/* How many messages to this address began at or after `since` (claimed, sent, delivered, failed
 * after acceptance, unsure). */
bool bl_store_told_since(struct bl_store *store, const char *address, int64_t since, int *count,
                         GError **error);

/* Whether the address is silenced now. Fails closed: an error means yes. */
bool bl_store_silenced(struct bl_store *store, const char *address);

/* What is about to leave, and how. */
struct bl_leaving {
    const char *gateway, *text;
    const char *subject, *html; /* NULL in an SMS */
};

/* planned -> claimed, with what is about to leave; opens an attempt. BL_ERROR_REFUSED when it
 * is not planned any more, its window has passed, or its address has been silenced since. */
bool bl_store_claim(struct bl_store *store, int64_t message, const struct bl_leaving *leaving,
                    int64_t now, GError **error);

/* The outcome of a claimed message: accepted -> sent (its dues end sent), refused -> failed,
 * later -> planned with not_before = retry_at (or failed when retry_at passes not_after),
 * unknown -> unsure, and on to planned when resend (unless retry_at passes not_after: then it
 * waits for the owner). Closes the attempt. opted_out silences the address. BL_ERROR_REFUSED,
 * and nothing changed, when the message is not claimed. */
bool bl_store_outcome(struct bl_store *store, const struct bl_outcome *outcome, int64_t now,
                      int64_t retry_at, bool resend, GError **error);

/* claimed -> planned, not started after all (silenced since, shutting down): as if it had not
 * been claimed, but for a line among its attempts. */
bool bl_store_unclaim(struct bl_store *store, int64_t message, const char *reason,
                      GError **error);

/* planned -> planned at another instant (one message a day, hours), or lapsed when send_at is
 * past its not_after; dues that have time beyond send_at leave it first. */
bool bl_store_move(struct bl_store *store, int64_t message, int64_t send_at, const char *reason,
                   GError **error);

/* Every claimed message becomes unsure ("the daemon ended while it was on the wire"); appends
 * their ids and gateways (the array frees its texts). May be run again. */
struct bl_left {
    int64_t message;
    char *gateway; /* NULL by hand */
};
bool bl_store_recover(struct bl_store *store, int64_t now, GArray *left, GError **error);

/* A change of state by the owner or a policy; refused by the table of allowed changes with
 * BL_ERROR_REFUSED naming both states. Only a message by hand is claimed this way (told by
 * hand: to claimed, then to sent). reason is needed for failed, unsure, lapsed and withdrawn.
 * When the new state is an end the message's dues end too, and the customer is planned again.
 */
bool bl_message_change(struct bl_store *store, int64_t message, enum bl_state to,
                       const char *reason, int64_t now, GError **error);

/* From now on nothing goes to the address (letters' case does not matter). Each call is a line
 * in the log, also for an address already silenced. */
bool bl_silence_add(struct bl_store *store, const char *address, const char *how,
                    const char *words, int64_t now, GError **error);
/* BL_ERROR_MISSING when the address is not silenced. */
bool bl_silence_lift(struct bl_store *store, const char *address, const char *how,
                     const char *words, int64_t now, GError **error);

#endif
