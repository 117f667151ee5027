/* Advice: from the treatments a message speaks of to the sentences it carries. */
#include "advice.h"

#include <math.h>

#define DAYS_A_WEEK 7.0

struct bl_advice {
    GHashTable *wash, *cautions; /* const char * keys, owned by rules or static */
    GHashTable *cares;           /* key -> shortest interval, double * */
};

/* All that a customer may ever need to know, whatever he does to the car: what a handover on
 * paper or by mail says. */
static const char *const in_full[] = {
    "label first",   "gloves",       "cold panel",    "never mix",  "not on windscreen",
    "not on brakes", "not on tread", "not on pedals", "try brakes", "clear windscreen",
    "no ammonia",    "no abrasive",  "no acid",       "estimate",   NULL};

static const char *const driving_off[BL_SURFACES][4] = {
    [BL_WINDSCREEN] = {"clear windscreen", "no ammonia", "no abrasive"},
    [BL_GLASS] = {"no ammonia", "no abrasive"},
    [BL_WHEELS] = {"try brakes"},
};

static const char *const every_bottle[] = {"label first", "gloves", "cold panel", "never mix",
                                           NULL};

static const char *const putting_on[BL_SURFACES][5] = {
    [BL_PAINT] = {"not on windscreen", "not on brakes", "not on tread"},
    [BL_WINDSCREEN] = {"clear windscreen", "no abrasive"},
    [BL_GLASS] = {"no ammonia", "no abrasive"},
    [BL_WHEELS] = {"not on brakes", "not on tread", "try brakes"},
    [BL_TYRES] = {"not on brakes", "not on tread", "try brakes"},
    [BL_TRIM] = {"not on windscreen", "not on brakes", "not on tread", "not on pedals"},
    [BL_LEATHER] = {"not on pedals"},
    [BL_FABRIC] = {"not on pedals"},
    [BL_SOFT_TOP] = {"not on windscreen", "not on brakes"},
};

struct bl_advice *bl_advice_new(void)
{
    struct bl_advice *advice = g_new0(struct bl_advice, 1);
    advice->wash = g_hash_table_new(g_str_hash, g_str_equal);
    advice->cautions = g_hash_table_new(g_str_hash, g_str_equal);
    advice->cares = g_hash_table_new_full(g_str_hash, g_str_equal, NULL, g_free);
    return advice;
}

void bl_advice_free(struct bl_advice *advice)
{
    if (!advice) {
        return;
    }
    g_hash_table_destroy(advice->wash);
    g_hash_table_destroy(advice->cautions);
    g_hash_table_destroy(advice->cares);
    g_free(advice);
}

static void add_keys(GHashTable *set, const char *const *keys)
{
    for (; keys && *keys; keys++) {
        g_hash_table_add(set, (gpointer)*keys);
    }
}

void bl_advice_wash(struct bl_advice *advice, const struct bl_treatment *treatment)
{
    add_keys(advice->wash, (const char *const *)treatment->rule->wash);
}

static void add_care(struct bl_advice *advice, const struct bl_care *care)
{
    const double *known = g_hash_table_lookup(advice->cares, care->what);
    if (!known || isnan(*known) || care->interval_days < *known) {
        double *days = g_new(double, 1);
        *days = care->interval_days;
        g_hash_table_replace(advice->cares, care->what, days);
    }
}

void bl_advice_handed_over(struct bl_advice *advice, const struct bl_treatment *treatment)
{
    const struct bl_rule *rule = treatment->rule;
    add_keys(advice->cautions, (const char *const *)rule->cautions);
    add_keys(advice->cautions, driving_off[treatment->surface]);
    g_hash_table_add(advice->cautions, (gpointer) "estimate");
    if (rule->care.by_customer && rule->care.what) {
        add_care(advice, &rule->care);
    }
}

void bl_advice_by_customer(struct bl_advice *advice, const struct bl_treatment *treatment)
{
    add_keys(advice->cautions, (const char *const *)treatment->rule->cautions);
    add_keys(advice->cautions, every_bottle);
    add_keys(advice->cautions, putting_on[treatment->surface]);
}

void bl_advice_care(struct bl_advice *advice, const struct bl_treatment *treatment)
{
    bl_advice_by_customer(advice, treatment);
    if (treatment->rule->care.what) {
        add_care(advice, &treatment->rule->care);
    }
}

static void tell_wash(const struct bl_advice *advice, const struct bl_language *language,
                      bool short_words, struct bl_said *said)
{
    for (const char *const *key = bl_language_keys(language, "wash"); *key; key++) {
        if (!g_hash_table_contains(advice->wash, *key)) {
            continue;
        }
        const char *text = short_words ? bl_language_word(language, "short wash", *key) : NULL;
        text = text ? text : bl_language_word(language, "wash", *key);
        g_ptr_array_add(said->wash, (gpointer)text);
    }
}

static void tell_cautions(GHashTable *cautions, const struct bl_language *language,
                          const char *group, struct bl_said *said)
{
    for (const char *const *key = bl_language_keys(language, group); *key; key++) {
        if (g_hash_table_contains(cautions, *key)) {
            g_ptr_array_add(said->cautions, (gpointer)bl_language_word(language, group, *key));
        }
    }
}

static void tell_cares(const struct bl_advice *advice, const struct bl_language *language,
                       struct bl_said *said)
{
    for (const char *const *key = bl_language_keys(language, "cares"); *key; key++) {
        const double *days = g_hash_table_lookup(advice->cares, *key);
        if (!days) {
            continue;
        }
        struct bl_care_said care = {.text = bl_language_word(language, "cares", *key)};
        if (*days > 0) {
            care.weeks = (int)MIN(MAX(lround(*days / DAYS_A_WEEK), 1), 520);
        }
        g_array_append_val(said->cares, care);
    }
}

void bl_advice_tell(const struct bl_advice *advice, const struct bl_language *language,
                    enum bl_kind kind, enum bl_channel channel, struct bl_said *said)
{
    bool sms = channel == BL_SMS;
    const char *group = "cautions";
    if (sms) {
        group = kind == BL_TOP_UP || kind == BL_CARE ? "short cautions top-up"
                                                     : "short cautions handover";
    } else if (kind == BL_HANDOVER) {
        add_keys(advice->cautions, in_full);
    }
    tell_wash(advice, language, sms, said);
    tell_cautions(advice->cautions, language, group, said);
    tell_cares(advice, language, said);
}
