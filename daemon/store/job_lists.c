/*
 * Jobs and their treatments as they are shown.
 */
#include "beadline/lookup.h"
#include "beadline/records.h"

#include "columns.h"

#define COLUMNS                                                                                \
    "id, car, customer, finished_at, package, place, redo_of, entered_at, km, temp_c,"         \
    " humidity, wash_from, cured_indoors, leaving_ok, note"

static void read_job(const struct bl_rows *rows, struct bl_job_row *row)
{
    *row = (struct bl_job_row){
        .id = bl_rows_int(rows, 0),
        .car = bl_rows_int(rows, 1),
        .customer = bl_rows_int(rows, 2),
        .finished_at = bl_rows_int(rows, 3),
        .package = bl_rows_int(rows, 4),
        .place = bl_rows_int(rows, 5),
        .redo_of = bl_rows_int(rows, 6),
        .entered_at = bl_rows_int(rows, 7),
        .km = bl_rows_real(rows, 8),
        .temp_c = bl_rows_real(rows, 9),
        .humidity = bl_rows_real(rows, 10),
        .wash_from = (int32_t)bl_rows_int_or(rows, 11, BL_NO_DATE),
        .cured_indoors = bl_rows_int(rows, 12) == 1,
        .leaving_ok = bl_rows_int(rows, 13) == 1,
        .note = bl_column_note(rows, 14),
    };
}

void bl_job_row_clear(struct bl_job_row *row)
{
    g_free(row->note);
    *row = (struct bl_job_row){0};
}

static void clear_job(gpointer row)
{
    bl_job_row_clear(row);
}

static const char GET[] = "SELECT " COLUMNS " FROM job WHERE id = ?1";

bool bl_job_get(struct bl_store *store, int64_t id, struct bl_job_row *row, GError **error)
{
    BL_ROWS rows = bl_rows(store, GET, BL_VALUES(bl_int(id)));
    bool found = bl_rows_next(&rows);
    if (found) {
        read_job(&rows, row);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    return found || bl_missing("job", id, error);
}

#define NEWEST " ORDER BY finished_at DESC, id DESC LIMIT ?2"

static const char OF_ALL[] = "SELECT " COLUMNS " FROM job WHERE ?1 = 0" NEWEST;
static const char OF_CAR[] = "SELECT " COLUMNS " FROM job WHERE car = ?1" NEWEST;

GArray *bl_job_list(struct bl_store *store, int64_t car, guint limit, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_job_row), clear_job);
    int64_t most = limit ? (int64_t)limit : -1; /* SQLite: a negative limit is none */
    BL_ROWS rows = bl_rows(store, car ? OF_CAR : OF_ALL, BL_VALUES(bl_int(car), bl_int(most)));
    while (bl_rows_next(&rows)) {
        struct bl_job_row row;
        read_job(&rows, &row);
        g_array_append_val(list, row);
    }
    return bl_row_array_end(list, &rows, error);
}

static void clear_treatment(gpointer data)
{
    struct bl_treatment_row *row = data;
    g_free(row->part);
    g_free(row->batch);
    g_free(row->product);
}

/* False for a surface nobody knows: such a row cannot be shown, and the facts name it. */
static bool read_treatment(const struct bl_rows *rows, struct bl_treatment_row *row)
{
    enum bl_surface surface;
    enum bl_again again;
    if (!bl_surface_of(bl_rows_text(rows, 3), &surface)) {
        return false;
    }
    *row = (struct bl_treatment_row){
        .id = bl_rows_int(rows, 0),
        .job = bl_rows_int(rows, 1),
        .rule = bl_rows_int(rows, 2),
        .surface = surface,
        .part = bl_column_note(rows, 4),
        .coats = (int)bl_rows_int(rows, 5),
        .last_coat_at = bl_rows_int(rows, 6),
        .again = bl_again_of(bl_rows_text(rows, 7), &again) ? (int)again : -1,
        .batch = bl_column_shown(rows, 8),
        .product = bl_column_note(rows, 9),
    };
    return true;
}

static const char TREATMENTS[] =
    "SELECT t.id, t.job, t.rule, t.surface, t.part, t.coats, t.last_coat_at, t.again, t.batch,"
    " r.product FROM treatment t LEFT JOIN rule_version r ON r.id = t.rule"
    " WHERE t.job = ?1 ORDER BY t.id";

GArray *bl_treatment_list(struct bl_store *store, int64_t job, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_treatment_row), clear_treatment);
    BL_ROWS rows = bl_rows(store, TREATMENTS, BL_VALUES(bl_int(job)));
    while (bl_rows_next(&rows)) {
        struct bl_treatment_row row;
        if (read_treatment(&rows, &row)) {
            g_array_append_val(list, row);
        }
    }
    return bl_row_array_end(list, &rows, error);
}
