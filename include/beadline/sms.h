/*
 * SMS: alphabet and parts by 3GPP TS 23.038 (6.2.1 basic table and its extension) and TS 23.040
 * (9.2.3.24.1, concatenation with an 8-bit reference).
 */
#ifndef BEADLINE_SMS_H
#define BEADLINE_SMS_H

#include <glib.h>
#include <stdbool.h>

struct bl_sms_size {
    bool ucs2; /* false: GSM 7-bit */
    int units; /* septets, or UTF-16 units */
    int parts; /* 1 up to 160 septets or 70 units, else parts of 153 or 67, never splitting an
                * escape or a surrogate pair; 0 for an empty text */
};

struct bl_sms_size bl_sms_measure(const char *text);

/* Typographic quotes (accents and backticks standing for them too), dashes, ellipsis, bullets
 * and special spaces become plain ones, invisible spaces go; all else stays. Caller frees. */
char *bl_sms_plain(const char *text);

#endif
