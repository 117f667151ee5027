/* What always holds of a plan, whatever the facts: under random customers, cars, jobs and
 * times. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "garage.h"

#define ROUNDS 3000

static const char *const ZONES[] = {"Europe/London", "Australia/Lord_Howe", "America/Santiago"};

static int64_t around(GRand *random, int64_t now, double days_before, double days_after)
{
    return now + (int64_t)g_rand_double_range(random, -days_before * 86400, days_after * 86400);
}

static void random_care(struct bl_rule *rule, GRand *random)
{
    struct bl_exposure salt = {g_strdup("winter salt"), 1.5};
    struct bl_exposure storage = {g_strdup("stored outdoors"), 0.8};
    rule->look_over_months =
        g_rand_int_range(random, 0, 3) ? 0 : g_rand_int_range(random, 1, 13);
    g_array_append_val(rule->exposures, storage);
    g_array_append_val(rule->exposures, salt);
    if (g_rand_boolean(random)) {
        rule->care.interval_days = exp(g_rand_double_range(random, log(2), log(120)));
        rule->care.grace_days = rule->care.interval_days * g_rand_double(random);
        rule->care.extends = g_rand_double_range(random, 1, 3);
        rule->care.on_calendar = g_rand_boolean(random);
        rule->care.by_customer = g_rand_int_range(random, 0, 4) != 0;
        rule->care.what = g_strdup("topper");
    }
}

static struct bl_rule *random_rule(struct garage *garage, GRand *random)
{
    struct bl_rule *rule = garage_rule(garage, "product");
    double life = exp(g_rand_double_range(random, log(4), log(900)));
    rule->surface = (enum bl_surface)g_rand_int_range(random, 0, 4);
    rule->role = (enum bl_role)g_rand_int_range(random, 0, BL_ROLES);
    rule->again = (enum bl_again)g_rand_int_range(random, 0, BL_AGAINS);
    rule->cure.wash_days[1] = g_rand_boolean(random) ? g_rand_double_range(random, 0, 25) : 0;
    rule->wear.life_days[0] = life;
    rule->wear.life_days[1] = life * g_rand_double_range(random, 1, 2);
    rule->wear.share = g_rand_double(random);
    rule->wear.lead_days = g_rand_boolean(random) ? (double)NAN : 3;
    rule->stripped_by = g_strsplit("wheel cleaner", "\n", 0);
    random_care(rule, random);
    return rule;
}

/* Mostly of the last weeks; on a busy day all around now, up to what is believed ahead of it.
 */
static void random_job(struct garage *garage, struct bl_car *car, GRand *random, int64_t now,
                       bool busy, int64_t *id)
{
    int64_t at = busy ? around(random, now, 1, 1)
                      : around(random, now, 60, g_rand_int_range(random, 0, 4) ? 0 : 4);
    int64_t job = ++*id;
    struct bl_job *made = garage_job(car, job, at);
    made->told_from = at + (int64_t)exp(g_rand_double_range(random, 0, busy ? 9 : 13));
    made->customer = g_rand_int_range(random, 0, 8) ? 1 : 2;
    if (g_rand_int_range(random, 0, 8) == 0) {
        made->wash_from = bl_zone_date(garage->shop.zone, at) + g_rand_int_range(random, 0, 20);
    }
    for (int i = g_rand_int_range(random, 0, 4); i > 0; i--) {
        int64_t coat = at - g_rand_int_range(random, 0, 7200);
        garage_treat(car, ++*id, job, random_rule(garage, random), coat);
    }
}

