/* What was seen of protections, and the life learned from it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/learn.h"
#include "garage.h"

#define START  "2026-01-05 10:00"
#define NEVER  ((double)INFINITY)
#define LATEST "2030-01-01 12:00"

/* A car with one coating: life 100 to 200 days, nothing but time wears it. */
struct yard {
    struct garage garage;
    struct bl_rule *rule;
    struct bl_car *car;
    int64_t start, next_id;
};

static void yard_open(struct yard *yard)
{
    *yard = (struct yard){.next_id = 100};
    garage_init(&yard->garage, "Europe/London");
    yard->rule = garage_rule(&yard->garage, "coating");
    yard->rule->wear.life_days[0] = 100;
    yard->rule->wear.life_days[1] = 200;
    yard->car = garage_add_car(&yard->garage);
    yard->start = garage_at(&yard->garage, START);
    garage_job(yard->car, 1, yard->start);
    garage_treat(yard->car, 1, 1, yard->rule, yard->start);
}

/* So many days after the coating went on, to the second. */
static int64_t after(const struct yard *yard, double days)
{
    return yard->start + (int64_t)llround(days * 86400);
}

static struct bl_event *look(struct yard *yard, double days, enum bl_finding finding)
{
    struct bl_event *event =
        garage_event(yard->car, yard->next_id++, after(yard, days), BL_EV_INSPECTION, BL_PAINT);
    event->finding = (int)finding;
    return event;
}

static struct bl_job *renew(struct yard *yard, double days, const struct bl_rule *rule)
{
    int64_t id = yard->next_id++;
    struct bl_job *job = garage_job(yard->car, id, after(yard, days));
    garage_treat(yard->car, id, id, rule, after(yard, days));
    return job;
}

static GArray *seen_of(const struct yard *yard, const char *product)
{
    GArray *observed = g_array_new(FALSE, FALSE, sizeof(struct bl_observed));
    bl_learn_observe(yard->car, &yard->garage.shop, garage_at(&yard->garage, LATEST), product,
                     observed);
    return observed;
}

/* The first coating must have been seen so; the yard is closed. */
static void expect(struct yard *yard, double alive, double over)
{
    g_autoptr(GArray) observed = seen_of(yard, NULL);
    const struct bl_observed *seen = NULL;
    for (guint i = 0; i < observed->len && !seen; i++) {
        const struct bl_observed *one = &g_array_index(observed, struct bl_observed, i);
        seen = one->treatment == 1 ? one : NULL;
    }
    double got[2] = {seen ? seen->alive : 0, seen ? seen->over : NEVER};
    if (!(fabs(got[0] - alive) < 1e-4) ||
        !(isinf(over) ? isinf(got[1]) : fabs(got[1] - over) < 1e-4)) {
        fail_msg("alive at %g and over at %g, not %g and %g", got[0], got[1], alive, over);
    }
    garage_clear(&yard->garage);
}

static void what_beads_is_alive_and_what_is_gone_was_over_by_then(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    expect(&yard, 0, NEVER);
    yard_open(&yard);
    look(&yard, 30, BL_FOUND_BEADING);
    look(&yard, 60, BL_FOUND_CAME_BACK);
    expect(&yard, 60, NEVER);
    yard_open(&yard);
    look(&yard, 60, BL_FOUND_GONE);
    look(&yard, 80, BL_FOUND_GONE);
    expect(&yard, 0, 60);
    yard_open(&yard);
    look(&yard, 30, BL_FOUND_BEADING);
    look(&yard, 60, BL_FOUND_GONE);
    expect(&yard, 30, 60);
}

static void what_came_back_was_not_gone(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    look(&yard, 40, BL_FOUND_GONE);
    look(&yard, 45, BL_FOUND_CAME_BACK);
    expect(&yard, 45, NEVER);
}

static void an_inspection_in_other_words_or_of_another_place_says_nothing(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    look(&yard, 40, BL_FOUND_GONE)->finding = -1;
    look(&yard, 41, BL_FOUND_GONE)->surface = BL_WHEELS;
    look(&yard, 42, BL_FOUND_GONE)->treatment = 999;
    look(&yard, 43, BL_FOUND_GONE)->part = g_strdup("bonnet");
    look(&yard, 44, BL_FOUND_GONE)->happening = BL_EV_ETCHED;
    expect(&yard, 0, NEVER);
}

static void a_look_without_a_surface_is_of_the_whole_car(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    look(&yard, 40, BL_FOUND_BEADING)->surface = -1;
    expect(&yard, 40, NEVER);
}

