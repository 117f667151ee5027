/*
 * Cars: one plate at a time on one car that is still here. Owners and plates of the past are
 * kept by the schema's own triggers, whoever writes.
 */
#include "beadline/lookup.h"
#include "beadline/records.h"

#include "beadline/text.h"
#include "checks.h"
#include "columns.h"

static bool check(const struct bl_car_row *row, GError **error)
{
    return bl_check_plate(row->plate, error) &&
           bl_check_line_or_none(row->name, "name of the car", error) &&
           bl_check_line_or_none(row->size, "size", error) &&
           bl_check_line_or_none(row->gone_how, "way the car went", error) &&
           bl_check_lines(row->exposures, "exposure", error) &&
           bl_check_measure_or_none(row->km_a_year, BL_MEASURE_KM_A_YEAR, error) &&
           bl_check_note(row->note, "note", error) &&
           bl_check_at(row->added_at, "date added", error) &&
           (row->gone_at == BL_NEVER || bl_check_at(row->gone_at, "date gone", error)) &&
           (row->offers_held_at == 0 ||
            bl_check_at(row->offers_held_at, "date offers are held from", error));
}

static const char BEARER[] = "SELECT car.id, car.plate, customer.name FROM car"
                             " LEFT JOIN customer ON customer.id = car.customer"
                             " WHERE car.plate_key = ?1 AND car.gone_at IS NULL"
                             " AND car.id <> ?2";

/* Two cars on the road cannot bear one plate: the older one has gone, or was mistyped. */
static bool plate_free(struct bl_store *store, const struct bl_car_row *row, const char *key,
                       GError **error)
{
    if (row->gone_at != BL_NEVER) {
        return true;
    }
    BL_ROWS rows = bl_rows(store, BEARER, BL_VALUES(bl_text(key), bl_int(row->id)));
    if (!bl_rows_next(&rows)) {
        return bl_rows_end(&rows, error);
    }
    g_autofree char *plate = bl_column_note(&rows, 1);
    g_autofree char *owner = bl_column_note(&rows, 2);
    g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                "plate \"%s\" is on car %" G_GINT64_FORMAT
                " (%s) already: change that car's plate, or mark it gone first",
                plate, bl_rows_int(&rows, 0), owner);
    return false;
}

static const char CUSTOMER[] = "SELECT id FROM customer WHERE id = ?1";
static const char PLACE[] = "SELECT id FROM place WHERE id = ?1";

static bool fits(struct bl_store *store, const struct bl_car_row *row, const char *key,
                 GError **error)
{
    return bl_must_exist(store, CUSTOMER, "customer", row->customer, error) &&
           (row->place == 0 || bl_must_exist(store, PLACE, "place", row->place, error)) &&
           plate_free(store, row, key, error);
}

static const char ADD[] =
    "INSERT INTO car (customer, plate, plate_key, name, size, km_a_year, exposures, place,"
    " gone_at, gone_how, note, added_at, offers_held_at, changed_at)"
    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)";

static const char CHANGE[] =
    "UPDATE car SET customer = ?1, plate = ?2, plate_key = ?3, name = ?4, size = ?5,"
    " km_a_year = ?6, exposures = ?7, place = ?8, gone_at = ?9, gone_how = ?10, note = ?11,"
    " added_at = ?12, offers_held_at = ?13, changed_at = ?14 WHERE id = ?15";

/* The columns in the order both statements above have them; changed_at dates the history. */
#define COLUMN_VALUES(row, key, changed_at)                                                    \
    bl_int((row)->customer), bl_text((row)->plate), bl_text(key), bl_text((row)->name),        \
        bl_text((row)->size), bl_real((row)->km_a_year),                                       \
        bl_text((row)->exposures ? (row)->exposures : ""), bl_int_or_null((row)->place, 0),    \
        bl_int_or_null((row)->gone_at, BL_NEVER), bl_text((row)->gone_how),                    \
        bl_text((row)->note ? (row)->note : ""), bl_int((row)->added_at),                      \
        bl_int_or_null((row)->offers_held_at, 0), bl_int(changed_at)

