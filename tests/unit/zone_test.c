/*
 * Zones: the hours that happen twice or never, names that are none, and damaged zone files.
 * Whole zones are compared with another implementation in check_zone.py.
 */
#include <glib.h>
#include <glib/gstdio.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/civil.h"
#include "beadline/clock.h"
#include "beadline/error.h"
#include "beadline/text.h"
#include "beadline/tzif.h"

static int64_t instant(const char *zone_name, int year, int month, int day, int minutes)
{
    BL_AUTO(bl_zone) *zone = bl_zone_new(zone_name, NULL);
    return bl_zone_instant(zone, bl_date_of(year, month, day), minutes * 60);
}

static int64_t utc(int year, int month, int day, int minutes)
{
    return bl_date_of(year, month, day) * BL_DAY + minutes * 60;
}

static void
the_hour_that_happens_twice_is_its_first_and_the_skipped_takes_the_offset_before(void **state)
{
    (void)state;
    /* RFC 5545 section 3.3.5, its two examples. */
    assert_int_equal(instant("America/New_York", 2007, 11, 4, 90), utc(2007, 11, 4, 330));
    assert_int_equal(instant("America/New_York", 2007, 3, 11, 150), utc(2007, 3, 11, 450));
    /* Python's zoneinfo with fold=0 (tzdata 2026f). */
    assert_int_equal(instant("Asia/Beirut", 2026, 3, 29, 0), utc(2026, 3, 28, 22 * 60));
    assert_int_equal(instant("America/Santiago", 2026, 9, 6, 0), utc(2026, 9, 6, 4 * 60));
    assert_int_equal(instant("Australia/Lord_Howe", 2026, 10, 4, 135), utc(2026, 10, 3, 945));
    assert_int_equal(instant("Australia/Lord_Howe", 2026, 4, 5, 105), utc(2026, 4, 4, 885));
    assert_int_equal(instant("Europe/Dublin", 2026, 3, 29, 90), utc(2026, 3, 29, 90));
}

static void a_day_begins_at_its_first_instant_even_where_midnight_is_skipped(void **state)
{
    (void)state;
    BL_AUTO(bl_zone) *zone = bl_zone_new("America/Santiago", NULL);
    int32_t date = bl_date_of(2026, 9, 6);
    int64_t begins = bl_zone_instant(zone, date, 0);
    assert_int_equal(begins, bl_zone_instant(zone, date - 1, 86400));
    assert_int_equal(bl_zone_date(zone, begins), date);
    assert_int_equal(bl_zone_seconds(zone, begins), 3600);
    assert_int_equal(bl_zone_date(zone, begins - 1), date - 1);
}

static void winter_in_dublin_is_greenwich_time_after_2037(void **state)
{
    (void)state;
    BL_AUTO(bl_zone) *zone = bl_zone_new("Europe/Dublin", NULL);
    assert_int_equal(bl_zone_offset(zone, utc(2050, 1, 15, 0)), 0);
    assert_int_equal(bl_zone_offset(zone, utc(2050, 7, 15, 0)), 3600);
}

static void an_instant_that_never_comes_is_a_day_like_another(void **state)
{
    (void)state;
    static const char *const names[] = {"Europe/London", "Pacific/Kiritimati", "UTC"};
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++) {
        BL_AUTO(bl_zone) *zone = bl_zone_new(names[i], NULL);
        assert_string_equal(bl_zone_name(zone), names[i]);
        static const int64_t far[] = {BL_NEVER, INT64_MIN, 0};
        for (size_t k = 0; k < G_N_ELEMENTS(far); k++) {
            int year;
            int month;
            int day;
            bl_date_split(bl_zone_date(zone, far[k]), &year, &month, &day);
            assert_in_range(year, 1, 9999);
            assert_in_range(bl_zone_seconds(zone, far[k]), 0, 86399);
            g_autofree char *text = bl_at_format(zone, far[k]);
            assert_int_equal(strlen(text), 25);
        }
        assert_true(bl_zone_instant(zone, BL_NO_DATE, 0) < 0);
        assert_true(bl_zone_instant(zone, INT32_MAX, 86400) > 0);
    }
}

