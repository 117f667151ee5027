/* The plan goes in: dues and messages follow the plan, and what has ended stays ended. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/ledger.h"
#include "beadline/letterbook.h"
#include "plan_maker.h"
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

/* Applies and frees the plan. */
static void apply_for(struct store_room *room, int64_t customer, struct bl_plan *plan,
                      int64_t now)
{
    GError *error = NULL;
    store_room_begin(room);
    bool well = bl_store_apply(room->store, customer, plan, now, bl_chance_machine(), &error);
    if (!well) {
        print_error("%s\n", error->message);
    }
    assert_true(well);
    store_room_commit(room);
    bl_plan_free(plan);
}

static void apply(struct store_room *room, struct bl_plan *plan, int64_t now)
{
    apply_for(room, 1, plan, now);
}

static void change(struct store_room *room, int64_t message, enum bl_state to)
{
    GError *error = NULL;
    store_room_begin(room);
    assert_true(bl_message_change(room->store, message, to, "the owner said so", 900, &error));
    store_room_commit(room);
}

/* Every message as "id:state:due,due", in the order of ids. */
static void assert_messages(struct store_room *room, const char *expected)
{
    g_autofree char *seen = store_room_text(
        room,
        "SELECT group_concat(t, ' ') FROM (SELECT m.id || ':' || m.state || ':' ||"
        " coalesce((SELECT group_concat(subject) FROM (SELECT d.subject FROM message_due l"
        " JOIN due d ON d.id = l.due WHERE l.message = m.id ORDER BY d.subject)), '') AS t"
        " FROM message m ORDER BY m.id)");
    assert_string_equal(seen ? seen : "", expected);
}

/* Every due as "subject:end", "-" while it is open. */
static void assert_dues(struct store_room *room, const char *expected)
{
    g_autofree char *seen = store_room_text(
        room, "SELECT group_concat(t, ' ') FROM (SELECT subject || ':' || coalesce(end, '-')"
              " AS t FROM due ORDER BY subject)");
    assert_string_equal(seen ? seen : "", expected);
}

static void assert_reason(struct store_room *room, int message, const char *expected)
{
    g_autofree char *reason =
        store_room_text(room, "SELECT reason FROM message WHERE id = %d", message);
    assert_non_null(reason);
    assert_string_equal(reason, expected);
}

static void a_plan_goes_in_with_its_numbers(void **state)
{
    struct store_room *room = *state;
    struct bl_plan *plan = plan_maker_one(1, 1, 4000, 9000);
    struct bl_due *due = &g_array_index(plan->dues, struct bl_due, 0);
    due->car = due->job = due->treatment = due->rule_id = 1;
    apply(room, plan, 1000);
    assert_messages(room, "1:planned:1");
    g_autofree char *row = store_room_text(
        room,
        "SELECT customer || car || job || treatment || rule || kind || from_at || best_by "
        "|| not_after FROM due");
    assert_string_equal(row, "11111top-up10045009000");
    g_autofree char *numbers = store_room_text(room, "SELECT numbers FROM due");
    assert_string_equal(numbers, "{\"early\":5000,\"likely\":6000,\"late\":null,"
                                 "\"extended_from\":null,\"km_a_day\":null,\"speed\":1.25,"
                                 "\"by_distance\":false}");
    assert_int_equal(store_room_number(room, "SELECT json_valid(numbers) FROM due"), 1);
    g_autofree char *message = store_room_text(
        room,
        "SELECT class || channel || address || from_at || send_at || not_after || made_at "
        "FROM message");
    assert_string_equal(message, "offerssms+447700900001100400090001000");
}

/* A fleet's first plan: more dues, messages and links than any one statement takes. Each due
 * must be on the message that is about it, for rows are named by where they came in. */
