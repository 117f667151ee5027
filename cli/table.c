/* Tables for people, printed at once when all rows are known. */
#include "table.h"

#include <glib.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "beadline/text.h"

#define GAP      2 /* between columns */
#define NARROW   8 /* a column that gives way keeps so much; what has no room then goes below */
#define NARROWER 5 /* and so much where that keeps the states in line */
#define SHORT    12 /* a state of a word or two stays in its column */
#define BELOW    4  /* how far the line below a row is indented */
#define LEAST    3
#define LONGEST  92 /* a line below a row where no terminal says how long it may be */

struct column {
    char *title;
    char mark; /* '>', '=', '~', '_' or 0 */
    int width; /* of its widest text */
    int least; /* what is never cut */
    bool used; /* some row has a text */
};

struct table {
    GArray *columns;  /* struct column */
    GPtrArray *cells; /* char *, row by row */
};

/* Where each column stands in a room of so many columns. */
struct layout {
    int *widths; /* 0: on the line below, or nowhere */
    int room;    /* -1 endless */
};

static struct column *column_at(const struct table *table, guint i)
{
    return &g_array_index(table->columns, struct column, i);
}

static void column_clear(gpointer data)
{
    g_free(((struct column *)data)->title);
}

struct table *table_new(const char *const *titles)
{
    struct table *table = g_new0(struct table, 1);
    table->columns = g_array_new(FALSE, FALSE, sizeof(struct column));
    table->cells = g_ptr_array_new_with_free_func(g_free);
    g_array_set_clear_func(table->columns, column_clear);
    for (; *titles; titles++) {
        struct column column = {.mark = strchr(">=~_", **titles) ? **titles : 0};
        column.title = g_strdup(*titles + (column.mark ? 1 : 0));
        column.width = bl_text_width(column.title);
        g_array_append_val(table->columns, column);
    }
    return table;
}

void table_free(struct table *table)
{
    if (!table) {
        return;
    }
    g_array_free(table->columns, TRUE);
    g_ptr_array_free(table->cells, TRUE);
    g_free(table);
}

static bool never_cut(const struct column *column, const char *text)
{
    return column->mark == '>' || column->mark == '=' ||
           (text[0] == '+' && g_ascii_isdigit(text[1]));
}

