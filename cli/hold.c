/*
 * The owner's word on single messages: pause, resume, drop, told, settle. What may follow what
 * is the store's table; here is only what the owner says and what he is answered.
 */
#include <stdio.h>
#include <string.h>

#include "beadline/letterbook.h"
#include "beadline/text.h"
#include "command.h"
#include "messages.h"
#include "say.h"

struct word {
    const char *usage;
    const char *done; /* "message #12 is ..." */
    bool (*act)(struct context *context, const struct bl_message_row *row, const char *why,
                GError **error);
};

static bool change(struct context *context, const struct bl_message_row *row, enum bl_state to,
                   const char *why, GError **error)
{
    return bl_message_change(context->store, row->id, to, why, context->now, error);
}

static bool act_pause(struct context *context, const struct bl_message_row *row,
                      const char *why, GError **error)
{
    return change(context, row, BL_PAUSED, why ? why : "paused by the owner", error);
}

static bool act_resume(struct context *context, const struct bl_message_row *row,
                       const char *why, GError **error)
{
    if (row->state != BL_PAUSED) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "message #%" G_GINT64_FORMAT " is %s, not paused: nothing to resume",
                    row->id, bl_state_name(row->state));
        return false;
    }
    return change(context, row, BL_PLANNED, why, error);
}

static bool act_drop(struct context *context, const struct bl_message_row *row, const char *why,
                     GError **error)
{
    return change(context, row, BL_WITHDRAWN, why ? why : "dropped by the owner", error);
}

static bool act_told(struct context *context, const struct bl_message_row *row, const char *why,
                     GError **error)
{
    const char *reason = why ? why : "told by the owner";
    if (row->state != BL_PLANNED && row->state != BL_PAUSED) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "message #%" G_GINT64_FORMAT " is %s: only what waits can be told", row->id,
                    bl_state_name(row->state));
        return false;
    }
    if (row->state == BL_PAUSED && !change(context, row, BL_PLANNED, reason, error)) {
        return false;
    }
    return change(context, row, BL_CLAIMED, reason, error) &&
           change(context, row, BL_SENT, reason, error);
}

/* All messages named, or none: one refusal undoes the others. */
static bool act_on_all(struct context *context, const struct word *word, char **names,
                       const char *why, GError **error)
{
    for (; *names; names++) {
        struct bl_message_row row = {0};
        int64_t id = 0;
        bool done = say_read_id(*names, "message", &id, error) &&
                    bl_message_get(context->store, id, &row, error) &&
                    word->act(context, &row, why, error);
        bl_message_row_clear(&row);
        if (!done) {
            return false;
        }
    }
    return true;
}

static char *message_object(const struct context *context, const struct bl_message_row *row)
{
    struct json json;
    messages_begin(context, row, &json);
    return json_take(&json);
}

/* The messages as they stand now, in the words' transaction. */
static bool read_objects(struct context *context, char **names, GPtrArray *objects,
                         GError **error)
{
    for (; context->json && *names; names++) {
        struct bl_message_row row = {0};
        int64_t id = 0;
        if (!say_read_id(*names, "message", &id, error) ||
            !bl_message_get(context->store, id, &row, error)) {
            return false;
        }
        g_ptr_array_add(objects, message_object(context, &row));
        bl_message_row_clear(&row);
    }
    return true;
}

static void answer(const struct context *context, const struct word *word, char **names,
                   const GPtrArray *objects)
{
    for (guint i = 0; i < objects->len; i++) {
        puts(g_ptr_array_index(objects, i));
    }
    for (; !context->json && *names; names++) {
        const char *digits = (*names)[0] == '#' ? *names + 1 : *names;
        printf("Message #%s %s\n", digits, word->done);
    }
}

static int run_word(struct context *context, const struct word *word, char **names,
                    const char *why)
{
    g_autoptr(GPtrArray) objects = json_list();
    GError *error = NULL;
    if (!context_look(context, &error)) {
        return context_fail(error);
    }
    if (!act_on_all(context, word, names, why, &error) ||
        !read_objects(context, names, objects, &error)) {
        bl_store_rollback(context->store);
        return context_fail(error);
    }
    if (!context_keep(context, &error)) {
        return context_fail(error);
    }
    answer(context, word, names, objects);
    return DONE;
}

