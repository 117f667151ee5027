/*
 * Text: what may enter, how wide it is, and how it leaves.
 *
 * Everything typed or stored by somebody else passes bl_text_check before it is used: UTF-8, no
 * control characters, no line or paragraph separators, no bidirectional overrides, a length
 * cap.
 */
#ifndef BEADLINE_TEXT_H
#define BEADLINE_TEXT_H

#include <glib.h>
#include <stdbool.h>

#define BL_TEXT_MAX_NAME 200  /* characters in a name, a plate, a part */
#define BL_TEXT_MAX_NOTE 2000 /* characters in a note or an address */

/* Whether text may be stored as `what` (used in the error, e.g. "name"): non-empty after
 * trimming, valid UTF-8, at most max characters, no C0/C1 controls, DEL, U+2028/2029,
 * bidirectional controls (U+202A-202E, U+2066-2069) or U+FEFF. Error: BL_ERROR_INPUT. */
bool bl_text_check(const char *text, const char *what, glong max, GError **error);

/* As bl_text_check, but line feeds are allowed and it may be empty or NULL; at most
 * BL_TEXT_MAX_NOTE characters. */
bool bl_text_check_note(const char *text, const char *what, GError **error);

/* Columns the text takes on a terminal (wide characters 2, combining ones 0). Invalid UTF-8
 * counts one a byte. */
int bl_text_width(const char *text);

/* The name in the NULL-terminated list that is nearest to word by edit distance (lower-cased;
 * two neighbours swapped are one edit; of equals the first), or NULL when none is near enough
 * to be meant: more than a third of the word's letters apart, though two edits always pass, or
 * not one letter in common. */
const char *bl_text_nearest(const char *word, const char *const *names);

/* The text with the bytes of every character that bl_text_check refuses, and every invalid
 * byte, written \xHH: safe for a log line and for a terminal. Caller frees. */
char *bl_text_printable(const char *text);

/* As bl_text_printable, cut to 60 characters ("..." at the end when something was cut): for the
 * quoted thing in an error. Caller frees. */
char *bl_text_shown(const char *text);

/* The text as the inside of a JSON string (no quotes around), RFC 8259 section 7; an invalid
 * byte becomes U+FFFD. Caller frees. */
char *bl_text_json(const char *text);

/* An address fit for a log: "+44...23" (a number's last two digits) or "a...@..." (a mail's
 * first letter); anything else is "...". Caller frees. */
char *bl_text_mask(const char *address);

/* Case folded, accents kept (composed, NFC), runs of white space and hyphens made one space,
 * none at the ends: what names are compared by. The process's locale plays no part. Caller
 * frees. */
char *bl_text_fold(const char *text);

/* As bl_text_fold, and besides without accents, apostrophes and full stops, and letters such as
 * "ß" in their plain form ("ss"): what is searched by, so that "jurgen" finds "Jürgen" and
 * "obrien" "O'Brien". "" when nothing is left. Caller frees. */
char *bl_text_search(const char *text);

/* A plate as it is compared: upper case, letters and digits only; "" when it has none. Caller
 * frees. */
char *bl_text_plate(const char *plate);

#endif
