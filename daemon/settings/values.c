/* The types of values only the settings have: hours, dates, zone, addresses. Beside the types
 * every table may use, on the way from the parsed file into the draft. */
#include <libconfig.h>
#include <string.h>

#include "beadline/text.h"
#include "draft.h"

#define MOST_CLOSED      400
#define MOST_CLOSED_DAYS 366

static bool input(GError **error, const char *what, const char *text)
{
    g_autofree char *shown = bl_field_shown(text);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "\"%s\" is not %s", shown, what);
    return false;
}

/* "9:00" or "19:30" at *at, moved past it; seconds after midnight, or -1. */
static int32_t time_of_day(const char **at)
{
    const char *p = *at;
    gsize digits = strspn(p, "0123456789");
    if (digits < 1 || digits > 2 || p[digits] != ':' ||
        strspn(p + digits + 1, "0123456789") != 2) {
        return -1;
    }
    int hour = p[0] - '0';
    if (digits == 2) {
        hour = hour * 10 + p[1] - '0';
    }
    int minute = (p[digits + 1] - '0') * 10 + p[digits + 2] - '0';
    *at = p + digits + 3;
    int32_t seconds = (hour * 60 + minute) * 60;
    return minute < 60 && seconds <= BL_DAY ? seconds : -1;
}

static const char *past_dash(const char *text)
{
    text += strspn(text, " ");
    if (*text != '-') {
        return NULL;
    }
    text++;
    return text + strspn(text, " ");
}

bool value_hours(const struct bl_field *field, const struct config_setting_t *value,
                 void *target, GError **error)
{
    const char *text = bl_field_string(value);
    if (!text) {
        return bl_field_refuse(field, value, error);
    }
    struct draft_day day = {0, 0};
    if (strcmp(text, "none") != 0) {
        const char *at = text;
        day.open = time_of_day(&at);
        at = day.open >= 0 ? past_dash(at) : NULL;
        day.close = at ? time_of_day(&at) : -1;
        if (day.close < 0 || *at != '\0') {
            return input(error, "hours such as \"09:00-19:00\", or \"none\"", text);
        }
        if (day.close <= day.open) {
            return input(error, "a day's hours: the closing time comes after the opening",
                         text);
        }
    }
    *(struct draft_day *)target = day;
    return true;
}

/* A month's number a bit, January the lowest. */
bool value_months(const struct bl_field *field, const struct config_setting_t *value,
                  void *target, GError **error)
{
    unsigned months = 0;
    if (!config_setting_is_array(value) && !config_setting_is_list(value)) {
        return bl_field_refuse(field, value, error);
    }
    for (int i = 0; i < config_setting_length(value); i++) {
        const config_setting_t *element = config_setting_get_elem(value, (unsigned)i);
        int month = config_setting_get_int(element);
        if (config_setting_type(element) != CONFIG_TYPE_INT || month < 1 || month > 12) {
            g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                        "a month is a number from 1 to 12: [ 11, 12, 1, 2, 3 ]");
            return false;
        }
        months |= 1u << (month - 1);
    }
    *(unsigned *)target = months;
    return true;
}

/* "2026-12-24 - 2026-12-27" or one date. */
static bool read_closed(const char *text, struct bl_closed *closed, GError **error)
{
    g_autofree char *first = g_strndup(text, 10);
    if (!bl_date_parse(first, &closed->first, NULL)) {
        return input(error, "a date or two: \"2026-12-24 - 2026-12-27\" or \"2027-01-01\"",
                     text);
    }
    closed->last = closed->first;
    const char *rest = text + strlen(first);
    if (*rest == '\0') {
        return true;
    }
    rest = past_dash(rest);
    if (!rest || !bl_date_parse(rest, &closed->last, NULL)) {
        return input(error, "a date or two: \"2026-12-24 - 2026-12-27\" or \"2027-01-01\"",
                     text);
    }
    if (closed->last < closed->first) {
        return input(error, "a stretch of days: the later date comes second", text);
    }
    if (closed->last - closed->first > MOST_CLOSED_DAYS) {
        return input(error, "closed for under a year: is the year right?", text);
    }
    return true;
}

bool value_closed_days(const struct bl_field *field, const struct config_setting_t *value,
                       void *target, GError **error)
{
    const char *text = bl_field_string(value);
    return text ? read_closed(text, target, error) : bl_field_refuse(field, value, error);
}

