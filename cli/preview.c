/*
 * beadline preview: the exact text of a message and who gets it; for one that has left, the
 * text as it left.
 */
#include <stdio.h>
#include <string.h>

#include "beadline/letterbook.h"
#include "beadline/text.h"
#include "command.h"
#include "json.h"
#include "messages.h"
#include "say.h"

#define USAGE                                                                                  \
    "preview MESSAGE [--raw]\n"                                                                \
    "The exact text before it goes, and to whom; of one that left, the text as it left."

static void print_size(const struct bl_sms_size *size)
{
    printf("Parts:   %d (%d %s)\n", size->parts, size->units,
           size->ucs2 ? "UCS-2 units: a character outside the GSM alphabet" : "GSM septets");
}

static void print_head(const struct context *context, const struct bl_message_row *row,
                       const struct bl_letter *letter)
{
    bool left = row->claimed_at != 0;
    g_autofree char *at = say_at(context, left ? row->claimed_at : messages_goes_at(row));
    g_autofree char *until = say_at(context, row->not_after);
    printf("Message: #%" G_GINT64_FORMAT ", %s, %s\n", row->id, bl_kind_name(row->kind),
           bl_state_name(row->state));
    printf("To:      %s, %s\n", row->customer_name, messages_to(row));
    printf("%s   %s%s%s\n", left ? "Went: " : "Goes: ", at, left ? "" : ", not after ",
           left ? "" : until);
    if (row->channel == BL_SMS) {
        print_size(&letter->size);
    }
    if (letter->subject) {
        printf("Subject: %s\n", letter->subject);
    }
}

static void print_json(const struct context *context, const struct bl_message_row *row,
                       const struct bl_letter *letter)
{
    struct json json;
    json_begin(&json);
    json_whole(&json, "message", row->id);
    json_text(&json, "kind", bl_kind_name(row->kind));
    json_text(&json, "customer", row->customer_name);
    json_text(&json, "channel", bl_channel_name(row->channel));
    json_text(&json, "to", row->address);
    json_at(&json, "send_at", context->world->settings->shop.zone, messages_goes_at(row));
    json_text(&json, "state", bl_state_name(row->state));
    json_text(&json, "subject", letter->subject);
    json_text(&json, "text", letter->text);
    json_text(&json, "html", letter->html);
    if (row->channel == BL_SMS) {
        json_whole(&json, "parts", letter->size.parts);
        json_whole(&json, "units", letter->size.units);
        json_text(&json, "alphabet", letter->size.ucs2 ? "UCS-2" : "GSM 7-bit");
    }
    json_end(&json);
}

static void print_letter(const struct context *context, const struct bl_message_row *row,
                         const struct bl_letter *letter, GBytes *raw, bool as_bytes)
{
    gsize length = 0;
    if (as_bytes && raw) {
        const void *bytes = g_bytes_get_data(raw, &length);
        fwrite(bytes, 1, length, stdout);
    } else if (as_bytes) {
        printf("%s\n", letter->text);
    } else if (context->json) {
        print_json(context, row, letter);
    } else {
        print_head(context, row, letter);
        printf("\n%s%s", letter->text, g_str_has_suffix(letter->text, "\n") ? "" : "\n");
    }
}

static bool show(struct context *context, int64_t id, bool as_bytes, GError **error)
{
    struct bl_message_row row = {0};
    struct bl_letter letter = {0};
    GBytes *raw = NULL;
    if (!context_look(context, error)) {
        return false;
    }
    bool done = bl_message_get(context->store, id, &row, error) &&
                bl_pass_preview(context->pass, id, context->now, &letter,
                                as_bytes ? &raw : NULL, error);
    if (done) {
        print_letter(context, &row, &letter, raw, as_bytes);
        done = context_shown(context, error);
    } else {
        bl_store_rollback(context->store);
    }
    if (raw) {
        g_bytes_unref(raw);
    }
    bl_letter_clear(&letter);
    bl_message_row_clear(&row);
    return done;
}

int command_preview(struct context *context, int argc, char **argv)
{
    gboolean raw = FALSE;
    const GOptionEntry entries[] = {
        {"raw", 0, 0, G_OPTION_ARG_NONE, &raw, "A mail's bytes, a text's characters only",
         NULL},
        {0},
    };
    int64_t id = 0;
    GError *error = NULL;
    if (!context_parse(context, entries, USAGE, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc != 2) {
        return context_misused("name one message", USAGE);
    }
    if (!say_read_id(argv[1], "message", &id, &error) || !show(context, id, raw, &error)) {
        return context_fail(error);
    }
    return DONE;
}
