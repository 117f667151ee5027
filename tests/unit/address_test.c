/* Telephone numbers and mail addresses as they are typed. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/address.h"
#include "beadline/error.h"
#include "beadline/text.h"

enum {
    GB,
    IT,
    SM,
    US,
    HU,
    RU,
    LT_OLD,
    LT,
    ES,
    PL,
    DK,
    GR,
    MX,
    BR,
    DE,
    FR,
    CH,
    SE,
    UA,
    AU,
    NZ,
    JP
};

static const struct bl_phone_home homes[] = {
    [GB] = {"44", "0", false, "00"},      [IT] = {"39", "0", true, "00"},
    [SM] = {"378", "", true, "00"},       [US] = {"1", "1", false, "011"},
    [HU] = {"36", "06", false, "00"},     [RU] = {"7", "8", false, "810"},
    [LT_OLD] = {"370", "8", false, "00"}, [LT] = {"370", "0", false, "00"},
    [ES] = {"34", "", false, "00"},       [PL] = {"48", "", false, "00"},
    [DK] = {"45", "", false, "00"},       [GR] = {"30", "", false, "00"},
    [MX] = {"52", "", false, "00"},       [BR] = {"55", "0", false, "00"},
    [DE] = {"49", "0", false, "00"},      [FR] = {"33", "0", false, "00"},
    [CH] = {"41", "0", false, "00"},      [SE] = {"46", "0", false, "00"},
    [UA] = {"380", "0", false, "00"},     [AU] = {"61", "0", false, "0011"},
    [NZ] = {"64", "0", false, "00"},      [JP] = {"81", "0", false, "010"},
};

/* Expected values: three published libraries (python3-phonenumbers 8.12.57, libphonenumber-js
 * 1.13.16, google-libphonenumber 3.2.47) gave one and the same for each of these. */
static const struct {
    int home;
    const char *typed;
    const char *e164;
} published[] = {
    {GB, "07700 900123", "+447700900123"},        {GB, "020 7946 0018", "+442079460018"},
    {GB, "+44 (0)20 7946 0018", "+442079460018"}, {GB, "0044 7700 900123", "+447700900123"},
    {IT, "06 12345678", "+390612345678"},         {IT, "347 1234567", "+393471234567"},
    {SM, "0549 886377", "+3780549886377"},        {US, "(201) 555-0123", "+12015550123"},
    {US, "1 201 555 0123", "+12015550123"},       {US, "011 36 20 123 4567", "+36201234567"},
    {HU, "06 20 123 4567", "+36201234567"},       {HU, "20 123 4567", "+36201234567"},
    {HU, "0036 20 123 4567", "+36201234567"},     {RU, "8 912 345-67-89", "+79123456789"},
    {LT_OLD, "8 612 34567", "+37061234567"},      {LT, "0 612 34567", "+37061234567"},
    {ES, "612 34 56 78", "+34612345678"},         {PL, "512 345 678", "+48512345678"},
    {DK, "32 12 34 56", "+4532123456"},           {GR, "691 234 5678", "+306912345678"},
    {MX, "55 1234 5678", "+525512345678"},        {BR, "(11) 96123-4567", "+5511961234567"},
    {DE, "01512 3456789", "+4915123456789"},      {FR, "06 12 34 56 78", "+33612345678"},
    {CH, "078 123 45 67", "+41781234567"},        {SE, "070 123 45 67", "+46701234567"},
    {UA, "050 123 4567", "+380501234567"},        {AU, "0412 345 678", "+61412345678"},
    {NZ, "021 123 4567", "+64211234567"},         {JP, "090-1234-5678", "+819012345678"},
};

static void a_number_typed_at_home_becomes_the_published_e164_form(void **state)
{
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(published); i++) {
        g_autoptr(GError) error = NULL;
        g_autofree char *number =
            bl_phone_e164(published[i].typed, &homes[published[i].home], &error);
        assert_null(error);
        assert_string_equal(number, published[i].e164);
        g_autofree char *again = bl_phone_e164(number, &homes[published[i].home], NULL);
        assert_string_equal(again, number);
    }
}