static void a_name_that_is_no_zone_is_refused(void **state)
{
    (void)state;
    static const char *const names[] = {
        "",
        " ",
        "Europe",
        "Europe/",
        "Europe/Nowhere",
        "europe/london",
        "Europe/London ",
        "/Europe/London",
        "/usr/share/zoneinfo/Europe/London",
        "../zoneinfo/Europe/London",
        "Europe/../Europe/London",
        "./Europe/London",
        "Europe//../London",
        "+01:00",
        "-1",
        "zone.tab",
        "tzdata.zi",
        "right/Europe/London",
        "posix/Europe/London",
        "posixrules",
        "localtime",
        "Europe/London\n",
        "CET-1CEST,M3.5.0,M10.5.0/3",
        ":Europe/London",
        "\xff",
    };
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++) {
        g_autoptr(GError) error = NULL;
        if (bl_zone_new(names[i], &error)) {
            fail_msg("taken: %s", names[i]);
        }
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        assert_non_null(strstr(error->message, "Europe/London\""));
        g_autofree char *printable = bl_text_printable(error->message);
        assert_string_equal(error->message, printable);
    }
    bl_zone_free(NULL);
    bl_tzif_free(NULL);
}

static void put32(GByteArray *file, guint32 value)
{
    guint32 big = GUINT32_TO_BE(value);
    g_byte_array_append(file, (const guint8 *)&big, 4);
}

static void put64(GByteArray *file, int64_t value)
{
    guint64 big = GUINT64_TO_BE((guint64)value);
    g_byte_array_append(file, (const guint8 *)&big, 8);
}

static void put_header(GByteArray *file, guint32 leaps, guint32 times, guint32 types)
{
    static const guint8 magic[20] = "TZif3";
    g_byte_array_append(file, magic, sizeof magic);
    const guint32 counts[] = {0, 0, leaps, times, types, 4};
    for (size_t i = 0; i < G_N_ELEMENTS(counts); i++) {
        put32(file, counts[i]);
    }
}

static void put_type(GByteArray *file, int32_t offset)
{
    static const guint8 rest[2] = {0, 0};
    put32(file, (guint32)offset);
    g_byte_array_append(file, rest, 2);
}

/* A zone that changes from one hour to two east at second 1000, and then follows the footer. */
static GByteArray *zone_file(const char *footer)
{
    static const guint8 indexes[] = {1};
    GByteArray *file = g_byte_array_new();
    put_header(file, 0, 0, 1);
    put_type(file, 0);
    g_byte_array_append(file, (const guint8 *)"ABC", 4);
    put_header(file, 0, 1, 2);
    put64(file, 1000);
    g_byte_array_append(file, indexes, 1);
    put_type(file, 3600);
    put_type(file, 7200);
    g_byte_array_append(file, (const guint8 *)"ABC", 4);
    g_byte_array_append(file, (const guint8 *)"\n", 1);
    g_byte_array_append(file, (const guint8 *)footer, (guint)strlen(footer));
    g_byte_array_append(file, (const guint8 *)"\n", 1);
    return file;
}

static void a_file_without_a_rule_keeps_its_last_offset_for_ever(void **state)
{
    (void)state;
    g_autoptr(GByteArray) file = zone_file("");
    BL_AUTO(bl_tzif) *tzif = bl_tzif_parse(file->data, file->len, NULL);
    struct bl_tzif_span before = bl_tzif_span_at(tzif, 999);
    assert_int_equal(before.offset, 3600);
    assert_int_equal(before.from, INT64_MIN);
    assert_int_equal(before.until, 1000);
    struct bl_tzif_span after = bl_tzif_span_at(tzif, 1000);
    assert_int_equal(after.offset, 7200);
    assert_int_equal(after.from, 1000);
    assert_int_equal(after.until, INT64_MAX);
}

