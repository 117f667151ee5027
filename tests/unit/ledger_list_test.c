/* What the ledger shows: messages and dues as the owner asks for them. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/error.h"
#include "beadline/ledger.h"
#include "beadline/letterbook.h"
#include "store_room.h"

/* Messages 1..6 in six states; 1, 3 and 5 are customer 1's about car 1, the others customer 2's
 * about car 2. Message n is for n * 1000. */
static int set_up(void **state)
{
    struct store_room *room = store_room_new();
    store_room_people(room);
    for (int id = 1; id <= 6; id++) {
        int person = id % 2 ? 1 : 2;
        store_room_exec(
            room,
            "INSERT INTO due (id, customer, car, job, kind, subject, ordinal, from_at, best_by,"
            " not_after, numbers) VALUES (%d, %d, %d, %d, 'top-up', %d, 0, %d, 100, 90000, "
            "'{}');"
            "INSERT INTO message (id, customer, key, kind, class, channel, address, from_at, "
            "send_at, not_after, made_at, subject, text, html) VALUES (%d, %d, '%032d', "
            "'top-up', 'offers', 'sms', '+44770090000%d', 100, %d, 90000, 100, 's', 't', 'h');"
            "INSERT INTO message_due (message, due) VALUES (%d, %d)",
            id, person, person, person, id, 10000 - id, id, person, id, person, id * 1000, id,
            id);
    }
    store_room_exec(
        room,
        "UPDATE message SET state = 'paused', reason = 'later' WHERE id = 2;"
        "UPDATE message SET state = 'claimed', claimed_at = 3000, gateway = 'g' WHERE id >= 3;"
        "INSERT INTO attempt (message, number, gateway, started_at, ended_at, verdict, answer)"
        " VALUES (4, 1, 'g', 1, 2, 'later', '451 busy'), (4, 2, 'g', 3, 4, 'accepted', '250 ok');"
        "UPDATE message SET state = 'sent', ended_at = 9000, reference = 'ref' WHERE id = 4;"
        "UPDATE message SET state = 'failed', ended_at = 8000, reason = 'no' WHERE id = 5;"
        "UPDATE message SET state = 'unsure', reason = 'no answer' WHERE id = 6");
    *state = room;
    return 0;
}

static int tear_down(void **state)
{
    store_room_free(*state);
    return 0;
}

static void assert_list(struct store_room *room, struct bl_message_query query,
                        const char *expected)
{
    GError *error = NULL;
    g_autoptr(GArray) list = bl_message_list(room->store, &query, &error);
    assert_non_null(list);
    g_autoptr(GString) text = g_string_new(NULL);
    for (guint i = 0; i < list->len; i++) {
        g_string_append_printf(text, "%s%" G_GINT64_FORMAT, i ? " " : "",
                               g_array_index(list, struct bl_message_row, i).id);
    }
    assert_string_equal(text->str, expected);
}

#define BIT(state) (1U << (state))

static void a_list_holds_what_was_asked_for_in_order(void **state)
{
    static const struct {
        struct bl_message_query query;
        const char *ids;
    } lists[] = {
        {{0}, "1 2 3 4 5 6"},
        {{.newest_first = true}, "4 5 6 3 2 1"},
        {{.limit = 2}, "1 2"},
        {{.newest_first = true, .limit = 2}, "4 5"},
        {{.states = BIT(BL_PLANNED) | BIT(BL_PAUSED)}, "1 2"},
        {{.states = BIT(BL_PLANNED) | BIT(BL_PAUSED), .send_before = 2000}, "1"},
        {{.states = BIT(BL_UNSURE) | BIT(BL_CLAIMED)}, "3 6"},
        {{.states = BIT(BL_LAPSED)}, ""},
        {{.customer = 1}, "1 3 5"},
        {{.customer = 1, .states = BIT(BL_FAILED)}, "5"},
        {{.car = 2}, "2 4 6"},
        {{.car = 2, .customer = 1}, ""},
        {{.car = 2, .newest_first = true, .limit = 1}, "4"},
        {{.job = 1, .send_before = 4000}, "1 3"},
        {{.ended_since = 8000}, "4 5"},
        {{.ended_since = 8001, .newest_first = true}, "4"},
        {{.send_before = 3001}, "1 2 3"},
    };
    for (guint i = 0; i < G_N_ELEMENTS(lists); i++) {
        assert_list(*state, lists[i].query, lists[i].ids);
    }
}

