/*
 * Orphans: rows whose parent somebody removed with foreign keys switched off, as the sqlite3
 * shell does unless told otherwise. What still leads to the customer is named in his facts; the
 * whole list is for the check of the database.
 */
#include "facts_read.h"

#include "columns.h"

/* A job keeps its customer; a reading and an event are led to him by the history of owners; a
 * treatment by the job, or by a due it once had. */
static const char ORPHANS[] =
    "SELECT 'job', j.id, 'car', j.car FROM job j WHERE j.customer = ?1"
    " AND NOT EXISTS (SELECT 1 FROM car c WHERE c.id = j.car)"
    " UNION SELECT 'treatment', t.id, 'car', j.car FROM job j JOIN treatment t ON t.job = j.id"
    " WHERE j.customer = ?1 AND NOT EXISTS (SELECT 1 FROM car c WHERE c.id = j.car)"
    " UNION SELECT 'treatment', t.id, 'job', t.job FROM due d"
    " JOIN treatment t ON t.id = d.treatment WHERE d.customer = ?1"
    " AND NOT EXISTS (SELECT 1 FROM job j WHERE j.id = t.job)"
    " UNION SELECT 'mileage', m.id, 'car', m.car FROM car_owner o JOIN mileage m ON"
    " m.car = o.car WHERE o.customer = ?1"
    " AND NOT EXISTS (SELECT 1 FROM car c WHERE c.id = o.car)"
    " UNION SELECT 'event', e.id, 'car', e.car FROM car_owner o JOIN event e ON e.car = o.car"
    " WHERE o.customer = ?1 AND NOT EXISTS (SELECT 1 FROM car c WHERE c.id = o.car)"
    " ORDER BY 1, 2";

/* What each of those rows leads through. */
static const char ANY_ORPHAN[] =
    "SELECT EXISTS (SELECT 1 FROM job j WHERE j.customer = ?1"
    " AND NOT EXISTS (SELECT 1 FROM car c WHERE c.id = j.car))"
    " OR EXISTS (SELECT 1 FROM car_owner o WHERE o.customer = ?1"
    " AND NOT EXISTS (SELECT 1 FROM car c WHERE c.id = o.car))"
    " OR EXISTS (SELECT 1 FROM due d JOIN treatment t ON t.id = d.treatment"
    " WHERE d.customer = ?1 AND NOT EXISTS (SELECT 1 FROM job j WHERE j.id = t.job))";

static char *line_of(const char *table, int64_t id, const char *parent, int64_t parent_id)
{
    return g_strdup_printf("%s %" G_GINT64_FORMAT ": there is no %s %" G_GINT64_FORMAT
                           ": remove it, or give it the right %s",
                           table, id, parent, parent_id, parent);
}

bool bl_read_orphans(struct bl_reader *reader, GError **error)
{
    bool any = false;
    if (!bl_reader_asks(reader, ANY_ORPHAN, &any, error)) {
        return false;
    }
    if (!any) {
        return true;
    }
    BL_ROWS rows = bl_rows(reader->store, ORPHANS, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        g_ptr_array_add(reader->facts->skipped,
                        line_of(bl_rows_text(&rows, 0), bl_rows_int(&rows, 1),
                                bl_rows_text(&rows, 2), bl_rows_int(&rows, 3)));
    }
    return bl_rows_end(&rows, error);
}

static const char LOST[] = "SELECT \"table\", rowid, parent FROM pragma_foreign_key_check"
                           " ORDER BY 1, 2, 3";

GPtrArray *bl_store_orphans(struct bl_store *store, GError **error)
{
    g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
    BL_ROWS rows = bl_rows(store, LOST, NULL);
    while (bl_rows_next(&rows)) {
        const char *parent = bl_rows_text(&rows, 2);
        g_ptr_array_add(lines, g_strdup_printf("%s %" G_GINT64_FORMAT
                                               ": its %s is not there: remove it, or give it "
                                               "the right %s",
                                               bl_rows_text(&rows, 0), bl_rows_int(&rows, 1),
                                               parent, parent));
    }
    return bl_rows_end(&rows, error) ? g_steal_pointer(&lines) : NULL;
}
