/* Upkeep: what care does to a protection's life, by stretches and by habit, and the sum. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

#define START INT64_C(1772442000)
#define HALF  (365.25 / 2)

struct scene {
    struct garage garage;
    struct bl_rule *rule;
    struct bl_car *car;
    struct bl_treatment *treatment;
};

/* Six months of glass coating; its cleaner every 42 days (14 late at most) doubles them. */
static void set_up(struct scene *scene)
{
    garage_init(&scene->garage, "Europe/London");
    scene->rule = garage_rule(&scene->garage, "glass coating");
    scene->rule->surface = BL_GLASS;
    scene->rule->wear.life_days[0] = scene->rule->wear.life_days[1] = HALF;
    scene->rule->care = (struct bl_care){.interval_days = 42,
                                         .grace_days = 14,
                                         .extends = 2,
                                         .by_customer = true,
                                         .what = g_strdup("glass cleaner")};
    scene->car = garage_add_car(&scene->garage);
    garage_job(scene->car, 1, START);
    scene->treatment = garage_treat(scene->car, 1, 1, scene->rule, START);
}

static int64_t on_day(double day)
{
    return START + llround(day * 86400);
}

static void care(struct scene *scene, double day)
{
    garage_event(scene->car, scene->car->events->len + 100, on_day(day), BL_EV_CARE, -1);
}

static struct bl_life life_at(const struct scene *scene, double now)
{
    struct bl_life life;
    bl_wear_life(scene->car, scene->treatment, &scene->garage.shop, on_day(now), &life);
    return life;
}

static void assert_day(int64_t at, double day)
{
    double days = (double)(at - START) / 86400;
    if (!(fabs(days - day) < 2e-5)) {
        fail_msg("day %.6f is not day %.6f", days, day);
    }
}

/* Six months of glass coating become twelve when its cleaner is kept up every few weeks (common
 * practice, no source): 182.6 days bare, 365.25 kept up. */
static void six_months_of_glass_coating_become_twelve_when_kept_up(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    assert_day(life_at(&scene, 1).early, HALF);
    assert_day(life_at(&scene, 1).likely, HALF);
    assert_day(life_at(&scene, 1).late, 365.25);
    for (int day = 35; day <= 350; day += 35) {
        care(&scene, day);
    }
    struct bl_life life = life_at(&scene, 351);
    assert_day(life.late, 365.25);
    assert_day(life.likely, 365.25);
    assert_true(life.habit);
    assert_day(life.early, 350 + (HALF - 350 / 2.0)); /* bare after the last */
    garage_clear(&scene.garage);
}

/* Cared for on day 100: kept up to day 56, bare to day 100, open after. */
static void a_closed_stretch_is_kept_up_for_its_interval_and_grace_only(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    care(&scene, 100);
    double worn = 56 / 2.0 + 44;
    struct bl_life life = life_at(&scene, 100);
    assert_day(life.early, 100 + HALF - worn);
    assert_day(life.likely, 100 + HALF - worn);
    assert_day(life.late, 100 + (HALF - worn) * 2);
    assert_false(life.habit);
    garage_clear(&scene.garage);
}

/* Driven twice the reference, all wear from driving: 56 days of use are 28 on the calendar. */
static void care_is_counted_by_use_or_by_the_calendar_as_the_rule_says(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    scene.rule->wear.share = 1;
    scene.car->km_a_year = 24000;
    care(&scene, 50);
    double worn = 56 / 2.0 + 44; /* in use: 100 days of it */
    assert_day(life_at(&scene, 50).early, 50 + (HALF - worn) / 2);
    scene.rule->care.on_calendar = true; /* 50 days are within 56: kept up all along */
    assert_day(life_at(&scene, 50).early, 50 + (HALF - 50) / 2);
    garage_clear(&scene.garage);
}

static void a_habit_takes_two_cares_in_time_one_after_the_other(void **state)
{
    static const struct {
        double cares[4];
        bool habit;
    } cases[] = {
        {{40}, false},          {{40, 80}, true},  {{40, 97}, false},      {{57, 100}, false},
        {{57, 100, 140}, true}, {{56, 112}, true}, {{40, 80, 137}, false}, {{40, 40}, false},
    };
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
        struct scene scene;
        double last = 0;
        set_up(&scene);
        for (guint c = 0; c < 4 && cases[i].cares[c] > 0; c++) {
            care(&scene, cases[i].cares[c]);
            last = cases[i].cares[c];
        }
        struct bl_life life = life_at(&scene, last);
        assert_int_equal(life.habit, cases[i].habit);
        assert_int_equal(life.likely == life.late, cases[i].habit);
        assert_int_equal(life.likely == life.early, !cases[i].habit);
        garage_clear(&scene.garage);
    }
}

