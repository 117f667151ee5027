/* Waking: whoever writes a fact, by whatever kind of statement, its customer is planned again;
 * and the store knows when there is something to do next. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/civil.h"
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

struct writing {
    const char *before; /* what is there already; NULL nothing more */
    const char *sql;    /* what the other program writes */
    const char *touched;
};

/* Every statement is written by a program with foreign keys off. */
static void assert_touches(const struct writing *writings, guint count)
{
    for (guint i = 0; i < count; i++) {
        struct store_room *room = store_room_new();
        store_room_people(room);
        if (writings[i].before) {
            store_room_exec(room, "%s", writings[i].before);
            store_room_exec(room, "DELETE FROM touched");
        }
        store_room_exec(room, "%s", writings[i].sql);
        g_autofree char *touched = store_room_drain(room, 5000);
        if (strcmp(touched, writings[i].touched) != 0) {
            print_error("%s\n", writings[i].sql);
        }
        assert_string_equal(touched, writings[i].touched);
        store_room_free(room);
    }
}

static void every_fact_that_planning_reads_touches_its_customer(void **state)
{
    (void)state;
    static const struct writing writings[] = {
        {NULL, "INSERT INTO customer (name, added_at) VALUES ('Cy', 1000)", "3"},
        {NULL, "UPDATE customer SET wish = 'never' WHERE id = 2", "2"},
        {NULL, "UPDATE customer SET id = 9 WHERE id = 2", "9"},
        {NULL,
         "INSERT INTO consent (customer, class, given, at, how) VALUES (2, 'tips', 1, 1, "
         "'asked')",
         "2"},
        {"INSERT INTO consent (customer, class, given, at, how) VALUES (2, 'tips', 1, 1, 'x')",
         "UPDATE consent SET customer = 1", "1 2"},
        {"INSERT INTO consent (customer, class, given, at, how) VALUES (2, 'tips', 1, 1, 'x')",
         "DELETE FROM consent", "2"},
        {NULL, "INSERT INTO car (customer, plate, plate_key, added_at) VALUES (2, 'C', 'C', 1)",
         "2"},
        {NULL, "UPDATE car SET customer = 2 WHERE id = 1", "1 2"},
        {NULL, "UPDATE car SET gone_at = 3000 WHERE id = 1", "1"},
        {NULL, "DELETE FROM car WHERE id = 1", "1"},
        {NULL, "UPDATE car_owner SET since = 5 WHERE car = 2", "2"},
        {NULL, "DELETE FROM car_owner WHERE car = 2", "2"},
        {NULL, "INSERT INTO mileage (car, at, km) VALUES (2, 3000, 41000)", "2"},
        {"INSERT INTO mileage (car, at, km) VALUES (2, 3000, 41000)",
         "UPDATE mileage SET km = 42000", "2"},
        {"INSERT INTO mileage (car, at, km) VALUES (2, 3000, 41000)",
         "UPDATE mileage SET car = 1", "1 2"},
        {"INSERT INTO mileage (car, at, km) VALUES (2, 3000, 41000)", "DELETE FROM mileage",
         "2"},
        {NULL, "INSERT INTO job (car, customer, finished_at, entered_at) VALUES (2, 1, 9, 9)",
         "2"},
        {NULL, "UPDATE job SET temp_c = 4 WHERE id = 1", "1"},
        {NULL, "UPDATE job SET car = 2, finished_at = 77 WHERE id = 1", "1 2"},
        {NULL, "DELETE FROM job WHERE id = 1", "1"},
        {NULL,
         "INSERT INTO treatment (job, rule, surface, last_coat_at) VALUES (2, 1, 'paint', "
         "9)",
         "2"},
        {NULL, "UPDATE treatment SET job = 2, surface = 'trim' WHERE id = 1", "1 2"},
        {NULL, "DELETE FROM treatment WHERE id = 2", "2"},
        {NULL, "INSERT INTO event (car, at, happening) VALUES (1, 9, 'care')", "1"},
        {"INSERT INTO event (car, at, happening) VALUES (1, 9, 'care')",
         "UPDATE event SET car = 2", "1 2"},
        {"INSERT INTO event (car, at, happening) VALUES (1, 9, 'care')", "DELETE FROM event",
         "1"},
        {NULL, "UPDATE rule_version SET text = 'longer life'", "1 2"},
        {"UPDATE treatment SET rule = 7 WHERE id = 2", "DELETE FROM rule_version", "1"},
        {"UPDATE treatment SET rule = 7 WHERE id = 2",
         "INSERT INTO rule_version (id, product, text, stored_at) VALUES (7, 'wax', 'x', 1)",
         "2"},
        {NULL, "INSERT INTO silence (address, since, how) VALUES ('+447700900002', 1, 'STOP')",
         "2"},
        {NULL,
         "INSERT INTO silence (address, since, how) VALUES ('ADA@EXAMPLE.COM', 1, 'STOP')",
         "1"},
        {"UPDATE customer SET phone = '+447700900002' WHERE id = 1",
         "INSERT INTO silence (address, since, how) VALUES ('+447700900002', 1, 'STOP')",
         "1 2"},
        {"INSERT INTO silence (address, since, how) VALUES ('+447700900002', 1, 'STOP')",
         "UPDATE silence SET address = '+447700900001'", "1 2"},
        {"INSERT INTO silence (address, since, how) VALUES ('+447700900002', 1, 'STOP')",
         "DELETE FROM silence", "2"},
    };
    assert_touches(writings, G_N_ELEMENTS(writings));
}

