/* Wrapping: from a rendered template to the lines a customer reads. */
#include "wrap.h"

#include <glib.h>
#include <stdbool.h>
#include <string.h>

#include "beadline/text.h"

#define LINE_BREAK "--" /* in the template of an SMS */
#define NARROWEST  20   /* columns left beside an indent */

static int width_of(const char *character, const char *next)
{
    char alone[8] = "";
    memcpy(alone, character, MIN((size_t)(next - character), sizeof alone - 1));
    return bl_text_width(alone);
}

/* Bytes of text that fit into columns; at least one character. */
static size_t fitting(const char *text, int columns)
{
    const char *p = text;
    for (int width = 0; *p;) {
        const char *next = g_utf8_next_char(p);
        width += width_of(p, next);
        if (p > text && width > columns) {
            break;
        }
        p = next;
    }
    return (size_t)(p - text);
}

/* Where the lines after the first one begin: under the words of a list's item. */
static size_t indent_of(const char *line)
{
    static const char *const marks[] = {"- ", "[ ] "};
    size_t blanks = strspn(line, " ");
    for (guint i = 0; i < G_N_ELEMENTS(marks); i++) {
        if (g_str_has_prefix(line + blanks, marks[i])) {
            return blanks + strlen(marks[i]);
        }
    }
    return blanks;
}

static void append_indent(GString *out, size_t indent)
{
    for (size_t i = 0; i < indent; i++) {
        g_string_append_c(out, ' ');
    }
}

/* One line, without blanks at its end and wider than nothing. */
static void append_wrapped(GString *out, const char *line, int columns)
{
    size_t indent = MIN(indent_of(line), (size_t)MAX(columns - NARROWEST, 0));
    const char *rest = line + indent;
    g_string_append_len(out, line, (gssize)indent);
    while (*rest) {
        size_t fits = fitting(rest, columns - (int)indent);
        size_t end = fits;
        while (rest[fits] && rest[fits] != ' ' && end > 0 && rest[end - 1] != ' ') {
            end--;
        }
        end = end ? end : fits;
        g_autofree char *piece = g_strchomp(g_strndup(rest, end));
        g_string_append(out, piece);
        rest += end;
        rest += strspn(rest, " ");
        g_string_append_c(out, '\n');
        if (*rest) {
            append_indent(out, indent);
        }
    }
}

char *bl_wrap_lines(const char *text, int columns)
{
    GString *out = g_string_new(NULL);
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    bool gap = false;
    for (char **line = lines; *line; line++) {
        g_strchomp(*line);
        if (!**line) {
            gap = true;
            continue;
        }
        if (gap && out->len) {
            g_string_append_c(out, '\n');
        }
        gap = false;
        append_wrapped(out, *line, columns);
    }
    return g_string_free(out, FALSE);
}

static void append_words(GString *out, const char *line)
{
    g_auto(GStrv) words = g_strsplit_set(line, " \t", -1);
    for (char **word = words; *word; word++) {
        if (!**word) {
            continue;
        }
        if (out->len && out->str[out->len - 1] != '\n') {
            g_string_append_c(out, ' ');
        }
        g_string_append(out, *word);
    }
}

char *bl_wrap_none(const char *text)
{
    GString *out = g_string_new(NULL);
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    bool brk = false;
    for (char **line = lines; *line; line++) {
        g_strstrip(*line);
        if (g_str_equal(*line, LINE_BREAK)) {
            brk = out->len > 0;
            continue;
        }
        if (brk && **line) {
            g_string_append_c(out, '\n');
            brk = false;
        }
        append_words(out, *line);
    }
    return g_string_free(out, FALSE);
}
