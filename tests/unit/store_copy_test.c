/* A copy to play with: whole, private, gone without a trace, and the original none the wiser.
 */
#include <fcntl.h>
#include <glib.h>
#include <glib/gstdio.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>

#include "beadline/error.h"
#include "beadline/lookup.h"
#include "beadline/records.h"
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

/* Names in the folder for temporary files, which is these tests' own, but for the rooms'. */
static guint left_behind(void)
{
    g_autoptr(GDir) folder = g_dir_open(g_get_tmp_dir(), 0, NULL);
    const char *name;
    guint names = 0;
    while ((name = g_dir_read_name(folder))) {
        names += !g_str_has_prefix(name, "beadline-store-");
    }
    return names;
}

static struct bl_store *copy_of(struct store_room *room)
{
    g_autoptr(GError) error = NULL;
    struct bl_store *copy = bl_store_copy(room->store, &error);
    assert_null(error);
    assert_non_null(copy);
    return copy;
}

static int64_t customers(struct bl_store *store)
{
    struct bl_counts counts = {0};
    assert_true(bl_store_counts(store, &counts, NULL));
    return counts.customers;
}

static void add_customer(struct bl_store *store)
{
    const struct bl_customer_row row = {
        .name = (char *)"Cy Example", .note = (char *)"", .added_at = 1700000000};
    int64_t id = 0;
    assert_true(bl_store_begin(store, 0, NULL));
    assert_true(bl_customer_add(store, &row, &id, NULL));
    assert_true(bl_store_commit(store, NULL));
}

static void a_copy_holds_all_and_what_is_done_to_it_stays_in_it(void **state)
{
    struct store_room *room = *state;
    BL_AUTO(bl_store) *copy = copy_of(room);
    assert_int_equal(customers(copy), 2);
    add_customer(copy);
    assert_int_equal(customers(copy), 3);
    assert_int_equal(customers(room->store), 2);
    assert_int_equal(store_room_number(room, "SELECT count(*) FROM touched"), 0);
    add_customer(room->store);
    add_customer(room->store);
    assert_int_equal(customers(room->store), 4);
    assert_int_equal(customers(copy), 3);
    assert_true(bl_store_check(copy, NULL));
}

static void what_another_program_has_not_committed_is_not_copied_nor_waited_for(void **state)
{
    struct store_room *room = *state;
    store_room_exec(room, "BEGIN IMMEDIATE");
    store_room_exec(room, "INSERT INTO customer (name, added_at) VALUES ('Di', 1000)");
    BL_AUTO(bl_store) *copy = copy_of(room);
    store_room_exec(room, "COMMIT");
    assert_int_equal(customers(copy), 2);
    assert_int_equal(customers(room->store), 3);
}

/* A descriptor of ours that is open on a file of that folder without a name: its mode. */
static mode_t nameless_mode(const char *folder)
{
    g_autoptr(GDir) open_files = g_dir_open("/proc/self/fd", 0, NULL);
    const char *name;
    while ((name = g_dir_read_name(open_files))) {
        g_autofree char *path = g_build_filename("/proc/self/fd", name, NULL);
        g_autofree char *target = g_file_read_link(path, NULL);
        struct stat seen;
        if (target && g_str_has_prefix(target, folder) &&
            g_str_has_suffix(target, " (deleted)") && g_stat(path, &seen) == 0) {
            return seen.st_mode;
        }
    }
    return 0;
}

static void a_copy_is_private_and_has_no_name(void **state)
{
    BL_AUTO(bl_store) *copy = copy_of(*state);
    assert_int_equal(left_behind(), 0);
    g_autofree char *folder = g_canonicalize_filename(g_get_tmp_dir(), NULL);
    assert_int_equal(nameless_mode(folder), S_IFREG | 0600);
    add_customer(copy);
    assert_int_equal(left_behind(), 0);
}

static void a_rollback_in_a_copy_takes_everything_back(void **state)
{
    BL_AUTO(bl_store) *copy = copy_of(*state);
    const struct bl_customer_row row = {
        .name = (char *)"Cy Example", .note = (char *)"", .added_at = 1700000000};
    int64_t id = 0;
    assert_true(bl_store_begin(copy, 0, NULL));
    assert_true(bl_customer_add(copy, &row, &id, NULL));
    bl_store_rollback(copy);
    assert_int_equal(customers(copy), 2);
}

static void without_a_folder_for_it_there_is_no_copy_and_one_clear_error(void **state)
{
    struct store_room *room = *state;
    g_autoptr(GError) error = NULL;
    g_autofree char *away = g_strconcat(g_get_tmp_dir(), ".away", NULL);
    assert_int_equal(customers(room->store), 2);
    assert_int_equal(g_rename(g_get_tmp_dir(), away), 0);
    assert_null(bl_store_copy(room->store, &error));
    assert_int_equal(g_rename(away, g_get_tmp_dir()), 0);
    assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_OUTSIDE));
    assert_non_null(strstr(error->message, g_get_tmp_dir()));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_copy_holds_all_and_what_is_done_to_it_stays_in_it,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            what_another_program_has_not_committed_is_not_copied_nor_waited_for, set_up,
            tear_down),
        cmocka_unit_test_setup_teardown(a_copy_is_private_and_has_no_name, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_rollback_in_a_copy_takes_everything_back, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(
            without_a_folder_for_it_there_is_no_copy_and_one_clear_error, set_up, tear_down),
    };
    g_autofree char *folder = g_strdup("/tmp/beadline-copies-XXXXXX");
    if (!g_mkdtemp(folder) || !g_setenv("TMPDIR", folder, TRUE)) {
        return 1;
    }
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    return failed || g_rmdir(folder) != 0;
}
