/* Opening the database: what is taken for ours, what is refused and left alone. */
#include <glib.h>
#include <glib/gstdio.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "beadline/error.h"
#include "store_room.h"

static int set_up(void **state)
{
    *state = store_room_new();
    return 0;
}

static int tear_down(void **state)
{
    store_room_free(*state);
    return 0;
}

/* Closes our side and the other's, so the whole database is in its file. */
static void put_away(struct store_room *room)
{
    bl_store_close(g_steal_pointer(&room->store));
    sqlite3_close(g_steal_pointer(&room->other));
}

/* The other program changes the database while we have it closed. */
static void meddle(struct store_room *room, const char *sql)
{
    put_away(room);
    assert_int_equal(sqlite3_open(room->path, &room->other), SQLITE_OK);
    store_room_exec(room, "%s", sql);
    sqlite3_close(g_steal_pointer(&room->other));
}

static void assert_refused(struct store_room *room, enum bl_error_code code, const char *says)
{
    g_autoptr(GError) error = NULL;
    room->store = bl_store_open(room->path, &error);
    assert_null(room->store);
    assert_non_null(error);
    if (!strstr(error->message, says)) {
        print_error("\"%s\" does not say \"%s\"\n", error->message, says);
    }
    assert_non_null(strstr(error->message, says));
    assert_int_equal(error->code, code);
}

/* Refused, and every byte of the file is as it was. */
static void assert_refused_untouched(struct store_room *room, const char *says)
{
    g_autofree char *before = NULL;
    g_autofree char *after = NULL;
    gsize before_length = 0;
    gsize after_length = 0;
    assert_true(g_file_get_contents(room->path, &before, &before_length, NULL));
    assert_refused(room, BL_ERROR_DAMAGED, says);
    assert_true(g_file_get_contents(room->path, &after, &after_length, NULL));
    assert_int_equal(before_length, after_length);
    assert_memory_equal(before, after, before_length);
}

static void assert_reopens(struct store_room *room)
{
    GError *error = NULL;
    room->store = bl_store_open(room->path, &error);
    if (error) {
        print_error("%s\n", error->message);
    }
    assert_null(error);
    assert_true(bl_store_check(room->store, &error));
}

static void a_new_database_is_ours_and_only_its_owner_reads_it(void **state)
{
    struct store_room *room = *state;
    struct stat seen;
    assert_int_equal(stat(room->path, &seen), 0);
    assert_int_equal(seen.st_mode & 0777, 0600);
    assert_int_equal(store_room_number(room, "PRAGMA application_id"), 0x42656164);
    assert_int_equal(store_room_number(room, "PRAGMA user_version"), 2);
    g_autofree char *mode = store_room_text(room, "PRAGMA journal_mode");
    assert_string_equal(mode, "wal");
    put_away(room);
    assert_reopens(room);
}

