/*
 * beadline learn: how long the products last on this owner's cars, from what he saw of them. It
 * proposes; what he adopts is written into a file of the catalogue.
 */
#include "learn.h"

#include <stdio.h>
#include <string.h>

#include "beadline/text.h"
#include "command.h"
#include "say.h"

static const char usage[] =
    "learn [PRODUCT] [--adopt]\n"
    "Works out how long a product lasts with you, from what you saw of it: inspections (beading,\n"
    "came back after decontamination, gone), and what was put on again. What was stripped unseen\n"
    "says nothing. It takes five treatments that were looked at, and one that was alive later\n"
    "than another was over.\n"
    "Days are the label's: at its reference distance, without care. The label's life stands until\n"
    "you say --adopt: then the proposed one is written into learned.conf in the catalogue's folder.\n"
    "\n"
    "  beadline add event \"AB12 CDE\" inspection --surface wheels --finding beading\n"
    "  beadline learn\n"
    "  beadline learn wheel-spray --adopt";

/* What was seen on all cars: product -> struct bl_observed. */
static bool observe_all(struct context *context, GHashTable *seen, GError **error)
{
    g_autoptr(GArray) customers = bl_customer_list(context->store, error);
    for (guint i = 0; customers && i < customers->len; i++) {
        int64_t id = g_array_index(customers, struct bl_customer_row, i).id;
        struct bl_facts facts;
        bl_facts_init(&facts);
        bool read = bl_pass_facts(context->pass, id, &facts, error);
        g_autoptr(GArray) observed = g_array_new(FALSE, FALSE, sizeof(struct bl_observed));
        for (guint c = 0; read && c < facts.cars->len; c++) {
            bl_learn_observe(&g_array_index(facts.cars, struct bl_car, c),
                             &context->world->settings->shop, context->now, NULL, observed);
        }
        for (guint o = 0; o < observed->len; o++) {
            const struct bl_observed *one = &g_array_index(observed, struct bl_observed, o);
            GArray *list = g_hash_table_lookup(seen, one->rule->product);
            if (list) {
                g_array_append_vals(list, one, 1);
            }
        }
        bl_facts_clear(&facts);
        if (!read) {
            return false;
        }
    }
    return customers != NULL;
}

static void free_array(gpointer array)
{
    g_array_unref(array);
}

/* The lessons (struct learning) of all products that have a life, in the order of names. */
static GArray *learn_all(struct context *context, GError **error)
{
    const struct bl_catalogue *catalogue = context->world->catalogue;
    const char *const *products = bl_catalogue_products(catalogue);
    g_autoptr(GHashTable) seen =
        g_hash_table_new_full(g_str_hash, g_str_equal, NULL, free_array);
    for (guint i = 0; products[i]; i++) {
        g_hash_table_insert(seen, (gpointer)products[i],
                            g_array_new(FALSE, FALSE, sizeof(struct bl_observed)));
    }
    if (!observe_all(context, seen, error)) {
        return NULL;
    }
    GArray *lessons = g_array_new(FALSE, TRUE, sizeof(struct learning));
    for (guint i = 0; products[i]; i++) {
        struct learning learning = {.rule = bl_catalogue_rule(catalogue, products[i]),
                                    .adopted = bl_catalogue_learned(catalogue, products[i])};
        bl_learn_draw(g_hash_table_lookup(seen, products[i]), &learning.lesson);
        g_array_append_val(lessons, learning);
    }
    return lessons;
}

/* The product as typed, which must be in the catalogue and have a life. */
static bool known_product(const struct context *context, const char *typed, GError **error)
{
    const struct bl_catalogue *catalogue = context->world->catalogue;
    const struct bl_rule *rule = bl_catalogue_rule(catalogue, typed);
    g_autofree char *shown = bl_text_printable(typed);
    if (rule && rule->wear.life_days[0] > 0) {
        return true;
    }
    const char *near = bl_text_nearest(typed, bl_catalogue_products(catalogue));
    if (rule) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "\"%s\" has no life of its own in the catalogue: give it wear = { "
                    "life_days = [..., ...]; } first",
                    shown);
    } else {
        g_set_error(error, BL_ERROR, BL_ERROR_MISSING, "there is no product \"%s\"%s%s%s",
                    shown, near ? ": did you mean \"" : "; see beadline list products",
                    near ? near : "", near ? "\"?" : "");
    }
    return false;
}

static void show_all(const struct context *context, const GArray *lessons)
{
    BL_AUTO(table) *table = table_new(learn_titles);
    for (guint i = 0; i < lessons->len; i++) {
        const struct learning *learning = &g_array_index(lessons, struct learning, i);
        if (learning->lesson.observed == 0) {
            continue;
        }
        if (context->json) {
            learn_json(context, learning, NULL);
        }
        learn_row(learning, table);
    }
    if (context->json) {
        return;
    }
    if (table_empty(table)) {
        puts("Nothing was looked at yet. Write down what you see when a car comes back:\n"
             "  beadline add event CAR inspection --surface wheels --finding beading");
        return;
    }
    table_print(table, 0);
}

