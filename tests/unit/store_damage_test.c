/* A bad memory card: whatever bytes of the database change, opening and reading it ends in an
 * answer or an error, never in a crash, and a refused file is left as it is. BEADLINE_SEED
 * repeats a run. */
#include <glib.h>
#include <glib/gstdio.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/error.h"
#include "beadline/ledger.h"
#include "beadline/letterbook.h"
#include "plan_maker.h"
#include "store_room.h"

#define FILES 200

struct card {
    struct store_room *room;
    GRand *rand;
    char *whole; /* the sound file */
    gsize length;
    guint refused, found, sound; /* what became of the damaged ones */
};

static void put_plans_in(struct store_room *room)
{
    GError *error = NULL;
    store_room_people(room);
    for (int64_t i = 0; i < 20; i++) {
        struct bl_plan *plan = plan_maker_one(i * 10 + 1, i * 10 + 9, 4000, 9000);
        store_room_begin(room);
        assert_true(bl_store_apply(room->store, 1 + i % 2, plan, 1000 + i, bl_chance_machine(),
                                   &error));
        store_room_commit(room);
        bl_plan_free(plan);
    }
}

static int set_up(void **state)
{
    struct card *card = g_new0(struct card, 1);
    const char *given = g_getenv("BEADLINE_SEED");
    guint32 seed = given ? (guint32)g_ascii_strtoull(given, NULL, 10) : g_random_int();
    print_message("BEADLINE_SEED=%u\n", seed);
    card->rand = g_rand_new_with_seed(seed);
    card->room = store_room_new();
    put_plans_in(card->room);
    bl_store_close(g_steal_pointer(&card->room->store));
    sqlite3_close(g_steal_pointer(&card->room->other));
    assert_true(g_file_get_contents(card->room->path, &card->whole, &card->length, NULL));
    *state = card;
    return 0;
}

static int tear_down(void **state)
{
    struct card *card = *state;
    store_room_free(card->room);
    g_rand_free(card->rand);
    g_free(card->whole);
    g_free(card);
    return 0;
}

static gsize below(struct card *card, gsize limit)
{
    return (gsize)g_rand_int_range(card->rand, 0, (gint32)limit);
}

/* One page gone, a few bytes turned, or the end cut off. */
static void damage(struct card *card, char *bytes, gsize *length)
{
    gsize page = below(card, *length / 4096) * 4096;
    switch (below(card, 4)) {
    case 0:
        memset(bytes + page, (int)below(card, 256), 4096);
        break;
    case 1:
        memcpy(bytes + page, bytes + below(card, *length / 4096) * 4096, 4096);
        break;
    case 2:
        *length = below(card, *length);
        break;
    default:
        for (gsize i = 0; i <= below(card, 60); i++) {
            bytes[below(card, *length)] = (char)below(card, 256);
        }
    }
}

static void clear_claim(gpointer claim)
{
    bl_claim_clear(claim);
}

/* Everything a pass would do; what it says is not the point. */
static void use(struct bl_store *store)
{
    struct bl_message_query query = {0};
    g_autoptr(GArray) claims = g_array_new(FALSE, TRUE, sizeof(struct bl_claim));
    g_autoptr(GArray) customers = g_array_new(FALSE, FALSE, sizeof(int64_t));
    struct bl_plan *plan = plan_maker_one(1, 30, 5000, 9000);
    int64_t at = 0;
    guint count = 0;
    g_array_set_clear_func(claims, clear_claim);
    bl_store_candidates(store, BL_SMS, 4000, 100, claims, NULL);
    bl_store_wake(store, 4000, &at, NULL);
    g_autoptr(GArray) messages = bl_message_list(store, &query, NULL);
    g_autoptr(GArray) dues = bl_due_list(store, 0, NULL);
    (void)messages;
    (void)dues;
    if (bl_store_begin(store, 100, NULL)) {
        bool well = bl_store_drain(store, 5000, 100, customers, NULL) &&
                    bl_store_apply(store, 1, plan, 4000, bl_chance_machine(), NULL) &&
                    bl_store_lapse(store, 9500, &count, NULL);
        if (well) {
            bl_store_commit(store, NULL);
        } else {
            bl_store_rollback(store);
        }
    }
    bl_plan_free(plan);
}

static void assert_left_alone(struct card *card, const char *bytes, gsize length)
{
    g_autofree char *now = NULL;
    gsize now_length = 0;
    assert_true(g_file_get_contents(card->room->path, &now, &now_length, NULL));
    assert_int_equal(now_length, length);
    assert_memory_equal(now, bytes, length);
}

