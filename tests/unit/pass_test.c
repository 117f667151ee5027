/*
 * The pass: a finished job becomes a message that leaves once, at a decent hour, to somebody
 * who may be written to, under a clock that can be believed.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/ledger.h"
#include "walk.h"

#define TUESDAY "2026-12-01 10:00"
#define PHONE   "+447700900123"

static void a_finished_job_is_told_once(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    assert_true(g_str_has_prefix(walk.carried->pdata[0], PHONE " "));
    assert_int_equal(walk_count(&walk, "sent"), 1);
    assert_int_equal(books_number(&walk.books, "SELECT count(*) FROM due WHERE end = 'sent'"),
                     1);
    walk.now += 3600;
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    walk_close(&walk);
}

static void the_wash_message_goes_on_its_day_and_wakes_the_daemon(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_settle(&walk);
    int64_t wash = walk_at(&walk, "2026-12-23 09:00"); /* the first day after 21 days */
    for (int i = 0; walk.now < wash && i < 100; i++) {
        int64_t wake = walk_pass(&walk);
        assert_in_range(wake, walk.now + 1, wash);
        walk.now = wake;
    }
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 2);
    assert_int_equal(
        books_number(&walk.books,
                     "SELECT count(*) FROM message WHERE kind = 'wash' AND state = 'sent'"),
        1);
    walk_close(&walk);
}

static void nothing_goes_while_the_clock_is_doubted(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk.synchronised = false;
    assert_int_equal(walk_pass(&walk), walk.now + 60);
    assert_int_equal(walk.carried->len, 0);
    assert_int_equal(books_number(&walk.books, "SELECT count(*) FROM message"), 0);
    walk.synchronised = true;
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    walk_close(&walk);
}

static void a_clock_behind_the_last_trusted_time_is_doubted(void **state)
{
    struct walk walk;
    const char *why = NULL;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_settle(&walk);
    walk.now -= 299;
    assert_true(bl_pass_trusted(walk.pass, &why));
    assert_null(why);
    walk.now -= 2;
    assert_false(bl_pass_trusted(walk.pass, &why));
    assert_non_null(strstr(why, "behind"));
    walk.now = walk_at(&walk, "2016-02-11 12:00");
    assert_false(bl_pass_trusted(walk.pass, &why));
    walk_close(&walk);
}

static void at_night_the_daemon_sleeps_until_the_hours_open(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, "2026-12-05 21:30"); /* a Saturday; Sunday is closed */
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    int64_t wake = walk_pass(&walk);
    assert_int_equal(walk.carried->len, 0);
    assert_int_equal(wake, walk_at(&walk, "2026-12-07 09:00"));
    walk.now = wake;
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    walk_close(&walk);
}

static void a_couple_that_shares_a_number_gets_one_message_a_day(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_job(&walk, walk_customer(&walk, "Bo Example", PHONE, NULL), "coating-3y");
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    walk.now = walk_at(&walk, "2026-12-02 09:00");
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 2);
    walk_close(&walk);
}

static void full_days_of_many_do_not_hold_up_the_others(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk.connections = 2;
    for (int i = 0; i < 12; i++) {
        walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    }
    walk_job(&walk, walk_customer(&walk, "Cy Example", "+447700900456", NULL), "coating-3y");
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 2);
    walk_close(&walk);
}

static void silence_by_somebody_else(struct walk *walk)
{
    books_careless(&walk->books, "INSERT INTO silence (address, since, how, words)"
                                 " VALUES ('" PHONE "', 1, 'reply', 'STOP')");
}

static void a_number_silenced_before_the_pass_gets_nothing(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, "2026-12-01 08:00");
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_pass(&walk);
    int64_t planned = walk_count(&walk, "planned");
    assert_in_range(planned, 2, 9);
    silence_by_somebody_else(&walk);
    walk.now = walk_at(&walk, TUESDAY);
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 0);
    assert_int_equal(walk_count(&walk, "planned"), 0);
    assert_int_equal(walk_count(&walk, "withdrawn"), planned);
    walk_close(&walk);
}

