/* Restraint: how many messages a customer gets, which go together, and what gives way. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

/* A car with one job at that time: treatment id 10 * job, cured after so many days. */
static void add_job(struct garage *garage, int64_t job, const char *at, double cure_days)
{
    struct bl_car *car = garage_add_car(garage);
    struct bl_rule *rule = garage_rule(garage, "coating");
    rule->cure.wash_days[1] = cure_days;
    garage_job(car, job, garage_at(garage, at));
    garage_treat(car, job * 10, job, rule, garage_at(garage, at));
}

/* The same, with a protection whose top-up is wanted from .. best_by (local times), and nothing
 * else to say. */
static void add_top_up(struct garage *garage, int64_t job, const char *from,
                       const char *best_by)
{
    struct bl_car *car = garage_add_car(garage);
    struct bl_rule *rule = garage_rule(garage, "sealant");
    int64_t begins = garage_at(garage, from);
    int64_t done = begins - 50 * BL_DAY;
    double likely = (double)(garage_at(garage, best_by) - done) / (double)BL_DAY;
    rule->cure.wash_days[1] = 0;
    rule->wear.lead_days = 0;
    rule->wear.life_days[0] = 50;
    rule->wear.life_days[1] = 2 * likely - 50;
    garage_job(car, job, done);
    garage_treat(car, job * 10, job, rule, done);
    garage_ended(garage, BL_HANDOVER, job, 0);
}

static void assert_send(const struct garage *garage, const struct bl_plan *plan,
                        enum bl_kind kind, int64_t subject, const char *expected)
{
    const struct bl_intent *intent = garage_intent(plan, kind, subject, 0);
    assert_non_null(intent);
    assert_null(intent->lapse);
    g_autofree char *text = bl_at_format(garage->shop.zone, intent->send_at);
    g_autofree char *minute = g_strndup(text, 16);
    assert_string_equal(minute, expected);
}

static void handovers_of_one_hour_go_as_one_message(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_job(&garage, 1, "2026-03-02 19:20", 14);
    add_job(&garage, 2, "2026-03-02 20:30", 14);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 21:00"));
    assert_send(&garage, plan, BL_HANDOVER, 1, "2026-03-03T09:00");
    assert_ptr_equal(garage_intent(plan, BL_HANDOVER, 1, 0),
                     garage_intent(plan, BL_HANDOVER, 2, 0));
    assert_ptr_equal(garage_intent(plan, BL_WASH, 1, 0), garage_intent(plan, BL_WASH, 2, 0));
    assert_ptr_not_equal(garage_intent(plan, BL_WASH, 1, 0),
                         garage_intent(plan, BL_HANDOVER, 1, 0));
    garage_clear(&garage);
}

static void handovers_are_never_gathered_across_time(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    garage.shop.restraint.messages_a_day = 9;
    add_job(&garage, 1, "2026-03-02 10:00", 14);
    add_job(&garage, 2, "2026-03-02 13:00", 14);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 09:30"));
    assert_send(&garage, plan, BL_HANDOVER, 1, "2026-03-02T10:00");
    assert_send(&garage, plan, BL_HANDOVER, 2, "2026-03-02T13:00");
    garage_clear(&garage);
}

static void nobody_waits_for_a_later_one_past_the_own_window(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    garage.shop.restraint.messages_a_day = 9;
    add_job(&garage, 1, "2026-03-02 10:20", 0);
    add_job(&garage, 2, "2026-03-04 10:30", 0);
    int64_t entered =
        garage_at(&garage, "2026-03-04 10:00"); /* twenty minutes before its end */
    g_array_index(garage_car(&garage, 0)->jobs, struct bl_job, 0).told_from = entered;
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-04 09:30"));
    assert_send(&garage, plan, BL_HANDOVER, 1, "2026-03-04T10:00");
    assert_send(&garage, plan, BL_HANDOVER, 2, "2026-03-04T10:30");
    garage_clear(&garage);
}

