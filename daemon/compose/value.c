/*
 * Values: what a template is filled with. The composer builds one tree of them a message; the
 * renderer and the strict check read it.
 */
#include "mustache_tree.h"

static struct bl_value *value_new(enum value_kind kind)
{
    struct bl_value *value = g_new0(struct bl_value, 1);
    value->kind = kind;
    return value;
}

static void free_item(gpointer value)
{
    bl_value_free(value);
}

struct bl_value *bl_value_text(const char *text)
{
    struct bl_value *value = value_new(VALUE_TEXT);
    value->text = g_strdup(text ? text : "");
    return value;
}

struct bl_value *bl_value_bool(bool yes)
{
    struct bl_value *value = value_new(VALUE_BOOL);
    value->yes = yes;
    return value;
}

struct bl_value *bl_value_list(void)
{
    struct bl_value *value = value_new(VALUE_LIST);
    value->items = g_ptr_array_new_with_free_func(free_item);
    return value;
}

struct bl_value *bl_value_map(void)
{
    struct bl_value *value = value_new(VALUE_MAP);
    value->fields = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, free_item);
    return value;
}

void bl_value_free(struct bl_value *value)
{
    if (!value) {
        return;
    }
    g_free(value->text);
    g_clear_pointer(&value->items, g_ptr_array_unref);
    g_clear_pointer(&value->fields, g_hash_table_unref);
    g_free(value);
}

void bl_value_append(struct bl_value *list, struct bl_value *item)
{
    g_assert(list->kind == VALUE_LIST);
    g_ptr_array_add(list->items, item);
}

void bl_value_set(struct bl_value *map, const char *name, struct bl_value *item)
{
    g_assert(map->kind == VALUE_MAP);
    g_hash_table_replace(map->fields, g_strdup(name), item);
}

static const struct bl_value *field(const struct bl_value *value, const char *name)
{
    return value->kind == VALUE_MAP ? g_hash_table_lookup(value->fields, name) : NULL;
}

const struct bl_value *bl_value_find(const GPtrArray *scopes, char *const *path)
{
    if (!path[0]) {
        return scopes->len ? g_ptr_array_index(scopes, scopes->len - 1) : NULL;
    }
    const struct bl_value *found = NULL;
    for (guint i = scopes->len; i > 0 && !found; i--) {
        found = field(g_ptr_array_index(scopes, i - 1), path[0]);
    }
    for (path++; found && *path; path++) {
        found = field(found, *path);
    }
    return found;
}

bool bl_value_truthy(const struct bl_value *value)
{
    if (!value) {
        return false;
    }
    switch (value->kind) {
    case VALUE_TEXT:
        return value->text[0] != '\0';
    case VALUE_BOOL:
        return value->yes;
    case VALUE_LIST:
        return value->items->len > 0;
    case VALUE_MAP:
        return true;
    }
    g_assert_not_reached();
}
