/* Cure by temperature: cold lengthens it, warmth never shortens it, and the sum can be checked.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

struct scene {
    struct garage garage;
    struct bl_rule *rule;
    struct bl_car *car;
    struct bl_job *job;
    struct bl_treatment *treatment;
    int64_t coat;
};

/* A coating of 14 to 21 days put on at midnight, which keeps the sums round. */
static void set_up(struct scene *scene, double temp_c)
{
    garage_init(&scene->garage, "Europe/London");
    scene->rule = garage_rule(&scene->garage, "coating");
    scene->car = garage_add_car(&scene->garage);
    scene->coat = garage_at(&scene->garage, "2026-01-05");
    scene->job = garage_job(scene->car, 1, scene->coat);
    scene->job->temp_c = temp_c;
    scene->treatment = garage_treat(scene->car, 1, 1, scene->rule, scene->coat);
}

static double days_of(const struct scene *scene)
{
    return (double)(bl_cure_end(scene->treatment, scene->job, &scene->garage.shop) -
                    scene->treatment->last_coat_at) /
           86400;
}

static void set_climate(struct scene *scene, double january, double rest)
{
    scene->garage.shop.has_climate = true;
    for (int month = 0; month < 12; month++) {
        scene->garage.shop.climate_c[month] = month ? rest : january;
    }
}

static void assert_near(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance)) {
        fail_msg("%.9g is not %.9g", value, expected);
    }
}

/* Worked: 21 days at 10 degrees are 28.7 at 6, 36.5 at 3 but held at 31.5, and 21 at 17. */
static void cold_lengthens_a_labels_time_and_warmth_never_shortens_it(void **state)
{
    static const struct {
        double temp_c, days;
    } cases[] = {{6, 28.68}, {3, 31.5}, {17, 21}, {10, 21}, {40, 21}, {-10, 31.5}};
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
        struct scene scene;
        set_up(&scene, cases[i].temp_c);
        assert_near(days_of(&scene), cases[i].days, 0.01);
        garage_clear(&scene.garage);
    }
    assert_near(bl_cure_speed(6, 10, 0.531), 0.7321, 5e-5);
    assert_near(21 / bl_cure_speed(3, 10, 0.531), 36.5, 0.05);
}

static void the_longest_time_is_the_rules_own(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene, 3);
    scene.rule->cure.longest_days = 60;
    assert_near(days_of(&scene), 21 / bl_cure_speed(3, 10, 0.531), 1e-4);
    scene.rule->cure.longest_days = 0; /* less than the label's is nothing said */
    assert_near(days_of(&scene), 21, 1e-9);
    garage_clear(&scene.garage);
}

/* Six degrees at the job, nine in the climate: one day of the first, then the second. */
static void the_jobs_temperature_counts_on_its_own_day_only(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene, 6);
    set_climate(&scene, 9, 9);
    double first = bl_cure_speed(6, 10, 0.531);
    double then = bl_cure_speed(9, 10, 0.531);
    assert_near(days_of(&scene), 1 + (21 - first) / then, 1e-4);
    scene.treatment->last_coat_at -=
        6 * 3600; /* the evening before: that day is the job's too */
    assert_near(days_of(&scene), 1.25 + (21 - 1.25 * first) / then, 1e-4);
    scene.job->temp_c = (double)NAN;
    assert_near(days_of(&scene), 21 / then, 1e-4);
    garage_clear(&scene.garage);
}

static void without_any_temperature_the_label_stands(void **state)
{
    struct scene scene;
    struct bl_cure_story story;
    (void)state;
    set_up(&scene, (double)NAN);
    assert_near(days_of(&scene), 21, 1e-9);
    bl_cure_tell(scene.car, scene.treatment, &scene.garage.shop, scene.coat, &story);
    assert_int_equal(story.days->len, 21);
    assert_int_equal(g_array_index(story.days, struct bl_cure_day, 7).warmth, BL_WARMTH_LABEL);
    assert_int_equal(story.end, scene.coat + 21 * BL_DAY);
    bl_cure_story_clear(&story);
    garage_clear(&scene.garage);
}

/* Linear between the middles of the months, read at noon: the noon of 16 January is its middle
 * (31 days), and 30.75 days later the midnight of 15 February is that of February. */