static void random_car(struct garage *garage, GRand *random, int64_t now, bool busy,
                       int64_t *id)
{
    struct bl_car *car = garage_add_car(garage);
    if (g_rand_int_range(random, 0, 8) == 0) {
        car->gone_at = around(random, now, 10, 30);
    }
    for (int i = g_rand_int_range(random, 1, 4); i > 0; i--) {
        random_job(garage, car, random, now, busy, id);
    }
    g_strfreev(car->exposures);
    car->exposures =
        g_strsplit(g_rand_boolean(random) ? "winter salt\nstored outdoors" : "", "\n", 0);
    double km = 10000;
    int64_t at = now - 90 * BL_DAY;
    for (int i = g_rand_int_range(random, 0, 5); i > 0; i--) {
        int32_t seconds = g_rand_int_range(random, 0, 30 * 86400);
        at += seconds;
        km += seconds / 86400.0 * g_rand_double_range(random, 0, 150);
        garage_read(car, ++*id, at, km);
    }
    for (int i = g_rand_int_range(random, 0, 5); i > 0; i--) {
        enum bl_happening happening =
            (enum bl_happening)g_rand_int_range(random, 0, BL_HAPPENINGS);
        struct bl_event *event = garage_event(car, ++*id, around(random, now, 40, 3), happening,
                                              g_rand_int_range(random, -1, 4));
        event->with = g_strdup(g_rand_boolean(random) ? "wheel cleaner" : NULL);
        event->hours = g_rand_boolean(random) ? g_rand_double_range(random, 0, 60) : 0;
        event->temp_c = g_rand_double_range(random, -5, 25);
    }
    for (int i = g_rand_int_range(random, 0, 4); i > 0; i--) {
        garage_event(car, ++*id, around(random, now, 40, 0), BL_EV_CARE,
                     g_rand_int_range(random, -1, 4));
    }
}

static void random_customer(struct garage *garage, GRand *random, int64_t now)
{
    struct bl_customer *customer = &garage->facts.customer;
    customer->route = (enum bl_channel)g_rand_int_range(random, 0, BL_CHANNELS);
    customer->consent[BL_OFFERS] = g_rand_int_range(random, 0, 10) != 0;
    customer->wish = (enum bl_wish)g_rand_int_range(random, 0, BL_WISH_NEVER);
    for (int i = g_rand_int_range(random, 0, 8); i > 0; i--) {
        garage_told(garage, around(random, now, 390, 0.5),
                    (enum bl_kind)g_rand_int_range(random, 0, BL_KINDS));
        g_array_index(garage->facts.told, struct bl_told, garage->facts.told->len - 1).state =
            (enum bl_state)g_rand_int_range(random, BL_CLAIMED, BL_STATES);
    }
    for (int i = g_rand_int_range(random, 0, 4); i > 0; i--) {
        garage_ended(garage, (enum bl_kind)g_rand_int_range(random, 0, BL_KINDS),
                     g_rand_int_range(random, 1, 20), 0);
        g_array_index(garage->facts.ended, struct bl_ended, garage->facts.ended->len - 1)
            .early = around(random, now, 60, 0);
    }
}

static int64_t random_garage(struct garage *garage, GRand *random)
{
    int64_t id = 0;
    garage_init(garage, ZONES[g_rand_int_range(random, 0, G_N_ELEMENTS(ZONES))]);
    int64_t now = garage_at(garage, "2026-01-01") + g_rand_int_range(random, 0, 365 * 86400);
    random_customer(garage, random, now);
    bool busy = g_rand_boolean(random);
    for (int i = g_rand_int_range(random, 1, busy ? 6 : 4); i > 0; i--) {
        random_car(garage, random, now, busy, &id);
    }
    garage->shop.has_climate = g_rand_boolean(random);
    for (int month = 0; month < 12; month++) {
        garage->shop.climate_c[month] = g_rand_double_range(random, -5, 20);
    }
    garage->shop.salt_months = (unsigned)g_rand_int_range(random, 0, 1 << 12);
    garage->shop.restraint.care_days = g_rand_int_range(random, 0, 60);
    garage->shop.restraint.messages_a_day = g_rand_int_range(random, 0, 4) ? 1 : 2;
    garage->shop.restraint.tips_offers_a_year = g_rand_int_range(random, 1, 7);
    for (int day = 1; day <= 7; day++) {
        if (g_rand_int_range(random, 0, 6) == 0) {
            garage->shop.hours.close[day] = garage->shop.hours.open[day];
        }
    }
    return now;
}

static void shuffle(GArray *array, GRand *random)
{
    guint size = g_array_get_element_size(array);
    g_autofree char *spare = g_malloc(size);
    for (guint i = array->len; i > 1; i--) {
        char *one = array->data + (gsize)(i - 1) * size;
        char *other = array->data + (gsize)g_rand_int_range(random, 0, (gint32)i) * size;
        memcpy(spare, one, size);
        memmove(one, other, size);
        memcpy(other, spare, size);
    }
}

static void shuffle_all(struct garage *garage, GRand *random)
{
    shuffle(garage->facts.cars, random);
    shuffle(garage->facts.told, random);
    shuffle(garage->facts.ended, random);
    for (guint i = 0; i < garage->facts.cars->len; i++) {
        struct bl_car *car = garage_car(garage, i);
        shuffle(car->jobs, random);
        shuffle(car->treatments, random);
        shuffle(car->readings, random);
        shuffle(car->events, random);
    }
}