static void a_row_that_replaces_another_touches_the_owners_of_both(void **state)
{
    (void)state;
    static const struct writing writings[] = {
        {NULL, "REPLACE INTO customer (id, name, added_at) VALUES (1, 'Ada Other', 1000)", "1"},
        {NULL, "UPDATE OR REPLACE customer SET id = 1 WHERE id = 2", "1"},
        {NULL,
         "REPLACE INTO car (id, customer, plate, plate_key, added_at) VALUES (1, 2, 'Z', 'Z', 1)",
         "1 2"},
        {NULL,
         "REPLACE INTO car (customer, plate, plate_key, added_at) VALUES (2, 'AB1', 'AB1', 1)",
         "1 2"},
        {NULL, "UPDATE OR REPLACE car SET plate_key = 'AB1' WHERE id = 2", "1 2"},
        {NULL, "UPDATE OR REPLACE car SET id = 1 WHERE id = 2", "1 2"},
        {NULL,
         "REPLACE INTO job (id, car, customer, finished_at, entered_at) VALUES (1, 2, 2, 9, 9)",
         "1 2"},
        {NULL, "UPDATE OR REPLACE job SET id = 1 WHERE id = 2", "1 2"},
        {NULL, "UPDATE OR REPLACE job SET car = 2 WHERE id = 1", "1 2"},
        {NULL,
         "REPLACE INTO treatment (id, job, rule, surface, last_coat_at) VALUES (1, 2, 1, "
         "'trim', 9)",
         "1 2"},
        {NULL, "UPDATE OR REPLACE treatment SET job = 2 WHERE id = 1", "1 2"},
        {"INSERT INTO mileage (id, car, at, km) VALUES (5, 1, 3000, 41000)",
         "REPLACE INTO mileage (id, car, at, km) VALUES (5, 2, 3000, 41000)", "1 2"},
        {"INSERT INTO event (id, car, at, happening) VALUES (5, 1, 9, 'care')",
         "REPLACE INTO event (id, car, at, happening) VALUES (5, 2, 9, 'care')", "1 2"},
        {"INSERT INTO consent (id, customer, class, given, at, how) VALUES (5, 1, 'tips', 1, 1, "
         "'x')",
         "REPLACE INTO consent (id, customer, class, given, at, how) VALUES (5, 2, 'tips', 0, "
         "1, 'x')",
         "1 2"},
        {"UPDATE car_owner SET id = 50 WHERE car = 1",
         "REPLACE INTO car_owner (id, car, customer, since) VALUES (50, 2, 2, 5)", "1 2"},
        {"INSERT INTO rule_version (id, product, text, stored_at) VALUES (2, 'wax', 'x', 1);"
         "UPDATE treatment SET rule = 2 WHERE id = 2",
         "REPLACE INTO rule_version (id, product, text, stored_at) VALUES (9, 'wax', 'x', 1)",
         "2"},
        {"INSERT INTO rule_version (id, product, text, stored_at) VALUES (2, 'wax', 'x', 1);"
         "UPDATE treatment SET rule = 2 WHERE id = 2",
         "REPLACE INTO rule_version (id, product, text, stored_at) VALUES (2, 'wax', 'y', 1)",
         "2"},
        {"INSERT INTO silence (address, since, how) VALUES ('+447700900001', 1, 'STOP'),"
         " ('+447700900002', 1, 'STOP')",
         "UPDATE OR REPLACE silence SET address = '+447700900001' WHERE address LIKE '%2'",
         "1 2"},
    };
    assert_touches(writings, G_N_ELEMENTS(writings));
}

