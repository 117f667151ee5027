/* Packages: named sets of treatments, read after all products are known. */
#include <libconfig.h>
#include <string.h>

#include "draft.h"

#define MOST_ITEMS 100

/* One package being read. */
struct reading {
    const struct bl_conf *conf;
    const char *subject;
    GHashTable *rules; /* NULL: some could not be read, so none is missed */
    struct bl_package *package;
};

static void clear_item(gpointer data)
{
    struct bl_package_item *item = data;
    g_free(item->product);
    g_free(item->part);
}

void package_free(struct bl_package *package)
{
    if (!package) {
        return;
    }
    g_free(package->key);
    g_free(package->title);
    g_array_unref(package->items);
    g_free(package);
}

void product_missing(const struct bl_conf *conf, const struct config_setting_t *place,
                     const char *subject, const char *product, GHashTable *rules)
{
    if (!rules) {
        return;
    }
    g_autofree const char **keys = (const char **)g_hash_table_get_keys_as_array(rules, NULL);
    g_autofree char *shown = bl_field_shown(product);
    g_autofree char *offer = bl_field_nearest(product, keys);
    bl_conf_fault(conf, place, "%sthere is no product \"%s\"%s", subject, shown, offer);
}

static void find_product(const struct reading *reading, const config_setting_t *place,
                         struct bl_package_item *item)
{
    const struct bl_rule *rule = item->product && reading->rules
                                     ? g_hash_table_lookup(reading->rules, item->product)
                                     : NULL;
    if (rule && item->surface == BL_SURFACES) {
        item->surface = rule->surface;
    }
    if (!rule && item->product) {
        product_missing(reading->conf, place, reading->subject, item->product, reading->rules);
    }
}

static bool same_place(const struct bl_package_item *a, const struct bl_package_item *b)
{
    return g_strcmp0(a->product, b->product) == 0 && a->surface == b->surface &&
           strcmp(a->part, b->part) == 0;
}

static void check_twice(const struct reading *reading, const config_setting_t *place,
                        const struct bl_package_item *item)
{
    const GArray *items = reading->package->items;
    for (guint i = 0; item->product && i < items->len; i++) {
        if (same_place(&g_array_index(items, struct bl_package_item, i), item)) {
            bl_conf_fault(reading->conf, place,
                          "%s\"%s\" is there twice on one surface: give it more coats instead",
                          reading->subject, item->product);
            return;
        }
    }
}

static void read_item(const struct reading *reading, const config_setting_t *element)
{
    struct bl_package_item item = {.surface = BL_SURFACES, .coats = 1};
    const char *product = bl_field_string(element);
    if (product) {
        item.product = g_strdup(product);
    } else if (config_setting_is_group(element)) {
        struct bl_fill fill = {.subject = reading->subject, .base = &item};
        fill.fields = package_fields(&fill.count);
        bl_conf_fill(reading->conf, element, "items[].", &fill);
    } else {
        bl_conf_fault(reading->conf, element,
                      "%s\"items\": each is a product's key or a group: { product = \"...\"; }",
                      reading->subject);
    }
    if (!item.part) {
        item.part = g_strdup("");
    }
    find_product(reading, element, &item);
    check_twice(reading, element, &item);
    g_array_append_val(reading->package->items, item);
}

static void read_items(const struct reading *reading, struct config_setting_t *group)
{
    const config_setting_t *list = config_setting_get_member(group, "items");
    if (!list || (!config_setting_is_list(list) && !config_setting_is_array(list)) ||
        config_setting_length(list) > MOST_ITEMS) {
        bl_conf_fault(
            reading->conf, list ? list : group,
            "%s\"items\" wants a list of products: items = ( \"...\" ), and items = ( "
            ") for a wash without treatments",
            reading->subject);
        return;
    }
    for (int i = 0; i < config_setting_length(list); i++) {
        read_item(reading, config_setting_get_elem(list, (unsigned)i));
    }
}

struct bl_package *package_read(const struct bl_conf *conf, struct config_setting_t *group,
                                GHashTable *rules)
{
    struct bl_package *package = g_new0(struct bl_package, 1);
    package->key = g_strdup(config_setting_name(group));
    package->items = g_array_new(FALSE, TRUE, sizeof(struct bl_package_item));
    g_array_set_clear_func(package->items, clear_item);
    g_autofree char *shown = bl_field_shown(package->key);
    g_autofree char *subject = g_strdup_printf("package \"%s\": ", shown);
    struct bl_fill fill = {.subject = subject, .base = package};
    fill.fields = package_fields(&fill.count);
    bl_conf_fill(conf, group, "", &fill);
    struct reading reading = {conf, subject, rules, package};
    read_items(&reading, group);
    return package;
}
