/*
 * Text at the entrances and exits: what people and other programs wrote is checked here before
 * it is stored, and made harmless here before it reaches a log, a terminal or a JSON line.
 */
#include "beadline/text.h"

#include <string.h>

#include "beadline/error.h"

#define SHOWN 60 /* characters of a faulty text that an error repeats */

/* Characters that move the cursor, end a line or turn the reading direction: never part of a
 * name, and a way to forge a header, a log line or what a reader sees. */
static bool unwanted(gunichar c)
{
    return c < 0x20 || (c >= 0x7f && c < 0xa0) || c == 0x2028 || c == 0x2029 ||
           (c >= 0x202a && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069) || c == 0xfeff;
}

/* The character at text and its length in bytes; 0 and length 1 for an invalid byte. */
static gunichar next_char(const char *text, size_t *length)
{
    gunichar c = g_utf8_get_char_validated(text, -1);
    if (c == (gunichar)-1 || c == (gunichar)-2) {
        *length = 1;
        return 0;
    }
    *length = (size_t)(g_utf8_next_char(text) - text);
    return c;
}

static bool refuse(GError **error, const char *what, const char *problem)
{
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "the %s %s", what, problem);
    return false;
}

static bool check_characters(const char *text, const char *what, bool line_feeds,
                             GError **error)
{
    if (!g_utf8_validate(text, -1, NULL)) {
        return refuse(error, what, "is not valid UTF-8: type it again");
    }
    for (const char *p = text; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        if (!unwanted(c) || (line_feeds && c == '\n')) {
            continue;
        }
        g_autofree char *shown = bl_text_shown(text);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "the %s \"%s\" holds a control character (U+%04X): leave it out", what,
                    shown, c);
        return false;
    }
    return true;
}

static bool check_length(const char *text, const char *what, glong max, GError **error)
{
    glong length = g_utf8_strlen(text, -1);
    if (length <= max) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "the %s has %ld characters: at most %ld are kept, so shorten it", what, length,
                max);
    return false;
}

static bool blank(const char *text)
{
    for (const char *p = text; *p; p = g_utf8_next_char(p)) {
        if (g_unichar_isgraph(g_utf8_get_char(p))) {
            return false;
        }
    }
    return true;
}

bool bl_text_check(const char *text, const char *what, glong max, GError **error)
{
    if (text && !check_characters(text, what, false, error)) {
        return false;
    }
    if (!text || blank(text)) {
        return refuse(error, what, "is empty: give one");
    }
    return check_length(text, what, max, error);
}

bool bl_text_check_note(const char *text, const char *what, GError **error)
{
    if (!text) {
        return true;
    }
    return check_characters(text, what, true, error) &&
           check_length(text, what, BL_TEXT_MAX_NOTE, error);
}

static int columns(gunichar c)
{
    if (c < 0x80) {
        return 1;
    }
    if (g_unichar_iszerowidth(c)) {
        return 0;
    }
    return g_unichar_iswide(c) ? 2 : 1;
}

int bl_text_width(const char *text)
{
    int width = 0;
    size_t length;
    for (const char *p = text; *p; p += length) {
        gunichar c = next_char(p, &length);
        width += c ? columns(c) : 1;
    }
    return width;
}

char *bl_text_printable(const char *text)
{
    GString *out = g_string_new(NULL);
    size_t length;
    for (const char *p = text; *p; p += length) {
        gunichar c = next_char(p, &length);
        if (c && !unwanted(c)) {
            g_string_append_len(out, p, (gssize)length);
            continue;
        }
        for (size_t i = 0; i < length; i++) {
            g_string_append_printf(out, "\\x%02x", (unsigned char)p[i]);
        }
    }
    return g_string_free(out, FALSE);
}

char *bl_text_shown(const char *text)
{
    g_autofree char *printable = bl_text_printable(text);
    if (g_utf8_strlen(printable, -1) <= SHOWN) {
        return g_steal_pointer(&printable);
    }
    g_autofree char *head = g_utf8_substring(printable, 0, SHOWN - 3);
    return g_strconcat(head, "...", NULL);
}

/* RFC 8259 section 7: the two-character escapes it names, \uXXXX for the other controls. */
static void append_json(GString *out, const char *p, size_t length, gunichar c)
{
    static const char plain[] = "\"\\\b\f\n\r\t";
    static const char named[] = "\"\\bfnrt";
    const char *found = c < 0x80 ? strchr(plain, (int)c) : NULL;
    if (found) {
        g_string_append_c(out, '\\');
        g_string_append_c(out, named[found - plain]);
    } else if (unwanted(c)) {
        g_string_append_printf(out, "\\u%04x", c);
    } else {
        g_string_append_len(out, p, (gssize)length);
    }
}

