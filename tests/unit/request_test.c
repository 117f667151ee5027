/*
 * The rules of a gateway's HTTP forms: what is filled in where, what is added, and which forms
 * are refused at load and before sending alike.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <string.h>

#include "beadline/compose.h"

#define KEY "0123456789abcdef0123456789abcdef"

/* What a test writes of a gateway; the rest is as a JSON service's. */
struct forms {
    const char *url, *body, *kind;
    struct bl_header_form headers[4]; /* until the first without a name */
    bool no_secret_file;
};

static struct bl_gateway gateway_of(const struct forms *forms)
{
    struct bl_gateway gateway = {
        .name = g_strdup("texts"),
        .kind = BL_GATEWAY_HTTP,
        .secret_file = g_strdup(forms->no_secret_file ? NULL : "/run/credentials/texts"),
        .url = g_strdup(forms->url ? forms->url : "https://texts.example.com/v1"),
        .body = g_strdup(forms->body),
        .body_kind = g_strdup(forms->kind ? forms->kind : "json"),
        .headers = g_array_new(FALSE, FALSE, sizeof(struct bl_header_form)),
    };
    for (size_t i = 0; i < G_N_ELEMENTS(forms->headers) && forms->headers[i].name; i++) {
        g_array_append_val(gateway.headers, forms->headers[i]);
    }
    return gateway;
}

static void clear_gateway(struct bl_gateway *gateway)
{
    g_free(gateway->name);
    g_free(gateway->secret_file);
    g_free(gateway->url);
    g_free(gateway->body);
    g_free(gateway->body_kind);
    g_array_unref(gateway->headers);
}

/* The request as one text: the address, the headers, an empty line, the body; or "error: ...".
 */
static char *made(const struct forms *forms, const char *text, const char *secret)
{
    struct bl_gateway gateway = gateway_of(forms);
    struct bl_request request;
    g_autoptr(GError) error = NULL;
    char *whole = NULL;
    if (bl_compose_request(&gateway, "+447700900123", text, KEY, "Test & Sons", secret,
                           &request, &error)) {
        g_autofree char *headers = g_strjoinv("\n", request.headers);
        whole = g_strdup_printf("%s\n%s\n\n%s", request.url, headers,
                                request.body ? request.body : "(none)");
    } else {
        assert_true(g_error_matches(error, BL_ERROR, BL_ERROR_INPUT));
        assert_null(request.url);
        assert_null(request.headers);
        assert_null(request.body);
        whole = g_strdup_printf("error: %s", error->message);
    }
    bl_request_clear(&request);
    clear_gateway(&gateway);
    return whole;
}

static void assert_made(const struct forms *forms, const char *expected)
{
    g_autofree char *got = made(forms, "Wash now,\n\"Ann\" & co", "s3cret");
    assert_string_equal(got, expected);
}

static void each_kind_of_body_is_escaped_and_labelled_as_what_it_is(void **state)
{
    (void)state;
    assert_made(&(struct forms){.body = "{\"to\": \"{{to}}\", \"text\": \"{{text}}\"}"},
                "https://texts.example.com/v1\nIdempotency-Key: " KEY
                "\nContent-Type: application/json\n\n"
                "{\"to\": \"+447700900123\", \"text\": \"Wash now,\\n\\\"Ann\\\" & co\"}");
    assert_made(&(struct forms){.body = "to={{to_digits}}&text={{text}}", .kind = "form"},
                "https://texts.example.com/v1\nIdempotency-Key: " KEY
                "\nContent-Type: application/x-www-form-urlencoded\n\n"
                "to=447700900123&text=Wash%20now%2C%0A%22Ann%22%20%26%20co");
    assert_made(&(struct forms){.body = "{{to}}\n{{text}}", .kind = "text"},
                "https://texts.example.com/v1\nIdempotency-Key: " KEY
                "\nContent-Type: text/plain; charset=utf-8\n\n"
                "+447700900123\nWash now,\n\"Ann\" & co");
}

static void a_request_without_a_body_has_its_values_in_the_address(void **state)
{
    (void)state;
    assert_made(
        &(struct forms){.url = "http://127.0.0.1:8080/send?to={{to}}&m={{{text}}}"},
        "http://127.0.0.1:8080/send?to=%2B447700900123&m=Wash%20now%2C%0A%22Ann%22%20%26%20"
        "co\nIdempotency-Key: " KEY "\n\n(none)");
}

static void the_owners_headers_stand_first_and_are_not_doubled(void **state)
{
    (void)state;
    assert_made(&(struct forms){.body = "[]",
                                .headers = {{"authorization", "Bearer {{secret}}"},
                                            {"idempotency-key", " bl-{{key}} "},
                                            {"CONTENT-TYPE", "application/vnd.example+json"},
                                            {"X-Text", "{{text}}|{{shop}}"}}},
                "https://texts.example.com/v1\nauthorization: Bearer s3cret\n"
                "idempotency-key: bl-" KEY "\nCONTENT-TYPE: application/vnd.example+json\n"
                "X-Text: Wash now, \"Ann\" & co|Test & Sons\n\n[]");
}

