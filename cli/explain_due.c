/* When a message goes, and why then: the window of each due, and the day it got. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "explain.h"
#include "say.h"

static const struct bl_due *due_at(const struct explained *explained, guint i)
{
    return &g_array_index(explained->look.plan->dues, struct bl_due, i);
}

const struct bl_message_row *explained_message_of(const struct explained *explained,
                                                  const struct bl_due *due)
{
    for (guint i = 0; i < explained->messages->len; i++) {
        const struct explained_message *message =
            &g_array_index(explained->messages, struct explained_message, i);
        for (guint k = 0; k < message->keys->len; k++) {
            const struct bl_ended *key = &g_array_index(message->keys, struct bl_ended, k);
            if (key->kind == due->kind && key->subject == due->subject &&
                key->ordinal == due->ordinal) {
                return &message->row;
            }
        }
    }
    return NULL;
}

static const struct bl_treatment *treatment_of(const struct explained *explained,
                                               const struct bl_due *due, int64_t id)
{
    const struct bl_car *car = look_car(&explained->look, due->car);
    return car ? explained_treatment(car, id) : NULL;
}

/* --- why the window is what it is -----------------------------------------------------------
 */

/* "21 days (the shop's)". Caller frees. */
static char *say_lead(const struct bl_due *due)
{
    static const char *const whose[] = {[BL_LEAD_SHOP] = "the shop's lead",
                                        [BL_LEAD_QUARTER] = "a quarter of its early life",
                                        [BL_LEAD_RULE] = "its rule's lead"};
    g_autofree char *days = explain_fixed((double)due->lead / (double)BL_DAY, 3);
    return g_strdup_printf("less %s days, %s", days, whose[due->lead_by]);
}

/* The ordinal is 1000 x the care before, and the number of intervals since. */
static char *say_care(const struct explained *explained, const struct bl_due *due)
{
    const struct bl_treatment *treatment = treatment_of(explained, due, due->treatment);
    g_autofree char *since = say_moment(explained->context, due->since);
    const struct bl_care *care = &treatment->rule->care;
    int times = due->ordinal % 1000;
    g_autofree char *interval = explain_exact(care->interval_days * times);
    return g_strdup_printf("%s days%s after %s", interval, care->on_calendar ? "" : " of use",
                           since);
}

static char *say_mileage(const struct explained *explained, const struct bl_due *due)
{
    const struct bl_treatment *asks = treatment_of(explained, due, due->asks_for);
    g_autofree char *since = say_moment(explained->context, due->since);
    g_autofree char *name = asks ? explain_treatment_name(explained, asks) : g_strdup("it");
    return g_strdup_printf(
        "halfway from the reading of %s to the top-up of %s, whose date half "
        "or one and a half times the distance would move by over a fifth of "
        "that way",
        since, name);
}

static char *say_look_over(const struct explained *explained, const struct bl_due *due)
{
    const struct bl_treatment *treatment = treatment_of(explained, due, due->treatment);
    g_autofree char *since = say_full_day(explained->context, due->since);
    return g_strdup_printf("%d months after %s",
                           due->ordinal * treatment->rule->look_over_months, since);
}

/* Where own_from comes from. Caller frees. */
static char *say_from(const struct explained *explained, const struct bl_due *due)
{
    switch (due->kind) {
    case BL_HANDOVER: {
        g_autofree char *since = say_moment(explained->context, due->since);
        return g_strdup_printf("when the job, finished %s, was entered", since);
    }
    case BL_WASH:
        return g_strdup("the beginning of the day it may be washed");
    case BL_CARE:
        return say_care(explained, due);
    case BL_MILEAGE:
        return say_mileage(explained, due);
    case BL_TOP_UP: {
        g_autofree char *lead = say_lead(due);
        return g_strdup_printf("early, %s", lead);
    }
    case BL_LOOK_OVER:
        return say_look_over(explained, due);
    case BL_BOOKING:
    case BL_KINDS:
        break;
    }
    return g_strdup("");
}

static const char *best_by_name(enum bl_kind kind)
{
    static const char *const names[BL_KINDS] = {
        [BL_HANDOVER] = "at once",
        [BL_WASH] = "the same",
        [BL_CARE] = "half an interval later",
        [BL_MILEAGE] = "three quarters of the way",
        [BL_TOP_UP] = "likely less the same lead, not before from",
        [BL_LOOK_OVER] = "30 days after it is due",
        [BL_BOOKING] = "",
    };
    return kind < BL_KINDS ? names[kind] : "";
}

static const char *not_after_name(enum bl_kind kind)
{
    static const char *const names[BL_KINDS] = {
        [BL_HANDOVER] = "the end of the cures, at least two days after the job",
        [BL_WASH] = "14 days later",
        [BL_CARE] = "the same as best by",
        [BL_MILEAGE] = "when that top-up begins",
        [BL_TOP_UP] = "late and 30 days",
        [BL_LOOK_OVER] = "60 days after it is due",
        [BL_BOOKING] = "",
    };
    return kind < BL_KINDS ? names[kind] : "";
}

