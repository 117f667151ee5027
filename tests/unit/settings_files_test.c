/* The settings as files: those that are none, that come from other systems, that include
 * others, that were cut or damaged; and the commented example, held against the table of
 * options. */
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <glib.h>

#include "beadline/civil.h"
#include "beadline/settings.h"
#include "faulty.h"

/* Two lines that are enough; what a test adds begins in line 3. */
#define SHOP                                                                                   \
    "shop = { name = \"Example Shine\"; owner = \"Alex\"; phone = \"07700 900123\"; zone = "   \
    "\"Europe/London\"; };\n"
#define PHONE "phone = { calling_code = \"44\"; };\n"
#define GOOD  SHOP PHONE

static struct bl_settings *parse(const char *text, struct bl_faults *faults)
{
    return bl_settings_parse(text, strlen(text), "x.conf", faults);
}

/* The one fault of loading that file. */
static char *only_fault(const char *file)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = bl_settings_load(file, faults);
    assert_null(settings);
    assert_int_equal(bl_faults_count(faults), 1);
    return g_strdup(bl_faults_line(faults, 0));
}

static void a_file_that_cannot_be_one_is_refused_in_one_line(void **state)
{
    const struct folder *folder = *state;
    g_autofree char *missing = g_build_filename(folder->path, "none.conf", NULL);
    g_autofree char *said = only_fault(missing);
    assert_non_null(strstr(said, "none.conf: cannot be opened"));

    g_autofree char *directory = only_fault(folder->path);
    assert_non_null(strstr(directory, ": is a folder"));

    g_autofree char *pipe = g_build_filename(folder->path, "pipe", NULL);
    assert_int_equal(mkfifo(pipe, 0600), 0);
    g_autofree char *waited = only_fault(pipe);
    assert_non_null(strstr(waited, "is not an ordinary file"));

    g_autofree char *empty = put(folder, "empty.conf", "", 0);
    g_autofree char *nothing = only_fault(empty);
    assert_non_null(strstr(nothing, "empty.conf: is empty"));

    static const char nul[] = GOOD "lead_days = 4;\0";
    g_autofree char *damaged = put(folder, "nul.conf", nul, sizeof nul);
    g_autofree char *byte = only_fault(damaged);
    assert_non_null(strstr(byte, "nul.conf:3: holds a NUL byte"));
}

static void a_file_over_one_mebibyte_is_refused(void **state)
{
    const struct folder *folder = *state;
    g_autoptr(GString) text = g_string_new(GOOD);
    gsize room = (1U << 20) - text->len;
    for (gsize i = 0; i < room; i++) {
        g_string_append_c(text, i % 80 == 79 ? '\n' : '#');
    }
    g_autofree char *full = put(folder, "full.conf", text->str, (gssize)text->len);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = bl_settings_load(full, faults);
    assert_non_null(settings);
    g_string_append_c(text, '\n');
    g_autofree char *over = put(folder, "over.conf", text->str, (gssize)text->len);
    g_autofree char *said = only_fault(over);
    assert_non_null(strstr(said, "over.conf: more than 1 MiB"));

    g_autofree char *ten = g_build_filename(folder->path, "ten.conf", NULL);
    int fd = open(ten, O_CREAT | O_WRONLY | O_CLOEXEC, 0600);
    assert_int_equal(ftruncate(fd, 10 << 20), 0);
    close(fd);
    g_autofree char *huge = only_fault(ten);
    assert_non_null(strstr(huge, "ten.conf: more than 1 MiB"));
}

static void too_many_settings_are_refused_before_they_cost_minutes(void **state)
{
    (void)state;
    g_autoptr(GString) text = g_string_new(GOOD);
    for (int i = 0; i < 100000; i++) {
        g_string_append_printf(text, "a%d=1;", i);
    }
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = parse(text->str, faults);
    assert_null(settings);
    assert_true(has_line(faults, "x.conf:3: more than 500 settings in one group"));
}

static void line_ends_and_byte_order_marks_of_other_systems_do_no_harm(void **state)
{
    const struct folder *folder = *state;
    static const char text[] =
        "\xef\xbb\xbf"
        "shop = { name = \"Example Shine\"; owner = \"Alex\"; phone = \"07700 "
        "900123\";\r\n address = \"1 Example Road\r\nExampleton\"; zone = "
        "\"Europe/London\"; };\r\n" PHONE "lead_days = 1000;\r\n";
    g_autofree char *file = put(folder, "dos.conf", text, -1);
    g_autofree char *said = only_fault(file);
    assert_non_null(strstr(said, "dos.conf:5: \"lead_days\": 1000 is outside"));

    g_autofree char *good = g_strndup(text, strlen(text) - strlen("lead_days = 1000;\r\n"));
    g_autofree char *same = put(folder, "good.conf", good, -1);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = bl_settings_load(same, faults);
    assert_non_null(settings);
    assert_string_equal(settings->shop.address, "1 Example Road\nExampleton");
}

