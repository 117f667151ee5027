/* Dates and typed instants. The calendar itself is checked against Python in check_zone.py. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/civil.h"
#include "beadline/error.h"
#include "beadline/text.h"

static void six_months_from_the_31st_end_at_the_months_end(void **state)
{
    (void)state;
    static const struct {
        const char *from;
        int months;
        const char *to;
    } cases[] = {
        {"2026-08-31", 6, "2027-02-28"},          {"2027-08-31", 6, "2028-02-29"},
        {"2026-01-31", 1, "2026-02-28"},          {"2026-03-31", -1, "2026-02-28"},
        {"2024-02-29", 12, "2025-02-28"},         {"2024-02-29", 48, "2028-02-29"},
        {"2096-02-29", 48, "2100-02-28"},         {"2037-12-31", 2, "2038-02-28"},
        {"2026-11-25", 0, "2026-11-25"},          {"2026-11-25", 1, "2026-12-25"},
        {"2026-12-25", 1, "2027-01-25"},          {"2026-01-15", -1, "2025-12-15"},
        {"9999-11-30", 2, "9999-12-31"},          {"0001-01-31", -1, "0001-01-01"},
        {"2026-01-01", 2000000000, "9999-12-31"}, {"2026-01-01", -2000000000, "0001-01-01"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        int32_t date;
        assert_true(bl_date_parse(cases[i].from, &date, NULL));
        g_autofree char *later = bl_date_format(bl_date_add_months(date, cases[i].months));
        assert_string_equal(later, cases[i].to);
    }
    assert_int_equal(bl_date_add_months(BL_NO_DATE, 3), BL_NO_DATE);
}

static void known_days_have_their_number_and_weekday(void **state)
{
    (void)state;
    /* 1970-01-01 is day 0 by definition and was a Thursday; 2000-03-01 is day 11017 (RFC 8536's
     * and POSIX's own count: 951868800 / 86400). */
    assert_int_equal(bl_date_of(1970, 1, 1), 0);
    assert_int_equal(bl_date_weekday(0), 4);
    assert_int_equal(bl_date_of(2000, 3, 1), 11017);
    assert_int_equal(bl_date_of(1969, 12, 31), -1);
    assert_int_equal(bl_date_weekday(-1), 3);
    assert_int_equal(bl_date_of(2026, 2, 29), bl_date_of(2026, 3, 1));
}

static void only_days_of_the_calendar_are_dates(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "today",
        "2026-11-31",
        "2026-02-29",
        "2100-02-29",
        "2026-13-01",
        "2026-00-10",
        "2026-10-00",
        "0000-01-01",
        "25/11/2026",
        "2026-1-5",
        "2026-11-25 ",
        " 2026-11-25",
        "2026-11-25T",
        "+026-11-25",
        "2026 11 25",
        "20261125",
        "2026-11-2x",
        "12026-01-01",
        "2026-11-25\n",
        "２026-11-25",
    };
    for (size_t i = 0; i < G_N_ELEMENTS(bad); i++) {
        int32_t date = 7;
        g_autoptr(GError) error = NULL;
        assert_false(bl_date_parse(bad[i], &date, &error));
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        assert_non_null(strstr(error->message, "2026-11-25"));
        g_autofree char *printable = bl_text_printable(error->message);
        assert_string_equal(error->message, printable);
        assert_int_equal(date, 7);
    }
}

/* 2026-11-25 14:30 in Budapest, an hour east of UTC in winter. */
#define NOW ((int64_t)1795613400)

static const struct {
    const char *typed;
    const char *instant; /* as RFC 3339 in Budapest */
} typed_instants[] = {
    {"now", "2026-11-25T14:30:00+01:00"},
    {"today", "2026-11-25T00:00:00+01:00"},
    {"yesterday", "2026-11-24T00:00:00+01:00"},
    {"tomorrow", "2026-11-26T00:00:00+01:00"},
    {"09:05", "2026-11-25T09:05:00+01:00"},
    {"9:05", "2026-11-25T09:05:00+01:00"},
    {"0:05", "2026-11-25T00:05:00+01:00"},
    {"today 8:00", "2026-11-25T08:00:00+01:00"},
    {"yesterday 8:00", "2026-11-24T08:00:00+01:00"},
    {"2026-07-01 8:30", "2026-07-01T08:30:00+02:00"},
    {"23:59:59", "2026-11-25T23:59:59+01:00"},
    {"yesterday 14:30", "2026-11-24T14:30:00+01:00"},
    {"today 08:00", "2026-11-25T08:00:00+01:00"},
    {"2026-07-01", "2026-07-01T00:00:00+02:00"},
    {"2026-07-01 14:30", "2026-07-01T14:30:00+02:00"},
    {"2026-07-01T14:30", "2026-07-01T14:30:00+02:00"},
    {"2026-07-01T14:30:15", "2026-07-01T14:30:15+02:00"},
    {"2026-07-01T14:30:00Z", "2026-07-01T16:30:00+02:00"},
    {"2026-07-01t14:30:00z", "2026-07-01T16:30:00+02:00"},
    {"2026-07-01 14:30:00-05:30", "2026-07-01T22:00:00+02:00"},
    {"2026-07-01T14:30:00.999+02:00", "2026-07-01T14:30:00+02:00"},
    {"2026-03-29 02:30", "2026-03-29T03:30:00+02:00"}, /* in the gap */
    {"2026-10-25 02:30", "2026-10-25T02:30:00+02:00"}, /* twice: the first */
    {"2026-10-25T02:30:00+01:00", "2026-10-25T02:30:00+01:00"},
    {"2199-12-31 23:59:59", "2199-12-31T23:59:59+01:00"},
    {"1970-01-01T00:00:00Z", "1970-01-01T01:00:00+01:00"},
    /* The examples of RFC 3339 section 5.8 that lie in our years and have no leap second. */
    {"1985-04-12T23:20:50.52Z", "1985-04-13T01:20:50+02:00"},
    {"1996-12-19T16:39:57-08:00", "1996-12-20T01:39:57+01:00"},
};

