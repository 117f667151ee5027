/* A rule's own life: what it holds is freed here, and its title found. Reading it from the
 * owner's files is the catalogue's work, judging by it planning's. */
#include "beadline/rule.h"

static void free_exposures(GArray *exposures)
{
    if (!exposures) {
        return;
    }
    for (guint i = 0; i < exposures->len; i++) {
        g_free(g_array_index(exposures, struct bl_exposure, i).name);
    }
    g_array_free(exposures, TRUE);
}

void bl_rule_free(struct bl_rule *rule)
{
    if (!rule) {
        return;
    }
    g_free(rule->product);
    g_clear_pointer(&rule->titles, g_hash_table_destroy);
    g_free(rule->care.what);
    free_exposures(rule->exposures);
    g_strfreev(rule->stripped_by);
    g_strfreev(rule->cautions);
    g_strfreev(rule->wash);
    g_free(rule);
}

const char *bl_rule_title(const struct bl_rule *rule, const char *language)
{
    const char *title = NULL;
    if (rule->titles && language) {
        title = g_hash_table_lookup(rule->titles, language);
    }
    if (!title && rule->titles) {
        title = g_hash_table_lookup(rule->titles, "en");
    }
    return title ? title : rule->product;
}

const char *const *bl_rule_exposures(void)
{
    static const char *const names[] = {
        "stored outdoors", "brush wash", "strong pre-wash", "winter salt", "strong sun",
        "sea air",         "hard water", "gravel roads",    NULL,
    };
    return names;
}

const char *const *bl_rule_strippers(void)
{
    static const char *const names[] = {
        "wheel cleaner", "strong pre-wash", "brush wash", "clay",  "polish",
        "solvent",       "fallout remover", "degreaser",  "steam", NULL,
    };
    return names;
}
