/*
 * A JSON answer is asked for the text at one path. The depth is checked before the parser sees
 * it, so that a hostile answer cannot make it recurse.
 */
#include <jansson.h>
#include <string.h>

#include "send_inside.h"

/* Whether brackets outside strings never nest deeper than we read. Whatever else is wrong with
 * the text is the parser's to find. */
static bool shallow(const char *json, gsize length)
{
    int depth = 0;
    bool inside = false;
    for (gsize i = 0; i < length; i++) {
        char c = json[i];
        if (inside) {
            i += c == '\\';
            inside = c != '"';
        } else if (c == '"') {
            inside = true;
        } else if (c == '{' || c == '[') {
            if (++depth > SEND_DEPTH) {
                return false;
            }
        } else if (c == '}' || c == ']') {
            depth--;
        }
    }
    return true;
}

static json_t *parse(const char *json, gsize length)
{
    if (!json || length > SEND_ANSWER_CAP || !shallow(json, length)) {
        return NULL;
    }
    json_error_t fault;
    json_t *root = json_loadb(json, length, JSON_REJECT_DUPLICATES, &fault);
    if (!root && json_error_code(&fault) == json_error_numeric_overflow) {
        /* A whole number beyond 64 bits somewhere: the rest is still worth reading. */
        root =
            json_loadb(json, length, JSON_REJECT_DUPLICATES | JSON_DECODE_INT_AS_REAL, &fault);
    }
    return root;
}

/* The member or element that one step of the path names. */
static const json_t *step(const json_t *value, const char *name)
{
    if (json_is_object(value)) {
        return json_object_get(value, name);
    }
    if (json_is_array(value) && *name && strlen(name) < 10 &&
        strspn(name, "0123456789") == strlen(name)) {
        return json_array_get(value, (size_t)g_ascii_strtoull(name, NULL, 10));
    }
    return NULL;
}

/* The fewest digits, from six on, that read back as the same number. */
static char *real_text(double real)
{
    char text[G_ASCII_DTOSTR_BUF_SIZE];
    for (int digits = 6; digits <= 17; digits++) {
        char form[8];
        g_snprintf(form, sizeof form, "%%.%dg", digits);
        g_ascii_formatd(text, sizeof text, form, real);
        if (g_ascii_strtod(text, NULL) == real) {
            break;
        }
    }
    return g_strdup(text);
}

static char *text_of(const json_t *value)
{
    if (json_is_string(value)) {
        return g_strdup(json_string_value(value));
    }
    if (json_is_integer(value)) {
        return g_strdup_printf("%" JSON_INTEGER_FORMAT, json_integer_value(value));
    }
    if (json_is_real(value)) {
        return real_text(json_real_value(value));
    }
    if (json_is_boolean(value)) {
        return g_strdup(json_is_true(value) ? "true" : "false");
    }
    return NULL;
}

char *bl_json_path(const char *json, gsize length, const char *path)
{
    json_t *root = parse(json, length);
    g_auto(GStrv) names = g_strsplit(path, ".", -1);
    const json_t *value = root;
    for (guint i = 0; names[i] && value; i++) {
        value = step(value, names[i]);
    }
    char *text = value && names[0] ? text_of(value) : NULL;
    json_decref(root);
    return text;
}

bool send_json_reads(const char *json, gsize length)
{
    json_t *root = parse(json, length);
    bool reads = root != NULL;
    json_decref(root);
    return reads;
}
