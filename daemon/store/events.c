/*
 * Events: what happened to a car between jobs, good or bad for what is on it.
 */
#include "beadline/lookup.h"
#include "beadline/records.h"

#include "checks.h"
#include "columns.h"

static bool check(const struct bl_event_row *row, GError **error)
{
    g_assert(row->happening < BL_HAPPENINGS && row->surface < (int)BL_SURFACES);
    return bl_check_at(row->at, "time of the event", error) &&
           bl_check_line_or_none(row->part, "part", error) &&
           bl_check_line_or_none(row->with, "thing it was done with", error) &&
           bl_check_note(row->finding, "finding", error) &&
           bl_check_note(row->note, "note", error);
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
    "INSERT INTO event (car, at, happening, treatment, surface, part, \"with\", finding, note)"
    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";

bool bl_event_add(struct bl_store *store, const struct bl_event_row *row, int64_t *id,
                  GError **error)
{
    const char *surface =
        row->surface < 0 ? NULL : bl_surface_name((enum bl_surface)row->surface);
    return check(row, error) && bl_must_exist(store, CAR, "car", row->car, error) &&
           (row->treatment == 0 || worn(store, row, error)) &&
           bl_sql_insert(store, ADD,
                         BL_VALUES(bl_int(row->car), bl_int(row->at),
                                   bl_text(bl_happening_name(row->happening)),
                                   bl_int_or_null(row->treatment, 0), bl_text(surface),
                                   bl_text(row->part), bl_text(row->with),
                                   bl_text(row->finding), bl_text(row->note)),
                         id, error);
}

static void clear(gpointer data)
{
    struct bl_event_row *row = data;
    g_free(row->part);
    g_free(row->with);
    g_free(row->finding);
    g_free(row->note);
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
    };
    return true;
}

static const char LIST[] =
    "SELECT id, car, at, happening, treatment, surface, part, \"with\", finding, note FROM event"
    " WHERE ?1 = 0 OR car = ?1 ORDER BY at DESC, id DESC";

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
