/*
 * The store: SQLite, and every statement there is. Facts out, dues and messages in.
 *
 * The database is the interface: other programs write to it too, so every rule that must hold
 * is a constraint or a trigger in the schema. WAL, synchronous=FULL, foreign keys on, STRICT
 * tables, defensive, trusted_schema off. Writers use BEGIN IMMEDIATE with a bounded wait
 * (BL_ERROR_BUSY); no transaction stays open across the network. Unless a comment says
 * otherwise a function that writes needs an open transaction (asserted), fails with
 * BL_ERROR_OUTSIDE, and leaves the rollback to the caller.
 *
 * This page: opening, transactions, waking. The other pages of the room: records.h (people,
 * cars, jobs), ledger.h (dues, messages, attempts).
 */
#ifndef BEADLINE_STORE_H
#define BEADLINE_STORE_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/cleanup.h"

struct bl_store;

/* Makes a new database (mode 0600) at path; it appears there whole or not at all. Error:
 * BL_ERROR_REFUSED when there is a file, or a log left by another database. */
struct bl_store *bl_store_create(const char *path, GError **error);

/* Opens an existing one and brings it to this version. Its folder may be reached through
 * symbolic links, the file may not be one. Errors: BL_ERROR_MISSING (no file), BL_ERROR_DAMAGED
 * (not ours, malformed, a newer version, an unknown trigger or view, an unknown index on one of
 * our tables, an object of ours changed or missing; the text says what to do and nothing is
 * changed), BL_ERROR_BUSY. Tables of other programs beside ours are let be. Only what is cheap
 * is looked at; bl_store_check reads every page. */
struct bl_store *bl_store_open(const char *path, GError **error);
void bl_store_close(struct bl_store *store);
static inline void bl_store_free(struct bl_store *store)
{
    bl_store_close(store);
}
BL_DEFINE_AUTO(bl_store);

/* Everything of the file's schema for which bl_store_open would refuse it, a line (char *)
 * each; empty when it is as it should be. Nothing is written. NULL and error when the file
 * cannot be looked at, or is not a database of ours. */
GPtrArray *bl_store_strangers(const char *path, GError **error);

/* A copy of all that is committed now, to play with: a private file (mode 0600, in the folder
 * for temporary files) that has no name any more and is gone when the copy is closed or the
 * process ends. Quick rather than durable. The original is only read; not inside a transaction.
 */
struct bl_store *bl_store_copy(struct bl_store *store, GError **error);

/* PRAGMA integrity_check, foreign_key_check and the schema's own fingerprint. Error:
 * BL_ERROR_DAMAGED with the first finding. */
bool bl_store_check(struct bl_store *store, GError **error);

/* Takes the daemon's lock: `path` + ".lock", held by flock until the process ends. Error:
 * BL_ERROR_BUSY, saying that another daemon looks after this database. */
bool bl_store_lock(struct bl_store *store, GError **error);

/* BEGIN IMMEDIATE; waits at most wait_ms for another writer (BL_ERROR_BUSY). Not nested. */
bool bl_store_begin(struct bl_store *store, int wait_ms, GError **error);
/* A commit that fails is rolled back. */
bool bl_store_commit(struct bl_store *store, GError **error);
void bl_store_rollback(struct bl_store *store);
bool bl_store_within(const struct bl_store *store);

/* PRAGMA data_version: changes when another connection has committed. */
bool bl_store_version(struct bl_store *store, int64_t *version, GError **error);

/* Takes up to limit customers to plan out of `touched` (oldest first, each once) and out of
 * those whose replan_at has come. Appends int64 ids. What is planned for a customer who is no
 * longer there is withdrawn on the way. */
bool bl_store_drain(struct bl_store *store, int64_t now, guint limit, GArray *customers,
                    GError **error);

/* Touches every customer (settings or catalogue changed). */
bool bl_store_touch_all(struct bl_store *store, GError **error);

/* The earliest instant after now at which a planned message is to go, an unended due or message
 * has passed its window (the second after not_after), or a customer wants planning; now itself
 * when somebody wants planning already; BL_NEVER when nothing is ahead. What may go already at
 * now is the caller's to know: it waits for something else than time (the hours, a gateway). A
 * message by hand or paused counts with its window only; one on the wire or unsure, and its
 * dues, not at all: their outcome ends them. */
bool bl_store_wake(struct bl_store *store, int64_t now, int64_t *at, GError **error);

/* The earliest instant after now at which a planned message by hand comes up; BL_NEVER none.
 * bl_store_wake passes it over: nobody but the owner can do anything then. */
bool bl_store_wake_by_hand(struct bl_store *store, int64_t now, int64_t *at, GError **error);

/* A small fact kept between runs ("fingerprint"). value NULL when there is none; caller frees.
 */
bool bl_store_kept(struct bl_store *store, const char *name, char **value, GError **error);
bool bl_store_keep(struct bl_store *store, const char *name, const char *value, GError **error);

/* The clock's mark: the latest instant the daemon trusted. at 0 when there is none. */
bool bl_store_mark(struct bl_store *store, int64_t *at, GError **error);
bool bl_store_set_mark(struct bl_store *store, int64_t at, int64_t boottime_ms, GError **error);

#endif
