/* Loading templates: what is wrong is told to the owner, all of it, and no customer reads it.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <glib/gstdio.h>
#include <string.h>
#include <sys/stat.h>

#include "beadline/compose.h"
#include "template_room.h"

#define EN BL_SOURCE_DIR "/templates/en"

/* Loads the copy after one file was written anew, and expects exactly these faults. */
static void expect(const char *file, const char *bytes, gssize length, const char *faults)
{
    struct template_room room;
    template_room_open(&room, EN);
    template_room_write(&room, file, bytes, length);
    g_autofree char *told = template_room_faults(&room);
    template_room_close(&room);
    assert_string_equal(told, faults);
}

static void the_shipped_templates_load(void **state)
{
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_templates) *templates = bl_templates_load(BL_SOURCE_DIR "/templates", faults);
    assert_non_null(templates);
    assert_true(bl_templates_has_language(templates, "en"));
    assert_true(bl_templates_has_language(templates, "de"));
    assert_false(bl_templates_has_language(templates, "catalogue"));
}

static void an_unknown_name_is_told_in_every_form(void **state)
{
    (void)state;
    expect("en/wash.sms", "{{shop}}: {{custmer}}", -1,
           "en/wash.sms:1: unknown name \"custmer\": did you mean \"customer\"?");
    expect("en/wash.txt", "Subject: {{shopp}}\n\n{{shop}}\n{{ownr}}\n", -1,
           "en/wash.txt:1: unknown name \"shopp\": did you mean \"shop\"?\n"
           "en/wash.txt:4: unknown name \"ownr\": did you mean \"owner\"?");
    expect("en/wash.html", "<p>\n{{#cars}}\n{{wash_from}}\n{{/cars}}", -1,
           "en/wash.html:3: unknown name \"wash_from\": remove it or correct it");
    expect("en/sheet.txt", "{{#cars}}{{when}}{{/cars}}", -1,
           "en/sheet.txt:1: unknown name \"when\": remove it or correct it");
    expect("en/wash.sms", "{{>your-crs}}", -1,
           "en/wash.sms:1: unknown partial \"your-crs\": did you mean \"your-cars\"?");
}

static void a_broken_tag_is_told_at_its_own_line(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    template_room_write(&room, "en/wash.txt", "Subject: x\n\none\ntwo {{#cars}}\n", -1);
    g_autofree char *told = template_room_faults(&room);
    template_room_close(&room);
    assert_true(g_str_has_prefix(told, "en/wash.txt:4: "));
}

static void a_mail_has_a_subject_and_an_empty_line(void **state)
{
    (void)state;
    expect("en/wash.txt", "Hello\n", -1,
           "en/wash.txt:1: a mail's first line must be its subject: write \"Subject: ...\"");
    expect("en/wash.txt", "Subject: x\nHello\n", -1,
           "en/wash.txt:2: an empty line must follow the subject: put one in");
    expect("en/wash.txt", "Subject: x", -1,
           "en/wash.txt:2: an empty line must follow the subject: put one in");
}

static void a_file_that_is_no_text_is_refused(void **state)
{
    (void)state;
    expect("en/wash.sms", "{{shop}}\n\xff\n", -1,
           "en/wash.sms:2: a character is not UTF-8: save the file as UTF-8");
    expect("en/wash.sms", "a\0b", 3,
           "en/wash.sms:1: a character is not UTF-8: save the file as UTF-8");
    g_autofree char *long_text = g_strnfill((gsize)256 * 1024 + 1, 'a');
    expect("en/wash.sms", long_text, -1, "en/wash.sms: is larger than 256 KiB: shorten it");
    long_text[256 * 1024] = '\0';
    expect("en/wash.sms", long_text, -1, "");
}

static void every_fault_of_a_folder_is_told_at_once(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    template_room_remove(&room, "en/handover.sms");
    template_room_remove(&room, "en/top-up.html");
    template_room_remove(&room, "en/words");
    template_room_remove(&room, "en/sheet.txt");
    template_room_write(&room, "en/wash.sms", "{{nothing}}", -1);
    g_autofree char *told = template_room_faults(&room);
    g_auto(GStrv) lines = g_strsplit(told, "\n", -1);
    static const char *const files[] = {"en/words: ", "en/handover.sms: ", "en/wash.sms:1: ",
                                        "en/top-up.html: ", "en/sheet.txt: "};
    assert_int_equal(g_strv_length(lines), G_N_ELEMENTS(files));
    for (guint i = 0; i < G_N_ELEMENTS(files); i++) {
        assert_true(g_str_has_prefix(lines[i], files[i]));
    }
    template_room_close(&room);
}

static void a_pipe_in_place_of_a_file_does_not_stop_the_daemon(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    template_room_remove(&room, "en/wash.sms");
    g_autofree char *path = g_build_filename(room.dir, "en", "wash.sms", NULL);
    assert_int_equal(mkfifo(path, 0600), 0);
    g_autofree char *told = template_room_faults(&room);
    template_room_close(&room);
    assert_string_equal(told, "en/wash.sms: this file is missing: copy it from the templates "
                              "that came with Beadline");
}

static void windows_line_ends_are_no_fault(void **state)
{
    (void)state;
    static const char *const files[] = {"en/words", "en/wash.txt", "en/wash.sms",
                                        "en/your-car.part"};
    struct template_room room;
    template_room_open(&room, EN);
    for (guint i = 0; i < G_N_ELEMENTS(files); i++) {
        g_autofree char *text = template_room_read(&room, files[i]);
        g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
        g_autofree char *joined = g_strjoinv("\r\n", lines);
        g_autofree char *marked = g_strconcat("\xEF\xBB\xBF", joined, NULL);
        template_room_write(&room, files[i], marked, -1);
    }
    g_autofree char *told = template_room_faults(&room);
    template_room_close(&room);
    assert_string_equal(told, "");
}

