/* Dues and messages of one customer: which there are, when they may go, and what holds them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

static void assert_at(const struct garage *garage, int64_t at, const char *expected)
{
    g_autofree char *text = bl_at_format(garage->shop.zone, at);
    assert_string_equal(text, expected);
}

/* A coating put on by job 1 on Monday 2 March 2026 at 15:00. */
static struct bl_car *coated(struct garage *garage)
{
    garage_init(garage, "Europe/London");
    struct bl_car *car = garage_add_car(garage);
    int64_t at = garage_at(garage, "2026-03-02 15:00");
    garage_job(car, 1, at);
    garage_treat(car, 11, 1, garage_rule(garage, "coating"), at);
    return car;
}

static struct bl_rule *rule_of(const struct garage *garage, guint i)
{
    return g_ptr_array_index(garage->rules, i);
}

static void one_job_gives_handover_wash_and_top_up_in_their_windows(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    int64_t done = garage_at(&garage, "2026-03-02 15:00");
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, done + 60);
    assert_int_equal(plan->dues->len, 3);

    const struct bl_due *handover = bl_plan_due(plan, BL_HANDOVER, 1, 0);
    assert_int_equal(handover->from, done);
    assert_int_equal(handover->best_by, done);
    assert_at(&garage, handover->not_after, "2026-03-23T15:00:00+00:00");
    assert_int_equal(handover->car, 1);
    assert_int_equal(handover->job, 1);
    assert_int_equal(garage_intent(plan, BL_HANDOVER, 1, 0)->send_at, done + 60);

    const struct bl_due *wash = bl_plan_due(plan, BL_WASH, 1, 0);
    assert_at(&garage, wash->from, "2026-03-24T00:00:00+00:00");
    assert_int_equal(wash->best_by, wash->from);
    assert_int_equal(wash->not_after, wash->from + 14 * BL_DAY);
    assert_at(&garage, garage_intent(plan, BL_WASH, 1, 0)->send_at,
              "2026-03-24T09:00:00+00:00");

    const struct bl_due *top_up = bl_plan_due(plan, BL_TOP_UP, 11, 0);
    assert_int_equal(top_up->early, done + 700 * BL_DAY);
    assert_int_equal(top_up->late, done + 1100 * BL_DAY);
    assert_int_equal(top_up->from, done + (700 - 21) * BL_DAY);
    assert_int_equal(top_up->best_by, done + (900 - 21) * BL_DAY);
    assert_int_equal(top_up->not_after, done + (1100 + 30) * BL_DAY);
    assert_int_equal(top_up->rule_id, 111);
    assert_int_equal(top_up->treatment, 11);
    assert_int_equal(top_up->lead, 21 * BL_DAY);
    assert_int_equal(top_up->lead_by, BL_LEAD_SHOP);
    assert_int_equal(top_up->waits, BL_WAIT_NONE);
    assert_int_equal(top_up->own_from, top_up->from);
    const struct bl_intent *intent = garage_intent(plan, BL_TOP_UP, 11, 0);
    assert_int_equal(intent->send_at,
                     bl_hours_last(&garage.shop, top_up->best_by, top_up->from));
    assert_int_equal(intent->channel, BL_SMS);
    assert_string_equal(intent->address, "+447700900123");
    garage_clear(&garage);
}

static void a_rules_own_lead_and_the_wash_date_bound_the_top_up(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    struct bl_rule *rule = rule_of(&garage, 0);
    int64_t done = garage_at(&garage, "2026-03-02 15:00");
    rule->wear.lead_days = 3;
    rule->wear.life_days[0] = 20;
    rule->wear.life_days[1] = 22;
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, done);
    const struct bl_due *top_up = bl_plan_due(plan, BL_TOP_UP, 11, 0);
    assert_at(&garage, top_up->from, "2026-03-24T00:00:00+00:00");
    assert_int_equal(top_up->best_by, top_up->from);
    assert_int_equal(top_up->not_after, done + 52 * BL_DAY);
    assert_int_equal(top_up->lead, 3 * BL_DAY);
    assert_int_equal(top_up->lead_by, BL_LEAD_RULE);
    assert_int_equal(top_up->own_from, done + 17 * BL_DAY);
    assert_int_equal(top_up->waits, BL_WAIT_WASH);
    assert_true(garage_intent(plan, BL_TOP_UP, 11, 0)->send_at >= top_up->from);
    garage_clear(&garage);
}

