/*
 * The check of a gateway's forms, at load and again before each request: that they parse, know
 * the values they use, and hold them where escaping keeps them. The places are found by filling
 * every value with one mark, which no escaping changes, and looking where the mark comes out.
 */
#include "request_forms.h"

#include <string.h>

#include "beadline/compose.h"
#include "beadline/error.h"

#define MARK "beadline-value"

struct check {
    const struct bl_gateway *gateway;
    const char *file;
    struct bl_faults *faults;
};

static void say(const struct check *check, const char *what, const char *format, ...)
    G_GNUC_PRINTF(3, 4);

static void say(const struct check *check, const char *what, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *text = g_strdup_vprintf(format, args);
    va_end(args);
    bl_faults_add(check->faults, check->file, 0, "gateway \"%s\": %s: %s", check->gateway->name,
                  what, text);
}

static struct bl_value *marks(void)
{
    static const char *const names[] = {"to", "to_digits", "text", "key", "shop", "secret"};
    struct bl_value *values = bl_value_map();
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++) {
        bl_value_set(values, names[i], bl_value_text(MARK));
    }
    return values;
}

static struct bl_mustache *parse(const struct check *check, const char *what, const char *form)
{
    g_autoptr(GError) error = NULL;
    struct bl_mustache *template = bl_mustache_parse(form, &error);
    if (!template) {
        say(check, what, "%s", error->message);
    }
    return template;
}

/* The form with a mark for each value, or NULL when it is not good. Caller frees. */
static char *marked(const struct check *check, const char *what,
                    const struct bl_mustache *template, enum bl_escape escape)
{
    BL_AUTO(bl_value) *values = marks();
    BL_AUTO(bl_faults) *found = bl_faults_new();
    /* A form's lines are not those of the file, so they are not told. */
    bl_mustache_check(template, values, NULL, NULL, NULL, found);
    for (guint i = 0; i < bl_faults_count(found); i++) {
        say(check, what, "%s", bl_faults_line(found, i));
    }
    if (bl_faults_count(found) > 0) {
        return NULL;
    }
    g_autoptr(GError) error = NULL;
    char *text = bl_mustache_render(template, values, NULL, escape, &error);
    if (!text) {
        say(check, what, "%s", error->message);
    }
    return text;
}

static void check_no_secret(const struct check *check, const char *what,
                            const struct bl_mustache *template)
{
    if (bl_mustache_uses(template, "secret")) {
        say(check, what, "{{secret}} may stand in a header only: move it there");
    }
}

/* A value behind an unfinished %XX would finish it as it likes. */
static void check_percent(const struct check *check, const char *what, const char *text)
{
    for (const char *p = text; (p = strstr(p, MARK)) != NULL; p++) {
        if ((p > text && p[-1] == '%') || (p > text + 1 && p[-2] == '%')) {
            say(check, what, "a value stands inside a %%XX: put it behind");
            return;
        }
    }
}

static void check_address(const struct check *check, const char *address)
{
    for (const char *p = address; *p; p++) {
        if (!g_ascii_isgraph(*p)) {
            say(check, "url", "a space or a sign that is not ASCII: write it as %%XX");
            return;
        }
    }
    const char *host = strstr(address, "://");
    if (!host) {
        say(check, "url", "no whole address: write https://HOST/PATH");
        return;
    }
    size_t literal = (size_t)(host - address) + 3 + strcspn(host + 3, "/?#");
    if (g_strstr_len(address, (gssize)literal, MARK)) {
        say(check, "url", "a value stands in the host: put values behind it only");
    }
}

static void check_url(const struct check *check)
{
    if (!check->gateway->url) {
        say(check, "url", "missing: write the service's address");
        return;
    }
    BL_AUTO(bl_mustache) *template = parse(check, "url", check->gateway->url);
    if (!template) {
        return;
    }
    check_no_secret(check, "url", template);
    g_autofree char *address = marked(check, "url", template, BL_FORM);
    if (address) {
        check_address(check, address);
        check_percent(check, "url", address);
    }
}

