/*
 * Any bytes as a template, two partials and a value, parted by NUL: parsed, checked, rendered
 * under every escape. Beside not crashing, an escaped value must keep its place.
 */
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "beadline/error.h"
#include "beadline/mustache.h"
#include "beadline/sms.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* The next text of the input, up to a NUL. Caller frees. */
static char *take(const uint8_t **data, size_t *size)
{
    size_t length = strnlen((const char *)*data, *size);
    char *text = g_strndup((const char *)*data, length);
    size_t used = length < *size ? length + 1 : length;
    *data += used;
    *size -= used;
    return text;
}

static void free_template(gpointer template)
{
    bl_mustache_free(template);
}

static struct bl_value *values_with(const char *text)
{
    struct bl_value *car = bl_value_map();
    bl_value_set(car, "plate", bl_value_text(text));
    struct bl_value *cars = bl_value_list();
    bl_value_append(cars, car);
    bl_value_append(cars, bl_value_text(text));
    bl_value_append(cars, bl_value_list());
    struct bl_value *all = bl_value_map();
    bl_value_set(all, "a", bl_value_text(text));
    bl_value_set(all, "cars", cars);
    bl_value_set(all, "yes", bl_value_bool(true));
    bl_value_set(all, "no", bl_value_bool(false));
    return all;
}

static void need(bool holds)
{
    if (!holds) {
        abort();
    }
}

static bool control(char c)
{
    return (unsigned char)c < 0x20 || c == 0x7f;
}

static void check_place(const char *escaped, enum bl_escape escape)
{
    for (const char *p = escaped; *p; p++) {
        if (escape == BL_HTML) {
            need(!strchr("<>\"'", *p));
        } else if (escape == BL_JSON) {
            need(*p != '"' && !control(*p));
            p += *p == '\\';
        } else if (escape == BL_FORM) {
            need(g_ascii_isalnum(*p) || strchr("-._~%", *p));
        } else if (escape == BL_HEADER) {
            need(!control(*p));
        }
    }
}

static void render(const struct bl_mustache *template, const struct bl_value *values,
                   GHashTable *partials, enum bl_escape escape)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *text = bl_mustache_render(template, values, partials, escape, &error);
    need((text == NULL) == (error != NULL));
}

static void escape_alone(const char *text, enum bl_escape escape)
{
    BL_AUTO(bl_mustache) *template = bl_mustache_parse("{{.}}", NULL);
    BL_AUTO(bl_value) *value = bl_value_text(text);
    g_autofree char *escaped = bl_mustache_render(template, value, NULL, escape, NULL);
    if (escaped) {
        check_place(escaped, escape);
    }
}

static void add_partial(GHashTable *partials, const char *name, const char *text)
{
    struct bl_mustache *partial = bl_mustache_parse(text, NULL);
    if (partial) {
        g_hash_table_insert(partials, (gpointer)name, partial);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    g_autofree char *text = take(&data, &size);
    g_autofree char *p = take(&data, &size);
    g_autofree char *q = take(&data, &size);
    g_autofree char *value = take(&data, &size);
    g_autoptr(GError) error = NULL;
    BL_AUTO(bl_mustache) *template = bl_mustache_parse(text, &error);
    need((template == NULL) == (error != NULL));
    if (!template) {
        return 0;
    }
    g_autoptr(GHashTable) partials =
        g_hash_table_new_full(g_str_hash, g_str_equal, NULL, free_template);
    add_partial(partials, "p", p);
    add_partial(partials, "q", q);
    BL_AUTO(bl_value) *values = values_with(value);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    bl_mustache_check(template, values, partials, NULL, "fuzz", faults);
    for (int escape = BL_PLAIN; escape <= BL_HEADER; escape++) {
        render(template, values, partials, (enum bl_escape)escape);
        escape_alone(value, (enum bl_escape)escape);
    }
    g_autofree char *plain = bl_sms_plain(value);
    struct bl_sms_size measured = bl_sms_measure(plain);
    need((measured.parts == 0) == (*plain == '\0'));
    return 0;
}