/* Both are claimed in one commit; the second's STOP is stored while the first is starting. */
static void a_number_silenced_between_claim_and_start_gets_nothing(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Cy Example", "+447700900456", NULL), "coating-3y");
    walk_pass(&walk); /* plans and starts the first */
    walk_land(&walk);
    walk_settle(&walk);
    walk.on_start = silence_by_somebody_else;
    walk_job(&walk, walk_customer(&walk, "Dee Example", "+447700900789", NULL), "coating-3y");
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_pass(&walk);
    walk.on_start = NULL;
    walk_land(&walk);
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 2);
    assert_true(g_str_has_prefix(walk.carried->pdata[1], "+447700900789"));
    assert_int_equal(walk_count(&walk, "sent"), 2);
    walk_close(&walk);
}

static void with_nothing_due_the_opening_of_the_hours_wakes_nobody(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, "2026-12-05 21:30");
    assert_true(walk_pass(&walk) == BL_NEVER);
    walk_close(&walk);
}

static void what_was_not_taken_goes_later_under_its_key(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk.verdict = BL_LATER;
    walk.failure = BL_FAILURE_NETWORK;
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    int64_t wake = walk_pass(&walk);
    assert_in_range(wake, walk.now + 1, walk.now + 120);
    walk.now = wake + 60;
    walk.verdict = BL_ACCEPTED;
    walk.failure = BL_FAILURE_NONE;
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 2);
    assert_int_equal(walk_count(&walk, "sent"), 1);
    g_auto(GStrv) first = g_strsplit(walk.carried->pdata[0], " ", 3);
    g_auto(GStrv) second = g_strsplit(walk.carried->pdata[1], " ", 3);
    assert_string_equal(first[1], second[1]);
    walk_close(&walk);
}

static char *text_of(const struct walk *walk, guint i)
{
    return g_strdup(strstr(walk->carried->pdata[i], "Content-Type"));
}

static void what_was_surely_not_taken_is_made_anew(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", NULL, "ada@example.com"), "coating-3y");
    walk.verdict = BL_LATER;
    walk.failure = BL_FAILURE_BUSY;
    walk_settle(&walk);
    walk.verdict = BL_ACCEPTED;
    walk.failure = BL_FAILURE_NONE;
    walk.now += 4 * 3600; /* the car may have been driven for three hours: that line is gone */
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 2);
    g_autofree char *first = text_of(&walk, 0);
    g_autofree char *second = text_of(&walk, 1);
    assert_string_not_equal(first, second);
    walk_close(&walk);
}

static void an_unsure_text_waits_for_the_owner(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk.verdict = BL_UNKNOWN;
    walk_settle(&walk);
    walk.now += 3 * BL_DAY;
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    assert_int_equal(walk_count(&walk, "unsure"), 1);
    walk_close(&walk);
}

static void an_unsure_mail_goes_again_as_it_was(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", NULL, "ada@example.com"), "coating-3y");
    walk.verdict = BL_UNKNOWN;
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    g_autofree char *first = text_of(&walk, 0);
    walk.verdict = BL_ACCEPTED;
    walk.now += 4 * 3600; /* by now a text made anew would say less */
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 2);
    assert_int_equal(walk_count(&walk, "sent"), 1);
    g_autofree char *second = text_of(&walk, 1);
    assert_string_equal(first, second);
    walk_close(&walk);
}

