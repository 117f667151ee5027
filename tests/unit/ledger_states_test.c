/* States: the table of allowed changes and the guards around what was sent, against a program
 * that writes as it likes. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/error.h"
#include "beadline/ledger.h"
#include "store_room.h"

static int set_up(void **state)
{
    struct store_room *room = store_room_new();
    store_room_people(room);
    *state = room;
    return 0;
}

static int tear_down(void **state)
{
    store_room_free(*state);
    return 0;
}

/* The diagram of the design, drawn a second time and by hand. */
static const char *const allowed[] = {
    "planned paused", "paused planned",   "planned lapsed",  "planned withdrawn",
    "paused lapsed",  "paused withdrawn", "planned claimed", "claimed sent",
    "claimed failed", "claimed unsure",   "claimed planned", "sent delivered",
    "sent failed",    "unsure sent",      "unsure planned",  "unsure withdrawn",
};

/* One way from planned to each state. */
static const char *const ways[BL_STATES] = {
    [BL_PLANNED] = "",
    [BL_PAUSED] = "paused",
    [BL_CLAIMED] = "claimed",
    [BL_SENT] = "claimed sent",
    [BL_DELIVERED] = "claimed sent delivered",
    [BL_FAILED] = "claimed failed",
    [BL_UNSURE] = "claimed unsure",
    [BL_LAPSED] = "lapsed",
    [BL_WITHDRAWN] = "withdrawn",
};

static bool is_allowed(const char *from, const char *to)
{
    g_autofree char *pair = g_strdup_printf("%s %s", from, to);
    for (guint i = 0; i < G_N_ELEMENTS(allowed); i++) {
        if (strcmp(allowed[i], pair) == 0) {
            return true;
        }
    }
    return false;
}

/* What a state needs beside its word. */
static char *set_state(const char *to, int id)
{
    return g_strdup_printf(
        "UPDATE message SET state = '%s', reason = 'a test', claimed_at = coalesce(claimed_at, "
        "500), ended_at = CASE WHEN '%s' IN ('sent', 'delivered', 'failed', 'lapsed', "
        "'withdrawn') THEN 600 END WHERE id = %d",
        to, to, id);
}

static void add_message(struct store_room *room, int id, const char *channel)
{
    const char *address = strcmp(channel, "by hand") == 0 ? "NULL" : "'+447700900001'";
    store_room_exec(
        room,
        "INSERT INTO due (id, customer, kind, subject, ordinal, from_at, best_by, not_after, "
        "numbers) VALUES (%d, 1, 'top-up', %d, 0, 100, 100, 9000, '{}');"
        "INSERT INTO message (id, customer, key, kind, class, channel, address, from_at, "
        "send_at, not_after, made_at) VALUES (%d, 1, '%032d', 'top-up', 'offers', '%s', %s, "
        "100, 100, 9000, 100);"
        "INSERT INTO message_due (message, due) VALUES (%d, %d)",
        id, id, id, id, channel, address, id, id);
}

static void walk_to(struct store_room *room, int id, enum bl_state state)
{
    g_auto(GStrv) steps = g_strsplit(ways[state], " ", -1);
    for (guint i = 0; steps[i]; i++) {
        if (*steps[i]) {
            g_autofree char *sql = set_state(steps[i], id);
            store_room_exec(room, "%s", sql);
        }
    }
}

static void no_program_changes_a_state_but_as_the_table_allows(void **state)
{
    struct store_room *room = *state;
    int id = 0;
    for (guint from = 0; from < BL_STATES; from++) {
        for (guint to = 0; to < BL_STATES; to++) {
            const char *from_word = bl_state_name((enum bl_state)from);
            const char *to_word = bl_state_name((enum bl_state)to);
            add_message(room, ++id, "sms");
            walk_to(room, id, (enum bl_state)from);
            g_autofree char *sql = set_state(to_word, id);
            g_autofree char *said = store_room_try(room, "%s", sql);
            bool expected = from == to || is_allowed(from_word, to_word);
            if (expected != !said) {
                print_error("%s -> %s: %s\n", from_word, to_word, said ? said : "done");
            }
            assert_int_equal(!said, expected);
        }
    }
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM change_allowed"),
                     G_N_ELEMENTS(allowed));
}