static void marks_between_digits_do_not_change_a_number(void **state)
{
    (void)state;
    static const char *const typed[] = {
        "07700900123",
        " 07700 900 123 ",
        "07700.900.123",
        "07700/900-123",
        "(07700) 900123",
        "+44 7700 900123",
        "(+44) 7700 900123",
        "+44 (0)7700 900123",
        "+44 (0) 7700 900123",
        "+44 07700 900123",
        "0044 (0)7700 900123",
        "(0)7700 900123",
        "7700 900123",
        "07700\xc2\xa0"
        "900123",
        "07700\xe2\x80\x91"
        "900123",
        "07700 \xe2\x80\x93 900123",
    };
    for (size_t i = 0; i < G_N_ELEMENTS(typed); i++) {
        g_autoptr(GError) error = NULL;
        g_autofree char *number = bl_phone_e164(typed[i], &homes[GB], &error);
        assert_null(error);
        assert_string_equal(number, "+447700900123");
    }
}

static void the_zero_in_brackets_stays_where_italy_dials_it(void **state)
{
    (void)state;
    static const int from[] = {GB, IT, US};
    for (size_t i = 0; i < G_N_ELEMENTS(from); i++) {
        g_autofree char *rome = bl_phone_e164("+39 (0)6 12345678", &homes[from[i]], NULL);
        assert_string_equal(rome, "+390612345678");
        g_autofree char *london = bl_phone_e164("+44 (0)20 7946 0018", &homes[from[i]], NULL);
        assert_string_equal(london, "+442079460018");
    }
}

static void a_trunk_digit_that_may_begin_a_number_is_told_by_length(void **state)
{
    (void)state;
    static const char *const typed[] = {"812 345 67 89", "8 812 345 67 89", "+7 812 345 67 89"};
    for (size_t i = 0; i < G_N_ELEMENTS(typed); i++) {
        g_autofree char *number = bl_phone_e164(typed[i], &homes[RU], NULL);
        assert_string_equal(number, "+78123456789");
    }
}

