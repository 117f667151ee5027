/* beadline explain: what is meant, and what both explanations read. */
#include "explain.h"

#include <stdio.h>
#include <string.h>

#include "command.h"
#include "say.h"

static const char usage[] =
    "explain [car|message] NAME\n"
    "Why a date is that date: one plain line, then the sum, with every number it takes to reckon\n"
    "it again. A number alone (12, #12) is a message as queue shows it, or the car that bears it as\n"
    "its plate; everything else is a car. The kind in front says which is meant. A message that has\n"
    "gone is explained by the numbers kept when it went.\n"
    "\n"
    "  beadline explain \"AB12 CDE\"     beadline explain 12     beadline explain car '#3'";

enum { CAR, MESSAGE, KINDS };
static const char *const kinds[KINDS] = {[CAR] = "car", [MESSAGE] = "message"};

static void message_clear(gpointer data)
{
    struct explained_message *message = data;
    bl_message_row_clear(&message->row);
    g_clear_pointer(&message->keys, g_array_unref);
}

/* Takes the rows' texts over into the explanation. */
static bool add_messages(struct explained *explained, struct context *context, int64_t customer,
                         GError **error)
{
    const struct bl_message_query query = {
        .states = 1u << BL_PLANNED | 1u << BL_PAUSED | 1u << BL_CLAIMED | 1u << BL_UNSURE,
        .customer = customer,
    };
    g_autoptr(GArray) rows = bl_message_list(context->store, &query, error);
    for (guint i = 0; rows && i < rows->len; i++) {
        int64_t id = g_array_index(rows, struct bl_message_row, i).id;
        struct explained_message message = {0};
        bool read = bl_message_get(context->store, id, &message.row, error) &&
                    (message.keys = bl_message_dues(context->store, id, error));
        if (!read) {
            message_clear(&message);
            return false;
        }
        g_array_append_val(explained->messages, message);
    }
    return rows != NULL;
}

bool explained_init(struct explained *explained, struct context *context, int64_t customer,
                    GError **error)
{
    *explained = (struct explained){
        .context = context,
        .shop = &context->world->settings->shop,
        .now = context->now,
        .messages = g_array_new(FALSE, TRUE, sizeof(struct explained_message)),
    };
    g_array_set_clear_func(explained->messages, message_clear);
    return look_make(context, customer, &explained->look, error) &&
           add_messages(explained, context, customer, error);
}

void explained_clear(struct explained *explained)
{
    look_clear(&explained->look);
    g_clear_pointer(&explained->messages, g_array_unref);
}

static bool is_message(struct context *context, int64_t id)
{
    struct bl_message_row row = {0};
    bool there = bl_message_get(context->store, id, &row, NULL);
    bl_message_row_clear(&row);
    return there;
}

static bool is_car(struct context *context, int64_t id)
{
    struct bl_car_row row = {0};
    bool there = bl_car_get(context->store, id, &row, NULL);
    bl_car_row_clear(&row);
    return there;
}

/* A number that is no message, though a car has it. */
static bool refuse_number(struct context *context, int64_t id, GError **error)
{
    g_autofree char *instead =
        is_car(context, id)
            ? g_strdup_printf(
                  "if you mean the car: beadline explain car '#%" G_GINT64_FORMAT "'", id)
            : g_strdup("\"beadline queue\" and \"beadline sent\" show their numbers");
    g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                "there is no message %" G_GINT64_FORMAT "; %s", id, instead);
    return false;
}

static bool explain_one(struct context *context, int kind, const char *name, GError **error)
{
    int64_t id = 0;
    if (kind == MESSAGE) {
        return say_read_id(name, kinds[kind], &id, error) &&
               (is_message(context, id) || refuse_number(context, id, error)) &&
               explain_message(context, id, error);
    }
    return say_find_car(context, name, &id, error) && explain_car(context, id, error);
}

/* What else the number could have meant, said last. */
static void print_other(struct context *context, int kind, const char *name)
{
    int64_t id = 0;
    if (context->json || !say_read_id(name, kinds[MESSAGE], &id, NULL)) {
        return;
    }
    if (kind == CAR && is_message(context, id)) {
        printf("\nMeant message %" G_GINT64_FORMAT
               "? beadline explain message %" G_GINT64_FORMAT "\n",
               id, id);
    } else if (kind == MESSAGE && is_car(context, id)) {
        printf("\nMeant car #%" G_GINT64_FORMAT "? beadline explain car '#%" G_GINT64_FORMAT
               "'\n",
               id, id);
    }
}

static int kind_meant(struct context *context, const char *name)
{
    int64_t id = 0;
    bool number = say_read_id(name, kinds[MESSAGE], &id, NULL);
    return number && !say_is_plate(context, name) ? MESSAGE : CAR;
}

static bool explain(struct context *context, int kind, const char *name, GError **error)
{
    if (!context_look(context, error)) {
        return false;
    }
    int meant = kind < KINDS ? kind : kind_meant(context, name);
    if (!explain_one(context, meant, name, error)) {
        bl_store_rollback(context->store);
        return false;
    }
    if (kind == KINDS) {
        print_other(context, meant, name);
    }
    return context_shown(context, error);
}

int command_explain(struct context *context, int argc, char **argv)
{
    GError *error = NULL;
    int kind = KINDS;
    if (!context_parse(context, NULL, usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc == 3) {
        for (kind = 0; kind < KINDS && strcmp(kinds[kind], argv[1]) != 0;) {
            kind++;
        }
        if (kind == KINDS) {
            return context_misused("the kind is car or message (a name with a space stands in "
                                   "quotes)",
                                   usage);
        }
    }
    if (argc < 2 || argc > 3) {
        return context_misused("name one car or message", usage);
    }
    return explain(context, kind, argv[argc - 1], &error) ? DONE : context_fail(error);
}
