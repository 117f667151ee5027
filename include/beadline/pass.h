/*
 * A pass: the way of the data walked once, left to right. The same code under the wall clock,
 * in a rehearsal and in a simulation; time, chance and the carrier come in from outside.
 */
#ifndef BEADLINE_PASS_H
#define BEADLINE_PASS_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/catalogue.h"
#include "beadline/cleanup.h"
#include "beadline/clock.h"
#include "beadline/compose.h"
#include "beadline/ledger.h"
#include "beadline/records.h"
#include "beadline/send.h"
#include "beadline/settings.h"
#include "beadline/store.h"

struct bl_pass;

/* All are kept by the caller until bl_pass_free. carrier NULL: a pass that never sends (the
 * command). */
struct bl_pass *bl_pass_new(struct bl_store *store, const struct bl_settings *settings,
                            const struct bl_templates *templates, struct bl_clock clock,
                            struct bl_chance chance, const struct bl_carrier *carrier);
void bl_pass_free(struct bl_pass *pass);
BL_DEFINE_AUTO(bl_pass);

/* Brings the plan up to date at now: customers touched, and those whose replan_at has come.
 * Inside the caller's transaction. planned (may be NULL) receives how many customers were
 * planned. */
bool bl_pass_plan(struct bl_pass *pass, int64_t now, guint *planned, GError **error);

/* The facts and the fresh plan of one customer, without writing. Both out pointers are filled;
 * the caller clears facts and frees the plan. */
bool bl_pass_look(struct bl_pass *pass, int64_t customer, int64_t now, struct bl_facts *facts,
                  struct bl_plan **plan, GError **error);

/* The letter of a stored message as it would leave now. */
bool bl_pass_preview(struct bl_pass *pass, int64_t message, int64_t now,
                     struct bl_letter *letter, GBytes **raw, GError **error);

/* After a start: every claimed message becomes unsure, then by its gateway's policy. */
bool bl_pass_recover(struct bl_pass *pass, GError **error);

/* One pass: plan, lapse, outcomes in, claims out, transfers started. wake receives the next
 * instant there is something to do (BL_NEVER none; now when more is waiting for room). Nothing
 * is sent and nothing lapses while the clock is not trusted. */
bool bl_pass_run(struct bl_pass *pass, int64_t *wake, GError **error);

/* Whether the clock is trusted now; why (may be NULL) receives a static text when it is not. */
bool bl_pass_trusted(struct bl_pass *pass, const char **why);

/* Stores outcomes that are waiting for their group. */
bool bl_pass_flush(struct bl_pass *pass, GError **error);

#endif
