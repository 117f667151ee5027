/* Cure: when a car may be washed, whatever was put on it, in however many jobs. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

static void set_up(struct garage *garage)
{
    garage_init(garage, "Europe/London");
    garage_add_car(garage);
}

static void assert_date(int32_t date, const char *expected)
{
    g_autofree char *text = bl_date_format(date);
    assert_string_equal(text, expected);
}

static void cure_ends_after_the_labels_longer_time_from_the_last_coat(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_rule *rule = garage_rule(&garage, "coating");
    int64_t coat = garage_at(&garage, "2026-03-02 15:00");
    struct bl_job *job = garage_job(garage_car(&garage, 0), 1, coat + 3600);
    struct bl_treatment *treatment = garage_treat(garage_car(&garage, 0), 1, 1, rule, coat);
    assert_int_equal(bl_cure_end(treatment, job, &garage.shop), coat + 21 * BL_DAY);
    rule->cure.wash_days[1] = 0.1;
    assert_int_equal(bl_cure_end(treatment, job, &garage.shop), coat + 8640);
    rule->cure.wash_days[1] = 1.0 / 7; /* 12342.86 s: never a second before the label */
    assert_int_equal(bl_cure_end(treatment, job, &garage.shop), coat + 12343);
    rule->cure.wash_days[1] = 0;
    assert_int_equal(bl_cure_end(treatment, NULL, &garage.shop), coat);
    rule->cure.wash_days[1] = 21;
    job->cured_indoors = true;
    assert_int_equal(bl_cure_end(treatment, job, &garage.shop), coat);
    garage_clear(&garage);
}

/* The date told is the first civil day that begins at or after the end, through both changes.
 */
static void wash_date_is_the_first_whole_day_after_the_cure(void **state)
{
    (void)state;
    static const struct {
        const char *coat, *date;
    } cases[] = {
        {"2026-03-02 15:00", "2026-03-24"}, {"2026-03-02 00:00", "2026-03-23"},
        {"2026-03-02 00:01", "2026-03-24"}, {"2026-03-15 00:00", "2026-04-06"},
        {"2026-03-14 23:30", "2026-04-06"}, {"2026-10-10 00:00", "2026-10-31"},
        {"2026-10-10 00:30", "2026-10-31"}, {"2026-10-10 01:00", "2026-10-31"},
        {"2026-10-10 01:01", "2026-11-01"},
    };
    for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
        struct garage garage;
        set_up(&garage);
        int64_t coat = garage_at(&garage, cases[i].coat);
        int64_t job = 0;
        garage_job(garage_car(&garage, 0), 7, coat);
        garage_treat(garage_car(&garage, 0), 1, 7, garage_rule(&garage, "coating"), coat);
        assert_date(bl_cure_wash_date(garage_car(&garage, 0), &garage.shop, coat, &job),
                    cases[i].date);
        assert_int_equal(job, 7);
        garage_clear(&garage);
    }
}

static void a_car_has_one_wash_date_over_all_open_cures(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    struct bl_rule *slow = garage_rule(&garage, "coating");
    struct bl_rule *quick = garage_rule(&garage, "wheel spray");
    quick->surface = BL_WHEELS;
    quick->cure.wash_days[1] = 1;
    int64_t first = garage_at(&garage, "2026-03-02 15:00");
    int64_t second = garage_at(&garage, "2026-03-10 12:00");
    int64_t job = 0;
    garage_job(car, 1, first);
    garage_treat(car, 1, 1, slow, first);
    garage_job(car, 2, second);
    garage_treat(car, 2, 2, quick, second);
    assert_date(bl_cure_wash_date(car, &garage.shop, second, &job), "2026-03-24");
    assert_int_equal(job, 1);
    quick->cure.wash_days[1] = 30;
    assert_date(bl_cure_wash_date(car, &garage.shop, second, &job), "2026-04-10");
    struct bl_wash wash;
    assert_true(bl_cure_wash_tell(car, &garage.shop, second, &wash));
    assert_date(wash.date, "2026-04-10");
    assert_int_equal(wash.job, job);
    assert_int_equal(wash.treatment, 2);
    assert_int_equal(wash.end, second + 30 * BL_DAY);
    g_array_index(car->jobs, struct bl_job, 0).wash_from = bl_date_of(2026, 5, 1);
    assert_true(bl_cure_wash_tell(car, &garage.shop, second, &wash));
    assert_date(wash.date, "2026-05-01");
    assert_int_equal(wash.job, 1);
    assert_int_equal(wash.treatment, 0); /* the owner's own date */
    assert_false(bl_cure_wash_tell(car, &garage.shop, second + 60 * BL_DAY, &wash));
    assert_int_equal(job, 2);
    garage_clear(&garage);
}

