/* Lines of a report, and the remarks under it. */
#include "report.h"

#include <stdio.h>

#include "beadline/text.h"

#define LABEL_COLUMNS 13

void report_line(const char *label, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    g_autofree char *value = g_strdup_vprintf(format, values);
    va_end(values);
    g_autofree char *safe = bl_text_printable(g_strdelimit(value, "\n", ' '));
    if (*safe) {
        printf("%-*s %s\n", LABEL_COLUMNS, label, safe);
    }
}

GPtrArray *report_remarks(void)
{
    return g_ptr_array_new_with_free_func(g_free);
}

void report_remark(GPtrArray *remarks, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    g_ptr_array_add(remarks, g_strdup_vprintf(format, values));
    va_end(values);
}

void report_print(const GPtrArray *remarks)
{
    for (guint i = 0; i < remarks->len; i++) {
        g_autofree char *safe = bl_text_printable(g_ptr_array_index(remarks, i));
        printf("Note: %s.\n", safe);
    }
}

void report_json(struct json *json, const GPtrArray *remarks)
{
    g_autoptr(GPtrArray) texts = g_ptr_array_new();
    for (guint i = 0; i < remarks->len; i++) {
        g_ptr_array_add(texts, g_ptr_array_index(remarks, i));
    }
    g_ptr_array_add(texts, NULL);
    json_texts(json, "notes", (const char *const *)texts->pdata);
}
