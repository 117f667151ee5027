/* The starter catalogue, held against what the trade says of each class of product. The figures
 * are common practice, no source, unless a line says otherwise. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <glib.h>

#include "beadline/catalogue.h"
#include "faulty.h"

#define YEAR 365.25

static int load(void **state)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    struct bl_catalogue *catalogue =
        bl_catalogue_load(BL_SOURCE_DIR "/templates/catalogue", faults);
    g_autofree char *lines = all_lines(faults);
    if (!catalogue) {
        print_error("%s", lines);
    }
    *state = catalogue;
    return catalogue ? 0 : -1;
}

static int unload(void **state)
{
    bl_catalogue_free(*state);
    return 0;
}

static const struct bl_rule *rule_of(const struct bl_catalogue *catalogue, const char *product)
{
    const struct bl_rule *rule = bl_catalogue_rule(catalogue, product);
    if (!rule) {
        fail_msg("the starter catalogue has no \"%s\"", product);
    }
    return rule;
}

static bool strips(const struct bl_rule *rule, const char *what)
{
    return g_strv_contains((const char *const *)rule->stripped_by, what);
}

static void it_has_every_usual_class_in_english_and_german(void **state)
{
    static const struct {
        const char *product;
        enum bl_surface surface;
        enum bl_role role;
    } classes[] = {
        {"coating-1y", BL_PAINT, BL_BASE},
        {"coating-3y", BL_PAINT, BL_BASE},
        {"coating-5y", BL_PAINT, BL_BASE},
        {"spray-sealant", BL_PAINT, BL_TOPPER},
        {"wax", BL_PAINT, BL_TOPPER},
        {"topper", BL_PAINT, BL_TOPPER},
        {"paint-film", BL_PAINT, BL_FILM},
        {"windscreen-coating", BL_WINDSCREEN, BL_BASE},
        {"glass-coating", BL_GLASS, BL_BASE},
        {"glass-sealant", BL_GLASS, BL_TOPPER},
        {"wheel-spray", BL_WHEELS, BL_TOPPER},
        {"wheel-coating", BL_WHEELS, BL_BASE},
        {"trim-protectant", BL_TRIM, BL_TOPPER},
        {"trim-coating", BL_TRIM, BL_BASE},
        {"trim-dressing", BL_TRIM, BL_DRESSING},
        {"tyre-dressing", BL_TYRES, BL_DRESSING},
        {"leather-coating", BL_LEATHER, BL_BASE},
        {"fabric-protection", BL_FABRIC, BL_BASE},
        {"soft-top-protection", BL_SOFT_TOP, BL_BASE},
    };
    for (guint i = 0; i < G_N_ELEMENTS(classes); i++) {
        const struct bl_rule *rule = rule_of(*state, classes[i].product);
        assert_int_equal(rule->surface, classes[i].surface);
        assert_int_equal(rule->role, classes[i].role);
        assert_true(g_hash_table_contains(rule->titles, "en"));
        assert_true(g_hash_table_contains(rule->titles, "de"));
        assert_string_not_equal(bl_rule_title(rule, "en"), bl_rule_title(rule, "de"));
    }
}

static void
a_three_year_coating_is_parked_an_hour_and_not_washed_for_two_to_three_weeks(void **state)
{
    const struct bl_cure *cure = &rule_of(*state, "coating-3y")->cure;
    assert_true(cure->drive_h >= 1);
    assert_true(cure->wash_days[0] == 14 && cure->wash_days[1] == 21);
    assert_true(cure->reference_c == 10);
    assert_true(cure->longest_days == 31.5);
}

static void coatings_outdoors_reach_half_to_two_thirds_of_their_label(void **state)
{
    static const struct {
        const char *product;
        double label_days;
    } coatings[] = {
        {"coating-1y", YEAR},        {"coating-3y", 3 * YEAR},   {"coating-5y", 5 * YEAR},
        {"wheel-coating", 2 * YEAR}, {"trim-coating", 2 * YEAR},
    };
    for (guint i = 0; i < G_N_ELEMENTS(coatings); i++) {
        const struct bl_rule *rule = rule_of(*state, coatings[i].product);
        double label = coatings[i].label_days;
        assert_true(rule->wear.life_days[1] == label);
        assert_true(rule->wear.life_days[0] >= label / 2);
        assert_true(rule->wear.life_days[0] <= label * 2 / 3);
        assert_int_equal(rule->again, BL_AGAIN_SHOP);
    }
}

static void a_wheel_spray_lasts_four_to_six_weeks_and_falls_to_strong_cleaners(void **state)
{
    const struct bl_rule *rule = rule_of(*state, "wheel-spray");
    assert_true(rule->wear.life_days[0] == 28 && rule->wear.life_days[1] == 42);
    assert_true(rule->wear.km_a_year == 12000);
    assert_true(rule->wear.share == 0.6);
    assert_true(strips(rule, "wheel cleaner") && strips(rule, "strong pre-wash"));
}

static void sprays_and_dressings_never_start_a_booking(void **state)
{
    const char *const *products = bl_catalogue_products(*state);
    guint met = 0;
    for (; *products; products++) {
        const struct bl_rule *rule = rule_of(*state, *products);
        if (rule->role == BL_DRESSING || rule->role == BL_TOPPER) {
            assert_int_not_equal(rule->again, BL_AGAIN_SHOP);
            met++;
        }
    }
    assert_true(met >= 8);
}

static void glass_lasts_six_months_or_twelve_with_care_and_a_windscreen_half(void **state)
{
    const struct bl_rule *glass = rule_of(*state, "glass-coating");
    const struct bl_rule *windscreen = rule_of(*state, "windscreen-coating");
    assert_true(glass->wear.life_days[0] == 182.625);
    assert_true(glass->care.extends == 2);
    assert_string_equal(glass->care.what, "glass cleaner");
    assert_true(glass->care.by_customer);
    assert_true(glass->care.interval_days >= 14 && glass->care.interval_days <= 42);
    double half = windscreen->wear.life_days[0] / glass->wear.life_days[0];
    assert_true(half > 0.4 && half < 0.6);
    assert_true(windscreen->cure.wiper_h > 0);
}

static void dressings_last_weeks_and_a_trim_protectant_months(void **state)
{
    const struct bl_wear *tyre = &rule_of(*state, "tyre-dressing")->wear;
    assert_true(tyre->life_days[0] == 7 && tyre->life_days[1] == 28);
    const struct bl_wear *trim = &rule_of(*state, "trim-dressing")->wear;
    assert_true(trim->life_days[0] >= 14 && trim->life_days[1] <= 35);
    const struct bl_wear *protectant = &rule_of(*state, "trim-protectant")->wear;
    assert_true(protectant->life_days[0] >= 60 && protectant->life_days[1] <= 366);
}

static bool all_in(char *const *words, const char *const *known)
{
    for (; *words; words++) {
        if (!g_strv_contains(known, *words)) {
            print_error("\"%s\" is no word of the languages\n", *words);
            return false;
        }
    }
    return true;
}

/* The keys every language's words have; a customer reads the words, never the key. */
static void it_speaks_only_in_words_the_languages_have(void **state)
{
    static const char *const cautions[] = {
        "label first",   "gloves",       "cold panel",    "never mix",  "not on windscreen",
        "not on brakes", "not on tread", "not on pedals", "try brakes", "clear windscreen",
        "no ammonia",    "no abrasive",  "no acid",       "estimate",   NULL};
    static const char *const wash[] = {"two buckets",        "soft mitt", "no brushes",
                                       "mild shampoo",       "dry towel", "rinse only",
                                       "no strong cleaners", NULL};
    static const char *const care[] = {
        "topper",       "glass cleaner",    "wheel rinse", "leather cleaner",
        "fabric brush", "soft top cleaner", "tyre scrub",  NULL};
    const char *const *products = bl_catalogue_products(*state);
    for (; *products; products++) {
        const struct bl_rule *rule = rule_of(*state, *products);
        assert_true(all_in(rule->cautions, cautions));
        assert_true(all_in(rule->wash, wash));
        assert_true(!rule->care.what || g_strv_contains(care, rule->care.what));
        assert_true(g_strv_contains((const char *const *)rule->cautions, "estimate"));
    }
}