static void there_is_no_wash_date_once_its_day_has_begun(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    int64_t coat = garage_at(&garage, "2026-03-02 15:00");
    int64_t job = 99;
    garage_job(car, 1, coat);
    garage_treat(car, 1, 1, garage_rule(&garage, "coating"), coat);
    int64_t begins = garage_at(&garage, "2026-03-24");
    assert_date(bl_cure_wash_date(car, &garage.shop, begins - 1, NULL), "2026-03-24");
    assert_int_equal(bl_cure_wash_date(car, &garage.shop, begins, &job), BL_NO_DATE);
    assert_int_equal(job, 99);
    garage_clear(&garage);
}

static void the_owners_own_date_only_ever_makes_it_later(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    int64_t coat = garage_at(&garage, "2026-03-02 15:00");
    struct bl_job *job = garage_job(car, 1, coat);
    job->wash_from = bl_date_of(2026, 3, 30);
    assert_date(bl_cure_wash_date(car, &garage.shop, coat, NULL), "2026-03-30");
    garage_treat(car, 1, 1, garage_rule(&garage, "coating"), coat);
    assert_date(bl_cure_wash_date(car, &garage.shop, coat, NULL), "2026-03-30");
    job->wash_from = bl_date_of(2026, 3, 10);
    assert_date(bl_cure_wash_date(car, &garage.shop, coat, NULL), "2026-03-24");
    garage_clear(&garage);
}

static void what_was_taken_off_or_cured_indoors_keeps_nobody_waiting(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    int64_t coat = garage_at(&garage, "2026-03-02 15:00");
    garage_job(car, 1, coat);
    garage_treat(car, 1, 1, garage_rule(&garage, "coating"), coat);
    struct bl_event *event =
        garage_event(car, 1, coat + 5 * BL_DAY, BL_EV_CURED_INDOORS, BL_PAINT);
    assert_date(bl_cure_wash_date(car, &garage.shop, coat + 5 * BL_DAY, NULL), "2026-03-08");
    event->at = coat; /* a lamp, before it was handed over */
    assert_date(bl_cure_wash_date(car, &garage.shop, coat, NULL), "2026-03-03");
    event->happening = BL_EV_RESPRAYED;
    event->at = coat + BL_DAY;
    assert_int_equal(bl_cure_wash_date(car, &garage.shop, event->at, NULL), BL_NO_DATE);
    event->at = coat + 21 * BL_DAY; /* too late to matter to the cure */
    assert_date(bl_cure_wash_date(car, &garage.shop, event->at, NULL), "2026-03-24");
    garage_clear(&garage);
}

static void times_told_are_the_latest_of_the_jobs_treatments(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    int64_t coat = garage_at(&garage, "2026-03-02 15:00");
    struct bl_rule *paint = garage_rule(&garage, "coating");
    struct bl_rule *screen = garage_rule(&garage, "windscreen coating");
    struct bl_rule *other = garage_rule(&garage, "of another job");
    paint->cure.rinse_days = 3;
    screen->surface = BL_WINDSCREEN;
    screen->cure.drive_h = 0.5;
    screen->cure.dry_h = 0;
    screen->cure.wiper_h = 12;
    other->cure.drive_h = 100;
    struct bl_job job = *garage_job(car, 1, coat + 7200);
    garage_treat(car, 1, 1, paint, coat);
    garage_treat(car, 2, 1, screen, coat + 7200);
    garage_treat(car, 3, 2, other, coat);
    garage_treat(car, 4, 1, NULL, coat);
    struct bl_cure_times times = bl_cure_job_times(car, &job);
    assert_int_equal(times.drive, coat + 7200 + 1800);
    assert_int_equal(times.dry, coat + 24 * 3600);
    assert_int_equal(times.rinse, coat + 3 * BL_DAY);
    assert_int_equal(times.wipers, coat + 7200 + 12 * 3600);
    job.cured_indoors = true;
    times = bl_cure_job_times(car, &job);
    assert_int_equal(times.drive, BL_NEVER);
    assert_int_equal(times.wipers, BL_NEVER);
    garage_clear(&garage);
}

