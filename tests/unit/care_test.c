/* Care, look-overs, the mileage and second offers: when they are due, and that they do not add
 * up to a nuisance. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "garage.h"
#include "garage_live.h"

struct scene {
    struct garage garage;
    struct bl_rule *rule;
    struct bl_car *car;
    int64_t start;
};

/* A coating of two to three years, put on on Monday 2 March 2026 at noon; the customer has the
 * topper for every 90 days. */
static void set_up(struct scene *scene)
{
    garage_init(&scene->garage, "Europe/London");
    scene->start = garage_at(&scene->garage, "2026-03-02 12:00");
    scene->rule = garage_rule(&scene->garage, "coating");
    scene->rule->care = (struct bl_care){.interval_days = 90,
                                         .grace_days = 30,
                                         .extends = 1.25,
                                         .by_customer = true,
                                         .what = g_strdup("topper")};
    scene->car = garage_add_car(&scene->garage);
    garage_job(scene->car, 1, scene->start);
    garage_treat(scene->car, 1, 1, scene->rule, scene->start);
}

static int64_t on_day(const struct scene *scene, double day)
{
    return scene->start + llround(day * 86400);
}

/* The one due of the kind, or NULL; there is at most one. */
static const struct bl_due *only(const struct bl_plan *plan, enum bl_kind kind)
{
    const struct bl_due *found = NULL;
    for (guint i = 0; i < plan->dues->len; i++) {
        const struct bl_due *due = &g_array_index(plan->dues, struct bl_due, i);
        if (due->kind == kind) {
            assert_null(found);
            found = due;
        }
    }
    return found;
}

static void assert_due(const struct bl_due *due, int ordinal, int64_t from, int64_t not_after)
{
    assert_non_null(due);
    assert_int_equal(due->ordinal, ordinal);
    assert_int_equal(due->from, from);
    assert_int_equal(due->not_after, not_after);
}

static void care_is_due_an_interval_after_the_last_and_undone_one_after_that(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    BL_AUTO(bl_plan) *first = garage_plan(&scene.garage, on_day(&scene, 30));
    assert_due(only(first, BL_CARE), 1, on_day(&scene, 90), on_day(&scene, 135));
    assert_int_equal(only(first, BL_CARE)->best_by, on_day(&scene, 135));
    assert_int_equal(only(first, BL_CARE)->treatment, 1);
    BL_AUTO(bl_plan) *last = garage_plan(&scene.garage, on_day(&scene, 135));
    assert_due(only(last, BL_CARE), 1, on_day(&scene, 90), on_day(&scene, 135));
    assert_int_equal(last->replan_at, on_day(&scene, 135) + 1);
    BL_AUTO(bl_plan) *undone = garage_plan(&scene.garage, on_day(&scene, 135) + 1);
    assert_due(only(undone, BL_CARE), 2, on_day(&scene, 180), on_day(&scene, 225));
    garage_event(scene.car, 7, on_day(&scene, 140), BL_EV_CARE, -1);
    BL_AUTO(bl_plan) *done = garage_plan(&scene.garage, on_day(&scene, 141));
    assert_due(only(done, BL_CARE), 7001, on_day(&scene, 230), on_day(&scene, 275));
    garage_clear(&scene.garage);
}

static void care_is_counted_on_use_unless_the_rule_says_calendar(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    scene.rule->wear.share = 1;
    scene.car->km_a_year = 24000;
    BL_AUTO(bl_plan) *by_use = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_due(only(by_use, BL_CARE), 1, on_day(&scene, 45), on_day(&scene, 67.5));
    scene.rule->care.on_calendar = true;
    BL_AUTO(bl_plan) *by_date = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_due(only(by_date, BL_CARE), 1, on_day(&scene, 90), on_day(&scene, 135));
    garage_clear(&scene.garage);
}

