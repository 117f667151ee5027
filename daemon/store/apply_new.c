/*
 * The plan goes in: what is new to the store, several rows a statement. The two halves of
 * applying decide what that is; here it is written.
 */
#include "apply.h"

#include <stdarg.h>
#include <string.h>

/* Appends to the text of that size at *length; what is written there always fits. */
static void append(char numbers[BL_NUMBERS_SIZE], gsize *length, const char *format, ...)
    G_GNUC_PRINTF(3, 4);

static void append(char numbers[BL_NUMBERS_SIZE], gsize *length, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    int added = g_vsnprintf(numbers + *length, BL_NUMBERS_SIZE - *length, format, values);
    va_end(values);
    *length += (gsize)added;
    g_assert(*length < BL_NUMBERS_SIZE);
}

/* A JSON number, or null for what is not there. */
static void add_number(char *numbers, gsize *length, const char *name, double value)
{
    char digits[G_ASCII_DTOSTR_BUF_SIZE];
    append(numbers, length, "\"%s\":%s,", name,
           isfinite(value) ? g_ascii_dtostr(digits, sizeof digits, value) : "null");
}

static void add_instant(char *numbers, gsize *length, const char *name, int64_t at)
{
    if (at == BL_NEVER) {
        append(numbers, length, "\"%s\":null,", name);
    } else {
        append(numbers, length, "\"%s\":%" G_GINT64_FORMAT ",", name, at);
    }
}

void bl_apply_numbers(const struct bl_due *due, char numbers[BL_NUMBERS_SIZE])
{
    gsize length = 0;
    append(numbers, &length, "{");
    add_instant(numbers, &length, "early", due->early);
    add_instant(numbers, &length, "likely", due->likely);
    add_instant(numbers, &length, "late", due->late);
    add_instant(numbers, &length, "extended_from", due->extended_from);
    add_number(numbers, &length, "km_a_day", due->km_a_day);
    add_number(numbers, &length, "speed", due->speed);
    append(numbers, &length, "\"by_distance\":%s}", due->by_distance ? "true" : "false");
}

#define DUE_COLUMNS 13
static const struct bl_insert DUES =
    BL_INSERT("due (kind, subject, ordinal, customer, car, job, treatment, rule, from_at,"
              " best_by, not_after, held, numbers)",
              "(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", DUE_COLUMNS);

static void bind_due(const struct bl_applying *applying, const struct bl_due *due,
                     const struct bl_rider *rider, const char *numbers,
                     struct bl_binding values[DUE_COLUMNS])
{
    const struct bl_binding row[DUE_COLUMNS] = {bl_text(bl_kind_name(due->kind)),
                                                bl_int(due->subject),
                                                bl_int(due->ordinal),
                                                bl_int(applying->customer),
                                                bl_int_or_null(due->car, 0),
                                                bl_int_or_null(due->job, 0),
                                                bl_int_or_null(due->treatment, 0),
                                                bl_int_or_null(due->rule_id, 0),
                                                bl_int(due->from),
                                                bl_int(due->best_by),
                                                bl_int(due->not_after),
                                                bl_text(rider->held),
                                                bl_text(numbers)};
    memcpy(values, row, sizeof row);
}

bool bl_apply_new_dues(struct bl_applying *applying, guint first, guint count, GError **error)
{
    struct bl_binding values[BL_INSERT_ROWS * DUE_COLUMNS] = {0};
    char numbers[BL_INSERT_ROWS][BL_NUMBERS_SIZE];
    int64_t ids[BL_INSERT_ROWS];
    struct bl_rider *riders = &g_array_index(applying->riders, struct bl_rider, first);
    for (guint i = 0; i < count; i++) {
        const struct bl_due *due =
            &g_array_index(applying->plan->dues, struct bl_due, first + i);
        bl_apply_numbers(due, numbers[i]);
        bind_due(applying, due, &riders[i], numbers[i], &values[(gsize)i * DUE_COLUMNS]);
    }
    if (!bl_sql_insert_rows(applying->store, &DUES, values, count, ids, error)) {
        return false;
    }
    for (guint i = 0; i < count; i++) {
        riders[i].id = ids[i];
        riders[i].free = true;
    }
    return true;
}