/* Time alone: after 56 days without the next one the habit is gone, and planning knows when. */
static void a_habit_is_lost_when_the_next_care_does_not_come(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    care(&scene, 40);
    care(&scene, 80);
    struct bl_life kept = life_at(&scene, 136);
    assert_true(kept.habit);
    assert_int_equal(kept.habit_lost_at, on_day(136) + 1);
    struct bl_life lost = life_at(&scene, 136 + 1 / 86400.0);
    assert_false(lost.habit);
    assert_int_equal(lost.habit_lost_at, BL_NEVER);
    assert_true(lost.likely < kept.likely);
    assert_int_equal(lost.early, kept.early);
    assert_int_equal(lost.late, kept.late);
    scene.rule->care.by_customer = false; /* or its cares change the plan before */
    BL_AUTO(bl_plan) *before = garage_plan(&scene.garage, on_day(120));
    assert_int_equal(before->replan_at, on_day(136) + 1);
    garage_clear(&scene.garage);
}

static void care_of_another_surface_keeps_nothing_up(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    care(&scene, 40);
    care(&scene, 80);
    g_array_index(scene.car->events, struct bl_event, 1).surface = BL_PAINT;
    assert_false(life_at(&scene, 80).habit);
    g_array_index(scene.car->events, struct bl_event, 1).surface = BL_GLASS;
    assert_true(life_at(&scene, 80).habit);
    g_array_index(scene.car->events, struct bl_event, 1).treatment = 7;
    assert_false(life_at(&scene, 80).habit);
    garage_clear(&scene.garage);
}

static void distance_ends_it_however_well_it_is_kept(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    scene.rule->wear.max_km = 12000 * 200 / 365.25;
    struct bl_life life = life_at(&scene, 1);
    assert_day(life.early, HALF);
    assert_day(life.late, 200);
    garage_clear(&scene.garage);
}

/* Salted from November to March: from 2 March 2026, 09:00 London, 29 days and 14 hours (the
 * clock goes forward on the 29th) at 1.5, then 1. */
static void winter_salt_counts_in_its_months_only(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    struct bl_exposure salt = {g_strdup("winter salt"), 1.5};
    g_array_append_val(scene.rule->exposures, salt);
    g_strfreev(scene.car->exposures);
    scene.car->exposures = g_strsplit("winter salt", "\n", 0);
    assert_day(life_at(&scene, 1).early, HALF / 1.5);
    scene.garage.shop.salt_months = 1u << 10 | 1u << 11 | 1u << 0 | 1u << 1 | 1u << 2;
    double salted = (double)(garage_at(&scene.garage, "2026-04-01") - START) / 86400;
    assert_day(life_at(&scene, 1).early, salted + HALF - 1.5 * salted);
    scene.rule->wear.life_days[1] = 300;
    double until = (double)(garage_at(&scene.garage, "2026-11-01") - START) / 86400;
    scene.rule->care.interval_days = (double)NAN;
    double left = 300 - 1.5 * salted - (until - salted);
    assert_day(life_at(&scene, 1).late, until + left / 1.5);
    garage_clear(&scene.garage);
}

/* A strong wheel cleaner ends a wheel spray that day (common practice, no source). */
static void a_harsh_wash_ends_what_it_strips_that_day(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    scene.rule->stripped_by = g_strsplit("wheel cleaner", "\n", 0);
    struct bl_event *wash = garage_event(scene.car, 1, on_day(10), BL_EV_HARSH_WASH, BL_GLASS);
    assert_int_equal(life_at(&scene, 20).ended_at, BL_NEVER);
    wash->with = g_strdup("clay");
    assert_int_equal(life_at(&scene, 20).ended_at, BL_NEVER);
    g_free(wash->with);
    wash->with = g_strdup("wheel cleaner");
    assert_int_equal(life_at(&scene, 20).ended_at, on_day(10));
    assert_string_equal(life_at(&scene, 20).ended_by, "harsh wash");
    wash->surface = BL_WHEELS;
    assert_int_equal(life_at(&scene, 20).ended_at, BL_NEVER);
    garage_clear(&scene.garage);
}

