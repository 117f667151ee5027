/* The catalogue as a whole: every file of a folder, first the products of all, then what names
 * them: packages, and lives learned. A file that cannot be read does not hide the faults of the
 * next. */
#include "beadline/catalogue.h"

#include <libconfig.h>
#include <string.h>

#include "draft.h"

#define MOST_KEY 60

struct bl_catalogue {
    GHashTable *rules;    /* key -> struct bl_rule * */
    GHashTable *packages; /* key -> struct bl_package * */
    GHashTable *learned;  /* product -> struct bl_learned * */
    char **products_sorted;
    char **packages_sorted;
};

/* One loading. */
struct loading {
    struct bl_catalogue *catalogue;
    GPtrArray *confs;   /* struct bl_conf *: every file that could be parsed */
    GHashTable *places; /* key -> the file it stands in */
    bool whole;         /* every file could be parsed */
};

static struct bl_catalogue *catalogue_new(void)
{
    struct bl_catalogue *catalogue = g_new0(struct bl_catalogue, 1);
    catalogue->rules =
        g_hash_table_new_full(g_str_hash, g_str_equal, NULL, (GDestroyNotify)bl_rule_free);
    catalogue->packages =
        g_hash_table_new_full(g_str_hash, g_str_equal, NULL, (GDestroyNotify)package_free);
    catalogue->learned =
        g_hash_table_new_full(g_str_hash, g_str_equal, NULL, (GDestroyNotify)learned_free);
    return catalogue;
}

void bl_catalogue_free(struct bl_catalogue *catalogue)
{
    if (!catalogue) {
        return;
    }
    g_hash_table_unref(catalogue->rules);
    g_hash_table_unref(catalogue->packages);
    g_hash_table_unref(catalogue->learned);
    g_strfreev(catalogue->products_sorted);
    g_strfreev(catalogue->packages_sorted);
    g_free(catalogue);
}

static bool is_key(const char *key)
{
    gsize n = strspn(key, "abcdefghijklmnopqrstuvwxyz0123456789-");
    return g_ascii_islower(key[0]) && key[n] == '\0' && n <= MOST_KEY;
}

/* Whether the key is one, and new; else a fault. what is "product" or "package". */
static bool claim_key(struct loading *loading, const struct bl_conf *conf,
                      const config_setting_t *group, const char *what)
{
    const char *key = config_setting_name(group);
    g_autofree char *shown = bl_field_shown(key);
    if (!is_key(key)) {
        bl_conf_fault(conf, group,
                      "%s \"%s\": a name is small letters, digits and hyphens, %d at most",
                      what, shown, MOST_KEY);
        return false;
    }
    if (!config_setting_is_group(group)) {
        bl_conf_fault(conf, group, "%s \"%s\" is a group: write %s = { ... };", what, shown,
                      shown);
        return false;
    }
    const char *other = g_hash_table_lookup(loading->places, key);
    if (other) {
        bl_conf_fault(conf, group, "%s \"%s\": the name is taken already, %s: rename one", what,
                      shown, other);
        return false;
    }
    return true;
}

static void keep_place(struct loading *loading, const struct bl_conf *conf, const char *key,
                       const char *what)
{
    g_autofree char *file = g_path_get_basename(bl_conf_file(conf));
    g_hash_table_insert(loading->places, g_strdup(key),
                        g_strdup_printf("by a %s in %s", what, file));
}

static void add_product(struct loading *loading, const struct bl_conf *conf,
                        struct config_setting_t *group)
{
    if (!claim_key(loading, conf, group, "product")) {
        return;
    }
    struct bl_rule *rule = product_new(config_setting_name(group));
    g_autofree char *subject = g_strdup_printf("product \"%s\": ", rule->product);
    struct bl_fill fill = product_fill(rule, subject);
    g_autofree bool *seen = g_new0(bool, fill.count);
    fill.seen = seen;
    product_read(conf, group, &fill);
    product_check(conf, group, &fill);
    keep_place(loading, conf, rule->product, "product");
    g_hash_table_insert(loading->catalogue->rules, rule->product, rule);
}

