/* What a product's values must be towards each other, and that each says where it comes from.
 * Only the owner's files are held to this: a stored rule was, when it was stored. */
#include <libconfig.h>
#include <math.h>
#include <string.h>

#include "draft.h"

/* One product under the lens. */
struct lens {
    const struct bl_conf *conf;
    struct config_setting_t *group;
    const char *subject;
    const struct bl_rule *rule;
    const bool *seen;
};

static void fault(const struct lens *lens, const char *path, const char *text)
{
    const config_setting_t *place = config_setting_lookup(lens->group, path);
    bl_conf_fault(lens->conf, place ? place : lens->group, "%s\"%s\": %s", lens->subject, path,
                  text);
}

/* A span the file says, and that could not be read, stands at zero: its fault is told already.
 */
static bool unread(const struct lens *lens, const char *path, const double span[2])
{
    return config_setting_lookup(lens->group, path) && span[1] == 0;
}

static bool given(const struct lens *lens, const char *path)
{
    return config_setting_lookup(lens->group, path) != NULL;
}

static void check_cure(const struct lens *lens)
{
    const struct bl_cure *cure = &lens->rule->cure;
    if (cure->longest_days < cure->wash_days[1]) {
        fault(lens, "cure.longest_days", "must not be less than the later of wash_days");
    }
    if (!isnan(cure->rinse_days) && cure->rinse_days > cure->wash_days[1] &&
        !unread(lens, "cure.wash_days", cure->wash_days)) {
        fault(lens, "cure.rinse_days", "must not be more than the later of wash_days");
    }
    if (!isnan(cure->stall_c) && cure->stall_c >= cure->reference_c) {
        fault(lens, "cure.stall_c", "must be less than reference_c");
    }
}

static void check_wear(const struct lens *lens)
{
    const struct bl_wear *wear = &lens->rule->wear;
    if (given(lens, "wear") && !given(lens, "wear.life_days")) {
        fault(lens, "wear", "nothing in it counts without life_days = [shortest, longest]");
    }
    if ((wear->limits[0] > 1 || wear->limits[1] < 1) &&
        !unread(lens, "wear.limits", wear->limits)) {
        fault(lens, "wear.limits", "the first is 1 at most and the second 1 at least");
    }
}

static void check_care(const struct lens *lens)
{
    const struct bl_care *care = &lens->rule->care;
    if (!given(lens, "care")) {
        return;
    }
    if (!given(lens, "care.interval_days") || !given(lens, "care.what")) {
        fault(lens, "care", "what and interval_days must both be given");
    } else if (care->grace_days > care->interval_days) {
        fault(lens, "care.grace_days", "must not be more than interval_days");
    }
}

static void check_again(const struct lens *lens)
{
    if (lens->rule->role == BL_DRESSING && lens->rule->again == BL_AGAIN_SHOP &&
        given(lens, "role") && given(lens, "again")) {
        fault(lens, "again",
              "a dressing never starts a booking: write \"next booking\" or \"customer\"");
    }
}

static bool basis_given(const struct lens *lens, const struct bl_field *fields, guint count,
                        const char *basis)
{
    g_autofree char *path = g_strconcat("basis.", basis, NULL);
    for (guint i = 0; i < count; i++) {
        if (strcmp(fields[i].help.path, path) == 0) {
            return lens->seen[i];
        }
    }
    return false;
}

static void check_basis(const struct lens *lens)
{
    guint count = 0;
    const struct bl_field *fields = product_fields(&count);
    const char *told = NULL; /* the fields of one basis stand together: say it once */
    for (guint i = 0; i < count; i++) {
        const char *basis = fields[i].basis;
        if (!basis || !lens->seen[i] || g_strcmp0(basis, told) == 0 ||
            basis_given(lens, fields, count, basis)) {
            continue;
        }
        told = basis;
        g_autofree char *text = g_strdup_printf(
            "no basis is named for it: add basis = { %s = \"common practice, no source\"; } or "
            "\"from memory\" or its source",
            basis);
        fault(lens, fields[i].help.path, text);
    }
}

void product_check(const struct bl_conf *conf, struct config_setting_t *group,
                   const struct bl_fill *fill)
{
    struct lens lens = {conf, group, fill->subject, fill->base, fill->seen};
    check_cure(&lens);
    check_wear(&lens);
    check_care(&lens);
    check_again(&lens);
    check_basis(&lens);
}