static void facts_in_any_order_give_the_same_plan_twice(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < ROUNDS; round++) {
        struct garage garage;
        int64_t now = random_garage(&garage, random);
        BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
        BL_AUTO(bl_plan) *again = garage_plan(&garage, now);
        shuffle_all(&garage, random);
        BL_AUTO(bl_plan) *shuffled = garage_plan(&garage, now);
        g_autofree char *first = garage_print(plan);
        g_autofree char *second = garage_print(again);
        g_autofree char *third = garage_print(shuffled);
        assert_string_equal(first, second);
        assert_string_equal(first, third);
        garage_clear(&garage);
    }
    g_rand_free(random);
}

/* A plan as it reads at a later instant, when nothing of it has happened: what is due is due
 * now. */
static char *print_at(struct bl_plan *plan, int64_t at)
{
    int64_t replan_at = plan->replan_at;
    plan->replan_at = 0;
    for (guint i = 0; i < plan->intents->len; i++) {
        struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
        intent->send_at = MAX(intent->send_at, at);
    }
    char *text = garage_print(plan);
    plan->replan_at = replan_at;
    return text;
}

static void assert_same_later(const struct garage *garage, const struct bl_plan *plan,
                              int64_t at)
{
    BL_AUTO(bl_plan) *later = garage_plan(garage, at);
    g_autofree char *as_planned = garage_print_after(plan, at);
    g_autofree char *as_later = garage_print_after(later, at);
    assert_string_equal(as_planned, as_later);
    assert_int_equal(later->dues->len, plan->dues->len);
    for (guint i = 0; i < plan->dues->len; i++) {
        const struct bl_due *one = &g_array_index(plan->dues, struct bl_due, i);
        const struct bl_due *other = &g_array_index(later->dues, struct bl_due, i);
        assert_true(one->kind == other->kind && one->subject == other->subject);
        assert_int_equal(one->from, other->from);
        assert_int_equal(one->not_after, other->not_after);
        assert_int_equal(one->late, other->late);
        assert_int_equal(g_strcmp0(one->held, other->held), 0);
    }
    assert_int_equal(later->skipped->len, plan->skipped->len);
}

static void between_now_and_replanning_nothing_not_yet_due_changes(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < ROUNDS; round++) {
        struct garage garage;
        int64_t now = random_garage(&garage, random);
        BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
        int64_t end = MIN(plan->replan_at, now + 1500 * BL_DAY);
        assert_true(end > now);
        for (int i = 0; i < 4; i++) {
            double share = i == 0 ? 1 : g_rand_double(random);
            assert_same_later(&garage, plan, now + (int64_t)((double)(end - 1 - now) * share));
        }
        garage_clear(&garage);
    }
    g_rand_free(random);
}

static bool any_lapse(const struct bl_plan *plan)
{
    bool any = false;
    for (guint i = 0; i < plan->intents->len; i++) {
        any = any || g_array_index(plan->intents, struct bl_intent, i).lapse;
    }
    return any;
}

/* Where restraint lets something lapse, joining it may change nothing one can see. */
static void the_plan_made_at_replanning_is_another_one(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < ROUNDS; round++) {
        struct garage garage;
        int64_t now = random_garage(&garage, random);
        BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
        if (plan->replan_at != BL_NEVER && !any_lapse(plan)) {
            BL_AUTO(bl_plan) *later = garage_plan(&garage, plan->replan_at);
            g_autofree char *before = print_at(plan, plan->replan_at);
            g_autofree char *after = print_at(later, plan->replan_at);
            assert_string_not_equal(before, after);
        }
        garage_clear(&garage);
    }
    g_rand_free(random);
}

/* Nobody acts on the plan for years: it is made again once a day at most for what has to go,
 * and once a day for each care that comes and goes; and at last never. */
static void an_unsent_message_does_not_make_planning_spin(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < ROUNDS / 30; round++) {
        struct garage garage;
        int64_t start = random_garage(&garage, random);
        int64_t now = start;
        int64_t dues = 0;
        int64_t times = 0;
        while (now != BL_NEVER) {
            BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
            assert_true(plan->replan_at > now);
            dues = MAX(dues, plan->dues->len);
            if (plan->replan_at != BL_NEVER) {
                int64_t days = (plan->replan_at - start) / BL_DAY;
                assert_true(++times <= days * (1 + dues) + 4 * dues + 40);
            }
            now = plan->replan_at;
        }
        garage_clear(&garage);
    }
    g_rand_free(random);
}