static void a_fleet_has_each_due_on_its_own_message(void **state)
{
    struct store_room *room = *state;
    struct bl_plan *plan = plan_maker_new();
    for (guint i = 0; i < 29; i++) {
        plan_maker_due(plan, i + 1, 9000 + (int64_t)i);
    }
    for (guint i = 0; i < 29; i += i % 3 ? 1 : 2) {
        plan_maker_intent(plan, 4000 + (int64_t)i, i, MIN(i + (i % 3 ? 0 : 1), 28));
    }
    guint messages = plan->intents->len;
    apply(room, plan, 1000);
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM due"), 29);
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM message"), messages);
    assert_int_equal(
        store_room_number(room, "SELECT count(*) FROM due d JOIN message_due l ON l.due = d.id"
                                " JOIN message m ON m.id = l.message"
                                " WHERE d.subject - 1 - (m.send_at - 4000) IN (0, 1)"
                                " AND d.not_after = 8999 + d.subject"),
        29);
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM message m WHERE not_after <>"
                                             " (SELECT min(d.not_after) FROM message_due l JOIN"
                                             " due d ON d.id = l.due WHERE l.message = m.id)"),
                     0);
}

static void the_same_plan_again_writes_nothing(void **state)
{
    struct store_room *room = *state;
    for (int round = 0; round < 3; round++) {
        int64_t before = store_room_number(room, "PRAGMA data_version");
        struct bl_plan *plan = plan_maker_one(1, 3, 4000, 9000);
        g_array_index(plan->dues, struct bl_due, 1).held = g_strdup("no consent for offers");
        plan_maker_due(plan, 4, 9000);
        plan_maker_intent(plan, 5000, 3, 3)->lapse = g_strdup("six a year are enough");
        g_ptr_array_add(plan->skipped, g_strdup("treatment 9: no such rule"));
        plan->replan_at = 8000;
        apply(room, plan, 1000 + round);
        int64_t after = store_room_number(room, "PRAGMA data_version");
        assert_int_equal(before == after, round > 0);
    }
}

static void a_message_that_moves_keeps_its_row_and_key(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 1, 4000, 9000), 1000);
    g_autofree char *key = store_room_text(room, "SELECT key FROM message");
    struct bl_plan *plan = plan_maker_one(1, 1, 5000, 9500);
    struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, 0);
    intent->channel = BL_MAIL;
    g_free(intent->address);
    intent->address = g_strdup("ada@example.com");
    apply(room, plan, 1000);
    g_autofree char *now = store_room_text(
        room,
        "SELECT group_concat(key || channel || address || send_at || not_after) FROM message");
    g_autofree char *expected = g_strconcat(key, "mailada@example.com50009500", NULL);
    assert_string_equal(now, expected);
}

static void a_due_that_vanishes_and_comes_back_goes_on_a_new_message(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 1, 4000, 9000), 1000);
    apply(room, plan_maker_new(), 1000);
    assert_dues(room, "1:withdrawn");
    assert_messages(room, "1:withdrawn:1");
    assert_reason(room, 1, "no longer due");
    apply(room, plan_maker_one(1, 1, 4000, 9000), 1000);
    assert_dues(room, "1:-");
    assert_messages(room, "1:withdrawn: 2:planned:1");
    assert_int_equal(store_room_number(room, "SELECT count(DISTINCT key) FROM message"), 2);
}

/* The owner reads why a message does not go: what became of what it was about. */
static void a_withdrawn_message_says_what_became_of_its_due(void **state)
{
    static const struct {
        const char *sql; /* what happened; NULL: a newer treatment */
        const char *reason;
    } ways[] = {
        {NULL, "it is over: superseded"},
        {"UPDATE car SET gone_at = 900, gone_how = 'sold' WHERE id = 1",
         "the car is gone: sold"},
        {"UPDATE car SET gone_at = NULL, customer = 2 WHERE id = 1",
         "the car has another owner"},
        {"UPDATE car SET customer = 1 WHERE id = 1; DELETE FROM treatment WHERE id = 1",
         "its treatment was removed"},
    };
    struct store_room *room = *state;
    for (guint i = 0; i < G_N_ELEMENTS(ways); i++) {
        struct bl_plan *plan = plan_maker_one(1, 1, 4000, 9000);
        struct bl_due *due = &g_array_index(plan->dues, struct bl_due, 0);
        due->car = 1;
        due->treatment = 1;
        apply(room, plan, 1000);
        plan = plan_maker_new();
        if (ways[i].sql) {
            store_room_exec(room, "%s", ways[i].sql);
        } else {
            const struct bl_over over = {1, "superseded"};
            g_array_append_val(plan->over, over);
        }
        apply(room, plan, 1000);
        assert_reason(room, (int)i + 1, ways[i].reason);
    }
}

