/* Wear and forecast: worked examples, the label's range at regular driving, and what must hold
 * of any linear accumulation of damage. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

#define START INT64_C(1772442000)

static void assert_near(double value, double expected, double epsilon)
{
    if (!(fabs(value - expected) <= epsilon)) {
        fail_msg("%.12g is not %.12g", value, expected);
    }
}

static void set_up(struct garage *garage)
{
    garage_init(garage, "Europe/London");
    garage_add_car(garage);
    garage_job(garage_car(garage, 0), 1, START);
}

static double days_since(int64_t at, int64_t start)
{
    return (double)(at - start) / 86400.0;
}

static struct bl_life life_of(struct garage *garage, const struct bl_rule *rule)
{
    struct bl_car *car = garage_car(garage, 0);
    struct bl_life life;
    g_array_set_size(car->treatments, 0);
    bl_wear_life(car, garage_treat(car, 1, 1, rule, START), &garage->shop,
                 START + 3000 * BL_DAY, &life);
    return life;
}

/* Worked by hand: prior 12 000 km a year; 41 000 km on day 0, 47 000 on day 120, 52 100 on day
 * 210. */
static void forecast_weighs_stretches_against_the_prior(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    garage_read(car, 1, START, 41000);
    garage_read(car, 2, START + 120 * BL_DAY, 47000);
    garage_read(car, 3, START + 210 * BL_DAY, 52100);
    double km = bl_forecast_km_a_day(car, 12000);
    assert_near(km, 47.93, 0.005);
    assert_near(km * 365.25, 17506, 1);
    garage_clear(&garage);
}

static void without_readings_the_prior_is_the_forecast(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    assert_near(bl_forecast_km_a_day(car, 14610), 40, 1e-9);
    garage_read(car, 1, START, 41000);
    assert_near(bl_forecast_km_a_day(car, 14610), 40, 1e-9);
    garage_clear(&garage);
}

static void a_reading_that_was_forecast_changes_nothing(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 1000; round++) {
        g_array_set_size(car->readings, 0);
        int64_t at = START;
        double km = 1000;
        double prior = g_rand_double_range(random, 1000, 40000);
        for (int i = 0; i < 5; i++) {
            garage_read(car, i + 1, at, km);
            double forecast = bl_forecast_km_a_day(car, prior);
            int64_t days = g_rand_int_range(random, 1, 500);
            garage_read(car, 10, at + days * BL_DAY, km + (double)days * forecast);
            assert_near(bl_forecast_km_a_day(car, prior), forecast, 1e-9);
            g_array_set_size(car->readings, (guint)i + 1);
            at += days * BL_DAY;
            km += (double)days * g_rand_double_range(random, 5, 100);
        }
    }
    g_rand_free(random);
    garage_clear(&garage);
}

static void nothing_is_differenced_across_a_new_instrument_or_backwards(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    garage_read(car, 1, START, 41000);
    garage_read(car, 2, START + 100 * BL_DAY, 45000);
    double before = bl_forecast_km_a_day(car, 12000);
    garage_read(car, 3, START + 100 * BL_DAY, 3);
    g_array_index(car->readings, struct bl_reading, 2).instrument = 1;
    assert_near(bl_forecast_km_a_day(car, 12000), before, 1e-12);
    garage_read(car, 4, START + 100 * BL_DAY, 2);
    g_array_index(car->readings, struct bl_reading, 3).instrument = 1;
    assert_near(bl_forecast_km_a_day(car, 12000), before, 1e-12);
    garage_clear(&garage);
}

static struct bl_rule *wheel_spray(struct garage *garage)
{
    struct bl_rule *rule = garage_rule(garage, "wheel spray");
    rule->surface = BL_WHEELS;
    rule->wear.life_days[0] = 28;
    rule->wear.life_days[1] = 42;
    rule->wear.share = 0.6;
    return rule;
}