static void add_package(struct loading *loading, const struct bl_conf *conf,
                        struct config_setting_t *group)
{
    if (!claim_key(loading, conf, group, "package")) {
        return;
    }
    struct bl_package *package =
        package_read(conf, group, loading->whole ? loading->catalogue->rules : NULL);
    keep_place(loading, conf, package->key, "package");
    g_hash_table_insert(loading->catalogue->packages, package->key, package);
}

static void add_learned(struct loading *loading, const struct bl_conf *conf,
                        struct config_setting_t *group)
{
    const char *key = config_setting_name(group);
    const struct bl_learned *other = g_hash_table_lookup(loading->catalogue->learned, key);
    if (!config_setting_is_group(group) || other) {
        g_autofree char *shown = bl_field_shown(key);
        bl_conf_fault(conf, group,
                      other ? "learned \"%s\": it is there twice, in %s too: keep one"
                            : "learned \"%s\" is a group: write product = { ... };%s",
                      shown, other ? other->file : "");
        return;
    }
    struct bl_learned *learned =
        learned_read(conf, group, loading->whole ? loading->catalogue->rules : NULL);
    g_hash_table_insert(loading->catalogue->learned, learned->product, learned);
}

typedef void add_entry(struct loading *loading, const struct bl_conf *conf,
                       struct config_setting_t *group);

static void add_all(struct loading *loading, const char *name, add_entry *add)
{
    for (guint f = 0; f < loading->confs->len; f++) {
        const struct bl_conf *conf = g_ptr_array_index(loading->confs, f);
        const config_setting_t *entries = bl_conf_at(conf, name);
        if (!entries) {
            continue;
        }
        if (!config_setting_is_group(entries)) {
            bl_conf_fault(conf, entries, "\"%s\" is a group: write %s = { ... };", name, name);
            continue;
        }
        for (int i = 0; i < config_setting_length(entries); i++) {
            add(loading, conf, config_setting_get_elem(entries, (unsigned)i));
        }
    }
}

/* The groups of a file. What this program writes anew has only lives in it. */
static void check_outermost(const struct bl_conf *conf)
{
    static const char *const names[] = {"products", "packages", "learned", NULL};
    g_autofree char *file = g_path_get_basename(bl_conf_file(conf));
    const char *const *known = names + (g_str_equal(file, BL_LEARNED_FILE) ? 2 : 0);
    const config_setting_t *root = bl_conf_root(conf);
    for (int i = 0; i < config_setting_length(root); i++) {
        const config_setting_t *member = config_setting_get_elem(root, (unsigned)i);
        const char *name = config_setting_name(member);
        if (!g_strv_contains(known, name)) {
            g_autofree char *shown = bl_field_shown(name);
            g_autofree char *offer = bl_field_nearest(name, known);
            bl_conf_fault(conf, member, "\"%s\" is not known here%s%s", shown, offer,
                          *offer ? ""
                          : g_strv_length((char **)known) == 1
                              ? ": learned = { ... }, and nothing else"
                              : ": products = { ... } or packages = { ... }");
        }
    }
}

static void open_files(struct loading *loading, const char *directory, GPtrArray *files,
                       struct bl_faults *faults)
{
    for (guint i = 0; i < files->len; i++) {
        g_autofree char *file = g_build_filename(directory, g_ptr_array_index(files, i), NULL);
        struct bl_conf *conf = bl_conf_read(file, faults);
        if (conf) {
            check_outermost(conf);
            g_ptr_array_add(loading->confs, conf);
        } else {
            loading->whole = false;
        }
    }
}

static gint by_name(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* The names of directory's files in order, or NULL with a fault. */
static GPtrArray *files_of(const char *directory, struct bl_faults *faults)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(GDir) dir = g_dir_open(directory, 0, &error);
    if (!dir) {
        bl_faults_add(faults, directory, 0, "the catalogue's folder cannot be opened: %s",
                      error->message);
        return NULL;
    }
    GPtrArray *files = g_ptr_array_new_with_free_func(g_free);
    const char *name;
    while ((name = g_dir_read_name(dir)) != NULL) {
        if (name[0] != '.' && g_str_has_suffix(name, ".conf")) {
            g_ptr_array_add(files, g_strdup(name));
        }
    }
    if (files->len == 0) {
        bl_faults_add(faults, directory, 0, "there is no \"*.conf\" in the catalogue's folder");
    }
    g_ptr_array_sort(files, by_name);
    return files;
}

