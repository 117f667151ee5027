/*
 * Checks of single values: the gate in front of every statement that writes, and the sieve
 * behind every statement that reads what another program may have written.
 */
#include "checks.h"

#include <math.h>
#include <string.h>

#include "beadline/address.h"
#include "beadline/civil.h"
#include "beadline/error.h"
#include "beadline/text.h"

struct range {
    const char *what;
    double low, high;
    bool low_open; /* low itself is outside */
    bool whole;
    const char *remedy;
};

static const struct range ranges[] = {
    [BL_MEASURE_KM] = {"mileage", 0, 5e6, false, false,
                       "give the figure on the instrument, from 0 to 5 000 000 km"},
    [BL_MEASURE_KM_A_YEAR] = {"distance a year", 0, 5e5, true, false,
                              "give a figure above 0, up to 500 000 km, or leave it out"},
    [BL_MEASURE_TEMP_C] = {"temperature", -40, 60, false, false,
                           "give degrees Celsius from -40 to 60, or leave it out"},
    [BL_MEASURE_HUMIDITY] = {"humidity", 0, 100, false, false,
                             "give percent from 0 to 100, or leave it out"},
    [BL_MEASURE_COATS] = {"coats", 1, 9, false, true, "give a whole number from 1 to 9"},
    [BL_MEASURE_INSTRUMENT] = {"instrument", 0, 1000, false, true,
                               "give 0 for the first, 1 after it was replaced, and so on"},
    [BL_MEASURE_CURE_C] = {"temperature of the cure", -40, 100, false, false,
                           "give degrees Celsius from -40 to 100, or leave it out"},
    [BL_MEASURE_HOURS] = {"hours of the cure", 0, 8784, true, false,
                          "give a figure above 0, up to 8 784 (a year), or leave it out"},
};

char *bl_number_text(double value)
{
    char text[64];
    if (!isfinite(value) || fabs(value) >= 1e15) {
        return g_strdup(g_ascii_formatd(text, sizeof text, "%g", value));
    }
    g_ascii_formatd(text, sizeof text, "%.2f", value);
    size_t end = strlen(text);
    while (text[end - 1] == '0') {
        end--;
    }
    if (text[end - 1] == '.') {
        end--;
    }
    return g_strndup(text, end);
}

/* The whole part with a space between thousands, as distances are read aloud. */
static char *grouped(double value)
{
    g_autofree char *digits = g_strdup_printf("%.0f", value);
    size_t length = strlen(digits);
    GString *text = g_string_sized_new(length + length / 3);
    for (size_t i = 0; i < length; i++) {
        if (i > 0 && (length - i) % 3 == 0) {
            g_string_append_c(text, ' ');
        }
        g_string_append_c(text, digits[i]);
    }
    return g_string_free(text, FALSE);
}

char *bl_km_text(double km)
{
    g_autofree char *in_km = grouped(km);
    g_autofree char *in_miles = grouped(km / BL_KM_A_MILE);
    return g_strdup_printf("%s km (%s mi)", in_km, in_miles);
}

char *bl_at_text(int64_t at)
{
    g_autoptr(GDateTime) moment = g_date_time_new_from_unix_utc(at);
    return moment ? g_date_time_format(moment, "%Y-%m-%d %H:%M UTC")
                  : g_strdup_printf("%" G_GINT64_FORMAT, at);
}

bool bl_check_measure(double value, enum bl_measure measure, GError **error)
{
    const struct range *range = &ranges[measure];
    bool inside = isfinite(value) && value >= range->low && value <= range->high &&
                  !(range->low_open && value <= range->low) &&
                  !(range->whole && value != floor(value));
    if (inside) {
        return true;
    }
    g_autofree char *text = bl_number_text(value);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "%s \"%s\" cannot be right: %s", range->what,
                text, range->remedy);
    return false;
}

bool bl_check_measure_or_none(double value, enum bl_measure measure, GError **error)
{
    return isnan(value) || bl_check_measure(value, measure, error);
}

bool bl_check_line(const char *text, const char *what, GError **error)
{
    if (!text) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "%s is missing: give it", what);
        return false;
    }
    return bl_text_check(text, what, BL_TEXT_MAX_NAME, error);
}

bool bl_check_line_or_none(const char *text, const char *what, GError **error)
{
    return !text || bl_check_line(text, what, error);
}

bool bl_check_note(const char *text, const char *what, GError **error)
{
    return !text || bl_text_check_note(text, what, error);
}

bool bl_check_lines(const char *text, const char *what, GError **error)
{
    if (!text || !*text) {
        return true;
    }
    if (!bl_text_check_note(text, what, error)) {
        return false;
    }
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    for (guint i = 0; lines[i]; i++) {
        if (!bl_check_line(lines[i], what, error)) {
            return false;
        }
    }
    return true;
}

bool bl_check_at(int64_t at, const char *what, GError **error)
{
    if (at >= BL_DAY && at < (int64_t)bl_date_of(2200, 1, 1) * BL_DAY) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "%s \"%" G_GINT64_FORMAT "\" is outside the years 1970 to 2199: give a date "
                "like 2026-11-25",
                what, at);
    return false;
}

bool bl_check_date_or_none(int32_t date, const char *what, GError **error)
{
    if (date == BL_NO_DATE || (date > 0 && date < bl_date_of(2200, 1, 1))) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "%s \"%d\" is outside the years 1970 to 2199: give a date like 2026-11-25",
                what, date);
    return false;
}

/* Refuses text as `what`; the text is made printable, for it may be anything. */
static bool refuse(const char *what, const char *text, const char *remedy, GError **error)
{
    g_autofree char *printable = bl_text_printable(text);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "%s \"%s\" %s", what, printable, remedy);
    return false;
}

bool bl_check_phone_or_none(const char *phone, GError **error)
{
    if (!phone) {
        return true;
    }
    size_t digits = phone[0] == '+' ? strspn(phone + 1, "0123456789") : 0;
    if (digits >= 7 && digits <= 15 && phone[1] != '0' && !phone[1 + digits]) {
        return true;
    }
    return refuse("phone", phone,
                  "is not an international number: give it like \"+447700900123\"", error);
}

bool bl_check_mail_or_none(const char *mail, GError **error)
{
    if (!mail) {
        return true;
    }
    g_autofree char *normal = bl_mail_normal(mail, error);
    if (!normal) {
        return false;
    }
    if (strcmp(normal, mail) != 0) {
        return refuse("mail", mail, "has capitals behind the @: write its domain small", error);
    }
    return true;
}

bool bl_check_plate(const char *plate, GError **error)
{
    if (!bl_check_line(plate, "plate", error)) {
        return false;
    }
    g_autofree char *key = bl_text_plate(plate);
    if (!*key) {
        return refuse("plate", plate,
                      "has no letter or digit: give the plate as it is on the car", error);
    }
    return true;
}
