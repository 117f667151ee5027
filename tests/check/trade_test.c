/* What the trade knows, planned with the starter catalogue as a shop would get it: common
 * practice, no source, each of them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/catalogue.h"
#include "beadline/wear.h"
#include "faulty.h"
#include "garage.h"
#include "garage_live.h"

struct scene {
    struct garage garage;
    struct bl_catalogue *catalogue;
    struct bl_car *car;
    int64_t start;
};

static int set_up(void **state)
{
    struct scene *scene = g_new0(struct scene, 1);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    scene->catalogue = bl_catalogue_load(BL_SOURCE_DIR "/templates/catalogue", faults);
    garage_init(&scene->garage, "Europe/London");
    scene->start = garage_at(&scene->garage, "2026-03-02 12:00");
    scene->car = garage_add_car(&scene->garage);
    *state = scene;
    return scene->catalogue ? 0 : -1;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    garage_clear(&scene->garage);
    bl_catalogue_free(scene->catalogue);
    g_free(scene);
    return 0;
}

static struct bl_treatment *put_on(struct scene *scene, int64_t id, const char *product,
                                   int64_t at)
{
    const struct bl_rule *rule = bl_catalogue_rule(scene->catalogue, product);
    assert_non_null(rule);
    garage_job(scene->car, id, at);
    return garage_treat(scene->car, id, id, rule, at);
}

/* Driven just as the label supposes, for as long as it lasts. */
static void drive(struct scene *scene, double km_a_year, int days)
{
    for (int day = 0; day <= days; day += 30) {
        garage_read(scene->car, 1000 + day, scene->start + day * BL_DAY,
                    20000 + km_a_year / 365.25 * day);
    }
}

static int64_t days_on(const struct scene *scene, double days)
{
    return scene->start + llround(days * (double)BL_DAY);
}

static void assert_near(int64_t at, int64_t expected)
{
    assert_true(ABS(at - expected) <= 1);
}

static void regular_driving_gives_exactly_the_labels_range(void **state)
{
    struct scene *scene = *state;
    const char *const *products = bl_catalogue_products(scene->catalogue);
    int64_t id = 0;
    drive(scene, 12000, 2500);
    for (; *products; products++) {
        const struct bl_rule *rule = bl_catalogue_rule(scene->catalogue, *products);
        struct bl_life life;
        if (isnan(rule->wear.life_days[0]) || isfinite(rule->wear.max_km) ||
            rule->wear.km_a_year != 12000) {
            continue;
        }
        const struct bl_treatment *treatment = put_on(scene, ++id, *products, scene->start);
        bl_wear_life(scene->car, treatment, &scene->garage.shop, scene->start, &life);
        double kept_up = isnan(rule->care.interval_days) ? 1 : rule->care.extends;
        assert_near(life.early, days_on(scene, rule->wear.life_days[0]));
        assert_near(life.likely,
                    days_on(scene, (rule->wear.life_days[0] + rule->wear.life_days[1]) / 2));
        assert_near(life.late, days_on(scene, rule->wear.life_days[1] * kept_up));
        g_array_set_size(scene->car->treatments, 0);
        g_array_set_size(scene->car->jobs, 0);
    }
    assert_true(id >= 15);
}

static void
six_months_of_glass_coating_become_twelve_with_its_cleaner_every_four_weeks(void **state)
{
    struct scene *scene = *state;
    struct bl_life bare;
    struct bl_life kept;
    const struct bl_treatment *glass = put_on(scene, 1, "glass-coating", scene->start);
    bl_wear_life(scene->car, glass, &scene->garage.shop, scene->start, &bare);
    assert_near(bare.early, days_on(scene, 365.25 / 2));
    for (int week = 4; week <= 52; week += 4) {
        garage_event(scene->car, 100 + week, scene->start + 7 * week * BL_DAY, BL_EV_CARE,
                     BL_GLASS);
    }
    bl_wear_life(scene->car, glass, &scene->garage.shop, days_on(scene, 364), &kept);
    assert_near(kept.likely, days_on(scene, 365.25));
    assert_near(kept.late, days_on(scene, 365.25));
}