static void wheel_and_windscreen_products_carry_their_cautions(void **state)
{
    const char *const *products = bl_catalogue_products(*state);
    for (; *products; products++) {
        const struct bl_rule *rule = rule_of(*state, *products);
        const char *const *cautions = (const char *const *)rule->cautions;
        if (rule->surface == BL_WHEELS || rule->surface == BL_TYRES) {
            assert_true(g_strv_contains(cautions, "try brakes"));
            assert_true(g_strv_contains(cautions, "not on brakes"));
        }
        if (rule->surface == BL_TYRES) {
            assert_true(g_strv_contains(cautions, "not on tread"));
        }
        if (rule->surface == BL_WINDSCREEN) {
            assert_true(g_strv_contains(cautions, "clear windscreen"));
        }
        if (rule->surface == BL_GLASS || rule->surface == BL_WINDSCREEN) {
            assert_true(g_strv_contains(cautions, "no ammonia"));
            assert_true(g_strv_contains(cautions, "no abrasive"));
        }
    }
}

static void every_package_names_products_that_can_lie_together(void **state)
{
    const char *const *packages = bl_catalogue_packages(*state);
    guint count = 0;
    for (; *packages; packages++, count++) {
        const struct bl_package *package = bl_catalogue_package(*state, *packages);
        for (guint i = 0; i < package->items->len; i++) {
            const struct bl_package_item *a =
                &g_array_index(package->items, struct bl_package_item, i);
            const struct bl_rule *rule = rule_of(*state, a->product);
            for (guint j = 0; j < i; j++) {
                const struct bl_package_item *b =
                    &g_array_index(package->items, struct bl_package_item, j);
                /* a later one of the same role on the same place would end the earlier */
                assert_false(a->surface == b->surface && strcmp(a->part, b->part) == 0 &&
                             rule->role == rule_of(*state, b->product)->role);
            }
        }
    }
    assert_true(count >= 6);
    assert_int_equal(bl_catalogue_package(*state, "wash-only")->items->len, 0);
    assert_true(bl_catalogue_package(*state, "full-3y")->items->len >= 4);
}

