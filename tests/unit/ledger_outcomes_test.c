/* Claims and outcomes: what may go, what became of it, and what an address said about it. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "../../daemon/store/sql.h"
#include "beadline/ledger.h"
#include "plan_maker.h"
#include "store_room.h"

/* Messages 1 and 2 about treatments 1 and 2, at 4000 and 5000, until 9000. */
static int set_up(void **state)
{
    struct store_room *room = store_room_new();
    store_room_people(room);
    struct bl_plan *plan = plan_maker_one(1, 1, 4000, 9000);
    plan_maker_due(plan, 2, 9000);
    plan_maker_intent(plan, 5000, 1, 1);
    for (guint i = 0; i < 2; i++) {
        struct bl_due *due = &g_array_index(plan->dues, struct bl_due, i);
        due->car = due->job = due->treatment = i + 1;
    }
    GError *error = NULL;
    store_room_begin(room);
    assert_true(bl_store_apply(room->store, 1, plan, 1000, bl_chance_machine(), &error));
    store_room_commit(room);
    bl_plan_free(plan);
    *state = room;
    return 0;
}

static int tear_down(void **state)
{
    store_room_free(*state);
    return 0;
}

static void clear_claim(gpointer claim)
{
    bl_claim_clear(claim);
}

static GArray *candidates(struct store_room *room, int64_t now, guint limit)
{
    GArray *claims = g_array_new(FALSE, TRUE, sizeof(struct bl_claim));
    GError *error = NULL;
    g_array_set_clear_func(claims, clear_claim);
    assert_true(bl_store_candidates(room->store, BL_SMS, now, limit, claims, &error));
    return claims;
}

/* The candidates as "1 2". */
static void assert_candidates(struct store_room *room, int64_t now, const char *expected)
{
    g_autoptr(GArray) claims = candidates(room, now, 10);
    g_autoptr(GString) text = g_string_new(NULL);
    for (guint i = 0; i < claims->len; i++) {
        g_string_append_printf(text, "%s%" G_GINT64_FORMAT, i ? " " : "",
                               g_array_index(claims, struct bl_claim, i).message);
    }
    assert_string_equal(text->str, expected);
}

static bool claim(struct store_room *room, int64_t message, int64_t now, GError **error)
{
    static const struct bl_leaving leaving = {.gateway = "smart",
                                              .text = "the text",
                                              .subject = "a subject",
                                              .html = "<p>the text</p>"};
    store_room_begin(room);
    bool well = bl_store_claim(room->store, message, &leaving, now, error);
    store_room_commit(room);
    return well;
}

static void assert_claimed(struct store_room *room, int64_t message, int64_t now)
{
    GError *error = NULL;
    assert_true(claim(room, message, now, &error));
}

static struct bl_outcome outcome_of(int64_t message, enum bl_verdict verdict,
                                    const char *answer)
{
    return (struct bl_outcome){.id = message, .verdict = verdict, .answer = (char *)answer};
}

static void finish(struct store_room *room, const struct bl_outcome *outcome, int64_t now,
                   int64_t retry_at, bool resend)
{
    GError *error = NULL;
    store_room_begin(room);
    assert_true(bl_store_outcome(room->store, outcome, now, retry_at, resend, &error));
    store_room_commit(room);
}

static void assert_row(struct store_room *room, const char *sql, const char *expected)
{
    g_autofree char *seen = store_room_text(room, "%s", sql);
    assert_non_null(seen);
    assert_string_equal(seen, expected);
}

#define MESSAGE_1                                                                              \
    "SELECT state || ' ' || coalesce(reason, '-') || ' ' || not_before || ' ' ||"              \
    " coalesce(claimed_at, '-') || ' ' || coalesce(ended_at, '-') || ' ' ||"                   \
    " coalesce(reference, '-') || ' ' || attempts FROM message WHERE id = 1"
#define ATTEMPTS_1                                                                             \
    "SELECT group_concat(number || ' ' || gateway || ' ' || coalesce(verdict, '-') || ' ' ||"  \
    " coalesce(answer, '-')) FROM attempt WHERE message = 1"

