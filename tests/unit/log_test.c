/* The log: one line an event, its priority in front, nothing in it that a terminal obeys. */
#include <fcntl.h>
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "beadline/error.h"
#include "beadline/log.h"

static int caught[2];
static int real_stderr;

static void catch_log(void)
{
    assert_int_equal(pipe(caught), 0);
    real_stderr = dup(STDERR_FILENO);
    dup2(caught[1], STDERR_FILENO);
}

/* What was logged since catch_log; the log goes where it went before. */
static char *caught_log(void)
{
    dup2(real_stderr, STDERR_FILENO);
    close(real_stderr);
    close(caught[1]);
    GString *text = g_string_new(NULL);
    char buffer[512];
    ssize_t got;
    while ((got = read(caught[0], buffer, sizeof buffer)) > 0) {
        g_string_append_len(text, buffer, got);
    }
    close(caught[0]);
    return g_string_free(text, FALSE);
}

static void every_event_is_one_line_with_its_priority(void **state)
{
    (void)state;
    catch_log();
    bl_log(BL_LOG_INFO, "%d messages planned", 3);
    bl_log(BL_LOG_NOTICE, "settings read again");
    bl_log(BL_LOG_WARNING, "gateway \"%s\" rests", "post");
    bl_log(BL_LOG_ERROR, "disk full");
    g_autofree char *text = caught_log();
    assert_string_equal(text, "<6>3 messages planned\n<5>settings read again\n"
                              "<4>gateway \"post\" rests\n<3>disk full\n");
}

static void nobody_forges_a_line_or_commands_the_terminal(void **state)
{
    (void)state;
    catch_log();
    bl_log(BL_LOG_INFO, "answer \"%s\"", "ok\n<3>database gone\r\x1b[2J\xe2\x80\xae\xff");
    g_autofree char *text = caught_log();
    assert_string_equal(
        text, "<6>answer \"ok\\x0a<3>database gone\\x0d\\x1b[2J\\xe2\\x80\\xae\\xff\"\n");
}

static void a_log_that_cannot_be_written_stops_nothing(void **state)
{
    (void)state;
    catch_log();
    int full = open("/dev/full", O_WRONLY);
    assert_true(full >= 0);
    dup2(full, STDERR_FILENO);
    close(full);
    bl_log(BL_LOG_INFO, "lost");
    close(STDERR_FILENO);
    bl_log(BL_LOG_INFO, "lost too");
    dup2(caught[1], STDERR_FILENO);
    bl_log(BL_LOG_INFO, "found");
    g_autofree char *text = caught_log();
    assert_string_equal(text, "<6>found\n");
}

static void faults_keep_their_place_and_order(void **state)
{
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    assert_int_equal(bl_faults_count(faults), 0);
    bl_faults_add(faults, "shop.conf", 12, "unknown name \"%s\"", "zoen");
    bl_faults_add(faults, "shop.conf", 0, "no \"zone\"");
    bl_faults_add(faults, NULL, 3, "bad\nline");
    assert_int_equal(bl_faults_count(faults), 3);
    assert_string_equal(bl_faults_line(faults, 0), "shop.conf:12: unknown name \"zoen\"");
    assert_string_equal(bl_faults_line(faults, 1), "shop.conf: no \"zone\"");
    assert_string_equal(bl_faults_line(faults, 2), "bad\\x0aline");
    bl_faults_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_event_is_one_line_with_its_priority),
        cmocka_unit_test(nobody_forges_a_line_or_commands_the_terminal),
        cmocka_unit_test(a_log_that_cannot_be_written_stops_nothing),
        cmocka_unit_test(faults_keep_their_place_and_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
