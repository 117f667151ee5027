/* The types of values only the catalogue has: titles in several languages, and lists of known
 * words. Between the parsed file and the rule. */
#include <libconfig.h>
#include <string.h>

#include "beadline/text.h"
#include "draft.h"

static bool is_language(const char *name)
{
    gsize n = strlen(name);
    return n >= 2 && n <= 3 && strspn(name, "abcdefghijklmnopqrstuvwxyz") == n;
}

static bool add_title(GHashTable *titles, const config_setting_t *value, const char *language,
                      GError **error)
{
    const char *text = bl_field_string(value);
    if (!is_language(language) || !text) {
        g_autofree char *shown = bl_field_shown(language);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "\"%s\": a language's short name and a text wanted: en = \"...\"", shown);
        return false;
    }
    if (!bl_text_check(text, "title", BL_TEXT_MAX_NAME, error)) {
        return false;
    }
    g_hash_table_insert(titles, g_strdup(language), g_strdup(text));
    return true;
}

bool value_titles(const struct bl_field *field, const struct config_setting_t *value,
                  void *target, GError **error)
{
    g_autoptr(GHashTable) titles =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    if (config_setting_type(value) == CONFIG_TYPE_STRING) {
        if (!add_title(titles, value, "en", error)) {
            return false;
        }
    } else if (!config_setting_is_group(value)) {
        return bl_field_refuse(field, value, error);
    }
    for (int i = 0; config_setting_is_group(value) && i < config_setting_length(value); i++) {
        const config_setting_t *title = config_setting_get_elem(value, (unsigned)i);
        if (!add_title(titles, title, config_setting_name(title), error)) {
            return false;
        }
    }
    if (!g_hash_table_contains(titles, "en")) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "the English title is missing: en = \"...\" is what is used where a "
                    "language has none");
        return false;
    }
    *(GHashTable **)target = g_steal_pointer(&titles);
    return true;
}

static gint by_name(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

bool value_strippers(const struct bl_field *field, const struct config_setting_t *value,
                     void *target, GError **error)
{
    g_auto(GStrv) names = NULL;
    if (!bl_field_texts(field, value, &names, error)) {
        return false;
    }
    for (guint i = 0; names[i]; i++) {
        if (!g_strv_contains(field->words(), names[i])) {
            g_autofree char *offer = bl_field_nearest(names[i], field->words());
            g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "\"%s\" is not known%s%s one of: %s",
                        names[i], offer, *offer ? "" : ":", field->help.range);
            return false;
        }
    }
    qsort(names, g_strv_length(names), sizeof *names, by_name);
    *(char ***)target = g_steal_pointer(&names);
    return true;
}