static void a_due_whose_message_the_owner_dropped_never_comes_back(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 2, 4000, 9000), 1000);
    change(room, 1, BL_WITHDRAWN);
    assert_dues(room, "1:withdrawn 2:withdrawn");
    apply(room, plan_maker_new(), 1000);
    apply(room, plan_maker_one(1, 3, 4000, 9000), 1000);
    assert_messages(room, "1:withdrawn:1,2 2:planned:3");
    assert_dues(room, "1:withdrawn 2:withdrawn 3:-");
}

static void messages_gathered_into_one_keep_the_larger(void **state)
{
    struct store_room *room = *state;
    struct bl_plan *apart = plan_maker_one(1, 3, 4000, 9000);
    plan_maker_due(apart, 4, 9000);
    g_array_set_size(apart->intents, 0);
    plan_maker_intent(apart, 3000, 3, 3);
    plan_maker_intent(apart, 4000, 0, 2);
    apply(room, apart, 1000);
    assert_messages(room, "1:planned:4 2:planned:1,2,3");
    apply(room, plan_maker_one(1, 4, 4000, 9000), 1000);
    assert_messages(room, "1:withdrawn: 2:planned:1,2,3,4");
    assert_reason(room, 1, "said by another message");
    assert_dues(room, "1:- 2:- 3:- 4:-");
}

static void a_message_that_splits_leaves_its_row_to_the_first_part(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 2, 4000, 9000), 1000);
    struct bl_plan *apart = plan_maker_one(1, 1, 3000, 9000);
    plan_maker_due(apart, 2, 9000);
    plan_maker_intent(apart, 5000, 1, 1);
    apply(room, apart, 1000);
    assert_messages(room, "1:planned:1 2:planned:2");
}

static void what_the_owner_paused_does_not_slip_out_on_another_message(void **state)
{
    struct store_room *room = *state;
    struct bl_plan *apart = plan_maker_one(1, 2, 3000, 9000);
    plan_maker_due(apart, 3, 9000);
    plan_maker_intent(apart, 4000, 2, 2);
    apply(room, apart, 1000);
    change(room, 2, BL_PAUSED);

    /* Gathered with more: the paused one's row is kept although it carries fewer. */
    apply(room, plan_maker_one(1, 3, 5000, 9000), 1000);
    assert_messages(room, "1:withdrawn: 2:paused:1,2,3");
    assert_reason(room, 2, "the owner said so");
    assert_int_equal(store_room_number(room, "SELECT send_at FROM message WHERE id = 2"), 5000);

    /* Split again: both parts are paused. */
    apart = plan_maker_one(1, 2, 3000, 9000);
    plan_maker_due(apart, 3, 9000);
    plan_maker_intent(apart, 4000, 2, 2);
    apply(room, apart, 1000);
    assert_messages(room, "1:withdrawn: 2:paused:1,2 3:paused:3");

    change(room, 3, BL_PLANNED);
    assert_messages(room, "1:withdrawn: 2:paused:1,2 3:planned:3");
}

static void a_due_that_is_held_leaves_its_message(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 2, 4000, 9000), 1000);
    struct bl_plan *plan = plan_maker_one(1, 1, 4000, 9000);
    plan_maker_due(plan, 2, 9000);
    g_array_index(plan->dues, struct bl_due, 1).held = g_strdup("no consent for offers");
    apply(room, plan, 1000);
    assert_messages(room, "1:planned:1");

    plan = plan_maker_one(1, 2, 4000, 9000);
    g_array_index(plan->intents, struct bl_intent, 0).lapse = g_strdup("six a year are enough");
    apply(room, plan, 1000);
    assert_messages(room, "1:withdrawn:");
    assert_reason(room, 1, "six a year are enough");
    assert_dues(room, "1:- 2:-");

    /* That its last hour is over, or its window, is no truer reason. */
    plan = plan_maker_one(1, 2, 4000, 9000);
    g_array_index(plan->intents, struct bl_intent, 0).lapse = g_strdup("no hour is left");
    g_array_index(plan->intents, struct bl_intent, 0).too_late = true;
    apply(room, plan, 8000);
    plan = plan_maker_one(1, 2, 4000, 9000);
    g_array_set_size(plan->intents, 0);
    apply(room, plan, 9001);

    /* What is held to the end of its window lapses with the reason. */
    guint count = 0;
    GError *error = NULL;
    store_room_begin(room);
    assert_true(bl_store_lapse(room->store, 9001, &count, &error));
    store_room_commit(room);
    assert_int_equal(count, 2);
    g_autofree char *reasons = store_room_text(room, "SELECT group_concat(reason) FROM due");
    assert_string_equal(reasons, "six a year are enough,six a year are enough");
}

