/* The walk that fills a struct from a parsed group by a table of fields, for settings and
 * catalogue alike. Everything it does not know, cannot read or misses becomes a fault; it never
 * stops at one. */
#include <libconfig.h>
#include <stdint.h>
#include <string.h>

#include "beadline/conf.h"

#define MOST_FIELDS 128

/* One filling under way. */
struct walk {
    const struct bl_conf *conf;
    const struct bl_fill *fill;
    gsize hidden; /* how much of a path its reader need not see: the list it is in */
};

static const char *shown_path(const struct walk *walk, const struct bl_field *field)
{
    return field->help.path + walk->hidden;
}

static void *target(const struct bl_fill *fill, const struct bl_field *field)
{
    return (char *)fill->base + field->offset;
}

/* For another kind of element than this one. */
static bool excluded(const struct bl_fill *fill, const struct bl_field *field)
{
    return field->only != 0 && fill->kind != 0 && (field->only & fill->kind) == 0;
}

/* For every kind, or for this one that is known. */
static bool concerns(const struct bl_fill *fill, const struct bl_field *field)
{
    return field->only == 0 || (field->only & fill->kind) != 0;
}

/* The part of the field's path below prefix, or NULL when it is not below it, or only in a list
 * of groups that has its own filling. */
static const char *below(const struct bl_field *field, const char *prefix)
{
    if (!g_str_has_prefix(field->help.path, prefix)) {
        return NULL;
    }
    const char *rest = field->help.path + strlen(prefix);
    return strstr(rest, "[].") ? NULL : rest;
}

static const struct bl_field *field_of(const struct bl_fill *fill, const char *path)
{
    for (guint i = 0; i < fill->count; i++) {
        if (strcmp(fill->fields[i].help.path, path) == 0) {
            return &fill->fields[i];
        }
    }
    return NULL;
}

static bool is_group_of(const struct bl_fill *fill, const char *path)
{
    g_autofree char *prefix = g_strconcat(path, ".", NULL);
    for (guint i = 0; i < fill->count; i++) {
        if (g_str_has_prefix(fill->fields[i].help.path, prefix)) {
            return true;
        }
    }
    return false;
}

/* The names that may stand directly below prefix, each once; NULL-terminated. */
static GPtrArray *names_below(const struct bl_fill *fill, const char *prefix)
{
    GPtrArray *names = g_ptr_array_new_with_free_func(g_free);
    for (guint i = 0; i < fill->count; i++) {
        const char *rest = below(&fill->fields[i], prefix);
        if (!rest || !fill->fields[i].help.help || excluded(fill, &fill->fields[i])) {
            continue;
        }
        char *name = g_strndup(rest, strcspn(rest, "."));
        if (g_ptr_array_find_with_equal_func(names, name, g_str_equal, NULL)) {
            g_free(name);
        } else {
            g_ptr_array_add(names, name);
        }
    }
    g_ptr_array_add(names, NULL);
    return names;
}

/* Where else in the table a setting of that name stands: the usual slip is the wrong group. */
static const char *elsewhere(const struct bl_fill *fill, const char *name)
{
    g_autofree char *tail = g_strconcat(".", name, NULL);
    for (guint i = 0; i < fill->count; i++) {
        const char *path = fill->fields[i].help.path;
        if (!strstr(path, "[]") && fill->fields[i].help.help && g_str_has_suffix(path, tail)) {
            return path;
        }
    }
    return NULL;
}

static void unknown(const struct walk *walk, const config_setting_t *member, const char *prefix)
{
    const struct bl_fill *fill = walk->fill;
    const char *name = config_setting_name(member);
    g_autoptr(GPtrArray) names = names_below(fill, prefix);
    const char *other = walk->hidden == 0 ? elsewhere(fill, name) : NULL;
    g_autofree char *offer = other ? g_strdup_printf("; did you mean \"%s\"?", other)
                                   : bl_field_nearest(name, (const char *const *)names->pdata);
    g_autofree char *shown = bl_field_shown(name);
    bl_conf_fault(walk->conf, member, "%s\"%s%s\" is not known here%s", fill->subject,
                  prefix + walk->hidden, shown, offer);
}