static char **sorted_keys(GHashTable *table)
{
    guint count = 0;
    gpointer *keys = g_hash_table_get_keys_as_array(table, &count);
    char **names = g_new0(char *, count + 1);
    for (guint i = 0; i < count; i++) {
        names[i] = g_strdup(keys[i]);
    }
    qsort(names, count, sizeof *names, by_name);
    g_free(keys);
    return names;
}

static struct bl_catalogue *finish(struct loading *loading, bool good)
{
    g_ptr_array_unref(loading->confs);
    g_hash_table_unref(loading->places);
    if (!good) {
        bl_catalogue_free(loading->catalogue);
        return NULL;
    }
    loading->catalogue->products_sorted = sorted_keys(loading->catalogue->rules);
    loading->catalogue->packages_sorted = sorted_keys(loading->catalogue->packages);
    return loading->catalogue;
}

static struct loading begin(void)
{
    return (struct loading){
        .catalogue = catalogue_new(),
        .confs = g_ptr_array_new_with_free_func((GDestroyNotify)bl_conf_free),
        .places = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free),
        .whole = true,
    };
}

struct bl_catalogue *bl_catalogue_load(const char *directory, struct bl_faults *faults)
{
    guint before = bl_faults_count(faults);
    g_autoptr(GPtrArray) files = files_of(directory, faults);
    struct loading loading = begin();
    if (files) {
        open_files(&loading, directory, files, faults);
        add_all(&loading, "products", add_product);
        add_all(&loading, "packages", add_package);
        add_all(&loading, "learned", add_learned);
    }
    return finish(&loading, bl_faults_count(faults) == before);
}

struct bl_catalogue *bl_catalogue_parse(const char *text, gsize length, const char *file,
                                        struct bl_faults *faults)
{
    guint before = bl_faults_count(faults);
    struct loading loading = begin();
    struct bl_conf *conf = bl_conf_parse(text, length, file, faults);
    if (conf) {
        check_outermost(conf);
        g_ptr_array_add(loading.confs, conf);
        add_all(&loading, "products", add_product);
        add_all(&loading, "packages", add_package);
        add_all(&loading, "learned", add_learned);
    }
    return finish(&loading, bl_faults_count(faults) == before);
}

const struct bl_rule *bl_catalogue_rule(const struct bl_catalogue *catalogue,
                                        const char *product)
{
    return g_hash_table_lookup(catalogue->rules, product);
}

const struct bl_package *bl_catalogue_package(const struct bl_catalogue *catalogue,
                                              const char *key)
{
    return g_hash_table_lookup(catalogue->packages, key);
}

const struct bl_learned *bl_catalogue_learned(const struct bl_catalogue *catalogue,
                                              const char *product)
{
    return g_hash_table_lookup(catalogue->learned, product);
}

static gint by_product(gconstpointer a, gconstpointer b)
{
    const struct bl_learned *one = a;
    const struct bl_learned *other = b;
    return strcmp(one->product, other->product);
}

char *bl_catalogue_learn(const struct bl_catalogue *catalogue, const struct bl_learned *life)
{
    GHashTableIter each;
    gpointer learned;
    g_autoptr(GList) lives = g_list_append(NULL, (gpointer)life);
    g_hash_table_iter_init(&each, catalogue->learned);
    while (g_hash_table_iter_next(&each, NULL, &learned)) {
        const struct bl_learned *other = learned;
        if (g_str_equal(other->file, BL_LEARNED_FILE) && by_product(other, life) != 0) {
            lives = g_list_insert_sorted(lives, learned, by_product);
        }
    }
    return learned_write(lives);
}

const char *const *bl_catalogue_products(const struct bl_catalogue *catalogue)
{
    return (const char *const *)catalogue->products_sorted;
}

const char *const *bl_catalogue_packages(const struct bl_catalogue *catalogue)
{
    return (const char *const *)catalogue->packages_sorted;
}