static void what_was_paused_to_the_end_of_its_hours_ends_as_paused(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 2, 4000, 9000), 1000);
    change(room, 1, BL_PAUSED);
    struct bl_plan *plan = plan_maker_one(1, 2, 4000, 9000);
    g_array_index(plan->intents, struct bl_intent, 0).lapse = g_strdup("no hour is left");
    g_array_index(plan->intents, struct bl_intent, 0).too_late = true;
    apply(room, plan, 8000);
    assert_messages(room, "1:withdrawn:");
    assert_reason(room, 1, "paused by the owner");
    guint count = 0;
    GError *error = NULL;
    store_room_begin(room);
    assert_true(bl_store_lapse(room->store, 9001, &count, &error));
    store_room_commit(room);
    g_autofree char *reasons = store_room_text(room, "SELECT group_concat(reason) FROM due");
    assert_string_equal(reasons, "paused by the owner,paused by the owner");
}

static void a_due_on_a_message_that_has_begun_stays_with_it(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 1, 4000, 9000), 1000);
    store_room_exec(room, "UPDATE message SET state = 'claimed', claimed_at = 4000");
    apply(room, plan_maker_new(), 4000);
    apply(room, plan_maker_one(1, 2, 6000, 9000), 4000);
    assert_dues(room, "1:- 2:-");
    assert_messages(room, "1:claimed:1 2:planned:2");
    store_room_exec(room,
                    "UPDATE message SET state = 'unsure', reason = 'no answer' WHERE id = 1");
    apply(room, plan_maker_one(1, 2, 6000, 9000), 4000);
    assert_messages(room, "1:unsure:1 2:planned:2");
    store_room_exec(room, "UPDATE message SET state = 'sent', ended_at = 4100 WHERE id = 1");
    apply(room, plan_maker_one(1, 2, 6000, 9000), 4000);
    assert_messages(room, "1:sent:1 2:planned:2");
    assert_dues(room, "1:sent 2:-");
}

static void a_car_that_is_sold_takes_its_open_dues_to_the_new_owner(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 2, 4000, 9000), 1000);
    apply_for(room, 2, plan_maker_one(1, 1, 5000, 9000), 1000);
    assert_messages(room, "1:planned:2 2:planned:1");
    assert_int_equal(store_room_number(room, "SELECT customer FROM due WHERE subject = 1"), 2);
    apply(room, plan_maker_one(2, 2, 4000, 9000), 1000);
    assert_messages(room, "1:planned:2 2:planned:1");

    /* Sold the other way round too: nothing is left to say, and nothing goes. */
    apply_for(room, 2, plan_maker_one(1, 2, 5000, 9000), 1000);
    g_autoptr(GArray) claims = g_array_new(FALSE, TRUE, sizeof(struct bl_claim));
    GError *error = NULL;
    assert_true(bl_store_candidates(room->store, BL_SMS, 4500, 10, claims, &error));
    assert_int_equal(claims->len, 0);
    apply(room, plan_maker_new(), 1000);
    assert_messages(room, "1:withdrawn: 2:planned:1,2");
}

static void what_is_left_out_and_when_to_plan_again_are_kept(void **state)
{
    struct store_room *room = *state;
    struct bl_plan *plan = plan_maker_new();
    g_ptr_array_add(plan->skipped, g_strdup("treatment 9: no such rule"));
    plan->replan_at = 800;
    apply(room, plan, 1000);
    assert_int_equal(store_room_number(room, "SELECT at FROM replan"), 1001);
    GError *error = NULL;
    GPtrArray *skipped = bl_skipped_list(room->store, &error);
    assert_int_equal(skipped->len, 1);
    assert_string_equal(skipped->pdata[0], "Ada Example: treatment 9: no such rule");
    g_ptr_array_unref(skipped);
    apply(room, plan_maker_new(), 1000);
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM skipped"), 0);
    assert_int_equal(store_room_number(room, "SELECT at IS NULL FROM replan"), 1);
}