static void a_customer_is_reminded_only_of_care_he_can_do(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    scene.rule->care.by_customer = false;
    BL_AUTO(bl_plan) *shops = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_null(only(shops, BL_CARE));
    scene.rule->care.by_customer = true;
    scene.garage.facts.customer.consent[BL_TIPS] = false;
    BL_AUTO(bl_plan) *refused = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_string_equal(only(refused, BL_CARE)->held, "no consent for tips");
    assert_null(garage_intent(refused, BL_CARE, 1, 1));
    garage_clear(&scene.garage);
}

/* Likely: day 900 and not a day more without a habit; the tenth care is due then. */
static void no_care_is_due_after_the_likely_end(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    BL_AUTO(bl_plan) *last = garage_plan(&scene.garage, on_day(&scene, 860));
    assert_due(only(last, BL_CARE), 10, on_day(&scene, 900), on_day(&scene, 945));
    scene.rule->wear.life_days[0] = 699.9;
    BL_AUTO(bl_plan) *none = garage_plan(&scene.garage, on_day(&scene, 860));
    assert_null(only(none, BL_CARE));
    garage_clear(&scene.garage);
}

/* A topper goes on after a wash, so not while it may not be washed. */
static void care_waits_for_the_wash_date(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    scene.rule->care.interval_days = 16;
    BL_AUTO(bl_plan) *plan = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_due(only(plan, BL_CARE), 1, garage_at(&scene.garage, "2026-03-24"),
               on_day(&scene, 24));
    garage_clear(&scene.garage);
}

/* Two protections with different bottles: together where their windows meet, else six weeks
 * apart, and what finds no room says why. */
/* Its last day, 15 July, is that of "safe to wash now" for the other car. */
static void care_that_finds_its_last_day_taken_goes_the_day_before(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    struct bl_rule *other = garage_rule(&scene.garage, "wheel coating");
    other->surface = BL_WHEELS;
    int64_t washed = garage_at(&scene.garage, "2026-06-23 12:00");
    struct bl_car *second = garage_add_car(&scene.garage);
    garage_job(second, 2, washed);
    garage_treat(second, 2, 2, other, washed);
    garage_ended(&scene.garage, BL_HANDOVER, 2, 0);
    BL_AUTO(bl_plan) *plan = garage_plan(&scene.garage, on_day(&scene, 120));
    assert_int_equal(garage_intent(plan, BL_WASH, 2, 0)->send_at,
                     garage_at(&scene.garage, "2026-07-15 09:00"));
    const struct bl_intent *care = garage_intent(plan, BL_CARE, 1, 1);
    assert_null(care->lapse);
    assert_int_equal(bl_zone_date(scene.garage.shop.zone, care->send_at),
                     bl_date_of(2026, 7, 14));
    garage_clear(&scene.garage);
}

static void care_tips_are_weeks_apart_or_give_way(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    struct bl_rule *glass = garage_rule(&scene.garage, "glass");
    glass->surface = BL_GLASS;
    glass->care = scene.rule->care;
    glass->care.what = g_strdup("glass cleaner");
    glass->care.interval_days = 62; /* until day 93 */
    garage_treat(scene.car, 2, 1, glass, scene.start);
    scene.garage.facts.customer.wish = BL_WISH_OFTEN; /* 21 days apart */
    BL_AUTO(bl_plan) *together = garage_plan(&scene.garage, on_day(&scene, 30));
    assert_ptr_equal(garage_intent(together, BL_CARE, 1, 1),
                     garage_intent(together, BL_CARE, 2, 1)); /* day 90 to 93 */
    glass->care.interval_days = 50;
    BL_AUTO(bl_plan) *apart = garage_plan(&scene.garage, on_day(&scene, 30));
    int64_t one = garage_intent(apart, BL_CARE, 2, 1)->send_at;
    int64_t other = garage_intent(apart, BL_CARE, 1, 1)->send_at;
    assert_true(one <= on_day(&scene, 75) && other >= one + 20 * BL_DAY);
    assert_true(other >= on_day(&scene, 90) && other <= on_day(&scene, 135));

    garage_told(&scene.garage, on_day(&scene, 60), BL_CARE);
    scene.garage.facts.customer.wish = BL_WISH_NORMAL; /* 42 days */
    BL_AUTO(bl_plan) *gives = garage_plan(&scene.garage, on_day(&scene, 61));
    assert_string_equal(garage_intent(gives, BL_CARE, 2, 1)->lapse,
                        "gave way: at most one care tip in 42 days");
    assert_true(garage_intent(gives, BL_CARE, 1, 1)->send_at >= on_day(&scene, 101));
    garage_clear(&scene.garage);
}