/* Every faulty element of a list becomes a fault of its own, at its own line. */
static bool elements_well(const struct walk *walk, const struct bl_field *field,
                          const config_setting_t *value)
{
    bool well = true;
    if (!field->element || !(config_setting_is_array(value) || config_setting_is_list(value))) {
        return true;
    }
    for (int i = 0; i < config_setting_length(value); i++) {
        const config_setting_t *element = config_setting_get_elem(value, (unsigned)i);
        g_autoptr(GError) error = NULL;
        int64_t unused[2] = {0};
        if (!field->element(field, element, unused, &error)) {
            bl_conf_fault(walk->conf, element, "%s\"%s\": %s", walk->fill->subject,
                          shown_path(walk, field), error->message);
            well = false;
        }
    }
    return well;
}

static void read_field(const struct walk *walk, const struct bl_field *field,
                       const config_setting_t *value)
{
    const struct bl_fill *fill = walk->fill;
    if (fill->seen) {
        fill->seen[field - fill->fields] = true;
    }
    if (excluded(fill, field)) {
        bl_conf_fault(walk->conf, value, "%s\"%s\" is not for this kind: leave it out",
                      fill->subject, shown_path(walk, field));
        return;
    }
    g_autoptr(GError) error = NULL;
    if (field->read && elements_well(walk, field, value) &&
        !field->read(field, value, target(fill, field), &error)) {
        bl_conf_fault(walk->conf, value, "%s\"%s\": %s", fill->subject, shown_path(walk, field),
                      error->message);
    }
}

static void walk_group(const struct walk *walk, const config_setting_t *group,
                       const char *prefix)
{
    for (int i = 0; i < config_setting_length(group); i++) {
        const config_setting_t *member = config_setting_get_elem(group, (unsigned)i);
        const char *name = config_setting_name(member);
        g_autofree char *path = g_strconcat(prefix, name, NULL);
        const struct bl_field *field = field_of(walk->fill, path);
        if (field) {
            read_field(walk, field, member);
        } else if (!is_group_of(walk->fill, path)) {
            unknown(walk, member, prefix);
        } else if (!config_setting_is_group(member)) {
            bl_conf_fault(walk->conf, member, "%s\"%s\" is a group: write %s = { ... };",
                          walk->fill->subject, path + walk->hidden, name);
        } else {
            g_autofree char *inner = g_strconcat(path, ".", NULL);
            walk_group(walk, member, inner);
        }
    }
}

/* Defaults stand in the table as the owner would write them, so they are read the same way. */
static void take_default(const struct bl_fill *fill, const struct bl_field *field)
{
    g_autofree char *text = g_strdup_printf("value = %s;", field->help.initial);
    config_t config;
    config_init(&config);
    int parsed = config_read_string(&config, text);
    g_assert(parsed == CONFIG_TRUE);
    const config_setting_t *value = config_lookup(&config, "value");
    bool read = field->read(field, value, target(fill, field), NULL);
    g_assert(read);
    config_destroy(&config);
}

static void complete(const struct walk *walk, const config_setting_t *group, const char *prefix,
                     const bool *seen)
{
    const struct bl_fill *fill = walk->fill;
    for (guint i = 0; i < fill->count; i++) {
        const struct bl_field *field = &fill->fields[i];
        if (seen[i] || !field->read || !below(field, prefix) || !concerns(fill, field)) {
            continue;
        }
        if (*field->help.initial == '\0') {
            bl_conf_fault(walk->conf, group, "%s\"%s\" is missing: %s", fill->subject,
                          shown_path(walk, field), field->help.help);
        } else if (strcmp(field->help.initial, "none") != 0) {
            take_default(fill, field);
        }
    }
}

void bl_conf_fill(const struct bl_conf *conf, const struct config_setting_t *group,
                  const char *prefix, const struct bl_fill *fill)
{
    bool own[MOST_FIELDS] = {false};
    g_assert(fill->count <= MOST_FIELDS);
    struct bl_fill with_seen = *fill;
    with_seen.seen = fill->seen ? fill->seen : own;
    struct walk walk = {conf, &with_seen, strstr(prefix, "[]") ? strlen(prefix) : 0};
    if (group) {
        walk_group(&walk, group, prefix);
    }
    complete(&walk, group, prefix, with_seen.seen);
}