static void what_lasts_weeks_is_not_offered_again_the_day_it_went_on(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    struct bl_rule *rule = rule_of(&garage, 0);
    int64_t done = garage_at(&garage, "2026-03-02 15:00");
    rule->cure.wash_days[1] = 0;
    rule->wear.life_days[0] = 8;
    rule->wear.life_days[1] = 28;
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, done);
    assert_int_equal(bl_plan_due(plan, BL_TOP_UP, 11, 0)->from, done + 6 * BL_DAY);
    assert_int_equal(bl_plan_due(plan, BL_TOP_UP, 11, 0)->best_by, done + 16 * BL_DAY);
    assert_int_equal(bl_plan_due(plan, BL_TOP_UP, 11, 0)->lead, 2 * BL_DAY);
    assert_int_equal(bl_plan_due(plan, BL_TOP_UP, 11, 0)->lead_by, BL_LEAD_QUARTER);
    garage_clear(&garage);
}

static void a_wash_date_on_a_sunday_is_told_on_monday(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    rule_of(&garage, 0)->cure.wash_days[1] = 19; /* to Saturday 15:00: from Sunday on */
    int64_t done = g_array_index(car->jobs, struct bl_job, 0).at;
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, done);
    assert_at(&garage, bl_plan_due(plan, BL_WASH, 1, 0)->from, "2026-03-22T00:00:00+00:00");
    assert_at(&garage, garage_intent(plan, BL_WASH, 1, 0)->send_at,
              "2026-03-23T09:00:00+00:00");
    garage_clear(&garage);
}

static void nothing_that_cures_gives_a_handover_of_two_days_and_no_wash(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    rule_of(&garage, 0)->cure.wash_days[1] = 0;
    int64_t done = g_array_index(car->jobs, struct bl_job, 0).at;
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, done);
    assert_int_equal(bl_plan_due(plan, BL_HANDOVER, 1, 0)->not_after, done + 2 * BL_DAY);
    assert_null(bl_plan_due(plan, BL_WASH, 1, 0));
    garage_clear(&garage);
}

static void a_mere_wash_needs_no_handover_unless_it_sets_a_date(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    int64_t second = garage_at(&garage, "2026-03-10 12:00");
    garage_job(car, 2, second);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, second);
    assert_null(bl_plan_due(plan, BL_HANDOVER, 2, 0));
    assert_non_null(bl_plan_due(plan, BL_WASH, 1, 0)); /* the date told before stands */
    g_array_index(car->jobs, struct bl_job, 1).wash_from = bl_date_of(2026, 3, 30);
    BL_AUTO(bl_plan) *moved = garage_plan(&garage, second);
    assert_non_null(bl_plan_due(moved, BL_HANDOVER, 2, 1));
    assert_null(bl_plan_due(moved, BL_WASH, 1, 0));
    assert_at(&garage, bl_plan_due(moved, BL_WASH, 2, 0)->from, "2026-03-30T00:00:00+01:00");
    garage_clear(&garage);
}

static void a_window_of_a_closed_weekend_is_extended_through_monday(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    rule_of(&garage, 0)->cure.wash_days[1] = 0;
    int64_t saturday = garage_at(&garage, "2026-03-07 19:30");
    struct bl_closed closed = {bl_date_of(2026, 3, 9), bl_date_of(2026, 3, 9)};
    g_array_append_val(garage.shop.closed, closed);
    struct bl_job *job = &g_array_index(car->jobs, struct bl_job, 0);
    job->at = job->told_from = saturday;
    g_array_index(car->treatments, struct bl_treatment, 0).last_coat_at = saturday;
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, saturday);
    const struct bl_due *due = bl_plan_due(plan, BL_HANDOVER, 1, 0);
    assert_int_equal(due->extended_from, saturday + 2 * BL_DAY);
    assert_at(&garage, due->not_after, "2026-03-10T18:59:59+00:00");
    assert_at(&garage, garage_intent(plan, BL_HANDOVER, 1, 0)->send_at,
              "2026-03-10T09:00:00+00:00");
    assert_int_equal(bl_plan_due(plan, BL_TOP_UP, 11, 0)->extended_from, BL_NEVER);
    garage_clear(&garage);
}