/* What a statement says about conflicts holds inside its triggers too. */
static void no_conflict_clause_of_a_writer_silences_the_touch(void **state)
{
    (void)state;
    static const char *const clauses[] = {"ABORT", "FAIL", "IGNORE", "REPLACE", "ROLLBACK"};
    struct store_room *room = *state;
    for (guint i = 0; i < G_N_ELEMENTS(clauses); i++) {
        for (guint twice = 0; twice < 2; twice++) {
            store_room_exec(room,
                            "INSERT OR %s INTO mileage (car, at, km) VALUES (2, %u, 41000)",
                            clauses[i], 3000 + i * 10 + twice);
            store_room_exec(room, "UPDATE OR %s car SET note = '%u' WHERE id = 1", clauses[i],
                            twice);
        }
        g_autofree char *touched = store_room_drain(room, 5000);
        assert_string_equal(touched, "1 2");
    }
}

static void an_insert_that_fails_half_way_keeps_the_touch_of_its_first_rows(void **state)
{
    struct store_room *room = *state;
    g_autofree char *said =
        store_room_try(room, "INSERT OR FAIL INTO job (car, customer, finished_at, entered_at)"
                             " VALUES (2, 2, 9, 9), (1, 1, 2000, 9)");
    assert_non_null(said);
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM job WHERE car = 2"), 2);
    g_autofree char *touched = store_room_drain(room, 5000);
    assert_non_null(strchr(touched, '2'));
}

static void rows_without_an_owner_wait_for_him(void **state)
{
    struct store_room *room = *state;
    store_room_exec(room,
                    "INSERT INTO treatment (job, rule, surface, last_coat_at) VALUES (7, 1, "
                    "'paint', 9)");
    store_room_exec(room, "INSERT INTO job (id, car, customer, finished_at, entered_at)"
                          " VALUES (7, 7, 7, 9, 9)");
    g_autofree char *nobody = store_room_drain(room, 5000);
    assert_string_equal(nobody, "");
    store_room_exec(room, "INSERT INTO car (id, customer, plate, plate_key, added_at)"
                          " VALUES (7, 2, 'LATE', 'LATE', 1)");
    g_autofree char *somebody = store_room_drain(room, 5000);
    assert_string_equal(somebody, "2");
}

static void a_touch_outlives_a_touch_of_the_same_customer(void **state)
{
    struct store_room *room = *state;
    for (int i = 0; i < 20; i++) {
        store_room_exec(room, "UPDATE car SET note = '%d' WHERE id = %d", i, i % 2 + 1);
    }
    g_autofree char *once = store_room_drain(room, 5000);
    assert_string_equal(once, "1 2");
    g_autofree char *nothing = store_room_drain(room, 5000);
    assert_string_equal(nothing, "");
    store_room_exec(room, "UPDATE car SET note = 'x' WHERE id = 1");
    g_autofree char *again = store_room_drain(room, 5000);
    assert_string_equal(again, "1");
}

static void draining_takes_the_oldest_first_and_no_more_than_asked(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GArray) customers = g_array_new(FALSE, FALSE, sizeof(int64_t));
    GError *error = NULL;
    store_room_exec(room, "UPDATE customer SET note = 'x' WHERE id = 2");
    store_room_exec(room, "UPDATE customer SET note = 'x' WHERE id = 1");
    store_room_begin(room);
    assert_true(bl_store_drain(room->store, 5000, 1, customers, &error));
    assert_int_equal(customers->len, 1);
    assert_int_equal(g_array_index(customers, int64_t, 0), 2);
    bl_store_rollback(room->store);
    g_autofree char *after_rollback = store_room_drain(room, 5000);
    assert_string_equal(after_rollback, "1 2");
}

