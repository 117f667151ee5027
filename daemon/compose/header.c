/*
 * Header values: where a customer's name meets the mail. Nothing that anybody typed reaches a
 * header but through here, as plain words or as RFC 2047 encoded words, so it can add no header
 * and no recipient, and a reader's program shows exactly what was typed. GMime passes on what
 * looks like an encoded word already, so it is not asked.
 */
#include "header.h"

#include <glib.h>
#include <stdbool.h>
#include <string.h>

#define LINE_MAX_OCTETS 76 /* RFC 2047 section 2: a line that holds an encoded word */
#define WORD_MAX_OCTETS 75 /* RFC 2047 section 2: an encoded word */
#define WORD_OPEN       "=?utf-8?Q?"
#define WORD_CLOSE      "?="
#define FOLD            "\r\n "

static bool is_gap(gunichar c)
{
    return g_unichar_iscntrl(c) || c == ' ' || c == 0x2028 || c == 0x2029;
}

char *bl_header_line(const char *text)
{
    g_autofree char *valid = g_utf8_make_valid(text, -1);
    GString *out = g_string_new(NULL);
    bool gap = false;
    for (const char *p = valid; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        if (is_gap(c)) {
            gap = out->len > 0;
            continue;
        }
        if (gap) {
            g_string_append_c(out, ' ');
        }
        gap = false;
        g_string_append_unichar(out, c);
    }
    return g_string_free(out, FALSE);
}

/* A value being written: where its last line stands. */
struct writing {
    GString *out;
    size_t column;
};

static void append(struct writing *writing, const char *text)
{
    g_string_append(writing->out, text);
    writing->column += strlen(text);
}

static void fold(struct writing *writing)
{
    g_string_append(writing->out, FOLD);
    writing->column = 1;
}

/* One character in the Q encoding, by the narrow set that is allowed in a phrase as well. */
static char *q_character(const char *character)
{
    const char *next = g_utf8_next_char(character);
    if (g_ascii_isalnum(*character)) {
        return g_strndup(character, 1);
    }
    if (*character == ' ') {
        return g_strdup("_");
    }
    GString *out = g_string_new(NULL);
    for (; character < next; character++) {
        g_string_append_printf(out, "=%02X", (guint)(guchar)*character);
    }
    return g_string_free(out, FALSE);
}

/* The text as encoded words, each on a line of its own, no character cut in two. */
static void append_encoded(struct writing *writing, const char *text)
{
    size_t close = strlen(WORD_CLOSE);
    size_t start = writing->column;
    append(writing, WORD_OPEN);
    for (; *text; text = g_utf8_next_char(text)) {
        g_autofree char *piece = q_character(text);
        size_t end = writing->column + strlen(piece) + close;
        if (end > LINE_MAX_OCTETS || end - start > WORD_MAX_OCTETS) {
            append(writing, WORD_CLOSE);
            fold(writing);
            start = writing->column;
            append(writing, WORD_OPEN);
        }
        append(writing, piece);
    }
    append(writing, WORD_CLOSE);
}

/* Words of plain ASCII, broken at their spaces. */
static void append_plain(struct writing *writing, const char *text)
{
    g_auto(GStrv) words = g_strsplit(text, " ", -1);
    for (guint i = 0; words[i]; i++) {
        if (i > 0 && writing->column + 1 + strlen(words[i]) > LINE_MAX_OCTETS) {
            fold(writing);
        } else if (i > 0) {
            append(writing, " ");
        }
        append(writing, words[i]);
    }
}

/* Whether the text may stand as it is: ASCII, nothing a reader could take for an encoded word,
 * and no word too long for a line. */
static bool is_plain(const char *text)
{
    size_t length = 0;
    for (const char *p = text; *p; p++) {
        length = *p == ' ' ? 0 : length + 1;
        if (!g_ascii_isprint(*p) || length > LINE_MAX_OCTETS / 2) {
            return false;
        }
    }
    return !strstr(text, "=?");
}

char *bl_header_text(const char *name, const char *text)
{
    g_autofree char *line = bl_header_line(text);
    struct writing writing = {g_string_new(NULL), strlen(name) + 2};
    if (is_plain(line)) {
        append_plain(&writing, line);
    } else {
        append_encoded(&writing, line);
    }
    return g_string_free(writing.out, FALSE);
}

static bool is_atoms(const char *text)
{
    return strspn(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 -'") ==
           strlen(text);
}

static char *quoted(const char *text)
{
    GString *out = g_string_new("\"");
    for (; *text; text++) {
        if (*text == '"' || *text == '\\') {
            g_string_append_c(out, '\\');
        }
        g_string_append_c(out, *text);
    }
    g_string_append_c(out, '"');
    return g_string_free(out, FALSE);
}

char *bl_header_mailbox(const char *name, const char *display, const char *address)
{
    g_autofree char *line = bl_header_line(display ? display : "");
    g_autofree char *quote = quoted(line);
    struct writing writing = {g_string_new(NULL), strlen(name) + 2};
    if (is_plain(line) && is_atoms(line)) {
        append_plain(&writing, line);
    } else if (is_plain(line) && strlen(quote) < LINE_MAX_OCTETS - writing.column) {
        append(&writing, quote);
    } else {
        append_encoded(&writing, line);
    }
    if (*line && writing.column + strlen(address) + 3 > LINE_MAX_OCTETS) {
        fold(&writing);
    } else if (*line) {
        append(&writing, " ");
    }
    g_string_append_printf(writing.out, "<%s>", address);
    return g_string_free(writing.out, FALSE);
}
