/* The list, in the order in which it would happen. */
#include "rehearse_list.h"

#include <stdio.h>

#include "json.h"
#include "say.h"
#include "table.h"

static const struct bl_zone *zone_of(const struct context *context)
{
    return context->world->settings->shop.zone;
}

char *rehearse_when(const struct context *context, const struct rehearsed_end *end)
{
    g_autofree char *span = say_span(context, end->first, end->last);
    return end->times == 1 ? g_strdup(span) : g_strdup_printf("%u times, %s", end->times, span);
}

/* --- for people
 * -------------------------------------------------------------------------------
 */

static void print_messages(const struct context *context, const struct rehearsal *rehearsal)
{
    static const char *const titles[] = {"goes", "about",         "customer", "car",
                                         "to",   "how it begins", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < rehearsal->messages->len; i++) {
        const struct rehearsed_message *message =
            &g_array_index(rehearsal->messages, struct rehearsed_message, i);
        g_autofree char *at = say_at(context, message->at);
        const char *to = message->address ? message->address : bl_channel_name(BL_BY_HAND);
        const char *const cells[] = {
            at,           bl_kind_name(message->kind), message->customer, message->cars, to,
            message->line};
        table_row(table, cells);
    }
    if (table_empty(table)) {
        puts("No message would go.");
    } else {
        table_print(table, 0);
    }
}

static void print_ends(const struct context *context, const struct rehearse_names *names,
                       const GArray *ends)
{
    static const char *const titles[] = {"when", "about",       "customer",
                                         "car",  "how it ends", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < ends->len; i++) {
        const struct rehearsed_end *end = &g_array_index(ends, struct rehearsed_end, i);
        g_autofree char *when = rehearse_when(context, end);
        g_autofree char *how = g_strdup_printf("%s: %s", end->end, end->reason);
        const char *const cells[] = {when, bl_kind_name(end->kind),
                                     rehearse_customer(names, end->customer),
                                     rehearse_car(names, end->car), how};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("Without a message");
        table_print(table, 2);
    }
}

static void print_sum(const struct rehearsal *rehearsal, const GArray *ends)
{
    guint messages = rehearsal->messages->len;
    guint by_hand = 0;
    guint unsaid = 0;
    for (guint i = 0; i < messages; i++) {
        by_hand += g_array_index(rehearsal->messages, struct rehearsed_message, i).channel ==
                   BL_BY_HAND;
    }
    for (guint i = 0; i < ends->len; i++) {
        unsaid += g_array_index(ends, struct rehearsed_end, i).times;
    }
    printf("\n%u message%s, %u of them by hand; %u due%s without one. Nothing was sent.\n",
           messages, messages == 1 ? "" : "s", by_hand, unsaid,
           unsaid == 1 ? " ends" : "s end");
}

/* --- for programs
 * -----------------------------------------------------------------------------
 */

static void message_json(const struct context *context, const struct rehearsed_message *message)
{
    struct json json;
    json_begin(&json);
    json_text(&json, "entry", "message");
    json_at(&json, "at", zone_of(context), message->at);
    json_text(&json, "kind", bl_kind_name(message->kind));
    json_text(&json, "class", bl_class_name(bl_kind_class(message->kind)));
    json_text(&json, "customer", message->customer);
    json_text(&json, "car", message->cars);
    json_text(&json, "channel", bl_channel_name(message->channel));
    json_text(&json, "to", message->address);
    json_text(&json, "line", message->line);
    json_end(&json);
}

static void end_json(const struct context *context, const struct rehearse_names *names,
                     const struct bl_due_row *due)
{
    struct json json;
    json_begin(&json);
    json_text(&json, "entry", "end");
    json_at(&json, "at", zone_of(context), due->ended_at);
    json_text(&json, "kind", bl_kind_name(due->kind));
    json_text(&json, "customer", rehearse_customer(names, due->customer));
    json_text(&json, "car", rehearse_car(names, due->car));
    json_at(&json, "from", zone_of(context), due->from);
    json_at(&json, "not_after", zone_of(context), due->not_after);
    json_text(&json, "end", due->end);
    json_text(&json, "reason", due->reason);
    json_end(&json);
}

static void list_json(const struct context *context, const struct rehearsal *rehearsal,
                      const struct rehearse_names *names, const GArray *dues)
{
    for (guint i = 0; i < rehearsal->messages->len; i++) {
        message_json(context, &g_array_index(rehearsal->messages, struct rehearsed_message, i));
    }
    for (guint i = 0; i < dues->len; i++) {
        const struct bl_due_row *due = &g_array_index(dues, struct bl_due_row, i);
        if (rehearse_unsaid(rehearsal, due)) {
            end_json(context, names, due);
        }
    }
}

void rehearse_list(const struct context *context, const struct rehearsal *rehearsal,
                   const struct rehearse_names *names, const GArray *dues)
{
    if (context->json) {
        list_json(context, rehearsal, names, dues);
        return;
    }
    g_autoptr(GArray) ends = rehearse_ends(rehearsal, dues);
    print_messages(context, rehearsal);
    print_ends(context, names, ends);
    print_sum(rehearsal, ends);
}
