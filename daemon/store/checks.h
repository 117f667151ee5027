/*
 * Checks of single values, the same ones for what is typed and for what other programs wrote.
 *
 * On the way in a value that fails them is an error for the owner; on the way out, in the
 * facts, it is the reason its row is left out. Every error is BL_ERROR_INPUT and names the
 * field, the value in quotes, and the remedy.
 */
#ifndef BEADLINE_STORE_CHECKS_H
#define BEADLINE_STORE_CHECKS_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

/* A number with a range; the ranges are wide enough for any true value and narrow enough to
 * catch a slip of the finger (common practice, no source). */
enum bl_measure {
    BL_MEASURE_KM,         /* 0..5 000 000 */
    BL_MEASURE_KM_A_YEAR,  /* above 0, up to 500 000 */
    BL_MEASURE_TEMP_C,     /* -40..60 */
    BL_MEASURE_HUMIDITY,   /* 0..100 percent */
    BL_MEASURE_COATS,      /* 1..9 */
    BL_MEASURE_INSTRUMENT, /* 0..1000 */
    BL_MEASURE_CURE_C,     /* -40..100: a lamp or an oven is warmer than any day */
    BL_MEASURE_HOURS,      /* above 0, up to a year of them */
};

/* A value that must be there. Not a number, or infinite, is refused as well. */
bool bl_check_measure(double value, enum bl_measure measure, GError **error);

/* The same, but NaN means "not given" and passes. */
bool bl_check_measure_or_none(double value, enum bl_measure measure, GError **error);

/* One line of text, at most BL_TEXT_MAX_NAME characters. NULL is refused. */
bool bl_check_line(const char *text, const char *what, GError **error);

/* The same, but NULL means "not given" and passes. */
bool bl_check_line_or_none(const char *text, const char *what, GError **error);

/* A text of several lines; NULL counts as empty. */
bool bl_check_note(const char *text, const char *what, GError **error);

/* Names, one a line; NULL and "" are none. */
bool bl_check_lines(const char *text, const char *what, GError **error);

/* An instant of the years 1970 (its second day on) to 2199. */
bool bl_check_at(int64_t at, const char *what, GError **error);

/* A date of the same years; BL_NO_DATE passes. */
bool bl_check_date_or_none(int32_t date, const char *what, GError **error);

/* An address in the form it is stored in (address.h); NULL passes. */
bool bl_check_phone_or_none(const char *phone, GError **error);
bool bl_check_mail_or_none(const char *mail, GError **error);

/* A plate: a line with at least one letter or digit. */
bool bl_check_plate(const char *plate, GError **error);

/* A number as an owner writes it: no exponent, no trailing zeros. Caller frees. */
char *bl_number_text(double value);

/* A distance in both units: "47 000 km (29 204 mi)". Caller frees. */
char *bl_km_text(double km);

/* An instant without a zone of its own: "2026-11-25 14:30 UTC". Caller frees. */
char *bl_at_text(int64_t at);

#endif