static void a_message_is_shown_with_who_and_what_it_is_about(void **state)
{
    struct store_room *room = *state;
    struct bl_message_row row;
    GError *error = NULL;
    assert_true(bl_message_get(room->store, 4, &row, &error));
    assert_string_equal(row.customer_name, "Ben Example");
    assert_string_equal(row.cars, "AB 2");
    assert_string_equal(row.answer, "250 ok");
    assert_string_equal(row.reference, "ref");
    assert_string_equal(row.gateway, "g");
    assert_string_equal(row.subject, "s");
    assert_string_equal(row.text, "t");
    assert_string_equal(row.html, "h");
    assert_string_equal(row.address, "+447700900002");
    assert_string_equal(row.key, "00000000000000000000000000000004");
    assert_null(row.reason);
    assert_int_equal(row.kind, BL_TOP_UP);
    assert_int_equal(row.class, BL_OFFERS);
    assert_int_equal(row.channel, BL_SMS);
    assert_int_equal(row.state, BL_SENT);
    assert_int_equal(row.from, 100);
    assert_int_equal(row.send_at, 4000);
    assert_int_equal(row.not_before, 0);
    assert_int_equal(row.not_after, 90000);
    assert_int_equal(row.claimed_at, 3000);
    assert_int_equal(row.ended_at, 9000);
    bl_message_row_clear(&row);

    assert_false(bl_message_get(room->store, 44, &row, &error));
    assert_int_equal(error->code, BL_ERROR_MISSING);
    g_clear_error(&error);
}

static void two_cars_in_one_message_are_both_named(void **state)
{
    struct store_room *room = *state;
    store_room_exec(room, "UPDATE due SET car = 1 WHERE id = 2;"
                          "DELETE FROM message_due WHERE message = 1;"
                          "INSERT INTO message_due (message, due) VALUES (2, 1);"
                          "UPDATE due SET car = 2 WHERE id = 1");
    struct bl_message_row row;
    GError *error = NULL;
    assert_true(bl_message_get(room->store, 2, &row, &error));
    assert_string_equal(row.cars, "AB 1, AB 2");
    bl_message_row_clear(&row);
    g_autoptr(GArray) dues = bl_message_dues(room->store, 2, &error);
    assert_int_equal(dues->len, 2);
    assert_int_equal(g_array_index(dues, struct bl_ended, 1).subject, 2);
    assert_true(bl_message_get(room->store, 1, &row, &error));
    assert_string_equal(row.cars, "");
    bl_message_row_clear(&row);
}

static void open_dues_come_first_by_when_they_begin(void **state)
{
    struct store_room *room = *state;
    GError *error = NULL;
    g_autoptr(GArray) everybodys = bl_due_list(room->store, 0, &error);
    g_autoptr(GString) order = g_string_new(NULL);
    for (guint i = 0; i < everybodys->len; i++) {
        const struct bl_due_row *row = &g_array_index(everybodys, struct bl_due_row, i);
        g_string_append_printf(order, "%d%s ", (int)row->id, row->end ? row->end : "");
    }
    assert_string_equal(order->str, "6 3 2 1 5failed 4sent ");
    g_autoptr(GArray) ones = bl_due_list(room->store, 1, &error);
    assert_int_equal(ones->len, 3);
    const struct bl_due_row *last = &g_array_index(ones, struct bl_due_row, 2);
    assert_int_equal(last->id, 5);
    assert_int_equal(last->customer, 1);
    assert_int_equal(last->car, 1);
    assert_int_equal(last->job, 1);
    assert_int_equal(last->treatment, 0);
    assert_int_equal(last->kind, BL_TOP_UP);
    assert_int_equal(last->not_after, 90000);
    assert_int_equal(last->ended_at, 8000);
    assert_string_equal(last->reason, "no");
    assert_string_equal(last->numbers, "{}");
    assert_null(last->held);
}

/* A program that switches the checks off can write any word; reading it is an error, no crash.
 */
static void a_word_that_is_not_ours_is_damage(void **state)
{
    struct store_room *room = *state;
    GError *error = NULL;
    struct bl_message_row row;
    store_room_exec(room, "PRAGMA ignore_check_constraints = ON;"
                          "UPDATE message SET kind = 'serenade' WHERE id = 1");
    assert_false(bl_message_get(room->store, 1, &row, &error));
    assert_int_equal(error->code, BL_ERROR_DAMAGED);
    assert_non_null(strstr(error->message, "\"serenade\""));
    g_clear_error(&error);
    struct bl_message_query query = {0};
    assert_null(bl_message_list(room->store, &query, &error));
    assert_int_equal(error->code, BL_ERROR_DAMAGED);
    g_clear_error(&error);
    g_autoptr(GArray) claims = g_array_new(FALSE, TRUE, sizeof(struct bl_claim));
    assert_false(bl_store_candidates(room->store, BL_SMS, 5000, 10, claims, &error));
    for (guint i = 0; i < claims->len; i++) {
        bl_claim_clear(&g_array_index(claims, struct bl_claim, i));
    }
    assert_int_equal(error->code, BL_ERROR_DAMAGED);
    g_clear_error(&error);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_list_holds_what_was_asked_for_in_order),
        TEST(a_message_is_shown_with_who_and_what_it_is_about),
        TEST(two_cars_in_one_message_are_both_named),
        TEST(open_dues_come_first_by_when_they_begin),
        TEST(a_word_that_is_not_ours_is_damage),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
