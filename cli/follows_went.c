/*
 * What went before a change stays as it went. The owner is told which messages those were, so
 * that he can put right what the customer was told.
 */
#include "beadline/letterbook.h"
#include "follows.h"
#include "report.h"
#include "say.h"

#define LONG_AGO_DAYS 400 /* as far back as planning looks */

/* Whether the plan has lost the due of that key. A top-up's dates move with every reading; one
 * worth a second offer has it, so that is no news here. */
static bool is_gone(const struct follows *follows, const struct bl_ended *key)
{
    return bl_plan_due(follows->before.plan, key->kind, key->subject, key->ordinal) &&
           !bl_plan_due(follows->after.plan, key->kind, key->subject, key->ordinal);
}

/* What says when the car may be washed is wrong as soon as that is another day. */
static bool told_another_date(const struct context *context, const struct follows *follows,
                              const struct bl_ended *key)
{
    const struct bl_shop *shop = &context->world->settings->shop;
    const struct bl_car *before = look_car(&follows->before, follows->car);
    const struct bl_car *after = follows_car(follows);
    bool of_washing = key->kind == BL_HANDOVER || key->kind == BL_WASH;
    return of_washing && before && after && look_job(before, key->subject) &&
           bl_cure_wash_date(before, shop, context->now, NULL) !=
               bl_cure_wash_date(after, shop, context->now, NULL);
}

static bool concerns(struct context *context, const struct follows *follows, int64_t message,
                     bool *yes, GError **error)
{
    g_autoptr(GArray) keys = bl_message_dues(context->store, message, error);
    *yes = false;
    for (guint i = 0; keys && i < keys->len; i++) {
        const struct bl_ended *key = &g_array_index(keys, struct bl_ended, i);
        *yes = *yes || is_gone(follows, key) || told_another_date(context, follows, key);
    }
    return keys != NULL;
}

bool follows_end(struct context *context, struct follows *follows, GError **error)
{
    const struct bl_message_query query = {
        .states = 1u << BL_SENT | 1u << BL_DELIVERED,
        .car = follows->car,
        .ended_since = context->now - LONG_AGO_DAYS * BL_DAY,
    };
    follows->went = g_ptr_array_new_with_free_func(g_free);
    if (!look_make(context, follows->before.facts.customer.id, &follows->after, error)) {
        return false;
    }
    g_autoptr(GArray) rows = bl_message_list(context->store, &query, error);
    for (guint i = 0; rows && i < rows->len; i++) {
        const struct bl_message_row *row = &g_array_index(rows, struct bl_message_row, i);
        bool yes = false;
        if (!concerns(context, follows, row->id, &yes, error)) {
            return false;
        }
        if (yes) {
            g_autofree char *at = say_at(context, row->ended_at);
            g_ptr_array_add(follows->went,
                            g_strdup_printf("the %s (message #%" G_GINT64_FORMAT
                                            ") went %s and stays as it went: tell %s yourself "
                                            "what is different",
                                            bl_kind_name(row->kind), row->id, at,
                                            row->customer_name));
        }
    }
    return rows != NULL;
}

void follows_remark(const struct follows *follows, GPtrArray *remarks)
{
    for (guint i = 0; i < follows->went->len; i++) {
        report_remark(remarks, "%s", (const char *)g_ptr_array_index(follows->went, i));
    }
}