/* What was adopted stands in the catalogue's own file, unless its owner put it elsewhere. */
static bool may_adopt(const struct learning *learning, GError **error)
{
    g_autofree char *missing = learn_missing(learning);
    if (missing || !learning->lesson.usable) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "nothing to adopt for \"%s\", the life it has stands: %s",
                    learning->rule->product,
                    missing ? missing : "a rule's life is 0.25 to 36525 days");
        return false;
    }
    if (learning->adopted && strcmp(learning->adopted->file, BL_LEARNED_FILE) != 0) {
        g_set_error(
            error, BL_ERROR, BL_ERROR_REFUSED,
            "a life learned of \"%s\" stands in \"%s\" already: take it out there first",
            learning->rule->product, learning->adopted->file);
        return false;
    }
    return true;
}

/* The same life by the same looks. */
static bool stands_already(const struct learning *learning)
{
    g_autofree char *basis = learn_basis(learning);
    return learn_adopted(learning) && strcmp(learning->adopted->basis, basis) == 0;
}

/* Writes the file anew, whole or not at all, for its owner's eyes only; what it says already is
 * left as it is. */
static bool adopt(const struct context *context, const struct learning *learning, char **path,
                  GError **error)
{
    const struct bl_settings *settings = context->world->settings;
    if (!may_adopt(learning, error)) {
        return false;
    }
    *path = g_build_filename(settings->catalogue, BL_LEARNED_FILE, NULL);
    if (stands_already(learning)) {
        return true;
    }
    g_autofree char *basis = learn_basis(learning);
    const struct bl_learned life = {
        .product = learning->rule->product,
        .life_days = {learning->lesson.life_days[0], learning->lesson.life_days[1]},
        .date = bl_zone_date(settings->shop.zone, context->now),
        .basis = basis,
    };
    g_autofree char *text = bl_catalogue_learn(context->world->catalogue, &life);
    g_autoptr(GError) why = NULL;
    if (!g_file_set_contents_full(*path, text, -1,
                                  G_FILE_SET_CONTENTS_CONSISTENT | G_FILE_SET_CONTENTS_DURABLE,
                                  0600, &why)) {
        g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "\"%s\" cannot be written: %s", *path,
                    why->message);
        return false;
    }
    return true;
}

static void print_adoption(const struct learning *learning, const char *path)
{
    const char *product = learning->rule->product;
    g_autofree char *before = say_life(learning->rule->wear.life_days);
    g_autofree char *after = say_life(learning->lesson.life_days);
    g_autofree char *file = bl_text_printable(path);
    if (stands_already(learning)) {
        printf("Nothing changed: %s lasts %s already, as adopted before in %s.\n", product,
               after, file);
        return;
    }
    if (learn_adopted(learning)) {
        printf("%s lasts %s as before; what that rests on now is written into %s.\n", product,
               after, file);
        return;
    }
    if (strcmp(before, after) == 0) {
        printf("%s lasts %s, as before: now learned, and written into %s.\n", product, after,
               file);
    } else {
        printf("%s now lasts %s, not %s: written into %s.\n", product, after, before, file);
    }
    puts("The service goes by it when it reads its files again (SIGHUP, or a restart).");
}

static bool show_one(const struct context *context, const GArray *lessons, const char *product,
                     bool adopting, GError **error)
{
    const struct learning *learning = &g_array_index(lessons, struct learning, 0);
    g_autofree char *path = NULL;
    while (strcmp(learning->rule->product, product) != 0) {
        learning++;
    }
    if (adopting && !adopt(context, learning, &path, error)) {
        return false;
    }
    if (context->json) {
        learn_json(context, learning, path);
    } else if (adopting) {
        print_adoption(learning, path);
    } else {
        learn_print(context, learning);
    }
    return true;
}

static bool learn(struct context *context, const char *product, bool adopting, GError **error)
{
    if (!context_world(context, error) ||
        (product && !known_product(context, product, error)) ||
        !context_write(context, error)) {
        return false;
    }
    g_autoptr(GArray) lessons = learn_all(context, error);
    bl_store_rollback(context->store);
    if (!lessons) {
        return false;
    }
    if (product) {
        return show_one(context, lessons, product, adopting, error);
    }
    show_all(context, lessons);
    return true;
}

int command_learn(struct context *context, int argc, char **argv)
{
    gboolean adopting = FALSE;
    const GOptionEntry entries[] = {
        {"adopt", 0, 0, G_OPTION_ARG_NONE, &adopting, "Take the proposed life", NULL},
        {0},
    };
    GError *error = NULL;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 2) {
        return context_misused("name one product, or none", usage);
    }
    if (adopting && argc < 2) {
        return context_misused("name the product whose life you adopt", usage);
    }
    return learn(context, argv[1], adopting, &error) ? DONE : context_fail(error);
}