static void a_rule_tells_the_offset_after_the_last_change(void **state)
{
    (void)state;
    /* The examples of RFC 8536 section 3.3.1 and its appendix, and POSIX's day forms. */
    static const struct {
        const char *rule;
        int32_t january; /* offset at 2031-01-15 12:00 UTC */
        int32_t july;
    } rules[] = {
        {"EST5", -18000, -18000},
        {"<-03>3<-02>,M3.5.0/-2,M10.5.0/-1", -10800, -7200},
        {"EST5EDT,0/0,J365/25", -14400, -14400}, /* summer all year round */
        {"IST-2IDT,M3.4.4/26,M10.5.0", 7200, 10800},
        {"HST10", -36000, -36000},
        {"IST-1GMT0,M10.5.0,M3.5.0/1", 0, 3600}, /* summer time is the standard */
        {"<+1030>-10:30<+11>-11,M10.1.0,M4.1.0", 39600, 37800},
        {"AAA-1BBB,J60,J300", 3600, 7200},
        {"AAA-1BBB,59/2:30:15,299", 3600, 7200},
        {"AAA1:30:30", -5430, -5430},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(rules); i++) {
        g_autoptr(GByteArray) file = zone_file(rules[i].rule);
        g_autoptr(GError) error = NULL;
        BL_AUTO(bl_tzif) *tzif = bl_tzif_parse(file->data, file->len, &error);
        assert_null(error);
        assert_int_equal(bl_tzif_span_at(tzif, utc(2031, 1, 15, 720)).offset, rules[i].january);
        assert_int_equal(bl_tzif_span_at(tzif, utc(2031, 7, 15, 720)).offset, rules[i].july);
    }
}

static void a_rule_that_cannot_be_read_spoils_the_file(void **state)
{
    (void)state;
    static const char *const rules[] = {
        "E5",
        "EST",
        "EST25",
        "EST5:60",
        "EST5:00:60",
        "EST5:",
        "EST5EDT",
        "EST5EDT,M3.2.0",
        "EST5EDT,M13.1.0,M11.1.0",
        "EST5EDT,M3.6.0,M11.1.0",
        "EST5EDT,M3.0.0,M11.1.0",
        "EST5EDT,M3.2.7,M11.1.0",
        "EST5EDT,M3-2.0,M11.1.0",
        "EST5EDT,J0,J300",
        "EST5EDT,J366,J1",
        "EST5EDT,366,1",
        "EST5EDT,M3.2.0/168,M11.1.0",
        "EST5EDT,M3.2.0,M11.1.0x",
        "<EST5",
        "<>5",
        "EST5ED,M3.2.0,M11.1.0",
        "EST5EDT25,M3.2.0,M11.1.0",
        "EST5EDT;M3.2.0,M11.1.0",
        "5",
        "x",
        "EST99999999999999999999",
    };
    for (size_t i = 0; i < G_N_ELEMENTS(rules); i++) {
        g_autoptr(GByteArray) file = zone_file(rules[i]);
        g_autoptr(GError) error = NULL;
        if (bl_tzif_parse(file->data, file->len, &error)) {
            fail_msg("taken: %s", rules[i]);
        }
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_DAMAGED));
    }
}

