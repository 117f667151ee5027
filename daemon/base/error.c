/* Errors and the collector of faults: the ground every room stands on. */
#include "beadline/error.h"

#include "beadline/text.h"

struct bl_faults {
    GPtrArray *lines;
};

GQuark bl_error_quark(void)
{
    return g_quark_from_static_string("beadline");
}

struct bl_faults *bl_faults_new(void)
{
    struct bl_faults *faults = g_new0(struct bl_faults, 1);
    faults->lines = g_ptr_array_new_with_free_func(g_free);
    return faults;
}

void bl_faults_free(struct bl_faults *faults)
{
    if (!faults) {
        return;
    }
    g_ptr_array_free(faults->lines, TRUE);
    g_free(faults);
}

void bl_faults_add(struct bl_faults *faults, const char *file, int line, const char *format,
                   ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *text = g_strdup_vprintf(format, args);
    va_end(args);

    g_autoptr(GString) whole = g_string_new(NULL);
    if (file) {
        g_string_append_printf(whole, "%s:", file);
    }
    if (file && line > 0) {
        g_string_append_printf(whole, "%d:", line);
    }
    g_string_append_printf(whole, "%s%s", file ? " " : "", text);
    g_ptr_array_add(faults->lines, bl_text_printable(whole->str));
}

guint bl_faults_count(const struct bl_faults *faults)
{
    return faults->lines->len;
}

const char *bl_faults_line(const struct bl_faults *faults, guint i)
{
    return g_ptr_array_index(faults->lines, i);
}
