/* Secrets come from files that nobody else can read. */
#include <fcntl.h>
#include <glib.h>
#include <glib/gstdio.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "beadline/error.h"
#include "beadline/send.h"

struct place {
    char *folder, *file;
};

static int make_place(void **state)
{
    struct place *place = g_new0(struct place, 1);
    place->folder = g_dir_make_tmp("beadline-secret-XXXXXX", NULL);
    place->file = g_build_filename(place->folder, "token", NULL);
    *state = place;
    return place->folder ? 0 : -1;
}

static int remove_place(void **state)
{
    struct place *place = *state;
    g_unsetenv("CREDENTIALS_DIRECTORY");
    g_unlink(place->file);
    g_rmdir(place->file);
    g_rmdir(place->folder);
    g_free(place->folder);
    g_free(place->file);
    g_free(place);
    return 0;
}

static void put(const char *file, const char *bytes, size_t length, mode_t mode)
{
    g_unlink(file);
    assert_true(g_file_set_contents_full(file, bytes, (gssize)length, G_FILE_SET_CONTENTS_NONE,
                                         0600, NULL));
    assert_int_equal(chmod(file, mode), 0);
}

/* What the sender has as its secret from this file, or NULL and the error's text. */
static char *secret_from(const char *file, char **problem)
{
    struct bl_gateway gateway = {.name = (char *)"texts",
                                 .kind = BL_GATEWAY_HTTP,
                                 .url = (char *)"https://sms.example.com/send",
                                 .secret_file = (char *)file};
    g_autoptr(GArray) gateways = g_array_new(FALSE, FALSE, sizeof gateway);
    g_array_append_val(gateways, gateway);
    GError *error = NULL;
    BL_AUTO(bl_sender) *sender = bl_sender_new(gateways, &error);
    if (!sender) {
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        *problem = g_strdup(error->message);
        g_error_free(error);
        return NULL;
    }
    struct bl_carrier carrier = bl_sender_carrier(sender);
    return g_strdup(carrier.secret(carrier.self, 0));
}

static void check_refused(const char *file, const char *because)
{
    g_autofree char *problem = NULL;
    g_autofree char *secret = secret_from(file, &problem);
    assert_null(secret);
    assert_non_null(strstr(problem, file));
    if (!strstr(problem, because)) {
        print_error("%s\n", problem);
    }
    assert_non_null(strstr(problem, because));
}

static void check_read(const char *file, const char *expected)
{
    g_autofree char *problem = NULL;
    g_autofree char *secret = secret_from(file, &problem);
    if (problem) {
        print_error("%s\n", problem);
    }
    assert_non_null(secret);
    assert_string_equal(secret, expected);
}

static void test_a_secret_is_the_one_line_of_its_file(void **state)
{
    const struct place *place = *state;
    put(place->file, "pass word\n", 10, 0600);
    check_read(place->file, "pass word");
    put(place->file, "token\r\n", 7, 0400);
    check_read(place->file, "token");
    put(place->file, "caf\xc3\xa9", 5, 0600);
    check_read(place->file, "caf\xc3\xa9");
}

static void test_a_file_that_holds_something_else_is_refused(void **state)
{
    const struct place *place = *state;
    g_autofree char *long_line = g_strnfill(4096, 'x');
    put(place->file, "", 0, 0600);
    check_refused(place->file, "is empty");
    put(place->file, "\n", 1, 0600);
    check_refused(place->file, "is empty");
    put(place->file, "one\ntwo\n", 8, 0600);
    check_refused(place->file, "more than one line");
    put(place->file, "a\x1b[2J\n", 6, 0600);
    check_refused(place->file, "more than one line");
    put(place->file, "a\0b\n", 4, 0600);
    check_refused(place->file, "NUL");
    put(place->file, long_line, 4096, 0600);
    check_refused(place->file, "too long");
    g_unlink(place->file);
    check_refused(place->file, "cannot be opened");
    assert_int_equal(g_mkdir(place->file, 0700), 0);
    check_refused(place->file, "not a plain file");
}

static void test_a_secret_that_others_can_read_is_refused_with_the_remedy(void **state)
{
    const struct place *place = *state;
    for (mode_t mode = 0; mode < 0100; mode++) {
        put(place->file, "token\n", 6, 0600 | mode);
        if (mode == 0) {
            check_read(place->file, "token");
        } else {
            g_autofree char *remedy = g_strdup_printf("chmod 600 %s", place->file);
            check_refused(place->file, remedy);
        }
    }
}

static void test_a_link_or_a_pipe_is_no_secret(void **state)
{
    const struct place *place = *state;
    g_autofree char *other = g_build_filename(place->folder, "other", NULL);
    put(other, "token\n", 6, 0600);
    assert_int_equal(symlink(other, place->file), 0);
    check_refused(place->file, "symbolic link");
    g_unlink(place->file);
    g_unlink(other);
    assert_int_equal(mkfifo(place->file, 0600), 0);
    check_refused(place->file, "not a plain file");
}

static void test_a_secret_of_another_user_is_refused(void **state)
{
    const struct place *place = *state;
    if (geteuid() != 0) {
        skip(); /* only root can give a file away */
    }
    put(place->file, "token\n", 6, 0600);
    assert_int_equal(chown(place->file, 12345, 0), 0);
    check_refused(place->file, "belongs to another user");
}

/* A service manager's folder of credentials shows an access list's mask as the group's bits. */
static void test_a_credential_handed_over_by_the_service_manager_is_taken(void **state)
{
    const struct place *place = *state;
    put(place->file, "token\n", 6, 0440);
    check_refused(place->file, "chmod 600");
    assert_true(g_setenv("CREDENTIALS_DIRECTORY", place->folder, TRUE));
    check_read(place->file, "token");
    put(place->file, "token\n", 6, 0444);
    check_refused(place->file, "chmod 600");
    assert_true(g_setenv("CREDENTIALS_DIRECTORY", "/nowhere", TRUE));
    put(place->file, "token\n", 6, 0440);
    check_refused(place->file, "chmod 600");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_secret_is_the_one_line_of_its_file, make_place,
                                        remove_place),
        cmocka_unit_test_setup_teardown(test_a_file_that_holds_something_else_is_refused,
                                        make_place, remove_place),
        cmocka_unit_test_setup_teardown(
            test_a_secret_that_others_can_read_is_refused_with_the_remedy, make_place,
            remove_place),
        cmocka_unit_test_setup_teardown(test_a_link_or_a_pipe_is_no_secret, make_place,
                                        remove_place),
        cmocka_unit_test_setup_teardown(test_a_secret_of_another_user_is_refused, make_place,
                                        remove_place),
        cmocka_unit_test_setup_teardown(
            test_a_credential_handed_over_by_the_service_manager_is_taken, make_place,
            remove_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