static void an_instant_is_read_as_people_type_it(void **state)
{
    (void)state;
    BL_AUTO(bl_zone) *zone = bl_zone_new("Europe/Budapest", NULL);
    for (size_t i = 0; i < G_N_ELEMENTS(typed_instants); i++) {
        int64_t at = 0;
        g_autoptr(GError) error = NULL;
        assert_true(bl_at_parse(zone, typed_instants[i].typed, NOW, &at, &error));
        assert_null(error);
        g_autofree char *back = bl_at_format(zone, at);
        assert_string_equal(back, typed_instants[i].instant);
        int64_t again = 0;
        assert_true(bl_at_parse(zone, back, NOW, &again, NULL));
        assert_int_equal(again, at);
    }
}

static void what_is_no_instant_is_refused_with_the_forms(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        " ",
        "noon",
        "Now",
        "24:00",
        "9:5",
        "9:60",
        "9",
        ":30",
        "009:30",
        "today 8",
        "09:60",
        "09:05:60",
        "09:05 ",
        "09:05Z",
        "2026-07-01 ",
        "2026-07-01T",
        "2026-07-01X14:30",
        "2026-07-01 14:30 ",
        "2026-07-01Z",
        "2026-07-01T14:30:00+0200",
        "2026-07-01T14:30:00+24:00",
        "2026-07-01T14:30:00+02:60",
        "2026-07-01T14:30:00ZZ",
        "2026-07-01T14:30:00.",
        "2026-02-29 10:00",
        "1969-12-31",
        "2200-01-01",
        "1970-01-01",
        "1970-01-01T00:00:00+01:00",
        "yesterday14:30",
        "yesterdayT14:30",
        "today today",
        "todays",
        "tomorrow 25:00",
        "yesterday 14:30Z",
        "2026-07-01 14:30\n",
        "14:30\x01",
        "-1:30",
        "now now",
    };
    BL_AUTO(bl_zone) *zone = bl_zone_new("Europe/Budapest", NULL);
    for (size_t i = 0; i < G_N_ELEMENTS(bad); i++) {
        int64_t at = 7;
        g_autoptr(GError) error = NULL;
        if (bl_at_parse(zone, bad[i], NOW, &at, &error)) {
            fail_msg("taken: %s", bad[i]);
        }
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        assert_non_null(strstr(error->message, "\"9:30\""));
        g_autofree char *printable = bl_text_printable(error->message);
        assert_string_equal(error->message, printable);
        assert_int_equal(at, 7);
    }
}

static void today_is_the_day_of_the_shop_not_of_greenwich(void **state)
{
    (void)state;
    BL_AUTO(bl_zone) *east = bl_zone_new("Pacific/Kiritimati", NULL); /* UTC+14 */
    BL_AUTO(bl_zone) *west = bl_zone_new("Pacific/Pago_Pago", NULL);  /* UTC-11 */
    int64_t at = 0;
    assert_true(bl_at_parse(east, "today", NOW, &at, NULL));
    g_autofree char *there = bl_at_format(east, at);
    assert_string_equal(there, "2026-11-26T00:00:00+14:00");
    assert_true(bl_at_parse(west, "yesterday 23:00", NOW, &at, NULL));
    g_autofree char *here = bl_at_format(west, at);
    assert_string_equal(here, "2026-11-24T23:00:00-11:00");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(six_months_from_the_31st_end_at_the_months_end),
        cmocka_unit_test(known_days_have_their_number_and_weekday),
        cmocka_unit_test(only_days_of_the_calendar_are_dates),
        cmocka_unit_test(an_instant_is_read_as_people_type_it),
        cmocka_unit_test(what_is_no_instant_is_refused_with_the_forms),
        cmocka_unit_test(today_is_the_day_of_the_shop_not_of_greenwich),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
