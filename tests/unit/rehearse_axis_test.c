/* The page's time axis: every instant has its place, labels have room, beads do not cover each
 * other. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/clock.h"
#include "beadline/error.h"
#include "rehearse_axis.h"

static int set_up(void **state)
{
    *state = bl_zone_new("Europe/London", NULL);
    return *state ? 0 : -1;
}

static int tear_down(void **state)
{
    bl_zone_free(*state);
    return 0;
}

/* From noon of that day over so many days. */
static struct axis days_from(const struct bl_zone *zone, int32_t date, int days)
{
    return axis_make(zone, bl_zone_instant(zone, date, 43200),
                     bl_zone_instant(zone, date + days, 0));
}

static void an_instant_stands_where_its_share_of_the_time_is(void **state)
{
    struct axis axis = days_from(*state, bl_date_of(2026, 12, 1), 365);
    assert_float_equal((float)axis_place(&axis, axis.first), 0, 0);
    assert_float_equal((float)axis_place(&axis, axis.last), 100, 0);
    assert_float_equal((float)axis_place(&axis, axis.first + (axis.last - axis.first) / 4), 25,
                       1e-4F);
    assert_true(axis_place(&axis, axis.first - 1) < 0);
    assert_true(axis_place(&axis, BL_NEVER) > 100);
}

static void the_axis_begins_with_a_whole_month_before_now(void **state)
{
    struct axis axis = days_from(*state, bl_date_of(2026, 12, 15), 365);
    assert_int_equal(bl_zone_date(*state, axis.first), bl_date_of(2026, 11, 1));
    axis = days_from(*state, bl_date_of(2026, 12, 9), 28); /* weeks: a Monday */
    assert_int_equal(bl_date_weekday(bl_zone_date(*state, axis.first)), 1);
    axis = days_from(*state, bl_date_of(2026, 12, 9), 1); /* that day alone */
    assert_int_equal(bl_zone_date(*state, axis.first), bl_date_of(2026, 12, 9));
}

static void a_january_is_labelled_with_its_year(void **state)
{
    struct axis axis = days_from(*state, bl_date_of(2026, 12, 1), 3 * 365);
    g_autoptr(GArray) units = axis_units(&axis);
    guint years = 0;
    for (guint i = 0; i < units->len; i++) {
        const struct axis_unit *unit = &g_array_index(units, struct axis_unit, i);
        if (unit->year) {
            g_autofree char *year = g_strdup_printf("%u", 2027 + years++);
            assert_string_equal(unit->label, year);
            assert_true(unit->wide && unit->narrow);
        }
    }
    assert_int_equal(years, 3);
}

/* Labels are at most six letters of some six pixels; a telephone gives the axis 330 of them, a
 * desk and a sheet of paper at least 620. */
static void labels_never_run_into_each_other(void **state)
{
    uint64_t seed = 1;
    struct bl_chance chance = bl_chance_seeded(&seed);
    print_message("seed 1\n");
    for (int n = 0; n < 2000; n++) {
        int days = 1 + (int)(chance.next(chance.context) % 3653);
        int32_t date = bl_date_of(2026, 1, 1) + (int32_t)(chance.next(chance.context) % 700);
        struct axis axis = days_from(*state, date, days);
        g_autoptr(GArray) units = axis_units(&axis);
        double wide = -1e9;
        double narrow = -1e9;
        for (guint i = 0; i < units->len; i++) {
            const struct axis_unit *unit = &g_array_index(units, struct axis_unit, i);
            double pixels = 6.2 * (double)strlen(unit->label);
            if (unit->wide) {
                assert_true(unit->place * 6.2 >= wide);
                wide = unit->place * 6.2 + pixels;
                assert_true(wide <= 630);
            }
            if (unit->narrow) {
                assert_true(unit->place * 3.3 >= narrow);
                narrow = unit->place * 3.3 + pixels;
                assert_true(narrow <= 335);
            }
        }
    }
}

static void units_cover_the_whole_axis_in_order(void **state)
{
    static const int spans[] = {1, 7, 15, 40, 70, 365, 1096, 3652};
    for (gsize s = 0; s < G_N_ELEMENTS(spans); s++) {
        struct axis axis = days_from(*state, bl_date_of(2027, 3, 20), spans[s]);
        g_autoptr(GArray) units = axis_units(&axis);
        assert_true(units->len >= 1 && units->len <= 140);
        for (guint i = 0; i < units->len; i++) {
            const struct axis_unit *unit = &g_array_index(units, struct axis_unit, i);
            assert_true(unit->place < 100);
            assert_true(i == 0 ? unit->place <= 0 : unit->place > unit[-1].place);
        }
    }
}

static void beads_close_together_hang_in_different_rows(void **state)
{
    (void)state;
    const double places[] = {0, 1, 2, 5, 30, 30, 30, 30, 30};
    guint rows[9];
    assert_int_equal(axis_rows(places, 9, 4.5, 3, rows), 3);
    const guint hang[] = {0, 1, 2, 0, 0, 1, 2};
    for (guint i = 0; i < G_N_ELEMENTS(hang); i++) {
        assert_int_equal(rows[i], hang[i]);
    }
    assert_true(rows[7] < 3 && rows[8] < 3); /* no room is left: they share */
    assert_int_equal(axis_rows(places, 0, 4.5, 3, rows), 0);
}

static void no_two_beads_of_a_row_touch_while_there_is_a_free_row(void **state)
{
    (void)state;
    uint64_t seed = 2;
    struct bl_chance chance = bl_chance_seeded(&seed);
    print_message("seed 2\n");
    for (int n = 0; n < 2000; n++) {
        double places[24];
        guint rows[24];
        double at = 0;
        for (guint i = 0; i < 24; i++) {
            at += (double)(chance.next(chance.context) % 1000) / 200;
            places[i] = at;
        }
        guint used = axis_rows(places, 24, 4.5, 24, rows);
        assert_true(used >= 1 && used <= 24);
        for (guint i = 0; i < 24; i++) {
            for (guint j = 0; j < i; j++) {
                assert_true(rows[i] != rows[j] || places[i] - places[j] >= 4.5);
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_instant_stands_where_its_share_of_the_time_is),
        cmocka_unit_test(the_axis_begins_with_a_whole_month_before_now),
        cmocka_unit_test(a_january_is_labelled_with_its_year),
        cmocka_unit_test(labels_never_run_into_each_other),
        cmocka_unit_test(units_cover_the_whole_axis_in_order),
        cmocka_unit_test(beads_close_together_hang_in_different_rows),
        cmocka_unit_test(no_two_beads_of_a_row_touch_while_there_is_a_free_row),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
