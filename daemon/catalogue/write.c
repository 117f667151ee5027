/* Rules and packages as stored texts, and a rule back from one. The text is written by the
 * product's table in the table's order, numbers with all their digits, so that one rule has one
 * text and comes back bit for bit; what is NaN, infinite or NULL is left out. */
#include <libconfig.h>
#include <math.h>
#include <string.h>

#include "draft.h"

void write_quoted(GString *out, const char *text)
{
    g_string_append_c(out, '"');
    for (const char *p = text; *p; p++) {
        if (*p == '"' || *p == '\\') {
            g_string_append_c(out, '\\');
        }
        g_string_append_c(out, *p);
    }
    g_string_append_c(out, '"');
}

/* Always with a decimal point, so that it is read as a number with decimals again. */
static void add_number(GString *out, double number)
{
    char digits[G_ASCII_DTOSTR_BUF_SIZE];
    g_ascii_formatd(digits, sizeof digits, "%.17g", number);
    gsize mantissa = strcspn(digits, "e");
    bool point = memchr(digits, '.', mantissa) != NULL;
    g_string_append_len(out, digits, (gssize)mantissa);
    g_string_append(out, point ? "" : ".0");
    g_string_append(out, digits + mantissa);
}

/* One writer a type; false when there is nothing to write. */
typedef bool write_value(GString *out, const struct bl_field *field, const void *target);

static bool write_text(GString *out, const struct bl_field *field, const void *target)
{
    (void)field;
    const char *text = *(char *const *)target;
    if (text) {
        write_quoted(out, text);
    }
    return text != NULL;
}

static bool write_word(GString *out, const struct bl_field *field, const void *target)
{
    write_quoted(out, field->words()[*(const guint *)target]);
    return true;
}

static bool write_yes(GString *out, const struct bl_field *field, const void *target)
{
    (void)field;
    g_string_append(out, *(const bool *)target ? "true" : "false");
    return true;
}

static bool write_whole(GString *out, const struct bl_field *field, const void *target)
{
    (void)field;
    g_string_append_printf(out, "%d", *(const int *)target);
    return true;
}

static bool write_number(GString *out, const struct bl_field *field, const void *target)
{
    (void)field;
    double number = *(const double *)target;
    if (isfinite(number)) {
        add_number(out, number);
    }
    return isfinite(number);
}

static bool write_span(GString *out, const struct bl_field *field, const void *target)
{
    (void)field;
    const double *span = target;
    if (!isfinite(span[0]) || !isfinite(span[1])) {
        return false;
    }
    g_string_append(out, "[");
    add_number(out, span[0]);
    g_string_append(out, ", ");
    add_number(out, span[1]);
    g_string_append(out, "]");
    return true;
}

static bool write_texts(GString *out, const struct bl_field *field, const void *target)
{
    (void)field;
    char *const *texts = *(char **const *)target;
    g_string_append(out, "(");
    for (guint i = 0; texts && texts[i]; i++) {
        g_string_append(out, i > 0 ? ", " : "");
        write_quoted(out, texts[i]);
    }
    g_string_append(out, ")");
    return true;
}

static gint by_text(gconstpointer a, gconstpointer b)
{
    return strcmp(a, b);
}

static bool write_titles(GString *out, const struct bl_field *field, const void *target)
{
    (void)field;
    GHashTable *titles = *(GHashTable *const *)target;
    g_autoptr(GList) languages = g_list_sort(g_hash_table_get_keys(titles), by_text);
    g_string_append(out, "{ ");
    for (const GList *at = languages; at; at = at->next) {
        g_string_append_printf(out, "%s = ", (const char *)at->data);
        write_quoted(out, g_hash_table_lookup(titles, at->data));
        g_string_append(out, "; ");
    }
    g_string_append(out, "}");
    return true;
}

static const struct {
    bl_field_read *read;
    write_value *write;
} writers[] = {
    {bl_field_text, write_text},     {bl_field_word, write_word},
    {bl_field_yes, write_yes},       {bl_field_whole, write_whole},
    {bl_field_number, write_number}, {bl_field_span, write_span},
    {bl_field_texts, write_texts},   {value_strippers, write_texts},
    {value_titles, write_titles},
};

static write_value *writer_of(const struct bl_field *field)
{
    for (guint i = 0; i < G_N_ELEMENTS(writers); i++) {
        if (writers[i].read == field->read) {
            return writers[i].write;
        }
    }
    return NULL;
}