static void random_scene(struct scene *scene, GRand *random)
{
    set_up(scene);
    struct bl_rule *rule = scene->rule;
    struct bl_exposure salt = {g_strdup("winter salt"), g_rand_double_range(random, 0.5, 2)};
    struct bl_exposure brush = {g_strdup("brush wash"), g_rand_double_range(random, 0.5, 2)};
    rule->wear.life_days[0] = g_rand_double_range(random, 20, 300);
    rule->wear.life_days[1] = rule->wear.life_days[0] * g_rand_double_range(random, 1, 2);
    rule->wear.share = g_rand_double(random);
    rule->wear.max_km =
        g_rand_boolean(random) ? g_rand_double_range(random, 500, 30000) : (double)INFINITY;
    rule->care.interval_days = g_rand_double_range(random, 7, 90);
    rule->care.grace_days = rule->care.interval_days * g_rand_double(random);
    rule->care.extends = g_rand_double_range(random, 1, 3);
    rule->care.on_calendar = g_rand_boolean(random);
    g_array_append_val(rule->exposures, brush);
    g_array_append_val(rule->exposures, salt);
    g_strfreev(scene->car->exposures);
    scene->car->exposures =
        g_strsplit(g_rand_boolean(random) ? "winter salt\nbrush wash" : "brush wash", "\n", 0);
    scene->garage.shop.salt_months = (unsigned)g_rand_int_range(random, 0, 1 << 12);
    double day = g_rand_double_range(random, -50, 50);
    double km = 20000;
    for (int i = g_rand_int_range(random, 0, 6); i > 0; i--) {
        garage_read(scene->car, i, on_day(day), km);
        double days = g_rand_double_range(random, 1, 60);
        day += days;
        km += days * g_rand_double_range(random, 0, 150);
    }
    day = 0;
    for (int i = g_rand_int_range(random, 0, 7); i > 0; i--) {
        day += g_rand_double_range(random, 3, 80);
        care(scene, day);
    }
}

static double sum_of(const struct bl_wear_story *story, enum bl_end end, int64_t until)
{
    double sum = 0;
    for (guint i = 0; i < story->stretches->len; i++) {
        const struct bl_stretch *stretch =
            &g_array_index(story->stretches, struct bl_stretch, i);
        sum += stretch->to <= until ? stretch->wear[end] : 0;
    }
    return sum;
}

/* What the story says is what the dates stand on: stretches touch, each is days times speed
 * times exposure, divided by `extends` where it is kept up, and they add up to the label. */
static void the_story_adds_up_to_the_dates(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 1500; round++) {
        struct scene scene;
        struct bl_wear_story story;
        random_scene(&scene, random);
        bl_wear_tell(scene.car, scene.treatment, &scene.garage.shop, on_day(600), &story);
        int64_t at = START;
        double use = 0;
        double km = 0;
        double wear[BL_ENDS] = {0};
        for (guint i = 0; i < story.stretches->len; i++) {
            const struct bl_stretch *stretch =
                &g_array_index(story.stretches, struct bl_stretch, i);
            double days = (double)(stretch->to - stretch->from) / 86400;
            double factor = 1;
            for (guint e = 0; e < 2; e++) {
                factor *=
                    (stretch->exposed >> e) & 1u
                        ? g_array_index(scene.rule->exposures, struct bl_exposure, e).factor
                        : 1;
            }
            assert_int_equal(stretch->from, at);
            assert_true(fabs(stretch->exposure - factor) < 1e-12);
            assert_true(fabs(stretch->use - days * stretch->speed * factor) < 1e-3);
            use += stretch->use;
            km += days * stretch->km_a_day;
            assert_true(fabs(stretch->use_sum - use) < 1e-2);
            assert_true(fabs(stretch->km_sum - km) < 1e-2 + 1e-3 * km);
            for (guint end = 0; end < BL_ENDS; end++) {
                wear[end] += stretch->wear[end];
                assert_true(fabs(stretch->wear_sum[end] - wear[end]) < 1e-2);
            }
            at = stretch->to;
        }
        assert_int_equal(at, story.life.late);
        assert_true(story.by_distance[BL_LIKELY] == story.life.by_distance);
        assert_int_equal(story.upkept->len, story.cares->len);
        const int64_t ends[] = {story.life.early, story.life.likely, story.life.late};
        for (guint end = 0; end < BL_ENDS && !isfinite(scene.rule->wear.max_km); end++) {
            assert_true(fabs(sum_of(&story, end, ends[end]) - story.life_days[end]) < 1e-3);
        }
        bl_wear_story_clear(&story);
        garage_clear(&scene.garage);
    }
    g_rand_free(random);
}

