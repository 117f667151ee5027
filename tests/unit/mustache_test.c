/*
 * Templates beyond the specification's own cases: what the strict check refuses, how values are
 * escaped by place, and that no template can run away.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <string.h>

#include "beadline/error.h"
#include "beadline/mustache.h"

static struct bl_mustache *parsed(const char *text)
{
    g_autoptr(GError) error = NULL;
    struct bl_mustache *template = bl_mustache_parse(text, &error);
    assert_null(error);
    assert_non_null(template);
    return template;
}

static void free_template(gpointer template)
{
    bl_mustache_free(template);
}

static GHashTable *partials_of(const char *const (*pairs)[2], size_t count)
{
    GHashTable *partials = g_hash_table_new_full(g_str_hash, g_str_equal, NULL, free_template);
    for (size_t i = 0; i < count; i++) {
        g_hash_table_insert(partials, (gpointer)pairs[i][0], parsed(pairs[i][1]));
    }
    return partials;
}

/* A customer with two cars, one of them with a note. */
static struct bl_value *customer(void)
{
    struct bl_value *second = bl_value_map();
    bl_value_set(second, "plate", bl_value_text("DEF 456"));
    bl_value_set(second, "note", bl_value_text(NULL));
    struct bl_value *first = bl_value_map();
    bl_value_set(first, "plate", bl_value_text("ABC 123"));
    bl_value_set(first, "note", bl_value_text("gate code"));
    struct bl_value *cars = bl_value_list();
    bl_value_append(cars, first);
    bl_value_append(cars, second);
    struct bl_value *shop = bl_value_map();
    bl_value_set(shop, "name", bl_value_text("Test & Sons"));
    bl_value_set(shop, "phone", bl_value_text("+447700900123"));
    struct bl_value *all = bl_value_map();
    bl_value_set(all, "cars", cars);
    bl_value_set(all, "shop", shop);
    bl_value_set(all, "replies", bl_value_bool(true));
    bl_value_set(all, "name", bl_value_text("Ann"));
    return all;
}

static void assert_renders(const char *text, enum bl_escape escape, const char *expected)
{
    BL_AUTO(bl_mustache) *template = parsed(text);
    BL_AUTO(bl_value) *values = customer();
    g_autoptr(GError) error = NULL;
    g_autofree char *got = bl_mustache_render(template, values, NULL, escape, &error);
    assert_null(error);
    assert_string_equal(got, expected);
}

static void a_wrong_template_names_its_line_and_the_remedy(void **state)
{
    static const struct {
        const char *text, *error;
    } cases[] = {
        {"a\n{{name", "line 2: the tag \"{{\" is not closed: write \"}}\" behind it"},
        {"{{{name}}", "line 1: the tag \"{{\" is not closed: write \"}}}\" behind it"},
        {"\n\n{{#cars}}\nx", "line 3: the section \"cars\" is not closed: write {{/cars}}"},
        {"{{#a}}\n{{#b}}\n{{/a}}\n{{/b}}",
         "line 3: \"{{/a}}\" stands where \"{{/b}}\" is expected (opened on line 2)"},
        {"x {{/a}}", "line 1: \"{{/a}}\" closes a section that was not opened"},
        {"{{}}", "line 1: \"\" is no name: write one word, as in {{name}}"},
        {"{{two words}}", "line 1: \"two words\" is no name: write one word, as in {{name}}"},
        {"{{#two words}}{{/two words}}",
         "line 1: \"two words\" is no name: write one word, as in {{name}}"},
        {"{{a..b}}", "line 1: \"a..b\" has an empty part: write it as a.b"},
        {"{{.a}}", "line 1: \".a\" has an empty part: write it as a.b"},
        {"{{> two words}}", "line 1: \"two words\" is no partial's name: write one word"},
        {"{{=<%=}}", "line 1: \"<%\" are no delimiters: write two words, as in {{=<% %>=}}"},
        {"{{=a b c=}}",
         "line 1: \"a b c\" are no delimiters: write two words, as in {{=<% %>=}}"},
        {"{{= ==}}", "line 1: \"=\" are no delimiters: write two words, as in {{=<% %>=}}"},
        {"{{=0123456789abcdef %>=}}", "line 1: \"0123456789abcdef %>\" has a delimiter longer "
                                      "than 15 characters"},
        {"{{!\n\n}}{{a b}}", "line 3: \"a b\" is no name: write one word, as in {{name}}"},
    };
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autoptr(GError) error = NULL;
        BL_AUTO(bl_mustache) *template = bl_mustache_parse(cases[i].text, &error);
        assert_null(template);
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        assert_string_equal(error->message, cases[i].error);
    }
}

