/* Reading one word of a job. */
#include "treat.h"

#include <string.h>

#include "beadline/text.h"
#include "typed.h"

static void pick_clear(gpointer data)
{
    struct pick *pick = data;
    g_free(pick->part);
    g_free(pick->batch);
}

void picks_init(struct picks *picks)
{
    *picks = (struct picks){.list = g_array_new(FALSE, FALSE, sizeof(struct pick))};
    g_array_set_clear_func(picks->list, pick_clear);
}

void picks_clear(struct picks *picks)
{
    g_clear_pointer(&picks->list, g_array_unref);
}

static struct pick *pick_at(const struct picks *picks, guint i)
{
    return &g_array_index(picks->list, struct pick, i);
}

static bool same_place(const struct pick *a, const struct pick *b)
{
    g_autofree char *part_a = bl_text_fold(a->part);
    g_autofree char *part_b = bl_text_fold(b->part);
    return a->rule == b->rule && a->surface == b->surface && strcmp(part_a, part_b) == 0;
}

/* Takes over the pick's texts. What is typed replaces; what a package brings twice is once. */
static bool add(struct picks *picks, struct pick *pick, GError **error)
{
    for (guint i = 0; i < picks->list->len; i++) {
        struct pick *other = pick_at(picks, i);
        if (!same_place(other, pick)) {
            continue;
        }
        if (other->typed && pick->typed) {
            g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                        "\"%s\" stands there twice for one place: say it once, two coats are "
                        "\"%s:2\"",
                        pick->rule->product, pick->rule->product);
            pick_clear(pick);
            return false;
        }
        if (pick->typed) {
            pick_clear(other);
            *other = *pick;
        } else {
            pick_clear(pick);
        }
        return true;
    }
    g_array_append_vals(picks->list, pick, 1);
    return true;
}

/* A word, cut: product, and what stands behind '@', '/' and ':'. */
struct cut {
    char *product;
    char *after[3]; /* surface, part, coats; NULL not said */
};

static const char marks[] = "@/:";

static void cut_clear(struct cut *cut)
{
    g_free(cut->product);
    for (gsize i = 0; i < G_N_ELEMENTS(cut->after); i++) {
        g_free(cut->after[i]);
    }
}

static bool refuse_word(const char *word, const char *why, GError **error)
{
    g_autofree char *shown = bl_text_shown(word);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "\"%s\" %s: write PRODUCT, PRODUCT@SURFACE, PRODUCT/PART or PRODUCT:COATS",
                shown, why);
    return false;
}

static bool cut_word(const char *word, struct cut *cut, GError **error)
{
    const char *at = word + strcspn(word, marks);
    g_autofree char *product = g_strndup(word, (gsize)(at - word));
    cut->product = g_ascii_strdown(product, -1);
    while (*at) {
        char **place = &cut->after[strchr(marks, *at) - marks];
        gsize length = strcspn(at + 1, marks);
        if (*place) {
            return refuse_word(word, "says one thing twice", error);
        }
        if (length == 0) {
            return refuse_word(word, "ends too early", error);
        }
        *place = g_strndup(at + 1, length);
        at += 1 + length;
    }
    return true;
}

static bool read_surface(const char *typed, struct pick *pick, GError **error)
{
    const char *word = typed_word("surface", typed, bl_surface_words(), error);
    return word && bl_surface_of(word, &pick->surface);
}

/* A part may be anything a person calls it; hyphens stand for spaces. */
static bool read_part(const char *typed, struct pick *pick, GError **error)
{
    if (!bl_text_check(typed, "part", BL_TEXT_MAX_NAME, error)) {
        return false;
    }
    g_free(pick->part);
    pick->part = bl_text_fold(typed);
    return true;
}

static bool read_coats(const char *word, const char *typed, struct pick *pick, GError **error)
{
    guint64 coats = 0;
    if (!g_ascii_string_to_unsigned(typed, 10, 1, 9, &coats, NULL)) {
        return refuse_word(word, "wants 1 to 9 coats behind its colon", error);
    }
    pick->coats = (int)coats;
    return true;
}

static bool read_cut(const char *word, const struct cut *cut, struct pick *pick, GError **error)
{
    return (!cut->after[0] || read_surface(cut->after[0], pick, error)) &&
           (!cut->after[1] || read_part(cut->after[1], pick, error)) &&
           (!cut->after[2] || read_coats(word, cut->after[2], pick, error));
}