bool bl_car_add(struct bl_store *store, const struct bl_car_row *row, int64_t *id,
                GError **error)
{
    if (!check(row, error)) {
        return false;
    }
    struct bl_car_row added = *row;
    added.id = 0;
    g_autofree char *key = bl_text_plate(added.plate);
    return fits(store, &added, key, error) &&
           bl_sql_insert(store, ADD, BL_VALUES(COLUMN_VALUES(&added, key, added.added_at)), id,
                         error);
}

bool bl_car_change(struct bl_store *store, const struct bl_car_row *row, int64_t now,
                   GError **error)
{
    if (!check(row, error)) {
        return false;
    }
    g_autofree char *key = bl_text_plate(row->plate);
    if (!fits(store, row, key, error) ||
        !bl_sql_run(store, CHANGE, BL_VALUES(COLUMN_VALUES(row, key, now), bl_int(row->id)),
                    error)) {
        return false;
    }
    return bl_sql_changed(store) > 0 || bl_missing("car", row->id, error);
}

#define COLUMNS                                                                                \
    "id, customer, place, plate, name, size, note, exposures, km_a_year, gone_at, added_at, "  \
    "gone_how, offers_held_at"

static void read_row(const struct bl_rows *rows, struct bl_car_row *row)
{
    *row = (struct bl_car_row){
        .id = bl_rows_int(rows, 0),
        .customer = bl_rows_int(rows, 1),
        .place = bl_rows_int(rows, 2),
        .plate = bl_column_note(rows, 3),
        .name = bl_column_shown(rows, 4),
        .size = bl_column_shown(rows, 5),
        .note = bl_column_note(rows, 6),
        .exposures = bl_column_note(rows, 7),
        .km_a_year = bl_rows_real(rows, 8),
        .gone_at = bl_rows_int_or(rows, 9, BL_NEVER),
        .added_at = bl_rows_int(rows, 10),
        .gone_how = bl_column_shown(rows, 11),
        .offers_held_at = bl_rows_int(rows, 12),
    };
}

void bl_car_row_clear(struct bl_car_row *row)
{
    g_free(row->plate);
    g_free(row->name);
    g_free(row->size);
    g_free(row->note);
    g_free(row->exposures);
    g_free(row->gone_how);
    *row = (struct bl_car_row){0};
}

static void clear(gpointer row)
{
    bl_car_row_clear(row);
}

static const char GET[] = "SELECT " COLUMNS " FROM car WHERE id = ?1";

bool bl_car_get(struct bl_store *store, int64_t id, struct bl_car_row *row, GError **error)
{
    BL_ROWS rows = bl_rows(store, GET, BL_VALUES(bl_int(id)));
    bool found = bl_rows_next(&rows);
    if (found) {
        read_row(&rows, row);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    return found || bl_missing("car", id, error);
}

static const char LIST[] = "SELECT " COLUMNS " FROM car WHERE ?1 = 0 OR customer = ?1"
                           " ORDER BY plate_key, id";

static GArray *list_of(struct bl_rows *rows, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_car_row), clear);
    while (bl_rows_next(rows)) {
        struct bl_car_row row;
        read_row(rows, &row);
        g_array_append_val(list, row);
    }
    return bl_row_array_end(list, rows, error);
}

GArray *bl_car_list(struct bl_store *store, int64_t customer, GError **error)
{
    BL_ROWS rows = bl_rows(store, LIST, BL_VALUES(bl_int(customer)));
    return list_of(&rows, error);
}

static const char HELD[] = "SELECT " COLUMNS " FROM car WHERE offers_held_at IS NOT NULL"
                           " AND gone_at IS NULL ORDER BY offers_held_at, id";

GArray *bl_car_held_list(struct bl_store *store, GError **error)
{
    BL_ROWS rows = bl_rows(store, HELD, NULL);
    return list_of(&rows, error);
}