/* Runs of `text` around `middle`. */
static char *nested(const char *open, const char *middle, const char *close, int times)
{
    GString *text = g_string_new(NULL);
    for (int i = 0; i < times; i++) {
        g_string_append(text, open);
    }
    g_string_append(text, middle);
    for (int i = 0; i < times; i++) {
        g_string_append(text, close);
    }
    return g_string_free(text, FALSE);
}

static void sections_nest_32_deep_and_no_deeper(void **state)
{
    (void)state;
    g_autofree char *deep = nested("{{#replies}}", "x", "{{/replies}}", 32);
    assert_renders(deep, BL_PLAIN, "x");
    g_autofree char *deeper = nested("{{#replies}}", "x", "{{/replies}}", 33);
    g_autoptr(GError) error = NULL;
    BL_AUTO(bl_mustache) *template = bl_mustache_parse(deeper, &error);
    assert_null(template);
    assert_string_equal(error->message,
                        "line 1: sections stand more than 32 deep in each other");
}

static void html_shows_the_five_signs_of_markup_as_they_were_typed(void **state)
{
    (void)state;
    BL_AUTO(bl_mustache) *template = parsed("{{.}}");
    BL_AUTO(bl_value) *text = bl_value_text("<b> & \"c\" 'd'");
    g_autofree char *got = bl_mustache_render(template, text, NULL, BL_HTML, NULL);
    assert_string_equal(got, "&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39;");
}

static void three_braces_escape_all_the_same_where_a_value_could_break_out(void **state)
{
    static const struct {
        enum bl_escape escape;
        const char *twice, *thrice;
    } cases[] = {
        {BL_PLAIN, "a\"\r\n&ü", "a\"\r\n&ü"},
        {BL_HTML, "a&quot;\r\n&amp;ü", "a\"\r\n&ü"},
        {BL_JSON, "a\\\"\\r\\n&ü", "a\\\"\\r\\n&ü"},
        {BL_FORM, "a%22%0D%0A%26%C3%BC", "a%22%0D%0A%26%C3%BC"},
        {BL_HEADER, "a\"  &ü", "a\"  &ü"},
    };
    (void)state;
    BL_AUTO(bl_value) *text = bl_value_text("a\"\r\n&ü");
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        static const char *const forms[] = {"{{.}}", "{{{.}}}", "{{&.}}"};
        for (size_t k = 0; k < G_N_ELEMENTS(forms); k++) {
            BL_AUTO(bl_mustache) *template = parsed(forms[k]);
            g_autofree char *got =
                bl_mustache_render(template, text, NULL, cases[i].escape, NULL);
            assert_string_equal(got, k == 0 ? cases[i].twice : cases[i].thrice);
        }
    }
}

static void a_header_value_holds_no_sign_that_ends_a_line(void **state)
{
    (void)state;
    BL_AUTO(bl_mustache) *template = parsed("{{.}}");
    BL_AUTO(bl_value) *text = bl_value_text("a\rb\nc\td\x01"
                                            "e\x7f"
                                            "f\xc2\x85"
                                            "g\u2028h\u2029i\xffj");
    g_autofree char *got = bl_mustache_render(template, text, NULL, BL_HEADER, NULL);
    assert_string_equal(got, "a b c d e f g h i\uFFFDj");
}

