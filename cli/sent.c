/* beadline sent: what went out, and what became of all that did not. */
#include <stdio.h>

#include "command.h"
#include "messages.h"

#define USAGE                                                                                  \
    "sent [--days N] [--all]\n"                                                                \
    "What went out in the last 30 days, the newest first, and how it ended."

static const guint gone =
    1u << BL_SENT | 1u << BL_DELIVERED | 1u << BL_FAILED | 1u << BL_UNSURE;
static const guint not_sent = 1u << BL_LAPSED | 1u << BL_WITHDRAWN;

static bool show_sent(struct context *context, int days, bool all, GError **error)
{
    if (!context_look(context, error)) {
        return false;
    }
    guint states = all ? gone | not_sent : gone;
    g_autoptr(GArray) rows =
        messages_of(context, states, 0, context->now - days * BL_DAY, error);
    if (!rows) {
        bl_store_rollback(context->store);
        return false;
    }
    if (rows->len == 0 && !context->json) {
        printf("Nothing went out in the last %d days.\n", days);
    } else {
        messages_print(context, rows, MESSAGES_GONE, 0);
    }
    return context_shown(context, error);
}

int command_sent(struct context *context, int argc, char **argv)
{
    int days = 30;
    gboolean all = FALSE;
    const GOptionEntry entries[] = {
        {"days", 0, 0, G_OPTION_ARG_INT, &days, "The last N days (30)", "N"},
        {"all", 0, 0, G_OPTION_ARG_NONE, &all, "Also what lapsed or was withdrawn, and why",
         NULL},
        {0},
    };
    GError *error = NULL;
    if (!context_parse(context, entries, USAGE, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 1 || days < 1 || days > 36500) {
        return context_misused("takes no words, and days from 1 to 36500", USAGE);
    }
    return show_sent(context, days, all, &error) ? DONE : context_fail(error);
}