static gint by_first(gconstpointer a, gconstpointer b)
{
    const struct bl_closed *x = a, *y = b;
    return x->first < y->first ? -1 : x->first > y->first;
}

/* Sorted and without overlaps: an owner may name a day twice. */
static GArray *joined(GArray *stretches)
{
    g_array_sort(stretches, by_first);
    GArray *out = g_array_new(FALSE, FALSE, sizeof(struct bl_closed));
    for (guint i = 0; i < stretches->len; i++) {
        struct bl_closed next = g_array_index(stretches, struct bl_closed, i);
        struct bl_closed *last =
            out->len > 0 ? &g_array_index(out, struct bl_closed, out->len - 1) : NULL;
        if (last && next.first <= last->last) {
            last->last = MAX(last->last, next.last);
        } else {
            g_array_append_val(out, next);
        }
    }
    return out;
}

static bool is_list(const config_setting_t *value, int most)
{
    return (config_setting_is_array(value) || config_setting_is_list(value)) &&
           config_setting_length(value) <= most;
}

bool value_closed(const struct bl_field *field, const struct config_setting_t *value,
                  void *target, GError **error)
{
    if (!is_list(value, MOST_CLOSED)) {
        return bl_field_refuse(field, value, error);
    }
    g_autoptr(GArray) stretches = g_array_new(FALSE, FALSE, sizeof(struct bl_closed));
    for (int i = 0; i < config_setting_length(value); i++) {
        const config_setting_t *element = config_setting_get_elem(value, (unsigned)i);
        struct bl_closed closed;
        if (!value_closed_days(field, element, &closed, error)) {
            return false;
        }
        g_array_append_val(stretches, closed);
    }
    *(GArray **)target = joined(stretches);
    return true;
}

bool value_zone(const struct bl_field *field, const struct config_setting_t *value,
                void *target, GError **error)
{
    const char *text = bl_field_string(value);
    if (!text) {
        return bl_field_refuse(field, value, error);
    }
    struct bl_zone *zone = bl_zone_new(text, error);
    *(struct bl_zone **)target = zone;
    return zone != NULL;
}

bool value_mail(const struct bl_field *field, const struct config_setting_t *value,
                void *target, GError **error)
{
    const char *text = bl_field_string(value);
    if (!text) {
        return bl_field_refuse(field, value, error);
    }
    char *address = bl_mail_normal(text, error);
    *(char **)target = address;
    return address != NULL;
}

bool value_language(const struct bl_field *field, const struct config_setting_t *value,
                    void *target, GError **error)
{
    const char *text = bl_field_string(value);
    if (!text) {
        return bl_field_refuse(field, value, error);
    }
    gsize n = strspn(text, "abcdefghijklmnopqrstuvwxyz");
    if (n < 2 || n > 3 || text[n] != '\0') {
        return input(error, "a language's short name, such as \"en\" or \"de\"", text);
    }
    *(char **)target = g_strdup(text);
    return true;
}

bool value_digits(const struct bl_field *field, const struct config_setting_t *value,
                  void *target, GError **error)
{
    const char *text = bl_field_string(value);
    if (!text) {
        return bl_field_refuse(field, value, error);
    }
    gsize n = strspn(text, "0123456789");
    if (text[n] != '\0' || n < (gsize)field->lo || n > (gsize)field->hi) {
        g_autofree char *shown = bl_field_shown(text);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "%s in quotes belong here, not \"%s\"",
                    field->help.range, shown);
        return false;
    }
    *(char **)target = g_strdup(text);
    return true;
}

bool value_statuses(const struct bl_field *field, const struct config_setting_t *value,
                    void *target, GError **error)
{
    if (!is_list(value, 100) || config_setting_length(value) == 0) {
        return bl_field_refuse(field, value, error);
    }
    g_autoptr(GArray) statuses = g_array_new(FALSE, FALSE, sizeof(int));
    for (int i = 0; i < config_setting_length(value); i++) {
        int status = 0;
        const config_setting_t *element = config_setting_get_elem(value, (unsigned)i);
        if (!bl_field_whole(field, element, &status, error)) {
            return false;
        }
        g_array_append_val(statuses, status);
    }
    *(GArray **)target = g_steal_pointer(&statuses);
    return true;
}

bool value_secret(const struct bl_field *field, const struct config_setting_t *value,
                  void *target, GError **error)
{
    (void)field;
    (void)value;
    (void)target;
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "a secret does not belong in this file: put it alone into a file of mode 0600 "
                "and name that file in \"secret_file\"");
    return false;
}