/* RFC 3986 2.3: letters, digits and four signs are unreserved; nothing else may stand bare. */
static void a_form_value_keeps_the_unreserved_signs_and_encodes_each_other_byte(void **state)
{
    (void)state;
    BL_AUTO(bl_mustache) *template = parsed("{{.}}");
    for (int byte = 1; byte < 128; byte++) {
        char one[] = {(char)byte, '\0'};
        BL_AUTO(bl_value) *text = bl_value_text(one);
        g_autofree char *got = bl_mustache_render(template, text, NULL, BL_FORM, NULL);
        g_autofree char *encoded = g_strdup_printf("%%%02X", byte);
        bool unreserved = g_ascii_isalnum(byte) || strchr("-._~", byte);
        assert_string_equal(got, unreserved ? one : encoded);
    }
}

static void what_is_not_there_leaves_its_section_out(void **state)
{
    (void)state;
    assert_renders("{{#cars}}{{plate}}{{#note}} ({{.}}){{/note}}{{^note}}!{{/note}};{{/cars}}",
                   BL_PLAIN, "ABC 123 (gate code);DEF 456!;");
    assert_renders("{{#fleet}}x{{/fleet}}{{^fleet}}none{{/fleet}}", BL_PLAIN, "none");
}

static void a_list_or_a_group_shows_nothing_and_yes_shows_true(void **state)
{
    (void)state;
    assert_renders("[{{cars}}{{shop}}] {{replies}}", BL_PLAIN, "[] true");
}

static void a_name_set_twice_holds_the_second_value(void **state)
{
    (void)state;
    BL_AUTO(bl_value) *map = bl_value_map();
    bl_value_set(map, "a", bl_value_text("1"));
    bl_value_set(map, "a", bl_value_bool(false));
    BL_AUTO(bl_mustache) *template = parsed("{{a}}");
    g_autofree char *got = bl_mustache_render(template, map, NULL, BL_PLAIN, NULL);
    assert_string_equal(got, "false");
}

static void a_template_without_values_still_renders_its_words(void **state)
{
    (void)state;
    BL_AUTO(bl_mustache) *template = parsed("Dear {{name}}{{^name}}customer{{/name}}{{.}}");
    g_autofree char *got = bl_mustache_render(template, NULL, NULL, BL_PLAIN, NULL);
    assert_string_equal(got, "Dear customer");
}

static void assert_runs_away(const char *const (*pairs)[2], size_t count,
                             struct bl_value *values, const char *what)
{
    g_autoptr(GHashTable) partials = partials_of(pairs, count);
    BL_AUTO(bl_mustache) *template = parsed("\n{{>a}}");
    g_autoptr(GError) error = NULL;
    g_autofree char *got = bl_mustache_render(template, values, partials, BL_PLAIN, &error);
    assert_null(got);
    assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
    assert_non_null(strstr(error->message, what));
    assert_true(g_str_has_prefix(error->message, "line "));
}

static void a_partial_that_calls_itself_ends_in_an_error(void **state)
{
    static const char *const self[][2] = {{"a", "x{{>a}}"}};
    static const char *const pair[][2] = {{"a", "{{>b}}"},
                                          {"b", "{{#replies}}{{>a}}{{/replies}}"}};
    (void)state;
    BL_AUTO(bl_value) *values = customer();
    assert_runs_away(self, G_N_ELEMENTS(self), values, "more than 32 deep");
    assert_runs_away(pair, G_N_ELEMENTS(pair), values, "more than 32 deep");
}

/* 24 partials, each calling the next twice: 2^24 calls, but never 32 deep. */
static GHashTable *doubling_partials(const char *last)
{
    GHashTable *partials =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, free_template);
    for (int i = 0; i < 24; i++) {
        g_autofree char *text = g_strdup_printf("{{>p%d}}{{>p%d}}", i + 1, i + 1);
        g_hash_table_insert(partials, g_strdup_printf("p%d", i), parsed(text));
    }
    g_hash_table_insert(partials, g_strdup("p24"), parsed(last));
    return partials;
}

static void partials_that_multiply_end_in_an_error(void **state)
{
    (void)state;
    g_autoptr(GHashTable) partials = doubling_partials("");
    BL_AUTO(bl_mustache) *template = parsed("{{>p0}}");
    g_autoptr(GError) error = NULL;
    g_autofree char *got = bl_mustache_render(template, NULL, partials, BL_PLAIN, &error);
    assert_null(got);
    assert_non_null(strstr(error->message, "the template repeats without end"));

    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_value) *values = customer();
    bl_mustache_check(template, values, partials, NULL, "wash.sms", faults);
    assert_int_equal(bl_faults_count(faults), 1);
    assert_non_null(strstr(bl_faults_line(faults, 0), "multiply without end"));
}