static void remove_logs(struct card *card)
{
    static const char *const suffixes[] = {"-wal", "-shm"};
    for (guint i = 0; i < G_N_ELEMENTS(suffixes); i++) {
        g_autofree char *name = g_strconcat(card->room->path, suffixes[i], NULL);
        g_remove(name);
    }
}

static void try_one(struct card *card)
{
    g_autofree char *bytes = g_memdup2(card->whole, card->length);
    gsize length = card->length;
    damage(card, bytes, &length);
    assert_true(g_file_set_contents(card->room->path, bytes, (gssize)length, NULL));
    g_autoptr(GError) error = NULL;
    struct bl_store *store = bl_store_open(card->room->path, &error);
    if (!store) {
        assert_int_equal(error->code, BL_ERROR_DAMAGED);
        assert_left_alone(card, bytes, length);
        card->refused++;
        remove_logs(card);
        return;
    }
    if (bl_store_check(store, &error)) {
        card->sound++;
    } else {
        card->found++;
    }
    use(store);
    bl_store_close(store);
    remove_logs(card);
}

static void a_damaged_file_gives_an_error_and_never_a_crash(void **state)
{
    struct card *card = *state;
    for (int i = 0; i < FILES; i++) {
        try_one(card);
    }
    print_message(
        "of %d damaged files %u were refused, %u found by check, %u whole in all that "
        "counts\n",
        FILES, card->refused, card->found, card->sound);
    assert_true(card->refused > FILES / 20);
    assert_true(card->found > FILES / 20);
}

/* An index that lost its entries: what is read by the table cannot be struck off through it. */
static void a_list_that_does_not_get_shorter_is_an_error(void **state)
{
    struct card *card = *state;
    struct store_room *room = card->room;
    assert_int_equal(sqlite3_open(room->path, &room->other), SQLITE_OK);
    store_room_exec(room, "UPDATE car SET note = 'x'; PRAGMA writable_schema = ON;"
                          "UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM"
                          " sqlite_schema WHERE name = 'skipped_customer')"
                          " WHERE name = 'touched_customer'");
    sqlite3_close(g_steal_pointer(&room->other));
    g_autoptr(GError) error = NULL;
    g_autoptr(GArray) customers = g_array_new(FALSE, FALSE, sizeof(int64_t));
    room->store = bl_store_open(room->path, &error);
    assert_non_null(room->store);
    store_room_begin(room);
    assert_false(bl_store_drain(room->store, 5000, 100, customers, &error));
    assert_int_equal(error->code, BL_ERROR_DAMAGED);
    bl_store_rollback(room->store);
}

/* The log that a power cut leaves half written loses its torn end, never the database. */
static void a_torn_log_loses_only_its_end(void **state)
{
    struct card *card = *state;
    g_autofree char *log = g_strconcat(card->room->path, "-wal", NULL);
    g_autofree char *copy = g_build_filename(card->room->folder, "copy", NULL);
    g_autofree char *copied_log = g_strconcat(copy, "-wal", NULL);
    g_autofree char *bytes = NULL;
    gsize length = 0;
    assert_int_equal(sqlite3_open(card->room->path, &card->room->other), SQLITE_OK);
    for (int i = 0; i < 20; i++) {
        store_room_exec(card->room, "UPDATE customer SET note = '%d' WHERE id = 1", i);
    }
    assert_true(g_file_get_contents(log, &bytes, &length, NULL));
    int64_t before = -1;
    for (int i = 0; i <= 40; i++) {
        GError *error = NULL;
        assert_true(g_file_set_contents(copy, card->whole, (gssize)card->length, NULL));
        assert_true(
            g_file_set_contents(copied_log, bytes, (gssize)(length * (gsize)i / 40), NULL));
        struct bl_store *store = bl_store_open(copy, &error);
        assert_non_null(store);
        assert_true(bl_store_check(store, &error));
        bl_store_close(store);
        sqlite3 *other = NULL;
        assert_int_equal(sqlite3_open(copy, &other), SQLITE_OK);
        sqlite3 *kept = card->room->other;
        card->room->other = other;
        int64_t note = store_room_number(card->room, "SELECT '0' || note FROM customer"
                                                     " WHERE id = 1");
        card->room->other = kept;
        sqlite3_close(other);
        assert_true(note >= before || before < 0);
        before = note;
    }
    assert_int_equal(before, 19);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_damaged_file_gives_an_error_and_never_a_crash),
        TEST(a_list_that_does_not_get_shorter_is_an_error),
        TEST(a_torn_log_loses_only_its_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