static void the_climate_is_linear_between_the_middles_of_months(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene, 6);
    set_climate(&scene, 4, 10);
    const struct bl_shop *shop = &scene.garage.shop;
    assert_near(bl_cure_climate_c(shop, bl_date_of(2026, 1, 16)), 4, 1e-9);
    assert_near(bl_cure_climate_c(shop, bl_date_of(2026, 1, 26)), 4 + 6 * 10 / 29.5, 1e-9);
    assert_near(bl_cure_climate_c(shop, bl_date_of(2026, 1, 6)), 4 + 6 * 10 / 31.0, 1e-9);
    assert_near(bl_cure_climate_c(shop, bl_date_of(2026, 12, 31)), 4 + 6 * 16 / 31.0, 1e-9);
    assert_near(bl_cure_climate_c(shop, bl_date_of(2026, 7, 9)), 10, 1e-9);
    scene.garage.shop.has_climate = false;
    assert_true(isnan(bl_cure_climate_c(shop, bl_date_of(2026, 1, 16))));
    garage_clear(&scene.garage);
}

static void below_its_limit_nothing_cures(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene, 4);
    set_climate(&scene, 12, 12);
    scene.rule->cure.stall_c = 5;
    assert_near(days_of(&scene), 22, 1e-9); /* the job's own day gathered nothing */
    scene.job->temp_c = 5;
    assert_true(days_of(&scene) < 22);
    set_climate(&scene, 4, 4);
    assert_near(days_of(&scene), 31.5, 1e-9);
    garage_clear(&scene.garage);
}

static struct bl_event *indoors(struct scene *scene, double from_day, double hours,
                                double temp_c)
{
    struct bl_event *event = garage_event(scene->car, scene->car->events->len + 1,
                                          scene->coat + llround((from_day * 24 + hours) * 3600),
                                          BL_EV_CURED_INDOORS, -1);
    event->hours = hours;
    event->temp_c = temp_c;
    return event;
}

static int64_t told_end(const struct scene *scene, struct bl_cure_story *story)
{
    bl_cure_tell(scene->car, scene->treatment, &scene->garage.shop, scene->coat + 400 * BL_DAY,
                 story);
    return story->end;
}

/* Two days at 20 degrees count as two days of the label, not as four. */
static void hours_indoors_count_at_their_own_temperature(void **state)
{
    struct scene scene;
    struct bl_cure_story story;
    (void)state;
    set_up(&scene, 6);
    double slow = bl_cure_speed(6, 10, 0.531);
    indoors(&scene, 0.5, 48, 20);
    double days = (double)(told_end(&scene, &story) - scene.coat) / 86400;
    assert_near(days, 2 + (21 - 2) / slow, 1e-4);
    assert_false(story.indoors || story.held);
    const struct bl_cure_day *second = &g_array_index(story.days, struct bl_cure_day, 1);
    assert_int_equal(second->warmth, BL_WARMTH_INDOORS);
    assert_int_equal(second->from, scene.coat + 12 * 3600);
    assert_true(second->speed > 2);
    assert_near(second->days, 0.5, 1e-12);
    bl_cure_story_clear(&story);
    garage_clear(&scene.garage);
}

static void a_lamp_ends_a_cure_and_the_story_with_it(void **state)
{
    struct scene scene;
    struct bl_cure_story story;
    (void)state;
    set_up(&scene, 6);
    indoors(&scene, 2.25, 0, 0)->with = g_strdup("lamp");
    assert_int_equal(told_end(&scene, &story), scene.coat + 9 * 6 * 3600);
    assert_true(story.indoors);
    assert_int_equal(story.days->len, 3);
    double sum = g_array_index(story.days, struct bl_cure_day, 2).sum;
    assert_near(sum, 2.25 * bl_cure_speed(6, 10, 0.531), 1e-9);
    bl_cure_story_clear(&story);
    garage_clear(&scene.garage);
}

static void the_story_adds_up_to_the_date(void **state)
{
    struct scene scene;
    struct bl_cure_story story;
    (void)state;
    set_up(&scene, 8);
    set_climate(&scene, 3, 9);
    scene.rule->cure.stall_c = 4.5;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 300; round++) {
        scene.treatment->last_coat_at =
            scene.coat + g_rand_int_range(random, -200 * 86400, 200 * 86400);
        scene.job->at = scene.treatment->last_coat_at + g_rand_int_range(random, 0, 20000);
        told_end(&scene, &story);
        double sum = 0;
        int64_t at = scene.treatment->last_coat_at;
        for (guint i = 0; i < story.days->len; i++) {
            const struct bl_cure_day *day = &g_array_index(story.days, struct bl_cure_day, i);
            double rate = day->stalled ? 0 : fmin(day->speed, 1);
            sum += rate * (double)(day->to - day->from) / 86400;
            assert_int_equal(day->from, at);
            assert_near(day->sum, fmin(sum, 21), 1e-9);
            at = day->to;
        }
        assert_int_equal(at, story.end);
        assert_near(sum, story.held ? sum : 21, 1e-4);
        assert_true(!story.held ||
                    story.end == scene.treatment->last_coat_at + llround(31.5 * 86400));
        assert_int_equal(story.end,
                         bl_cure_end(scene.treatment, scene.job, &scene.garage.shop));
        bl_cure_story_clear(&story);
    }
    g_rand_free(random);
    garage_clear(&scene.garage);
}