static const struct bl_due *due_of(const struct bl_plan *plan, const struct bl_intent *intent,
                                   guint i)
{
    return &g_array_index(plan->dues, struct bl_due, g_array_index(intent->dues, guint, i));
}

static void check_intent(const struct garage *garage, const struct bl_plan *plan,
                         const struct bl_intent *intent, int64_t now)
{
    int64_t from = INT64_MIN;
    int64_t not_after = BL_NEVER;
    int own = 0;
    assert_true(intent->dues->len > 0);
    for (guint i = 0; i < intent->dues->len; i++) {
        const struct bl_due *due = due_of(plan, intent, i);
        assert_true(due->kind == intent->kind || due->kind == BL_MILEAGE);
        own += due->kind == intent->kind;
        assert_null(due->held);
        assert_true(i == 0 || due > due_of(plan, intent, i - 1));
        from = MAX(from, due->from);
        not_after = MIN(not_after, due->not_after);
    }
    assert_true(own > 0);
    assert_int_equal(intent->from, from);
    assert_int_equal(intent->not_after, not_after);
    if (!intent->lapse) {
        assert_true(intent->send_at >= MAX(now, from) && intent->send_at <= not_after);
        assert_true(bl_hours_open(&garage->shop, intent->send_at));
    }
}

static void check_each_due_once(const struct garage *garage, const struct bl_plan *plan,
                                int64_t now)
{
    g_autofree guint *times = g_new0(guint, plan->dues->len + 1);
    for (guint i = 0; i < plan->intents->len; i++) {
        const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
        for (guint d = 0; d < intent->dues->len; d++) {
            times[g_array_index(intent->dues, guint, d)]++;
        }
    }
    for (guint i = 0; i < plan->dues->len; i++) {
        const struct bl_due *due = &g_array_index(plan->dues, struct bl_due, i);
        bool open = !due->held && due->not_after >= now;
        for (guint e = 0; e < garage->facts.ended->len; e++) {
            const struct bl_ended *ended =
                &g_array_index(garage->facts.ended, struct bl_ended, e);
            open = open && (ended->kind != due->kind || ended->subject != due->subject ||
                            ended->ordinal != due->ordinal);
        }
        assert_int_equal(times[i], open ? 1 : 0);
        assert_ptr_equal(bl_plan_due(plan, due->kind, due->subject, due->ordinal), due);
    }
}

static void every_open_due_has_one_message_inside_its_window_and_the_hours(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < ROUNDS; round++) {
        struct garage garage;
        int64_t now = random_garage(&garage, random);
        BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
        for (guint i = 0; i < plan->intents->len; i++) {
            const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
            check_intent(&garage, plan, intent, now);
            assert_true(i == 0 || intent[-1].send_at <= intent->send_at);
        }
        check_each_due_once(&garage, plan, now);
        garage_clear(&garage);
    }
    g_rand_free(random);
}

static bool was_told(const struct bl_told *told)
{
    return told->state == BL_CLAIMED || told->state == BL_SENT || told->state == BL_DELIVERED ||
           told->state == BL_UNSURE;
}

/* How many messages were told or will go within so many days from this one on; soft: of tips
 * and offers only. */
static int count_from(const struct garage *garage, const struct bl_plan *plan, int32_t first,
                      int32_t days, bool soft)
{
    int count = 0;
    for (guint i = 0; i < garage->facts.told->len; i++) {
        const struct bl_told *told = &g_array_index(garage->facts.told, struct bl_told, i);
        int32_t date = bl_zone_date(garage->shop.zone, told->at);
        count += was_told(told) && date >= first && date < first + days &&
                 (!soft || bl_kind_class(told->kind) != BL_SERVICE);
    }
    for (guint i = 0; i < plan->intents->len; i++) {
        const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
        int32_t date = bl_zone_date(garage->shop.zone, intent->send_at);
        count += !intent->lapse && date >= first && date < first + days &&
                 (!soft || bl_kind_class(intent->kind) != BL_SERVICE);
    }
    return count;
}