/* Nobody looks at what is an hour old; what he wrote down then was seen before the work. */
static void a_look_on_the_day_of_a_job_is_of_what_was_there_before(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    look(&yard, 0.2, BL_FOUND_GONE);
    expect(&yard, 0, NEVER);
    yard_open(&yard);
    look(&yard, 150.1, BL_FOUND_BEADING); /* noted after the job of that day */
    renew(&yard, 150, yard.rule);
    expect(&yard, 150, NEVER);
    yard_open(&yard);
    look(&yard, 152, BL_FOUND_BEADING); /* of the new one */
    renew(&yard, 150, yard.rule);
    expect(&yard, 0, 150);
}

static void a_booking_to_put_it_on_again_says_it_was_over(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    renew(&yard, 70, yard.rule);
    expect(&yard, 0, 70);
    yard_open(&yard);
    look(&yard, 50, BL_FOUND_BEADING);
    renew(&yard, 70, yard.rule);
    expect(&yard, 50, 70);
}

static void a_top_up_by_habit_says_nothing_before_it_is_due(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    yard.rule->again = BL_AGAIN_NEXT_BOOKING;
    renew(&yard, 99, yard.rule);
    expect(&yard, 0, NEVER);
    yard_open(&yard);
    yard.rule->again = BL_AGAIN_NEXT_BOOKING;
    renew(&yard, 101, yard.rule);
    expect(&yard, 0, 101);
    yard_open(&yard);
    g_array_index(yard.car->treatments, struct bl_treatment, 0).again = BL_AGAIN_CUSTOMER;
    renew(&yard, 99, yard.rule);
    expect(&yard, 0, NEVER);
}

static void another_product_over_it_says_nothing(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    renew(&yard, 150, garage_rule(&yard.garage, "another"));
    expect(&yard, 0, NEVER);
    yard_open(&yard);
    look(&yard, 60, BL_FOUND_BEADING);
    renew(&yard, 150, garage_rule(&yard.garage, "another"));
    expect(&yard, 60, NEVER);
}

static void what_came_off_without_a_look_is_no_observation(void **state)
{
    static const enum bl_happening off[] = {BL_EV_STRIPPED, BL_EV_POLISHED, BL_EV_RESPRAYED};
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(off); i++) {
        struct yard yard;
        yard_open(&yard);
        garage_event(yard.car, 90, after(&yard, 80), off[i], BL_PAINT);
        g_autoptr(GArray) observed = seen_of(&yard, NULL);
        assert_int_equal(observed->len, 0);
        garage_clear(&yard.garage);
    }
}

static void what_was_stripped_stays_with_the_last_look(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    look(&yard, 50, BL_FOUND_BEADING);
    garage_event(yard.car, 90, after(&yard, 80), BL_EV_STRIPPED, BL_PAINT);
    expect(&yard, 50, NEVER);
    yard_open(&yard);
    look(&yard, 60, BL_FOUND_GONE);
    garage_event(yard.car, 90, after(&yard, 80), BL_EV_STRIPPED, BL_PAINT);
    look(&yard, 90, BL_FOUND_BEADING); /* of nothing that is known */
    expect(&yard, 0, 60);
    /* A wash nobody looked before says nothing. */
    yard_open(&yard);
    yard.rule->stripped_by = g_strsplit("wheel cleaner", ",", 0);
    garage_event(yard.car, 90, after(&yard, 80), BL_EV_HARSH_WASH, BL_PAINT)->with =
        g_strdup("wheel cleaner");
    expect(&yard, 0, NEVER);
}

static void what_was_stripped_to_be_put_on_again_was_over(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    garage_event(yard.car, 90, after(&yard, 149.95), BL_EV_STRIPPED, BL_PAINT);
    renew(&yard, 150, yard.rule);
    expect(&yard, 0, 149.95);
    yard_open(&yard); /* another day's work is another matter */
    garage_event(yard.car, 90, after(&yard, 140), BL_EV_STRIPPED, BL_PAINT);
    renew(&yard, 150, yard.rule);
    expect(&yard, 0, NEVER);
}

static void what_was_made_good_after_a_complaint_is_not_learned_from(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    look(&yard, 10, BL_FOUND_GONE);
    renew(&yard, 12, yard.rule)->redo_of = 1;
    look(&yard, 80, BL_FOUND_BEADING);
    g_autoptr(GArray) observed = seen_of(&yard, NULL);
    assert_int_equal(observed->len, 0);
    garage_clear(&yard.garage);
    yard_open(&yard); /* a complaint of something else */
    look(&yard, 10, BL_FOUND_GONE);
    renew(&yard, 12, garage_rule(&yard.garage, "another"))->redo_of = 1;
    expect(&yard, 0, 10);
}