static void a_gateway_without_headers_of_its_own_still_sends_the_key(void **state)
{
    (void)state;
    struct bl_gateway gateway = {
        .name = "texts", .kind = BL_GATEWAY_HTTP, .url = "https://texts.example.com"};
    struct bl_request request;
    assert_true(
        bl_compose_request(&gateway, "447700900123", "x", KEY, "s", NULL, &request, NULL));
    assert_string_equal(request.headers[0], "Idempotency-Key: " KEY);
    assert_null(request.headers[1]);
    bl_request_clear(&request);
    assert_null(request.url);
}

static const struct {
    struct forms forms;
    const char *fault; /* behind "gateway "texts": " */
} bad_forms[] = {
    {{.url = ""}, "url: no whole address: write https://HOST/PATH"},
    {{.url = "https://texts.example.com/{{txt}}"},
     "url: unknown name \"txt\": did you mean \"text\"?"},
    {{.url = "https://texts.example.com/{{to"},
     "url: line 1: the tag \"{{\" is not closed: write \"}}\" behind it"},
    {{.url = "https://texts.example.com/{{secret}}"},
     "url: {{secret}} may stand in a header only: move it there"},
    {{.url = "https://{{to_digits}}.example.com/"},
     "url: a value stands in the host: put values behind it only"},
    {{.url = "https://{{shop}}@texts.example.com"},
     "url: a value stands in the host: put values behind it only"},
    {{.url = "{{text}}"}, "url: no whole address: write https://HOST/PATH"},
    {{.url = "https://texts.example.com/a b"},
     "url: a space or a sign that is not ASCII: write it as %XX"},
    {{.url = "https://texts.example.com/é"},
     "url: a space or a sign that is not ASCII: write it as %XX"},
    {{.url = "https://texts.example.com/\r\nX: y"},
     "url: a space or a sign that is not ASCII: write it as %XX"},
    {{.url = "https://texts.example.com/%{{text}}"},
     "url: a value stands inside a %XX: put it behind"},
    {{.url = "https://texts.example.com/%2{{text}}"},
     "url: a value stands inside a %XX: put it behind"},
    {{.body = "m=%0{{text}}", .kind = "form"},
     "body: a value stands inside a %XX: put it behind"},
    {{.body = "{\"t\": \"{{secret}}\"}"},
     "body: {{secret}} may stand in a header only: move it there"},
    {{.body = "{{#secret}}{{.}}{{/secret}}", .kind = "text"},
     "body: {{secret}} may stand in a header only: move it there"},
    {{.body = "{\"t\": {{text}}}"},
     "body: in JSON a value stands between double quotes: write \"{{text}}\", not {{text}}"},
    {{.body = "{\"t\": \"\\{{text}}\"}"},
     "body: in JSON a value stands between double quotes: write \"{{text}}\", not {{text}}"},
    {{.body = "{\"t\": \"a\\\\\"{{text}}\"}"},
     "body: in JSON a value stands between double quotes: write \"{{text}}\", not {{text}}"},
    {{.body = "{\"t\": \"{{text}}}"},
     "body: in JSON a value stands between double quotes: write \"{{text}}\", not {{text}}"},
    {{.body = "{{#text}}", .kind = "text"},
     "body: line 1: the section \"text\" is not closed: write {{/text}}"},
    {{.body = "x", .kind = "xml"}, "body: unknown kind \"xml\": write json, form or text"},
    {{.headers = {{"X Text", "a"}}},
     "headers: \"X Text\" is no header name: use letters, digits and hyphens"},
    {{.headers = {{"X:", "a"}}},
     "headers: \"X:\" is no header name: use letters, digits and hyphens"},
    {{.headers = {{"", "a"}}},
     "headers: \"\" is no header name: use letters, digits and hyphens"},
    {{.headers = {{"X-É", "a"}}},
     "headers: \"X-É\" is no header name: use letters, digits and hyphens"},
    {{.headers = {{"content-length", "1"}}},
     "headers: \"Content-Length\" is set by the transfer itself: remove it"},
    {{.headers = {{"X-A", "1"}, {"x-a", "2"}}},
     "headers: \"x-a\" stands there twice: remove one"},
    {{.headers = {{"X-A", "1\r\nX-B: 2"}}}, "X-A: a header is one line: remove the line break"},
    {{.headers = {{"X-A", "{{nmae}}"}}}, "X-A: unknown name \"nmae\": remove it or correct it"},
    {{.headers = {{"X-A", "{{/a}}"}}},
     "X-A: line 1: \"{{/a}}\" closes a section that was not opened"},
    {{.headers = {{"Idempotency-Key", "fixed"}}},
     "Idempotency-Key: every message must have its own: write {{key}} in it"},
    {{.headers = {{"X-A", "{{secret}}"}}, .no_secret_file = true},
     "X-A: {{secret}} needs a file to come from: set the secret file"},
};