static void a_coating_is_looked_over_once_a_year_while_it_lasts(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    scene.rule->look_over_months = 12;
    BL_AUTO(bl_plan) *first = garage_plan(&scene.garage, on_day(&scene, 1));
    int64_t due = garage_at(&scene.garage, "2027-03-02");
    assert_due(only(first, BL_LOOK_OVER), 1, due, due + 60 * BL_DAY);
    assert_int_equal(only(first, BL_LOOK_OVER)->best_by, due + 30 * BL_DAY);
    BL_AUTO(bl_plan) *second = garage_plan(&scene.garage, due + 60 * BL_DAY + 1);
    int64_t next = garage_at(&scene.garage, "2028-03-02");
    assert_due(only(second, BL_LOOK_OVER), 2, next, next + 60 * BL_DAY);
    BL_AUTO(bl_plan) *none = garage_plan(&scene.garage, next + 61 * BL_DAY); /* likely: 900 */
    assert_null(only(none, BL_LOOK_OVER));
    garage_clear(&scene.garage);
}

/* Read at the job: 100 days of half driving, half time. */
static void drive(struct scene *scene)
{
    scene->rule->wear.share = 0.5;
    scene->rule->care.by_customer = false;
    garage_read(scene->car, 5, scene->start, 20000);
}

static void the_mileage_is_asked_for_halfway_when_it_would_tell_much(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    drive(&scene);
    BL_AUTO(bl_plan) *plan = garage_plan(&scene.garage, on_day(&scene, 1));
    /* early 700 - 21: half the driving moves likely from 900 to 1200 */
    const struct bl_due *due = only(plan, BL_MILEAGE);
    assert_due(due, 0, on_day(&scene, 679 / 2.0), on_day(&scene, 679));
    assert_int_equal(due->subject, 5);
    assert_int_equal(due->best_by, on_day(&scene, 679 * 0.75));
    int64_t sent = garage_intent(plan, BL_MILEAGE, 5, 0)->send_at;
    assert_true(sent > due->best_by - 2 * BL_DAY && sent <= due->best_by);
    scene.rule->wear.share = 0.05; /* hardly any of it is driving */
    BL_AUTO(bl_plan) *sure = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_null(only(sure, BL_MILEAGE));
    garage_clear(&scene.garage);
}

static void the_mileage_is_not_asked_for_what_lasts_weeks_or_nobody_offers(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    drive(&scene);
    scene.rule->again = BL_AGAIN_NEXT_BOOKING;
    BL_AUTO(bl_plan) *unoffered = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_null(only(unoffered, BL_MILEAGE));
    scene.rule->again = BL_AGAIN_SHOP;
    scene.rule->wear.life_days[0] = 100;
    scene.rule->wear.life_days[1] = 265;
    BL_AUTO(bl_plan) *brief = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_null(only(brief, BL_MILEAGE));
    scene.rule->wear.life_days[1] = 266;
    BL_AUTO(bl_plan) *lasting = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_non_null(only(lasting, BL_MILEAGE));
    garage_ended(&scene.garage, BL_TOP_UP, 1, 0);
    BL_AUTO(bl_plan) *offered = garage_plan(&scene.garage, on_day(&scene, 1));
    assert_null(only(offered, BL_MILEAGE));
    garage_clear(&scene.garage);
}

