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

static bool speaks_of_job(const struct bl_ended *key)
{
    return key->kind == BL_HANDOVER || key->kind == BL_WASH;
}

/* A message of a job tells the wash date of the car: what an earlier job cures counts in it,
 * what a later one does has its own message. */
static bool job_counts(const struct bl_car *car, int64_t job, int64_t binding)
{
    const struct bl_job *told = look_job(car, job);
    const struct bl_job *binds = look_job(car, binding);
    return told && binds && told->at >= binds->at;
}

/* What says when the car may be washed is wrong as soon as that is another day; a day that has
 * come is none any more. */
static bool told_another_date(const struct context *context, const struct follows *follows,
                              const struct bl_ended *key)
{
    const struct bl_shop *shop = &context->world->settings->shop;
    const struct bl_car *before = look_car(&follows->before, follows->car);
    const struct bl_car *after = follows_car(follows);
    int64_t was = 0;
    int64_t is = 0;
    return speaks_of_job(key) &&
           bl_cure_wash_date(before, shop, context->now, &was) !=
               bl_cure_wash_date(after, shop, context->now, &is) &&
           (job_counts(before, key->subject, was) || job_counts(after, key->subject, is));
}

static const struct bl_treatment *treatment_of(const struct bl_car *car, int64_t id)
{
    for (guint i = 0; i < car->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(car->treatments, struct bl_treatment, i);
        if (one->id == id) {
            return one;
        }
    }
    return NULL;
}

static const char *product_of(const struct bl_treatment *one)
{
    return one->rule ? one->rule->product : "";
}

/* Whether the customer was told of it as something that it is not. When it went on is told as
 * the wash date, and as the time of its top-up while that is ahead. */
static bool is_another(const struct context *context, const struct follows *follows,
                       const struct bl_ended *key, const struct bl_treatment *was)
{
    const struct bl_treatment *is = treatment_of(follows_car(follows), was->id);
    if (!is || is->surface != was->surface || !g_str_equal(is->part, was->part) ||
        !g_str_equal(product_of(is), product_of(was))) {
        return true;
    }
    const struct bl_due *due =
        bl_plan_due(follows->after.plan, key->kind, key->subject, key->ordinal);
    return key->kind == BL_TOP_UP && is->last_coat_at != was->last_coat_at && due &&
           due->not_after > context->now;
}

static bool names_another(const struct context *context, const struct follows *follows,
                          const struct bl_ended *key)
{
    const struct bl_car *before = look_car(&follows->before, follows->car);
    const struct bl_due *due =
        bl_plan_due(follows->before.plan, key->kind, key->subject, key->ordinal);
    for (guint i = 0; i < before->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(before->treatments, struct bl_treatment, i);
        bool named =
            speaks_of_job(key) ? one->job == key->subject : due && one->id == due->treatment;
        if (named && is_another(context, follows, key, one)) {
            return true;
        }
    }
    return false;
}

/* What was said of a car that is gone, or is another's now, was right when it was said. */
static bool is_still_his(const struct context *context, const struct follows *follows)
{
    const struct bl_car *before = look_car(&follows->before, follows->car);
    const struct bl_car *after = follows_car(follows);
    return before && after && after->gone_at > context->now;
}

static bool concerns(struct context *context, const struct follows *follows, int64_t message,
                     bool *yes, GError **error)
{
    g_autoptr(GArray) keys = bl_message_dues(context->store, message, error);
    *yes = false;
    for (guint i = 0; keys && i < keys->len; i++) {
        const struct bl_ended *key = &g_array_index(keys, struct bl_ended, i);
        *yes = *yes || is_gone(follows, key) || names_another(context, follows, key) ||
               told_another_date(context, follows, key);
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
    if (!is_still_his(context, follows)) {
        return true;
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