static void a_job_entered_too_late_is_not_handed_over(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    int64_t later = garage_at(&garage, "2026-04-10 12:00");
    g_array_index(car->jobs, struct bl_job, 0).told_from = later;
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, later);
    assert_non_null(bl_plan_due(plan, BL_HANDOVER, 1, 0)->held);
    assert_null(garage_intent(plan, BL_HANDOVER, 1, 0));
    assert_null(garage_intent(plan, BL_WASH, 1, 0));
    assert_non_null(garage_intent(plan, BL_TOP_UP, 11, 0));
    garage_clear(&garage);
}

/* Wheels coated on 10 March, their cure of so many days. */
static int64_t second_job(struct garage *garage, struct bl_car *car, double cure_days)
{
    int64_t at = garage_at(garage, "2026-03-10 12:00");
    struct bl_rule *rule = garage_rule(garage, "wheel coating");
    rule->surface = BL_WHEELS;
    rule->cure.wash_days[1] = cure_days;
    garage_job(car, 2, at);
    garage_treat(car, 12, 2, rule, at);
    return at;
}

static void a_second_job_that_cures_longer_takes_over_the_wash_date(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    int64_t now = second_job(&garage, car, 30);
    garage_ended(&garage, BL_HANDOVER, 1, 0);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
    assert_null(bl_plan_due(plan, BL_WASH, 1, 0));
    assert_at(&garage, bl_plan_due(plan, BL_WASH, 2, 0)->from, "2026-04-10T00:00:00+01:00");
    /* its handover replaces the date told with the first */
    assert_null(bl_plan_due(plan, BL_HANDOVER, 2, 0));
    assert_int_equal(garage_intent(plan, BL_HANDOVER, 2, 1)->send_at, now);
    assert_null(garage_intent(plan, BL_HANDOVER, 1, 0));
    garage_clear(&garage);
}

static void a_second_job_that_cures_sooner_leaves_the_wash_date(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    int64_t now = second_job(&garage, car, 1);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
    assert_non_null(bl_plan_due(plan, BL_WASH, 1, 0));
    assert_null(bl_plan_due(plan, BL_WASH, 2, 0));
    assert_non_null(bl_plan_due(plan, BL_HANDOVER, 2, 0)); /* nothing to replace */
    assert_at(&garage, bl_plan_due(plan, BL_HANDOVER, 2, 0)->not_after,
              "2026-03-23T15:00:00+00:00");
    garage_clear(&garage);
}

static void a_job_after_the_wash_date_ends_the_matter(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    int64_t at = garage_at(&garage, "2026-03-24 08:00");
    garage_job(car, 2, at);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, at);
    assert_null(bl_plan_due(plan, BL_WASH, 1, 0));
    garage_clear(&garage);
}

static void an_earlier_job_entered_later_moves_the_date_with_its_own_handover(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    int64_t entered = garage_at(&garage, "2026-03-12 12:00");
    second_job(&garage, car, 1);
    struct bl_rule *slow = garage_rule(&garage, "slow");
    int64_t earlier = garage_at(&garage, "2026-03-01 12:00");
    slow->surface = BL_LEATHER;
    slow->cure.wash_days[1] = 30;
    garage_job(car, 3, earlier)->told_from = entered;
    garage_treat(car, 13, 3, slow, earlier);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, entered);
    assert_at(&garage, bl_plan_due(plan, BL_WASH, 3, 0)->from, "2026-04-01T00:00:00+01:00");
    assert_int_equal(bl_plan_due(plan, BL_HANDOVER, 3, 1)->from, entered);
    assert_non_null(bl_plan_due(plan, BL_HANDOVER, 1, 0));
    assert_non_null(bl_plan_due(plan, BL_HANDOVER, 2, 0));
    garage_clear(&garage);
}

