/*
 * A car's past as it is shown: who had it, and under which plates. Both are written by the
 * schema's own triggers, whoever changes the car.
 */
#include "beadline/lookup.h"
#include "beadline/records.h"

#include "columns.h"

static void clear(gpointer data)
{
    g_free(((struct bl_car_past_row *)data)->text);
}

static GArray *past_of(struct bl_rows *rows, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_car_past_row), clear);
    while (bl_rows_next(rows)) {
        struct bl_car_past_row row = {
            .customer = bl_rows_int(rows, 0),
            .since = bl_rows_int(rows, 1),
            .text = bl_column_note(rows, 2),
        };
        g_array_append_val(list, row);
    }
    return bl_row_array_end(list, rows, error);
}

static const char OWNERS[] = "SELECT o.customer, o.since, c.name FROM car_owner o"
                             " LEFT JOIN customer c ON c.id = o.customer"
                             " WHERE o.car = ?1 ORDER BY o.since DESC, o.id DESC";

GArray *bl_car_owner_list(struct bl_store *store, int64_t car, GError **error)
{
    BL_ROWS rows = bl_rows(store, OWNERS, BL_VALUES(bl_int(car)));
    return past_of(&rows, error);
}

static const char PLATES[] = "SELECT 0, since, plate FROM car_plate WHERE car = ?1"
                             " ORDER BY since DESC, id DESC";

GArray *bl_car_plate_list(struct bl_store *store, int64_t car, GError **error)
{
    BL_ROWS rows = bl_rows(store, PLATES, BL_VALUES(bl_int(car)));
    return past_of(&rows, error);
}
