/* Lives learned: read from the owner's files into the rules they change, and written into the
 * file this program keeps them in. */
#include <libconfig.h>
#include <math.h>
#include <stddef.h>

#include "beadline/civil.h"
#include "draft.h"

static bool value_date(const struct bl_field *field, const struct config_setting_t *value,
                       void *target, GError **error)
{
    const char *text = bl_field_string(value);
    return text ? bl_date_parse(text, target, error) : bl_field_refuse(field, value, error);
}

/* The life has the range of a rule's own. */
static const struct bl_field fields[] = {
    {.help = {"life_days", "list of two numbers", "0.25 to 36525", "",
              "days it lasts without care, shortest first"},
     .read = bl_field_span,
     .lo = 0.25,
     .hi = 36525,
     .count = 2,
     .offset = offsetof(struct bl_learned, life_days)},
    {.help = {"learned_on", "date", "\"2027-03-01\"", "", "the day it was adopted"},
     .read = value_date,
     .offset = offsetof(struct bl_learned, date)},
    {.help = {"basis", "text", "", "", "what it was learned from"},
     .read = bl_field_text,
     .offset = offsetof(struct bl_learned, basis)},
};

static void override(const struct bl_conf *conf, const struct config_setting_t *group,
                     const char *subject, struct bl_learned *learned, struct bl_rule *rule)
{
    if (isnan(rule->wear.life_days[0])) {
        bl_conf_fault(
            conf, group,
            "%sthe product has no life of its own: give it wear = { life_days = [..., "
            "...]; } first",
            subject);
        return;
    }
    for (guint i = 0; i < 2; i++) {
        learned->label_days[i] = rule->wear.life_days[i];
        rule->wear.life_days[i] = learned->life_days[i];
    }
}

struct bl_learned *learned_read(const struct bl_conf *conf, struct config_setting_t *group,
                                GHashTable *rules)
{
    struct bl_learned *learned = g_new0(struct bl_learned, 1);
    learned->product = g_strdup(config_setting_name(group));
    learned->file = g_path_get_basename(bl_conf_file(conf));
    g_autofree char *shown = bl_field_shown(learned->product);
    g_autofree char *subject = g_strdup_printf("learned \"%s\": ", shown);
    struct bl_fill fill = {
        .fields = fields, .count = G_N_ELEMENTS(fields), .subject = subject, .base = learned};
    bl_conf_fill(conf, group, "", &fill);
    struct bl_rule *rule = rules ? g_hash_table_lookup(rules, learned->product) : NULL;
    if (rule) {
        override(conf, group, subject, learned, rule);
    } else {
        product_missing(conf, group, subject, learned->product, rules);
    }
    return learned;
}

void learned_free(struct bl_learned *learned)
{
    if (!learned) {
        return;
    }
    g_free(learned->product);
    g_free(learned->basis);
    g_free(learned->file);
    g_free(learned);
}

char *learned_write(const GList *lives)
{
    GString *out = g_string_new(
        "# Lives learned from what was seen on your cars, each in place of the one its product's\n"
        "# own group says. `beadline learn PRODUCT --adopt` writes this file anew: change a "
        "number or\n"
        "# take out a product as you like, but notes of your own do not stay.\n"
        "\n"
        "learned =\n"
        "{\n");
    for (const GList *at = lives; at; at = at->next) {
        const struct bl_learned *learned = at->data;
        g_autofree char *date = bl_date_format(learned->date);
        char lo[G_ASCII_DTOSTR_BUF_SIZE];
        char hi[G_ASCII_DTOSTR_BUF_SIZE];
        g_ascii_formatd(lo, sizeof lo, "%.10g", learned->life_days[0]);
        g_ascii_formatd(hi, sizeof hi, "%.10g", learned->life_days[1]);
        g_string_append_printf(out,
                               "    %s =\n    {\n        life_days = [%s, %s];\n"
                               "        learned_on = \"%s\";\n        basis = ",
                               learned->product, lo, hi, date);
        write_quoted(out, learned->basis);
        g_string_append(out, ";\n    };\n");
    }
    g_string_append(out, "};\n");
    return g_string_free(out, FALSE);
}