static void colder_is_never_sooner(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 1000; round++) {
        struct scene scene;
        set_up(&scene, g_rand_double_range(random, -5, 25));
        scene.treatment->last_coat_at += g_rand_int_range(random, 0, 365 * 86400);
        scene.job->at = scene.treatment->last_coat_at;
        scene.garage.shop.has_climate = g_rand_boolean(random);
        for (int month = 0; month < 12; month++) {
            scene.garage.shop.climate_c[month] = g_rand_double_range(random, -5, 25);
        }
        scene.rule->cure.stall_c = g_rand_boolean(random) ? 3 : (double)NAN;
        double before = days_of(&scene);
        assert_true(before >= 20.99 && before <= 31.51);
        scene.job->temp_c -= g_rand_double_range(random, 0, 5);
        scene.garage.shop.climate_c[g_rand_int_range(random, 0, 12)] -=
            g_rand_double_range(random, 0, 10);
        assert_true(days_of(&scene) >= before - 1e-9);
        garage_clear(&scene.garage);
    }
    g_rand_free(random);
}

/* "Three years": after two coats an hour apart it counts from the last, and is washed after two
 * to three weeks (common practice, no source). */
static void two_coats_an_hour_apart_count_from_the_last(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene, 15);
    scene.treatment->coats = 2;
    scene.treatment->last_coat_at = garage_at(&scene.garage, "2026-01-05 15:00");
    scene.job->at = scene.treatment->last_coat_at + 3600;
    int32_t date = bl_cure_wash_date(scene.car, &scene.garage.shop, scene.job->at, NULL);
    assert_int_equal(date, bl_date_of(2026, 1, 27)); /* 21 days after 15:00, then a whole day */
    garage_clear(&scene.garage);
}

static void weather_outside_the_labels_range_is_noticed(void **state)
{
    struct scene scene;
    struct bl_cure_outside outside;
    (void)state;
    set_up(&scene, 4);
    scene.rule->cure.apply_c[0] = 5;
    scene.rule->cure.apply_c[1] = 30;
    scene.rule->cure.apply_rh[0] = (double)NAN;
    scene.rule->cure.apply_rh[1] = 80;
    assert_true(bl_cure_outside(scene.rule, 4, 50, &outside));
    assert_true(outside.too_cold && !outside.too_warm && !outside.too_damp && !outside.too_dry);
    assert_true(bl_cure_outside(scene.rule, 31, 90, &outside));
    assert_true(!outside.too_cold && outside.too_warm && outside.too_damp && !outside.too_dry);
    assert_false(bl_cure_outside(scene.rule, 5, 80, &outside));
    assert_false(bl_cure_outside(scene.rule, (double)NAN, (double)NAN, NULL));
    assert_false(bl_cure_outside(scene.rule, 30, 0, NULL));
    garage_clear(&scene.garage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cold_lengthens_a_labels_time_and_warmth_never_shortens_it),
        cmocka_unit_test(the_longest_time_is_the_rules_own),
        cmocka_unit_test(the_jobs_temperature_counts_on_its_own_day_only),
        cmocka_unit_test(without_any_temperature_the_label_stands),
        cmocka_unit_test(the_climate_is_linear_between_the_middles_of_months),
        cmocka_unit_test(below_its_limit_nothing_cures),
        cmocka_unit_test(hours_indoors_count_at_their_own_temperature),
        cmocka_unit_test(a_lamp_ends_a_cure_and_the_story_with_it),
        cmocka_unit_test(the_story_adds_up_to_the_date),
        cmocka_unit_test(colder_is_never_sooner),
        cmocka_unit_test(two_coats_an_hour_apart_count_from_the_last),
        cmocka_unit_test(weather_outside_the_labels_range_is_noticed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