static void an_included_file_is_found_beside_its_includer_and_named_in_faults(void **state)
{
    const struct folder *folder = *state;
    g_free(put(folder, "parts/hours.conf",
               "# hours\n@include \"days/sunday.conf\"\nmonday = \"9-5\";\n", -1));
    g_free(put(folder, "parts/days/sunday.conf", "sunday = \"10:00-12:00\";", -1));
    g_autofree char *file = put(folder, "main.conf",
                                GOOD "hours =\n{\n  @include \"parts/hours.conf\" // mine\n};\n"
                                     "lead_days = 999;\n",
                                -1);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = bl_settings_load(file, faults);
    assert_null(settings);
    assert_int_equal(bl_faults_count(faults), 2);
    assert_non_null(strstr(bl_faults_line(faults, 0), "parts/hours.conf:3: \"hours.monday\""));
    assert_non_null(strstr(bl_faults_line(faults, 1), "main.conf:7: \"lead_days\""));

    g_free(put(folder, "parts/hours.conf", "@include \"days/sunday.conf\"\nmonday = \"none\";",
               -1));
    g_autofree char *good =
        put(folder, "good.conf", GOOD "hours =\n{\n@include \"parts/hours.conf\"\n};\n", -1);
    BL_AUTO(bl_settings) *well = bl_settings_load(good, faults);
    assert_non_null(well);
    assert_int_equal(well->shop.hours.open[7], 10 * 3600);
    assert_int_equal(well->shop.hours.open[1], well->shop.hours.close[1]);
}

static void an_include_in_a_text_or_a_comment_is_none(void **state)
{
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = parse(
        "/*\n@include \"none.conf\"\n*/\n# @include \"none.conf\"\n" PHONE
        "shop = { name = \"A\"; owner = \"B\"; phone = \"07700 900123\"; zone = \"Europe/London\";\n"
        "address = \"1 Example Road\n@include \\\"none.conf\\\"\n\"; };\n",
        faults);
    assert_non_null(settings);
    assert_string_equal(settings->shop.address, "1 Example Road\n@include \"none.conf\"\n");
}

static void includes_that_go_wrong_are_named_and_end(void **state)
{
    const struct folder *folder = *state;
    g_autofree char *missing = put(folder, "a.conf", GOOD "\n@include \"none.conf\"\n", -1);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = bl_settings_load(missing, faults);
    assert_null(settings);
    assert_int_equal(bl_faults_count(faults), 2);
    assert_non_null(strstr(bl_faults_line(faults, 0), "none.conf: cannot be opened"));
    assert_non_null(strstr(bl_faults_line(faults, 1), "a.conf:4: it is included here"));

    g_autofree char *circle = put(folder, "b.conf", GOOD "@include \"b.conf\"\n", -1);
    BL_AUTO(bl_faults) *round = bl_faults_new();
    BL_AUTO(bl_settings) *none = bl_settings_load(circle, round);
    assert_null(none);
    assert_non_null(strstr(bl_faults_line(round, 0), "does one include itself?"));

    g_autofree char *folder_in = put(folder, "c.conf", GOOD "@include \".\"\n", -1);
    BL_AUTO(bl_faults) *again = bl_faults_new();
    BL_AUTO(bl_settings) *still = bl_settings_load(folder_in, again);
    assert_null(still);
    assert_non_null(strstr(bl_faults_line(again, 0), "is a folder"));
}

static void a_secret_others_may_read_is_refused(void **state)
{
    const struct folder *folder = *state;
    g_autofree char *secret = put(folder, "secret", "hush\n", -1);
    g_autofree char *file =
        put(folder, "x.conf",
            GOOD "gateways = ( { name = \"t\"; kind = \"http\"; url = "
                 "\"https://sms.example.com/\"; secret_file = \"secret\"; } );\n"
                 "carry = { sms = \"t\"; };",
            -1);
    BL_AUTO(bl_faults) *none = bl_faults_new();
    BL_AUTO(bl_settings) *settings = bl_settings_load(file, none);
    assert_non_null(settings);
    assert_string_equal(bl_settings_carrier(settings, BL_SMS)->secret_file, secret);
    for (guint mode = 0640; mode <= 0646; mode += 2) {
        assert_int_equal(chmod(secret, mode), 0);
        g_autofree char *said = only_fault(file);
        assert_non_null(strstr(said, "\"secret_file\": others may read or change this file"));
    }
}