static void a_text_over_one_mebibyte_is_an_error(void **state)
{
    (void)state;
    g_autofree char *long_text = g_strnfill((gsize)600 * 1024, 'x');
    BL_AUTO(bl_value) *text = bl_value_text(long_text);
    BL_AUTO(bl_mustache) *once = parsed("{{.}}");
    g_autofree char *got = bl_mustache_render(once, text, NULL, BL_PLAIN, NULL);
    assert_string_equal(got, long_text);

    BL_AUTO(bl_mustache) *twice = parsed("{{.}}\n{{.}}");
    g_autoptr(GError) error = NULL;
    assert_null(bl_mustache_render(twice, text, NULL, BL_PLAIN, &error));
    assert_true(g_str_has_prefix(error->message, "line 2: the result is longer than 1 MiB"));
}

/* The faults of a template over the customer above, a line each, without "wash.sms:". */
static char *faults_of(const char *text, GHashTable *partials)
{
    BL_AUTO(bl_mustache) *template = parsed(text);
    BL_AUTO(bl_value) *values = customer();
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    bl_mustache_check(template, values, partials, NULL, "wash.sms", faults);
    GString *all = g_string_new(NULL);
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        const char *line = bl_faults_line(faults, i);
        assert_true(g_str_has_prefix(line, "wash.sms:"));
        g_string_append_printf(all, "%s\n", line + strlen("wash.sms:"));
    }
    return g_string_free(all, FALSE);
}

static void the_check_names_each_unknown_name_with_the_nearest_known_one(void **state)
{
    static const struct {
        const char *text, *faults;
    } cases[] = {
        {"{{name}} {{shop.name}} {{#cars}}{{plate}} {{name}} {{shop.phone}}{{/cars}}", ""},
        {"{{#replies}}{{.}}{{/replies}}",
         "1: \".\" is yes or no, not a text: open it with {{#.}} ... {{/.}}\n"},
        {"{{#name}}{{.}}{{/name}}", ""},
        {"\n{{nmae}}", "2: unknown name \"nmae\": did you mean \"name\"?\n"},
        {"{{shop.fone}}", "1: unknown name \"shop.fone\": did you mean \"shop.phone\"?\n"},
        {"{{shpo.name}}", "1: unknown name \"shpo.name\": did you mean \"shop.name\"?\n"},
        {"{{name.first}}", "1: unknown name \"name.first\": remove it or correct it\n"},
        {"{{quantum}}", "1: unknown name \"quantum\": remove it or correct it\n"},
        {"{{plate}}", "1: unknown name \"plate\": remove it or correct it\n"},
        {"{{#cars}}\n{{plat}}\n{{/cars}}",
         "2: unknown name \"plat\": did you mean \"plate\"?\n"},
        {"{{^cars}}{{nmae}}{{/cars}}", "1: unknown name \"nmae\": did you mean \"name\"?\n"},
        {"{{#crs}}{{nmae}}{{/crs}}", "1: unknown name \"crs\": did you mean \"cars\"?\n"
                                     "1: unknown name \"nmae\": did you mean \"name\"?\n"},
        {"{{#shop}}{{phnoe}}{{/shop}}", "1: unknown name \"phnoe\": did you mean \"phone\"?\n"},
        {"{{nmae}} {{nmae}} {{{nmae}}}\n{{nmae}}",
         "1: unknown name \"nmae\": did you mean \"name\"?\n"
         "2: unknown name \"nmae\": did you mean \"name\"?\n"},
        {"{{cars}}",
         "1: \"cars\" is a list, not a text: open it with {{#cars}} ... {{/cars}}\n"},
        {"{{shop}}",
         "1: \"shop\" is a group of names, not a text: open it with {{#shop}} ... {{/shop}}\n"},
        {"{{! name of nothing }}{{=<% %>=}}<% nmae %>",
         "1: unknown name \"nmae\": did you mean \"name\"?\n"},
    };
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *got = faults_of(cases[i].text, NULL);
        assert_string_equal(got, cases[i].faults);
    }
}