static void only_what_may_go_now_is_a_candidate(void **state)
{
    struct store_room *room = *state;
    assert_candidates(room, 3999, "");
    assert_candidates(room, 4000, "1");
    assert_candidates(room, 9000, "1 2");
    assert_candidates(room, 9001, "");
    store_room_exec(room, "UPDATE message SET not_before = 6000 WHERE id = 1");
    assert_candidates(room, 5500, "2");
    assert_candidates(room, 6000, "2 1");
    store_room_exec(room, "UPDATE message SET state = 'paused' WHERE id = 2");
    assert_candidates(room, 6000, "1");
    store_room_exec(room, "UPDATE due SET end = 'lapsed', ended_at = 1, reason = 'x'");
    assert_candidates(room, 6000, "");
}

static void a_candidate_brings_what_its_letter_needs(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GArray) claims = candidates(room, 9000, 1);
    assert_int_equal(claims->len, 1);
    const struct bl_claim *one = &g_array_index(claims, struct bl_claim, 0);
    g_autofree char *key = store_room_text(room, "SELECT key FROM message WHERE id = 1");
    assert_string_equal(one->key, key);
    assert_string_equal(one->address, "+447700900001");
    assert_int_equal(one->customer, 1);
    assert_int_equal(one->kind, BL_TOP_UP);
    assert_int_equal(one->channel, BL_SMS);
    assert_int_equal(one->not_after, 9000);
    assert_int_equal(one->dues->len, 1);
    assert_int_equal(g_array_index(one->dues, struct bl_ended, 0).subject, 1);
}

