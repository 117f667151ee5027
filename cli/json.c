/* One JSON object a line (RFC 8259), written as it is built. */
#include "json.h"

#include <math.h>
#include <stdio.h>

#include "beadline/text.h"

void json_begin(struct json *json)
{
    json->line = g_string_new("{");
}

static void name_of(struct json *json, const char *name)
{
    if (json->line->len > 1) {
        g_string_append(json->line, ", ");
    }
    g_string_append_printf(json->line, "\"%s\": ", name);
}

static void quoted(GString *line, const char *value)
{
    g_autofree char *inside = bl_text_json(value);
    g_string_append_printf(line, "\"%s\"", inside);
}

void json_raw(struct json *json, const char *name, const char *value)
{
    name_of(json, name);
    g_string_append(json->line, value);
}

void json_text(struct json *json, const char *name, const char *value)
{
    name_of(json, name);
    if (value) {
        quoted(json->line, value);
    } else {
        g_string_append(json->line, "null");
    }
}

void json_whole(struct json *json, const char *name, int64_t value)
{
    name_of(json, name);
    g_string_append_printf(json->line, "%" G_GINT64_FORMAT, value);
}

static char *number_or_null(double value)
{
    char buffer[G_ASCII_DTOSTR_BUF_SIZE];
    return g_strdup(isfinite(value) ? g_ascii_formatd(buffer, sizeof buffer, "%.10g", value)
                                    : "null");
}

void json_number(struct json *json, const char *name, double value)
{
    g_autofree char *text = number_or_null(value);
    json_raw(json, name, text);
}

void json_pair(struct json *json, const char *name, const double values[2])
{
    g_autofree char *first = number_or_null(values[0]);
    g_autofree char *second = number_or_null(values[1]);
    g_autofree char *pair = g_strdup_printf("[%s, %s]", first, second);
    bool none = !isfinite(values[0]) && !isfinite(values[1]);
    json_raw(json, name, none ? "null" : pair);
}

void json_yes(struct json *json, const char *name, bool value)
{
    json_raw(json, name, value ? "true" : "false");
}

void json_at(struct json *json, const char *name, const struct bl_zone *zone, int64_t at)
{
    bool there = at != 0 && at != BL_NEVER;
    g_autofree char *text = there ? bl_at_format(zone, at) : NULL;
    json_text(json, name, text);
}

void json_date(struct json *json, const char *name, int32_t date)
{
    g_autofree char *text = date == BL_NO_DATE ? NULL : bl_date_format(date);
    json_text(json, name, text);
}

void json_texts(struct json *json, const char *name, const char *const *values)
{
    name_of(json, name);
    g_string_append_c(json->line, '[');
    for (guint i = 0; values && values[i]; i++) {
        g_string_append(json->line, i ? ", " : "");
        quoted(json->line, values[i]);
    }
    g_string_append_c(json->line, ']');
}

void json_objects(struct json *json, const char *name, const GPtrArray *values)
{
    name_of(json, name);
    g_string_append_c(json->line, '[');
    for (guint i = 0; i < values->len; i++) {
        g_string_append(json->line, i ? ", " : "");
        g_string_append(json->line, g_ptr_array_index(values, i));
    }
    g_string_append_c(json->line, ']');
}

GPtrArray *json_list(void)
{
    return g_ptr_array_new_with_free_func(g_free);
}

char *json_take(struct json *json)
{
    g_string_append_c(json->line, '}');
    char *text = g_string_free(json->line, FALSE);
    json->line = NULL;
    return text;
}

void json_end(struct json *json)
{
    g_autofree char *text = json_take(json);
    puts(text);
}
