/* What the replies of an SMTP transfer prove about a mail. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/send.h"

#define READY "220 mail.example.com\r\n250-hello\r\n250 SIZE 1000000\r\n"
#define GO    READY "250 sender ok\r\n250 recipient ok\r\n354 go on\r\n"

struct row {
    const char *said; /* by the server */
    enum bl_verdict verdict;
    enum bl_failure failure;
    const char *answer; /* NULL: not looked at */
};

static const struct row rows[] = {
    /* nothing was taken before a whole 354 */
    {"", BL_LATER, BL_FAILURE_NETWORK, "gone"},
    {"220 mail", BL_LATER, BL_FAILURE_NETWORK, "gone and: 220 mail"},
    {READY, BL_LATER, BL_FAILURE_NETWORK, "gone after: 250-hello 250 SIZE 1000000"},
    {READY "250 ok\r\n250 ok\r\n354 go", BL_LATER, BL_FAILURE_NETWORK, NULL},
    {READY "250 ok\r\n250 ok\r\n354-go\r\n", BL_LATER, BL_FAILURE_NETWORK, NULL},
    {"421 too busy\r\n", BL_LATER, BL_FAILURE_BUSY, "421 too busy"},
    {READY "421 too busy\r\n", BL_LATER, BL_FAILURE_BUSY, "421 too busy"},
    {READY "451 4.7.1 greylisted\r\n", BL_LATER, BL_FAILURE_BUSY, "451 4.7.1 greylisted"},
    {READY "250 ok\r\n450 mailbox busy\r\n", BL_LATER, BL_FAILURE_BUSY, NULL},
    {READY "250 ok\r\n452 4.3.1 full\r\n", BL_LATER, BL_FAILURE_BUSY, NULL},
    {READY "550 5.7.1 not you\r\n", BL_REFUSED, BL_FAILURE_MESSAGE, "550 5.7.1 not you"},
    {READY "250 ok\r\n550 5.1.1 nobody\r\n", BL_REFUSED, BL_FAILURE_MESSAGE, NULL},
    {READY "250 ok\r\n550-5.1.1 nobody\r\n550 here\r\n", BL_REFUSED, BL_FAILURE_MESSAGE,
     "550-5.1.1 nobody 550 here"},
    {READY "250 ok\r\n550-5.1.1 nobody\r\n", BL_LATER, BL_FAILURE_NETWORK, NULL},
    {READY "250 ok\r\n552 5.3.4 too big\r\n", BL_REFUSED, BL_FAILURE_MESSAGE, NULL},
    {READY "250 ok\r\n250 ok\r\n554 no\r\n", BL_REFUSED, BL_FAILURE_MESSAGE, NULL},
    {READY "250 ok\r\n250 ok\r\n250 what?\r\n", BL_LATER, BL_FAILURE_NETWORK, NULL},
    {READY "502 no EHLO\r\n250 hello then\r\n", BL_LATER, BL_FAILURE_NETWORK, NULL},
    {READY "gibberish\r\n", BL_LATER, BL_FAILURE_NETWORK, NULL},
    /* a login that was refused is never the mail's fault */
    {READY "535 5.7.8 no such login\r\n", BL_LATER, BL_FAILURE_LOGIN,
     "535 5.7.8 no such login"},
    {READY "530 5.7.0 log in first\r\n", BL_LATER, BL_FAILURE_LOGIN, NULL},
    {READY "534 5.7.9 too weak\r\n", BL_LATER, BL_FAILURE_LOGIN, NULL},
    {READY "538 5.7.11 encrypt\r\n", BL_LATER, BL_FAILURE_LOGIN, NULL},
    {READY "535 no\r\n421 too many errors\r\n", BL_LATER, BL_FAILURE_LOGIN, "535 no"},
    {READY "535 no\r\n334 \r\n235 welcome\r\n", BL_LATER, BL_FAILURE_NETWORK, NULL},
    {READY "454 4.7.0 try again\r\n", BL_LATER, BL_FAILURE_BUSY, NULL},
    /* after it a whole line decides */
    {GO "250 taken\r\n", BL_ACCEPTED, BL_FAILURE_NONE, "250 taken"},
    {GO "250\r\n", BL_ACCEPTED, BL_FAILURE_NONE, "250"},
    {GO "251 forwarded\r\n", BL_ACCEPTED, BL_FAILURE_NONE, NULL},
    {GO "250-taken\r\n250 as 4F2\r\n", BL_ACCEPTED, BL_FAILURE_NONE, "250-taken 250 as 4F2"},
    {GO "250 taken\r\n421 bye\r\n", BL_ACCEPTED, BL_FAILURE_NONE, "250 taken"},
    {GO "250 taken\n", BL_ACCEPTED, BL_FAILURE_NONE, NULL},
    {GO "noise\r\n250 taken\r\n", BL_ACCEPTED, BL_FAILURE_NONE, NULL},
    {GO "451 4.3.0 not stored\r\n", BL_LATER, BL_FAILURE_BUSY, NULL},
    {GO "421 shutting down\r\n", BL_LATER, BL_FAILURE_BUSY, NULL},
    {GO "554 5.7.1 spam\r\n", BL_REFUSED, BL_FAILURE_MESSAGE, "554 5.7.1 spam"},
    {GO "535 what?\r\n", BL_REFUSED, BL_FAILURE_MESSAGE, NULL},
    {GO "554 no\r\n250 or yes\r\n", BL_REFUSED, BL_FAILURE_MESSAGE, NULL},
    /* and nothing else does */
    {GO, BL_UNKNOWN, BL_FAILURE_NETWORK, "gone after: 354 go on"},
    {GO "2", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "250", BL_UNKNOWN, BL_FAILURE_NETWORK, "gone after: 354 go on and: 250"},
    {GO "250 taken", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "250 taken\r", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "250-taken\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "250-taken\r\n250", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "354 more\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "150 working\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "thanks\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "2500 taken\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "25O taken\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "999 taken\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO " 250 taken\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
    {GO "\r\n\r\n", BL_UNKNOWN, BL_FAILURE_NETWORK, NULL},
};

/* The verdict on what was said when it arrives in pieces of at most `piece` bytes. */
static struct bl_outcome verdict_on(const char *said, size_t piece)
{
    BL_AUTO(bl_smtp_talk) *talk = bl_smtp_talk_new();
    size_t length = strlen(said);
    for (size_t i = 0; i < length; i += piece) {
        bl_smtp_talk_add(talk, said + i, MIN(piece, length - i));
    }
    struct bl_outcome outcome = {0};
    bl_smtp_verdict(talk, "gone", &outcome);
    return outcome;
}

static void check_row(const struct row *row, size_t piece)
{
    struct bl_outcome outcome = verdict_on(row->said, piece);
    if (outcome.verdict != row->verdict || outcome.failure != row->failure) {
        print_error("after \"%s\" in pieces of %zu\n", row->said, piece);
    }
    assert_int_equal(outcome.verdict, row->verdict);
    assert_int_equal(outcome.failure, row->failure);
    if (row->answer) {
        assert_string_equal(outcome.answer, row->answer);
    }
    assert_false(outcome.opted_out);
    bl_outcome_clear(&outcome);
}

static void test_each_talk_has_its_one_verdict_however_it_is_cut(void **state)
{
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(rows); i++) {
        for (size_t piece = 1; piece <= 7; piece++) {
            check_row(&rows[i], piece);
        }
        check_row(&rows[i], 4096);
    }
}