static void a_new_database_never_takes_the_place_of_a_file(void **state)
{
    struct store_room *room = *state;
    GError *error = NULL;
    assert_null(bl_store_create(room->path, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    g_clear_error(&error);

    put_away(room);
    assert_int_equal(g_remove(room->path), 0);
    g_autofree char *left = g_strconcat(room->path, "-wal", NULL);
    assert_true(g_file_set_contents(left, "another database's log", -1, NULL));
    assert_null(bl_store_create(room->path, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    assert_non_null(strstr(error->message, "-wal"));
    g_clear_error(&error);
    assert_false(g_file_test(room->path, G_FILE_TEST_EXISTS));
}

static void a_missing_database_is_not_made_by_opening_it(void **state)
{
    struct store_room *room = *state;
    put_away(room);
    assert_int_equal(g_remove(room->path), 0);
    assert_refused(room, BL_ERROR_MISSING, "there is no database");
    assert_false(g_file_test(room->path, G_FILE_TEST_EXISTS));

    g_free(room->path);
    room->path = g_build_filename(room->folder, "no such folder", "shop.db", NULL);
    assert_refused(room, BL_ERROR_MISSING, "no such folder");
}

static void what_is_not_a_database_of_ours_is_refused_and_left_as_it_is(void **state)
{
    struct store_room *room = *state;
    put_away(room);
    g_autofree char *whole = NULL;
    gsize length = 0;
    assert_true(g_file_get_contents(room->path, &whole, &length, NULL));

    assert_true(g_file_set_contents(room->path, "", 0, NULL));
    assert_refused_untouched(room, "is empty");

    assert_true(g_file_set_contents(room->path, "customers: Ada, Ben\n", -1, NULL));
    assert_refused_untouched(room, "not a database");

    assert_true(g_file_set_contents(room->path, whole, (gssize)length / 2, NULL));
    assert_refused_untouched(room, "malformed");

    g_autofree char *torn = g_memdup2(whole, length);
    memset(torn + 100, 0xa5, 2000);
    assert_true(g_file_set_contents(room->path, torn, (gssize)length, NULL));
    assert_refused_untouched(room, "malformed");

    assert_int_equal(g_remove(room->path), 0);
    assert_int_equal(sqlite3_open(room->path, &room->other), SQLITE_OK);
    store_room_exec(room, "PRAGMA application_id = 99; CREATE TABLE customer (id INTEGER)");
    sqlite3_close(g_steal_pointer(&room->other));
    assert_refused_untouched(room, "belongs to another program");
}

static void a_folder_a_link_and_a_pipe_are_not_a_database(void **state)
{
    struct store_room *room = *state;
    put_away(room);
    g_autofree char *elsewhere = g_strconcat(room->path, ".moved", NULL);
    assert_int_equal(g_rename(room->path, elsewhere), 0);

    assert_int_equal(symlink(elsewhere, room->path), 0);
    assert_refused(room, BL_ERROR_DAMAGED, "symbolic link");
    assert_int_equal(g_remove(room->path), 0);

    assert_int_equal(g_mkdir(room->path, 0700), 0);
    assert_refused(room, BL_ERROR_DAMAGED, "not a file");
    assert_int_equal(g_rmdir(room->path), 0);

    assert_int_equal(mkfifo(room->path, 0600), 0);
    assert_refused(room, BL_ERROR_DAMAGED, "not a file");
}

static void a_folder_reached_through_a_link_is_fine(void **state)
{
    struct store_room *room = *state;
    put_away(room);
    g_autofree char *link = g_build_filename(room->folder, "link", NULL);
    assert_int_equal(symlink(room->folder, link), 0);
    g_autofree char *through = g_build_filename(link, "shop.db", NULL);
    g_autoptr(GError) error = NULL;
    room->store = bl_store_open(through, &error);
    assert_null(error);
    assert_non_null(room->store);
}

static void a_newer_version_and_an_unfinished_one_are_refused(void **state)
{
    struct store_room *room = *state;
    meddle(room, "PRAGMA user_version = 2000");
    assert_refused_untouched(room, "install the newer program");
    assert_int_equal(sqlite3_open(room->path, &room->other), SQLITE_OK);
    meddle(room, "PRAGMA user_version = 0");
    assert_refused_untouched(room, "never finished");
}

static void strangers_in_the_schema_are_refused_by_name(void **state)
{
    static const struct {
        const char *sql, *says, *undo;
    } strangers[] = {
        {"CREATE TRIGGER spy AFTER INSERT ON customer BEGIN DELETE FROM message_due; END",
         "trigger \"spy\"", "DROP TRIGGER spy"},
        {"CREATE VIEW everyone AS SELECT * FROM customer", "view \"everyone\"",
         "DROP VIEW everyone"},
        {"CREATE UNIQUE INDEX one_name ON customer (name)", "index \"one_name\"",
         "DROP INDEX one_name"},
        {"CREATE TRIGGER \"a\nb\" AFTER DELETE ON job BEGIN SELECT 1; END", "a\\x0ab",
         "DROP TRIGGER \"a\nb\""},
        {"ALTER TABLE customer ADD COLUMN shoe_size INTEGER", "table \"customer\"",
         "ALTER TABLE customer DROP COLUMN shoe_size"},
    };
    struct store_room *room = *state;
    for (guint i = 0; i < G_N_ELEMENTS(strangers); i++) {
        meddle(room, strangers[i].sql);
        assert_refused_untouched(room, strangers[i].says);
        meddle(room, strangers[i].undo);
        assert_reopens(room);
    }
}

static void all_strangers_are_named_and_a_good_file_has_none(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    g_autoptr(GPtrArray) none = bl_store_strangers(room->path, &error);
    assert_null(error);
    assert_non_null(none);
    assert_int_equal(none->len, 0);
    meddle(room, "CREATE VIEW everyone AS SELECT * FROM customer;"
                 "CREATE TRIGGER spy AFTER INSERT ON customer BEGIN DELETE FROM job; END;"
                 "DROP TRIGGER message_change");
    g_autoptr(GPtrArray) found = bl_store_strangers(room->path, &error);
    assert_null(error);
    assert_non_null(found);
    assert_int_equal(found->len, 3);
    assert_non_null(strstr(found->pdata[0], "trigger \"message_change\" is missing"));
    assert_non_null(strstr(found->pdata[1], "trigger \"spy\" is not Beadline's"));
    assert_non_null(strstr(found->pdata[2], "view \"everyone\" is not Beadline's"));
    assert_refused_untouched(room, "(and 2 more)");
    g_autofree char *nowhere = g_strconcat(room->path, "-none", NULL);
    assert_null(bl_store_strangers(nowhere, &error));
    assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_MISSING));
}

static void a_missing_or_weakened_guard_is_refused(void **state)
{
    struct store_room *room = *state;
    meddle(room, "DROP TRIGGER message_change");
    assert_refused_untouched(room, "trigger \"message_change\" is missing");
    meddle(room, "CREATE TRIGGER message_change BEFORE UPDATE ON message WHEN 0"
                 " BEGIN SELECT 1; END");
    assert_refused_untouched(room, "trigger \"message_change\" is not as");
}

static void another_programs_own_table_is_none_of_our_business(void **state)
{
    struct store_room *room = *state;
    meddle(room, "CREATE TABLE my_notes (text); CREATE INDEX my_index ON my_notes (text);"
                 "ANALYZE");
    assert_reopens(room);
}

static void a_database_in_another_journal_mode_comes_back_to_ours(void **state)
{
    struct store_room *room = *state;
    meddle(room, "PRAGMA journal_mode = DELETE");
    assert_reopens(room);
    assert_int_equal(sqlite3_open(room->path, &room->other), SQLITE_OK);
    g_autofree char *mode = store_room_text(room, "PRAGMA journal_mode");
    assert_string_equal(mode, "wal");
}

static void check_names_a_row_whose_owner_was_removed(void **state)
{
    struct store_room *room = *state;
    store_room_people(room);
    GError *error = NULL;
    assert_true(bl_store_check(room->store, &error));
    store_room_exec(room, "DELETE FROM job WHERE id = 2");
    assert_false(bl_store_check(room->store, &error));
    assert_int_equal(error->code, BL_ERROR_DAMAGED);
    assert_non_null(strstr(error->message, "treatment 2 names a job that is not there"));
    g_clear_error(&error);
}

static void check_finds_a_broken_index(void **state)
{
    struct store_room *room = *state;
    store_room_people(room);
    int64_t root = store_room_number(
        room, "SELECT rootpage FROM sqlite_schema WHERE name = 'car_customer'");
    int64_t size = store_room_number(room, "PRAGMA page_size");
    put_away(room);
    g_autofree char *whole = NULL;
    gsize length = 0;
    assert_true(g_file_get_contents(room->path, &whole, &length, NULL));
    memset(whole + (root - 1) * size + size - 40, 0x11, 40);
    assert_true(g_file_set_contents(room->path, whole, (gssize)length, NULL));

    GError *error = NULL;
    room->store = bl_store_open(room->path, &error);
    assert_null(error);
    assert_false(bl_store_check(room->store, &error));
    assert_int_equal(error->code, BL_ERROR_DAMAGED);
    g_clear_error(&error);
}

static void a_writer_waits_for_another_only_so_long(void **state)
{
    struct store_room *room = *state;
    store_room_exec(room, "BEGIN IMMEDIATE");
    GError *error = NULL;
    gint64 before = g_get_monotonic_time();
    assert_false(bl_store_begin(room->store, 50, &error));
    gint64 waited = g_get_monotonic_time() - before;
    assert_int_equal(error->code, BL_ERROR_BUSY);
    assert_in_range(waited, 20 * 1000, 4000 * 1000);
    g_clear_error(&error);
    assert_false(bl_store_within(room->store));
    store_room_exec(room, "COMMIT");
    assert_true(bl_store_begin(room->store, 50, &error));
    assert_true(bl_store_within(room->store));
    bl_store_rollback(room->store);
}

static void opening_does_not_wait_for_a_writer(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    store_room_exec(room, "BEGIN IMMEDIATE");
    store_room_exec(room, "INSERT INTO customer (name, added_at) VALUES ('Ada', 1000)");
    gint64 before = g_get_monotonic_time();
    struct bl_store *second = bl_store_open(room->path, &error);
    assert_non_null(second);
    assert_in_range(g_get_monotonic_time() - before, 0, 2000 * 1000);
    bl_store_close(second);
    store_room_exec(room, "COMMIT");
}

static void only_anothers_commit_changes_the_version(void **state)
{
    struct store_room *room = *state;
    int64_t first = 0;
    int64_t ours = 0;
    int64_t theirs = 0;
    GError *error = NULL;
    assert_true(bl_store_version(room->store, &first, &error));
    store_room_begin(room);
    assert_true(bl_store_keep(room->store, "fingerprint", "abc", &error));
    store_room_commit(room);
    assert_true(bl_store_version(room->store, &ours, &error));
    assert_int_equal(first, ours);
    store_room_exec(room, "INSERT INTO customer (name, added_at) VALUES ('Ada', 1000)");
    assert_true(bl_store_version(room->store, &theirs, &error));
    assert_int_not_equal(ours, theirs);
}

static void what_is_kept_and_the_mark_come_back(void **state)
{
    struct store_room *room = *state;
    GError *error = NULL;
    char *value = NULL;
    int64_t at = -1;
    assert_true(bl_store_kept(room->store, "fingerprint", &value, &error));
    assert_null(value);
    assert_true(bl_store_mark(room->store, &at, &error));
    assert_int_equal(at, 0);
    store_room_begin(room);
    assert_true(bl_store_keep(room->store, "fingerprint", "abc", &error));
    assert_true(bl_store_keep(room->store, "fingerprint", "def", &error));
    assert_true(bl_store_set_mark(room->store, 1764000000, 5, &error));
    assert_true(bl_store_set_mark(room->store, 1764000060, 65000, &error));
    store_room_commit(room);
    assert_true(bl_store_kept(room->store, "fingerprint", &value, &error));
    assert_string_equal(value, "def");
    g_free(value);
    assert_true(bl_store_mark(room->store, &at, &error));
    assert_int_equal(at, 1764000060);
}

static void a_second_daemon_is_told_that_there_is_one(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    assert_true(bl_store_lock(room->store, &error));
    struct bl_store *second = bl_store_open(room->path, &error);
    assert_non_null(second);
    assert_false(bl_store_lock(second, &error));
    assert_int_equal(error->code, BL_ERROR_BUSY);
    assert_non_null(strstr(error->message, "another daemon"));
    g_clear_error(&error);
    bl_store_close(g_steal_pointer(&room->store));
    assert_true(bl_store_lock(second, &error));
    bl_store_close(second);
}

static void a_link_in_the_lock_files_place_is_refused(void **state)
{
    struct store_room *room = *state;
    g_autofree char *lock = g_strconcat(room->path, ".lock", NULL);
    g_autofree char *target = g_build_filename(room->folder, "target", NULL);
    assert_int_equal(symlink(target, lock), 0);
    g_autoptr(GError) error = NULL;
    assert_false(bl_store_lock(room->store, &error));
    assert_int_equal(error->code, BL_ERROR_OUTSIDE);
    assert_false(g_file_test(target, G_FILE_TEST_EXISTS));
}

/* In the child: takes the lock, says so, and waits for its end. */
static void hold_the_lock(const char *path, int say)
{
    struct bl_store *store = bl_store_open(path, NULL);
    char answer = store && bl_store_lock(store, NULL) ? 'y' : 'n';
    if (write(say, &answer, 1) != 1) {
        _exit(1);
    }
    for (;;) {
        pause();
    }
}

static void the_lock_dies_with_its_process_however_it_ends(void **state)
{
    struct store_room *room = *state;
    int pipe_of[2];
    char answer = 0;
    put_away(room);
    assert_int_equal(pipe(pipe_of), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        hold_the_lock(room->path, pipe_of[1]);
    }
    assert_int_equal(read(pipe_of[0], &answer, 1), 1);
    assert_int_equal(answer, 'y');

    g_autoptr(GError) error = NULL;
    room->store = bl_store_open(room->path, &error);
    assert_non_null(room->store);
    assert_false(bl_store_lock(room->store, &error));
    assert_int_equal(error->code, BL_ERROR_BUSY);
    g_clear_error(&error);

    assert_int_equal(kill(child, SIGKILL), 0);
    assert_int_equal(waitpid(child, NULL, 0), child);
    assert_true(bl_store_lock(room->store, &error));
    close(pipe_of[0]);
    close(pipe_of[1]);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_new_database_is_ours_and_only_its_owner_reads_it),
        TEST(a_new_database_never_takes_the_place_of_a_file),
        TEST(a_missing_database_is_not_made_by_opening_it),
        TEST(what_is_not_a_database_of_ours_is_refused_and_left_as_it_is),
        TEST(a_folder_a_link_and_a_pipe_are_not_a_database),
        TEST(a_folder_reached_through_a_link_is_fine),
        TEST(a_newer_version_and_an_unfinished_one_are_refused),
        TEST(strangers_in_the_schema_are_refused_by_name),
        TEST(all_strangers_are_named_and_a_good_file_has_none),
        TEST(a_missing_or_weakened_guard_is_refused),
        TEST(another_programs_own_table_is_none_of_our_business),
        TEST(a_database_in_another_journal_mode_comes_back_to_ours),
        TEST(check_names_a_row_whose_owner_was_removed),
        TEST(check_finds_a_broken_index),
        TEST(a_writer_waits_for_another_only_so_long),
        TEST(opening_does_not_wait_for_a_writer),
        TEST(only_anothers_commit_changes_the_version),
        TEST(what_is_kept_and_the_mark_come_back),
        TEST(a_second_daemon_is_told_that_there_is_one),
        TEST(a_link_in_the_lock_files_place_is_refused),
        TEST(the_lock_dies_with_its_process_however_it_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
