/*
 * Places: where a customer's cars are worked on, and what one needs to know there (parking,
 * tap, gate, dog).
 */
#include "beadline/lookup.h"
#include "beadline/records.h"

#include "checks.h"
#include "columns.h"

static bool check(const struct bl_place_row *row, GError **error)
{
    return bl_check_line(row->name, "name of the place", error) &&
           bl_check_note(row->address, "address of the place", error) &&
           bl_check_note(row->note, "note", error);
}

static const char CUSTOMER[] = "SELECT id FROM customer WHERE id = ?1";
static const char ADD[] =
    "INSERT INTO place (customer, name, address, note) VALUES (?1, ?2, ?3, ?4)";

bool bl_place_add(struct bl_store *store, const struct bl_place_row *row, int64_t *id,
                  GError **error)
{
    return check(row, error) &&
           bl_must_exist(store, CUSTOMER, "customer", row->customer, error) &&
           bl_sql_insert(store, ADD,
                         BL_VALUES(bl_int(row->customer), bl_text(row->name),
                                   bl_text(row->address ? row->address : ""),
                                   bl_text(row->note ? row->note : "")),
                         id, error);
}

static void clear(gpointer data)
{
    struct bl_place_row *row = data;
    g_free(row->name);
    g_free(row->address);
    g_free(row->note);
}

static const char LIST[] = "SELECT id, customer, name, address, note FROM place"
                           " WHERE ?1 = 0 OR customer = ?1 ORDER BY name COLLATE NOCASE, id";

GArray *bl_place_list(struct bl_store *store, int64_t customer, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_place_row), clear);
    BL_ROWS rows = bl_rows(store, LIST, BL_VALUES(bl_int(customer)));
    while (bl_rows_next(&rows)) {
        struct bl_place_row row = {
            .id = bl_rows_int(&rows, 0),
            .customer = bl_rows_int(&rows, 1),
            .name = bl_column_note(&rows, 2),
            .address = bl_column_note(&rows, 3),
            .note = bl_column_note(&rows, 4),
        };
        g_array_append_val(list, row);
    }
    return bl_row_array_end(list, &rows, error);
}
