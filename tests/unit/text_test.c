/* What text may enter, and that nothing harmful leaves. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/clock.h"
#include "beadline/error.h"
#include "beadline/text.h"

/* Bytes that must never reach a header, a log line or a terminal, each inside a name. */
static const char *const hostile[] = {
    "Anna\r\nBcc: x@example.com",
    "Anna\nX",
    "Anna\rX",
    "Anna\tX",
    "An\x01na",
    "An\x1b[2Jna",
    "An\x7fna",
    "An\xc2\x85na",
    "An\xc2\x9bna", /* C1: next line, CSI */
    "An\xe2\x80\xa8na",
    "An\xe2\x80\xa9na", /* U+2028, U+2029 */
    "An\xe2\x80\xaena",
    "An\xe2\x80\xaana",
    "An\xe2\x81\xa6na",
    "An\xe2\x81\xa9na", /* bidi */
    "\xef\xbb\xbf"
    "Anna", /* U+FEFF */
    "An\xff"
    "na",
    "An\xc0\x8ana",
    "An\xed\xa0\x80na",
    "An\xe2\x80", /* not UTF-8 */
};

static void hostile_bytes_never_enter_a_name_or_a_note(void **state)
{
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(hostile); i++) {
        g_autoptr(GError) error = NULL;
        assert_false(bl_text_check(hostile[i], "name", BL_TEXT_MAX_NAME, &error));
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        g_autofree char *printable = bl_text_printable(error->message);
        assert_string_equal(error->message, printable);

        bool note = bl_text_check_note(hostile[i], "note", NULL);
        assert_int_equal(note, strcmp(hostile[i], "Anna\nX") == 0);
    }
}

static void names_of_all_peoples_enter(void **state)
{
    (void)state;
    static const char *const names[] = {
        "Anna Example", "Zoë O'Neill-Ōta", "Kovácsné Őry Ágnes",    "李小龍",
        "محمد",         "Ólafur 🚐",        "عــلي \xe2\x80\x8f(x)", "A",
    };
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++) {
        assert_true(bl_text_check(names[i], "name", BL_TEXT_MAX_NAME, NULL));
    }
}

static void nothing_but_space_is_no_name(void **state)
{
    (void)state;
    static const char *const blanks[] = {"", "   ", "\xc2\xa0", "\xe3\x80\x80 ", NULL};
    for (int i = 0; blanks[i]; i++) {
        g_autoptr(GError) error = NULL;
        assert_false(bl_text_check(blanks[i], "plate", BL_TEXT_MAX_NAME, &error));
        assert_string_equal(error->message, "the plate is empty: give one");
        assert_true(bl_text_check_note(blanks[i], "note", NULL));
    }
    assert_false(bl_text_check(NULL, "name", BL_TEXT_MAX_NAME, NULL));
    assert_true(bl_text_check_note(NULL, "note", NULL));
}

static void length_is_counted_in_characters_not_bytes(void **state)
{
    (void)state;
    g_autoptr(GString) name = g_string_new(NULL);
    for (int i = 0; i < BL_TEXT_MAX_NAME; i++) {
        g_string_append(name, "ő");
    }
    assert_true(bl_text_check(name->str, "name", BL_TEXT_MAX_NAME, NULL));
    g_string_append_c(name, 'x');
    g_autoptr(GError) error = NULL;
    assert_false(bl_text_check(name->str, "name", BL_TEXT_MAX_NAME, &error));
    assert_non_null(strstr(error->message, "201 characters"));

    g_autofree char *note = g_strnfill(BL_TEXT_MAX_NOTE + 1, 'x');
    assert_false(bl_text_check_note(note, "note", NULL));
    assert_true(bl_text_check_note(note + 1, "note", NULL));
}

static void a_terminal_gives_wide_letters_two_columns_and_marks_none(void **state)
{
    (void)state;
    /* Widths by Unicode Standard Annex 11 (W and F are two columns, Mn and Me none). */
    assert_int_equal(bl_text_width(""), 0);
    assert_int_equal(bl_text_width("Anna"), 4);
    assert_int_equal(bl_text_width("Őry"), 3);
    assert_int_equal(bl_text_width("e\xcc\x81"), 1); /* e and a combining acute */
    assert_int_equal(bl_text_width("李小龍"), 6);
    assert_int_equal(bl_text_width("ＡＢ"), 4); /* full-width letters */
    assert_int_equal(bl_text_width("🚐x"), 3);
    assert_int_equal(bl_text_width("a\xff\xfe"
                                   "b"),
                     4); /* an invalid byte is one column */
    assert_int_equal(bl_text_width("\xe2\x82"), 2);
}

