/* Gathering: never more occasions than needed, each inside all its windows, spaced by a day. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

#include "beadline/gather.h"

/* The fewest points that pierce all windows, by trying every set of ends. */
static guint fewest_by_force(const struct bl_window *windows, guint count)
{
    guint best = count;
    for (guint set = 0; set < (1u << count); set++) {
        guint points = (guint)__builtin_popcount(set);
        bool all = points < best;
        for (guint w = 0; w < count && all; w++) {
            bool pierced = false;
            for (guint p = 0; p < count; p++) {
                pierced =
                    pierced || ((set >> p & 1u) && windows[w].from <= windows[p].best_by &&
                                windows[p].best_by <= windows[w].best_by);
            }
            all = pierced;
        }
        if (all) {
            best = points;
        }
    }
    return best;
}

static guint random_windows(GRand *random, struct bl_window *windows)
{
    guint count = (guint)g_rand_int_range(random, 1, 9);
    for (guint i = 0; i < count; i++) {
        windows[i].from = g_rand_int_range(random, 0, 30);
        windows[i].best_by = windows[i].from + g_rand_int_range(random, 0, 15);
        windows[i].group = 99;
    }
    return count;
}

static void no_fewer_occasions_would_do(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 5000; round++) {
        struct bl_window windows[8];
        guint count = random_windows(random, windows);
        guint groups = bl_gather(windows, count);
        assert_int_equal(groups, fewest_by_force(windows, count));
    }
    g_rand_free(random);
}

static void windows_of_one_group_have_an_instant_in_common(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 5000; round++) {
        struct bl_window windows[8];
        guint count = random_windows(random, windows);
        guint groups = bl_gather(windows, count);
        int64_t before = INT64_MIN;
        for (guint g = 0; g < groups; g++) {
            int64_t from = INT64_MIN;
            int64_t to = INT64_MAX;
            for (guint i = 0; i < count; i++) {
                if (windows[i].group == g) {
                    from = MAX(from, windows[i].from);
                    to = MIN(to, windows[i].best_by);
                }
                assert_true(windows[i].group < groups);
            }
            assert_true(from <= to && to < INT64_MAX && to > before);
            before = to;
        }
    }
    g_rand_free(random);
}

static void windows_in_any_order_give_the_same_groups(void **state)
{
    (void)state;
    GRand *random = g_rand_new_with_seed(garage_seed(__func__));
    for (int round = 0; round < 2000; round++) {
        struct bl_window windows[8];
        struct bl_window turned[8];
        guint count = random_windows(random, windows);
        guint shift = (guint)g_rand_int_range(random, 0, 8);
        for (guint i = 0; i < count; i++) {
            turned[(i + shift) % count] = windows[i];
        }
        assert_int_equal(bl_gather(windows, count), bl_gather(turned, count));
        for (guint i = 0; i < count; i++) {
            assert_int_equal(windows[i].group, turned[(i + shift) % count].group);
        }
    }
    g_rand_free(random);
}

static void nothing_to_gather_is_no_occasion(void **state)
{
    (void)state;
    struct garage garage;
    garage_init(&garage, "Europe/London");
    assert_int_equal(bl_gather(NULL, 0), 0);
    bl_gather_times(&garage.shop, NULL, 0, NULL, 0);
    garage_clear(&garage);
}

struct expected {
    const char *from, *best_by, *at;
};

static void check_times(const struct expected *expected, guint count, guint groups)
{
    struct garage garage;
    struct bl_window windows[8];
    int64_t times[8];
    garage_init(&garage, "Europe/London");
    for (guint i = 0; i < count; i++) {
        windows[i].from = garage_at(&garage, expected[i].from);
        windows[i].best_by = garage_at(&garage, expected[i].best_by);
    }
    assert_int_equal(bl_gather(windows, count), groups);
    bl_gather_times(&garage.shop, windows, count, times, groups);
    for (guint i = 0; i < count; i++) {
        g_autofree char *at = bl_at_format(garage.shop.zone, times[windows[i].group]);
        assert_string_equal(at, expected[i].at);
    }
    garage_clear(&garage);
}

static void a_group_goes_at_the_latest_sending_instant_of_its_interval(void **state)
{
    (void)state;
    static const struct expected together[] = {
        {"2026-03-02 12:00", "2026-03-12 12:00", "2026-03-12T12:00:00+00:00"},
        {"2026-03-04 12:00", "2026-03-22 12:00", "2026-03-12T12:00:00+00:00"},
        {"2026-03-20 12:00", "2026-03-29 12:00", "2026-03-28T18:59:59+00:00"}, /* a Sunday */
    };
    check_times(together, 2, 1);
    check_times(together, 3, 2);
}

static void occasions_are_a_day_apart_the_earlier_one_moving(void **state)
{
    (void)state;
    static const struct expected apart[] = {
        {"2026-03-02 12:00", "2026-03-12 12:00", "2026-03-12T12:00:00+00:00"},
        {"2026-03-12 13:00", "2026-03-13 18:59", "2026-03-13T18:59:00+00:00"},
    };
    static const struct expected closer[] = {
        {"2026-03-02 12:00", "2026-03-12 12:00", "2026-03-11T15:00:00+00:00"},
        {"2026-03-12 13:00", "2026-03-12 15:00", "2026-03-12T15:00:00+00:00"},
    };
    static const struct expected no_room[] = {
        {"2026-03-12 11:00", "2026-03-12 12:00", "2026-03-12T12:00:00+00:00"},
        {"2026-03-12 13:00", "2026-03-12 15:00", "2026-03-12T15:00:00+00:00"},
    };
    check_times(apart, 2, 2);
    check_times(closer, 2, 2);
    check_times(no_room, 2, 2);
}

static void an_interval_without_a_sending_hour_goes_at_the_next(void **state)
{
    (void)state;
    static const struct expected sunday[] = {
        {"2026-03-28 20:00", "2026-03-29 20:00", "2026-03-30T09:00:00+01:00"},
    };
    check_times(sunday, 1, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_fewer_occasions_would_do),
        cmocka_unit_test(windows_of_one_group_have_an_instant_in_common),
        cmocka_unit_test(windows_in_any_order_give_the_same_groups),
        cmocka_unit_test(nothing_to_gather_is_no_occasion),
        cmocka_unit_test(a_group_goes_at_the_latest_sending_instant_of_its_interval),
        cmocka_unit_test(occasions_are_a_day_apart_the_earlier_one_moving),
        cmocka_unit_test(an_interval_without_a_sending_hour_goes_at_the_next),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