char *bl_text_json(const char *text)
{
    GString *out = g_string_new(NULL);
    size_t length;
    for (const char *p = text; *p; p += length) {
        gunichar c = next_char(p, &length);
        if (c) {
            append_json(out, p, length, c);
        } else {
            g_string_append(out, "\xef\xbf\xbd"); /* U+FFFD: the byte was no character */
        }
    }
    return g_string_free(out, FALSE);
}

/* Enough of an address to recognise it in a log, too little to use it. */
char *bl_text_mask(const char *address)
{
    size_t length = strlen(address);
    if (strchr(address, '@')) {
        return g_ascii_isalnum(address[0]) ? g_strdup_printf("%c...@...", address[0])
                                           : g_strdup("...@...");
    }
    if (address[0] == '+' && length >= 8 && strspn(address + 1, "0123456789") == length - 1) {
        return g_strdup_printf("%.3s...%s", address, address + length - 2);
    }
    return g_strdup("...");
}

static bool is_gap(gunichar c)
{
    return g_unichar_isspace(c) || c == '-' || c == 0x2010 || c == 0x2011 || c == 0x2013;
}

/* Case folding and NFC, neither of which asks the process's locale: a name typed on another
 * keyboard (composed or not) is the same name. GLib 2.74 folds Cherokee small letters to large
 * ones and large ones to small; lowering afterwards makes the two meet. */
static char *folded_case(const char *text)
{
    g_autofree char *valid = g_utf8_make_valid(text, -1);
    g_autofree char *folded = g_utf8_casefold(valid, -1);
    g_autoptr(GString) lower = g_string_new(NULL);
    for (const char *p = folded; *p; p = g_utf8_next_char(p)) {
        g_string_append_unichar(lower, g_unichar_tolower(g_utf8_get_char(p)));
    }
    return g_utf8_normalize(lower->str, -1, G_NORMALIZE_DEFAULT_COMPOSE);
}

char *bl_text_fold(const char *text)
{
    g_autofree char *composed = folded_case(text);
    GString *out = g_string_new(NULL);
    bool gap = false;
    for (const char *p = composed; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        if (is_gap(c)) {
            gap = true;
            continue;
        }
        if (gap && out->len > 0) {
            g_string_append_c(out, ' ');
        }
        gap = false;
        g_string_append_unichar(out, c);
    }
    return g_string_free(out, FALSE);
}

/* What joins or shortens the parts of a name and is left out by who types in a hurry: the
 * apostrophes people and keyboards use, and the full stop. */
static bool is_mark(gunichar c)
{
    return c == '\'' || c == '.' || c == '`' || c == 0xb4 || c == 0x2bc || c == 0x2018 ||
           c == 0x2019 || c == 0x2032;
}

/* Letters that Unicode does not take apart (their stroke is no combining mark). */
static const char *plain_letters(gunichar c)
{
    static const struct {
        gunichar letter;
        const char *plain;
    } letters[] = {{0xdf, "ss"}, {0xe6, "ae"}, {0xf8, "o"},  {0x111, "d"},
                   {0x131, "i"}, {0x142, "l"}, {0x153, "oe"}};
    for (size_t i = 0; i < G_N_ELEMENTS(letters); i++) {
        if (letters[i].letter == c) {
            return letters[i].plain;
        }
    }
    return NULL;
}

char *bl_text_search(const char *text)
{
    g_autofree char *folded = bl_text_fold(text);
    g_autofree char *apart = g_utf8_normalize(folded, -1, G_NORMALIZE_DEFAULT);
    g_autoptr(GString) out = g_string_new(NULL);
    for (const char *p = apart; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        const char *plain = plain_letters(c);
        if (plain) {
            g_string_append(out, plain);
        } else if (!g_unichar_ismark(c) && !is_mark(c)) {
            g_string_append_unichar(out, c);
        }
    }
    return bl_text_fold(out->str); /* a mark left out between two spaces leaves one */
}

char *bl_text_plate(const char *plate)
{
    g_autofree char *valid = g_utf8_make_valid(plate, -1);
    g_autofree char *composed = g_utf8_normalize(valid, -1, G_NORMALIZE_ALL_COMPOSE);
    GString *out = g_string_new(NULL);
    for (const char *p = composed; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        if (g_unichar_isalnum(c)) {
            g_string_append_unichar(out, g_unichar_toupper(c));
        }
    }
    return g_string_free(out, FALSE);
}