static void an_earlier_owners_job_is_not_told_to_the_new_owner(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    g_array_index(car->jobs, struct bl_job, 0).customer = 2;
    int64_t now = garage_at(&garage, "2026-03-05 12:00");
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
    assert_null(bl_plan_due(plan, BL_HANDOVER, 1, 0));
    assert_null(bl_plan_due(plan, BL_WASH, 1, 0));
    assert_non_null(bl_plan_due(plan, BL_TOP_UP, 11, 0));
    /* but the cure is the car's: a job of his own waits for it */
    now = second_job(&garage, car, 1);
    BL_AUTO(bl_plan) *own = garage_plan(&garage, now);
    assert_at(&garage, bl_plan_due(own, BL_WASH, 2, 0)->from, "2026-03-24T00:00:00+00:00");
    assert_non_null(bl_plan_due(own, BL_HANDOVER, 2, 0)); /* he was told no date before */
    garage_clear(&garage);
}

static void a_car_that_is_gone_gives_nothing_from_then_on(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    car->gone_at = garage_at(&garage, "2026-03-03 12:00");
    BL_AUTO(bl_plan) *before = garage_plan(&garage, car->gone_at - 1);
    BL_AUTO(bl_plan) *after = garage_plan(&garage, car->gone_at);
    assert_int_equal(before->dues->len, 3);
    assert_int_equal(before->replan_at, garage_at(&garage, "2026-03-03 12:00"));
    assert_int_equal(after->dues->len, 0);
    assert_int_equal(after->replan_at, BL_NEVER);
    garage_clear(&garage);
}

static const char *held(struct garage *garage, enum bl_kind kind, int64_t subject)
{
    static char reason[80];
    BL_AUTO(bl_plan) *plan = garage_plan(garage, garage_at(garage, "2026-03-02 16:00"));
    const struct bl_due *due = bl_plan_due(plan, kind, subject, 0);
    assert_int_equal(due->held != NULL, garage_intent(plan, kind, subject, 0) == NULL);
    g_strlcpy(reason, due->held ? due->held : "free", sizeof reason);
    return reason;
}

static void consent_holds_by_class(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    struct bl_customer *customer = &garage.facts.customer;
    customer->consent[BL_OFFERS] = false;
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "no consent for offers");
    assert_string_equal(held(&garage, BL_HANDOVER, 1), "free");
    assert_string_equal(held(&garage, BL_WASH, 1), "free");
    customer->consent[BL_OFFERS] = true;
    customer->consent[BL_SERVICE] = false;
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "free");
    assert_string_equal(held(&garage, BL_HANDOVER, 1), "no consent for service");
    assert_string_equal(held(&garage, BL_WASH, 1), "no consent for service");
    garage_clear(&garage);
}

static void who_wishes_none_still_gets_service(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    garage.facts.customer.wish = BL_WISH_NEVER;
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "the customer wishes none");
    assert_string_equal(held(&garage, BL_HANDOVER, 1), "free");
    garage_clear(&garage);
}

static void a_stop_holds_everything_on_every_route(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    garage.facts.customer.phone_silenced = true;
    assert_string_equal(held(&garage, BL_HANDOVER, 1), "silenced");
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "silenced");
    garage.facts.customer.route = BL_MAIL;
    assert_string_equal(held(&garage, BL_WASH, 1), "silenced");
    garage.facts.customer.route = BL_BY_HAND;
    assert_string_equal(held(&garage, BL_WASH, 1), "silenced");
    g_clear_pointer(&garage.facts.customer.phone, g_free); /* no longer his number */
    assert_string_equal(held(&garage, BL_WASH, 1), "free");
    garage_clear(&garage);
}

static void what_rides_on_the_next_booking_sends_no_message(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    rule_of(&garage, 0)->again = BL_AGAIN_NEXT_BOOKING;
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "on the next booking");
    g_array_index(car->treatments, struct bl_treatment, 0).again = BL_AGAIN_CUSTOMER;
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "free");
    rule_of(&garage, 0)->again = BL_AGAIN_CUSTOMER;
    g_array_index(car->treatments, struct bl_treatment, 0).again = BL_AGAIN_NEXT_BOOKING;
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "on the next booking");
    garage_clear(&garage);
}

static void a_shop_without_sending_hours_holds_everything(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    garage.shop.hours = (struct bl_hours){0};
    assert_string_equal(held(&garage, BL_HANDOVER, 1), "no sending hours in the next 400 days");
    assert_string_equal(held(&garage, BL_WASH, 1), "no sending hours in the next 400 days");
    garage_clear(&garage);
}