static void changed_settings_touch_everybody(void **state)
{
    struct store_room *room = *state;
    GError *error = NULL;
    store_room_begin(room);
    assert_true(bl_store_touch_all(room->store, &error));
    store_room_commit(room);
    g_autofree char *touched = store_room_drain(room, 5000);
    assert_string_equal(touched, "1 2");
}

static void a_car_remembers_its_owners_and_plates_whoever_changes_them(void **state)
{
    struct store_room *room = *state;
    store_room_exec(room, "UPDATE car SET customer = 2, plate = 'NEW 1', plate_key = 'NEW1',"
                          " changed_at = 3000 WHERE id = 1");
    g_autofree char *owners = store_room_text(
        room, "SELECT group_concat(customer || '@' || since) FROM car_owner WHERE car = 1");
    assert_string_equal(owners, "1@1000,2@3000");
    g_autofree char *plates = store_room_text(
        room, "SELECT group_concat(plate_key || '@' || since) FROM car_plate WHERE car = 1");
    assert_string_equal(plates, "AB1@1000,NEW1@3000");
    assert_int_equal(store_room_number(room, "SELECT changed_at IS NULL FROM car WHERE id = 1"),
                     1);

    /* A program that says no instant gets the machine's. */
    store_room_exec(room, "UPDATE car SET customer = 1 WHERE id = 1");
    assert_int_equal(
        store_room_number(room, "SELECT max(since) > 1700000000 FROM car_owner WHERE car = 1"),
        1);
}

static void a_replaced_car_keeps_its_history(void **state)
{
    struct store_room *room = *state;
    store_room_exec(room, "PRAGMA foreign_keys = ON");
    store_room_exec(room, "REPLACE INTO car (id, customer, plate, plate_key, added_at)"
                          " VALUES (1, 1, 'AB 1', 'AB1', 1000)");
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM car_owner WHERE car = 1"),
                     1);
    store_room_exec(room,
                    "REPLACE INTO car (id, customer, plate, plate_key, added_at, changed_at)"
                    " VALUES (1, 2, 'AB 1', 'AB1', 1000, 4000)");
    g_autofree char *owners = store_room_text(
        room, "SELECT group_concat(customer || '@' || since) FROM car_owner WHERE car = 1");
    assert_string_equal(owners, "1@1000,2@4000");
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM car_plate WHERE car = 1"),
                     1);
}

static void nothing_goes_to_a_customer_somebody_removed(void **state)
{
    struct store_room *room = *state;
    store_room_exec(
        room,
        "INSERT INTO due (id, customer, kind, subject, ordinal, from_at, best_by, not_after, "
        "numbers) VALUES (1, 2, 'wash', 2, 0, 100, 100, 9000, '{}');"
        "INSERT INTO message (id, customer, key, kind, class, channel, address, from_at, "
        "send_at, not_after, made_at) VALUES (1, 2, '%032d', 'wash', 'service', 'sms', "
        "'+447700900002', 100, 100, 9000, 100);"
        "INSERT INTO message_due (message, due) VALUES (1, 1);"
        "INSERT INTO replan (customer, at) VALUES (2, 1);"
        "INSERT INTO skipped (customer, text) VALUES (2, 'treatment 9: no such rule')",
        1);
    store_room_exec(room, "DELETE FROM customer WHERE id = 2");

    g_autoptr(GArray) claims = g_array_new(FALSE, TRUE, sizeof(struct bl_claim));
    GError *error = NULL;
    assert_true(bl_store_candidates(room->store, BL_SMS, 5000, 10, claims, &error));
    assert_int_equal(claims->len, 0);

    g_autofree char *drained = store_room_drain(room, 5000);
    assert_string_equal(drained, "");
    g_autofree char *message = store_room_text(room, "SELECT state FROM message");
    assert_string_equal(message, "withdrawn");
    g_autofree char *due = store_room_text(room, "SELECT end || reason FROM due");
    assert_string_equal(due, "withdrawnthe customer is no longer there");
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM replan"), 0);
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM skipped"), 0);
    int64_t at = 0;
    assert_true(bl_store_wake(room->store, 0, &at, &error));
    assert_true(at == BL_NEVER);
}

