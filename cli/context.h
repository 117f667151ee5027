/*
 * What a command works with: the options that stand before or after every command, and the
 * world, the store and a pass that never sends, each opened when it is first asked for.
 *
 * A command that shows first brings the plan up to date inside a transaction (context_look);
 * the result is kept only when it is today's plan, that is without --now and with a trusted
 * clock. A command that writes facts does so in a transaction of its own (context_write ...
 * context_keep) and shows what follows from them by bl_pass_look; the dues and messages are the
 * next pass's.
 */
#ifndef BEADLINE_CLI_CONTEXT_H
#define BEADLINE_CLI_CONTEXT_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/error.h"
#include "beadline/ledger.h"
#include "beadline/pass.h"
#include "beadline/records.h"
#include "beadline/store.h"
#include "beadline/world.h"

struct context {
    char *settings_file; /* NULL: the usual place */
    char *now_text;      /* --now as typed, or NULL */
    gboolean json;
    struct bl_world *world;
    struct bl_store *store;
    struct bl_pass *pass;
    int64_t now; /* one instant for the whole command */
    int64_t false_now;
};

/* Exit statuses of every command. */
enum { DONE = 0, REFUSED = 1, WRONG_USAGE = 2 };

/* Where the settings are: --settings, else $BEADLINE_SETTINGS, else beadline/beadline.conf
 * below the user's configuration folder. Owned by context. */
const char *context_settings_file(struct context *context);

/* Each opens what it needs first. Faults of the files are printed; error then says how many. */
bool context_world(struct context *context, GError **error);
bool context_store(struct context *context, GError **error);

/* Begins a transaction and brings the plan up to date in it. */
bool context_look(struct context *context, GError **error);

/* Begins a transaction for writing facts; the plan is not touched. */
bool context_write(struct context *context, GError **error);

/* Ends the transaction: context_keep commits what was written, context_shown commits a plan
 * that is today's and rolls back any other. */
bool context_keep(struct context *context, GError **error);
bool context_shown(struct context *context, GError **error);

void context_close(struct context *context);

/* Parses a command's own options and the common ones; usage is "NAME [--part TEXT]" and so on,
 * and may have lines after the first that teach: they stand in the help only.
 * Words are left in argv[1..argc-1]. false: the error was printed, return WRONG_USAGE. */
bool context_parse(struct context *context, const GOptionEntry *entries, const char *usage,
                   int *argc, char ***argv);

/* Prints "beadline: TEXT" on standard error, frees error, and returns REFUSED. */
int context_fail(GError *error);

/* Prints "beadline: TEXT; usage: beadline USAGE" and returns WRONG_USAGE. */
int context_misused(const char *text, const char *usage);

#endif
