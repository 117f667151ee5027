/*
 * Opening what a command needs, and ending it well.
 */
#include "context.h"

#include <stdio.h>
#include <string.h>

#include "beadline/text.h"

#define WAIT_MS      5000
#define PLAN_AT_ONCE 1000

const char *context_settings_file(struct context *context)
{
    if (!context->settings_file) {
        const char *named = g_getenv("BEADLINE_SETTINGS");
        context->settings_file = named ? g_strdup(named)
                                       : g_build_filename(g_get_user_config_dir(), "beadline",
                                                          "beadline.conf", NULL);
    }
    return context->settings_file;
}

bool context_world(struct context *context, GError **error)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    if (context->world) {
        return true;
    }
    if (!g_file_test(context_settings_file(context), G_FILE_TEST_EXISTS)) {
        g_set_error(
            error, BL_ERROR, BL_ERROR_MISSING,
            "no settings at \"%s\": \"beadline init\" makes a shop's folder, --settings "
            "names another file",
            context_settings_file(context));
        return false;
    }
    context->world = bl_world_load(context_settings_file(context), faults);
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        fprintf(stderr, "%s\n", bl_faults_line(faults, i));
    }
    if (!context->world) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "%u fault%s in the files above: mend %s first", bl_faults_count(faults),
                    bl_faults_count(faults) == 1 ? "" : "s",
                    bl_faults_count(faults) == 1 ? "it" : "them");
    }
    return context->world != NULL;
}

static bool read_now(struct context *context, GError **error)
{
    const struct bl_clock machine = bl_clock_machine();
    context->now = machine.now(machine.context);
    if (!context->now_text) {
        return true;
    }
    return bl_at_parse(context->world->settings->shop.zone, context->now_text, context->now,
                       &context->now, error);
}

bool context_store(struct context *context, GError **error)
{
    if (context->store) {
        return true;
    }
    if (!context_world(context, error) || !read_now(context, error)) {
        return false;
    }
    context->store = bl_store_open(context->world->settings->database, error);
    if (!context->store) {
        return false;
    }
    context->false_now = context->now;
    const struct bl_pass_setup setup = {
        .store = context->store,
        .world = context->world,
        .clock = context->now_text ? bl_clock_false(&context->false_now) : bl_clock_machine(),
        .chance = bl_chance_machine(),
        .rehearsed = context->now_text != NULL,
    };
    context->pass = bl_pass_new(&setup);
    return true;
}

bool context_write(struct context *context, GError **error)
{
    if (!context_store(context, error) || !bl_store_begin(context->store, WAIT_MS, error)) {
        return false;
    }
    if (bl_pass_adopt(context->pass, false, error)) {
        return true;
    }
    bl_store_rollback(context->store);
    return false;
}

bool context_look(struct context *context, GError **error)
{
    bool more = true;
    if (!context_write(context, error)) {
        return false;
    }
    while (more) {
        if (!bl_pass_plan(context->pass, context->now, PLAN_AT_ONCE, &more, error)) {
            bl_store_rollback(context->store);
            return false;
        }
    }
    return true;
}

bool context_keep(struct context *context, GError **error)
{
    if (bl_store_commit(context->store, error)) {
        return true;
    }
    bl_store_rollback(context->store);
    return false;
}

bool context_shown(struct context *context, GError **error)
{
    if (!context->now_text && bl_pass_trusted(context->pass, NULL)) {
        return context_keep(context, error);
    }
    bl_store_rollback(context->store);
    return true;
}

void context_close(struct context *context)
{
    bl_pass_free(context->pass);
    bl_store_close(context->store);
    bl_world_free(context->world);
    g_free(context->settings_file);
    g_free(context->now_text);
}

bool context_parse(struct context *context, const GOptionEntry *entries, const char *usage,
                   int *argc, char ***argv)
{
    g_autofree char *settings_file = NULL;
    g_autofree char *now_text = NULL;
    gboolean json = FALSE;
    const GOptionEntry common[] = {
        {"settings", 0, 0, G_OPTION_ARG_FILENAME, &settings_file, "The settings", "FILE"},
        {"now", 0, 0, G_OPTION_ARG_STRING, &now_text, "Act as if it were TIME", "TIME"},
        {"json", 0, 0, G_OPTION_ARG_NONE, &json, "One JSON object a line", NULL},
        {0},
    };
    g_autoptr(GError) error = NULL;
    g_auto(GStrv) lines = g_strsplit(usage, "\n", 2);
    g_autoptr(GOptionContext) options = g_option_context_new(lines[0]);
    g_option_context_set_summary(options, lines[1]);
    if (entries) {
        g_option_context_add_main_entries(options, entries, NULL);
    }
    g_option_context_add_main_entries(options, common, NULL);
    if (!g_option_context_parse(options, argc, argv, &error)) {
        context_misused(error->message, usage);
        return false;
    }
    if (settings_file) {
        g_free(context->settings_file);
        context->settings_file = g_steal_pointer(&settings_file);
    }
    if (now_text) {
        g_free(context->now_text);
        context->now_text = g_steal_pointer(&now_text);
    }
    context->json = context->json || json;
    return true;
}

int context_fail(GError *error)
{
    g_autofree char *text = bl_text_printable(error->message);
    fprintf(stderr, "beadline: %s\n", text);
    g_error_free(error);
    return REFUSED;
}

int context_misused(const char *text, const char *usage)
{
    g_autofree char *safe = bl_text_printable(text);
    fprintf(stderr, "beadline: %s; usage: beadline %.*s\n", safe, (int)strcspn(usage, "\n"),
            usage);
    return WRONG_USAGE;
}