static void a_folder_without_languages_is_refused(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    g_autofree char *away = g_build_filename(room.dir, "gone", NULL);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    assert_null(bl_templates_load(away, faults));
    assert_int_equal(bl_faults_count(faults), 1);
    g_autofree char *english = g_build_filename(room.dir, "en", NULL);
    g_autofree char *hidden = g_build_filename(room.dir, ".en", NULL);
    assert_int_equal(g_rename(english, hidden), 0);
    assert_null(bl_templates_load(room.dir, faults));
    assert_int_equal(bl_faults_count(faults), 2);
    assert_non_null(strstr(bl_faults_line(faults, 1), "there is no language here"));
    template_room_close(&room);
}

static void a_language_may_have_a_name_of_its_own(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    g_autofree char *english = g_build_filename(room.dir, "en", NULL);
    g_autofree char *plain = g_build_filename(room.dir, "plain", NULL);
    assert_int_equal(g_rename(english, plain), 0);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_templates) *templates = bl_templates_load(room.dir, faults);
    assert_non_null(templates);
    assert_true(bl_templates_has_language(templates, "plain"));
    template_room_close(&room);
}

static void a_partial_that_calls_itself_is_refused(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    template_room_write(&room, "en/round.part", "{{>round}}\n", -1);
    template_room_write(&room, "en/wash.sms", "{{>round}}", -1);
    g_autofree char *told = template_room_faults(&room);
    template_room_close(&room);
    assert_true(g_str_has_prefix(told, "en/wash.sms:1: "));
}

/* Every kind of message uses the signature: one slip in it is one fault, not a dozen. */
static void a_slip_in_a_partial_is_said_once(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    template_room_replace(&room, "en/signature.part", "{{shop}}", "{{shopp}}");
    g_autofree char *told = template_room_faults(&room);
    template_room_close(&room);
    g_auto(GStrv) lines = g_strsplit(g_strstrip(told), "\n", -1);
    assert_int_equal(g_strv_length(lines), 1);
    assert_non_null(
        strstr(lines[0], "in partial \"signature\", line 3: unknown name \"shopp\""));
}

static void a_missing_partial_is_said_once(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    template_room_remove(&room, "en/your-car.part");
    g_autofree char *told = template_room_faults(&room);
    template_room_close(&room);
    assert_string_equal(told, "en/handover.sms:3: unknown partial \"your-car\": did you mean "
                              "\"your-cars\"?");
}

static void the_starter_catalogue_asks_only_for_words_both_languages_have(void **state)
{
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_templates) *templates = bl_templates_load(BL_SOURCE_DIR "/templates", faults);
    BL_AUTO(bl_catalogue) *catalogue =
        bl_catalogue_load(BL_SOURCE_DIR "/templates/catalogue", faults);
    assert_non_null(templates);
    assert_non_null(catalogue);
    bl_templates_check_catalogue(templates, catalogue, faults);
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        print_error("%s\n", bl_faults_line(faults, i));
    }
    assert_int_equal(bl_faults_count(faults), 0);
}

static void a_word_a_product_asks_for_and_a_language_lacks_is_told_once(void **state)
{
    (void)state;
    struct template_room room;
    template_room_open(&room, EN);
    g_autofree char *products = g_build_filename(room.dir, "products", NULL);
    g_mkdir(products, 0700);
    g_autofree char *paint = NULL;
    assert_true(g_file_get_contents(BL_SOURCE_DIR "/templates/catalogue/paint.conf", &paint,
                                    NULL, NULL));
    g_auto(GStrv) parts = g_strsplit(paint, "\"two buckets\"", -1);
    g_autofree char *changed = g_strjoinv("\"three buckets\"", parts);
    template_room_write(&room, "products/paint.conf", changed, -1);

    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_templates) *templates = bl_templates_load(room.dir, faults);
    BL_AUTO(bl_catalogue) *catalogue = bl_catalogue_load(products, faults);
    assert_non_null(templates);
    assert_non_null(catalogue);
    bl_templates_check_catalogue(templates, catalogue, faults);
    assert_int_equal(bl_faults_count(faults), 1);
    assert_non_null(strstr(bl_faults_line(faults, 0), "en/words: product \""));
    assert_non_null(strstr(bl_faults_line(faults, 0),
                           "\" asks for the word \"three buckets\": add it under [wash]"));
    template_room_close(&room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_shipped_templates_load),
        cmocka_unit_test(an_unknown_name_is_told_in_every_form),
        cmocka_unit_test(a_broken_tag_is_told_at_its_own_line),
        cmocka_unit_test(a_mail_has_a_subject_and_an_empty_line),
        cmocka_unit_test(a_file_that_is_no_text_is_refused),
        cmocka_unit_test(every_fault_of_a_folder_is_told_at_once),
        cmocka_unit_test(a_pipe_in_place_of_a_file_does_not_stop_the_daemon),
        cmocka_unit_test(windows_line_ends_are_no_fault),
        cmocka_unit_test(a_folder_without_languages_is_refused),
        cmocka_unit_test(a_language_may_have_a_name_of_its_own),
        cmocka_unit_test(a_partial_that_calls_itself_is_refused),
        cmocka_unit_test(a_slip_in_a_partial_is_said_once),
        cmocka_unit_test(a_missing_partial_is_said_once),
        cmocka_unit_test(the_starter_catalogue_asks_only_for_words_both_languages_have),
        cmocka_unit_test(a_word_a_product_asks_for_and_a_language_lacks_is_told_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