static char *example(void)
{
    char *text = NULL;
    assert_true(
        g_file_get_contents(BL_SOURCE_DIR "/templates/beadline.conf", &text, NULL, NULL));
    return text;
}

/* The example with every option switched on: the slashes at the beginning of lines taken away.
 */
static char *example_in_full(void)
{
    g_autofree char *text = example();
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    for (guint i = 0; lines[i]; i++) {
        char *at = lines[i] + strspn(lines[i], " ");
        if (g_str_has_prefix(at, "//")) {
            memset(at, ' ', 2);
        }
    }
    return g_strjoinv("\n", lines);
}

/* Every "path = value" of a text laid out as the example is, by path ("hours.monday",
 * "gateways[].kind"); a reader of its own, so that the table is held against the page. */
static GHashTable *assignments(const char *text)
{
    GHashTable *found = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    g_autoptr(GPtrArray) inside = g_ptr_array_new_with_free_func(g_free);
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    for (guint i = 0; lines[i]; i++) {
        char *line = g_strstrip(lines[i]);
        if (*line == '\0' || *line == '#') {
            continue;
        }
        char *equals = strstr(line, " =");
        g_autofree char *name = g_strndup(line, equals ? (gsize)(equals - line) : 0);
        const char *next = lines[i + 1] ? g_strstrip(lines[i + 1]) : "";
        g_autoptr(GString) path = g_string_new(NULL);
        for (guint d = 0; d < inside->len; d++) {
            g_string_append(path, g_ptr_array_index(inside, d));
        }
        if (equals && equals[2] == '\0') {
            if (*next == '(') {
                g_autofree char *list = g_strconcat(path->str, name, NULL);
                g_hash_table_insert(found, g_steal_pointer(&list), g_strdup("("));
            }
            g_ptr_array_add(inside, g_strconcat(name, *next == '(' ? "[]." : ".", NULL));
        } else if (equals) {
            g_string_append(path, name);
            char *end = g_strrstr(equals, ";");
            char *comment = strstr(equals, "; ");
            end = comment && strchr(comment, '#') ? comment : end;
            g_hash_table_insert(found, g_strdup(path->str),
                                g_strndup(equals + 3, (gsize)(end - equals - 3)));
        } else if (g_str_has_prefix(line, "};") || g_str_has_prefix(line, ");")) {
            g_ptr_array_set_size(inside, (gint)inside->len - 1);
        }
    }
    return found;
}

static void the_example_is_good_as_it_stands(void **state)
{
    const struct folder *folder = *state;
    g_autofree char *text = example();
    g_autofree char *file = put(folder, "beadline.conf", text, -1);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = bl_settings_load(file, faults);
    assert_int_equal(bl_faults_count(faults), 0);
    assert_non_null(settings);
    BL_AUTO(bl_settings) *bare = parse(GOOD, faults);
    g_autofree char *said = bl_settings_fingerprint(settings);
    g_autofree char *unsaid = bl_settings_fingerprint(bare);
    assert_string_equal(said, unsaid);
}

static void every_option_stands_in_the_example_with_its_default(void **state)
{
    (void)state;
    g_autofree char *text = example_in_full();
    g_autoptr(GHashTable) found = assignments(text);
    guint count = 0;
    const struct bl_option_help *option;
    for (guint i = 0; (option = bl_settings_option(i)) != NULL; i++) {
        const char *value = g_hash_table_lookup(found, option->path);
        if (!value) {
            fail_msg("\"%s\" is not in the example", option->path);
        }
        assert_true(option->help[0] != '\0' && !strchr(option->help, '\n'));
        assert_true(option->type[0] != '\0');
        if (*option->initial && strcmp(option->initial, "none") != 0) {
            assert_string_equal(value, option->initial);
        }
        g_hash_table_remove(found, option->path);
        count++;
    }
    assert_true(count > 55);
    assert_int_equal(g_hash_table_size(found), 0);
}

static void the_example_in_full_is_good_too(void **state)
{
    const struct folder *folder = *state;
    g_free(put(folder, "secrets/post", "hush", -1));
    g_free(put(folder, "secrets/texts", "hush", -1));
    g_free(put(folder, "secrets/authority.pem", "", -1));
    g_autofree char *text = example_in_full();
    g_autofree char *file = put(folder, "beadline.conf", text, -1);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = bl_settings_load(file, faults);
    g_autofree char *lines = all_lines(faults);
    assert_string_equal(lines, "");
    assert_int_equal(settings->gateways->len, 3);
    assert_string_equal(bl_settings_carrier(settings, BL_SMS)->name, "texts");
    assert_string_equal(bl_settings_carrier(settings, BL_MAIL)->name, "post");
    assert_true(settings->shop.has_climate);
}

