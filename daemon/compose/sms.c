/*
 * SMS: how a text is counted and cut by the network, so that the preview tells the cost before
 * the message goes. Strictly by the default alphabet of 3GPP TS 23.038: the national tables are
 * the gateway's choice, and counting by them would only promise too little.
 */
#include "beadline/sms.h"

#include <string.h>

/* TS 23.038 6.2.1, in the table's order from 0x00 to 0x7F; 0x1B, the escape, is left out. */
static const char basic_table[] = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./"
                                  "0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§"
                                  "¿abcdefghijklmnopqrstuvwxyzäöñüà";

/* TS 23.038 6.2.1.1: each behind an escape, so two septets. */
static const char extension_table[] = "\f^{}\\[~]|€";

/* Limits of a message alone and of each part of a joined one: 140 octets, less the 6 octets of
 * the header with an 8-bit reference (TS 23.040 9.2.3.24.1). */
struct limits {
    int alone, joined;
};
static const struct limits septets = {160, 153};
static const struct limits ucs2_units = {70, 67};

/* 0: not in the alphabet. */
static int septets_of(gunichar c)
{
    if (g_utf8_strchr(basic_table, -1, c)) {
        return 1;
    }
    return g_utf8_strchr(extension_table, -1, c) ? 2 : 0;
}

static int utf16_units_of(gunichar c)
{
    return c > 0xFFFF ? 2 : 1;
}

static bool in_alphabet(const char *text)
{
    for (const char *p = text; *p; p = g_utf8_next_char(p)) {
        if (septets_of(g_utf8_get_char(p)) == 0) {
            return false;
        }
    }
    return true;
}

/* Parts are filled in order; what does not fit whole begins the next one. */
static void count(const char *text, int (*units_of)(gunichar), const struct limits *limits,
                  struct bl_sms_size *size)
{
    int used = limits->joined; /* of the last part: full, so that the first unit opens one */
    for (const char *p = text; *p; p = g_utf8_next_char(p)) {
        int units = units_of(g_utf8_get_char(p));
        if (used + units > limits->joined) {
            size->parts++;
            used = 0;
        }
        used += units;
        size->units += units;
    }
    if (size->units > 0 && size->units <= limits->alone) {
        size->parts = 1;
    }
}

struct bl_sms_size bl_sms_measure(const char *text)
{
    g_autofree char *valid = g_utf8_make_valid(text, -1);
    struct bl_sms_size size = {.ucs2 = !in_alphabet(valid)};
    if (size.ucs2) {
        count(valid, utf16_units_of, &ucs2_units, &size);
    } else {
        count(valid, septets_of, &septets, &size);
    }
    return size;
}

/* What word processors and telephones put in unasked, and its plain form. */
static const struct {
    const char *typographic, *plain;
} plain_forms[] = {
    {"‘’‚‛′‹›´`ʼ", "'"},
    {"“”„‟″«»", "\""},
    {"‐‑‒–—―−", "-"},
    {"…", "..."},
    {"•‣⁃∙◦▪●", "-"},
    /* No-break, the widths from U+2000 to U+200A, narrow, mathematical, ideographic, tab. */
    {"\u00A0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200A\u202F\u205F\u3000"
     "\t",
     " "},
    /* Soft hyphen, zero-width space, word joiner, byte order mark: nobody sees them. */
    {"\u00AD\u200B\u2060\uFEFF", ""},
};

static const char *plain_form(gunichar c)
{
    for (size_t i = 0; i < G_N_ELEMENTS(plain_forms); i++) {
        if (g_utf8_strchr(plain_forms[i].typographic, -1, c)) {
            return plain_forms[i].plain;
        }
    }
    return NULL;
}

char *bl_sms_plain(const char *text)
{
    g_autofree char *valid = g_utf8_make_valid(text, -1);
    GString *out = g_string_sized_new(strlen(valid));
    for (const char *p = valid; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        const char *plain = plain_form(c);
        if (plain) {
            g_string_append(out, plain);
        } else {
            g_string_append_unichar(out, c);
        }
    }
    return g_string_free(out, FALSE);
}
