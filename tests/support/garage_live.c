/* A customer's time lived through: whatever is planned goes on its day and counts as told. */
#include "garage_live.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

/* Marks what goes at or before now as sent; whether anything did. */
static bool send_due(struct garage *garage, const struct bl_plan *plan, int64_t now,
                     garage_seen_fn *seen, void *context)
{
    bool any = false;
    for (guint i = 0; i < plan->intents->len; i++) {
        const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
        if (intent->lapse || intent->send_at > now) {
            continue;
        }
        any = true;
        garage_told(garage, now, intent->kind);
        for (guint d = 0; d < intent->dues->len; d++) {
            const struct bl_due *due = &g_array_index(plan->dues, struct bl_due,
                                                      g_array_index(intent->dues, guint, d));
            garage_ended(garage, due->kind, due->subject, due->ordinal);
            g_array_index(garage->facts.ended, struct bl_ended, garage->facts.ended->len - 1)
                .early = due->kind == BL_TOP_UP ? due->early : 0;
            g_array_index(garage->facts.ended, struct bl_ended, garage->facts.ended->len - 1)
                .at = due->kind == BL_TOP_UP ? now : 0;
        }
        seen(plan, intent, context);
    }
    return any;
}

/* The instant of the next thing that changes: a message, or time alone. */
static int64_t next_of(const struct bl_plan *plan, int64_t until)
{
    int64_t next = MIN(until, plan->replan_at);
    for (guint i = 0; i < plan->intents->len; i++) {
        const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
        next = intent->lapse ? next : MIN(next, intent->send_at);
    }
    return next;
}

void garage_live(struct garage *garage, int64_t now, int64_t until, garage_seen_fn *seen,
                 void *context)
{
    while (now < until) {
        BL_AUTO(bl_plan) *plan = garage_plan(garage, now);
        if (!send_due(garage, plan, now, seen, context)) {
            int64_t next = next_of(plan, until);
            assert_true(next > now);
            now = next;
        }
    }
}