/* RFC 1047: whatever came before, cutting the talk anywhere after the 354 and before the end of
 * the deciding line leaves nobody who can know; cutting it before leaves a mail not taken. */
static void test_a_talk_that_breaks_off_never_guesses(void **state)
{
    static const char whole[] = GO "250-taken\r\n250 as 4F2\r\n";
    size_t go = strlen(GO);
    (void)state;
    for (size_t length = 0; length < sizeof whole - 1; length++) {
        g_autofree char *part = g_strndup(whole, length);
        struct bl_outcome outcome = verdict_on(part, 4096);
        assert_int_equal(outcome.verdict, length < go ? BL_LATER : BL_UNKNOWN);
        bl_outcome_clear(&outcome);
    }
}

static void test_noise_is_never_taken_for_an_acceptance(void **state)
{
    guint32 seed = g_random_int();
    g_autoptr(GRand) chance = g_rand_new_with_seed(seed);
    (void)state;
    print_message("seed %u\n", seed);
    for (int n = 0; n < 20000; n++) {
        char noise[41] = "";
        int length = g_rand_int_range(chance, 0, 40);
        for (int i = 0; i < length; i++) {
            /* Much of what replies are made of, but no 2 to begin an acceptance with. */
            noise[i] = "013456789 -\r\n\x01\xff"[g_rand_int_range(chance, 0, 15)];
        }
        g_autofree char *said = g_strconcat(GO, noise, NULL);
        struct bl_outcome outcome = verdict_on(said, 4096);
        assert_int_not_equal(outcome.verdict, BL_ACCEPTED);
        assert_true(g_utf8_validate(outcome.answer, -1, NULL));
        bl_outcome_clear(&outcome);
    }
}

static void test_an_answer_is_kept_as_one_short_printable_line(void **state)
{
    g_autofree char *long_line = g_strnfill(3000, 'x');
    g_autofree char *said =
        g_strconcat(GO "554 \x1b[2J\x07 bad\t\xc3\xbc ", long_line, "\r\n", NULL);
    struct bl_outcome outcome = verdict_on(said, 4096);
    (void)state;
    assert_int_equal(outcome.verdict, BL_REFUSED);
    assert_true(g_str_has_prefix(outcome.answer, "554 \\x1b[2J\\x07 bad \xc3\xbc xxx"));
    assert_true(g_str_has_suffix(outcome.answer, "xxx..."));
    assert_int_equal(g_utf8_strlen(outcome.answer, -1), 300);
    bl_outcome_clear(&outcome);
}

static void test_more_than_any_answer_needs_is_not_kept(void **state)
{
    BL_AUTO(bl_smtp_talk) *talk = bl_smtp_talk_new();
    struct bl_outcome outcome = {0};
    (void)state;
    bl_smtp_talk_add(talk, GO, strlen(GO));
    for (int i = 0; i < 40000; i++) {
        bl_smtp_talk_add(talk, "250-more\r\n", 10);
    }
    bl_smtp_talk_add(talk, "250 end\r\n", 9);
    bl_smtp_verdict(talk, "it does not end", &outcome);
    assert_int_equal(outcome.verdict, BL_UNKNOWN);
    bl_outcome_clear(&outcome);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_talk_has_its_one_verdict_however_it_is_cut),
        cmocka_unit_test(test_a_talk_that_breaks_off_never_guesses),
        cmocka_unit_test(test_noise_is_never_taken_for_an_acceptance),
        cmocka_unit_test(test_an_answer_is_kept_as_one_short_printable_line),
        cmocka_unit_test(test_more_than_any_answer_needs_is_not_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