static void a_damaged_zone_file_is_refused_or_read_and_never_crashes(void **state)
{
    (void)state;
    uint64_t seed = bl_chance_machine().next(NULL);
    const char *given = g_getenv("BL_SEED");
    seed = given ? g_ascii_strtoull(given, NULL, 10) : seed;
    print_message("seed %" G_GUINT64_FORMAT " (BL_SEED)\n", seed);
    struct bl_chance chance = bl_chance_seeded(&seed);

    g_autoptr(GByteArray) file = zone_file("<-03>3<-02>,M3.5.0/-2,M10.5.0/-1");
    for (guint length = 0; length < file->len; length++) {
        g_autofree guint8 *cut = g_memdup2(file->data, length); /* exact, for the sanitizer */
        assert_null(bl_tzif_parse(cut, length, NULL));
    }
    guint read = 0;
    for (int round = 0; round < 50000; round++) {
        g_autofree guint8 *bytes = g_memdup2(file->data, file->len);
        for (int flips = 1 + (int)(chance.next(chance.context) % 3); flips > 0; flips--) {
            uint64_t bits = chance.next(chance.context);
            bytes[bits % file->len] = (guint8)(bits >> 32);
        }
        BL_AUTO(bl_tzif) *tzif = bl_tzif_parse(bytes, file->len, NULL);
        if (!tzif) {
            continue;
        }
        read++;
        int64_t at = (int64_t)(chance.next(chance.context) % 4102444800u);
        struct bl_tzif_span span = bl_tzif_span_at(tzif, at);
        assert_true(span.from <= at && at < span.until);
        assert_true(ABS(span.offset) < BL_TZIF_MOST_OFFSET);
    }
    assert_in_range(read, 1, 49999);
}

static void a_zone_with_leap_seconds_is_refused(void **state)
{
    (void)state;
    g_autoptr(GByteArray) file = g_byte_array_new();
    put_header(file, 0, 0, 1);
    put_type(file, 0);
    g_byte_array_append(file, (const guint8 *)"ABC", 4);
    put_header(file, 1, 0, 1);
    put_type(file, 0);
    g_byte_array_append(file, (const guint8 *)"ABC", 4);
    put64(file, 78796800);
    put32(file, 1);
    g_byte_array_append(file, (const guint8 *)"\nUTC0\n", 6);
    assert_null(bl_tzif_parse(file->data, file->len, NULL));
}

static void another_directory_of_zones_may_be_named_and_its_damage_is_told(void **state)
{
    (void)state;
    g_autofree char *dir = g_dir_make_tmp("zones-XXXXXX", NULL);
    g_autofree char *good = g_build_filename(dir, "Moved", NULL);
    g_autofree char *broken = g_build_filename(dir, "Broken", NULL);
    g_autoptr(GByteArray) file = zone_file("AAA-5");
    assert_true(g_file_set_contents(good, (const char *)file->data, (gssize)file->len, NULL));
    assert_true(g_file_set_contents(broken, "TZif2", -1, NULL));
    g_autofree char *before = g_strdup(g_getenv("TZDIR"));
    g_setenv("TZDIR", dir, TRUE);

    BL_AUTO(bl_zone) *zone = bl_zone_new("Moved", NULL);
    g_autoptr(GError) error = NULL;
    struct bl_zone *none = bl_zone_new("Broken", &error);
    if (before) {
        g_setenv("TZDIR", before, TRUE);
    } else {
        g_unsetenv("TZDIR");
    }
    assert_int_equal(bl_zone_offset(zone, utc(2026, 1, 1, 0)), 5 * 3600);
    assert_null(none);
    assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_DAMAGED));
    assert_non_null(strstr(error->message, broken));
    g_unlink(good);
    g_unlink(broken);
    g_rmdir(dir);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(
            the_hour_that_happens_twice_is_its_first_and_the_skipped_takes_the_offset_before),
        cmocka_unit_test(a_day_begins_at_its_first_instant_even_where_midnight_is_skipped),
        cmocka_unit_test(winter_in_dublin_is_greenwich_time_after_2037),
        cmocka_unit_test(an_instant_that_never_comes_is_a_day_like_another),
        cmocka_unit_test(a_name_that_is_no_zone_is_refused),
        cmocka_unit_test(a_file_without_a_rule_keeps_its_last_offset_for_ever),
        cmocka_unit_test(a_rule_tells_the_offset_after_the_last_change),
        cmocka_unit_test(a_rule_that_cannot_be_read_spoils_the_file),
        cmocka_unit_test(a_damaged_zone_file_is_refused_or_read_and_never_crashes),
        cmocka_unit_test(a_zone_with_leap_seconds_is_refused),
        cmocka_unit_test(another_directory_of_zones_may_be_named_and_its_damage_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
