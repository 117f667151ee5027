/*
 * beadlined: the service. Reads finished jobs from the database, works out what is to be said
 * and when, says it, and sleeps until there is something to do.
 */
#include <glib.h>
#include <stdio.h>
#include <sys/prctl.h>
#include <sys/stat.h>

#include "beadline/settings.h"
#include "serve.h"

#define USAGE_STATUS 2

static int usage(const char *text)
{
    fprintf(stderr, "beadlined: %s; see beadlined --help\n", text);
    return USAGE_STATUS;
}

static void print_error(GError *error)
{
    fprintf(stderr, "beadlined: %s; see beadlined --help\n", error->message);
    g_error_free(error);
}

int main(int argc, char **argv)
{
    g_autofree char *settings_file = NULL;
    g_autofree char *now = NULL;
    gboolean until_idle = FALSE;
    gboolean version = FALSE;
    const GOptionEntry entries[] = {
        {"settings", 's', 0, G_OPTION_ARG_FILENAME, &settings_file, "The settings", "FILE"},
        {"until-idle", 0, 0, G_OPTION_ARG_NONE, &until_idle, "Do what is due now, then end",
         NULL},
        {"now", 0, 0, G_OPTION_ARG_STRING, &now,
         "Act as if it were TIME (with --until-idle, and only into folders)", "TIME"},
        {"version", 0, 0, G_OPTION_ARG_NONE, &version, "Print the version", NULL},
        {0},
    };
    g_autoptr(GOptionContext) context = g_option_context_new(NULL);
    GError *error = NULL;

    umask(077);
    prctl(PR_SET_DUMPABLE, 0); /* secrets stay out of core files and of other users' sight */
    g_option_context_set_summary(context, "Looks after cars when they have left the detailer.");
    g_option_context_add_main_entries(context, entries, NULL);
    if (!g_option_context_parse(context, &argc, &argv, &error)) {
        print_error(error);
        return USAGE_STATUS;
    }
    if (version) {
        puts("beadlined " BL_VERSION);
        return 0;
    }
    if (argc > 1) {
        return usage("takes no words, only options");
    }
    if (!settings_file) {
        return usage("--settings FILE is missing");
    }
    if (now && !until_idle) {
        return usage("--now goes with --until-idle");
    }
    const struct serve_options options = {
        .settings_file = settings_file, .until_idle = until_idle, .now = now};
    return serve(&options);
}
