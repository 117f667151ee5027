/*
 * Events: what happened to a car between jobs, good or bad for what is on it.
 */
#include "beadline/lookup.h"
#include "beadline/mend.h"

#include "checks.h"
#include "columns.h"

/* A lamp, and what cures nothing, have none. */
static bool has_hours(const struct bl_event_row *row)
{
    return row->hours != 0 && !isnan(row->hours);
}

static bool check(const struct bl_event_row *row, GError **error)
{
    g_assert(row->happening < BL_HAPPENINGS && row->surface < (int)BL_SURFACES);
    return bl_check_at(row->at, "time of the event", error) &&
           bl_check_line_or_none(row->part, "part", error) &&
           bl_check_line_or_none(row->with, "thing it was done with", error) &&
           bl_check_note(row->finding, "finding", error) &&
           bl_check_note(row->note, "note", error) &&
           (!has_hours(row) || (bl_check_measure(row->temp_c, BL_MEASURE_CURE_C, error) &&
                                bl_check_measure(row->hours, BL_MEASURE_HOURS, error)));
}

static const char CAR[] = "SELECT id FROM car WHERE id = ?1";
static const char ITS_CAR[] =
    "SELECT j.car FROM treatment t JOIN job j ON j.id = t.job WHERE t.id = ?1";

/* An event on a treatment is one on the car that wears it. */
static bool worn(struct bl_store *store, const struct bl_event_row *row, GError **error)
{
    int64_t car = 0;
    if (!bl_sql_number(store, ITS_CAR, BL_VALUES(bl_int(row->treatment)), 0, &car, error)) {
        return false;
    }
    if (car == row->car) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                "there is no treatment \"%" G_GINT64_FORMAT "\" on car %" G_GINT64_FORMAT
                ": look its number up in the car's jobs",
                row->treatment, row->car);
    return false;
}

static const char ADD[] =
    "INSERT INTO event (car, at, happening, treatment, surface, part, \"with\", finding, note,"
    " temp_c, hours) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)";

static const char *surface_of(const struct bl_event_row *row)
{
    return row->surface < 0 ? NULL : bl_surface_name((enum bl_surface)row->surface);
}

/* The columns in the order ADD and CHANGE have them, after the first. */
#define COLUMN_VALUES(row)                                                                     \
    bl_int((row)->at), bl_text(bl_happening_name((row)->happening)),                           \
        bl_int_or_null((row)->treatment, 0), bl_text(surface_of(row)), bl_text((row)->part),   \
        bl_text((row)->with), bl_text((row)->finding), bl_text((row)->note),                   \
        has_hours(row) ? bl_real((row)->temp_c) : bl_null(),                                   \
        has_hours(row) ? bl_real((row)->hours) : bl_null()

bool bl_event_add(struct bl_store *store, const struct bl_event_row *row, int64_t *id,
                  GError **error)
{
    return check(row, error) && bl_must_exist(store, CAR, "car", row->car, error) &&
           (row->treatment == 0 || worn(store, row, error)) &&
           bl_sql_insert(store, ADD, BL_VALUES(bl_int(row->car), COLUMN_VALUES(row)), id,
                         error);
}

static const char CHANGE[] =
    "UPDATE event SET at = ?2, happening = ?3, treatment = ?4, surface = ?5, part = ?6,"
    " \"with\" = ?7, finding = ?8, note = ?9, temp_c = ?10, hours = ?11 WHERE id = ?1";

bool bl_event_change(struct bl_store *store, const struct bl_event_row *row, GError **error)
{
    if (!check(row, error) || (row->treatment != 0 && !worn(store, row, error)) ||
        !bl_sql_run(store, CHANGE, BL_VALUES(bl_int(row->id), COLUMN_VALUES(row)), error)) {
        return false;
    }
    return bl_sql_changed(store) > 0 || bl_missing("event", row->id, error);
}

static const char REMOVE[] = "DELETE FROM event WHERE id = ?1";

bool bl_event_remove(struct bl_store *store, int64_t id, GError **error)
{
    return bl_sql_run(store, REMOVE, BL_VALUES(bl_int(id)), error) &&
           (bl_sql_changed(store) > 0 || bl_missing("event", id, error));
}

void bl_event_row_clear(struct bl_event_row *row)
{
    g_free(row->part);
    g_free(row->with);
    g_free(row->finding);
    g_free(row->note);
    *row = (struct bl_event_row){0};
}

static void clear(gpointer row)
{
    bl_event_row_clear(row);
}

static bool read_row(const struct bl_rows *rows, struct bl_event_row *row)
{
    enum bl_happening happening;
    enum bl_surface surface;
    if (!bl_happening_of(bl_rows_text(rows, 3), &happening)) {
        return false; /* it cannot be shown; the facts name it */
    }
    *row = (struct bl_event_row){
        .id = bl_rows_int(rows, 0),
        .car = bl_rows_int(rows, 1),
        .at = bl_rows_int(rows, 2),
        .happening = happening,
        .treatment = bl_rows_int(rows, 4),
        .surface = bl_surface_of(bl_rows_text(rows, 5), &surface) ? (int)surface : -1,
        .part = bl_column_shown(rows, 6),
        .with = bl_column_shown(rows, 7),
        .finding = bl_column_shown(rows, 8),
        .note = bl_column_shown(rows, 9),
        .temp_c = bl_rows_real(rows, 10),
        .hours = bl_rows_real(rows, 11),
    };
    return true;
}

#define COLUMNS                                                                                \
    "id, car, at, happening, treatment, surface, part, \"with\", finding, note, temp_c, hours"

static const char GET[] = "SELECT " COLUMNS " FROM event WHERE id = ?1";

bool bl_event_get(struct bl_store *store, int64_t id, struct bl_event_row *row, GError **error)
{
    BL_ROWS rows = bl_rows(store, GET, BL_VALUES(bl_int(id)));
    *row = (struct bl_event_row){0};
    bool found = bl_rows_next(&rows) && read_row(&rows, row);
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    return found || bl_missing("event", id, error);
}

static const char LIST[] =
    "SELECT " COLUMNS " FROM event WHERE ?1 = 0 OR car = ?1 ORDER BY at DESC, id DESC";

GArray *bl_event_list(struct bl_store *store, int64_t car, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_event_row), clear);
    BL_ROWS rows = bl_rows(store, LIST, BL_VALUES(bl_int(car)));
    while (bl_rows_next(&rows)) {
        struct bl_event_row row;
        if (read_row(&rows, &row)) {
            g_array_append_val(list, row);
        }
    }
    return bl_row_array_end(list, &rows, error);
}