static struct bl_rule *topper(struct yard *yard, enum bl_role role)
{
    struct bl_rule *rule = garage_rule(&yard->garage, "layer");
    rule->role = role;
    return rule;
}

static void of_two_layers_nobody_knows_which_one_beads(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    renew(&yard, 20, topper(&yard, BL_TOPPER));
    look(&yard, 10, BL_FOUND_BEADING);
    look(&yard, 60, BL_FOUND_BEADING);
    expect(&yard, 10, NEVER);
    yard_open(&yard);
    renew(&yard, 20, topper(&yard, BL_TOPPER));
    look(&yard, 60, BL_FOUND_BEADING)->treatment = 1;
    expect(&yard, 60, NEVER);
    yard_open(&yard);
    renew(&yard, 20, topper(&yard, BL_TOPPER));
    look(&yard, 60, BL_FOUND_GONE);
    g_autoptr(GArray) observed = seen_of(&yard, "layer");
    assert_int_equal(observed->len, 1);
    assert_true(fabs(g_array_index(observed, struct bl_observed, 0).over - 40) < 1e-4);
    expect(&yard, 0, 60);
}

static void film_does_not_bead_so_it_is_never_gone_by_that(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    renew(&yard, 20, topper(&yard, BL_FILM));
    look(&yard, 50, BL_FOUND_BEADING);
    look(&yard, 60, BL_FOUND_GONE);
    g_autoptr(GArray) observed = seen_of(&yard, "layer");
    assert_int_equal(observed->len, 0);
    expect(&yard, 50, 60);
}

/* Kept up for its first interval and grace after each care, and bare after. */
static void a_past_is_measured_as_if_a_care_had_closed_it(void **state)
{
    static const double at[][2] = {{20, 10}, {70, 35}, {100, 65}};
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(at); i++) {
        struct yard yard;
        yard_open(&yard);
        yard.rule->care = (struct bl_care){
            .interval_days = 28, .grace_days = 14, .extends = 2, .by_customer = true};
        garage_event(yard.car, 90, after(&yard, 28), BL_EV_CARE, BL_PAINT);
        look(&yard, at[i][0], BL_FOUND_GONE);
        expect(&yard, 0, at[i][1]);
    }
}

static void a_busy_car_is_further_on_the_scale_than_the_calendar_says(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    yard.rule->wear.share = 0.6;
    garage_read(yard.car, 1, yard.start, 10000);
    garage_read(yard.car, 2, after(&yard, 365.25), 10000 + 19400);
    look(&yard, 100, BL_FOUND_GONE); /* the reading that measures it came later */
    expect(&yard, 0, 100 * (0.4 + 0.6 * 19400 / 12000));
}

static void what_lies_ahead_is_not_known_yet(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    look(&yard, 40, BL_FOUND_BEADING);
    look(&yard, 90, BL_FOUND_GONE);
    g_autoptr(GArray) observed = g_array_new(FALSE, FALSE, sizeof(struct bl_observed));
    bl_learn_observe(yard.car, &yard.garage.shop, after(&yard, 50), "coating", observed);
    bl_learn_observe(yard.car, &yard.garage.shop, after(&yard, 50), "other", observed);
    assert_int_equal(observed->len, 1);
    assert_true(isinf(g_array_index(observed, struct bl_observed, 0).over));
    garage_clear(&yard.garage);
}

static void a_product_without_a_life_is_not_learned_of(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    yard.rule->wear.life_days[0] = yard.rule->wear.life_days[1] = (double)NAN;
    look(&yard, 40, BL_FOUND_GONE);
    expect(&yard, 0, NEVER);
}

static void random_past(struct yard *yard, GRand *chance)
{
    yard_open(yard);
    yard->rule->care = (struct bl_care){.interval_days = 28, .grace_days = 14, .extends = 2};
    struct bl_rule *layer = topper(yard, (enum bl_role)g_rand_int_range(chance, 0, BL_ROLES));
    for (gint k = g_rand_int_range(chance, 1, 12); k > 0; k--) {
        double days = g_rand_double_range(chance, 0, 400);
        switch (g_rand_int_range(chance, 0, 5)) {
        case 0:
            renew(yard, days, g_rand_boolean(chance) ? layer : yard->rule)->redo_of =
                g_rand_int_range(chance, 0, 8) ? 0 : 1;
            break;
        case 1:
            garage_event(yard->car, yard->next_id++, after(yard, days),
                         (enum bl_happening)g_rand_int_range(chance, 0, BL_HAPPENINGS),
                         g_rand_boolean(chance) ? BL_PAINT : -1);
            break;
        default:
            look(yard, days, (enum bl_finding)g_rand_int_range(chance, 0, BL_FINDINGS));
        }
    }
}