static void how_far_it_has_come_is_what_the_dates_are_made_of(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 1000; round++) {
        struct scene scene;
        struct bl_worn worn;
        random_scene(&scene, random);
        scene.rule->wear.max_km = (double)INFINITY;
        struct bl_life life = life_at(&scene, 600);
        const int64_t ends[] = {life.early, life.likely, life.late};
        const double asked[] = {
            scene.rule->wear.life_days[0],
            (scene.rule->wear.life_days[0] + scene.rule->wear.life_days[1]) / 2,
            scene.rule->wear.life_days[1]};
        for (guint end = 0; end < BL_ENDS; end++) {
            bl_wear_use_at(scene.car, scene.treatment, &scene.garage.shop, on_day(600),
                           ends[end], &worn);
            assert_true(fabs(worn.wear[end] - asked[end]) < 1e-3);
            assert_true(worn.use + 1e-9 >= worn.wear[end]);
        }
        bl_wear_use_at(scene.car, scene.treatment, &scene.garage.shop, on_day(600), START,
                       &worn);
        assert_true(worn.use == 0 && worn.km == 0);
        garage_clear(&scene.garage);
    }
    g_rand_free(random);
}

/* Recorded today or any day before. `late` counts on care that nobody recorded yet; so for it
 * the care must not show that there was none in time. */
static void a_care_recorded_never_shortens(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 3000; round++) {
        struct scene scene;
        random_scene(&scene, random);
        double now = g_rand_double_range(random, 1, 400);
        struct bl_life before = life_at(&scene, now);
        double day = g_rand_double_range(random, 0.1, now);
        bool inside = false;
        for (guint i = 0; i < scene.car->events->len; i++) {
            int64_t at = g_array_index(scene.car->events, struct bl_event, i).at;
            inside = inside || (at > on_day(day) && at <= on_day(now));
        }
        care(&scene, day);
        struct bl_life after = life_at(&scene, now);
        assert_true(after.early >= before.early - 1);
        assert_true(after.likely >= before.likely - 1);
        assert_true(!inside || after.late >= before.late - 1);
        garage_clear(&scene.garage);
    }
    g_rand_free(random);
}

static void driving_further_after_a_reading_is_never_later(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 3000; round++) {
        struct scene scene;
        random_scene(&scene, random);
        struct bl_life before = life_at(&scene, 600);
        double times = g_rand_double_range(random, 1, 3);
        guint from = (guint)g_rand_int_range(random, 0, 6);
        for (guint i = from + 1; i < scene.car->readings->len; i++) {
            struct bl_reading *first =
                &g_array_index(scene.car->readings, struct bl_reading, from);
            struct bl_reading *reading =
                &g_array_index(scene.car->readings, struct bl_reading, i);
            reading->km = first->km + (reading->km - first->km) * times;
        }
        struct bl_life after = life_at(&scene, 600); /* the habit is lost by then in both */
        assert_true(after.early <= before.early + 1);
        assert_true(after.likely <= before.likely + 1);
        assert_true(after.late <= before.late + 1);
        garage_clear(&scene.garage);
    }
    g_rand_free(random);
}

static void a_reading_as_forecast_moves_no_date(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 1000; round++) {
        struct scene scene;
        random_scene(&scene, random);
        struct bl_life before = life_at(&scene, 900);
        double day = -60;
        double km = 1000;
        if (scene.car->readings->len == 0) {
            garage_read(scene.car, 1, on_day(day), km);
        }
        const struct bl_reading *last = &g_array_index(scene.car->readings, struct bl_reading,
                                                       scene.car->readings->len - 1);
        double days = g_rand_double_range(random, 1, 300);
        garage_read(scene.car, 90, last->at + llround(days * 86400),
                    last->km + (double)llround(days * 86400) / 86400 * before.km_a_day);
        struct bl_life after = life_at(&scene, 900);
        assert_true(ABS(after.early - before.early) <= 1);
        assert_true(ABS(after.likely - before.likely) <= 1);
        assert_true(ABS(after.late - before.late) <= 1);
        garage_clear(&scene.garage);
    }
    g_rand_free(random);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(six_months_of_glass_coating_become_twelve_when_kept_up),
        cmocka_unit_test(a_closed_stretch_is_kept_up_for_its_interval_and_grace_only),
        cmocka_unit_test(care_is_counted_by_use_or_by_the_calendar_as_the_rule_says),
        cmocka_unit_test(a_habit_takes_two_cares_in_time_one_after_the_other),
        cmocka_unit_test(a_habit_is_lost_when_the_next_care_does_not_come),
        cmocka_unit_test(care_of_another_surface_keeps_nothing_up),
        cmocka_unit_test(distance_ends_it_however_well_it_is_kept),
        cmocka_unit_test(winter_salt_counts_in_its_months_only),
        cmocka_unit_test(a_harsh_wash_ends_what_it_strips_that_day),
        cmocka_unit_test(the_story_adds_up_to_the_dates),
        cmocka_unit_test(how_far_it_has_come_is_what_the_dates_are_made_of),
        cmocka_unit_test(a_care_recorded_never_shortens),
        cmocka_unit_test(driving_further_after_a_reading_is_never_later),
        cmocka_unit_test(a_reading_as_forecast_moves_no_date),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