static void a_slip_of_the_finger_finds_the_name_that_was_meant(void **state)
{
    (void)state;
    static const char *const names[] = {"calling_code", "closed", "language", "lead_days",
                                        "name",         "zone",   "Őr",       NULL};
    assert_string_equal(bl_text_nearest("langauge", names), "language");
    assert_string_equal(bl_text_nearest("callingcode", names), "calling_code");
    assert_string_equal(bl_text_nearest("LEAD_DAYS", names), "lead_days");
    assert_string_equal(bl_text_nearest("leaddays", names), "lead_days");
    assert_string_equal(bl_text_nearest("nmae", names), "name");
    assert_string_equal(bl_text_nearest("zone", names), "zone");
    assert_string_equal(bl_text_nearest("őr", names), "Őr");
    assert_null(bl_text_nearest("temperature", names));
    assert_null(bl_text_nearest("xy", names));
    assert_null(bl_text_nearest("", names));
    assert_null(bl_text_nearest("\xff", names));
    g_autofree char *endless = g_strnfill(100000, 'z');
    assert_null(bl_text_nearest(endless, names));
}

static void a_log_line_holds_no_control_byte_whatever_came_in(void **state)
{
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(hostile); i++) {
        g_autofree char *safe = bl_text_printable(hostile[i]);
        assert_non_null(strstr(safe, "\\x"));
        assert_true(bl_text_check(safe, "line", 1000, NULL));
    }
    g_autofree char *forged = bl_text_printable("ok\n<3>\x1b[2J\xe2\x80\xae\xff");
    assert_string_equal(forged, "ok\\x0a<3>\\x1b[2J\\xe2\\x80\\xae\\xff");
    g_autofree char *kept = bl_text_printable("Zoë 李 \\ \"🚐\"");
    assert_string_equal(kept, "Zoë 李 \\ \"🚐\"");
}

static void random_bytes_come_out_printable_and_as_valid_json(void **state)
{
    (void)state;
    uint64_t seed = bl_chance_machine().next(NULL);
    const char *given = g_getenv("BL_SEED");
    seed = given ? g_ascii_strtoull(given, NULL, 10) : seed;
    print_message("seed %" G_GUINT64_FORMAT " (BL_SEED)\n", seed);
    struct bl_chance chance = bl_chance_seeded(&seed);
    for (int round = 0; round < 20000; round++) {
        char bytes[24] = {0};
        size_t length = chance.next(chance.context) % (sizeof bytes - 1);
        for (size_t i = 0; i < length; i++) {
            bytes[i] = (char)(1 + chance.next(chance.context) % 255);
        }
        g_autofree char *safe = bl_text_printable(bytes);
        g_autofree char *again = bl_text_printable(safe);
        assert_string_equal(safe, again);
        assert_true(bl_text_check_note(safe, "line", NULL));
        g_autofree char *json = bl_text_json(bytes);
        assert_true(g_utf8_validate(json, -1, NULL));
        assert_int_equal(strcspn(json, "\n\r\t\b\f\x1b\x7f"), strlen(json));
        g_autofree char *folded = bl_text_fold(bytes);
        g_autofree char *twice = bl_text_fold(folded);
        assert_string_equal(folded, twice);
        g_autofree char *bare = bl_text_search(bytes);
        g_autofree char *bare_twice = bl_text_search(bare);
        assert_string_equal(bare, bare_twice);
        g_autofree char *plate = bl_text_plate(bytes);
        g_autofree char *plate_twice = bl_text_plate(plate);
        assert_string_equal(plate, plate_twice);
        assert_in_range(bl_text_width(bytes), 0, 2 * strlen(bytes));
    }
}

static void json_strings_escape_what_rfc_8259_names(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"plain Zoë", "plain Zoë"},
        {"a\"b\\c", "a\\\"b\\\\c"},
        {"\b\f\n\r\t", "\\b\\f\\n\\r\\t"},
        {"\x01\x1f\x7f", "\\u0001\\u001f\\u007f"},
        {"\xe2\x80\xa8", "\\u2028"},
        {"a\xff"
         "b",
         "a\xef\xbf\xbd"
         "b"},
        {"/", "/"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *json = bl_text_json(cases[i][0]);
        assert_string_equal(json, cases[i][1]);
    }
}

static void an_error_repeats_at_most_sixty_characters(void **state)
{
    (void)state;
    g_autofree char *whole = bl_text_shown("07700 900123\n");
    assert_string_equal(whole, "07700 900123\\x0a");
    g_autofree char *sixty = g_strnfill(60, 'x');
    g_autofree char *same = bl_text_shown(sixty);
    assert_string_equal(same, sixty);
    g_autoptr(GString) wide = g_string_new(NULL);
    for (int i = 0; i < 61; i++) {
        g_string_append(wide, "李");
    }
    g_autofree char *cut = bl_text_shown(wide->str);
    assert_int_equal(g_utf8_strlen(cut, -1), 60);
    assert_true(g_str_has_suffix(cut, "李..."));
}

