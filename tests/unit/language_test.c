/* A language's words: what customers read of days and months, and what a slip in them says. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <locale.h>
#include <string.h>

#include "beadline/civil.h"
#include "beadline/compose.h"
#include "template_room.h"

#define EN BL_SOURCE_DIR "/templates/en"

static struct bl_templates *load_shipped(void)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    struct bl_templates *templates = bl_templates_load(BL_SOURCE_DIR "/templates", faults);
    assert_non_null(templates);
    return templates;
}

static void english_dates_are_those_of_the_c_library(void **state)
{
    (void)state;
    BL_AUTO(bl_templates) *templates = load_shipped();
    int32_t first = bl_date_of(2026, 1, 1);
    for (int32_t date = first; date < first + 3 * 366; date++) {
        char expected[64];
        int year = 0;
        int month = 0;
        int day = 0;
        bl_date_split(date, &year, &month, &day);
        struct tm tm = {.tm_year = year - 1900,
                        .tm_mon = month - 1,
                        .tm_mday = day,
                        .tm_wday = bl_date_weekday(date) % 7};
        strftime(expected, sizeof expected, "%A %e %B", &tm);
        char *gap = strstr(expected, "  ");
        if (gap) {
            memmove(gap, gap + 1, strlen(gap));
        }
        g_autofree char *told = bl_compose_date(templates, "en", date, true);
        assert_string_equal(told, expected);
    }
}

static void german_dates_are_german_whatever_the_process_speaks(void **state)
{
    (void)state;
    BL_AUTO(bl_templates) *templates = load_shipped();
    static const char *const locales[] = {"C", "C.UTF-8", "en_US.UTF-8", "de_DE.UTF-8"};
    for (guint i = 0; i < G_N_ELEMENTS(locales); i++) {
        setlocale(LC_ALL, locales[i]);
        g_autofree char *march =
            bl_compose_date(templates, "de", bl_date_of(2026, 3, 12), true);
        g_autofree char *short_form =
            bl_compose_date(templates, "de", bl_date_of(2026, 12, 31), false);
        assert_string_equal(march, "Donnerstag, 12. März");
        assert_string_equal(short_form, "31. Dez.");
    }
    setlocale(LC_ALL, "C");
}

static void a_date_in_no_known_language_is_told_in_the_first(void **state)
{
    (void)state;
    BL_AUTO(bl_templates) *templates = load_shipped();
    g_autofree char *unknown = bl_compose_date(templates, "xx", 20000, true);
    g_autofree char *none = bl_compose_date(templates, NULL, 20000, true);
    g_autofree char *german = bl_compose_date(templates, "de", 20000, true);
    assert_string_equal(unknown, german);
    assert_string_equal(none, german);
}

static void a_slip_in_the_words_is_told_with_its_line_and_remedy(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to, *fault;
    } slips[] = {
        {"monday = Monday\n", "",
         "en/words:5: word \"monday\" is missing: add it under [days]"},
        {"monday = Monday",
         "monday =", "en/words:6: the word \"monday\" in [days] is empty: give one"},
        {"monday = Monday", "mondy = Monday",
         "en/words:6: unknown word \"mondy\" in [days]: did you mean \"monday\"?\n"
         "en/words:5: word \"monday\" is missing: add it under [days]"},
        {"[days short]", "[days shrt]",
         "en/words:14: unknown group \"days shrt\": did you mean \"days short\"?"},
        {"long = {weekday} {day} {month}", "long = {weekday} {day} {mnth}",
         "en/words:53: unknown name \"{mnth}\": did you mean \"{month}\"?"},
        {"long = {weekday} {day} {month}", "long = {weekday} {day}",
         "en/words:53: \"{weekday} {day}\" lacks \"{month}\": a reader could not tell the date"},
        {"long = {weekday} {day} {month}", "long = {weekday {day} {month}",
         "en/words:53: a brace in \"{weekday {day} {month}\" has no partner: write names as "
         "\"{day}\""},
        {"now = about now", "now = about {to}",
         "en/words:74: unknown name \"{to}\": no name is known here"},
        {"[short wash]\n", "[short wash]\nthree buckets = Three.\n",
         "en/words:147: unknown word \"three buckets\" in [short wash]: did you mean \"two "
         "buckets\"?"},
        {"am = am\n", "am am\n", "en/words:63: \"am am\" is not a word: write \"key = text\""},
        {"am = am", "am = a\\qm",
         "en/words:63: the word \"am\" in [times] cannot be read: write a backslash as \"\\\\\""},
        {"am = am", "am = a\\nm", NULL},
    };
    for (guint i = 0; i < G_N_ELEMENTS(slips); i++) {
        struct template_room room;
        template_room_open(&room, EN);
        template_room_replace(&room, "en/words", slips[i].from, slips[i].to);
        g_autofree char *faults = template_room_faults(&room);
        template_room_close(&room);
        if (!slips[i].fault) {
            assert_true(g_str_has_prefix(faults, "en/words:63: "));
        } else if (strstr(slips[i].to, "[days shrt]")) {
            assert_true(g_str_has_prefix(faults, slips[i].fault));
            assert_non_null(strstr(faults, "word \"sunday\" is missing: add it under [days "
                                           "short]"));
        } else {
            assert_string_equal(faults, slips[i].fault);
        }
    }
}

static void an_owner_may_add_words_for_his_own_products(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    template_room_replace(&room, "en/words", "[cautions]\n",
                          "[cautions]\nno steam = No steam cleaner.\n");
    template_room_replace(&room, "en/words", "[wash]\n", "[wash]\nfoam = Foam it first.\n");
    template_room_replace(&room, "en/words", "[cares]\n",
                          "[cares]\nhood wax = Wax the hood.\n");
    g_autofree char *faults = template_room_faults(&room);
    template_room_close(&room);
    assert_string_equal(faults, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(english_dates_are_those_of_the_c_library),
        cmocka_unit_test(german_dates_are_german_whatever_the_process_speaks),
        cmocka_unit_test(a_date_in_no_known_language_is_told_in_the_first),
        cmocka_unit_test(a_slip_in_the_words_is_told_with_its_line_and_remedy),
        cmocka_unit_test(an_owner_may_add_words_for_his_own_products),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
