/*
 * Customers: who they are and how they are reached. What they agreed to is in consents.c.
 */
#include "beadline/lookup.h"
#include "beadline/records.h"

#include "checks.h"
#include "columns.h"

/* Our own writers give one of the words; only a file another program wrote can hold another. */
static bool check(const struct bl_customer_row *row, GError **error)
{
    g_assert(row->route < BL_CHANNELS && row->wish < BL_WISHES);
    return bl_check_line(row->name, "name", error) &&
           bl_check_phone_or_none(row->phone, error) &&
           bl_check_mail_or_none(row->mail, error) &&
           bl_check_line_or_none(row->language, "language", error) &&
           bl_check_note(row->note, "note", error) &&
           bl_check_at(row->added_at, "date added", error);
}

static const char ADD[] =
    "INSERT INTO customer (name, phone, mail, language, route, wish, note, added_at)"
    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";

bool bl_customer_add(struct bl_store *store, const struct bl_customer_row *row, int64_t *id,
                     GError **error)
{
    return check(row, error) &&
           bl_sql_insert(store, ADD,
                         BL_VALUES(bl_text(row->name), bl_text(row->phone), bl_text(row->mail),
                                   bl_text(row->language), bl_text(bl_channel_name(row->route)),
                                   bl_text(bl_wish_name(row->wish)),
                                   bl_text(row->note ? row->note : ""), bl_int(row->added_at)),
                         id, error);
}

static const char CHANGE[] =
    "UPDATE customer SET name = ?1, phone = ?2, mail = ?3, language = ?4, route = ?5,"
    " wish = ?6, note = ?7, added_at = ?8 WHERE id = ?9";

bool bl_customer_change(struct bl_store *store, const struct bl_customer_row *row,
                        GError **error)
{
    const struct bl_binding *values = BL_VALUES(
        bl_text(row->name), bl_text(row->phone), bl_text(row->mail), bl_text(row->language),
        bl_text(bl_channel_name(row->route)), bl_text(bl_wish_name(row->wish)),
        bl_text(row->note ? row->note : ""), bl_int(row->added_at), bl_int(row->id));
    if (!check(row, error) || !bl_sql_run(store, CHANGE, values, error)) {
        return false;
    }
    return bl_sql_changed(store) > 0 || bl_missing("customer", row->id, error);
}

#define COLUMNS "id, name, phone, mail, language, note, route, wish, added_at"

/* A word nobody knows is read as the quietest one. */
static void read_row(const struct bl_rows *rows, struct bl_customer_row *row)
{
    *row = (struct bl_customer_row){
        .id = bl_rows_int(rows, 0),
        .name = bl_column_note(rows, 1),
        .phone = bl_column_shown(rows, 2),
        .mail = bl_column_shown(rows, 3),
        .language = bl_column_shown(rows, 4),
        .note = bl_column_note(rows, 5),
        .route = BL_BY_HAND,
        .wish = BL_WISH_NEVER,
        .added_at = bl_rows_int(rows, 8),
    };
    bl_channel_of(bl_rows_text(rows, 6), &row->route);
    bl_wish_of(bl_rows_text(rows, 7), &row->wish);
}

void bl_customer_row_clear(struct bl_customer_row *row)
{
    g_free(row->name);
    g_free(row->phone);
    g_free(row->mail);
    g_free(row->language);
    g_free(row->note);
    *row = (struct bl_customer_row){0};
}

static void clear(gpointer row)
{
    bl_customer_row_clear(row);
}

static const char GET[] = "SELECT " COLUMNS " FROM customer WHERE id = ?1";

bool bl_customer_get(struct bl_store *store, int64_t id, struct bl_customer_row *row,
                     GError **error)
{
    BL_ROWS rows = bl_rows(store, GET, BL_VALUES(bl_int(id)));
    bool found = bl_rows_next(&rows);
    if (found) {
        read_row(&rows, row);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    return found || bl_missing("customer", id, error);
}

static const char LIST[] = "SELECT " COLUMNS " FROM customer ORDER BY name COLLATE NOCASE, id";

GArray *bl_customer_list(struct bl_store *store, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_customer_row), clear);
    BL_ROWS rows = bl_rows(store, LIST, NULL);
    while (bl_rows_next(&rows)) {
        struct bl_customer_row row;
        read_row(&rows, &row);
        g_array_append_val(list, row);
    }
    return bl_row_array_end(list, &rows, error);
}

static const char COUNTS[] =
    "SELECT (SELECT count(*) FROM customer), (SELECT count(*) FROM car),"
    " (SELECT count(*) FROM job)";

bool bl_store_counts(struct bl_store *store, struct bl_counts *counts, GError **error)
{
    BL_ROWS rows = bl_rows(store, COUNTS, NULL);
    while (bl_rows_next(&rows)) {
        *counts = (struct bl_counts){bl_rows_int(&rows, 0), bl_rows_int(&rows, 1),
                                     bl_rows_int(&rows, 2)};
    }
    return bl_rows_end(&rows, error);
}