static const char *waits_name(enum bl_wait waits)
{
    static const char *const names[] = {
        [BL_WAIT_NONE] = NULL,
        [BL_WAIT_WASH] = "the car may not be washed before",
        [BL_WAIT_TOLD] = "told of this surface before: not again for the days between two care "
                         "messages",
    };
    return names[waits];
}

static void print_window(const struct explained *explained, const struct bl_due *due)
{
    g_autofree char *from = say_moment(explained->context, due->from);
    g_autofree char *own = say_moment(explained->context, due->own_from);
    g_autofree char *best_by = say_moment(explained->context, due->best_by);
    g_autofree char *not_after = say_moment(explained->context, due->not_after);
    g_autofree char *why = say_from(explained, due);
    if (due->waits != BL_WAIT_NONE) {
        explain_line("From", "%s: %s (else %s: %s)", from, waits_name(due->waits), own, why);
    } else {
        explain_line("From", "%s: %s", from, why);
    }
    explain_line("Best by", "%s: %s", best_by, best_by_name(due->kind));
    if (due->extended_from == BL_NEVER) {
        explain_line("Not after", "%s: %s", not_after, not_after_name(due->kind));
    } else {
        g_autofree char *before = say_moment(explained->context, due->extended_from);
        explain_line("Not after",
                     "%s: the end of the next sending day, for the window until %s "
                     "has no sending hour",
                     not_after, before);
    }
}

/* --- why the message goes when it does -------------------------------------------------------
 */

/* What the bundle's windows have in common. */
struct common {
    int64_t from, best_by;
};

static struct common common_of(const struct explained *explained,
                               const struct bl_intent *intent)
{
    struct common common = {INT64_MIN, BL_NEVER};
    for (guint i = 0; i < intent->dues->len; i++) {
        const struct bl_due *due = due_at(explained, g_array_index(intent->dues, guint, i));
        if (due->kind == intent->kind) {
            common.from = MAX(common.from, due->from);
            common.best_by = MIN(common.best_by, due->best_by);
        }
    }
    return common;
}

static const char *why_then(const struct explained *explained, const struct bl_intent *intent)
{
    struct common common = common_of(explained, intent);
    int64_t open = MAX(common.from, explained->now);
    if (bl_kind_class(intent->kind) == BL_SERVICE) {
        return common.from > explained->now ? "the first sending moment of its window"
                                            : "the next sending moment: its window is open";
    }
    if (intent->ideal == bl_hours_last(explained->shop, common.best_by, common.from)) {
        return intent->dues->len > 1
                   ? "the last sending moment by the earliest best by of all it "
                     "speaks of"
                   : "the last sending moment by its best by";
    }
    return intent->ideal == bl_hours_next(explained->shop, open)
               ? "the next sending moment: its best by leaves no later one"
               : "as late as leaves the next message of its kind its day";
}

/* "09:00 to 19:00": of the day the instant is on. */
static char *say_hours(const struct explained *explained, int64_t at)
{
    int weekday = bl_date_weekday(bl_zone_date(explained->shop->zone, at));
    int32_t open = explained->shop->hours.open[weekday];
    int32_t close = explained->shop->hours.close[weekday];
    return g_strdup_printf("%02d:%02d to %02d:%02d", open / 3600, open / 60 % 60, close / 3600,
                           close / 60 % 60);
}

/* What the message about due number i speaks of besides. Caller frees. */
static GPtrArray *others_of(const struct explained *explained, const struct bl_intent *intent,
                            guint i)
{
    GPtrArray *names = g_ptr_array_new_with_free_func(g_free);
    for (guint k = 0; k < intent->dues->len; k++) {
        guint other = g_array_index(intent->dues, guint, k);
        const struct bl_due *due = due_at(explained, other);
        const struct bl_treatment *treatment = treatment_of(explained, due, due->treatment);
        if (other == i) {
            continue;
        }
        g_autofree char *name =
            treatment ? explain_treatment_name(explained, treatment) : g_strdup("the car");
        g_ptr_array_add(names, g_strdup_printf("%s: %s", bl_kind_name(due->kind), name));
    }
    g_ptr_array_add(names, NULL);
    return names;
}

