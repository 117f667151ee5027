/*
 * Small facts the daemon keeps between runs, and the clock's mark.
 */
#include "sql.h"

static const char KEPT[] = "SELECT value FROM kept WHERE name = ?1";
static const char KEEP[] =
    "INSERT INTO kept (name, value) VALUES (?1, ?2) ON CONFLICT (name)"
    " DO UPDATE SET value = excluded.value WHERE value <> excluded.value";

bool bl_store_kept(struct bl_store *store, const char *name, char **value, GError **error)
{
    BL_ROWS rows = bl_rows(store, KEPT, BL_VALUES(bl_text(name)));
    *value = bl_rows_next(&rows) ? bl_rows_dup(&rows, 0) : NULL;
    return bl_rows_end(&rows, error);
}

bool bl_store_keep(struct bl_store *store, const char *name, const char *value, GError **error)
{
    return bl_sql_run(store, KEEP, BL_VALUES(bl_text(name), bl_text(value)), error);
}

static const char MARK[] = "SELECT at FROM clock_mark WHERE id = 1";
static const char SET_MARK[] =
    "INSERT INTO clock_mark (id, at, boottime_ms) VALUES (1, ?1, ?2)"
    " ON CONFLICT (id) DO UPDATE SET at = excluded.at, boottime_ms = excluded.boottime_ms";

bool bl_store_mark(struct bl_store *store, int64_t *at, GError **error)
{
    return bl_sql_number(store, MARK, NULL, 0, at, error);
}

bool bl_store_set_mark(struct bl_store *store, int64_t at, int64_t boottime_ms, GError **error)
{
    return bl_sql_run(store, SET_MARK, BL_VALUES(bl_int(at), bl_int(boottime_ms)), error);
}
