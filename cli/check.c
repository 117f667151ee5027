/* beadline check: every fault of every file at once, and the database looked through. */
#include <stdio.h>
#include <string.h>

#include "beadline/clock.h"
#include "beadline/letterbook.h"
#include "command.h"
#include "json.h"
#include "report.h"

#define USAGE                                                                                  \
    "check\n"                                                                                  \
    "Reads settings, catalogue, templates and database, and prints every fault with its place."

/* "file:line: text" in its parts; file NULL: the fault has no place. */
struct place {
    char *file;
    gint64 line; /* 0 none */
    const char *text;
};

static void place_of(const char *fault, struct place *place)
{
    const char *end = strstr(fault, ": ");
    g_autofree char *file = end ? g_strndup(fault, (gsize)(end - fault)) : NULL;
    char *colon = file ? strrchr(file, ':') : NULL;
    guint64 line = 0;
    *place = (struct place){.text = fault};
    if (colon && g_ascii_string_to_unsigned(colon + 1, 10, 1, G_MAXINT, &line, NULL)) {
        *colon = '\0';
    }
    if (file && (line > 0 || strchr(file, '/') || g_file_test(file, G_FILE_TEST_EXISTS))) {
        *place = (struct place){g_steal_pointer(&file), (gint64)line, end + 2};
    }
}

static void print_fault(const struct context *context, const char *fault)
{
    struct place place;
    struct json json;
    if (!context->json) {
        puts(fault);
        return;
    }
    place_of(fault, &place);
    json_begin(&json);
    json_text(&json, "file", place.file);
    if (place.line > 0) {
        json_whole(&json, "line", place.line);
    } else {
        json_text(&json, "line", NULL);
    }
    json_text(&json, "fault", place.text);
    json_end(&json);
    g_free(place.file);
}

/* The secrets are read too: a gateway that cannot log in is a fault better found today. */
static void check_gateways(const struct bl_settings *settings, struct bl_faults *faults)
{
    g_autoptr(GError) error = NULL;
    BL_AUTO(bl_sender) *sender = bl_sender_new(settings->gateways, &error);
    if (!sender) {
        bl_faults_add(faults, settings->file, 0, "%s", error->message);
    }
}

static void add_texts(struct bl_faults *faults, const char *file, GPtrArray *texts)
{
    for (guint i = 0; texts && i < texts->len; i++) {
        bl_faults_add(faults, file, 0, "%s", (const char *)g_ptr_array_index(texts, i));
    }
}

/* Products that are on cars and not in the catalogue any more: no fault, an owner may stop
 * using one, but a slip of the editor looks the same. */
static void note_gone(struct bl_store *store, const struct bl_catalogue *catalogue,
                      GPtrArray *notes)
{
    g_autoptr(GArray) used = bl_products_used(store, NULL);
    for (guint i = 0; used && i < used->len; i++) {
        const struct bl_product_used *one = &g_array_index(used, struct bl_product_used, i);
        if (!bl_catalogue_rule(catalogue, one->product)) {
            bool single = one->treatments == 1;
            report_remark(
                notes,
                "product \"%s\" is not in the catalogue any more: %" G_GINT64_FORMAT
                " treatment%s on cars keep%s the last rule it had there; put it back, "
                "or leave it so",
                one->product, one->treatments, single ? "" : "s", single ? "s" : "");
        }
    }
}

/* The rows that nobody can use, and what is worth a word. */
static void check_rows(const char *file, const struct bl_catalogue *catalogue,
                       struct bl_faults *faults, GPtrArray *notes)
{
    g_autoptr(GError) error = NULL;
    BL_AUTO(bl_store) *store = bl_store_open(file, &error);
    if (!store || !bl_store_check(store, &error)) {
        bl_faults_add(faults, file, 0, "%s", error->message);
        return;
    }
    g_autoptr(GPtrArray) skipped = bl_skipped_list(store, NULL);
    g_autoptr(GPtrArray) orphans = bl_store_orphans(store, NULL);
    add_texts(faults, file, skipped);
    add_texts(faults, file, orphans);
    if (catalogue) {
        note_gone(store, catalogue, notes);
    }
}

/* What is in the file that is not ours first: with any of that it is not opened. */
static void check_database(const char *file, const struct bl_catalogue *catalogue,
                           struct bl_faults *faults, GPtrArray *notes)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(GPtrArray) strangers = bl_store_strangers(file, &error);
    if (!strangers) {
        bl_faults_add(faults, file, 0, "%s", error->message);
    } else if (strangers->len > 0) {
        add_texts(faults, file, strangers);
    } else {
        check_rows(file, catalogue, faults, notes);
    }
}

/* Reads everything that can be found; the world is the context's only without a fault. */
static void check_all(struct context *context, struct bl_faults *faults, GPtrArray *notes)
{
    BL_AUTO(bl_world) *world = bl_world_look(context_settings_file(context), faults);
    const struct bl_settings *settings = world->settings;
    bool well = bl_faults_count(faults) == 0;
    if (well) {
        check_gateways(settings, faults);
    }
    if (settings && settings->database) {
        check_database(settings->database, well ? world->catalogue : NULL, faults, notes);
    }
    if (well) {
        context->world = g_steal_pointer(&world);
    }
}

static void say_well(struct context *context, const GPtrArray *notes)
{
    const struct bl_settings *settings = context->world->settings;
    guint products = g_strv_length((char **)bl_catalogue_products(context->world->catalogue));
    const char *why = NULL;
    bool trusted = bl_pass_trusted(context->pass, &why);
    if (context->json) {
        struct json json;
        json_begin(&json);
        json_yes(&json, "well", true);
        json_whole(&json, "products", products);
        json_whole(&json, "gateways", settings->gateways->len);
        json_text(&json, "not_sending", trusted ? NULL : why);
        report_json(&json, notes);
        json_end(&json);
        return;
    }
    printf("All is well: settings, %u products, templates, %u gateway%s and the database.\n",
           products, settings->gateways->len, settings->gateways->len == 1 ? "" : "s");
    if (!trusted) {
        printf("But nothing would be sent now: %s.\n", why);
    }
    report_print(notes);
}

int command_check(struct context *context, int argc, char **argv)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    g_autoptr(GPtrArray) notes = report_remarks();
    GError *error = NULL;
    if (!context_parse(context, NULL, USAGE, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 1) {
        return context_misused("takes no words", USAGE);
    }
    check_all(context, faults, notes);
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        print_fault(context, bl_faults_line(faults, i));
    }
    if (bl_faults_count(faults) > 0) {
        if (!context->json) {
            report_print(notes);
        }
        return REFUSED;
    }
    if (!context_store(context, &error)) {
        return context_fail(error);
    }
    say_well(context, notes);
    return DONE;
}