/* Worked: life 28 to 42 days at 12 000 km a year, share 0.6, driven 19 400 km a year. */
static void a_high_mileage_car_is_bare_before_the_label_says(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    garage_car(&garage, 0)->km_a_year = 19400;
    struct bl_life life = life_of(&garage, wheel_spray(&garage));
    assert_near(life.speed, 1.37, 1e-6);
    assert_near(days_since(life.early, START), 20.4, 0.05);
    assert_near(days_since(life.likely, START), 35 / 1.37, 1e-4);
    assert_near(days_since(life.late, START), 30.7, 0.05);
    assert_near(life.km_a_day, 19400 / 365.25, 1e-9);
    assert_false(life.by_distance);
    garage_clear(&garage);
}

/* Six months of glass coating, bare: 182.6 days. */
static void six_months_are_half_a_year_of_days(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_rule *rule = garage_rule(&garage, "glass coating");
    rule->surface = BL_GLASS;
    rule->wear.life_days[0] = 365.25 / 2;
    rule->wear.life_days[1] = 365.25;
    struct bl_life life = life_of(&garage, rule);
    assert_near(days_since(life.early, START), 182.6, 0.05);
    garage_clear(&garage);
}

static void regular_driving_gives_exactly_the_labels_range(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    struct bl_rule *rule = wheel_spray(&garage);
    for (int share = 0; share <= 10; share++) {
        rule->wear.share = share / 10.0;
        car->km_a_year = 12000;
        g_array_set_size(car->readings, 0);
        for (int i = 0; i < 8; i++) {
            garage_read(car, i + 1, START + i * 5 * BL_DAY, 20000 + i * 5 * 12000 / 365.25);
        }
        struct bl_life life = life_of(&garage, rule);
        assert_int_equal(life.early, START + 28 * BL_DAY);
        assert_int_equal(life.likely, START + 35 * BL_DAY);
        assert_int_equal(life.late, START + 42 * BL_DAY);
        assert_near(life.speed, 1, 1e-9);
    }
    garage_clear(&garage);
}

static void limits_keep_a_motorway_car_from_being_bare_in_days(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_rule *rule = wheel_spray(&garage);
    garage_car(&garage, 0)->km_a_year = 200000;
    struct bl_life life = life_of(&garage, rule);
    assert_int_equal(life.early, START + 14 * BL_DAY);
    assert_near(life.speed, 2, 1e-9);
    garage_car(&garage, 0)->km_a_year = 0;
    rule->wear.share = 1;
    life = life_of(&garage, rule);
    assert_int_equal(life.late, START + 70 * BL_DAY);
    garage_clear(&garage);
}

static void distance_is_a_second_clock(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_rule *rule = wheel_spray(&garage);
    garage_car(&garage, 0)->km_a_year = 36525; /* 100 km a day */
    rule->wear.share = 0;
    rule->wear.max_km = 3000;
    struct bl_life life = life_of(&garage, rule);
    assert_int_equal(life.early, START + 28 * BL_DAY);
    assert_int_equal(life.likely, START + 30 * BL_DAY);
    assert_int_equal(life.late, START + 30 * BL_DAY);
    assert_true(life.by_distance);
    assert_near(life.speed, 1, 1e-9);
    rule->wear.max_km = 100000;
    assert_false(life_of(&garage, rule).by_distance);
    garage_clear(&garage);
}

static void only_exposures_the_car_has_count(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_car *car = garage_car(&garage, 0);
    struct bl_rule *rule = wheel_spray(&garage);
    struct bl_exposure outdoors = {g_strdup("stored outdoors"), 1.25};
    struct bl_exposure brush = {g_strdup("brush wash"), 1.6};
    g_array_append_val(rule->exposures, outdoors);
    g_array_append_val(rule->exposures, brush);
    rule->wear.share = 0;
    assert_int_equal(life_of(&garage, rule).early, START + 28 * BL_DAY);
    g_strfreev(car->exposures);
    car->exposures = g_strsplit("stored outdoors\nsea air", "\n", 0);
    assert_near(days_since(life_of(&garage, rule).early, START), 28 / 1.25, 1e-4);
    g_strfreev(car->exposures);
    car->exposures = g_strsplit("brush wash\nstored outdoors", "\n", 0);
    assert_int_equal(life_of(&garage, rule).early, START + 14 * BL_DAY);
    garage_clear(&garage);
}