static void our_own_change_keeps_to_the_table_and_names_both_states(void **state)
{
    struct store_room *room = *state;
    int id = 0;
    for (guint from = 0; from < BL_STATES; from++) {
        for (guint to = 0; to < BL_STATES; to++) {
            const char *from_word = bl_state_name((enum bl_state)from);
            const char *to_word = bl_state_name((enum bl_state)to);
            g_autoptr(GError) error = NULL;
            add_message(room, ++id, "by hand");
            walk_to(room, id, (enum bl_state)from);
            store_room_begin(room);
            bool done =
                bl_message_change(room->store, id, (enum bl_state)to, "a test", 700, &error);
            store_room_commit(room);
            assert_int_equal(done, is_allowed(from_word, to_word));
            if (!done) {
                assert_int_equal(error->code, BL_ERROR_REFUSED);
                assert_non_null(strstr(error->message, from_word));
                assert_non_null(strstr(error->message, to_word));
            }
            g_autofree char *now =
                store_room_text(room, "SELECT state FROM message WHERE id = %d", id);
            assert_string_equal(now, done ? to_word : from_word);
        }
    }
}

static void only_what_goes_by_hand_is_told_by_hand(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    add_message(room, 1, "sms");
    add_message(room, 2, "by hand");
    store_room_begin(room);
    assert_false(bl_message_change(room->store, 1, BL_CLAIMED, NULL, 700, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    g_clear_error(&error);
    assert_true(bl_message_change(room->store, 2, BL_CLAIMED, NULL, 700, &error));
    assert_true(bl_message_change(room->store, 2, BL_SENT, "told by hand", 700, &error));
    assert_false(bl_message_change(room->store, 99, BL_PAUSED, NULL, 700, &error));
    assert_int_equal(error->code, BL_ERROR_MISSING);
    store_room_commit(room);
    g_autofree char *end =
        store_room_text(room, "SELECT end || ended_at FROM due WHERE id = 2");
    assert_string_equal(end, "sent700");
}

static void assert_all_refused(struct store_room *room, const char *const *tries, guint count)
{
    for (guint i = 0; i < count; i++) {
        g_autofree char *said = store_room_try(room, "%s", tries[i]);
        if (!said) {
            print_error("was done: %s\n", tries[i]);
        }
        assert_non_null(said);
    }
}

static void what_was_sent_stays_as_it_was_sent(void **state)
{
    static const char *const tries[] = {
        "DELETE FROM message WHERE id = 1",
        "UPDATE message SET text = 'something else' WHERE id = 1",
        "UPDATE message SET address = '+447700900002' WHERE id = 1",
        "UPDATE message SET customer = 2 WHERE id = 1",
        "UPDATE message SET gateway = 'other' WHERE id = 1",
        "UPDATE message SET html = NULL, subject = 'x' WHERE id = 1",
        "UPDATE message SET id = 77 WHERE id = 1",
        "UPDATE message SET key = '0123456789abcdef0123456789abcdef' WHERE id = 1",
        "UPDATE message SET state = 'planned', ended_at = NULL WHERE id = 1",
        "UPDATE OR IGNORE message SET state = 'planned', ended_at = NULL WHERE id = 1",
        "UPDATE OR REPLACE message SET state = NULL, ended_at = NULL WHERE id = 1",
        "UPDATE OR REPLACE message SET id = 1 WHERE id = 2",
        "UPDATE OR REPLACE message SET key = '00000000000000000000000000000001' WHERE id = 2",
        "REPLACE INTO message SELECT * FROM message WHERE id = 1",
        "REPLACE INTO message (id, customer, key, kind, class, channel, address, from_at, "
        "send_at, not_after, made_at) VALUES (1, 1, 'ffffffffffffffffffffffffffffffff', "
        "'top-up', 'offers', 'sms', '+447700900001', 1, 1, 9000, 1)",
        "REPLACE INTO message (customer, key, kind, class, channel, address, from_at, send_at, "
        "not_after, made_at) VALUES (1, '00000000000000000000000000000001', 'top-up', "
        "'offers', 'sms', '+447700900001', 1, 1, 9000, 1)",
        "DELETE FROM message_due WHERE message = 1",
        "UPDATE message_due SET due = 3 WHERE message = 1",
        "UPDATE OR REPLACE message_due SET message = 2 WHERE message = 1",
        "REPLACE INTO message_due (message, due) VALUES (2, 1)",
        "INSERT INTO message_due (message, due) VALUES (1, 3)",
    };
    struct store_room *room = *state;
    add_message(room, 1, "sms");
    add_message(room, 2, "sms");
    add_message(room, 3, "sms");
    store_room_exec(room, "DELETE FROM message_due WHERE message = 3");
    store_room_exec(room, "UPDATE message SET text = 'the text', gateway = 'g' WHERE id = 1");
    walk_to(room, 1, BL_SENT);
    g_autofree char *before =
        store_room_text(room, "SELECT state || text || address || gateway || key FROM message "
                              "WHERE id = 1");
    assert_all_refused(room, tries, G_N_ELEMENTS(tries));
    g_autofree char *after = store_room_text(
        room, "SELECT state || text || address || gateway || key FROM message WHERE id = 1 AND "
              "(SELECT group_concat(due) FROM message_due WHERE message = 1) = '1'");
    assert_string_equal(before, after);
}

static void an_ended_due_stays_ended_and_its_key_is_taken(void **state)
{
    static const char *const tries[] = {
        "UPDATE due SET end = NULL, ended_at = NULL, reason = NULL WHERE id = 1",
        "UPDATE due SET end = 'lapsed', reason = 'x' WHERE id = 1",
        "UPDATE due SET vanished = 1 WHERE id = 1",
        "UPDATE due SET ordinal = 4 WHERE id = 1",
        "UPDATE OR REPLACE due SET subject = 1 WHERE id = 2",
        "DELETE FROM due WHERE id = 1",
        "REPLACE INTO due (customer, kind, subject, ordinal, from_at, best_by, not_after, "
        "numbers) VALUES (1, 'top-up', 1, 0, 1, 1, 1, '{}')",
        "REPLACE INTO due (id, customer, kind, subject, ordinal, from_at, best_by, not_after, "
        "numbers) VALUES (1, 1, 'top-up', 50, 0, 1, 1, 1, '{}')",
        "INSERT INTO message_due (message, due) VALUES (2, 1)",
    };
    struct store_room *room = *state;
    add_message(room, 1, "sms");
    add_message(room, 2, "sms");
    walk_to(room, 1, BL_WITHDRAWN);
    g_autofree char *before =
        store_room_text(room, "SELECT end || reason FROM due WHERE id = 1");
    assert_string_equal(before, "withdrawna test");
    assert_all_refused(room, tries, G_N_ELEMENTS(tries));
}

static void a_due_that_only_vanished_may_come_back(void **state)
{
    struct store_room *room = *state;
    add_message(room, 1, "sms");
    store_room_exec(room, "UPDATE due SET end = 'withdrawn', vanished = 1, reason = 'no longer "
                          "due', ended_at = 600 WHERE id = 1");
    store_room_exec(room, "UPDATE due SET end = NULL, vanished = 0, reason = NULL,"
                          " ended_at = NULL WHERE id = 1");
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM due WHERE end IS NULL"), 1);
}

static void a_message_begins_planned_whole_and_with_one_message_a_due(void **state)
{
    static const char *const tries[] = {
        "INSERT INTO message (customer, key, kind, class, channel, address, from_at, send_at, "
        "not_after, made_at, state, claimed_at, ended_at) VALUES (1, "
        "'0123456789abcdef0123456789abcdef', 'wash', 'service', 'sms', '+447700900001', 1, 1, "
        "9000, 1, 'sent', 1, 1)",
        "INSERT INTO message (customer, key, kind, class, channel, address, from_at, send_at, "
        "not_after, made_at) VALUES (1, 'short', 'wash', 'service', 'sms', '+447700900001', 1, "
        "1, 9000, 1)",
        "INSERT INTO message (customer, key, kind, class, channel, address, from_at, send_at, "
        "not_after, made_at) VALUES (1, '0123456789abcdef0123456789abcdef', 'wash', "
        "'service', 'sms', NULL, 1, 1, 9000, 1)",
        "INSERT INTO message (customer, key, kind, class, channel, address, from_at, send_at, "
        "not_after, made_at) VALUES (1, '0123456789abcdef0123456789abcdef', 'wash', "
        "'service', 'sms', '+44' || char(13) || char(10) || '77', 1, 1, 9000, 1)",
        "INSERT INTO message_due (message, due) VALUES (2, 1)",
        "UPDATE message SET state = 'lapsed' WHERE id = 2",
        "UPDATE message SET state = 'claimed' WHERE id = 2",
    };
    struct store_room *room = *state;
    add_message(room, 1, "sms");
    add_message(room, 2, "sms");
    assert_all_refused(room, tries, G_N_ELEMENTS(tries));
}

static void the_table_of_changes_the_attempts_and_the_log_are_closed(void **state)
{
    static const char *const tries[] = {
        "INSERT INTO change_allowed VALUES ('sent', 'planned')",
        "REPLACE INTO change_allowed VALUES ('planned', 'claimed')",
        "UPDATE change_allowed SET to_state = 'planned' WHERE from_state = 'sent'",
        "DELETE FROM change_allowed",
        "DELETE FROM attempt",
        "UPDATE attempt SET verdict = 'refused' WHERE id = 1",
        "REPLACE INTO attempt (id, message, number, gateway, started_at) VALUES (1, 1, 9, 'g', 1)",
        "REPLACE INTO attempt (message, number, gateway, started_at) VALUES (1, 1, 'g', 1)",
        "DELETE FROM silence_log",
        "UPDATE silence_log SET silenced = 0",
        "REPLACE INTO silence_log (id, address, at, silenced, how) VALUES (1, 'x', 1, 0, 'x')",
    };
    struct store_room *room = *state;
    add_message(room, 1, "sms");
    store_room_exec(room, "INSERT INTO attempt (message, number, gateway, started_at, ended_at,"
                          " verdict) VALUES (1, 1, 'g', 1, 2, 'accepted');"
                          "INSERT INTO silence (address, since, how) VALUES ('+447700900001', "
                          "1, 'STOP')");
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM silence_log"), 1);
    assert_all_refused(room, tries, G_N_ELEMENTS(tries));
}

static void a_bounce_corrects_the_end_of_what_was_sent(void **state)
{
    struct store_room *room = *state;
    add_message(room, 1, "sms");
    walk_to(room, 1, BL_SENT);
    g_autofree char *sent = store_room_text(room, "SELECT end FROM due WHERE id = 1");
    assert_string_equal(sent, "sent");
    g_autofree char *sql = set_state("failed", 1);
    store_room_exec(room, "%s", sql);
    g_autofree char *failed =
        store_room_text(room, "SELECT end || reason FROM due WHERE id = 1");
    assert_string_equal(failed, "faileda test");
}

/* The words of the program and those the tables let in are the same. */
static void every_word_of_the_program_fits_its_column(void **state)
{
    struct store_room *room = *state;
    for (guint kind = 0; kind < BL_KINDS; kind++) {
        store_room_exec(room,
                        "INSERT INTO due (customer, kind, subject, ordinal, from_at, best_by, "
                        "not_after, numbers) VALUES (1, '%s', 900, 0, 1, 1, 1, '{}')",
                        bl_kind_name((enum bl_kind)kind));
    }
    for (guint surface = 0; surface < BL_SURFACES; surface++) {
        store_room_exec(room,
                        "INSERT INTO treatment (job, rule, surface, part, last_coat_at) "
                        "VALUES (1, 1, '%s', 'p', 1)",
                        bl_surface_name((enum bl_surface)surface));
    }
    for (guint happening = 0; happening < BL_HAPPENINGS; happening++) {
        store_room_exec(room, "INSERT INTO event (car, at, happening) VALUES (1, 1, '%s')",
                        bl_happening_name((enum bl_happening)happening));
    }
    for (guint again = 0; again < BL_AGAINS; again++) {
        store_room_exec(room, "UPDATE treatment SET again = '%s'",
                        bl_again_name((enum bl_again)again));
    }
    for (guint wish = 0; wish < BL_WISHES; wish++) {
        store_room_exec(room, "UPDATE customer SET wish = '%s'",
                        bl_wish_name((enum bl_wish)wish));
    }
    for (guint channel = 0; channel < BL_CHANNELS; channel++) {
        store_room_exec(room, "UPDATE customer SET route = '%s'",
                        bl_channel_name((enum bl_channel)channel));
    }
    for (guint class = 0; class < BL_CLASSES; class ++) {
        store_room_exec(room,
                        "INSERT INTO consent (customer, class, given, at, how) VALUES (1, "
                        "'%s', 1, 1, 'asked')",
                        bl_class_name((enum bl_class) class));
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(no_program_changes_a_state_but_as_the_table_allows),
        TEST(our_own_change_keeps_to_the_table_and_names_both_states),
        TEST(only_what_goes_by_hand_is_told_by_hand),
        TEST(what_was_sent_stays_as_it_was_sent),
        TEST(an_ended_due_stays_ended_and_its_key_is_taken),
        TEST(a_due_that_only_vanished_may_come_back),
        TEST(a_message_begins_planned_whole_and_with_one_message_a_due),
        TEST(the_table_of_changes_the_attempts_and_the_log_are_closed),
        TEST(a_bounce_corrects_the_end_of_what_was_sent),
        TEST(every_word_of_the_program_fits_its_column),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