#define MESSAGE_COLUMNS 10
static const struct bl_insert MESSAGES =
    BL_INSERT("message (customer, key, kind, class, channel, address, from_at, send_at,"
              " not_after, made_at)",
              "(?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", MESSAGE_COLUMNS);

static void bind_message(const struct bl_applying *applying, const struct bl_intent *intent,
                         const char *key, struct bl_binding values[MESSAGE_COLUMNS])
{
    const struct bl_binding row[MESSAGE_COLUMNS] = {
        bl_int(applying->customer),
        bl_text(key),
        bl_text(bl_kind_name(intent->kind)),
        bl_text(bl_class_name(bl_kind_class(intent->kind))),
        bl_text(bl_channel_name(intent->channel)),
        bl_text(intent->address),
        bl_int(intent->from),
        bl_int(intent->send_at),
        bl_int(intent->not_after),
        bl_int(applying->now)};
    memcpy(values, row, sizeof row);
}

static bool add_messages(struct bl_applying *applying, struct bl_newcomer *newcomers,
                         guint count, GError **error)
{
    struct bl_binding values[BL_INSERT_ROWS * MESSAGE_COLUMNS] = {0};
    char keys[BL_INSERT_ROWS][33];
    int64_t ids[BL_INSERT_ROWS];
    for (guint i = 0; i < count; i++) {
        bl_chance_key(applying->chance, keys[i]);
        bind_message(applying, newcomers[i].intent, keys[i],
                     &values[(gsize)i * MESSAGE_COLUMNS]);
    }
    if (!bl_sql_insert_rows(applying->store, &MESSAGES, values, count, ids, error)) {
        return false;
    }
    for (guint i = 0; i < count; i++) {
        newcomers[i].id = ids[i];
    }
    return true;
}

#define LINK_COLUMNS 2
static const struct bl_insert LINKS =
    BL_INSERT("message_due (message, due)", "(?, ?)", LINK_COLUMNS);

struct links {
    struct bl_binding values[BL_INSERT_ROWS * LINK_COLUMNS];
    guint count;
};

static bool flush(struct bl_applying *applying, struct links *links, GError **error)
{
    guint count = links->count;
    links->count = 0;
    return count == 0 ||
           bl_sql_insert_rows(applying->store, &LINKS, links->values, count, NULL, error);
}

static bool put_on(struct bl_applying *applying, const struct bl_newcomer *newcomer,
                   struct links *links, GError **error)
{
    for (guint j = 0; j < newcomer->intent->dues->len; j++) {
        guint due = g_array_index(newcomer->intent->dues, guint, j);
        struct bl_rider *rider = &g_array_index(applying->riders, struct bl_rider, due);
        if (!rider->free) {
            continue;
        }
        rider->message = newcomer->id;
        struct bl_binding *link = &links->values[(gsize)links->count * LINK_COLUMNS];
        link[0] = bl_int(newcomer->id);
        link[1] = bl_int(rider->id);
        links->count++;
        if (links->count == BL_INSERT_ROWS && !flush(applying, links, error)) {
            return false;
        }
    }
    return true;
}

bool bl_apply_new_messages(struct bl_applying *applying, GArray *newcomers, GError **error)
{
    struct links links = {.count = 0};
    for (guint i = 0; i < newcomers->len; i += BL_INSERT_ROWS) {
        if (!add_messages(applying, &g_array_index(newcomers, struct bl_newcomer, i),
                          MIN(newcomers->len - i, BL_INSERT_ROWS), error)) {
            return false;
        }
    }
    for (guint i = 0; i < newcomers->len; i++) {
        if (!put_on(applying, &g_array_index(newcomers, struct bl_newcomer, i), &links,
                    error)) {
            return false;
        }
    }
    return flush(applying, &links, error);
}
