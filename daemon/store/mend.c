/*
 * Corrections: when and why, and what was kept. The triggers of the schema keep it; here is
 * only what they are told, and the list of it. The rows themselves are mended beside where they
 * are written: mend_work.c jobs and treatments, mend_mileage.c readings, events.c events.
 */
#include "beadline/mend.h"

#include "checks.h"
#include "columns.h"

static const char BEGIN[] =
    "INSERT OR REPLACE INTO correcting (id, at, why) VALUES (1, ?1, ?2)";
static const char END[] = "DELETE FROM correcting";

bool bl_mend_begin(struct bl_store *store, int64_t now, const char *why, GError **error)
{
    return bl_check_at(now, "time of the correction", error) &&
           bl_check_note(why, "reason", error) &&
           bl_sql_run(store, BEGIN, BL_VALUES(bl_int(now), bl_text(why)), error);
}

bool bl_mend_end(struct bl_store *store, GError **error)
{
    return bl_sql_run(store, END, NULL, error);
}

static void clear(gpointer data)
{
    struct bl_corrected_row *row = data;
    g_free(row->thing);
    g_free(row->before);
    g_free(row->why);
}

static const char LIST[] = "SELECT id, at, row, car, thing, before, why, removed FROM corrected"
                           " WHERE car = ?1 ORDER BY id DESC";

GArray *bl_corrected_list(struct bl_store *store, int64_t car, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_corrected_row), clear);
    BL_ROWS rows = bl_rows(store, LIST, BL_VALUES(bl_int(car)));
    while (bl_rows_next(&rows)) {
        struct bl_corrected_row row = {
            .id = bl_rows_int(&rows, 0),
            .at = bl_rows_int(&rows, 1),
            .row = bl_rows_int(&rows, 2),
            .car = bl_rows_int(&rows, 3),
            .thing = bl_column_note(&rows, 4),
            .before = bl_column_note(&rows, 5),
            .why = bl_column_shown(&rows, 6),
            .removed = bl_rows_int(&rows, 7) == 1,
        };
        g_array_append_val(list, row);
    }
    return bl_row_array_end(list, &rows, error);
}