static void turn_around(GArray *array)
{
    gsize size = g_array_get_element_size(array);
    g_autofree char *swap = g_malloc(size);
    for (guint i = 0; i < array->len / 2; i++) {
        char *a = array->data + i * size;
        char *b = array->data + (array->len - 1 - i) * size;
        memcpy(swap, a, size);
        memcpy(a, b, size);
        memcpy(b, swap, size);
    }
}

static void anything_seen_is_an_interval_in_whatever_order_it_was_written(void **state)
{
    GRand *chance = g_rand_new_with_seed(garage_seed("learn"));
    guint met = 0;
    (void)state;
    for (guint n = 0; n < 2000; n++) {
        struct yard yard;
        random_past(&yard, chance);
        g_autoptr(GArray) observed = seen_of(&yard, NULL);
        turn_around(yard.car->jobs);
        turn_around(yard.car->events);
        turn_around(yard.car->treatments);
        g_autoptr(GArray) again = seen_of(&yard, NULL);
        assert_int_equal(again->len, observed->len);
        for (guint i = 0; i < observed->len; i++) {
            const struct bl_observed *seen = &g_array_index(observed, struct bl_observed, i);
            const struct bl_observed *same = &g_array_index(again, struct bl_observed, i);
            assert_true(seen->alive >= 0 && seen->alive < seen->over);
            assert_true(seen->alive > 0 || isfinite(seen->over));
            assert_true(same->treatment == seen->treatment && same->alive == seen->alive &&
                        same->over == seen->over && same->looks == seen->looks);
            met++;
        }
        garage_clear(&yard.garage);
    }
    assert_true(met > 2000);
    g_rand_free(chance);
}

/* The lesson. */

static GArray *observations(const double ends[][2], guint count)
{
    GArray *observed = g_array_new(FALSE, FALSE, sizeof(struct bl_observed));
    for (guint i = 0; i < count; i++) {
        const struct bl_observed seen = {.treatment = i + 1,
                                         .alive = ends[i][0],
                                         .over = ends[i][1],
                                         .looks = 1,
                                         .renewed = i == 0};
        g_array_append_val(observed, seen);
    }
    return observed;
}

static const double six[][2] = {{30, NEVER}, {0, 40}, {20, 35}, {25, 45}, {38, NEVER}, {0, 30}};

static void five_observations_are_needed_and_one_alive_later_than_one_was_over(void **state)
{
    static const double parted[][2] = {{10, NEVER}, {20, NEVER}, {0, 40}, {15, 45}, {0, 50}};
    struct bl_lesson lesson;
    (void)state;
    for (guint count = 0; count <= G_N_ELEMENTS(six); count++) {
        g_autoptr(GArray) observed = observations(six, count);
        bl_learn_draw(observed, &lesson);
        assert_int_equal(lesson.observed, count);
        assert_int_equal(lesson.learned, count >= BL_LEARN_LEAST);
    }
    g_autoptr(GArray) apart = observations(parted, G_N_ELEMENTS(parted));
    bl_learn_draw(apart, &lesson);
    assert_false(lesson.learned);
    assert_int_equal(lesson.found, BL_WEIBULL_ONE_LIFE);
    assert_true(lesson.latest_alive == 20 && lesson.soonest_over == 40);
    assert_int_equal(lesson.alive, 2);
    assert_int_equal(lesson.over, 3);
    assert_int_equal(lesson.looks, 5);
    assert_int_equal(lesson.renewed, 1);
}

static void a_lesson_holds_half_of_the_lives_inside_what_it_proposes(void **state)
{
    struct bl_lesson lesson;
    (void)state;
    g_autoptr(GArray) observed = observations(six, G_N_ELEMENTS(six));
    bl_learn_draw(observed, &lesson);
    assert_true(lesson.learned && lesson.usable);
    assert_true(lesson.between[0] < lesson.median && lesson.median < lesson.between[1]);
    double scale = bl_weibull_scale(&lesson.fit);
    double shape = bl_weibull_shape(&lesson.fit);
    for (guint i = 0; i < 2; i++) {
        double share = 1 - exp(-pow(lesson.life_days[i] / scale, shape));
        assert_true(fabs(share - (i ? 0.75 : 0.25)) < 0.1); /* written to the day */
        assert_true(lesson.life_days[i] == round(lesson.life_days[i]));
    }
}