static int parse_and_run(struct context *context, const struct word *word, int argc,
                         char **argv)
{
    g_autofree char *why = NULL;
    const GOptionEntry entries[] = {
        {"why", 0, 0, G_OPTION_ARG_STRING, &why, "Kept with the message", "TEXT"},
        {0},
    };
    GError *error = NULL;
    if (!context_parse(context, entries, word->usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc < 2) {
        return context_misused("name at least one message", word->usage);
    }
    if (why && !bl_text_check(why, "reason", BL_TEXT_MAX_NAME, &error)) {
        return context_fail(error);
    }
    return run_word(context, word, argv + 1, why);
}

int command_pause(struct context *context, int argc, char **argv)
{
    static const struct word word = {
        "pause MESSAGE... [--why TEXT]\n"
        "Holds each back until you resume it; past its last day it lapses.",
        "is held back until you resume it.", act_pause};
    return parse_and_run(context, &word, argc, argv);
}

int command_resume(struct context *context, int argc, char **argv)
{
    static const struct word word = {"resume MESSAGE...\n"
                                     "Lets what you paused go again, at its hour.",
                                     "goes again at its hour.", act_resume};
    return parse_and_run(context, &word, argc, argv);
}

int command_drop(struct context *context, int argc, char **argv)
{
    static const struct word word = {"drop MESSAGE... [--why TEXT]\n"
                                     "Takes each back for good: it is never sent.",
                                     "will never be sent.", act_drop};
    return parse_and_run(context, &word, argc, argv);
}

int command_told(struct context *context, int argc, char **argv)
{
    static const struct word word = {
        "told MESSAGE...\n"
        "For what goes by hand: you told the customer, and it counts as sent.",
        "counts as told.", act_told};
    return parse_and_run(context, &word, argc, argv);
}

static bool is_unsure(const struct bl_message_row *row, GError **error)
{
    if (row->state == BL_UNSURE) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                "message #%" G_GINT64_FORMAT " is %s, not unsure: nothing to settle", row->id,
                bl_state_name(row->state));
    return false;
}

static bool act_sent(struct context *context, const struct bl_message_row *row, const char *why,
                     GError **error)
{
    return is_unsure(row, error) &&
           change(context, row, BL_SENT, why ? why : "the owner says it arrived", error);
}

static bool act_resend(struct context *context, const struct bl_message_row *row,
                       const char *why, GError **error)
{
    return is_unsure(row, error) && change(context, row, BL_PLANNED,
                                           why ? why : "sent again on the owner's word", error);
}

static bool act_give_up(struct context *context, const struct bl_message_row *row,
                        const char *why, GError **error)
{
    return is_unsure(row, error) && act_drop(context, row, why, error);
}

int command_settle(struct context *context, int argc, char **argv)
{
    static const char usage[] =
        "settle MESSAGE sent|resend|drop\n"
        "Nobody knows whether an unsure message arrived. You say: it did (sent), send it again\n"
        "(resend), or never send it (drop).";
    static const struct {
        const char *name;
        struct word word;
    } answers[] = {
        {"sent", {usage, "counts as sent.", act_sent}},
        {"resend", {usage, "goes again under the same key.", act_resend}},
        {"drop", {usage, "will not be sent again.", act_give_up}},
    };
    if (!context_parse(context, NULL, usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc != 3) {
        return context_misused("name one message and say sent, resend or drop", usage);
    }
    for (gsize i = 0; i < G_N_ELEMENTS(answers); i++) {
        if (strcmp(argv[2], answers[i].name) == 0) {
            char *names[] = {argv[1], NULL};
            return run_word(context, &answers[i].word, names, NULL);
        }
    }
    return context_misused("say what became of it: sent, resend or drop", usage);
}
