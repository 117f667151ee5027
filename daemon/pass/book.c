/*
 * The rule book: the store keeps every version of a rule it was given; planning wants the one
 * that counts. A treatment follows its product: the catalogue's rule while the product is
 * there, else the last one it had there.
 */
#include <string.h>

#include "pass_inside.h"

struct entry {
    const struct bl_rule *rule; /* the catalogue's or own; NULL unreadable */
    struct bl_rule *own;
    int64_t counts; /* the version whose rule this is */
};

static void entry_free(gpointer data)
{
    struct entry *entry = data;
    bl_rule_free(entry->own);
    g_free(entry);
}

void pass_book_init(struct bl_pass *pass)
{
    pass->book = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, entry_free);
    pass->current = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
}

void pass_book_clear(struct bl_pass *pass)
{
    g_hash_table_destroy(pass->book);
    g_hash_table_destroy(pass->current);
}

bool pass_book_adopt(struct bl_pass *pass, int64_t now, char **digest, GError **error)
{
    const struct bl_world *world = pass->with.world;
    g_autoptr(GChecksum) sum = g_checksum_new(G_CHECKSUM_SHA256);
    g_autofree char *shop = bl_settings_fingerprint(world->settings);
    g_checksum_update(sum, (const guchar *)shop, -1);

    const char *const *products = bl_catalogue_products(world->catalogue);
    for (guint i = 0; products[i]; i++) {
        g_autofree char *text = bl_rule_write(bl_catalogue_rule(world->catalogue, products[i]));
        int64_t *version = g_new(int64_t, 1);
        g_hash_table_replace(pass->current, g_strdup(products[i]), version);
        if (!bl_rule_version(pass->with.store, products[i], text, now, version, error)) {
            return false;
        }
        g_checksum_update(sum, (const guchar *)text, -1);
    }
    g_hash_table_remove_all(pass->book);
    *digest = g_strdup(g_checksum_get_string(sum));
    return true;
}

/* Of a product that is gone from the catalogue. The entry stays without a rule when its last
 * version cannot be read. */
static void read_last(struct bl_pass *pass, const char *product, struct entry *entry)
{
    g_autofree char *same = NULL;
    g_autofree char *text = NULL;
    if (bl_rule_last(pass->with.store, product, &entry->counts, NULL) &&
        bl_rule_text(pass->with.store, entry->counts, &same, &text, NULL)) {
        entry->own = bl_rule_read(text, NULL);
        entry->rule = entry->own;
    }
}

static struct entry *entry_read(struct bl_pass *pass, int64_t id)
{
    struct entry *entry = g_new0(struct entry, 1);
    g_autofree char *product = NULL;
    g_autofree char *text = NULL;
    g_autoptr(GError) error = NULL;
    entry->counts = id;
    if (!bl_rule_text(pass->with.store, id, &product, &text, &error)) {
        return entry;
    }
    const int64_t *current = g_hash_table_lookup(pass->current, product);
    if (current) {
        entry->counts = *current;
        entry->rule = bl_catalogue_rule(pass->with.world->catalogue, product);
    } else {
        read_last(pass, product, entry);
    }
    return entry;
}

static struct entry *entry_of(struct bl_pass *pass, int64_t id)
{
    struct entry *entry = g_hash_table_lookup(pass->book, &id);
    if (!entry) {
        entry = entry_read(pass, id);
        g_hash_table_insert(pass->book, g_memdup2(&id, sizeof id), entry);
    }
    return entry;
}

static const struct bl_rule *rule_of(void *self, int64_t id)
{
    return entry_of(self, id)->rule;
}

/* A channel that no gateway carries is no route: the customer is planned as if without it. */
static void drop_uncarried(const struct bl_settings *settings, struct bl_customer *customer)
{
    if (settings->carries[BL_SMS] < 0) {
        g_clear_pointer(&customer->phone, g_free);
    }
    if (settings->carries[BL_MAIL] < 0) {
        g_clear_pointer(&customer->mail, g_free);
    }
}

bool bl_pass_facts(struct bl_pass *pass, int64_t customer, struct bl_facts *facts,
                   GError **error)
{
    const struct bl_rule_book book = {rule_of, pass};
    if (!bl_store_facts(pass->with.store, customer, &book, facts, error)) {
        return false;
    }
    for (guint c = 0; c < facts->cars->len; c++) {
        GArray *treatments = g_array_index(facts->cars, struct bl_car, c).treatments;
        for (guint t = 0; t < treatments->len; t++) {
            struct bl_treatment *treatment = &g_array_index(treatments, struct bl_treatment, t);
            treatment->rule_id = entry_of(pass, treatment->rule_id)->counts;
        }
    }
    drop_uncarried(pass->with.world->settings, &facts->customer);
    return true;
}
