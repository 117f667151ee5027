/* Sending hours: the shop's days and hours through both changes of the clock, closed dates, and
 * that the questions about them cannot disagree. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

static const char *const ZONES[] = {
    "Europe/London",  "Australia/Lord_Howe", "America/Santiago", "America/St_Johns",
    "Asia/Kathmandu", "America/Havana",      "Pacific/Apia",     "Africa/Casablanca"};

/* Every local opening of a year, asked instant by instant of the zone alone: the oracle. */
static bool open_by_wall_clock(const struct bl_shop *shop, int64_t at)
{
    int32_t date = bl_zone_date(shop->zone, at);
    int32_t second = bl_zone_seconds(shop->zone, at);
    for (guint i = 0; i < shop->closed->len; i++) {
        const struct bl_closed *closed = &g_array_index(shop->closed, struct bl_closed, i);
        if (closed->first <= date && date <= closed->last) {
            return false;
        }
    }
    int day = bl_date_weekday(date);
    return second >= shop->hours.open[day] && second < shop->hours.close[day];
}

static void opens_at_nine_on_the_wall_all_year_round(void **state)
{
    (void)state;
    for (guint z = 0; z < G_N_ELEMENTS(ZONES); z++) {
        struct garage garage;
        garage_init(&garage, ZONES[z]);
        int64_t at = garage_at(&garage, "2026-01-01");
        int64_t end = garage_at(&garage, "2027-01-01");
        for (; at < end; at += 900) {
            if (bl_hours_open(&garage.shop, at) != open_by_wall_clock(&garage.shop, at)) {
                g_autofree char *text = bl_at_format(garage.shop.zone, at);
                fail_msg("%s: %s", ZONES[z], text);
            }
        }
        garage_clear(&garage);
    }
}

struct change {
    const char *zone;
    const char *date;    /* the Sunday on which the clock changes */
    int64_t night_hours; /* in half hours, from Saturday 19:00 to Sunday 09:00 */
};

/* tz database: Europe/London, Australia/Lord_Howe (half an hour), America/Santiago, in 2026. */
static const struct change CHANGES[] = {
    {"Europe/London", "2026-03-29", 26},       {"Europe/London", "2026-10-25", 30},
    {"Australia/Lord_Howe", "2026-04-05", 29}, {"Australia/Lord_Howe", "2026-10-04", 27},
    {"America/Santiago", "2026-04-05", 30},    {"America/Santiago", "2026-09-06", 26},
};

static void nights_of_the_clock_change_are_an_hour_shorter_or_longer(void **state)
{
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(CHANGES); i++) {
        struct garage garage;
        garage_init(&garage, CHANGES[i].zone);
        garage.shop.hours.open[7] = 9 * 3600;
        garage.shop.hours.close[7] = 19 * 3600;
        int64_t sunday = garage_at(&garage, CHANGES[i].date) + 3 * 3600;
        int64_t last = bl_hours_last(&garage.shop, sunday, sunday - BL_DAY);
        int64_t next = bl_hours_next(&garage.shop, sunday);
        assert_int_equal(bl_zone_seconds(garage.shop.zone, last), 19 * 3600 - 1);
        assert_int_equal(bl_zone_seconds(garage.shop.zone, next), 9 * 3600);
        assert_int_equal(next - last - 1, CHANGES[i].night_hours * 1800);
        garage_clear(&garage);
    }
}

static void sunday_waits_for_monday_through_the_clock_change(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    int64_t next = bl_hours_next(&garage.shop, garage_at(&garage, "2026-03-28 19:00"));
    g_autofree char *text = bl_at_format(garage.shop.zone, next);
    assert_string_equal(text, "2026-03-30T09:00:00+01:00");
    next = bl_hours_next(&garage.shop, garage_at(&garage, "2026-10-24 19:00"));
    g_autofree char *autumn = bl_at_format(garage.shop.zone, next);
    assert_string_equal(autumn, "2026-10-26T09:00:00+00:00");
    garage_clear(&garage);
}

static void the_closing_second_is_outside_and_the_opening_one_inside(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    int64_t open = garage_at(&garage, "2026-03-02 09:00");
    int64_t close = garage_at(&garage, "2026-03-02 19:00");
    assert_false(bl_hours_open(&garage.shop, open - 1));
    assert_true(bl_hours_open(&garage.shop, open));
    assert_true(bl_hours_open(&garage.shop, close - 1));
    assert_false(bl_hours_open(&garage.shop, close));
    assert_int_equal(bl_hours_end(&garage.shop, open), close);
    assert_int_equal(bl_hours_end(&garage.shop, close), close);
    assert_int_equal(bl_hours_last(&garage.shop, close, open), close - 1);
    assert_int_equal(bl_hours_last(&garage.shop, open - 1, open - 60), BL_NEVER);
    garage_clear(&garage);
}

static void add_closed(struct bl_shop *shop, int32_t first, int32_t last)
{
    struct bl_closed closed = {first, last};
    g_array_append_val(shop->closed, closed);
}

