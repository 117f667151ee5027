/* One list of messages, as a table or as JSON lines. */
#include "messages.h"

#include "beadline/letterbook.h"
#include "json.h"
#include "say.h"
#include "table.h"

const char *messages_to(const struct bl_message_row *row)
{
    return row->address ? row->address : bl_channel_name(BL_BY_HAND);
}

int64_t messages_goes_at(const struct bl_message_row *row)
{
    return MAX(row->send_at, row->not_before);
}

void messages_begin(const struct context *context, const struct bl_message_row *row,
                    struct json *json)
{
    const struct bl_zone *zone = context->world->settings->shop.zone;
    json_begin(json);
    json_whole(json, "message", row->id);
    json_text(json, "kind", bl_kind_name(row->kind));
    json_text(json, "class", bl_class_name(row->class));
    json_text(json, "customer", row->customer_name);
    json_text(json, "car", row->cars);
    json_text(json, "channel", bl_channel_name(row->channel));
    json_text(json, "to", row->address);
    json_at(json, "from", zone, row->from);
    json_at(json, "send_at", zone, messages_goes_at(row));
    json_at(json, "not_after", zone, row->not_after);
    json_text(json, "state", bl_state_name(row->state));
    json_text(json, "reason", row->reason);
    json_whole(json, "attempts", row->attempts);
    json_text(json, "gateway", row->gateway);
    json_at(json, "claimed_at", zone, row->claimed_at);
    json_at(json, "ended_at", zone, row->ended_at);
    json_text(json, "answer", row->answer);
    json_text(json, "reference", row->reference);
    json_text(json, "key", row->key);
}

GPtrArray *messages_objects(const struct context *context, const GArray *rows)
{
    GPtrArray *objects = json_list();
    for (guint i = 0; i < rows->len; i++) {
        struct json json;
        messages_begin(context, &g_array_index(rows, struct bl_message_row, i), &json);
        g_ptr_array_add(objects, json_take(&json));
    }
    return objects;
}

/* What a person wants to know beside the state: why, or how often it was tried. */
static char *remark(const struct bl_message_row *row)
{
    if (row->reason && *row->reason) {
        return g_strdup_printf("%s: %s", bl_state_name(row->state), row->reason);
    }
    if (row->state == BL_PLANNED && row->attempts > 0) {
        return g_strdup_printf("planned, tried %d time%s", row->attempts,
                               row->attempts == 1 ? "" : "s");
    }
    return g_strdup(bl_state_name(row->state));
}

static void add_row(struct table *table, const struct context *context,
                    const struct bl_message_row *row, enum messages_time time)
{
    g_autofree char *id = g_strdup_printf("#%" G_GINT64_FORMAT, row->id);
    int64_t gone_at = row->claimed_at ? row->claimed_at : row->ended_at;
    g_autofree char *at =
        say_at(context, time == MESSAGES_GOING ? messages_goes_at(row) : gone_at);
    g_autofree char *state = remark(row);
    const char *const cells[] = {
        id,   at, bl_kind_name(row->kind), row->customer_name, row->cars, messages_to(row),
        state};
    table_row(table, cells);
}

void messages_print(const struct context *context, const GArray *rows, enum messages_time time,
                    int indent)
{
    static const char *const going[] = {">#",  "=goes", "=about", "customer",
                                        "car", "to",    "~state", NULL};
    static const char *const gone[] = {">#",  "=went", "=about", "customer",
                                       "car", "to",    "~state", NULL};
    BL_AUTO(table) *table = table_new(time == MESSAGES_GOING ? going : gone);
    for (guint i = 0; i < rows->len; i++) {
        const struct bl_message_row *row = &g_array_index(rows, struct bl_message_row, i);
        if (context->json) {
            struct json json;
            messages_begin(context, row, &json);
            json_end(&json);
        } else {
            add_row(table, context, row, time);
        }
    }
    if (!context->json) {
        table_print(table, indent);
    }
}

GArray *messages_of(struct context *context, guint states, int64_t send_before,
                    int64_t ended_since, GError **error)
{
    const struct bl_message_query query = {
        .states = states,
        .send_before = send_before,
        .ended_since = ended_since,
        .newest_first = ended_since != 0,
    };
    return bl_message_list(context->store, &query, error);
}
