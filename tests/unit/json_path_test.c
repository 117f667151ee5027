/* The text at a path in a gateway's JSON answer. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/send.h"
#include "beadline/text.h"

static char *at(const char *json, const char *path)
{
    return bl_json_path(json, strlen(json), path);
}

static void test_a_path_finds_the_text_that_stands_there(void **state)
{
    static const char json[] =
        "{\"status\": \"queued\", \"code\": 21, \"cost\": 0.05, \"live\": true, \"dead\": false,"
        " \"none\": null, \"messages\": [{\"id\": \"a1\"}, {\"id\": -7, \"to\": [1, 2]}],"
        " \"\": {\"0\": \"empty\"}, \"u\": \"caf\\u00e9 \\ud83d\\ude97\", \"n\": 1e3}";
    static const struct {
        const char *path, *text;
    } rows[] = {
        {"status", "queued"},
        {"code", "21"},
        {"cost", "0.05"},
        {"live", "true"},
        {"dead", "false"},
        {"none", NULL},
        {"messages.0.id", "a1"},
        {"messages.1.id", "-7"},
        {"messages.1.to.1", "2"},
        {"messages.2.id", NULL},
        {"messages", NULL},
        {"messages.0", NULL},
        {"messages.x.id", NULL},
        {"messages.-1", NULL},
        {"messages.00.id", "a1"},
        {"messages.99999999999999999999.id", NULL},
        {"status.x", NULL},
        {"status.0", NULL},
        {".0", "empty"},
        {"", NULL},
        {"nothing", NULL},
        {"u", "caf\xc3\xa9 \xf0\x9f\x9a\x97"},
        {"n", "1000"},
        {"code.", NULL},
    };
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(rows); i++) {
        g_autofree char *text = at(json, rows[i].path);
        if (g_strcmp0(text, rows[i].text) != 0) {
            print_error("at \"%s\"\n", rows[i].path);
        }
        assert_int_equal(text == NULL, rows[i].text == NULL);
        if (text) {
            assert_string_equal(text, rows[i].text);
        }
    }
}

static void test_an_answer_that_is_no_json_has_nothing_at_any_path(void **state)
{
    static const char *const broken[] = {
        "",
        "<html>a</html>",
        "{\"a\": \"b\"",
        "{\"a\": \"b\"} more",
        "{'a': 'b'}",
        "{\"a\": 01}",
        "{\"a\": \"b\",}",
        "{\"a\": \"\\u0000\"}",
        "{\"a\": \"\xff\"}",
        "{\"a\": \"b\", \"a\": \"c\"}",
        "\"a\"",
    };
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(broken); i++) {
        assert_null(at(broken[i], "a"));
    }
    assert_null(bl_json_path(NULL, 0, "a"));
}

static char *nested(int depth)
{
    g_autoptr(GString) text = g_string_new("{\"a\": \"b\", \"deep\": ");
    for (int i = 1; i < depth; i++) {
        g_string_append_c(text, '[');
    }
    for (int i = 1; i < depth; i++) {
        g_string_append_c(text, ']');
    }
    g_string_append(text, depth > 1 ? "}" : "0}");
    return g_string_free(g_steal_pointer(&text), FALSE);
}

static void test_an_answer_is_read_down_to_sixteen_levels(void **state)
{
    (void)state;
    for (int depth = 1; depth <= 64; depth++) {
        g_autofree char *json = nested(depth);
        g_autofree char *text = at(json, "a");
        assert_int_equal(text != NULL, depth <= 16);
    }
    g_autofree char *deepest = g_strnfill(256 * 1024, '[');
    assert_null(at(deepest, "0"));
    g_autofree char *brackets = at("{\"a\": \"[[[[[[[[[[[[[[[[[[[[[\\\"[\"}", "a");
    assert_string_equal(brackets, "[[[[[[[[[[[[[[[[[[[[[\"[");
}

static void test_an_answer_is_read_up_to_256_kib(void **state)
{
    g_autofree char *fill = g_strnfill(256 * 1024 - 10, ' ');
    g_autofree char *fits = g_strconcat("{\"a\":\"b\"}", fill, " ", NULL);
    g_autofree char *longer = g_strconcat(fits, " ", NULL);
    g_autofree char *text = at(fits, "a");
    (void)state;
    assert_string_equal(text, "b");
    assert_null(at(longer, "a"));
}

static void test_a_number_beyond_64_bits_hides_nothing_beside_it(void **state)
{
    g_autofree char *text = at("{\"big\": 123456789012345678901234567890, \"a\": \"b\"}", "a");
    (void)state;
    assert_string_equal(text, "b");
}

static void test_any_text_comes_back_as_it_was_put_in(void **state)
{
    guint32 seed = g_random_int();
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    (void)state;
    print_message("seed %u\n", seed);
    for (int n = 0; n < 20000; n++) {
        g_autoptr(GString) text = g_string_new(NULL);
        for (int i = g_rand_int_range(rand, 0, 30); i > 0; i--) {
            gunichar c = (gunichar)g_rand_int_range(rand, 1, 0x11000);
            g_string_append_unichar(text, g_unichar_validate(c) ? c : '{');
        }
        g_autofree char *escaped = bl_text_json(text->str);
        g_autofree char *json = g_strdup_printf("[{\"x\":[\"%s\"]}]", escaped);
        g_autofree char *back = at(json, "0.x.0");
        assert_non_null(back);
        assert_string_equal(back, text->str);
    }
}

static void test_damaged_answers_are_read_without_a_crash(void **state)
{
    static const char whole[] = "{\"a\":{\"b\":[1,2.5e3,\"x\\u00e9\\n\",null,{\"c\":true}]}}";
    guint32 seed = g_random_int();
    g_autoptr(GRand) rand = g_rand_new_with_seed(seed);
    (void)state;
    print_message("seed %u\n", seed);
    for (int n = 0; n < 50000; n++) {
        g_autofree char *json = g_strdup(whole);
        size_t length = (size_t)g_rand_int_range(rand, 0, (gint32)sizeof whole);
        for (int i = g_rand_int_range(rand, 0, 4); i > 0 && length > 0; i--) {
            json[g_rand_int_range(rand, 0, (gint32)length)] =
                (char)g_rand_int_range(rand, 0, 256);
        }
        g_autofree char *text = bl_json_path(json, length, "a.b.4.c");
        assert_true(!text || g_utf8_validate(text, -1, NULL));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_path_finds_the_text_that_stands_there),
        cmocka_unit_test(test_an_answer_that_is_no_json_has_nothing_at_any_path),
        cmocka_unit_test(test_an_answer_is_read_down_to_sixteen_levels),
        cmocka_unit_test(test_an_answer_is_read_up_to_256_kib),
        cmocka_unit_test(test_a_number_beyond_64_bits_hides_nothing_beside_it),
        cmocka_unit_test(test_any_text_comes_back_as_it_was_put_in),
        cmocka_unit_test(test_damaged_answers_are_read_without_a_crash),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