static void what_is_no_number_is_refused_with_its_reason(void **state)
{
    (void)state;
    static const struct {
        const char *typed;
        const char *reason;
    } cases[] = {
        {"", "no whole telephone number"},
        {"0770", "no whole telephone number"},
        {"+", "no whole telephone number"},
        {"()", "no whole telephone number"},
        {"+1234567890123456", "no whole telephone number"},
        {"07700 900123 ext 4", "letter or an extension"},
        {"07700 900123x4", "letter or an extension"},
        {"07700 900123#4", "letter or an extension"},
        {"07700 900123,4", "letter or an extension"},
        {"07700 900123;ext=4", "letter or an extension"},
        {"call 07700 900123", "letter or an extension"},
        {"07700 900123\n", "no part of a telephone number"},
        {"07700 900123\r\nBcc", "no part of a telephone number"},
        {"07700\t900123", "no part of a telephone number"},
        {"07700\x01"
         "900123",
         "no part of a telephone number"},
        {"\xe2\x80\xaa+447700900123", "no part of a telephone number"},
        {"٠٧٧٠٠٩٠٠١٢٣", "no part of a telephone number"}, /* digits of another script */
        {"07700 \xff 900123", "not valid UTF-8"},
        {"+44 7700 +900123", "a + inside"},
        {"++447700900123", "a + inside"},
        {"+0 7700 900123", "a 0 where the country's code"},
        {"+(0)44 7700 900123", "a 0 where the country's code"},
        {"00 0 7700 900123", "a 0 where the country's code"},
        {"447700900123", "may begin with the country's code"},
        {"44 7700 900123", "may begin with the country's code"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autoptr(GError) error = NULL;
        assert_null(bl_phone_e164(cases[i].typed, &homes[GB], &error));
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        assert_non_null(strstr(error->message, cases[i].reason));
        g_autofree char *printable = bl_text_printable(error->message);
        assert_string_equal(error->message, printable);
    }
}

static void without_a_home_only_whole_numbers_are_taken(void **state)
{
    (void)state;
    const struct bl_phone_home nowhere[] = {{"", "", false, ""}, {NULL, NULL, false, NULL}};
    for (size_t i = 0; i < G_N_ELEMENTS(nowhere); i++) {
        g_autofree char *number = bl_phone_e164("+44 7700 900123", &nowhere[i], NULL);
        assert_string_equal(number, "+447700900123");
        g_autoptr(GError) error = NULL;
        assert_null(bl_phone_e164("07700 900123", &nowhere[i], &error));
        assert_non_null(strstr(error->message, "no country's code"));
    }
}

static void one_mailbox_by_the_grammar_is_taken(void **state)
{
    (void)state;
    /* The longest local part (64), label (63) and the shortest of each; RFC 5321 4.1.2. */
    static const char *const good[] = {
        "anna@example.com",
        "a@b.test",
        "anna.example+car@mail.example.co.test",
        "!#$%&'*+-/=?^_`{|}~@example.com",
        "0@0.example",
        "anna-@example.com",
        "postmaster@localhost",
        "anna@xn--bcher-kva.example",
        "abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz012345678901@example.com",
        "a@abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz01234567890.test",
    };
    for (size_t i = 0; i < G_N_ELEMENTS(good); i++) {
        g_autoptr(GError) error = NULL;
        bool taken = bl_mail_check(good[i], &error);
        assert_null(error);
        assert_true(taken);
    }
}

static const char *const bad_mail[] = {
    "",
    "@",
    "anna",
    "anna@",
    "@example.com",
    "anna@example",
    "anna@.com",
    "anna@example.",
    "anna@example.com.",
    "anna@example..com",
    "anna@-example.com",
    "anna@example-.com",
    "anna@exa_mple.com",
    "anna@192.0.2.1",
    "anna@[192.0.2.1]",
    "anna@[IPv6:2001:db8::1]",
    ".anna@example.com",
    "anna.@example.com",
    "an..na@example.com",
    "-anna@example.com",
    "-oQ/tmp@example.com",
    "anna@@example.com",
    "anna@b@example.com",
    "\"anna\"@example.com",
    "\"a b\"@example.com",
    "anna example@example.com",
    " anna@example.com",
    "anna@example.com ",
    "<anna@example.com>",
    "Anna <anna@example.com>",
    "anna@example.com>",
    "<>",
    "a@example.com,b@example.com",
    "a@example.com;b@example.com",
    "a@example.com b@example.com",
    "anna(x)@example.com",
    "anna\\@example.com",
    "anna:x@example.com",
    "a[b]@example.com",
    "anna@example.com\r\nRCPT TO:<x@example.com>",
    "anna@example.com\n",
    "anna@example.com\r",
    "an\nna@example.com",
    "an\rna@example.com",
    "an\tna@example.com",
    "an\x01na@example.com",
    "an\x7fna@example.com",
    "anna@exam\x01ple.com",
    "anna@example.com\x0b",
    "zoë@example.com",
    "anna@bücher.example",
    "anna\xff@example.com",
    "an\xe2\x80\xa8na@example.com",
    "anna@example.com\xe2\x80\xae",
    "anna@ｅxample.com",
    "abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz0123456789012@example.com", /* 65 */
    "a@abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz012345678901.test",       /* 64 */
};

static void what_is_not_one_mailbox_is_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(bad_mail); i++) {
        g_autoptr(GError) error = NULL;
        if (bl_mail_check(bad_mail[i], &error)) {
            fail_msg("taken: %s", bad_mail[i]);
        }
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        g_autofree char *printable = bl_text_printable(error->message);
        assert_string_equal(error->message, printable);
        assert_null(bl_mail_normal(bad_mail[i], NULL));
    }
}