static void a_product_without_a_life_never_ends(void **state)
{
    (void)state;
    struct garage garage;
    set_up(&garage);
    struct bl_rule *rule = wheel_spray(&garage);
    rule->wear.life_days[0] = (double)NAN;
    struct bl_life life = life_of(&garage, rule);
    assert_int_equal(life.early, BL_NEVER);
    assert_int_equal(life.late, BL_NEVER);
    assert_true(isnan(life.speed));
    rule->wear.life_days[0] = 28; /* all of its wear is driving, and the car stands still */
    rule->wear.share = 1;
    rule->wear.limits[0] = 0;
    garage_car(&garage, 0)->km_a_year = 0;
    assert_int_equal(life_of(&garage, rule).early, BL_NEVER);
    assert_int_equal(life_of(&garage, NULL).early, BL_NEVER);
    garage_clear(&garage);
}

static void random_readings(struct bl_car *car, GRand *random, guint count)
{
    int64_t at = START - g_rand_int_range(random, 0, 60 * 86400);
    double km = 30000;
    g_array_set_size(car->readings, 0);
    for (guint i = 0; i < count; i++) {
        garage_read(car, i + 1, at, km);
        int32_t seconds = g_rand_int_range(random, 3600, 40 * 86400);
        at += seconds;
        km += seconds / 86400.0 * g_rand_double_range(random, 0, 150);
    }
}

static struct bl_rule *random_rule(struct garage *garage, GRand *random)
{
    struct bl_rule *rule = wheel_spray(garage);
    rule->wear.life_days[0] = g_rand_double_range(random, 5, 400);
    rule->wear.life_days[1] = rule->wear.life_days[0] * g_rand_double_range(random, 1, 3);
    rule->wear.share = g_rand_double(random);
    rule->wear.km_a_year = g_rand_double_range(random, 3000, 30000);
    if (g_rand_boolean(random)) {
        rule->wear.max_km = g_rand_double_range(random, 500, 30000);
    }
    return rule;
}

/* Palmgren-Miner: what a stretch does is the sum of what its pieces do. */
static void cutting_a_stretch_in_two_changes_nothing(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 2000; round++) {
        struct garage garage;
        set_up(&garage);
        struct bl_car *car = garage_car(&garage, 0);
        struct bl_rule *rule = random_rule(&garage, random);
        random_readings(car, random, 6);
        struct bl_life whole = life_of(&garage, rule);
        guint after = (guint)g_rand_int_range(random, 1, 6);
        struct bl_reading a = g_array_index(car->readings, struct bl_reading, after - 1);
        struct bl_reading b = g_array_index(car->readings, struct bl_reading, after);
        struct bl_reading cut = {.id = 50, .at = a.at + (b.at - a.at) / 3};
        cut.km = a.km + (b.km - a.km) * (double)(cut.at - a.at) / (double)(b.at - a.at);
        g_array_insert_val(car->readings, after, cut);
        struct bl_life halves = life_of(&garage, rule);
        assert_true(ABS(whole.early - halves.early) <= 1);
        assert_true(ABS(whole.likely - halves.likely) <= 1);
        assert_true(ABS(whole.late - halves.late) <= 1);
        assert_near(whole.km_a_day, halves.km_a_day, 1e-9);
        garage_clear(&garage);
    }
    g_rand_free(random);
}

/* Palmgren-Miner: the order of the stretches does not matter for the damage they leave. The
 * readings stand so that all stretches are over before the end, and the rest is driven alike.
 */
static void order_of_the_stretches_does_not_matter(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 1000; round++) {
        struct garage garage;
        set_up(&garage);
        struct bl_car *car = garage_car(&garage, 0);
        struct bl_rule *rule = wheel_spray(&garage);
        double rates[2][4];
        int64_t late[2];
        rule->wear.life_days[0] = rule->wear.life_days[1] = 60;
        for (int i = 0; i < 4; i++) {
            rates[0][i] = g_rand_double_range(random, 0, 120);
        }
        for (int i = 0; i < 4; i++) {
            rates[1][i] = rates[0][(i + 1 + round % 3) % 4];
        }
        for (int order = 0; order < 2; order++) {
            double km = 1000;
            g_array_set_size(car->readings, 0);
            garage_read(car, 1, START, km);
            for (int i = 0; i < 4; i++) {
                km += 7 * rates[order][i];
                garage_read(car, i + 2, START + (i + 1) * 7 * BL_DAY, km);
            }
            /* the last stretch at one rate, far past the end, whatever went before */
            garage_read(car, 9, START + 400 * BL_DAY, km + 372 * 30);
            late[order] = life_of(&garage, rule).late;
        }
        assert_true(ABS(late[0] - late[1]) <= 1);
        garage_clear(&garage);
    }
    g_rand_free(random);
}