static guint lapse(struct store_room *room, int64_t now)
{
    guint count = 0;
    GError *error = NULL;
    store_room_begin(room);
    assert_true(bl_store_lapse(room->store, now, &count, &error));
    store_room_commit(room);
    return count;
}

static void a_message_lapses_after_its_last_second(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 1, 4000, 9000), 1000);
    assert_int_equal(lapse(room, 9000), 0);
    assert_int_equal(lapse(room, 9001), 1);
    assert_messages(room, "1:lapsed:1");
    assert_dues(room, "1:lapsed");
    assert_reason(room, 1, "its time passed");
    assert_int_equal(lapse(room, 9002), 0);
}

static void a_paused_message_lapses_because_it_was_paused(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 1, 4000, 9000), 1000);
    store_room_exec(room, "UPDATE message SET state = 'paused'");
    /* The plan keeps a due whose window is over, and gives it no message. */
    struct bl_plan *plan = plan_maker_new();
    plan_maker_due(plan, 1, 9000);
    apply(room, plan, 9001);
    assert_int_equal(lapse(room, 9001), 1);
    g_autofree char *reason = store_room_text(room, "SELECT end || ': ' || reason FROM due");
    assert_string_equal(reason, "lapsed: paused by the owner");
}

static void a_due_with_time_left_leaves_a_message_that_lapses(void **state)
{
    struct store_room *room = *state;
    struct bl_plan *plan = plan_maker_new();
    plan_maker_due(plan, 1, 5000);
    plan_maker_due(plan, 2, 9000);
    plan_maker_intent(plan, 4000, 0, 1);
    apply(room, plan, 1000);
    g_free(store_room_drain(room, 1000));
    assert_int_equal(lapse(room, 5001), 1);
    assert_messages(room, "1:lapsed:1");
    assert_dues(room, "1:lapsed 2:-");
    g_autofree char *again = store_room_drain(room, 5001);
    assert_string_equal(again, "1");
}

static void a_due_waits_for_the_outcome_of_its_message(void **state)
{
    struct store_room *room = *state;
    apply(room, plan_maker_one(1, 1, 4000, 9000), 1000);
    store_room_exec(room, "UPDATE message SET state = 'claimed', claimed_at = 4000");
    store_room_exec(room, "UPDATE message SET state = 'unsure', reason = 'no answer'");
    assert_int_equal(lapse(room, 10000), 0);
    assert_dues(room, "1:-");
    change(room, 1, BL_SENT);
    assert_dues(room, "1:sent");
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_plan_goes_in_with_its_numbers),
        TEST(a_fleet_has_each_due_on_its_own_message),
        TEST(the_same_plan_again_writes_nothing),
        TEST(a_message_that_moves_keeps_its_row_and_key),
        TEST(a_due_that_vanishes_and_comes_back_goes_on_a_new_message),
        TEST(a_withdrawn_message_says_what_became_of_its_due),
        TEST(a_due_whose_message_the_owner_dropped_never_comes_back),
        TEST(messages_gathered_into_one_keep_the_larger),
        TEST(a_message_that_splits_leaves_its_row_to_the_first_part),
        TEST(what_the_owner_paused_does_not_slip_out_on_another_message),
        TEST(a_due_that_is_held_leaves_its_message),
        TEST(what_was_paused_to_the_end_of_its_hours_ends_as_paused),
        TEST(a_due_on_a_message_that_has_begun_stays_with_it),
        TEST(a_car_that_is_sold_takes_its_open_dues_to_the_new_owner),
        TEST(what_is_left_out_and_when_to_plan_again_are_kept),
        TEST(a_message_lapses_after_its_last_second),
        TEST(a_paused_message_lapses_because_it_was_paused),
        TEST(a_due_with_time_left_leaves_a_message_that_lapses),
        TEST(a_due_waits_for_the_outcome_of_its_message),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