static void a_fault_inside_a_partial_stands_at_the_line_that_uses_it(void **state)
{
    static const char *const pairs[][2] = {
        {"sign", "Yours,\n{{shop.nam}}"},
        {"foot", "{{>sign}}{{#cars}}{{>car}}{{/cars}}"},
        {"car", "{{plate}} {{owner}}"},
    };
    (void)state;
    g_autoptr(GHashTable) partials = partials_of(pairs, G_N_ELEMENTS(pairs));
    g_autofree char *used = faults_of("Hello\n\n{{>sign}}\n", partials);
    assert_string_equal(used,
                        "3: in partial \"sign\", line 2: unknown name \"shop.nam\": did you "
                        "mean \"shop.name\"?\n");
    g_autofree char *nested_use = faults_of("\n{{>foot}}", partials);
    assert_string_equal(
        nested_use, "2: in partial \"sign\", line 2: unknown name \"shop.nam\": did you mean "
                    "\"shop.name\"?\n"
                    "2: in partial \"car\", line 1: unknown name \"owner\": remove it or "
                    "correct it\n");
    g_autofree char *unknown = faults_of("{{>sing}}", partials);
    assert_string_equal(unknown, "1: unknown partial \"sing\": did you mean \"sign\"?\n");
    g_autofree char *none = faults_of("{{>sing}}", NULL);
    assert_string_equal(none, "1: unknown partial \"sing\": remove it or correct it\n");
}

static void the_check_of_a_partial_that_calls_itself_ends(void **state)
{
    static const char *const pairs[][2] = {{"a", "{{>a}}"}};
    (void)state;
    g_autoptr(GHashTable) partials = partials_of(pairs, G_N_ELEMENTS(pairs));
    g_autofree char *got = faults_of("{{>a}}", partials);
    assert_string_equal(got,
                        "1: in partial \"a\", line 1: sections and partials stand more than "
                        "32 deep in each other: look for a partial that calls itself\n");
}

static void a_template_says_which_names_it_uses(void **state)
{
    (void)state;
    BL_AUTO(bl_mustache) *template =
        parsed("{{! secret }} text {{a.b}}{{#c}}{{^d}}{{{e}}}{{/d}}{{/c}}{{.}}");
    static const char *const used[] = {"a", "c", "d", "e"};
    static const char *const unused[] = {"b", "secret", "text", ".", ""};
    for (size_t i = 0; i < G_N_ELEMENTS(used); i++) {
        assert_true(bl_mustache_uses(template, used[i]));
    }
    for (size_t i = 0; i < G_N_ELEMENTS(unused); i++) {
        assert_false(bl_mustache_uses(template, unused[i]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wrong_template_names_its_line_and_the_remedy),
        cmocka_unit_test(sections_nest_32_deep_and_no_deeper),
        cmocka_unit_test(html_shows_the_five_signs_of_markup_as_they_were_typed),
        cmocka_unit_test(three_braces_escape_all_the_same_where_a_value_could_break_out),
        cmocka_unit_test(a_header_value_holds_no_sign_that_ends_a_line),
        cmocka_unit_test(a_form_value_keeps_the_unreserved_signs_and_encodes_each_other_byte),
        cmocka_unit_test(what_is_not_there_leaves_its_section_out),
        cmocka_unit_test(a_list_or_a_group_shows_nothing_and_yes_shows_true),
        cmocka_unit_test(a_name_set_twice_holds_the_second_value),
        cmocka_unit_test(a_template_without_values_still_renders_its_words),
        cmocka_unit_test(a_partial_that_calls_itself_ends_in_an_error),
        cmocka_unit_test(partials_that_multiply_end_in_an_error),
        cmocka_unit_test(a_text_over_one_mebibyte_is_an_error),
        cmocka_unit_test(the_check_names_each_unknown_name_with_the_nearest_known_one),
        cmocka_unit_test(a_fault_inside_a_partial_stands_at_the_line_that_uses_it),
        cmocka_unit_test(the_check_of_a_partial_that_calls_itself_ends),
        cmocka_unit_test(a_template_says_which_names_it_uses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
