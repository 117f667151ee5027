/*
 * Requests: a message that is ready becomes the address, headers and body by which one HTTP
 * service takes it. The forms are the owner's; the values may be anybody's, so each is escaped
 * for the place where it stands, and a form that would not keep it there is refused.
 */
#include "request_forms.h"

#include <string.h>

#include "beadline/compose.h"
#include "beadline/error.h"

static const struct body_kind body_kinds[] = {
    {"json", BL_JSON, "application/json"},
    {"form", BL_FORM, "application/x-www-form-urlencoded"},
    {"text", BL_PLAIN, "text/plain; charset=utf-8"},
};

const struct body_kind *bl_body_kind_named(const char *name)
{
    for (size_t i = 0; i < G_N_ELEMENTS(body_kinds); i++) {
        if (g_strcmp0(name, body_kinds[i].name) == 0) {
            return &body_kinds[i];
        }
    }
    return NULL;
}

const struct bl_header_form *bl_header_form_named(const struct bl_gateway *gateway,
                                                  const char *name)
{
    for (guint i = 0; gateway->headers && i < gateway->headers->len; i++) {
        const struct bl_header_form *form =
            &g_array_index(gateway->headers, struct bl_header_form, i);
        if (g_ascii_strcasecmp(form->name, name) == 0) {
            return form;
        }
    }
    return NULL;
}

struct filling {
    const struct bl_gateway *gateway;
    struct bl_value *values;
    bool has_secret;
};

static bool lacks_secret(const struct filling *filling, const struct bl_mustache *template,
                         GError **error)
{
    if (filling->has_secret || !bl_mustache_uses(template, "secret")) {
        return false;
    }
    g_set_error_literal(error, BL_ERROR, BL_ERROR_INPUT,
                        "{{secret}} has no value: set the gateway's secret file");
    return true;
}

/* The form filled in. Caller frees. */
static char *fill(const struct filling *filling, const char *what, const char *form,
                  enum bl_escape escape, GError **error)
{
    BL_AUTO(bl_mustache) *template = bl_mustache_parse(form, error);
    char *text = NULL;
    if (template && !lacks_secret(filling, template, error)) {
        text = bl_mustache_render(template, filling->values, NULL, escape, error);
    }
    if (!text) {
        g_prefix_error(error, "gateway \"%s\": %s: ", filling->gateway->name, what);
    }
    return text;
}

static bool add_header(const struct filling *filling, GPtrArray *headers, const char *name,
                       const char *form, GError **error)
{
    g_autofree char *value = fill(filling, name, form, BL_HEADER, error);
    if (!value) {
        return false;
    }
    g_ptr_array_add(headers, g_strdup_printf("%s: %s", name, g_strstrip(value)));
    return true;
}

/* The owner's headers, and those a request needs that are not among them. */
static bool add_headers(const struct filling *filling, GPtrArray *headers, GError **error)
{
    const struct bl_gateway *gateway = filling->gateway;
    for (guint i = 0; gateway->headers && i < gateway->headers->len; i++) {
        const struct bl_header_form *form =
            &g_array_index(gateway->headers, struct bl_header_form, i);
        if (!add_header(filling, headers, form->name, form->value, error)) {
            return false;
        }
    }
    if (!bl_header_form_named(gateway, BL_KEY_HEADER) &&
        !add_header(filling, headers, BL_KEY_HEADER, "{{key}}", error)) {
        return false;
    }
    return !gateway->body || bl_header_form_named(gateway, BL_TYPE_HEADER) ||
           add_header(filling, headers, BL_TYPE_HEADER,
                      bl_body_kind_named(gateway->body_kind)->content_type, error);
}

static bool fill_headers(const struct filling *filling, struct bl_request *request,
                         GError **error)
{
    g_autoptr(GPtrArray) headers = g_ptr_array_new_with_free_func(g_free);
    if (!add_headers(filling, headers, error)) {
        return false;
    }
    g_ptr_array_add(headers, NULL);
    request->headers = (char **)g_ptr_array_free(g_steal_pointer(&headers), FALSE);
    return true;
}

static bool fill_all(const struct filling *filling, struct bl_request *request, GError **error)
{
    const struct bl_gateway *gateway = filling->gateway;
    request->url = fill(filling, "url", gateway->url, BL_FORM, error);
    if (!request->url) {
        return false;
    }
    if (gateway->body) {
        enum bl_escape escape = bl_body_kind_named(gateway->body_kind)->escape;
        request->body = fill(filling, "body", gateway->body, escape, error);
        if (!request->body) {
            return false;
        }
    }
    return fill_headers(filling, request, error);
}

/* What the check of the settings refuses is refused here too, whoever made the gateway. */
static bool sound(const struct bl_gateway *gateway, GError **error)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    bl_compose_check_gateway(gateway, NULL, faults);
    if (bl_faults_count(faults) > 0) {
        g_set_error_literal(error, BL_ERROR, BL_ERROR_INPUT, bl_faults_line(faults, 0));
        return false;
    }
    return true;
}

void bl_request_clear(struct bl_request *request)
{
    g_clear_pointer(&request->url, g_free);
    g_clear_pointer(&request->headers, g_strfreev);
    g_clear_pointer(&request->body, g_free);
}

/* One argument for each value a form may use. NOLINTNEXTLINE(readability-function-size) */
bool bl_compose_request(const struct bl_gateway *gateway, const char *to, const char *text,
                        const char *key, const char *shop_name, const char *secret,
                        struct bl_request *request, GError **error)
{
    *request = (struct bl_request){0};
    if (!sound(gateway, error)) {
        return false;
    }
    BL_AUTO(bl_value) *values = bl_value_map();
    bl_value_set(values, "to", bl_value_text(to));
    bl_value_set(values, "to_digits", bl_value_text(to[0] == '+' ? to + 1 : to));
    bl_value_set(values, "text", bl_value_text(text));
    bl_value_set(values, "key", bl_value_text(key));
    bl_value_set(values, "shop", bl_value_text(shop_name));
    bl_value_set(values, "secret", bl_value_text(secret));
    struct filling filling = {gateway, values, secret && *secret};
    if (!fill_all(&filling, request, error)) {
        bl_request_clear(request);
        return false;
    }
    return true;
}