static void what_was_told_today_makes_the_next_wait_for_tomorrow(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_job(&garage, 1, "2026-03-07 13:00", 14); /* a Saturday */
    garage_told(&garage, garage_at(&garage, "2026-03-07 10:00"), BL_TOP_UP);
    int64_t now = garage_at(&garage, "2026-03-07 13:00");
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
    assert_send(&garage, plan, BL_HANDOVER, 1, "2026-03-09T09:00");
    const struct bl_intent *moved = garage_intent(plan, BL_HANDOVER, 1, 0);
    assert_int_equal(moved->ideal, now);
    assert_string_equal(moved->waited, "at most 1 message a day to an address");
    struct bl_told *told = &g_array_index(garage.facts.told, struct bl_told, 0);
    told->state = BL_FAILED; /* it never reached the customer */
    BL_AUTO(bl_plan) *failed = garage_plan(&garage, now);
    assert_send(&garage, failed, BL_HANDOVER, 1, "2026-03-07T13:00");
    assert_null(garage_intent(failed, BL_HANDOVER, 1, 0)->waited);
    told->state = BL_UNSURE; /* it may have */
    BL_AUTO(bl_plan) *unsure = garage_plan(&garage, now);
    assert_send(&garage, unsure, BL_HANDOVER, 1, "2026-03-09T09:00");
    garage_clear(&garage);
}

static void service_goes_before_offers_on_the_same_day(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_job(&garage, 1, "2026-03-02 13:00", 14);
    add_top_up(&garage, 2, "2026-02-20 12:00", "2026-03-02 11:00");
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 08:00"));
    assert_send(&garage, plan, BL_HANDOVER, 1, "2026-03-02T13:00");
    assert_send(&garage, plan, BL_TOP_UP, 20, "2026-03-03T09:00");
    garage_clear(&garage);
}

static void a_handover_goes_before_a_wash_on_the_same_day(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_job(&garage, 1, "2026-03-02 13:00", 14);
    garage_ended(&garage, BL_HANDOVER, 1, 0);
    add_job(&garage, 2, "2026-03-17 13:00", 14); /* the day the first may be washed */
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-17 08:00"));
    assert_send(&garage, plan, BL_HANDOVER, 2, "2026-03-17T13:00");
    assert_send(&garage, plan, BL_WASH, 1, "2026-03-18T09:00");
    garage_clear(&garage);
}

static void top_ups_of_all_cars_are_gathered_at_the_latest_common_moment(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_top_up(&garage, 1, "2026-03-02 12:00", "2026-03-20 12:00");
    add_top_up(&garage, 2, "2026-03-10 12:00", "2026-04-20 12:00");
    add_top_up(&garage, 3, "2026-03-25 12:00", "2026-04-10 12:00");
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 08:00"));
    assert_int_equal(plan->intents->len, 2);
    assert_send(&garage, plan, BL_TOP_UP, 10, "2026-03-20T12:00");
    assert_ptr_equal(garage_intent(plan, BL_TOP_UP, 20, 0),
                     garage_intent(plan, BL_TOP_UP, 30, 0));
    assert_send(&garage, plan, BL_TOP_UP, 30, "2026-04-10T12:00");
    garage_clear(&garage);
}

static void after_weeks_away_what_is_overdue_goes_as_one(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_top_up(&garage, 1, "2026-03-02 12:00", "2026-03-05 12:00");
    add_top_up(&garage, 2, "2026-03-08 12:00", "2026-03-12 12:00");
    add_top_up(&garage, 3, "2026-03-15 12:00", "2026-03-19 12:00");
    BL_AUTO(bl_plan) *before = garage_plan(&garage, garage_at(&garage, "2026-03-01 12:00"));
    assert_int_equal(before->intents->len, 3);
    BL_AUTO(bl_plan) *after = garage_plan(&garage, garage_at(&garage, "2026-03-23 10:00"));
    assert_int_equal(after->intents->len, 1);
    assert_send(&garage, after, BL_TOP_UP, 10, "2026-03-23T10:00");
    garage_clear(&garage);
}