static void every_rule_comes_back_from_its_text(void **state)
{
    const char *const *products = bl_catalogue_products(*state);
    guint count = 0;
    for (; *products; products++, count++) {
        g_autofree char *text = bl_rule_write(rule_of(*state, *products));
        BL_AUTO(bl_rule) *back = bl_rule_read(text, NULL);
        assert_non_null(back);
        g_autofree char *again = bl_rule_write(back);
        assert_string_equal(text, again);
    }
    assert_true(count >= 18);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_has_every_usual_class_in_english_and_german),
        cmocka_unit_test(
            a_three_year_coating_is_parked_an_hour_and_not_washed_for_two_to_three_weeks),
        cmocka_unit_test(coatings_outdoors_reach_half_to_two_thirds_of_their_label),
        cmocka_unit_test(a_wheel_spray_lasts_four_to_six_weeks_and_falls_to_strong_cleaners),
        cmocka_unit_test(sprays_and_dressings_never_start_a_booking),
        cmocka_unit_test(glass_lasts_six_months_or_twelve_with_care_and_a_windscreen_half),
        cmocka_unit_test(dressings_last_weeks_and_a_trim_protectant_months),
        cmocka_unit_test(it_speaks_only_in_words_the_languages_have),
        cmocka_unit_test(wheel_and_windscreen_products_carry_their_cautions),
        cmocka_unit_test(every_package_names_products_that_can_lie_together),
        cmocka_unit_test(every_rule_comes_back_from_its_text),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