static void add_message(struct store_room *room, int id, const char *channel, int send_at,
                        int not_after)
{
    const char *address = strcmp(channel, "by hand") == 0 ? "NULL" : "'+447700900001'";
    store_room_exec(
        room,
        "INSERT INTO due (id, customer, kind, subject, ordinal, from_at, best_by, not_after, "
        "numbers) VALUES (%d, 1, 'top-up', %d, 0, 100, 100, %d, '{}');"
        "INSERT INTO message (id, customer, key, kind, class, channel, address, from_at, "
        "send_at, not_after, made_at) VALUES (%d, 1, '%032d', 'top-up', 'offers', '%s', %s, "
        "100, %d, %d, 100);"
        "INSERT INTO message_due (message, due) VALUES (%d, %d)",
        id, id, not_after, id, id, channel, address, send_at, not_after, id, id);
}

static int64_t wake_after(struct store_room *room, int64_t now)
{
    int64_t at = -1;
    GError *error = NULL;
    assert_true(bl_store_wake(room->store, now, &at, &error));
    return at;
}

static int64_t wake(struct store_room *room)
{
    return wake_after(room, 0);
}

/* What could have gone and did not must not hide what is ahead. */
static void what_waits_for_something_else_does_not_hide_the_next(void **state)
{
    struct store_room *room = *state;
    add_message(room, 1, "sms", 6000, 9000);
    add_message(room, 2, "sms", 6500, 9000);
    assert_int_equal(wake_after(room, 6000), 6500);
    assert_int_equal(wake_after(room, 6500), 9001);
    assert_true(wake_after(room, 9001) == BL_NEVER);
    store_room_exec(room, "INSERT INTO replan (customer, at) VALUES (1, 7000)");
    assert_int_equal(wake_after(room, 6600), 7000);
    assert_int_equal(wake_after(room, 7000), 7000);
}

static void with_nothing_ahead_nothing_wakes(void **state)
{
    struct store_room *room = *state;
    assert_true(wake(room) == BL_NEVER);
    store_room_exec(room, "UPDATE car SET note = 'x'");
    assert_int_equal(wake(room), 0);
    g_free(store_room_drain(room, 5000));
    assert_true(wake(room) == BL_NEVER);
    store_room_exec(room, "INSERT INTO replan (customer, at) VALUES (1, 8000), (2, NULL)");
    assert_int_equal(wake(room), 8000);
}

static void the_earliest_of_message_retry_and_window_wakes(void **state)
{
    struct store_room *room = *state;
    add_message(room, 1, "sms", 6000, 9000);
    add_message(room, 2, "mail", 5500, 9000);
    assert_int_equal(wake(room), 5500);
    store_room_exec(room, "UPDATE message SET not_before = 7000 WHERE id = 2");
    assert_int_equal(wake(room), 6000);
    store_room_exec(room, "UPDATE message SET state = 'paused' WHERE id = 1");
    assert_int_equal(wake(room), 7000);
    store_room_exec(room, "UPDATE message SET state = 'paused' WHERE id = 2");
    assert_int_equal(wake(room), 9001);
}

static void a_message_by_hand_wakes_only_when_its_window_is_over(void **state)
{
    struct store_room *room = *state;
    add_message(room, 1, "by hand", 6000, 9000);
    assert_int_equal(wake(room), 9001);
}

static void a_message_on_the_wire_or_unsure_wakes_nobody(void **state)
{
    struct store_room *room = *state;
    add_message(room, 1, "sms", 6000, 9000);
    store_room_exec(room, "UPDATE message SET state = 'claimed', claimed_at = 6000");
    assert_true(wake(room) == BL_NEVER);
    store_room_exec(room, "UPDATE message SET state = 'unsure', reason = 'no answer'");
    assert_true(wake(room) == BL_NEVER);
}

