/* Plans made by hand: see plan_maker.h. */
#include "plan_maker.h"

#include <math.h>

static void clear_due(gpointer data)
{
    g_free(((struct bl_due *)data)->held);
}

static void clear_intent(gpointer data)
{
    struct bl_intent *intent = data;
    g_free(intent->address);
    g_free(intent->lapse);
    g_array_unref(intent->dues);
}

struct bl_plan *plan_maker_new(void)
{
    struct bl_plan *plan = g_new0(struct bl_plan, 1);
    plan->dues = g_array_new(FALSE, TRUE, sizeof(struct bl_due));
    g_array_set_clear_func(plan->dues, clear_due);
    plan->intents = g_array_new(FALSE, TRUE, sizeof(struct bl_intent));
    g_array_set_clear_func(plan->intents, clear_intent);
    plan->over = g_array_new(FALSE, FALSE, sizeof(struct bl_over));
    plan->skipped = g_ptr_array_new_with_free_func(g_free);
    plan->replan_at = BL_NEVER;
    return plan;
}

guint plan_maker_due(struct bl_plan *plan, int64_t treatment, int64_t not_after)
{
    struct bl_due due = {.kind = BL_TOP_UP,
                         .subject = treatment,
                         .from = 100,
                         .best_by = not_after / 2,
                         .not_after = not_after,
                         .extended_from = BL_NEVER,
                         .early = 5000,
                         .likely = 6000,
                         .late = BL_NEVER,
                         .km_a_day = NAN,
                         .speed = 1.25};
    g_array_append_val(plan->dues, due);
    return plan->dues->len - 1;
}

struct bl_intent *plan_maker_intent(struct bl_plan *plan, int64_t send_at, guint first,
                                    guint last)
{
    struct bl_intent intent = {.kind = BL_TOP_UP,
                               .channel = BL_SMS,
                               .address = g_strdup("+447700900001"),
                               .from = 100,
                               .send_at = send_at,
                               .not_after = BL_NEVER,
                               .dues = g_array_new(FALSE, FALSE, sizeof(guint))};
    for (guint due = first; due <= last; due++) {
        int64_t not_after = g_array_index(plan->dues, struct bl_due, due).not_after;
        intent.not_after = MIN(intent.not_after, not_after);
        g_array_append_val(intent.dues, due);
    }
    g_array_append_val(plan->intents, intent);
    return &g_array_index(plan->intents, struct bl_intent, plan->intents->len - 1);
}

struct bl_plan *plan_maker_one(int64_t first, int64_t last, int64_t send_at, int64_t not_after)
{
    struct bl_plan *plan = plan_maker_new();
    for (int64_t treatment = first; treatment <= last; treatment++) {
        plan_maker_due(plan, treatment, not_after);
    }
    plan_maker_intent(plan, send_at, 0, plan->dues->len - 1);
    return plan;
}
