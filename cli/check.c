/* beadline check: every fault of every file at once, and the database looked through. */
#include <stdio.h>

#include "beadline/clock.h"
#include "beadline/letterbook.h"
#include "command.h"
#include "json.h"

#define USAGE "check"

static void print_fault(const struct context *context, const char *line)
{
    struct json json;
    if (!context->json) {
        puts(line);
        return;
    }
    json_begin(&json);
    json_text(&json, "fault", line);
    json_end(&json);
}

/* The secrets are read too: a gateway that cannot log in is a fault better found today. */
static void check_gateways(const struct context *context, struct bl_faults *faults)
{
    g_autoptr(GError) error = NULL;
    BL_AUTO(bl_sender) *sender = bl_sender_new(context->world->settings->gateways, &error);
    if (!sender) {
        bl_faults_add(faults, context->world->settings->file, 0, "%s", error->message);
    }
}

static void add_texts(struct bl_faults *faults, const char *file, GPtrArray *texts)
{
    for (guint i = 0; texts && i < texts->len; i++) {
        bl_faults_add(faults, file, 0, "%s", (const char *)g_ptr_array_index(texts, i));
    }
}

/* The file itself, then the rows in it that nobody can use. */
static void check_database(struct context *context, struct bl_faults *faults)
{
    const char *file = context->world->settings->database;
    GError *error = NULL;
    if (!context_store(context, &error) || !bl_store_check(context->store, &error)) {
        bl_faults_add(faults, file, 0, "%s", error->message);
        g_error_free(error);
        return;
    }
    g_autoptr(GPtrArray) skipped = bl_skipped_list(context->store, NULL);
    g_autoptr(GPtrArray) orphans = bl_store_orphans(context->store, NULL);
    add_texts(faults, file, skipped);
    add_texts(faults, file, orphans);
}

static void say_well(struct context *context)
{
    const struct bl_settings *settings = context->world->settings;
    const char *why = NULL;
    printf("All is well: settings, %u products, templates, %u gateway%s and the database.\n",
           g_strv_length((char **)bl_catalogue_products(context->world->catalogue)),
           settings->gateways->len, settings->gateways->len == 1 ? "" : "s");
    if (!bl_pass_trusted(context->pass, &why)) {
        printf("But nothing would be sent now: %s.\n", why);
    }
}

int command_check(struct context *context, int argc, char **argv)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    if (!context_parse(context, NULL, USAGE, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 1) {
        return context_misused("takes no words", USAGE);
    }
    context->world = bl_world_load(context_settings_file(context), faults);
    if (context->world) {
        check_gateways(context, faults);
        check_database(context, faults);
    }
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        print_fault(context, bl_faults_line(faults, i));
    }
    if (!context->world || bl_faults_count(faults) > 0) {
        return REFUSED;
    }
    if (!context->json) {
        say_well(context);
    }
    return DONE;
}