static void the_mileage_is_asked_for_twice_a_year_at_most(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    drive(&scene);
    for (int i = 1; i <= 2; i++) {
        garage_ended(&scene.garage, BL_MILEAGE, 4 + i, 0);
        garage_read(scene.car, 5 + i, on_day(&scene, i * 60), 20000 + i * 60 * 33);
    }
    BL_AUTO(bl_plan) *plan = garage_plan(&scene.garage, on_day(&scene, 121));
    assert_int_equal(only(plan, BL_MILEAGE)->subject, 7);
    assert_string_equal(only(plan, BL_MILEAGE)->held, "asked for the mileage twice in a year");
    garage_clear(&scene.garage);
}

static void the_mileage_rides_on_a_message_that_goes_anyway(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    drive(&scene);
    scene.rule->care.by_customer = true;
    scene.rule->care.on_calendar = true;
    BL_AUTO(bl_plan) *plan = garage_plan(&scene.garage, on_day(&scene, 320));
    const struct bl_intent *intent = garage_intent(plan, BL_MILEAGE, 5, 0);
    assert_int_equal(intent->kind, BL_CARE);
    assert_ptr_equal(intent, garage_intent(plan, BL_CARE, 1, 4));
    assert_int_equal(intent->dues->len, 2);
    assert_true(intent->send_at >= only(plan, BL_MILEAGE)->from);
    garage_clear(&scene.garage);
}

static void an_offer_is_made_once_more_when_it_lasts_much_longer_than_told(void **state)
{
    struct scene scene;
    (void)state;
    set_up(&scene);
    garage_ended(&scene.garage, BL_TOP_UP, 1, 0);
    struct bl_ended *ended = &g_array_index(scene.garage.facts.ended, struct bl_ended, 0);
    ended->early = on_day(&scene, 525); /* a quarter of 700 days less */
    BL_AUTO(bl_plan) *near = garage_plan(&scene.garage, on_day(&scene, 500));
    assert_null(bl_plan_due(near, BL_TOP_UP, 1, 2));
    ended->early -= 1;
    BL_AUTO(bl_plan) *far = garage_plan(&scene.garage, on_day(&scene, 500));
    const struct bl_due *again = bl_plan_due(far, BL_TOP_UP, 1, 2);
    assert_int_equal(again->early, on_day(&scene, 700));
    assert_non_null(garage_intent(far, BL_TOP_UP, 1, 2));
    assert_null(garage_intent(far, BL_TOP_UP, 1, 0));
    garage_ended(&scene.garage, BL_TOP_UP, 1, 2);
    BL_AUTO(bl_plan) *enough = garage_plan(&scene.garage, on_day(&scene, 500));
    assert_null(garage_intent(enough, BL_TOP_UP, 1, 2));
    ended = &g_array_index(scene.garage.facts.ended, struct bl_ended, 0);
    ended->early = 0; /* it was not sent: nobody was told a date */
    BL_AUTO(bl_plan) *untold = garage_plan(&scene.garage, on_day(&scene, 500));
    assert_null(bl_plan_due(untold, BL_TOP_UP, 1, 2));
    garage_clear(&scene.garage);
}

struct seen {
    int64_t last;
    int count;
};

static void a_wheel_spray_message(const struct bl_plan *plan, const struct bl_intent *intent,
                                  void *context)
{
    struct seen *seen = context;
    if (intent->kind != BL_TOP_UP) {
        return;
    }
    for (guint i = 0; i < intent->dues->len; i++) {
        const struct bl_due *due =
            &g_array_index(plan->dues, struct bl_due, g_array_index(intent->dues, guint, i));
        assert_null(due->held);
    }
    assert_true(intent->send_at >= seen->last + 41 * BL_DAY);
    seen->last = intent->send_at;
    seen->count++;
}

/* Driven 30 000 miles a year and washed every six weeks with its wheel spray renewed: at most
 * one message about it in six weeks, and none of them an offer, for the customer does it
 * (common practice, no source). */
