/*
 * SMS sizes at the published limits. Sources: 3GPP TS 23.038 6.2.1 (alphabet, extension) and
 * 6.2.3 (UCS-2), TS 23.040 9.2.3.24.1 (joined messages with an 8-bit reference: 153 septets or
 * 67 units a part, an escape or a character never split between parts).
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <string.h>

#include "beadline/sms.h"

struct run {
    int times;
    const char *what;
};

struct size_case {
    struct run runs[3];
    struct bl_sms_size size;
};

static char *built(const struct run *runs)
{
    GString *text = g_string_new(NULL);
    for (int i = 0; i < 3 && runs[i].what; i++) {
        for (int k = 0; k < runs[i].times; k++) {
            g_string_append(text, runs[i].what);
        }
    }
    return g_string_free(text, FALSE);
}

static void assert_sizes(const struct size_case *cases, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        g_autofree char *text = built(cases[i].runs);
        struct bl_sms_size size = bl_sms_measure(text);
        assert_int_equal(size.ucs2, cases[i].size.ucs2);
        assert_int_equal(size.units, cases[i].size.units);
        assert_int_equal(size.parts, cases[i].size.parts);
    }
}

static void a_text_of_the_alphabet_holds_160_septets_alone_and_153_in_each_part(void **state)
{
    static const struct size_case cases[] = {
        {{{0, ""}}, {false, 0, 0}},      {{{1, "a"}}, {false, 1, 1}},
        {{{160, "a"}}, {false, 160, 1}}, {{{161, "a"}}, {false, 161, 2}},
        {{{306, "a"}}, {false, 306, 2}}, {{{307, "a"}}, {false, 307, 3}},
        {{{459, "a"}}, {false, 459, 3}}, {{{460, "a"}}, {false, 460, 4}},
        {{{160, "ñ"}}, {false, 160, 1}},
    };
    (void)state;
    assert_sizes(cases, G_N_ELEMENTS(cases));
}

static void a_text_beyond_the_alphabet_holds_70_units_alone_and_67_in_each_part(void **state)
{
    static const struct size_case cases[] = {
        {{{1, "ő"}}, {true, 1, 1}},     {{{70, "ő"}}, {true, 70, 1}},
        {{{71, "ő"}}, {true, 71, 2}},   {{{134, "ő"}}, {true, 134, 2}},
        {{{135, "ő"}}, {true, 135, 3}}, {{{69, "a"}, {1, "ő"}}, {true, 70, 1}},
        {{{35, "😀"}}, {true, 70, 1}},   {{{36, "😀"}}, {true, 72, 2}},
    };
    (void)state;
    assert_sizes(cases, G_N_ELEMENTS(cases));
}

static void an_escape_is_never_split_between_two_parts(void **state)
{
    static const struct size_case cases[] = {
        {{{1, "^{}[]~|\\"}}, {false, 16, 1}},
        {{{1, "\f"}}, {false, 2, 1}},
        {{{159, "a"}, {1, "€"}}, {false, 161, 2}},
        {{{80, "€"}}, {false, 160, 1}},
        {{{81, "€"}}, {false, 162, 2}},
        {{{152, "€"}}, {false, 304, 2}},
        {{{153, "€"}}, {false, 306, 3}}, /* 153 is odd: 76 to a part */
        {{{152, "a"}, {1, "^"}, {151, "a"}}, {false, 305, 2}},
        {{{152, "a"}, {1, "€"}, {152, "a"}}, {false, 306, 3}},
    };
    (void)state;
    assert_sizes(cases, G_N_ELEMENTS(cases));
}

static void a_surrogate_pair_is_never_split_between_two_parts(void **state)
{
    static const struct size_case cases[] = {
        {{{66, "ő"}, {1, "😀"}, {65, "ő"}}, {true, 133, 2}},
        {{{66, "ő"}, {1, "😀"}, {66, "ő"}}, {true, 134, 3}},
        {{{67, "ő"}, {1, "😀"}, {65, "ő"}}, {true, 134, 2}},
    };
    (void)state;
    assert_sizes(cases, G_N_ELEMENTS(cases));
}

static void letters_that_only_look_like_the_alphabets_are_outside_it(void **state)
{
    static const char *const inside[] = {"Ç", "Δ",  "Ω",  "Ξ", "à", "ß",
                                         "É", "\n", "\r", "_", "@"};
    static const char *const outside[] = {"ç", "Α", "Β", "Ε", "`", "´", "\t",    "\u00a0",
                                          "“", "’", "–", "…", "á", "ű", "\u2126"};
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(inside); i++) {
        assert_false(bl_sms_measure(inside[i]).ucs2);
    }
    for (size_t i = 0; i < G_N_ELEMENTS(outside); i++) {
        assert_true(bl_sms_measure(outside[i]).ucs2);
    }
}

static void broken_utf8_is_measured_and_not_trusted(void **state)
{
    (void)state;
    struct bl_sms_size size = bl_sms_measure("a\xff\xfe");
    assert_true(size.ucs2);
    assert_int_equal(size.units, 3);
    g_autofree char *plain = bl_sms_plain("a\xffz");
    assert_string_equal(plain, "a\uFFFDz");
}

static void typography_becomes_plain_and_one_part_stays_one_part(void **state)
{
    static const struct {
        const char *typed, *plain;
    } cases[] = {
        {"“Don’t wash” – it’s curing…", "\"Don't wash\" - it's curing..."},
        {"• foam • rinse", "- foam - rinse"},
        {"9\u202f–\u202f12\u00a0°C", "9 - 12 °C"},
        {"«à»‹b›`c´", "\"à\"'b''c'"},
        {"zero\u200bwidth\u2060soft\u00ad\ufeff", "zerowidthsoft"},
        {"tab\there", "tab here"},
        {"naïve Ελλάδα 車 😀 çá €", "naïve Ελλάδα 車 😀 çá €"},
        {"two\nlines", "two\nlines"},
        {"", ""},
    };
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *plain = bl_sms_plain(cases[i].typed);
        assert_string_equal(plain, cases[i].plain);
        g_autofree char *twice = bl_sms_plain(plain);
        assert_string_equal(twice, plain);
    }
    const char *typed =
        "It’s cured now, so your car may be washed – gently, with two buckets, and "
        "never with a brush. Thank you for your patience, and see you next spring…";
    g_autofree char *plain = bl_sms_plain(typed);
    assert_int_equal(bl_sms_measure(typed).parts, 3);
    assert_int_equal(bl_sms_measure(plain).parts, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_text_of_the_alphabet_holds_160_septets_alone_and_153_in_each_part),
        cmocka_unit_test(a_text_beyond_the_alphabet_holds_70_units_alone_and_67_in_each_part),
        cmocka_unit_test(an_escape_is_never_split_between_two_parts),
        cmocka_unit_test(a_surrogate_pair_is_never_split_between_two_parts),
        cmocka_unit_test(letters_that_only_look_like_the_alphabets_are_outside_it),
        cmocka_unit_test(broken_utf8_is_measured_and_not_trusted),
        cmocka_unit_test(typography_becomes_plain_and_one_part_stays_one_part),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
