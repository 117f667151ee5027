/* Tables for people, printed at once when all rows are known. */
#include "table.h"

#include <glib.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "beadline/text.h"

#define GAP    2 /* between columns */
#define NARROW 8 /* a column gives way below this only when all are so narrow */
#define LEAST  3

struct table {
    GPtrArray *titles; /* char * */
    GArray *numbers;   /* gboolean: right-aligned */
    GPtrArray *cells;  /* char *, row by row */
};

struct table *table_new(const char *const *titles)
{
    struct table *table = g_new0(struct table, 1);
    table->titles = g_ptr_array_new_with_free_func(g_free);
    table->numbers = g_array_new(FALSE, FALSE, sizeof(gboolean));
    table->cells = g_ptr_array_new_with_free_func(g_free);
    for (; *titles; titles++) {
        gboolean number = (*titles)[0] == '>';
        g_array_append_val(table->numbers, number);
        g_ptr_array_add(table->titles, g_strdup(*titles + (number ? 1 : 0)));
    }
    return table;
}

void table_free(struct table *table)
{
    if (!table) {
        return;
    }
    g_ptr_array_free(table->titles, TRUE);
    g_array_free(table->numbers, TRUE);
    g_ptr_array_free(table->cells, TRUE);
    g_free(table);
}

void table_row(struct table *table, const char *const *cells)
{
    for (guint i = 0; i < table->titles->len; i++) {
        g_ptr_array_add(table->cells, bl_text_printable(cells[i] ? cells[i] : ""));
    }
}

bool table_empty(const struct table *table)
{
    return table->cells->len == 0;
}

/* The width of the terminal, or -1 when there is none. */
static int terminal_width(void)
{
    struct winsize size;
    if (!isatty(STDOUT_FILENO)) {
        return -1;
    }
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col < 20) {
        return 80;
    }
    return size.ws_col;
}

static bool in_colour(void)
{
    const char *no = g_getenv("NO_COLOR");
    return isatty(STDOUT_FILENO) && (!no || !*no);
}

static const char *cell(const struct table *table, guint row, guint column)
{
    return g_ptr_array_index(table->cells, row * table->titles->len + column);
}

static GArray *natural_widths(const struct table *table)
{
    GArray *widths = g_array_new(FALSE, FALSE, sizeof(int));
    guint rows = table->cells->len / table->titles->len;
    for (guint i = 0; i < table->titles->len; i++) {
        int width = bl_text_width(g_ptr_array_index(table->titles, i));
        for (guint row = 0; row < rows; row++) {
            width = MAX(width, bl_text_width(cell(table, row, i)));
        }
        g_array_append_val(widths, width);
    }
    return widths;
}

/* The widest column that is wider than `narrow`, or -1. Numbers are never cut: half a number is
 * another one. */
static int widest_over(const struct table *table, const GArray *widths, int narrow)
{
    int widest = -1;
    for (guint i = 0; i < widths->len; i++) {
        int width = g_array_index(widths, int, i);
        bool gives = !g_array_index(table->numbers, gboolean, i) && width > narrow;
        if (gives && (widest < 0 || width > g_array_index(widths, int, widest))) {
            widest = (int)i;
        }
    }
    return widest;
}

/* The widest column gives way, one step at a time, until the line fits. */
static void fit(const struct table *table, GArray *widths, int room)
{
    int total = 0;
    for (guint i = 0; i < widths->len; i++) {
        total += g_array_index(widths, int, i) + (i ? GAP : 0);
    }
    for (int narrow = NARROW; narrow >= LEAST; narrow--) {
        int widest;
        while (total > room && (widest = widest_over(table, widths, narrow)) >= 0) {
            g_array_index(widths, int, widest)--;
            total--;
        }
    }
}

/* The text cut to so many columns, an ellipsis for what is missing. */
static char *cut(const char *text, int width)
{
    if (bl_text_width(text) <= width) {
        return g_strdup(text);
    }
    g_autoptr(GString) kept = g_string_new(NULL);
    for (const char *at = text; *at; at = g_utf8_next_char(at)) {
        gsize before = kept->len;
        g_string_append_len(kept, at, g_utf8_next_char(at) - at);
        if (bl_text_width(kept->str) > width - 1) {
            g_string_truncate(kept, before);
            break;
        }
    }
    g_string_append(kept, "…");
    return g_strdup(kept->str);
}

static void append_cell(GString *line, const char *text, int width, bool number)
{
    g_autofree char *fitting = cut(text, width);
    int spaces = width - bl_text_width(fitting);
    if (number) {
        g_string_append_printf(line, "%*s", spaces, "");
    }
    g_string_append(line, fitting);
    if (!number) {
        g_string_append_printf(line, "%*s", spaces, "");
    }
}

/* One line of the table; cells is a row's, or NULL for the titles. */
static char *line_of(const struct table *table, const GArray *widths, int row, int indent)
{
    g_autoptr(GString) line = g_string_new(NULL);
    g_string_append_printf(line, "%*s", indent, "");
    for (guint i = 0; i < table->titles->len; i++) {
        const char *text =
            row < 0 ? g_ptr_array_index(table->titles, i) : cell(table, (guint)row, i);
        if (i) {
            g_string_append_printf(line, "%*s", GAP, "");
        }
        append_cell(line, text, g_array_index(widths, int, i),
                    g_array_index(table->numbers, gboolean, i));
    }
    return g_strchomp(g_strdup(line->str));
}

void table_print(const struct table *table, int indent)
{
    g_autoptr(GArray) widths = natural_widths(table);
    int room = terminal_width();
    if (room > 0) {
        fit(table, widths, room - indent);
    }
    g_autofree char *head = line_of(table, widths, -1, indent);
    printf(in_colour() ? "\033[1m%s\033[0m\n" : "%s\n", head);
    for (guint row = 0; row < table->cells->len / table->titles->len; row++) {
        g_autofree char *line = line_of(table, widths, (int)row, indent);
        puts(line);
    }
}

void table_heading(const char *text)
{
    printf(in_colour() ? "\033[1m%s\033[0m\n" : "%s\n", text);
}
