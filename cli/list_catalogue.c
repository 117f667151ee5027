/* beadline list products, list packages: the owner's own catalogue, as `add job` takes it. */
#include <math.h>
#include <stdio.h>

#include "json.h"
#include "list.h"
#include "say.h"
#include "table.h"
#include "treat.h"

static void product_json(const struct bl_rule *rule, const struct bl_learned *learned,
                         const char *title)
{
    struct json json;
    json_begin(&json);
    json_text(&json, "product", rule->product);
    json_text(&json, "title", title);
    json_text(&json, "surface", bl_surface_name(rule->surface));
    json_text(&json, "role", bl_role_name(rule->role));
    json_text(&json, "again", bl_again_name(rule->again));
    json_pair(&json, "wash_days", rule->cure.wash_days);
    json_pair(&json, "life_days", rule->wear.life_days);
    json_date(&json, "learned_on", learned ? learned->date : BL_NO_DATE);
    json_number(&json, "share", rule->wear.share);
    json_number(&json, "km_a_year", rule->wear.km_a_year);
    json_pair(&json, "limits", rule->wear.limits);
    json_end(&json);
}

int list_products(struct context *context, int argc, char **argv)
{
    static const char usage[] = "list products";
    static const char *const titles[] = {"=product",    "title",  "surface",  "role",
                                         "=wash after", "=lasts", "again by", NULL};
    GError *error = NULL;
    if (!context_parse(context, NULL, usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 1) {
        return context_misused("too many words", usage);
    }
    if (!context_world(context, &error)) {
        return context_fail(error);
    }
    BL_AUTO(table) *table = table_new(titles);
    const char *const *products = bl_catalogue_products(context->world->catalogue);
    for (guint i = 0; products[i]; i++) {
        const struct bl_rule *rule = bl_catalogue_rule(context->world->catalogue, products[i]);
        const char *title = bl_rule_title(rule, context->world->settings->shop.language);
        g_autofree char *wash = say_life(rule->cure.wash_days);
        const struct bl_learned *learned =
            bl_catalogue_learned(context->world->catalogue, products[i]);
        g_autofree char *days = say_life(rule->wear.life_days);
        g_autofree char *life = g_strconcat(days, learned ? ", learned" : "", NULL);
        const char *const cells[] = {
            rule->product, title, bl_surface_name(rule->surface), bl_role_name(rule->role),
            wash,          life,  bl_again_name(rule->again)};
        if (context->json) {
            product_json(rule, learned, title);
        } else {
            table_row(table, cells);
        }
    }
    if (!context->json) {
        table_print(table, 0);
    }
    return DONE;
}

/* The package's treatments as they would be typed, NULL-terminated. */
static GPtrArray *words_of(const struct bl_catalogue *catalogue,
                           const struct bl_package *package)
{
    GPtrArray *words = g_ptr_array_new_with_free_func(g_free);
    for (guint i = 0; i < package->items->len; i++) {
        const struct bl_package_item *item =
            &g_array_index(package->items, struct bl_package_item, i);
        g_ptr_array_add(words, treat_spell(bl_catalogue_rule(catalogue, item->product),
                                           item->surface, item->part, item->coats));
    }
    g_ptr_array_add(words, NULL);
    return words;
}

static void package_json(const struct bl_package *package, const GPtrArray *words)
{
    struct json json;
    json_begin(&json);
    json_text(&json, "package", package->key);
    json_text(&json, "title", package->title);
    json_texts(&json, "treatments", (const char *const *)words->pdata);
    json_end(&json);
}

int list_packages(struct context *context, int argc, char **argv)
{
    static const char usage[] = "list packages";
    static const char *const titles[] = {"=package", "title", "~treatments", NULL};
    GError *error = NULL;
    if (!context_parse(context, NULL, usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 1) {
        return context_misused("too many words", usage);
    }
    if (!context_world(context, &error)) {
        return context_fail(error);
    }
    const struct bl_catalogue *catalogue = context->world->catalogue;
    const char *const *packages = bl_catalogue_packages(catalogue);
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; packages[i]; i++) {
        const struct bl_package *package = bl_catalogue_package(catalogue, packages[i]);
        g_autoptr(GPtrArray) words = words_of(catalogue, package);
        g_autofree char *line = g_strjoinv(" ", (char **)words->pdata);
        const char *const cells[] = {package->key, package->title, *line ? line : "a wash"};
        if (context->json) {
            package_json(package, words);
        } else {
            table_row(table, cells);
        }
    }
    if (!context->json) {
        table_print(table, 0);
    }
    return DONE;
}