/* RFC 9110 5.6.2: the signs a field name is made of. */
static bool token(const char *name)
{
    const char *p = name;
    while (g_ascii_isalnum(*p) || (*p && strchr("!#$%&'*+-.^_`|~", *p))) {
        p++;
    }
    return p > name && *p == '\0';
}

static void check_header_name(const struct check *check, const struct bl_header_form *form)
{
    /* They say where the request ends, which only the transfer knows. */
    static const char *const framing[] = {"Content-Length", "Transfer-Encoding", NULL};
    if (!token(form->name)) {
        say(check, "headers", "\"%s\" is no header name: use letters, digits and hyphens",
            form->name);
    }
    for (const char *const *name = framing; *name; name++) {
        if (g_ascii_strcasecmp(*name, form->name) == 0) {
            say(check, "headers", "\"%s\" is set by the transfer itself: remove it", *name);
        }
    }
    if (bl_header_form_named(check->gateway, form->name) != form) {
        say(check, "headers", "\"%s\" stands there twice: remove one", form->name);
    }
}

static void check_header_uses(const struct check *check, const struct bl_header_form *form,
                              const struct bl_mustache *template)
{
    if (g_ascii_strcasecmp(form->name, BL_KEY_HEADER) == 0 &&
        !bl_mustache_uses(template, "key")) {
        say(check, form->name, "every message must have its own: write {{key}} in it");
    }
    if (bl_mustache_uses(template, "secret") && !check->gateway->secret_file) {
        say(check, form->name, "{{secret}} needs a file to come from: set the secret file");
    }
}

static void check_header(const struct check *check, const struct bl_header_form *form)
{
    check_header_name(check, form);
    BL_AUTO(bl_mustache) *template = parse(check, form->name, form->value);
    if (!template) {
        return;
    }
    check_header_uses(check, form, template);
    g_autofree char *value = marked(check, form->name, template, BL_HEADER);
    if (!value) {
        return;
    }
    for (const char *p = value; *p; p++) {
        if (g_ascii_iscntrl(*p)) {
            say(check, form->name, "a header is one line: remove the line break");
            return;
        }
    }
}

/* Whether each mark stands between the double quotes of a JSON string, where escaping holds,
 * and not behind a backslash, which would take the escape's own away. */
static bool marks_quoted(const char *json)
{
    bool quoted = false, escaped = false;
    for (const char *p = json; *p; p++) {
        if ((!quoted || escaped) && g_str_has_prefix(p, MARK)) {
            return false;
        }
        if (*p == '"' && !escaped) {
            quoted = !quoted;
        }
        escaped = quoted && *p == '\\' && !escaped;
    }
    return !quoted;
}

static void check_body(const struct check *check)
{
    const struct body_kind *kind = bl_body_kind_named(check->gateway->body_kind);
    if (!kind) {
        say(check, "body", "unknown kind \"%s\": write json, form or text",
            check->gateway->body_kind ? check->gateway->body_kind : "");
    }
    BL_AUTO(bl_mustache) *template = parse(check, "body", check->gateway->body);
    if (!template || !kind) {
        return;
    }
    check_no_secret(check, "body", template);
    g_autofree char *body = marked(check, "body", template, kind->escape);
    if (body && kind->escape == BL_FORM) {
        check_percent(check, "body", body);
    }
    if (body && kind->escape == BL_JSON && !marks_quoted(body)) {
        say(check, "body",
            "in JSON a value stands between double quotes: write \"{{text}}\", not {{text}}");
    }
}

void bl_compose_check_gateway(const struct bl_gateway *gateway, const char *file,
                              struct bl_faults *faults)
{
    if (gateway->kind != BL_GATEWAY_HTTP) {
        return;
    }
    struct check check = {.gateway = gateway, .file = file, .faults = faults};
    check_url(&check);
    for (guint i = 0; gateway->headers && i < gateway->headers->len; i++) {
        check_header(&check, &g_array_index(gateway->headers, struct bl_header_form, i));
    }
    if (gateway->body) {
        check_body(&check);
    }
}
