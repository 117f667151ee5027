/* The folder gateway: one file a message, whole or not at all, once. */
#include <fcntl.h>
#include <glib.h>
#include <glib/gstdio.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "beadline/send.h"

struct place {
    char *above, *folder;
    GArray *gateways;
    struct bl_sender *sender;
    struct bl_carrier carrier;
};

static int make_place(void **state)
{
    struct place *place = g_new0(struct place, 1);
    place->above = g_dir_make_tmp("beadline-folder-XXXXXX", NULL);
    place->folder = g_build_filename(place->above, "new", "outbox", NULL);
    struct bl_gateway gateway = {
        .name = (char *)"outbox", .kind = BL_GATEWAY_FOLDER, .folder = place->folder};
    place->gateways = g_array_new(FALSE, FALSE, sizeof gateway);
    g_array_append_val(place->gateways, gateway);
    place->sender = bl_sender_new(place->gateways, NULL);
    place->carrier = bl_sender_carrier(place->sender);
    *state = place;
    return 0;
}

static void remove_tree(const char *path)
{
    GDir *folder = g_dir_open(path, 0, NULL);
    const char *name;
    while (folder && (name = g_dir_read_name(folder)) != NULL) {
        g_autofree char *inside = g_build_filename(path, name, NULL);
        remove_tree(inside);
    }
    g_clear_pointer(&folder, g_dir_close);
    g_remove(path);
}

static int remove_place(void **state)
{
    struct place *place = *state;
    bl_sender_free(place->sender);
    remove_tree(place->above);
    g_array_unref(place->gateways);
    g_free(place->above);
    g_free(place->folder);
    g_free(place);
    return 0;
}

static struct bl_outcome sent(const struct place *place, const char *to, const char *key,
                              const char *suffix, const char *body)
{
    struct bl_parcel parcel = {.id = 42,
                               .to = g_strdup(to),
                               .key = g_strdup(key),
                               .suffix = g_strdup(suffix),
                               .body = body ? g_bytes_new(body, strlen(body)) : NULL};
    struct bl_outcome outcome = {0}, none = {0};
    place->carrier.start(place->carrier.self, 0, &parcel, 0);
    assert_null(parcel.to); /* taken over */
    assert_int_equal(place->carrier.flying(place->carrier.self), 1);
    assert_true(place->carrier.take(place->carrier.self, &outcome));
    assert_false(place->carrier.take(place->carrier.self, &none));
    assert_int_equal(place->carrier.flying(place->carrier.self), 0);
    assert_int_equal(outcome.id, 42);
    assert_int_equal(outcome.gateway, 0);
    return outcome;
}

static void check_sent(const struct place *place, const char *key, const char *suffix,
                       const char *body)
{
    struct bl_outcome outcome = sent(place, "+447700900123", key, suffix, body);
    if (outcome.verdict != BL_ACCEPTED) {
        print_error("%s\n", outcome.answer);
    }
    assert_int_equal(outcome.verdict, BL_ACCEPTED);
    assert_int_equal(outcome.failure, BL_FAILURE_NONE);
    bl_outcome_clear(&outcome);
}

static void check_file(const struct place *place, const char *name, const char *expected)
{
    g_autofree char *path = g_build_filename(place->folder, name, NULL);
    g_autofree char *bytes = NULL;
    struct stat about;
    assert_true(g_file_get_contents(path, &bytes, NULL, NULL));
    assert_string_equal(bytes, expected);
    assert_int_equal(stat(path, &about), 0);
    assert_int_equal(about.st_mode & 07777, 0600);
}

static guint count_files(const struct place *place)
{
    g_autoptr(GDir) folder = g_dir_open(place->folder, 0, NULL);
    guint count = 0;
    while (folder && g_dir_read_name(folder)) {
        count++;
    }
    return count;
}