static void a_strong_wheel_cleaner_ends_a_wheel_spray_that_day(void **state)
{
    struct scene *scene = *state;
    struct bl_life life;
    int64_t then = days_on(scene, 9.5);
    const struct bl_treatment *spray = put_on(scene, 1, "wheel-spray", scene->start);
    garage_event(scene->car, 100, then, BL_EV_HARSH_WASH, BL_WHEELS)->with =
        g_strdup("wheel cleaner");
    bl_wear_life(scene->car, spray, &scene->garage.shop, then + 1, &life);
    assert_int_equal(life.ended_at, then);
}

/* The first coat at 11:00, the last at noon of 2 March, in ordinary spring weather: the label's
 * 14 to 21 days end on 23 March at noon, and the next whole day is the 24th. */
static void
a_three_year_coating_counts_from_its_last_coat_and_is_washed_after_three_weeks(void **state)
{
    struct scene *scene = *state;
    struct bl_treatment *coating = put_on(scene, 1, "coating-3y", scene->start);
    coating->coats = 2;
    g_array_index(scene->car->jobs, struct bl_job, 0).temp_c = 14;
    g_array_index(scene->car->jobs, struct bl_job, 0).at = scene->start + 2 * 3600;
    int32_t date =
        bl_cure_wash_date(scene->car, &scene->garage.shop, scene->start + 7200, NULL);
    assert_int_equal(date, bl_date_of(2026, 3, 24));
    double weeks = (double)(bl_zone_instant(scene->garage.shop.zone, date, 0) - scene->start) /
                   (7.0 * (double)BL_DAY);
    assert_true(weeks >= 2 && weeks < 3.15);
}

struct told {
    int64_t last;
    int count;
};

/* A message about the wheels, whatever its kind but the handover. */
static void wheels_told(const struct bl_plan *plan, const struct bl_intent *intent,
                        void *context)
{
    struct told *told = context;
    for (guint i = 0; i < intent->dues->len; i++) {
        const struct bl_due *due =
            &g_array_index(plan->dues, struct bl_due, g_array_index(intent->dues, guint, i));
        if (due->kind == BL_TOP_UP || due->kind == BL_CARE) {
            assert_true(told->last == 0 || intent->send_at >= told->last + 41 * BL_DAY);
            told->last = intent->send_at;
            told->count++;
            return;
        }
    }
}

/* Two years at 30 000 miles, the wheels sprayed at each visit, every four weeks. */
static int wheel_messages(struct scene *scene, enum bl_again again)
{
    struct told told = {.last = 0};
    double km_a_day = 30000 * BL_KM_A_MILE / 365.25;
    scene->garage.shop.restraint.tips_offers_a_year = 1000;
    for (int visit = 0; visit < 26; visit++) {
        int64_t at = scene->start + visit * 28 * BL_DAY;
        put_on(scene, visit + 1, "wheel-spray", at)->again = (int)again;
        garage_read(scene->car, visit + 1, at, 50000 + visit * 28 * km_a_day);
        garage_live(&scene->garage, at, at + 28 * BL_DAY, wheels_told, &told);
    }
    return told.count;
}

static void thirty_thousand_miles_a_year_mean_no_booking_for_a_wheel_spray(void **state)
{
    assert_int_equal(wheel_messages(*state, BL_AGAIN_NEXT_BOOKING), 0);
}

static void thirty_thousand_miles_a_year_mean_one_wheel_message_in_six_weeks(void **state)
{
    int count = wheel_messages(*state, BL_AGAIN_CUSTOMER);
    assert_true(count >= 8 && count <= 26 * 28 / 42 + 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(regular_driving_gives_exactly_the_labels_range, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(
            six_months_of_glass_coating_become_twelve_with_its_cleaner_every_four_weeks, set_up,
            tear_down),
        cmocka_unit_test_setup_teardown(a_strong_wheel_cleaner_ends_a_wheel_spray_that_day,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            a_three_year_coating_counts_from_its_last_coat_and_is_washed_after_three_weeks,
            set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            thirty_thousand_miles_a_year_mean_no_booking_for_a_wheel_spray, set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            thirty_thousand_miles_a_year_mean_one_wheel_message_in_six_weeks, set_up,
            tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