static void six_tips_and_offers_a_year_are_enough(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_top_up(&garage, 1, "2026-03-02 12:00", "2026-03-20 12:00");
    int64_t now = garage_at(&garage, "2026-03-02 08:00");
    for (int i = 0; i < 5; i++) {
        garage_told(&garage, now - (100 + i) * BL_DAY, BL_TOP_UP);
    }
    for (int i = 0; i < 9; i++) {
        garage_told(&garage, now - (50 + i) * BL_DAY, BL_HANDOVER); /* apart from those */
    }
    BL_AUTO(bl_plan) *sixth = garage_plan(&garage, now);
    assert_send(&garage, sixth, BL_TOP_UP, 10, "2026-03-20T12:00");

    garage_told(&garage, garage_at(&garage, "2025-03-26 12:00"), BL_CARE);
    BL_AUTO(bl_plan) *seventh = garage_plan(&garage, now); /* a year after the first of them */
    assert_send(&garage, seventh, BL_TOP_UP, 10, "2026-03-26T09:00");

    garage_told(&garage, now - 90 * BL_DAY, BL_CARE);
    BL_AUTO(bl_plan) *never = garage_plan(&garage, now);
    const struct bl_intent *intent = garage_intent(never, BL_TOP_UP, 10, 0);
    assert_string_equal(intent->lapse, "gave way: at most 6 tips and offers a year");
    assert_int_equal(intent->send_at, intent->not_after);
    assert_int_equal(intent->not_after, bl_plan_due(never, BL_TOP_UP, 10, 0)->not_after);
    garage_clear(&garage);
}

static void what_gives_way_past_its_window_lapses_with_the_reason(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_job(&garage, 1, "2026-03-06 13:00", 0); /* to Sunday 13:00 */
    garage_told(&garage, garage_at(&garage, "2026-03-06 10:00"), BL_WASH);
    garage_told(&garage, garage_at(&garage, "2026-03-07 09:00"), BL_WASH);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-06 14:00"));
    const struct bl_intent *intent = garage_intent(plan, BL_HANDOVER, 1, 0);
    assert_string_equal(intent->lapse, "gave way: at most 1 message a day to an address");
    garage_clear(&garage);
}

static void of_what_goes_together_only_what_has_passed_lapses(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_job(&garage, 1, "2026-03-06 13:00", 0);  /* to Sunday 13:00 */
    add_job(&garage, 2, "2026-03-06 13:10", 14); /* to the 20th */
    garage_told(&garage, garage_at(&garage, "2026-03-06 10:00"), BL_WASH);
    garage_told(&garage, garage_at(&garage, "2026-03-07 09:00"), BL_WASH);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-06 14:00"));
    assert_non_null(garage_intent(plan, BL_HANDOVER, 1, 0)->lapse);
    assert_send(&garage, plan, BL_HANDOVER, 2, "2026-03-09T09:00");
    assert_int_equal(garage_intent(plan, BL_HANDOVER, 2, 0)->not_after,
                     bl_plan_due(plan, BL_HANDOVER, 2, 0)->not_after);
    garage_clear(&garage);
}

static void a_window_whose_last_hour_has_passed_lapses_though_still_open(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_job(&garage, 1, "2026-03-06 13:00", 0); /* to Sunday 13:00 */
    int64_t now = garage_at(&garage, "2026-03-07 20:00");
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
    const struct bl_due *due = bl_plan_due(plan, BL_HANDOVER, 1, 0);
    assert_int_equal(due->extended_from, BL_NEVER); /* it had its hours, and they passed */
    assert_string_equal(garage_intent(plan, BL_HANDOVER, 1, 0)->lapse,
                        "no sending hour is left in its window");
    assert_int_equal(plan->replan_at, due->not_after + 1);
    garage_clear(&garage);
}