static void test_each_message_is_a_file_of_its_own_that_nobody_else_can_read(void **state)
{
    const struct place *place = *state;
    struct stat about;
    check_sent(place, "0123abc", ".txt", "To: +447700900123\n\nSafe to wash now.\n");
    check_sent(place, "4567def", ".eml", "Subject: Your car\r\n\r\nSafe to wash now.\r\n");
    check_sent(place, "empty", NULL, NULL);
    check_file(place, "0123abc.txt", "To: +447700900123\n\nSafe to wash now.\n");
    check_file(place, "4567def.eml", "Subject: Your car\r\n\r\nSafe to wash now.\r\n");
    check_file(place, "empty", "");
    assert_int_equal(count_files(place), 3);
    assert_int_equal(stat(place->folder, &about), 0);
    assert_int_equal(about.st_mode & 07777, 0700);
}

static void test_a_key_that_is_there_was_accepted_and_stays_as_it_was(void **state)
{
    const struct place *place = *state;
    check_sent(place, "key", ".txt", "first");
    check_sent(place, "key", ".txt", "second");
    check_file(place, "key.txt", "first");
    assert_int_equal(count_files(place), 1);
}

static void test_what_a_crash_left_behind_does_not_stay(void **state)
{
    const struct place *place = *state;
    g_autofree char *part = g_build_filename(place->folder, ".key.txt.part", NULL);
    check_sent(place, "other", ".txt", "first");
    assert_true(g_file_set_contents(part, "hal", 3, NULL));
    check_sent(place, "key", ".txt", "whole");
    check_file(place, "key.txt", "whole");
    assert_int_equal(count_files(place), 2);
}

static void test_a_link_planted_in_the_folder_is_not_written_through(void **state)
{
    const struct place *place = *state;
    g_autofree char *part = g_build_filename(place->folder, ".key.txt.part", NULL);
    g_autofree char *target = g_build_filename(place->above, "target", NULL);
    check_sent(place, "other", ".txt", "first");
    assert_int_equal(symlink(target, part), 0);
    check_sent(place, "key", ".txt", "whole");
    assert_false(g_file_test(target, G_FILE_TEST_EXISTS));
    check_file(place, "key.txt", "whole");
}

static void test_a_folder_that_cannot_be_written_is_tried_again_later(void **state)
{
    const struct place *place = *state;
    g_autofree char *between = g_path_get_dirname(place->folder);
    assert_true(g_file_set_contents(between, "a file", -1, NULL));
    struct bl_outcome outcome = sent(place, "+447700900123", "key", ".txt", "text");
    assert_int_equal(outcome.verdict, BL_LATER);
    assert_int_equal(outcome.failure, BL_FAILURE_NETWORK);
    assert_non_null(strstr(outcome.answer, place->folder));
    bl_outcome_clear(&outcome);
    g_unlink(between);
    check_sent(place, "key", ".txt", "text");
}

/* A full disk: the file-size limit makes every write fail as it would. */
static void test_a_message_that_does_not_fit_leaves_no_half_behind(void **state)
{
    const struct place *place = *state;
    struct rlimit before;
    check_sent(place, "other", ".txt", "first");
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    struct rlimit small = {.rlim_cur = 2, .rlim_max = before.rlim_max};
    void (*handler)(int) = signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    struct bl_outcome outcome = sent(place, "+447700900123", "key", ".txt", "longer than two");
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    signal(SIGXFSZ, handler);
    assert_int_equal(outcome.verdict, BL_LATER);
    bl_outcome_clear(&outcome);
    assert_int_equal(count_files(place), 1);
    check_sent(place, "key", ".txt", "longer than two");
    check_file(place, "key.txt", "longer than two");
}

static void test_outcomes_nobody_took_go_with_the_sender(void **state)
{
    const struct place *place = *state;
    struct bl_parcel parcel = {.to = g_strdup("ada@example.com"), .key = g_strdup("key")};
    place->carrier.start(place->carrier.self, 0, &parcel, 0);
    assert_int_equal(place->carrier.flying(place->carrier.self), 1);
}

