/*
 * The templates: one folder a language below the owner's templates folder. The daemon loads
 * them once at start and again when it is told to; a fault anywhere keeps the old ones.
 */
#include <string.h>

#include "beadline/compose.h"
#include "folder.h"

struct bl_templates {
    GHashTable *folders; /* language -> struct bl_folder * */
    GPtrArray *names;    /* const char *, sorted, owned by folders */
};

/* A language's tag ("en", "pt-BR"); other folders (the catalogue's) may lie beside them. */
static bool is_tag(const char *name)
{
    size_t letters = strspn(name, "abcdefghijklmnopqrstuvwxyz");
    return (letters == 2 || letters == 3) && (name[letters] == '\0' || name[letters] == '-');
}

static bool is_language(const char *path, const char *name)
{
    g_autofree char *words = g_build_filename(path, "words", NULL);
    return g_file_test(path, G_FILE_TEST_IS_DIR) && name[0] != '.' &&
           (is_tag(name) || g_file_test(words, G_FILE_TEST_EXISTS));
}

static int by_name(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* The names of the languages below directory, sorted; NULL and a fault without any. */
static GPtrArray *list_languages(const char *directory, struct bl_faults *faults)
{
    g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
    g_autoptr(GError) error = NULL;
    g_autoptr(GDir) dir = g_dir_open(directory, 0, &error);
    if (!dir) {
        bl_faults_add(faults, directory, 0, "the templates cannot be read: %s", error->message);
        return NULL;
    }
    for (const char *name; (name = g_dir_read_name(dir));) {
        g_autofree char *path = g_build_filename(directory, name, NULL);
        if (is_language(path, name)) {
            g_ptr_array_add(names, g_strdup(name));
        }
    }
    if (names->len == 0) {
        bl_faults_add(faults, directory, 0,
                      "there is no language here: make a folder such as \"en\" from the "
                      "templates that came with Beadline");
        return NULL;
    }
    g_ptr_array_sort(names, by_name);
    return g_steal_pointer(&names);
}

static void folder_free(gpointer folder)
{
    bl_folder_free(folder);
}

struct bl_templates *bl_templates_load(const char *directory, struct bl_faults *faults)
{
    guint before = bl_faults_count(faults);
    g_autoptr(GPtrArray) names = list_languages(directory, faults);
    if (!names) {
        return NULL;
    }
    struct bl_templates *templates = g_new0(struct bl_templates, 1);
    templates->folders = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, folder_free);
    templates->names = g_ptr_array_new();
    for (guint i = 0; i < names->len; i++) {
        const char *name = g_ptr_array_index(names, i);
        g_autofree char *path = g_build_filename(directory, name, NULL);
        struct bl_folder *folder = bl_folder_load(path, name, faults);
        if (folder) {
            char *kept = g_strdup(name);
            g_hash_table_insert(templates->folders, kept, folder);
            g_ptr_array_add(templates->names, kept);
        }
    }
    if (bl_faults_count(faults) != before) {
        g_clear_pointer(&templates, bl_templates_free);
    }
    return templates;
}

void bl_templates_free(struct bl_templates *templates)
{
    if (!templates) {
        return;
    }
    g_ptr_array_unref(templates->names);
    g_hash_table_destroy(templates->folders);
    g_free(templates);
}

bool bl_templates_has_language(const struct bl_templates *templates, const char *language)
{
    return g_hash_table_contains(templates->folders, language);
}

const struct bl_folder *bl_templates_folder(const struct bl_templates *templates,
                                            const char *language, const struct bl_shop *shop,
                                            GError **error)
{
    const struct bl_folder *folder =
        language ? g_hash_table_lookup(templates->folders, language) : NULL;
    if (!folder) {
        folder = g_hash_table_lookup(templates->folders, shop->language);
    }
    if (!folder) {
        g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                    "there are no templates for the shop's language \"%s\": add the folder "
                    "\"%s\" to the templates, or change the setting",
                    shop->language, shop->language);
    }
    return folder;
}

char *bl_compose_date(const struct bl_templates *templates, const char *language, int32_t date,
                      bool with_weekday)
{
    const struct bl_folder *folder =
        language ? g_hash_table_lookup(templates->folders, language) : NULL;
    if (!folder) {
        folder =
            g_hash_table_lookup(templates->folders, g_ptr_array_index(templates->names, 0));
    }
    return bl_language_date(folder->language, date,
                            with_weekday ? BL_DATE_LONG : BL_DATE_SHORT);
}

/* One language's words being held against the catalogue; each lacking one is said once. */
struct holding {
    const struct bl_language *language;
    const char *file;
    GHashTable *said;
    struct bl_faults *faults;
};

static void want(const struct holding *holding, const struct bl_rule *rule, const char *group,
                 const char *key)
{
    if (bl_language_word(holding->language, group, key) ||
        !g_hash_table_add(holding->said, g_strconcat(group, "\n", key, NULL))) {
        return;
    }
    bl_faults_add(holding->faults, holding->file, 0,
                  "product \"%s\" asks for the word \"%s\": add it under [%s]", rule->product,
                  key, group);
}

static void want_all(const struct holding *holding, const struct bl_rule *rule,
                     const char *group, char *const *keys)
{
    for (; keys && *keys; keys++) {
        want(holding, rule, group, *keys);
    }
}

static void hold_catalogue(const struct holding *holding, const struct bl_catalogue *catalogue)
{
    for (const char *const *key = bl_catalogue_products(catalogue); *key; key++) {
        const struct bl_rule *rule = bl_catalogue_rule(catalogue, *key);
        want_all(holding, rule, "cautions", rule->cautions);
        want_all(holding, rule, "wash", rule->wash);
        if (rule->care.what) {
            want(holding, rule, "cares", rule->care.what);
        }
    }
}

void bl_templates_check_catalogue(const struct bl_templates *templates,
                                  const struct bl_catalogue *catalogue,
                                  struct bl_faults *faults)
{
    for (guint i = 0; i < templates->names->len; i++) {
        const struct bl_folder *folder =
            g_hash_table_lookup(templates->folders, g_ptr_array_index(templates->names, i));
        g_autofree char *file = g_build_filename(folder->path, "words", NULL);
        g_autoptr(GHashTable) said =
            g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
        const struct holding holding = {folder->language, file, said, faults};
        hold_catalogue(&holding, catalogue);
    }
}