void table_row(struct table *table, const char *const *cells)
{
    for (guint i = 0; i < table->columns->len; i++) {
        struct column *column = column_at(table, i);
        char *text = bl_text_printable(cells[i] ? cells[i] : "");
        int width = bl_text_width(text);
        column->width = MAX(column->width, width);
        column->least = MAX(column->least, never_cut(column, text) ? width : 0);
        column->used = column->used || width > 0;
        g_ptr_array_add(table->cells, text);
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
    return g_ptr_array_index(table->cells, row * table->columns->len + column);
}

/* What a column keeps when it gives way down to `narrow`. */
static int least_of(const struct column *column, int narrow)
{
    bool whole = column->mark == '>' || column->mark == '=';
    return whole ? column->width : MAX(column->least, MIN(column->width, narrow));
}

static int total_of(const struct table *table, const struct layout *layout)
{
    int total = 0;
    for (guint i = 0; i < table->columns->len; i++) {
        total += layout->widths[i] ? layout->widths[i] + (total ? GAP : 0) : 0;
    }
    return total;
}

/* Columns give way from the left: the table's maker put what matters least there. */
static bool give_way(const struct table *table, struct layout *layout, int narrow)
{
    int over = total_of(table, layout) - layout->room;
    for (guint i = 0; i < table->columns->len && over > 0; i++) {
        int spare = layout->widths[i] - least_of(column_at(table, i), narrow);
        int less = CLAMP(over, 0, MAX(spare, 0));
        layout->widths[i] -= layout->widths[i] ? less : 0;
        over = total_of(table, layout) - layout->room;
    }
    return over <= 0;
}

/* The first `count` columns at their full widths, the others below. */
static void spread(const struct table *table, struct layout *layout, guint count)
{
    for (guint i = 0; i < table->columns->len; i++) {
        const struct column *column = column_at(table, i);
        bool inside = column->used && i < count && column->mark != '_';
        layout->widths[i] = inside ? column->width : 0;
    }
}

/* The width of the last column for its short texts alone. */
static int short_width(const struct table *table, guint last)
{
    int width = bl_text_width(column_at(table, last)->title);
    for (guint i = last; i < table->cells->len; i += table->columns->len) {
        int one = bl_text_width(g_ptr_array_index(table->cells, i));
        width = one <= SHORT ? MAX(width, one) : width;
    }
    return width;
}

/* With the state of each row in its column as far as it is short, longer ones below. */
static bool fit_with_state(const struct table *table, struct layout *layout)
{
    guint last = table->columns->len - 1;
    struct column *state = column_at(table, last);
    spread(table, layout, last + 1);
    if (state->mark != '~' || !state->used) {
        return give_way(table, layout, NARROW);
    }
    int all = layout->widths[last];
    layout->widths[last] = short_width(table, last);
    int whole = state->width;
    state->width = layout->widths[last]; /* the state itself is never cut */
    state->least = state->width;
    bool fits = give_way(table, layout, NARROW) || give_way(table, layout, NARROWER);
    state->width = whole;
    layout->widths[last] +=
        CLAMP(layout->room - total_of(table, layout), 0, MAX(all - layout->widths[last], 0));
    return fits;
}

static void fit(const struct table *table, struct layout *layout)
{
    guint count = table->columns->len;
    spread(table, layout, count);
    if (layout->room < 0 || total_of(table, layout) <= layout->room ||
        fit_with_state(table, layout)) {
        return;
    }
    do {
        spread(table, layout, --count);
    } while (!give_way(table, layout, NARROW) && count > 2);
    give_way(table, layout, LEAST);
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

/* Whether the text of a row stands below it. */
static bool is_below(const struct table *table, const struct layout *layout, guint i,
                     const char *text)
{
    bool state = column_at(table, i)->mark == '~';
    return *text &&
           (layout->widths[i] == 0 || (state && bl_text_width(text) > layout->widths[i]));
}

/* One line of the table; row -1 is the titles. */
static void print_line(const struct table *table, const struct layout *layout, int row,
                       int indent)
{
    g_autoptr(GString) line = g_string_new(NULL);
    for (guint i = 0; i < table->columns->len; i++) {
        const struct column *column = column_at(table, i);
        const char *text = row < 0 ? column->title : cell(table, (guint)row, i);
        if (layout->widths[i] == 0) {
            continue;
        }
        g_string_append_printf(line, "%*s", line->len ? GAP : indent, "");
        append_cell(line, row >= 0 && is_below(table, layout, i, text) ? "" : text,
                    layout->widths[i], column->mark == '>');
    }
    g_strchomp(line->str);
    printf(row < 0 && in_colour() ? "\033[1m%s\033[0m\n" : "%s\n", line->str);
}

/* The words of a text in lines of the room; a word wider than a line is broken. */
static void print_wrapped(const char *text, int indent, int room)
{
    g_autoptr(GString) line = g_string_new(NULL);
    g_autofree char *rest = g_strdup(text);
    char *save = rest;
    while (*save) {
        const char *end = g_utf8_next_char(save);
        const char *space = NULL;
        for (; *end; end = g_utf8_next_char(end)) {
            g_string_truncate(line, 0);
            g_string_append_len(line, save, g_utf8_next_char(end) - save);
            if (*end == ' ') {
                space = end;
            } else if (bl_text_width(line->str) > room) {
                break;
            }
        }
        const char *stop = *end && space && space > save ? space : end;
        printf("%*s%.*s\n", indent, "", (int)(stop - save), save);
        save += stop - save;
        save += strspn(save, " ");
    }
}

/* What found no room in the row's line: the state as it is, others with their titles. */
static void print_below(const struct table *table, const struct layout *layout, guint row,
                        int indent)
{
    g_autoptr(GString) text = g_string_new(NULL);
    for (guint i = 0; i < table->columns->len; i++) {
        const struct column *column = column_at(table, i);
        const char *one = cell(table, row, i);
        if (!is_below(table, layout, i, one)) {
            continue;
        }
        g_string_append(text, text->len ? "; " : "");
        if (column->mark != '~' && column->mark != '_') {
            g_string_append_printf(text, "%s ", column->title);
        }
        g_string_append(text, one);
    }
    if (text->len) {
        int room = layout->room < 0 ? LONGEST : layout->room;
        print_wrapped(text->str, indent + BELOW, room - BELOW);
    }
}

void table_print(const struct table *table, int indent)
{
    int terminal = terminal_width();
    g_autoptr(GArray) widths = g_array_new(FALSE, TRUE, sizeof(int));
    g_array_set_size(widths, table->columns->len);
    struct layout layout = {(int *)(void *)widths->data, terminal < 0 ? -1 : terminal - indent};
    fit(table, &layout);
    print_line(table, &layout, -1, indent);
    for (guint row = 0; row < table->cells->len / table->columns->len; row++) {
        print_line(table, &layout, (int)row, indent);
        print_below(table, &layout, row, indent);
    }
}

void table_heading(const char *text)
{
    printf(in_colour() ? "\033[1m%s\033[0m\n" : "%s\n", text);
}
