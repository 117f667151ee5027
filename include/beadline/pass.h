/*
 * A pass: the way of the data walked once, left to right. The same code under the wall clock,
 * in a rehearsal and in a simulation; time, chance and the carrier come in from outside.
 */
#ifndef BEADLINE_PASS_H
#define BEADLINE_PASS_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/cleanup.h"
#include "beadline/clock.h"
#include "beadline/facts.h"
#include "beadline/plan.h"
#include "beadline/send.h"
#include "beadline/store.h"
#include "beadline/world.h"

struct bl_pass;

/* What a pass works with; all of it is kept by the caller until bl_pass_free. */
struct bl_pass_setup {
    struct bl_store *store;
    const struct bl_world *world;
    struct bl_clock clock;
    struct bl_chance chance;
    const struct bl_carrier *carrier; /* NULL: a pass that never sends (the command) */
    bool rehearsed; /* the clock is not the machine's: its time is taken as it is, and leaves no
                       mark */
    bool quiet;     /* says nothing in the log of what it does: it happens in a copy only */
};

struct bl_pass *bl_pass_new(const struct bl_pass_setup *setup);
void bl_pass_free(struct bl_pass *pass);
BL_DEFINE_AUTO(bl_pass);

/* Makes the catalogue's rules the current versions in the store. keeper (the daemon): when
 * settings or rules differ from those the plans were made with, every customer is touched.
 * Inside the caller's transaction; call once before anything below. */
bool bl_pass_adopt(struct bl_pass *pass, bool keeper, GError **error);

/* Brings the plan up to date at now: customers touched, and those whose replan_at has come, at
 * most `limit` of them. Inside the caller's transaction. more tells whether some are left. */
bool bl_pass_plan(struct bl_pass *pass, int64_t now, guint limit, bool *more, GError **error);

/* The facts of one customer, each treatment with the rule that counts for it. The caller
 * initialises and clears facts. */
bool bl_pass_facts(struct bl_pass *pass, int64_t customer, struct bl_facts *facts,
                   GError **error);

/* The facts and the fresh plan of one customer, without writing. The caller initialises facts,
 * clears them and frees the plan. */
bool bl_pass_look(struct bl_pass *pass, int64_t customer, int64_t now, struct bl_facts *facts,
                  struct bl_plan **plan, GError **error);

/* The letter of a stored message as it would leave now; raw (may be NULL) receives a mail's
 * bytes, or NULL for other channels. What has already left is shown by its stored text instead.
 */
bool bl_pass_preview(struct bl_pass *pass, int64_t message, int64_t now,
                     struct bl_letter *letter, GBytes **raw, GError **error);

/* After a start: every claimed message becomes unsure, then by its gateway's policy. */
bool bl_pass_recover(struct bl_pass *pass, GError **error);

/* One pass: plan, lapse, outcomes in, claims out, transfers started. wake receives the next
 * instant at which there is something to do without a transfer ending or the database changing;
 * BL_NEVER none. BL_ERROR_BUSY: somebody else is writing; nothing was done, try again soon.
 * Nothing is sent and nothing lapses or is planned while the clock is not trusted. */
bool bl_pass_run(struct bl_pass *pass, int64_t *wake, GError **error);

/* Takes the carrier's finished transfers and stores all that wait, now. Part of bl_pass_run; by
 * itself for the end of the daemon. */
bool bl_pass_settle(struct bl_pass *pass, GError **error);

/* Takes the carrier's finished transfers; whether they should be stored now rather than wait
 * for more: 32 of them, half of what is in flight, or 100 ms after the first. */
bool bl_pass_ripe(struct bl_pass *pass);

/* Whether somebody else has committed since the last look. Waits for nobody: BL_ERROR_BUSY
 * while a writer is at work, whose commit may be about to become visible. */
bool bl_pass_changed(struct bl_pass *pass, bool *changed, GError **error);

/* Milliseconds until the waiting outcomes must be stored; -1 none wait. */
int bl_pass_hurry_ms(const struct bl_pass *pass);

/* Transfers begun and not yet stored. */
guint bl_pass_open(const struct bl_pass *pass);

/* Stop claiming: for the end and for a change of settings. */
void bl_pass_hold(struct bl_pass *pass, bool hold);

/* Whether the clock is trusted now; why (may be NULL) receives a static text when it is not. */
bool bl_pass_trusted(struct bl_pass *pass, const char **why);

#endif