/* Values unlike the defaults and unlike their own beginnings, so that a value cut short shows.
 */
static const char telling[] = GOOD
    "lead_days = 35;\ndistance_a_year = 23456;\nrestraint =\n{\n    care_days = 123;\n    "
    "tips_offers_a_year = 12;\n};\nretry = { first_s = 120; longest_s = 43200; };\nclosed = [ "
    "\"2026-12-24 - 2026-12-27\" ];\nhours = { monday = \"10:00-18:30\"; };\n";

static void a_file_cut_anywhere_never_yields_a_value_nobody_wrote(void **state)
{
    (void)state;
    guint taken = 0;
    for (gsize n = 0; n <= strlen(telling); n++) {
        g_autofree char *text = g_strndup(telling, n);
        BL_AUTO(bl_faults) *faults = bl_faults_new();
        BL_AUTO(bl_settings) *settings = parse(text, faults);
        assert_int_equal(settings == NULL, bl_faults_count(faults) > 0);
        if (!settings) {
            continue;
        }
        const struct bl_shop *shop = &settings->shop;
        taken++;
        assert_true(shop->lead_days == 21 || shop->lead_days == 35);
        assert_true(shop->km_a_year == 12000 || shop->km_a_year == 23456);
        assert_true(shop->restraint.care_days == 42 || shop->restraint.care_days == 123);
        assert_true(settings->retry_first_s == 60 || settings->retry_first_s == 120);
        assert_true(settings->retry_longest_s == 21600 || settings->retry_longest_s == 43200);
        assert_true(shop->hours.close[1] == 19 * 3600 ||
                    shop->hours.close[1] == 18 * 3600 + 1800);
        assert_true(shop->closed->len == 0 ||
                    g_array_index(shop->closed, struct bl_closed, 0).last ==
                        bl_date_of(2026, 12, 27));
    }
    assert_true(taken > 5 && taken < 60);
}

static void a_damaged_file_is_either_good_or_has_a_fault(void **state)
{
    (void)state;
    g_autoptr(GRand) dice = g_rand_new_with_seed(seed_of());
    g_autofree char *whole = example_in_full();
    gsize length = strlen(whole);
    for (int round = 0; round < 1500; round++) {
        g_autofree char *text = g_memdup2(whole, length + 1);
        gsize cut =
            g_rand_boolean(dice) ? length : (gsize)g_rand_int_range(dice, 0, (gint)length);
        for (int hits = g_rand_int_range(dice, 1, 6); hits > 0; hits--) {
            text[g_rand_int_range(dice, 0, (gint)length)] =
                (char)g_rand_int_range(dice, 0, 256);
        }
        BL_AUTO(bl_faults) *faults = bl_faults_new();
        BL_AUTO(bl_settings) *settings = bl_settings_parse(text, cut, "x.conf", faults);
        assert_int_equal(settings == NULL, bl_faults_count(faults) > 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_file_that_cannot_be_one_is_refused_in_one_line,
                                        make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_file_over_one_mebibyte_is_refused, make_folder,
                                        drop_folder),
        cmocka_unit_test(too_many_settings_are_refused_before_they_cost_minutes),
        cmocka_unit_test_setup_teardown(
            line_ends_and_byte_order_marks_of_other_systems_do_no_harm, make_folder,
            drop_folder),
        cmocka_unit_test_setup_teardown(
            an_included_file_is_found_beside_its_includer_and_named_in_faults, make_folder,
            drop_folder),
        cmocka_unit_test(an_include_in_a_text_or_a_comment_is_none),
        cmocka_unit_test_setup_teardown(includes_that_go_wrong_are_named_and_end, make_folder,
                                        drop_folder),
        cmocka_unit_test_setup_teardown(a_secret_others_may_read_is_refused, make_folder,
                                        drop_folder),
        cmocka_unit_test_setup_teardown(the_example_is_good_as_it_stands, make_folder,
                                        drop_folder),
        cmocka_unit_test(every_option_stands_in_the_example_with_its_default),
        cmocka_unit_test_setup_teardown(the_example_in_full_is_good_too, make_folder,
                                        drop_folder),
        cmocka_unit_test(a_file_cut_anywhere_never_yields_a_value_nobody_wrote),
        cmocka_unit_test(a_damaged_file_is_either_good_or_has_a_fault),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