static bool refuse_unknown(const struct bl_catalogue *catalogue, const char *name,
                           GError **error)
{
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    const char *const *const lists[] = {bl_catalogue_products(catalogue),
                                        bl_catalogue_packages(catalogue)};
    for (gsize l = 0; l < G_N_ELEMENTS(lists); l++) {
        for (guint i = 0; lists[l][i]; i++) {
            g_ptr_array_add(names, (gpointer)lists[l][i]);
        }
    }
    g_ptr_array_add(names, NULL);
    g_autofree char *shown = bl_text_shown(name);
    const char *near = bl_text_nearest(name, (const char *const *)names->pdata);
    g_set_error(error, BL_ERROR, BL_ERROR_MISSING, "no product or package \"%s\": %s%s%s",
                shown, near ? "did you mean \"" : "",
                near ? near : "\"beadline list products\" and \"list packages\" show them",
                near ? "\"?" : "");
    return false;
}

static bool add_package(struct picks *picks, const struct bl_catalogue *catalogue,
                        const struct bl_package *package, GError **error)
{
    picks->package = picks->package ? picks->package : package;
    for (guint i = 0; i < package->items->len; i++) {
        const struct bl_package_item *item =
            &g_array_index(package->items, struct bl_package_item, i);
        struct pick pick = {
            .rule = bl_catalogue_rule(catalogue, item->product),
            .surface = item->surface,
            .part = g_strdup(item->part ? item->part : ""),
            .coats = item->coats,
            .again = -1,
        };
        if (!add(picks, &pick, error)) {
            return false;
        }
    }
    return true;
}

static bool add_product(struct picks *picks, const struct bl_rule *rule, const char *word,
                        const struct cut *cut, GError **error)
{
    struct pick pick = {
        .rule = rule,
        .surface = rule->surface,
        .part = g_strdup(""),
        .coats = 1,
        .typed = true,
        .again = -1,
    };
    if (!read_cut(word, cut, &pick, error)) {
        pick_clear(&pick);
        return false;
    }
    return add(picks, &pick, error);
}

static bool add_cut(struct picks *picks, const struct bl_catalogue *catalogue, const char *word,
                    const struct cut *cut, GError **error)
{
    const struct bl_rule *rule = bl_catalogue_rule(catalogue, cut->product);
    const struct bl_package *package = bl_catalogue_package(catalogue, cut->product);
    if (rule) {
        return add_product(picks, rule, word, cut, error);
    }
    if (!package) {
        return refuse_unknown(catalogue, cut->product, error);
    }
    if (cut->after[0] || cut->after[1] || cut->after[2]) {
        g_set_error(
            error, BL_ERROR, BL_ERROR_INPUT,
            "\"%s\" is a package and stands alone: name the product that differs beside "
            "it",
            cut->product);
        return false;
    }
    return add_package(picks, catalogue, package, error);
}

const struct bl_rule *picks_product(const struct bl_catalogue *catalogue, const char *typed,
                                    GError **error)
{
    g_autofree char *key = g_ascii_strdown(typed, -1);
    const struct bl_rule *rule = NULL;
    if (!bl_text_check(key, "product", BL_TEXT_MAX_NAME, error)) {
        return NULL;
    }
    rule = bl_catalogue_rule(catalogue, key);
    if (!rule && bl_catalogue_package(catalogue, key)) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "\"%s\" is a package: name one product of it", key);
    } else if (!rule) {
        refuse_unknown(catalogue, key, error);
    }
    return rule;
}

bool picks_word(struct picks *picks, const struct bl_catalogue *catalogue, const char *word,
                GError **error)
{
    struct cut cut = {0};
    bool done = bl_text_check(word, "treatment", BL_TEXT_MAX_NAME, error) &&
                cut_word(word, &cut, error) && add_cut(picks, catalogue, word, &cut, error);
    cut_clear(&cut);
    return done;
}

char *treat_spell(const struct bl_rule *rule, enum bl_surface surface, const char *part,
                  int coats)
{
    g_autoptr(GString) word = g_string_new(rule->product);
    if (surface != rule->surface) {
        g_string_append_printf(word, "@%s", bl_surface_name(surface));
    }
    if (part && *part) {
        g_string_append_printf(word, "/%s", part);
    }
    if (coats != 1) {
        g_string_append_printf(word, ":%d", coats);
    }
    return g_strdup(g_strdelimit(word->str, " ", '-'));
}