static void a_mail_that_goes_again_is_dated_by_its_next_sending(void **state)
{
    struct walk walk;
    struct bl_letter letter;
    GError *error = NULL;
    g_autoptr(GBytes) raw = NULL;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", NULL, "ada@example.com"), "coating-3y");
    walk.verdict = BL_UNKNOWN;
    walk_settle(&walk);
    int64_t id = books_number(&walk.books, "SELECT id FROM message WHERE state = 'planned'"
                                           " AND text IS NOT NULL AND claimed_at IS NULL");
    books_well(bl_pass_preview(walk.pass, id, walk.now, &letter, &raw, &error), error);
    g_autofree char *mail = g_strndup(g_bytes_get_data(raw, NULL), g_bytes_get_size(raw));
    assert_null(strstr(mail, " 1970 "));
    g_autofree char *at = bl_at_format(walk.world->settings->shop.zone, walk.now);
    g_autofree char *year = g_strdup_printf(" %.4s ", at);
    const char *date = strstr(mail, "\nDate: ");
    assert_non_null(date);
    assert_non_null(strstr(date, year));
    bl_letter_clear(&letter);
    walk_close(&walk);
}

static void what_was_on_the_wire_at_a_crash_is_unsure_and_nothing_else(void **state)
{
    struct walk walk;
    GError *error = NULL;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk.connections = 1;
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_job(&walk, walk_customer(&walk, "Cy Example", "+447700900456", NULL), "coating-3y");
    walk_pass(&walk);
    assert_int_equal(walk_count(&walk, "claimed"), 1);
    walk_restart(&walk);
    books_well(bl_pass_recover(walk.pass, &error), error);
    assert_int_equal(walk_count(&walk, "unsure"), 1);
    walk_settle(&walk);
    assert_int_equal(walk_count(&walk, "sent"), 1);
    assert_int_equal(walk_count(&walk, "unsure"), 1);
    walk_close(&walk);
}

static void a_gateway_that_says_opted_out_silences_the_address(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk.verdict = BL_REFUSED;
    walk.failure = BL_FAILURE_MESSAGE;
    walk.opted_out = true;
    walk_settle(&walk);
    assert_true(bl_store_silenced(walk.books.store, PHONE));
    assert_int_equal(walk_count(&walk, "failed"), 1);
    assert_int_equal(walk_count(&walk, "planned"), 0);
    walk_close(&walk);
}

/* Eight messages wait, and the server refuses the login: it is not tried by all of them at
 * once. */
static void a_refused_login_is_tried_by_one_message_at_a_time(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    for (int i = 0; i < 8; i++) {
        g_autofree char *phone = g_strdup_printf("+4477009001%02d", i);
        walk_job(&walk, walk_customer(&walk, "Ada Example", phone, NULL), "coating-3y");
    }
    g_array_index(walk.world->settings->gateways, struct bl_gateway, 0).user = g_strdup("alex");
    walk_restart(&walk);
    walk.verdict = BL_LATER;
    walk.failure = BL_FAILURE_LOGIN;
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    int64_t begun = walk.now;
    for (guint tries = walk.carried->len; tries < 5; tries = walk.carried->len) {
        walk.now = walk_pass(&walk);
        walk_settle(&walk);
        assert_in_range(walk.carried->len, tries, tries + 1);
    }
    assert_true(walk.now - begun >= 60 + 120 + 240 + 480); /* and ever more seldom */
    walk.verdict = BL_ACCEPTED;
    walk.failure = BL_FAILURE_NONE;
    for (int i = 0; i < 100 && walk_count(&walk, "sent") < 8; i++) {
        walk.now = walk_pass(&walk);
        walk_settle(&walk);
    }
    assert_int_equal(walk_count(&walk, "sent"), 8);
    walk_close(&walk);
}

static void outcomes_wait_for_one_another_but_not_for_the_slowest(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    for (int i = 0; i < 8; i++) {
        g_autofree char *phone = g_strdup_printf("+4477009001%02d", i);
        walk_job(&walk, walk_customer(&walk, "Ada Example", phone, NULL), "coating-3y");
    }
    walk_pass(&walk);
    assert_int_equal(walk.flying->len, 8);
    struct bl_outcome one = {.id = g_array_index(walk.flying, struct bl_outcome, 0).id,
                             .answer = g_strdup("taken")};
    g_array_remove_index(walk.flying, 0);
    g_array_append_val(walk.landed, one);
    assert_false(bl_pass_ripe(walk.pass));
    assert_in_range(bl_pass_hurry_ms(walk.pass), 1, 100);
    walk.now += 1; /* the false boot time moves by whole seconds: 100 ms have passed */
    assert_true(bl_pass_ripe(walk.pass));
    walk_pass(&walk);
    assert_int_equal(walk_count(&walk, "sent"), 1);
    assert_int_equal(walk_count(&walk, "claimed"), 7);
    walk_close(&walk);
}