static void route_is_the_wished_one_else_the_other_else_by_hand(void **state)
{
    (void)state;
    static const struct {
        enum bl_channel wished;
        bool phone, mail;
        enum bl_channel route;
    } cases[] = {
        {BL_SMS, true, true, BL_SMS},         {BL_SMS, false, true, BL_MAIL},
        {BL_SMS, false, false, BL_BY_HAND},   {BL_MAIL, true, true, BL_MAIL},
        {BL_MAIL, true, false, BL_SMS},       {BL_MAIL, false, false, BL_BY_HAND},
        {BL_BY_HAND, true, true, BL_BY_HAND},
    };
    for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
        struct garage garage;
        coated(&garage);
        struct bl_customer *customer = &garage.facts.customer;
        customer->route = cases[i].wished;
        if (!cases[i].phone) {
            g_clear_pointer(&customer->phone, g_free);
        }
        if (!cases[i].mail) {
            g_clear_pointer(&customer->mail, g_free);
        }
        BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 16:00"));
        const struct bl_intent *intent = garage_intent(plan, BL_HANDOVER, 1, 0);
        assert_int_equal(intent->channel, cases[i].route);
        const char *address = cases[i].route == BL_SMS    ? customer->phone
                              : cases[i].route == BL_MAIL ? customer->mail
                                                          : NULL;
        assert_int_equal(g_strcmp0(intent->address, address), 0);
        garage_clear(&garage);
    }
}

static const char *skipped(const struct bl_plan *plan, guint i)
{
    assert_true(i < plan->skipped->len);
    return g_ptr_array_index(plan->skipped, i);
}

/* After a complaint nothing is offered for that car; of tips and service nothing changes. */
static void offers_for_a_car_are_held_until_that_is_lifted(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    struct bl_treatment *coat = &g_array_index(car->treatments, struct bl_treatment, 0);
    ((struct bl_rule *)coat->rule)->look_over_months = 12;
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "free");
    car->offers_held = true;
    assert_string_equal(held(&garage, BL_TOP_UP, 11),
                        "offers for this car are held after a complaint");
    assert_string_equal(held(&garage, BL_HANDOVER, 1), "free");
    assert_string_equal(held(&garage, BL_WASH, 1), "free");
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 16:00"));
    assert_string_equal(bl_plan_due(plan, BL_LOOK_OVER, 11, 1)->held,
                        "offers for this car are held after a complaint");
    coat->again = BL_AGAIN_NEXT_BOOKING;
    assert_string_equal(held(&garage, BL_TOP_UP, 11), "on the next booking");
    garage_clear(&garage);
}

static void a_job_over_a_day_ahead_waits_until_it_is_not(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    int64_t done = g_array_index(car->jobs, struct bl_job, 0).at;
    BL_AUTO(bl_plan) *before = garage_plan(&garage, done - BL_DAY - 1);
    assert_int_equal(before->dues->len, 0);
    assert_string_equal(skipped(before, 0), "job 1: dated over a day ahead");
    assert_string_equal(skipped(before, 1), "treatment 11: its job is not there, or left out");
    assert_int_equal(before->replan_at, done - BL_DAY);
    BL_AUTO(bl_plan) *after = garage_plan(&garage, done - BL_DAY);
    assert_int_equal(after->dues->len, 3);
    assert_int_equal(after->skipped->len, 0);
    assert_int_equal(bl_plan_due(after, BL_HANDOVER, 1, 0)->from, done);
    garage_clear(&garage);
}