static void an_unsent_message_is_planned_again_when_the_day_closes(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_job(&garage, 1, "2026-03-02 13:00", 14);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 14:00"));
    assert_int_equal(plan->replan_at, garage_at(&garage, "2026-03-02 19:00"));
    BL_AUTO(bl_plan) *next = garage_plan(&garage, plan->replan_at);
    assert_send(&garage, next, BL_HANDOVER, 1, "2026-03-03T09:00");
    assert_int_equal(next->replan_at, garage_at(&garage, "2026-03-03 19:00"));
    garage_clear(&garage);
}

static void who_is_rung_is_not_counted_by_the_day(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    garage.facts.customer.route = BL_BY_HAND;
    add_job(&garage, 1, "2026-03-02 13:00", 14);
    garage_told(&garage, garage_at(&garage, "2026-03-02 10:00"), BL_WASH);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 14:00"));
    assert_send(&garage, plan, BL_HANDOVER, 1, "2026-03-02T14:00");
    assert_null(garage_intent(plan, BL_HANDOVER, 1, 0)->address);
    garage_clear(&garage);
}

/* Twenty years of one busy fleet: planning stays linear in the facts. */
static void a_large_fleet_is_planned_in_a_moment(void **state)
{
    (void)state;
    struct garage garage;
    gint64 took[2];
    for (int size = 0; size < 2; size++) {
        garage_init(&garage, "Europe/London");
        int64_t start = garage_at(&garage, "2006-03-02 13:00");
        struct bl_rule *rule = garage_rule(&garage, "coating");
        int jobs = size ? 8000 : 1000;
        for (int c = 0; c < 2; c++) {
            struct bl_car *car = garage_add_car(&garage);
            for (int i = 0; i < jobs; i++) {
                int64_t id = c * 100000 + i + 1;
                int64_t at = start + i * 7200;
                garage_job(car, id, at);
                garage_treat(car, id, id, rule, at);
                garage_read(car, id, at, i * 5);
                garage_event(car, id, at + 1, BL_EV_CARE, -1);
            }
        }
        gint64 begin = g_get_monotonic_time();
        BL_AUTO(bl_plan) *plan = garage_plan(&garage, start + jobs * 7200);
        took[size] = g_get_monotonic_time() - begin;
        assert_int_equal(plan->skipped->len, 0);
        assert_true(plan->dues->len >= (guint)jobs * 2);
        garage_clear(&garage);
    }
    print_message("2 000 jobs %ld us, 16 000 jobs %ld us\n", (long)took[0], (long)took[1]);
    assert_true(took[1] < 24 * took[0] + 50000); /* eight times the facts */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(handovers_of_one_hour_go_as_one_message),
        cmocka_unit_test(handovers_are_never_gathered_across_time),
        cmocka_unit_test(nobody_waits_for_a_later_one_past_the_own_window),
        cmocka_unit_test(what_was_told_today_makes_the_next_wait_for_tomorrow),
        cmocka_unit_test(service_goes_before_offers_on_the_same_day),
        cmocka_unit_test(a_handover_goes_before_a_wash_on_the_same_day),
        cmocka_unit_test(top_ups_of_all_cars_are_gathered_at_the_latest_common_moment),
        cmocka_unit_test(after_weeks_away_what_is_overdue_goes_as_one),
        cmocka_unit_test(six_tips_and_offers_a_year_are_enough),
        cmocka_unit_test(what_gives_way_past_its_window_lapses_with_the_reason),
        cmocka_unit_test(of_what_goes_together_only_what_has_passed_lapses),
        cmocka_unit_test(a_window_whose_last_hour_has_passed_lapses_though_still_open),
        cmocka_unit_test(an_unsent_message_is_planned_again_when_the_day_closes),
        cmocka_unit_test(who_is_rung_is_not_counted_by_the_day),
        cmocka_unit_test(a_large_fleet_is_planned_in_a_moment),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