static void
a_high_mileage_car_gets_no_more_than_a_wheel_spray_message_in_six_weeks(void **state)
{
    struct garage garage;
    struct seen seen = {.last = 0};
    (void)state;
    garage_init(&garage, "Europe/London");
    struct bl_rule *spray = garage_rule(&garage, "wheel spray");
    spray->surface = BL_WHEELS;
    spray->again = BL_AGAIN_CUSTOMER;
    spray->cure = (struct bl_cure){.rinse_days = (double)NAN};
    spray->wear.life_days[0] = 28;
    spray->wear.life_days[1] = 42;
    spray->wear.share = 0.6;
    garage.shop.restraint.tips_offers_a_year = 100;
    struct bl_car *car = garage_add_car(&garage);
    int64_t start = garage_at(&garage, "2026-01-08 12:00");
    double km_a_day = 30000 * BL_KM_A_MILE / 365.25;
    for (int visit = 0; visit < 9; visit++) {
        int64_t at = start + visit * 42 * BL_DAY;
        garage_job(car, visit + 1, at);
        garage_treat(car, visit + 1, visit + 1, spray, at);
        garage_read(car, visit + 1, at, 50000 + visit * 42 * km_a_day);
        garage_live(&garage, at, at + 42 * BL_DAY, a_wheel_spray_message, &seen);
    }
    assert_true(seen.count >= 7); /* where its message would come too soon, it waits */
    garage_clear(&garage);
}

static void a_care_tip(const struct bl_plan *plan, const struct bl_intent *intent,
                       void *context)
{
    struct seen *seen = context;
    (void)plan;
    if (intent->kind == BL_CARE) {
        assert_true(seen->last == 0 || intent->send_at >= seen->last + 41 * BL_DAY);
        seen->last = intent->send_at;
        seen->count++;
    }
}

/* Two years, four protections, nothing ever done: the tips keep their six weeks. */
static void care_tips_never_come_more_often_than_once_in_six_weeks(void **state)
{
    struct scene scene;
    struct seen seen = {.last = 0};
    (void)state;
    set_up(&scene);
    for (int i = 0; i < 3; i++) {
        struct bl_rule *rule = garage_rule(&scene.garage, "other");
        rule->surface = (enum bl_surface)(BL_WINDSCREEN + i);
        rule->care = scene.rule->care;
        rule->care.what = g_strdup("glass cleaner");
        rule->care.interval_days = 21 + 11 * i;
        garage_treat(scene.car, 2 + i, 1, rule, scene.start);
    }
    scene.garage.shop.restraint.tips_offers_a_year = 100;
    garage_live(&scene.garage, scene.start, on_day(&scene, 690), a_care_tip, &seen);
    assert_true(seen.count >= 12 && seen.count <= 17);
    garage_clear(&scene.garage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(care_is_due_an_interval_after_the_last_and_undone_one_after_that),
        cmocka_unit_test(care_is_counted_on_use_unless_the_rule_says_calendar),
        cmocka_unit_test(a_customer_is_reminded_only_of_care_he_can_do),
        cmocka_unit_test(no_care_is_due_after_the_likely_end),
        cmocka_unit_test(care_waits_for_the_wash_date),
        cmocka_unit_test(care_that_finds_its_last_day_taken_goes_the_day_before),
        cmocka_unit_test(care_tips_are_weeks_apart_or_give_way),
        cmocka_unit_test(a_coating_is_looked_over_once_a_year_while_it_lasts),
        cmocka_unit_test(the_mileage_is_asked_for_halfway_when_it_would_tell_much),
        cmocka_unit_test(the_mileage_is_not_asked_for_what_lasts_weeks_or_nobody_offers),
        cmocka_unit_test(the_mileage_is_asked_for_twice_a_year_at_most),
        cmocka_unit_test(the_mileage_rides_on_a_message_that_goes_anyway),
        cmocka_unit_test(an_offer_is_made_once_more_when_it_lasts_much_longer_than_told),
        cmocka_unit_test(
            a_high_mileage_car_gets_no_more_than_a_wheel_spray_message_in_six_weeks),
        cmocka_unit_test(care_tips_never_come_more_often_than_once_in_six_weeks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