static void a_masked_address_reaches_nobody(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"+447700900123", "+44...23"}, {"anna.example@example.com", "a...@..."},
        {"+1234567", "+12...67"},      {"+123456", "..."},
        {"07700900123", "..."},        {"@example.com", "...@..."},
        {"\n@example.com", "...@..."}, {"", "..."},
        {"+44770090012\n", "..."},     {"Anna", "..."},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *masked = bl_text_mask(cases[i][0]);
        assert_string_equal(masked, cases[i][1]);
    }
}

static void names_that_sound_alike_to_a_person_compare_equal(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"Anna  Example", "anna example"},
        {" Anna-Example ", "anna example"},
        {"ŐRY", "őry"},
        {"O\xcc\x8bry", "őry"}, /* o, combining double acute */
        {"Straße", "strasse"},
        {"ΟΔΟΣ", "οδοσ"},
        {"Anna\xc2\xa0\xe2\x80\x91 Bee", "anna bee"},
        {"--", ""},
        {"Zoe", "zoe"},
        {"I", "i"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *folded = bl_text_fold(cases[i][0]);
        assert_string_equal(folded, cases[i][1]);
    }
    g_autofree char *accented = bl_text_fold("Zoë");
    assert_string_not_equal(accented, "zoe");
}

static void a_name_is_searched_by_its_plain_letters(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"Seán", "sean"},
        {"Jürgen", "jurgen"},
        {"Ju\xcc\x88rgen", "jurgen"}, /* the same, taken apart */
        {"Émile", "emile"},
        {"O'Brien", "obrien"},
        {"O\u2019Brien", "obrien"},
        {"J. R. Straße", "j r strasse"},
        {"Straẞe", "strasse"},
        {"Ångström-Smith", "angstrom smith"},
        {"Łukasz Sørensen", "lukasz sorensen"},
        {"Anna - ' - Bee", "anna bee"},
        {"' .", ""},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *bare = bl_text_search(cases[i][0]);
        assert_string_equal(bare, cases[i][1]);
    }
}

static void every_letter_folds_to_what_its_other_case_folds_to(void **state)
{
    (void)state;
    for (gunichar c = 1; c <= 0x10ffff; c++) {
        if (!g_unichar_validate(c)) {
            continue;
        }
        char letter[8] = {0};
        char lower[8] = {0};
        g_unichar_to_utf8(c, letter);
        g_unichar_to_utf8(g_unichar_tolower(c), lower);
        g_autofree char *once = bl_text_fold(letter);
        g_autofree char *twice = bl_text_fold(once);
        assert_string_equal(once, twice);
        g_autofree char *other = bl_text_fold(lower);
        if (c != 0x130) { /* capital dotted I: folds to i and a dot, lowers to a bare i */
            assert_string_equal(once, other);
        }
    }
}

static void a_plate_is_the_same_however_it_is_spaced(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"ab12 cde", "AB12CDE"}, {"AB-12-CDE", "AB12CDE"}, {" ab.12.cde ", "AB12CDE"},
        {"ő 123", "Ő123"},       {"ＡＢ１２", "AB12"},     {"--", ""},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *plate = bl_text_plate(cases[i][0]);
        assert_string_equal(plate, cases[i][1]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hostile_bytes_never_enter_a_name_or_a_note),
        cmocka_unit_test(names_of_all_peoples_enter),
        cmocka_unit_test(nothing_but_space_is_no_name),
        cmocka_unit_test(length_is_counted_in_characters_not_bytes),
        cmocka_unit_test(a_terminal_gives_wide_letters_two_columns_and_marks_none),
        cmocka_unit_test(a_slip_of_the_finger_finds_the_name_that_was_meant),
        cmocka_unit_test(a_log_line_holds_no_control_byte_whatever_came_in),
        cmocka_unit_test(random_bytes_come_out_printable_and_as_valid_json),
        cmocka_unit_test(json_strings_escape_what_rfc_8259_names),
        cmocka_unit_test(an_error_repeats_at_most_sixty_characters),
        cmocka_unit_test(a_masked_address_reaches_nobody),
        cmocka_unit_test(names_that_sound_alike_to_a_person_compare_equal),
        cmocka_unit_test(a_name_is_searched_by_its_plain_letters),
        cmocka_unit_test(every_letter_folds_to_what_its_other_case_folds_to),
        cmocka_unit_test(a_plate_is_the_same_however_it_is_spaced),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