static void a_life_that_no_rule_may_have_is_not_proposed(void **state)
{
    static const double forever[][2] = {
        {90000, NEVER}, {80000, NEVER}, {95000, NEVER}, {0, 85000}, {70000, NEVER}};
    static const double minutes[][2] = {
        {0.001, NEVER}, {0, 0.0015}, {0.002, NEVER}, {0, 0.0025}, {0, 0.003}};
    struct bl_lesson lesson;
    (void)state;
    g_autoptr(GArray) long_lived = observations(forever, 5);
    bl_learn_draw(long_lived, &lesson);
    assert_true(lesson.learned && !lesson.usable);
    g_autoptr(GArray) short_lived = observations(minutes, 5);
    bl_learn_draw(short_lived, &lesson);
    assert_true(lesson.learned && !lesson.usable);
}

/* Two hundred cars whose coatings live by a known law, each looked at three times: the law
 * comes back, within what its own errors allow. */
static void what_cars_were_made_to_live_is_learned_back(void **state)
{
    GRand *chance = g_rand_new_with_seed(garage_seed("learn"));
    g_autoptr(GArray) observed = g_array_new(FALSE, FALSE, sizeof(struct bl_observed));
    struct bl_lesson lesson;
    (void)state;
    for (guint n = 0; n < 200; n++) {
        struct yard yard;
        yard_open(&yard);
        yard.car->km_a_year = g_rand_double_range(chance, 4000, 30000);
        yard.rule->wear.share = 0.5;
        double speed = 0.5 + 0.5 * yard.car->km_a_year / 12000;
        speed = CLAMP(speed, 0.6, 2.0);
        double life = 150 * pow(-log(1 - g_rand_double(chance)), 1 / 3.0);
        for (guint k = 0; k < 3; k++) {
            double days = g_rand_double_range(chance, 10, 300);
            look(&yard, days, days * speed < life ? BL_FOUND_BEADING : BL_FOUND_GONE);
        }
        bl_learn_observe(yard.car, &yard.garage.shop, garage_at(&yard.garage, LATEST), NULL,
                         observed);
        garage_clear(&yard.garage);
    }
    assert_int_equal(observed->len, 200);
    bl_learn_draw(observed, &lesson);
    assert_true(lesson.learned);
    double off = fabs(lesson.fit.ln_scale - log(150)) / sqrt(lesson.fit.covariance[0][0]);
    double bent = fabs(lesson.fit.ln_sigma + log(3)) / sqrt(lesson.fit.covariance[1][1]);
    print_message("scale off by %.2f, shape by %.2f standard errors\n", off, bent);
    assert_true(off < 4 && bent < 4);
    g_rand_free(chance);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_beads_is_alive_and_what_is_gone_was_over_by_then),
        cmocka_unit_test(what_came_back_was_not_gone),
        cmocka_unit_test(an_inspection_in_other_words_or_of_another_place_says_nothing),
        cmocka_unit_test(a_look_without_a_surface_is_of_the_whole_car),
        cmocka_unit_test(a_look_on_the_day_of_a_job_is_of_what_was_there_before),
        cmocka_unit_test(a_booking_to_put_it_on_again_says_it_was_over),
        cmocka_unit_test(a_top_up_by_habit_says_nothing_before_it_is_due),
        cmocka_unit_test(another_product_over_it_says_nothing),
        cmocka_unit_test(what_came_off_without_a_look_is_no_observation),
        cmocka_unit_test(what_was_stripped_stays_with_the_last_look),
        cmocka_unit_test(what_was_stripped_to_be_put_on_again_was_over),
        cmocka_unit_test(what_was_made_good_after_a_complaint_is_not_learned_from),
        cmocka_unit_test(of_two_layers_nobody_knows_which_one_beads),
        cmocka_unit_test(film_does_not_bead_so_it_is_never_gone_by_that),
        cmocka_unit_test(a_past_is_measured_as_if_a_care_had_closed_it),
        cmocka_unit_test(a_busy_car_is_further_on_the_scale_than_the_calendar_says),
        cmocka_unit_test(what_lies_ahead_is_not_known_yet),
        cmocka_unit_test(a_product_without_a_life_is_not_learned_of),
        cmocka_unit_test(anything_seen_is_an_interval_in_whatever_order_it_was_written),
        cmocka_unit_test(five_observations_are_needed_and_one_alive_later_than_one_was_over),
        cmocka_unit_test(a_lesson_holds_half_of_the_lives_inside_what_it_proposes),
        cmocka_unit_test(a_life_that_no_rule_may_have_is_not_proposed),
        cmocka_unit_test(what_cars_were_made_to_live_is_learned_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