static void a_label_that_says_nothing_is_not_told(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    struct bl_rule *rule = garage_rule(&garage, "wax");
    rule->cure = (struct bl_cure){.rinse_days = (double)NAN, .wiper_h = 3};
    struct bl_job job = *garage_job(car, 1, 1000000);
    garage_treat(car, 1, 1, rule, 1000000);
    struct bl_cure_times times = bl_cure_job_times(car, &job);
    assert_int_equal(times.drive, BL_NEVER);
    assert_int_equal(times.dry, BL_NEVER);
    assert_int_equal(times.rinse, BL_NEVER);
    assert_int_equal(times.wipers, BL_NEVER);
    assert_int_equal(bl_cure_wash_date(car, &garage.shop, 1000000, NULL), BL_NO_DATE);
    garage_clear(&garage);
}

/* No wash date ever begins before a cure's end, and the day before would have. */
static void wash_date_never_comes_before_any_cure(void **state)
{
    (void)state;
    static const char *const zones[] = {"Europe/London", "America/Santiago", "America/Havana",
                                        "Australia/Lord_Howe", "Pacific/Apia"};
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 2000; round++) {
        struct garage garage;
        garage_init(&garage, zones[g_rand_int_range(random, 0, G_N_ELEMENTS(zones))]);
        struct bl_car *car = garage_add_car(&garage);
        int64_t base = garage_at(&garage, "2011-12-01") +
                       (int64_t)g_rand_double_range(random, 0, 5000 * 86400.0);
        int64_t latest = 0;
        for (int i = 0; i < 3; i++) {
            struct bl_rule *rule = garage_rule(&garage, "coating");
            rule->surface = (enum bl_surface)i;
            rule->cure.wash_days[1] = g_rand_double_range(random, 0, 30);
            int64_t coat = base + g_rand_int_range(random, 0, 10 * 86400);
            garage_job(car, i + 1, coat);
            latest = MAX(latest, bl_cure_end(garage_treat(car, i + 1, i + 1, rule, coat), NULL,
                                             &garage.shop));
        }
        int32_t date = bl_cure_wash_date(car, &garage.shop, base - 1, NULL);
        if (bl_cure_wash_date(car, &garage.shop, base + 20 * BL_DAY, NULL) != BL_NO_DATE) {
            date = bl_cure_wash_date(car, &garage.shop, base + 20 * BL_DAY, NULL);
            assert_true(bl_zone_instant(garage.shop.zone, date, 0) >= latest);
            assert_true(bl_zone_instant(garage.shop.zone, date - 1, 0) < latest);
        }
        garage_clear(&garage);
    }
    g_rand_free(random);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cure_ends_after_the_labels_longer_time_from_the_last_coat),
        cmocka_unit_test(wash_date_is_the_first_whole_day_after_the_cure),
        cmocka_unit_test(a_car_has_one_wash_date_over_all_open_cures),
        cmocka_unit_test(there_is_no_wash_date_once_its_day_has_begun),
        cmocka_unit_test(the_owners_own_date_only_ever_makes_it_later),
        cmocka_unit_test(what_was_taken_off_or_cured_indoors_keeps_nobody_waiting),
        cmocka_unit_test(times_told_are_the_latest_of_the_jobs_treatments),
        cmocka_unit_test(a_label_that_says_nothing_is_not_told),
        cmocka_unit_test(wash_date_never_comes_before_any_cure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