static void a_form_that_is_refused_at_load_is_refused_before_sending_too(void **state)
{
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(bad_forms); i++) {
        struct bl_gateway gateway = gateway_of(&bad_forms[i].forms);
        BL_AUTO(bl_faults) *faults = bl_faults_new();
        bl_compose_check_gateway(&gateway, "shop.conf", faults);
        clear_gateway(&gateway);
        g_autofree char *line =
            g_strdup_printf("shop.conf: gateway \"texts\": %s", bad_forms[i].fault);
        assert_int_equal(bl_faults_count(faults), 1);
        assert_string_equal(bl_faults_line(faults, 0), line);

        g_autofree char *error =
            g_strdup_printf("error: gateway \"texts\": %s", bad_forms[i].fault);
        assert_made(&bad_forms[i].forms, error);
    }
}

static void all_faults_of_a_gateway_are_told_at_once(void **state)
{
    (void)state;
    struct bl_gateway gateway = gateway_of(&(struct forms){
        .url = "https://texts.example.com/{{txt}}{{kee}}",
        .body = "{{secret}}",
        .kind = "yaml",
        .headers = {{"X A", "{{shp}}"}},
    });
    g_clear_pointer(&gateway.body_kind, g_free);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    bl_compose_check_gateway(&gateway, NULL, faults);
    assert_int_equal(bl_faults_count(faults), 5);
    g_clear_pointer(&gateway.url, g_free);
    bl_compose_check_gateway(&gateway, NULL, faults);
    assert_string_equal(bl_faults_line(faults, 5),
                        "gateway \"texts\": url: missing: write the service's address");
    clear_gateway(&gateway);
}

static void sound_forms_and_other_kinds_of_gateway_have_no_fault(void **state)
{
    static const struct forms sound[] = {
        {.url = "https://texts.example.com?to={{to}}"},
        {.url = "https://texts.example.com/%25{{text}}"},
        {.body = "{\"a\": \"\\\"{{text}} \\\\ {{shop}}\", \"n\": 1, \"b\": \"\\\\\"}"},
        {.body = "{{#text}}t={{.}}{{/text}}", .kind = "form"},
        {.headers = {{"!#$%&'*+-.^_`|~09azAZ", "{{secret}} {{to}}"}}},
    };
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    for (size_t i = 0; i < G_N_ELEMENTS(sound); i++) {
        struct bl_gateway gateway = gateway_of(&sound[i]);
        bl_compose_check_gateway(&gateway, "shop.conf", faults);
        clear_gateway(&gateway);
    }
    struct bl_gateway folder = {.name = "out", .kind = BL_GATEWAY_FOLDER};
    bl_compose_check_gateway(&folder, "shop.conf", faults);
    assert_int_equal(bl_faults_count(faults), 0);
}

static void a_header_that_needs_the_secret_is_not_sent_without_it(void **state)
{
    (void)state;
    struct forms forms = {.headers = {{"Authorization", "Bearer {{secret}}"}}};
    g_autofree char *none = made(&forms, "x", NULL);
    g_autofree char *empty = made(&forms, "x", "");
    const char *error =
        "error: gateway \"texts\": Authorization: {{secret}} has no value: set the "
        "gateway's secret file";
    assert_string_equal(none, error);
    assert_string_equal(empty, error);
}

static void a_text_too_long_for_its_place_is_an_error_and_leaves_no_request(void **state)
{
    (void)state;
    g_autofree char *long_text = g_strnfill((gsize)600 * 1024, '"');
    static const struct forms forms[] = {
        {.url = "https://texts.example.com/?m={{text}}"},
        {.body = "{\"m\": \"{{text}}\"}"},
        {.headers = {{"X-A", "{{text}}{{text}}"}}},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(forms); i++) {
        g_autofree char *got = made(&forms[i], long_text, "s3cret");
        assert_non_null(strstr(got, "the result is longer than 1 MiB"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_kind_of_body_is_escaped_and_labelled_as_what_it_is),
        cmocka_unit_test(a_request_without_a_body_has_its_values_in_the_address),
        cmocka_unit_test(the_owners_headers_stand_first_and_are_not_doubled),
        cmocka_unit_test(a_gateway_without_headers_of_its_own_still_sends_the_key),
        cmocka_unit_test(a_form_that_is_refused_at_load_is_refused_before_sending_too),
        cmocka_unit_test(all_faults_of_a_gateway_are_told_at_once),
        cmocka_unit_test(sound_forms_and_other_kinds_of_gateway_have_no_fault),
        cmocka_unit_test(a_header_that_needs_the_secret_is_not_sent_without_it),
        cmocka_unit_test(a_text_too_long_for_its_place_is_an_error_and_leaves_no_request),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