static void what_cannot_be_believed_is_named_with_its_reason(void **state)
{
    (void)state;
    struct garage garage;
    struct bl_car *car = coated(&garage);
    int64_t done = g_array_index(car->jobs, struct bl_job, 0).at;
    g_ptr_array_add(garage.facts.skipped, g_strdup("treatment 9: no such job"));
    garage_treat(car, 12, 1, NULL, done);
    garage_treat(car, 13, 77, rule_of(&garage, 0), done);
    garage_read(car, 1, done - 100 * BL_DAY, 5000);
    garage_read(car, 2, done - 50 * BL_DAY, 4000);
    garage_read(car, 3, done - 49 * BL_DAY, 500000);
    garage_read(car, 4, done, (double)NAN);
    garage_read(car, 5, done + 5 * BL_DAY, 9000);
    garage_read(car, 6, done - 10 * BL_DAY, 6000);
    garage_event(car, 1, done, BL_EV_PART_REPLACED, -1);
    garage_event(car, 2, done + 3 * BL_DAY, BL_EV_POLISHED, -1);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, done);
    static const char *const expected[] = {
        "event 1: a part was replaced, but which is not named",
        "event 2: dated over a day ahead",
        "reading 2: does not follow from reading 1",
        "reading 3: does not follow from reading 1",
        "reading 4: is no distance",
        "reading 5: dated over a day ahead",
        "treatment 12: its product's rule cannot be read",
        "treatment 13: its job is not there, or left out",
        "treatment 9: no such job",
    };
    assert_int_equal(plan->skipped->len, G_N_ELEMENTS(expected));
    for (guint i = 0; i < G_N_ELEMENTS(expected); i++) {
        assert_string_equal(skipped(plan, i), expected[i]);
    }
    assert_true(plan->replan_at <= done + 2 * BL_DAY);
    assert_non_null(bl_plan_due(plan, BL_TOP_UP, 11, 0));
    garage_clear(&garage);
}

static void a_due_with_its_end_stays_in_the_plan_without_a_message(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    garage_ended(&garage, BL_HANDOVER, 1, 0);
    garage_ended(&garage, BL_TOP_UP, 11, 0);
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, garage_at(&garage, "2026-03-02 16:00"));
    assert_int_equal(plan->dues->len, 3);
    assert_int_equal(plan->intents->len, 1);
    assert_null(garage_intent(plan, BL_HANDOVER, 1, 0));
    assert_non_null(bl_plan_due(plan, BL_TOP_UP, 11, 0));
    assert_null(bl_plan_due(plan, BL_TOP_UP, 11, 1));
    garage_clear(&garage);
}

static void a_passed_window_stays_in_the_plan_without_a_message(void **state)
{
    (void)state;
    struct garage garage;
    coated(&garage);
    int64_t now = garage_at(&garage, "2030-01-01 12:00");
    BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
    assert_int_equal(plan->dues->len, 3);
    assert_int_equal(plan->intents->len, 0);
    assert_int_equal(plan->replan_at, BL_NEVER);
    garage_clear(&garage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_job_gives_handover_wash_and_top_up_in_their_windows),
        cmocka_unit_test(a_rules_own_lead_and_the_wash_date_bound_the_top_up),
        cmocka_unit_test(what_lasts_weeks_is_not_offered_again_the_day_it_went_on),
        cmocka_unit_test(a_wash_date_on_a_sunday_is_told_on_monday),
        cmocka_unit_test(nothing_that_cures_gives_a_handover_of_two_days_and_no_wash),
        cmocka_unit_test(a_mere_wash_needs_no_handover_unless_it_sets_a_date),
        cmocka_unit_test(a_window_of_a_closed_weekend_is_extended_through_monday),
        cmocka_unit_test(a_job_entered_too_late_is_not_handed_over),
        cmocka_unit_test(a_second_job_that_cures_longer_takes_over_the_wash_date),
        cmocka_unit_test(a_second_job_that_cures_sooner_leaves_the_wash_date),
        cmocka_unit_test(a_job_after_the_wash_date_ends_the_matter),
        cmocka_unit_test(an_earlier_job_entered_later_moves_the_date_with_its_own_handover),
        cmocka_unit_test(an_earlier_owners_job_is_not_told_to_the_new_owner),
        cmocka_unit_test(a_car_that_is_gone_gives_nothing_from_then_on),
        cmocka_unit_test(consent_holds_by_class),
        cmocka_unit_test(who_wishes_none_still_gets_service),
        cmocka_unit_test(a_stop_holds_everything_on_every_route),
        cmocka_unit_test(what_rides_on_the_next_booking_sends_no_message),
        cmocka_unit_test(a_shop_without_sending_hours_holds_everything),
        cmocka_unit_test(route_is_the_wished_one_else_the_other_else_by_hand),
        cmocka_unit_test(offers_for_a_car_are_held_until_that_is_lifted),
        cmocka_unit_test(a_job_over_a_day_ahead_waits_until_it_is_not),
        cmocka_unit_test(what_cannot_be_believed_is_named_with_its_reason),
        cmocka_unit_test(a_due_with_its_end_stays_in_the_plan_without_a_message),
        cmocka_unit_test(a_passed_window_stays_in_the_plan_without_a_message),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