/* Stepped slowly hour by hour, an answer that knows nothing of stretches. */
static double stepped_end(const struct garage *garage, const struct bl_rule *rule, double goal)
{
    const struct bl_car *car = &g_array_index(garage->facts.cars, struct bl_car, 0);
    const struct bl_wear *wear = &rule->wear;
    double forecast = bl_forecast_km_a_day(car, garage->shop.km_a_year);
    double used = 0;
    double km = 0;
    for (int64_t hour = 0;; hour++) {
        int64_t at = START + hour * 3600 + 1800;
        double rate = forecast;
        for (guint i = 0; i < car->readings->len; i++) {
            const struct bl_reading *b = &g_array_index(car->readings, struct bl_reading, i);
            if (b->at > at) {
                rate = i == 0 ? garage->shop.km_a_year / 365.25
                              : (b->km - b[-1].km) / days_since(b->at, b[-1].at);
                break;
            }
        }
        double speed = 1 - wear->share + wear->share * rate / (wear->km_a_year / 365.25);
        used += CLAMP(speed, wear->limits[0], wear->limits[1]) / 24;
        km += rate / 24;
        if (used >= goal || km >= wear->max_km) {
            return (double)hour / 24;
        }
    }
}

static void solving_agrees_with_stepping_hour_by_hour(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 200; round++) {
        struct garage garage;
        set_up(&garage);
        struct bl_rule *rule = random_rule(&garage, random);
        random_readings(garage_car(&garage, 0), random, 5);
        struct bl_life life = life_of(&garage, rule);
        double lo = rule->wear.life_days[0];
        double hi = rule->wear.life_days[1];
        assert_near(days_since(life.early, START), stepped_end(&garage, rule, lo), 0.6);
        assert_near(days_since(life.likely, START), stepped_end(&garage, rule, (lo + hi) / 2),
                    0.6);
        assert_near(days_since(life.late, START), stepped_end(&garage, rule, hi), 0.6);
        assert_true(life.early <= life.likely && life.likely <= life.late);
        garage_clear(&garage);
    }
    g_rand_free(random);
}

static void more_driving_never_makes_it_last_longer(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 500; round++) {
        struct garage garage;
        set_up(&garage);
        struct bl_rule *rule = random_rule(&garage, random);
        int64_t before = BL_NEVER;
        for (double km = 0; km < 60000; km += 5000) {
            garage_car(&garage, 0)->km_a_year = km;
            int64_t early = life_of(&garage, rule).early;
            assert_true(early <= before);
            before = early;
        }
        garage_clear(&garage);
    }
    g_rand_free(random);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forecast_weighs_stretches_against_the_prior),
        cmocka_unit_test(without_readings_the_prior_is_the_forecast),
        cmocka_unit_test(a_reading_that_was_forecast_changes_nothing),
        cmocka_unit_test(nothing_is_differenced_across_a_new_instrument_or_backwards),
        cmocka_unit_test(a_high_mileage_car_is_bare_before_the_label_says),
        cmocka_unit_test(six_months_are_half_a_year_of_days),
        cmocka_unit_test(regular_driving_gives_exactly_the_labels_range),
        cmocka_unit_test(limits_keep_a_motorway_car_from_being_bare_in_days),
        cmocka_unit_test(distance_is_a_second_clock),
        cmocka_unit_test(only_exposures_the_car_has_count),
        cmocka_unit_test(a_product_without_a_life_never_ends),
        cmocka_unit_test(cutting_a_stretch_in_two_changes_nothing),
        cmocka_unit_test(order_of_the_stretches_does_not_matter),
        cmocka_unit_test(solving_agrees_with_stepping_hour_by_hour),
        cmocka_unit_test(more_driving_never_makes_it_last_longer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
