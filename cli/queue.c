/* beadline queue: what is going to be sent. */
#include <stdio.h>

#include "command.h"
#include "messages.h"

#define USAGE                                                                                  \
    "queue [--days N]\n"                                                                       \
    "What is going to be sent, in the order it goes, with what is held back and why."

static const guint waiting =
    1u << BL_PLANNED | 1u << BL_PAUSED | 1u << BL_CLAIMED | 1u << BL_UNSURE;

static bool show_queue(struct context *context, int days, GError **error)
{
    if (!context_look(context, error)) {
        return false;
    }
    int64_t before = days > 0 ? context->now + days * BL_DAY : 0;
    g_autoptr(GArray) rows = messages_of(context, waiting, before, 0, error);
    if (!rows) {
        bl_store_rollback(context->store);
        return false;
    }
    if (rows->len == 0 && !context->json) {
        puts(days > 0 ? "Nothing goes out in these days." : "Nothing is waiting to go out.");
    } else {
        messages_print(context, rows, MESSAGES_GOING, 0);
    }
    return context_shown(context, error);
}

int command_queue(struct context *context, int argc, char **argv)
{
    int days = 0;
    const GOptionEntry entries[] = {
        {"days", 0, 0, G_OPTION_ARG_INT, &days, "Only the next N days", "N"},
        {0},
    };
    GError *error = NULL;
    if (!context_parse(context, entries, USAGE, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 1 || days < 0 || days > 36500) {
        return context_misused("takes no words, and days from 1 to 36500", USAGE);
    }
    return show_queue(context, days, &error) ? DONE : context_fail(error);
}