static void nothing_goes_out_on_a_closed_date(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    add_closed(&garage.shop, bl_date_of(2026, 4, 3), bl_date_of(2026, 4, 6));
    add_closed(&garage.shop, bl_date_of(2026, 5, 4), bl_date_of(2026, 5, 4));
    add_closed(&garage.shop, bl_date_of(2026, 12, 24), bl_date_of(2027, 1, 2));
    for (guint i = 0; i < garage.shop.closed->len; i++) {
        const struct bl_closed *closed =
            &g_array_index(garage.shop.closed, struct bl_closed, i);
        for (int32_t date = closed->first; date <= closed->last; date++) {
            int64_t noon = bl_zone_instant(garage.shop.zone, date, 12 * 3600);
            assert_false(bl_hours_open(&garage.shop, noon));
            int32_t next = bl_zone_date(garage.shop.zone, bl_hours_next(&garage.shop, noon));
            int32_t last = bl_zone_date(garage.shop.zone, bl_hours_last(&garage.shop, noon, 0));
            assert_true(next > closed->last);
            assert_true(last < closed->first);
        }
    }
    int64_t easter = bl_hours_next(&garage.shop, garage_at(&garage, "2026-04-02 20:00"));
    assert_int_equal(easter, garage_at(&garage, "2026-04-07 09:00"));
    garage_clear(&garage);
}

static void a_shop_that_never_opens_has_no_next_hour(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    int64_t at = garage_at(&garage, "2026-03-02 12:00");
    add_closed(&garage.shop, bl_date_of(2026, 1, 1), bl_date_of(2028, 1, 1));
    assert_int_equal(bl_hours_next(&garage.shop, at), BL_NEVER);
    assert_int_equal(bl_hours_last(&garage.shop, at, 0),
                     garage_at(&garage, "2025-12-31 18:59") + 59);
    assert_int_equal(bl_hours_next(&garage.shop, BL_NEVER), BL_NEVER);
    garage.shop.hours = (struct bl_hours){0};
    g_array_set_size(garage.shop.closed, 0);
    assert_int_equal(bl_hours_next(&garage.shop, at), BL_NEVER);
    assert_int_equal(bl_hours_last(&garage.shop, at, 0), BL_NEVER);
    assert_false(bl_hours_open(&garage.shop, at));
    garage_clear(&garage);
}

static void days_open_around_the_clock_end_at_midnight(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    for (int day = 1; day <= 7; day++) {
        garage.shop.hours.open[day] = 0;
        garage.shop.hours.close[day] = 86400;
    }
    int64_t at = garage_at(&garage, "2026-03-29 00:30");
    assert_int_equal(bl_hours_next(&garage.shop, at), at);
    assert_int_equal(bl_hours_end(&garage.shop, at), garage_at(&garage, "2026-03-30"));
    assert_int_equal(bl_hours_end(&garage.shop, at) - at, 22 * 3600 + 1800);
    garage_clear(&garage);
}

static void random_hours(struct bl_shop *shop, GRand *random, int32_t around)
{
    for (int day = 1; day <= 7; day++) {
        shop->hours.open[day] = g_rand_int_range(random, 0, 96) * 900;
        shop->hours.close[day] = g_rand_int_range(random, 0, 97) * 900;
    }
    g_array_set_size(shop->closed, 0);
    int32_t date = around - 30;
    for (int i = g_rand_int_range(random, 0, 6); i > 0; i--) {
        int32_t first = date + g_rand_int_range(random, 1, 12);
        date = first + g_rand_int_range(random, 0, 5);
        add_closed(shop, first, date);
    }
}

/* The next opening is inside and nothing between is; the last one before it likewise; going
 * from one to the other comes back. */
static void check_inverse(const struct bl_shop *shop, GRand *random, int64_t at)
{
    int64_t next = bl_hours_next(shop, at);
    assert_int_equal(next == at, bl_hours_open(shop, at));
    if (next == BL_NEVER) {
        assert_int_equal(bl_hours_last(shop, at + 300 * BL_DAY, at), BL_NEVER);
        return;
    }
    assert_true(next >= at && bl_hours_open(shop, next));
    assert_int_equal(bl_hours_last(shop, next, at), next);
    if (next > at) {
        assert_int_equal(bl_hours_last(shop, next - 1, at), BL_NEVER);
        int64_t between = at + g_rand_int_range(random, 0, (gint32)MIN(next - at, INT32_MAX));
        assert_false(bl_hours_open(shop, between));
        assert_int_equal(bl_hours_next(shop, between), next);
    }
    int64_t end = bl_hours_end(shop, next);
    assert_true(end > next && bl_hours_open(shop, end - 1));
    int64_t later = next + g_rand_int_range(random, 0, 40 * 86400);
    int64_t last = bl_hours_last(shop, later, next);
    assert_true(last >= next && last <= later && bl_hours_open(shop, last));
    int64_t after = bl_hours_next(shop, last + 1);
    assert_true(after > later || last == later);
}

static void next_and_last_are_each_others_inverse(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 6000; round++) {
        struct garage garage;
        garage_init(&garage, ZONES[g_rand_int_range(random, 0, G_N_ELEMENTS(ZONES))]);
        int64_t at = garage_at(&garage, "2025-12-01") +
                     (int64_t)g_rand_double_range(random, 0, 900 * 86400.0);
        random_hours(&garage.shop, random, bl_zone_date(garage.shop.zone, at));
        check_inverse(&garage.shop, random, at);
        garage_clear(&garage);
    }
    g_rand_free(random);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(opens_at_nine_on_the_wall_all_year_round),
        cmocka_unit_test(nights_of_the_clock_change_are_an_hour_shorter_or_longer),
        cmocka_unit_test(sunday_waits_for_monday_through_the_clock_change),
        cmocka_unit_test(the_closing_second_is_outside_and_the_opening_one_inside),
        cmocka_unit_test(nothing_goes_out_on_a_closed_date),
        cmocka_unit_test(a_shop_that_never_opens_has_no_next_hour),
        cmocka_unit_test(days_open_around_the_clock_end_at_midnight),
        cmocka_unit_test(next_and_last_are_each_others_inverse),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
