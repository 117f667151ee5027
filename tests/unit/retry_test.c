/* When a failed attempt is made again. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "beadline/send.h"

#define NOW    INT64_C(1764057600)
#define NEVER  INT64_MAX
#define DAY    INT64_C(86400)
#define UNLUCK UINT64_MAX /* the longest spread */

static void test_the_waits_double_from_the_first_to_the_longest(void **state)
{
    static const int64_t waits[] = {60, 120, 240, 480, 960, 1920, 3840, 7680, 15360, 17280};
    (void)state;
    for (int n = 0; n < (int)G_N_ELEMENTS(waits); n++) {
        assert_int_equal(bl_retry_at(NOW, n + 1, 60, 21600, 0, 0), NOW + waits[n]);
    }
    assert_int_equal(bl_retry_at(NOW, 1000000, 60, 21600, 0, 0), NOW + 17280);
    assert_in_range(bl_retry_at(NOW, 1000000, 60, 21600, 0, UNLUCK), NOW + 21599, NOW + 21600);
}

static void test_chance_spreads_a_wait_over_a_quarter(void **state)
{
    (void)state;
    assert_int_equal(bl_retry_at(NOW, 1, 1000, 21600, 0, 0), NOW + 1000);
    assert_int_equal(bl_retry_at(NOW, 1, 1000, 21600, 0, UINT64_C(1) << 63), NOW + 1125);
    assert_in_range(bl_retry_at(NOW, 1, 1000, 21600, 0, UNLUCK), NOW + 1249, NOW + 1250);
}

static void test_whatever_comes_the_next_attempt_keeps_its_bounds(void **state)
{
    guint32 seed = g_random_int();
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    (void)state;
    print_message("seed %u\n", seed);
    for (int n = 0; n < 200000; n++) {
        int first = g_rand_int_range(rand, 1, 100000);
        int longest = first + g_rand_int_range(rand, 0, 1000000);
        int attempt = g_rand_int_range(rand, -2, 80);
        int64_t asked = g_rand_boolean(rand) ? 0 : g_rand_int_range(rand, 0, 86401);
        uint64_t chance = (uint64_t)g_rand_int(rand) << 32 | g_rand_int(rand);
        int64_t at = bl_retry_at(NOW, attempt, first, longest, asked, chance);
        assert_true(at >= NOW + first && at >= NOW + asked);
        assert_true(at <= NOW + MAX((int64_t)longest, asked));
        /* More unluck, more attempts or a longer wait asked for never bring it forward. */
        assert_true(bl_retry_at(NOW, attempt, first, longest, asked, UNLUCK) >= at);
        assert_true(bl_retry_at(NOW, attempt + 1, first, longest, asked, chance) >= at);
        assert_true(bl_retry_at(NOW, attempt, first, longest, asked + 1, chance) >= at);
        assert_int_equal(bl_retry_at(NOW + 77, attempt, first, longest, asked, chance),
                         at + 77);
    }
}

/* Row by row as the owner's settings have it: at most so many tries a day however long a
 * gateway stays away. */
static void test_a_gateway_that_is_gone_for_a_day_is_asked_few_times(void **state)
{
    int64_t at = NOW;
    int attempts = 1;
    (void)state;
    while ((at = bl_retry_at(at, attempts, 60, 21600, 0, 0)) < NOW + DAY) {
        attempts++;
    }
    assert_in_range(attempts, 5, 15);
}

static void test_nonsense_does_not_leave_the_calendar(void **state)
{
    (void)state;
    assert_int_equal(bl_retry_at(NOW, 1, 0, 0, 0, 0), NOW + 1);
    assert_int_equal(bl_retry_at(NOW, 1, -5, -7, -9, UNLUCK), NOW + 1);
    assert_int_equal(bl_retry_at(NOW, 5, 600, 60, 0, UNLUCK), NOW + 600);
    assert_int_equal(bl_retry_at(INT64_MAX - 10, 1, 60, 21600, 0, 0), NEVER);
    assert_int_equal(bl_retry_at(NOW, INT32_MAX, INT32_MAX, INT32_MAX, 0, UNLUCK),
                     NOW + INT32_MAX);
}

/* RFC 9110 sections 5.6.7 and 10.2.3: the three forms of a date, or seconds. */
static void test_a_wait_asked_for_is_read_in_all_its_forms(void **state)
{
    static const struct {
        const char *value;
        int64_t seconds;
    } rows[] = {
        {"120", 120},
        {" 7 ", 7},
        {"0", 0},
        {"86400", 86400},
        {"86401", 86400},
        {"99999999999999999999999", 86400},
        {"Tue, 25 Nov 2025 08:02:03 GMT", 123},
        {"Tuesday, 25-Nov-25 08:02:03 GMT", 123},
        {"Tue Nov 25 08:02:03 2025", 123},
        {"Tue, 25 Nov 2025 07:00:00 GMT", 0},
        {"Fri, 31 Dec 2100 23:59:59 GMT", 86400},
        {"-5", 0},
        {"soon", 0},
        {"1e9", 0},
        {"", 0},
        {NULL, 0},
    };
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(rows); i++) {
        assert_int_equal(bl_retry_after(rows[i].value, NOW), rows[i].seconds);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_waits_double_from_the_first_to_the_longest),
        cmocka_unit_test(test_chance_spreads_a_wait_over_a_quarter),
        cmocka_unit_test(test_whatever_comes_the_next_attempt_keeps_its_bounds),
        cmocka_unit_test(test_a_gateway_that_is_gone_for_a_day_is_asked_few_times),
        cmocka_unit_test(test_nonsense_does_not_leave_the_calendar),
        cmocka_unit_test(test_a_wait_asked_for_is_read_in_all_its_forms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