static void a_claim_is_kept_with_its_text_before_a_byte_leaves(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    assert_claimed(room, 1, 4000);
    assert_row(room, MESSAGE_1, "claimed - 0 4000 - - 1");
    assert_row(room, ATTEMPTS_1, "1 smart - -");
    assert_row(room, "SELECT subject || text || html || gateway FROM message WHERE id = 1",
               "a subjectthe text<p>the text</p>smart");
    assert_false(claim(room, 1, 4000, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    g_clear_error(&error);
    assert_false(claim(room, 2, 9001, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
}

/* STOP arrives between the choice and the claim. */
static void nothing_is_claimed_for_an_address_silenced_since(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    assert_candidates(room, 9000, "1 2");
    store_room_begin(room);
    assert_true(bl_silence_add(room->store, "+447700900001", "SMS", "STOP", 5000, &error));
    store_room_commit(room);
    assert_false(claim(room, 1, 5000, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    assert_candidates(room, 9000, "");
    assert_row(room, ATTEMPTS_1 " HAVING count(*) > 0 UNION ALL SELECT 'none' LIMIT 1", "none");
}

static void each_verdict_takes_its_way(void **state)
{
    static const struct {
        enum bl_verdict verdict;
        int64_t retry_at;
        bool resend;
        const char *message, *due, *attempt;
    } ways[] = {
        {BL_ACCEPTED, 0, false, "sent - 0 4000 4100 ref-7 1", "sent", "1 smart accepted said"},
        {BL_REFUSED, 0, false, "failed said 0 4000 4100 - 1", "failed", "1 smart refused said"},
        {BL_LATER, 4700, false, "planned said 4700 - - - 1", "-", "1 smart later said"},
        {BL_LATER, 9000, false, "planned said 9000 - - - 1", "-", "1 smart later said"},
        {BL_LATER, 9001, false,
         "failed given up, its time passes before the next try: said 0 4000 4100 - 1", "failed",
         "1 smart later said"},
        {BL_UNKNOWN, 4700, false, "unsure said 0 4000 - - 1", "-", "1 smart unknown said"},
        {BL_UNKNOWN, 4700, true,
         "planned sent again, because nobody can know: said 4700 - - - 1", "-",
         "1 smart unknown said"},
        {BL_UNKNOWN, 9001, true, "unsure said 0 4000 - - 1", "-", "1 smart unknown said"},
    };
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(ways); i++) {
        void *fresh = NULL;
        set_up(&fresh);
        struct store_room *room = fresh;
        struct bl_outcome outcome = outcome_of(1, ways[i].verdict, "said");
        outcome.reference = ways[i].verdict == BL_ACCEPTED ? (char *)"ref-7" : NULL;
        assert_claimed(room, 1, 4000);
        finish(room, &outcome, 4100, ways[i].retry_at, ways[i].resend);
        assert_row(room, MESSAGE_1, ways[i].message);
        assert_row(room, "SELECT coalesce(end, '-') FROM due WHERE subject = 1", ways[i].due);
        assert_row(room, ATTEMPTS_1, ways[i].attempt);
        store_room_free(room);
    }
}

static void a_second_attempt_has_its_own_number_and_may_say_something_else(void **state)
{
    struct store_room *room = *state;
    struct bl_outcome later = outcome_of(1, BL_LATER, "451 busy");
    struct bl_outcome taken = outcome_of(1, BL_ACCEPTED, "250 taken");
    assert_claimed(room, 1, 4000);
    finish(room, &later, 4001, 4600, false);
    assert_candidates(room, 4599, "");
    assert_claimed(room, 1, 4600);
    finish(room, &taken, 4601, 0, false);
    assert_row(room, ATTEMPTS_1, "1 smart later 451 busy,2 smart accepted 250 taken");
    assert_row(room, MESSAGE_1, "sent - 4600 4600 4601 - 2");
}

static void an_outcome_for_what_is_not_on_the_wire_changes_nothing(void **state)
{
    struct store_room *room = *state;
    struct bl_outcome taken = outcome_of(1, BL_ACCEPTED, "250 taken");
    g_autoptr(GError) error = NULL;
    store_room_begin(room);
    assert_false(bl_store_outcome(room->store, &taken, 4100, 0, false, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    g_clear_error(&error);
    taken.id = 99;
    assert_false(bl_store_outcome(room->store, &taken, 4100, 0, false, &error));
    assert_int_equal(error->code, BL_ERROR_MISSING);
    store_room_commit(room);
    assert_row(room, MESSAGE_1, "planned - 0 - - - 0");
}

static void a_gateway_that_says_opted_out_silences_the_address(void **state)
{
    struct store_room *room = *state;
    struct bl_outcome stopped = outcome_of(1, BL_REFUSED, "unsubscribed recipient");
    stopped.opted_out = true;
    assert_false(bl_store_silenced(room->store, "+447700900001"));
    assert_claimed(room, 1, 4000);
    finish(room, &stopped, 4100, 0, false);
    assert_true(bl_store_silenced(room->store, "+447700900001"));
    assert_row(room, "SELECT address || at || silenced || how || words FROM silence_log",
               "+44770090000141001gatewayunsubscribed recipient");
    g_autofree char *touched = store_room_drain(room, 4100);
    assert_string_equal(touched, "1");
}

static void a_claim_that_was_not_started_is_as_if_it_had_not_been(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    assert_claimed(room, 1, 4000);
    store_room_begin(room);
    assert_true(bl_store_unclaim(room->store, 1, "silenced since", &error));
    assert_false(bl_store_unclaim(room->store, 1, "silenced since", &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    store_room_commit(room);
    assert_row(room, MESSAGE_1, "planned silenced since 0 - - - 0");
    assert_row(room, ATTEMPTS_1, "1 smart not started silenced since");
    int told = -1;
    g_clear_error(&error);
    assert_true(bl_store_told_since(room->store, "+447700900001", 0, &told, &error));
    assert_int_equal(told, 0);
    assert_claimed(room, 1, 4200);
    assert_row(room, "SELECT max(number) FROM attempt WHERE message = 1", "2");
}

static void after_a_kill_what_was_on_the_wire_is_unsure_and_only_that(void **state)
{
    struct store_room *room = *state;
    GError *error = NULL;
    assert_claimed(room, 1, 4000);
    for (int start = 0; start < 2; start++) {
        g_autoptr(GArray) left = g_array_new(FALSE, TRUE, sizeof(struct bl_left));
        store_room_begin(room);
        assert_true(bl_store_recover(room->store, 4500, left, &error));
        store_room_commit(room);
        assert_int_equal(left->len, start == 0 ? 1 : 0);
        if (left->len) {
            assert_int_equal(g_array_index(left, struct bl_left, 0).message, 1);
            assert_string_equal(g_array_index(left, struct bl_left, 0).gateway, "smart");
        }
    }
    assert_row(room, "SELECT group_concat(state) FROM (SELECT state FROM message ORDER BY id)",
               "unsure,planned");
    assert_row(room, ATTEMPTS_1, "1 smart unknown the daemon ended while it was on the wire");
}

static void only_what_began_counts_as_told(void **state)
{
    struct store_room *room = *state;
    GError *error = NULL;
    int told = -1;
    struct bl_outcome refused = outcome_of(2, BL_REFUSED, "no such number");
    assert_claimed(room, 1, 4000);
    assert_true(bl_store_told_since(room->store, "+447700900001", 4000, &told, &error));
    assert_int_equal(told, 1);
    assert_true(bl_store_told_since(room->store, "+447700900001", 4001, &told, &error));
    assert_int_equal(told, 0);
    assert_claimed(room, 2, 5000);
    finish(room, &refused, 5001, 0, false);
    assert_true(bl_store_told_since(room->store, "+447700900001", 0, &told, &error));
    assert_int_equal(told, 1);
    /* A bounce comes after the gateway had it: the customer may have seen it. */
    struct bl_outcome taken = outcome_of(1, BL_ACCEPTED, "250 taken");
    finish(room, &taken, 5002, 0, false);
    store_room_begin(room);
    assert_true(bl_message_change(room->store, 1, BL_FAILED, "bounced", 5500, &error));
    store_room_commit(room);
    assert_true(bl_store_told_since(room->store, "+447700900001", 0, &told, &error));
    assert_int_equal(told, 1);
    assert_true(bl_store_told_since(room->store, "+447700900002", 0, &told, &error));
    assert_int_equal(told, 0);
}

static void a_message_moves_within_its_window_and_lapses_beyond_it(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    store_room_begin(room);
    assert_true(bl_store_move(room->store, 1, 8000, "one message a day", &error));
    assert_true(bl_store_move(room->store, 2, 9001, "one message a day", &error));
    assert_false(bl_store_move(room->store, 2, 8000, "one message a day", &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    store_room_commit(room);
    assert_row(room,
               "SELECT group_concat(state || ' ' || send_at || ' ' || reason)"
               " FROM (SELECT * FROM message ORDER BY id)",
               "planned 8000 one message a day,lapsed 5000 one message a day");
    assert_row(room,
               "SELECT group_concat(coalesce(end, '-')) FROM (SELECT end FROM due ORDER BY id)",
               "-,lapsed");
}

static void silence_is_logged_when_it_comes_and_when_it_goes(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    store_room_begin(room);
    assert_true(
        bl_silence_add(room->store, "ada@example.com", "mail", "stop it", 5000, &error));
    assert_true(bl_silence_add(room->store, "ADA@example.com", "mail", "STOP!!", 5001, &error));
    assert_true(bl_store_silenced(room->store, "Ada@Example.com"));
    assert_true(
        bl_silence_lift(room->store, "ada@example.com", "mail", "start again", 6000, &error));
    assert_false(bl_store_silenced(room->store, "ada@example.com"));
    assert_false(bl_silence_lift(room->store, "ada@example.com", "mail", NULL, 6000, &error));
    assert_int_equal(error->code, BL_ERROR_MISSING);
    store_room_commit(room);
    assert_row(room,
               "SELECT group_concat(at || ' ' || silenced || ' ' || words) FROM silence_log",
               "5000 1 stop it,5001 1 STOP!!,6000 0 start again");
}

static void an_address_is_silent_when_the_list_cannot_be_read(void **state)
{
    struct store_room *room = *state;
    assert_false(bl_store_silenced(room->store, "+447700900001"));
    store_room_exec(room, "DROP TABLE silence");
    assert_true(bl_store_silenced(room->store, "+447700900001"));
}

/* The work of all statements of our connection since the last time, in virtual machine steps.
 */
static int steps(struct store_room *room)
{
    int sum = 0;
    sqlite3_stmt *statement = NULL;
    while ((statement = sqlite3_next_stmt(room->store->db, statement))) {
        sum += sqlite3_stmt_status(statement, SQLITE_STMTSTATUS_VM_STEP, 1);
    }
    return sum;
}

static int work_of_a_round(struct store_room *room)
{
    GError *error = NULL;
    int64_t at = 0;
    steps(room);
    g_autoptr(GArray) claims = candidates(room, 5000, 200);
    assert_int_equal(claims->len, 102);
    assert_true(bl_store_wake(room->store, 0, &at, &error));
    assert_int_equal(at, 4000);
    return steps(room);
}

/* Rows from..to-1, the first hundred to go at 4500, the rest far ahead. */
static void add_rows(struct store_room *room, int from, int to)
{
    store_room_exec(
        room,
        "BEGIN; WITH RECURSIVE n(i) AS (SELECT %d UNION ALL SELECT i + 1 FROM n WHERE i < %d)"
        " INSERT INTO due (id, customer, kind, subject, ordinal, from_at, best_by, not_after,"
        " numbers) SELECT i, 1, 'care', i, 0, 1, 1, 900000, '{}' FROM n;"
        "WITH RECURSIVE n(i) AS (SELECT %d UNION ALL SELECT i + 1 FROM n WHERE i < %d)"
        " INSERT INTO message (id, customer, key, kind, class, channel, address, from_at,"
        " send_at, not_after, made_at) SELECT i, 1, printf('%%032x', i), 'care', 'tips', 'sms',"
        " '+447700900002', 1, CASE WHEN i < 200 THEN 4500 ELSE 800000 END, 900000, 1 FROM n;"
        "WITH RECURSIVE n(i) AS (SELECT %d UNION ALL SELECT i + 1 FROM n WHERE i < %d)"
        " INSERT INTO message_due (message, due) SELECT i, i FROM n; COMMIT",
        from, to - 1, from, to - 1, from, to - 1);
}

static void a_hundred_due_cost_the_same_in_a_queue_of_any_length(void **state)
{
    struct store_room *room = *state;
    add_rows(room, 100, 200);
    int alone = work_of_a_round(room);
    add_rows(room, 200, 60000);
    int in_the_crowd = work_of_a_round(room);
    print_message("100 due: %d steps alone, %d among 60 000\n", alone, in_the_crowd);
    assert_true(in_the_crowd < alone * 11 / 10);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(only_what_may_go_now_is_a_candidate),
        TEST(a_candidate_brings_what_its_letter_needs),
        TEST(a_claim_is_kept_with_its_text_before_a_byte_leaves),
        TEST(nothing_is_claimed_for_an_address_silenced_since),
        cmocka_unit_test(each_verdict_takes_its_way),
        TEST(a_second_attempt_has_its_own_number_and_may_say_something_else),
        TEST(an_outcome_for_what_is_not_on_the_wire_changes_nothing),
        TEST(a_gateway_that_says_opted_out_silences_the_address),
        TEST(a_claim_that_was_not_started_is_as_if_it_had_not_been),
        TEST(after_a_kill_what_was_on_the_wire_is_unsure_and_only_that),
        TEST(only_what_began_counts_as_told),
        TEST(a_message_moves_within_its_window_and_lapses_beyond_it),
        TEST(silence_is_logged_when_it_comes_and_when_it_goes),
        TEST(an_address_is_silent_when_the_list_cannot_be_read),
        TEST(a_hundred_due_cost_the_same_in_a_queue_of_any_length),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
