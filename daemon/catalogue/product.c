/* One product: from its group in a file, or in a stored text, to a rule. What its parts must be
 * towards each other is checked in product_check.c. */
#include <libconfig.h>
#include <math.h>
#include <string.h>

#include "draft.h"

#define MOST_EXPOSURES 32

struct bl_rule *product_new(const char *key)
{
    struct bl_rule *rule = g_new0(struct bl_rule, 1);
    rule->product = g_strdup(key);
    rule->exposures = g_array_new(FALSE, TRUE, sizeof(struct bl_exposure));
    rule->cure = (struct bl_cure){
        .rinse_days = NAN,
        .stall_c = NAN,
        .longest_days = NAN,
        .apply_c = {NAN, NAN},
        .apply_rh = {NAN, NAN},
    };
    rule->wear = (struct bl_wear){
        .life_days = {NAN, NAN},
        .max_km = INFINITY,
        .lead_days = NAN,
    };
    rule->care.interval_days = NAN;
    return rule;
}

static gint by_name(gconstpointer a, gconstpointer b)
{
    const struct bl_exposure *x = a, *y = b;
    return g_strcmp0(x->name, y->name);
}

static void check_twice(const struct bl_conf *conf, const config_setting_t *list,
                        const char *subject, const GArray *exposures)
{
    for (guint i = 1; i < exposures->len; i++) {
        const char *name = g_array_index(exposures, struct bl_exposure, i).name;
        const char *before = g_array_index(exposures, struct bl_exposure, i - 1).name;
        if (name && g_strcmp0(name, before) == 0) {
            bl_conf_fault(conf, list, "%s\"exposures\": \"%s\" is there twice: keep one",
                          subject, name);
        }
    }
}

static void read_exposures(const struct bl_conf *conf, struct config_setting_t *group,
                           const char *subject, struct bl_rule *rule)
{
    const config_setting_t *list = config_setting_get_member(group, "exposures");
    if (!list) {
        return;
    }
    if (!config_setting_is_list(list) || config_setting_length(list) > MOST_EXPOSURES) {
        bl_conf_fault(conf, list,
                      "%s\"exposures\" is a list of groups: ( { name = \"winter salt\"; factor "
                      "= 1.2; } )",
                      subject);
        return;
    }
    for (int i = 0; i < config_setting_length(list); i++) {
        const config_setting_t *element = config_setting_get_elem(list, (unsigned)i);
        if (!config_setting_is_group(element)) {
            bl_conf_fault(conf, element,
                          "%s\"exposures\": each is a group: { name = \"...\"; factor = 1.2; }",
                          subject);
            continue;
        }
        struct bl_exposure exposure = {NULL, 1};
        struct bl_fill fill = {.subject = subject, .base = &exposure};
        fill.fields = product_fields(&fill.count);
        bl_conf_fill(conf, element, "exposures[].", &fill);
        g_array_append_val(rule->exposures, exposure);
    }
    g_array_sort(rule->exposures, by_name);
    check_twice(conf, list, subject, rule->exposures);
}

struct bl_fill product_fill(struct bl_rule *rule, const char *subject)
{
    struct bl_fill fill = {.subject = subject, .base = rule};
    fill.fields = product_fields(&fill.count);
    return fill;
}

void product_read(const struct bl_conf *conf, struct config_setting_t *group,
                  const struct bl_fill *fill)
{
    struct bl_rule *rule = fill->base;
    bl_conf_fill(conf, group, "", fill);
    read_exposures(conf, group, fill->subject, rule);
    if (isnan(rule->cure.longest_days)) {
        rule->cure.longest_days = 1.5 * rule->cure.wash_days[1];
    }
}