static void write_exposures(GString *out, const GArray *exposures)
{
    g_string_append(out, "    exposures = (");
    for (guint i = 0; exposures && i < exposures->len; i++) {
        const struct bl_exposure *exposure = &g_array_index(exposures, struct bl_exposure, i);
        g_string_append(out, i > 0 ? ", { name = " : "{ name = ");
        write_quoted(out, exposure->name);
        g_string_append(out, "; factor = ");
        add_number(out, exposure->factor);
        g_string_append(out, "; }");
    }
    g_string_append(out, ");\n");
}

/* Opens and closes groups as the path's part before the dot changes; groups are one deep. */
static void enter(GString *out, const char *path, char **group)
{
    const char *dot = strchr(path, '.');
    g_autofree char *next = g_strndup(path, dot ? (gsize)(dot - path) : 0);
    if (strcmp(next, *group) == 0) {
        return;
    }
    if (**group) {
        g_string_append(out, "    };\n");
    }
    if (*next) {
        g_string_append_printf(out, "    %s = {\n", next);
    }
    g_free(*group);
    *group = g_steal_pointer(&next);
}

static void write_field(GString *out, const struct bl_field *field, const struct bl_rule *rule,
                        char **group)
{
    write_value *write = writer_of(field);
    const char *path = field->help.path;
    if (strcmp(path, "exposures") == 0) {
        enter(out, path, group);
        write_exposures(out, rule->exposures);
    }
    if (!write || strstr(path, "[]")) {
        return;
    }
    g_autoptr(GString) value = g_string_new(NULL);
    if (!write(value, field, (const char *)rule + field->offset)) {
        return;
    }
    enter(out, path, group);
    const char *dot = strchr(path, '.');
    g_string_append_printf(out, "    %s%s = %s;\n", dot ? "    " : "", dot ? dot + 1 : path,
                           value->str);
}

char *bl_rule_write(const struct bl_rule *rule)
{
    guint count = 0;
    const struct bl_field *fields = product_fields(&count);
    g_autoptr(GString) out = g_string_new("product = ");
    write_quoted(out, rule->product);
    g_string_append(out, ";\nrule = {\n");
    g_autofree char *group = g_strdup("");
    for (guint i = 0; i < count; i++) {
        write_field(out, &fields[i], rule, &group);
    }
    enter(out, "", &group);
    g_string_append(out, "};\n");
    return g_strdup(out->str);
}

struct bl_rule *bl_rule_read(const char *text, GError **error)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_conf) *conf = bl_conf_parse(text, strlen(text), NULL, faults);
    const config_setting_t *key = conf ? bl_conf_at(conf, "product") : NULL;
    config_setting_t *group = conf ? bl_conf_at(conf, "rule") : NULL;
    if (group && !config_setting_is_group(group)) {
        group = NULL;
    }
    const char *product = key ? bl_field_string(key) : NULL;
    BL_AUTO(bl_rule) *rule = product_new(product);
    if (group) {
        struct bl_fill fill = product_fill(rule, "");
        product_read(conf, group, &fill);
    }
    if (!product || !group || bl_faults_count(faults) > 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED, "a stored rule cannot be read: %s",
                    bl_faults_count(faults) > 0 ? bl_faults_line(faults, 0)
                                                : "it has no product or no rule in it");
        return NULL;
    }
    return g_steal_pointer(&rule);
}

char *bl_package_write(const struct bl_package *package)
{
    g_autoptr(GString) out = g_string_new("package = ");
    write_quoted(out, package->key);
    g_string_append(out, ";\ntitle = ");
    write_quoted(out, package->title);
    g_string_append(out, ";\nitems = (");
    for (guint i = 0; i < package->items->len; i++) {
        const struct bl_package_item *item =
            &g_array_index(package->items, struct bl_package_item, i);
        g_string_append(out, i > 0 ? ",\n  { product = " : "\n  { product = ");
        write_quoted(out, item->product);
        g_string_append_printf(out,
                               "; surface = \"%s\"; part = ", bl_surface_name(item->surface));
        write_quoted(out, item->part);
        g_string_append_printf(out, "; coats = %d; }", item->coats);
    }
    g_string_append(out, ");\n");
    return g_strdup(out->str);
}