static void test_what_would_lead_out_of_the_folder_is_refused(void **state)
{
    static const struct {
        const char *to, *key, *suffix;
    } rows[] = {
        {"+447700900123", "../key", ".txt"},
        {"+447700900123", "a/b", ".txt"},
        {"+447700900123", "", ".txt"},
        {"+447700900123", NULL, ".txt"},
        {"+447700900123", ".", ".txt"},
        {"+447700900123", "key", "/../x"},
        {"+447700900123", "key", ".t/x"},
        {"+447700900123", "key", "txt"},
        {"07700 900123", "key", ".txt"},
        {"ada@example.com\n", "key", ".txt"},
        {"ada@example.com,b@example.com", "key", ".txt"},
        {NULL, "key", ".txt"},
    };
    const struct place *place = *state;
    for (size_t i = 0; i < G_N_ELEMENTS(rows); i++) {
        struct bl_outcome outcome = sent(place, rows[i].to, rows[i].key, rows[i].suffix, "x");
        assert_int_equal(outcome.verdict, BL_REFUSED);
        assert_int_equal(outcome.failure, BL_FAILURE_MESSAGE);
        bl_outcome_clear(&outcome);
    }
    assert_int_equal(count_files(place), 0);
}

static void test_a_folder_has_room_until_its_outcomes_are_taken(void **state)
{
    const struct place *place = *state;
    const struct bl_carrier *carrier = &place->carrier;
    struct bl_outcome outcome;
    guint room = carrier->room(carrier->self, 0);
    guint started = 0, taken = 0;
    while (carrier->room(carrier->self, 0) > 0) {
        struct bl_parcel parcel = {.to = g_strdup("ada@example.com"),
                                   .key = g_strdup_printf("key%u", started)};
        carrier->start(carrier->self, 0, &parcel, 0);
        started++;
    }
    assert_int_equal(started, room);
    while (carrier->take(carrier->self, &outcome)) {
        bl_outcome_clear(&outcome);
        taken++;
    }
    assert_int_equal(taken, room);
    assert_int_equal(carrier->room(carrier->self, 0), room);
    assert_int_equal(count_files(place), room);
}

/* The daemon's only wait also tells of a descriptor whose other end has gone. */
static void test_the_wait_reports_the_callers_descriptors_as_poll_does(void **state)
{
    const struct place *place = *state;
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    struct pollfd fds[] = {{.fd = ends[0], .events = POLLIN}, {.fd = -1, .events = POLLIN}};
    assert_true(bl_sender_poll(place->sender, fds, 2, 0, NULL));
    assert_int_equal(fds[0].revents, 0);
    assert_int_equal(write(ends[1], "x", 1), 1);
    assert_true(bl_sender_poll(place->sender, fds, 2, -1, NULL));
    assert_int_equal(fds[0].revents, POLLIN);
    char byte;
    assert_int_equal(read(ends[0], &byte, 1), 1);
    close(ends[1]);
    assert_true(bl_sender_poll(place->sender, fds, 2, -1, NULL));
    assert_int_equal(fds[0].revents, POLLHUP);
    assert_int_equal(fds[1].revents, 0);
    close(ends[0]);
    assert_true(bl_sender_poll(place->sender, NULL, 0, 0, NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(
            test_each_message_is_a_file_of_its_own_that_nobody_else_can_read, make_place,
            remove_place),
        cmocka_unit_test_setup_teardown(
            test_a_key_that_is_there_was_accepted_and_stays_as_it_was, make_place,
            remove_place),
        cmocka_unit_test_setup_teardown(test_what_a_crash_left_behind_does_not_stay, make_place,
                                        remove_place),
        cmocka_unit_test_setup_teardown(
            test_a_link_planted_in_the_folder_is_not_written_through, make_place, remove_place),
        cmocka_unit_test_setup_teardown(
            test_a_folder_that_cannot_be_written_is_tried_again_later, make_place,
            remove_place),
        cmocka_unit_test_setup_teardown(test_a_message_that_does_not_fit_leaves_no_half_behind,
                                        make_place, remove_place),
        cmocka_unit_test_setup_teardown(test_outcomes_nobody_took_go_with_the_sender,
                                        make_place, remove_place),
        cmocka_unit_test_setup_teardown(test_what_would_lead_out_of_the_folder_is_refused,
                                        make_place, remove_place),
        cmocka_unit_test_setup_teardown(test_a_folder_has_room_until_its_outcomes_are_taken,
                                        make_place, remove_place),
        cmocka_unit_test_setup_teardown(
            test_the_wait_reports_the_callers_descriptors_as_poll_does, make_place,
            remove_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