/* Care tips keep their days apart, also from those told. */
static void check_care_tips(const struct garage *garage, const struct bl_plan *plan,
                            const struct bl_intent *intent)
{
    enum bl_wish wish = garage->facts.customer.wish;
    int days = garage->shop.restraint.care_days;
    days = wish == BL_WISH_OFTEN ? days / 2 : wish == BL_WISH_SELDOM ? days * 2 : days;
    int32_t date = bl_zone_date(garage->shop.zone, intent->send_at);
    for (guint i = 0; i < garage->facts.told->len; i++) {
        const struct bl_told *told = &g_array_index(garage->facts.told, struct bl_told, i);
        assert_true(told->kind != BL_CARE || !was_told(told) ||
                    abs(bl_zone_date(garage->shop.zone, told->at) - date) >= days);
    }
    for (guint i = 0; i < plan->intents->len; i++) {
        const struct bl_intent *other = &g_array_index(plan->intents, struct bl_intent, i);
        assert_true(other == intent || other->kind != BL_CARE || other->lapse ||
                    abs(bl_zone_date(garage->shop.zone, other->send_at) - date) >= days);
    }
}

static void nobody_gets_more_than_restraint_allows(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < ROUNDS; round++) {
        struct garage garage;
        int64_t now = random_garage(&garage, random);
        const struct bl_restraint *restraint = &garage.shop.restraint;
        int yearly = restraint->tips_offers_a_year;
        yearly = garage.facts.customer.wish == BL_WISH_OFTEN    ? 2 * yearly
                 : garage.facts.customer.wish == BL_WISH_SELDOM ? (yearly + 1) / 2
                                                                : yearly;
        BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
        for (guint i = 0; i < plan->intents->len; i++) {
            const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
            if (intent->lapse) {
                continue;
            }
            int32_t date = bl_zone_date(garage.shop.zone, intent->send_at);
            if (intent->kind == BL_CARE) {
                check_care_tips(&garage, plan, intent);
            }
            if (intent->address) {
                assert_true(count_from(&garage, plan, date, 1, false) <=
                            restraint->messages_a_day);
            }
            for (int32_t back = 0; back < 365 && bl_kind_class(intent->kind) != BL_SERVICE;
                 back += 4) {
                assert_true(count_from(&garage, plan, date - back, 365, true) <= yearly);
            }
        }
        garage_clear(&garage);
    }
    g_rand_free(random);
}

/* Label times added up anew from the facts, knowing nothing of how planning does it. */
static void check_wash(const struct garage *garage, const struct bl_due *due, int64_t now)
{
    for (guint c = 0; c < garage->facts.cars->len; c++) {
        const struct bl_car *car = &g_array_index(garage->facts.cars, struct bl_car, c);
        for (guint t = 0;
             car->id == due->car && car->events->len == 0 && t < car->treatments->len; t++) {
            const struct bl_treatment *treatment =
                &g_array_index(car->treatments, struct bl_treatment, t);
            double end =
                (double)treatment->last_coat_at + treatment->rule->cure.wash_days[1] * 86400;
            if (treatment->last_coat_at <= now && end > (double)now) {
                assert_true((double)due->from >= end);
            }
        }
    }
}

static void safe_to_wash_never_comes_before_an_open_cure_ends(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    int checked = 0;
    for (int round = 0; round < ROUNDS; round++) {
        struct garage garage;
        int64_t now = random_garage(&garage, random);
        BL_AUTO(bl_plan) *plan = garage_plan(&garage, now);
        for (guint i = 0; i < plan->dues->len; i++) {
            const struct bl_due *due = &g_array_index(plan->dues, struct bl_due, i);
            if (due->kind == BL_WASH) {
                check_wash(&garage, due, now);
                checked++;
            }
        }
        garage_clear(&garage);
    }
    assert_true(checked > ROUNDS / 4);
    g_rand_free(random);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(facts_in_any_order_give_the_same_plan_twice),
        cmocka_unit_test(between_now_and_replanning_nothing_not_yet_due_changes),
        cmocka_unit_test(the_plan_made_at_replanning_is_another_one),
        cmocka_unit_test(an_unsent_message_does_not_make_planning_spin),
        cmocka_unit_test(every_open_due_has_one_message_inside_its_window_and_the_hours),
        cmocka_unit_test(nobody_gets_more_than_restraint_allows),
        cmocka_unit_test(safe_to_wash_never_comes_before_an_open_cure_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