/* Closed hours or a resting gateway hold it back: that must not hide what comes after. */
static void what_could_have_gone_already_hides_nothing_that_is_ahead(void **state)
{
    struct store_room *room = *state;
    add_message(room, 1, "sms", 6000, 9000);
    add_message(room, 2, "mail", 7000, 9000);
    store_room_exec(room, "INSERT INTO replan (customer, at) VALUES (1, 7500), (2, 6200)");
    int64_t at = -1;
    GError *error = NULL;
    assert_true(bl_store_wake(room->store, 6100, &at, &error));
    assert_int_equal(at, 6200);
    assert_true(bl_store_wake(room->store, 6300, &at, &error));
    assert_int_equal(at, 6300); /* somebody wants planning */
    g_free(store_room_drain(room, 6300));
    assert_true(bl_store_wake(room->store, 6300, &at, &error));
    assert_int_equal(at, 7000);
    assert_true(bl_store_wake(room->store, 7500, &at, &error));
    assert_int_equal(at, 7500);
    g_free(store_room_drain(room, 7500));
    assert_true(bl_store_wake(room->store, 7500, &at, &error));
    assert_int_equal(at, 9001);
}

/* Whatever it wakes for is gone once it is done: the daemon never spins. */
static void after_lapsing_and_draining_the_next_instant_is_ahead(void **state)
{
    struct store_room *room = *state;
    add_message(room, 1, "sms", 6000, 9000);
    add_message(room, 2, "by hand", 6000, 9500);
    store_room_exec(room, "UPDATE message SET state = 'paused' WHERE id = 1");
    store_room_exec(
        room, "INSERT INTO due (customer, kind, subject, ordinal, from_at, best_by, not_after, "
              "numbers) VALUES (1, 'wash', 1, 0, 1, 1, 9200, '{}');"
              "INSERT INTO replan (customer, at) VALUES (1, 9100)");
    GError *error = NULL;
    guint rounds = 0;
    for (int64_t now = wake(room); now != BL_NEVER; now = wake_after(room, now), rounds++) {
        guint count = 0;
        assert_in_range(rounds, 0, 4);
        g_free(store_room_drain(room, now));
        store_room_begin(room);
        assert_true(bl_store_lapse(room->store, now, &count, &error));
        store_room_commit(room);
        assert_true(wake_after(room, now) > now);
    }
    assert_int_equal(rounds, 4);
}

static void a_customer_whose_time_has_come_is_drained_once(void **state)
{
    struct store_room *room = *state;
    store_room_exec(room, "INSERT INTO replan (customer, at) VALUES (1, 5000), (2, 5001)");
    g_autofree char *due = store_room_drain(room, 5000);
    assert_string_equal(due, "1");
    g_autofree char *again = store_room_drain(room, 5000);
    assert_string_equal(again, "");
    assert_int_equal(wake(room), 5001);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_fact_that_planning_reads_touches_its_customer),
        cmocka_unit_test(a_row_that_replaces_another_touches_the_owners_of_both),
        TEST(no_conflict_clause_of_a_writer_silences_the_touch),
        TEST(an_insert_that_fails_half_way_keeps_the_touch_of_its_first_rows),
        TEST(rows_without_an_owner_wait_for_him),
        TEST(a_touch_outlives_a_touch_of_the_same_customer),
        TEST(draining_takes_the_oldest_first_and_no_more_than_asked),
        TEST(changed_settings_touch_everybody),
        TEST(a_car_remembers_its_owners_and_plates_whoever_changes_them),
        TEST(a_replaced_car_keeps_its_history),
        TEST(nothing_goes_to_a_customer_somebody_removed),
        TEST(with_nothing_ahead_nothing_wakes),
        TEST(what_waits_for_something_else_does_not_hide_the_next),
        TEST(the_earliest_of_message_retry_and_window_wakes),
        TEST(a_message_by_hand_wakes_only_when_its_window_is_over),
        TEST(a_message_on_the_wire_or_unsure_wakes_nobody),
        TEST(what_could_have_gone_already_hides_nothing_that_is_ahead),
        TEST(after_lapsing_and_draining_the_next_instant_is_ahead),
        TEST(a_customer_whose_time_has_come_is_drained_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