static void every_byte_that_is_no_atom_spoils_an_address_wherever_it_stands(void **state)
{
    (void)state;
    static const char atext[] = "!#$%&'*+-/=?^_`{|}~"; /* RFC 5322 section 3.2.3 */
    for (int byte = 1; byte < 256; byte++) {
        bool atom = g_ascii_isalnum((char)byte) || strchr(atext, byte);
        g_autofree char *local = g_strdup_printf("an%cna@example.com", byte);
        assert_int_equal(bl_mail_check(local, NULL), atom || byte == '.');
        bool label = g_ascii_isalnum((char)byte) || byte == '-' || byte == '.';
        g_autofree char *domain = g_strdup_printf("anna@exa%cmple.com", byte);
        assert_int_equal(bl_mail_check(domain, NULL), label);
        g_autofree char *behind = g_strdup_printf("anna@example.com%c", byte);
        assert_int_equal(bl_mail_check(behind, NULL), g_ascii_isalnum((char)byte));
        g_autofree char *front = g_strdup_printf("%canna@example.com", byte);
        assert_int_equal(bl_mail_check(front, NULL), atom && byte != '-');
    }
}

/* An address of that many octets: labels of 39 letters, the last ones shorter, then ".test". */
static char *address_of(int local, int total)
{
    GString *address = g_string_new(NULL);
    for (int i = 0; i < local; i++) {
        g_string_append_c(address, 'a');
    }
    g_string_append_c(address, '@');
    for (int i = local + 1; i < total - 5; i++) {
        bool dot = (total - i) % 40 == 0;
        g_string_append_c(address, dot ? '.' : 'b');
    }
    g_string_append(address, ".test");
    return g_string_free(address, FALSE);
}

static void an_address_longer_than_the_protocol_takes_is_refused(void **state)
{
    (void)state;
    /* RFC 5321 4.5.3.1: a path of 256 octets with its brackets, so 254 between them. */
    for (int local = 1; local <= 64; local += 9) {
        for (int total = 190; total <= 300; total++) {
            g_autofree char *address = address_of(local, total);
            bool dot_first = address[local + 1] == '.'; /* an empty label */
            assert_int_equal(bl_mail_check(address, NULL), total <= 254 && !dot_first);
        }
    }
}

static void domains_compare_without_case_and_local_parts_with_it(void **state)
{
    (void)state;
    g_autofree char *normal = bl_mail_normal("Anna.Example@Mail.EXAMPLE.com", NULL);
    assert_string_equal(normal, "Anna.Example@mail.example.com");
    g_autofree char *again = bl_mail_normal(normal, NULL);
    assert_string_equal(again, normal);
    g_autoptr(GError) error = NULL;
    assert_null(bl_mail_normal("zoë@example.com", &error));
    assert_non_null(strstr(error->message, "a letter outside a-z"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_number_typed_at_home_becomes_the_published_e164_form),
        cmocka_unit_test(marks_between_digits_do_not_change_a_number),
        cmocka_unit_test(the_zero_in_brackets_stays_where_italy_dials_it),
        cmocka_unit_test(a_trunk_digit_that_may_begin_a_number_is_told_by_length),
        cmocka_unit_test(what_is_no_number_is_refused_with_its_reason),
        cmocka_unit_test(without_a_home_only_whole_numbers_are_taken),
        cmocka_unit_test(one_mailbox_by_the_grammar_is_taken),
        cmocka_unit_test(what_is_not_one_mailbox_is_refused),
        cmocka_unit_test(every_byte_that_is_no_atom_spoils_an_address_wherever_it_stands),
        cmocka_unit_test(an_address_longer_than_the_protocol_takes_is_refused),
        cmocka_unit_test(domains_compare_without_case_and_local_parts_with_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
