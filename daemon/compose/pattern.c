/*
 * Patterns of dates: what stands between a language's key file and the dates a customer reads.
 * Checked once when the file is read, so filling cannot fail.
 */
#include "pattern.h"

#include <string.h>

#include "beadline/error.h"
#include "beadline/text.h"

static const char *slot_value(const struct bl_slot *slots, const char *name, size_t length)
{
    for (; slots->name; slots++) {
        if (strlen(slots->name) == length && strncmp(slots->name, name, length) == 0) {
            return slots->value;
        }
    }
    g_assert_not_reached();
}

char *bl_pattern_fill(const char *pattern, const struct bl_slot *slots)
{
    GString *out = g_string_new(NULL);
    while (*pattern) {
        size_t plain = strcspn(pattern, "{");
        g_string_append_len(out, pattern, (gssize)plain);
        pattern += plain;
        if (*pattern) {
            size_t name = strcspn(pattern + 1, "}");
            g_string_append(out, slot_value(slots, pattern + 1, name));
            pattern += name + 2;
        }
    }
    return g_string_free(out, FALSE);
}

static bool check_name(const char *name, const char *const *may, GError **error)
{
    if (g_strv_contains(may, name)) {
        return true;
    }
    const char *near = bl_text_nearest(name, may);
    g_autofree char *known = g_strjoinv("}, {", (char **)may);
    g_autofree char *hint = near   ? g_strdup_printf("did you mean \"{%s}\"?", near)
                            : *may ? g_strdup_printf("known here are {%s}", known)
                                   : g_strdup("no name is known here");
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "unknown name \"{%s}\": %s", name, hint);
    return false;
}

bool bl_pattern_check(const char *pattern, const char *const *may, const char *const *must,
                      GError **error)
{
    g_autoptr(GHashTable) used = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    const char *p = pattern;
    while ((p = strpbrk(p, "{}"))) {
        const char *end = *p == '{' ? strpbrk(p + 1, "{}") : NULL;
        if (!end || *end == '{') {
            g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                        "a brace in \"%s\" has no partner: write names as \"{day}\"", pattern);
            return false;
        }
        g_autofree char *name = g_strndup(p + 1, (gsize)(end - p - 1));
        if (!check_name(name, may, error)) {
            return false;
        }
        g_hash_table_add(used, g_steal_pointer(&name));
        p = end + 1;
    }
    for (; *must; must++) {
        if (!g_hash_table_contains(used, *must)) {
            g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                        "\"%s\" lacks \"{%s}\": a reader could not tell the date", pattern,
                        *must);
            return false;
        }
    }
    return true;
}