static void print_goes(const struct explained *explained, const struct bl_intent *intent,
                       const struct bl_message_row *row, guint i)
{
    g_autofree char *at = say_moment(explained->context, intent->send_at);
    g_autofree char *hours = say_hours(explained, intent->send_at);
    g_autofree char *way = look_way(intent->channel, intent->address);
    g_autofree char *number =
        row ? g_strdup_printf(" as message #%" G_GINT64_FORMAT, row->id) : g_strdup("");
    explain_line("Goes", "%s%s, %s: %s (sending hours that day %s)", at, number, way,
                 due_at(explained, i)->kind == intent->kind
                     ? why_then(explained, intent)
                     : "it rides on a message that goes anyway",
                 hours);
    if (intent->waited) {
        g_autofree char *ideal = say_moment(explained->context, intent->ideal);
        explain_line("", "moved from %s: %s", ideal, intent->waited);
    }
    if (row && row->state != BL_PLANNED) {
        explain_line("", "%s%s%s", bl_state_name(row->state), row->reason ? ": " : "",
                     row->reason ? row->reason : "");
    } else if (row && row->not_before > intent->send_at) {
        g_autofree char *again = say_moment(explained->context, row->not_before);
        explain_line("", "tried again from %s", again);
    }
    g_autoptr(GPtrArray) others = others_of(explained, intent, i);
    if (others->len > 1) {
        g_autofree char *list = g_strjoinv("; ", (char **)others->pdata);
        explain_line("Together", "with %s", list);
    }
}

/* Why no message goes for the due. */
static const char *why_none(const struct explained *explained, guint i)
{
    const struct bl_due *due = due_at(explained, i);
    const char *lapse = look_lapse(&explained->look, i);
    return due->held                         ? due->held
           : lapse                           ? lapse
           : due->not_after < explained->now ? "its window has passed"
                                             : "it was told already, or ended";
}

static char *heading_of(const struct explained *explained, const struct bl_due *due)
{
    const struct bl_treatment *treatment = treatment_of(explained, due, due->treatment);
    g_autofree char *name = treatment ? explain_treatment_name(explained, treatment)
                                      : g_strdup_printf("job #%" G_GINT64_FORMAT, due->job);
    g_autofree char *kind = explain_kind_title(due->kind);
    return due->kind == BL_MILEAGE ? g_steal_pointer(&kind)
                                   : g_strdup_printf("%s: %s", kind, name);
}

void explain_due_print(const struct explained *explained, guint i)
{
    const struct bl_due *due = due_at(explained, i);
    const struct bl_intent *intent = look_intent(&explained->look, i);
    g_autofree char *heading = heading_of(explained, due);
    printf("\n%s\n", heading);
    print_window(explained, due);
    if (intent) {
        print_goes(explained, intent, explained_message_of(explained, due), i);
    } else {
        explain_line("Not sent", "%s", why_none(explained, i));
    }
}

/* --- JSON ------------------------------------------------------------------------------------
 */

static void add_message(const struct explained *explained, guint i,
                        const struct bl_intent *intent, struct json *json)
{
    const struct bl_message_row *row = explained_message_of(explained, due_at(explained, i));
    const struct bl_zone *zone = explained->shop->zone;
    g_autoptr(GPtrArray) others = others_of(explained, intent, i);
    g_autofree char *number = g_strdup_printf("%" G_GINT64_FORMAT, row ? row->id : 0);
    json_raw(json, "message", row ? number : "null");
    json_at(json, "send_at", zone, intent->send_at);
    json_at(json, "ideal_at", zone, intent->ideal);
    json_text(json, "why_then", why_then(explained, intent));
    json_text(json, "waited_for", intent->waited);
    json_texts(json, "together_with", (const char *const *)others->pdata);
}

static void add_window(const struct explained *explained, const struct bl_due *due,
                       struct json *json)
{
    const struct bl_zone *zone = explained->shop->zone;
    static const char *const leads[] = {[BL_LEAD_SHOP] = "shop",
                                        [BL_LEAD_QUARTER] = "quarter of the early life",
                                        [BL_LEAD_RULE] = "rule"};
    bool led = due->kind == BL_TOP_UP;
    json_at(json, "from", zone, due->from);
    json_at(json, "own_from", zone, due->own_from);
    json_text(json, "from_waits_for", waits_name(due->waits));
    json_at(json, "best_by", zone, due->best_by);
    json_at(json, "not_after", zone, due->not_after);
    json_at(json, "extended_from", zone, due->extended_from);
    json_at(json, "since", zone, due->since);
    json_number(json, "lead_days", led ? (double)due->lead / (double)BL_DAY : (double)NAN);
    json_text(json, "lead_by", led ? leads[due->lead_by] : NULL);
    json_at(json, "early", zone, due->early);
    json_at(json, "likely", zone, due->likely);
    json_at(json, "late", zone, due->late);
}

char *explain_due_object(const struct explained *explained, guint i)
{
    const struct bl_due *due = due_at(explained, i);
    const struct bl_intent *intent = look_intent(&explained->look, i);
    struct json json;
    json_begin(&json);
    json_text(&json, "kind", bl_kind_name(due->kind));
    json_whole(&json, "subject", due->subject);
    json_whole(&json, "ordinal", due->ordinal);
    json_whole(&json, "car", due->car);
    json_whole(&json, "job", due->job);
    json_whole(&json, "treatment", due->treatment ? due->treatment : due->asks_for);
    add_window(explained, due, &json);
    json_text(&json, "no_message", intent ? NULL : why_none(explained, i));
    if (intent) {
        add_message(explained, i, intent, &json);
    }
    return json_take(&json);
}