static void the_same_settings_and_rules_touch_nobody_again(void **state)
{
    struct walk walk;
    (void)state;
    walk_open(&walk, TUESDAY);
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_settle(&walk);
    walk_restart(&walk);
    assert_int_equal(books_number(&walk.books, "SELECT count(*) FROM touched"), 0);
    books_careless(&walk.books, "UPDATE kept SET value = 'older' WHERE name = 'fingerprint'");
    walk_restart(&walk);
    assert_int_equal(books_number(&walk.books, "SELECT count(*) FROM touched"), 1);
    walk_close(&walk);
}

static void a_preview_is_what_then_leaves(void **state)
{
    struct walk walk;
    struct bl_letter letter;
    GError *error = NULL;
    (void)state;
    walk_open(&walk, "2026-12-01 08:59");
    walk_job(&walk, walk_customer(&walk, "Ada Example", PHONE, NULL), "coating-3y");
    walk_pass(&walk);
    int64_t id = books_number(&walk.books, "SELECT id FROM message WHERE kind = 'handover'");
    books_well(bl_pass_preview(walk.pass, id, walk.now, &letter, NULL, &error), error);
    walk.now = walk_at(&walk, "2026-12-01 09:00");
    walk_settle(&walk);
    assert_int_equal(walk.carried->len, 1);
    assert_non_null(strstr(walk.carried->pdata[0], letter.text));
    bl_letter_clear(&letter);
    books_well(bl_pass_preview(walk.pass, id, walk.now, &letter, NULL, &error), error);
    assert_non_null(strstr(walk.carried->pdata[0], letter.text));
    bl_letter_clear(&letter);
    walk_close(&walk);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_finished_job_is_told_once),
        cmocka_unit_test(the_wash_message_goes_on_its_day_and_wakes_the_daemon),
        cmocka_unit_test(nothing_goes_while_the_clock_is_doubted),
        cmocka_unit_test(a_clock_behind_the_last_trusted_time_is_doubted),
        cmocka_unit_test(at_night_the_daemon_sleeps_until_the_hours_open),
        cmocka_unit_test(a_couple_that_shares_a_number_gets_one_message_a_day),
        cmocka_unit_test(full_days_of_many_do_not_hold_up_the_others),
        cmocka_unit_test(a_number_silenced_before_the_pass_gets_nothing),
        cmocka_unit_test(a_number_silenced_between_claim_and_start_gets_nothing),
        cmocka_unit_test(with_nothing_due_the_opening_of_the_hours_wakes_nobody),
        cmocka_unit_test(what_was_not_taken_goes_later_under_its_key),
        cmocka_unit_test(what_was_surely_not_taken_is_made_anew),
        cmocka_unit_test(an_unsure_text_waits_for_the_owner),
        cmocka_unit_test(an_unsure_mail_goes_again_as_it_was),
        cmocka_unit_test(a_mail_that_goes_again_is_dated_by_its_next_sending),
        cmocka_unit_test(what_was_on_the_wire_at_a_crash_is_unsure_and_nothing_else),
        cmocka_unit_test(a_gateway_that_says_opted_out_silences_the_address),
        cmocka_unit_test(a_refused_login_is_tried_by_one_message_at_a_time),
        cmocka_unit_test(outcomes_wait_for_one_another_but_not_for_the_slowest),
        cmocka_unit_test(the_same_settings_and_rules_touch_nobody_again),
        cmocka_unit_test(a_preview_is_what_then_leaves),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
