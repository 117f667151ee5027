/*
 * How a connection is opened, guarded and set, before the file behind it is believed.
 */
#include "connection.h"

#include <string.h>

#include "sql.h"

bool bl_connection_open(const char *path, sqlite3 **db, GError **error)
{
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOFOLLOW | SQLITE_OPEN_EXRESCODE;
    if (sqlite3_open_v2(path, db, flags, NULL) == SQLITE_OK) {
        return true;
    }
    bl_sql_fail(*db, path, error);
    sqlite3_close(*db);
    *db = NULL;
    return false;
}

/* Far above what our own statements and rows need, far below what could hurt. */
static const struct {
    int id, limit;
} limits[] = {
    {SQLITE_LIMIT_LENGTH, 4 * 1024 * 1024},
    {SQLITE_LIMIT_SQL_LENGTH, 100000},
    {SQLITE_LIMIT_COLUMN, 100},
    {SQLITE_LIMIT_EXPR_DEPTH, 100},
    {SQLITE_LIMIT_COMPOUND_SELECT, 20},
    {SQLITE_LIMIT_FUNCTION_ARG, 20},
    {SQLITE_LIMIT_ATTACHED, 0},
    {SQLITE_LIMIT_LIKE_PATTERN_LENGTH, 1000},
    {SQLITE_LIMIT_VARIABLE_NUMBER, 200},
    {SQLITE_LIMIT_TRIGGER_DEPTH, 10},
    {SQLITE_LIMIT_WORKER_THREADS, 0},
};

static const struct {
    int option, on;
} guards[] = {
    {SQLITE_DBCONFIG_DEFENSIVE, 1},
    {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0},
    {SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0},
    {SQLITE_DBCONFIG_ENABLE_TRIGGER, 1},
    {SQLITE_DBCONFIG_ENABLE_FKEY, 1},
    {SQLITE_DBCONFIG_WRITABLE_SCHEMA, 0},
    {SQLITE_DBCONFIG_DQS_DDL, 0},
    {SQLITE_DBCONFIG_DQS_DML, 0},
};

bool bl_connection_guard(sqlite3 *db, const char *path, GError **error)
{
    for (guint i = 0; i < G_N_ELEMENTS(limits); i++) {
        sqlite3_limit(db, limits[i].id, limits[i].limit);
    }
    for (guint i = 0; i < G_N_ELEMENTS(guards); i++) {
        if (sqlite3_db_config(db, guards[i].option, guards[i].on, NULL) != SQLITE_OK) {
            return bl_sql_fail(db, path, error);
        }
    }
    sqlite3_busy_timeout(db, BL_WAIT_MS);
    return true;
}

bool bl_connection_exec(sqlite3 *db, const char *path, const char *text, GError **error)
{
    return sqlite3_exec(db, text, NULL, NULL, NULL) == SQLITE_OK ||
           bl_sql_fail(db, path, error);
}

bool bl_connection_number(sqlite3 *db, const char *path, const char *text, int64_t *number,
                          GError **error)
{
    sqlite3_stmt *statement = NULL;
    bool well = sqlite3_prepare_v2(db, text, -1, &statement, NULL) == SQLITE_OK &&
                sqlite3_step(statement) == SQLITE_ROW;
    if (well) {
        *number = sqlite3_column_int64(statement, 0);
    } else {
        bl_sql_fail(db, path, error);
    }
    sqlite3_finalize(statement);
    return well;
}

static bool write_ahead(sqlite3 *db, const char *path, GError **error)
{
    sqlite3_stmt *statement = NULL;
    bool well = sqlite3_prepare_v2(db, "PRAGMA journal_mode = WAL", -1, &statement, NULL) ==
                    SQLITE_OK &&
                sqlite3_step(statement) == SQLITE_ROW;
    bool wal = well && strcmp((const char *)sqlite3_column_text(statement, 0), "wal") == 0;
    if (!well) {
        bl_sql_fail(db, path, error);
    } else if (!wal) {
        g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE,
                    "database \"%s\": this disk cannot keep a write-ahead log: move the "
                    "database to a local disk",
                    path);
    }
    sqlite3_finalize(statement);
    return wal;
}

/* FULL: with NORMAL a power cut can take back the mark that a message was sent, and it would be
 * sent again. recursive_triggers stays off, as it is for every other client. */
static const char *const settings[] = {
    "PRAGMA synchronous = FULL",  "PRAGMA foreign_keys = ON",
    "PRAGMA temp_store = MEMORY", "PRAGMA cell_size_check = ON",
    "PRAGMA secure_delete = ON",  "PRAGMA recursive_triggers = OFF",
    "PRAGMA mmap_size = 0",       "PRAGMA journal_size_limit = 4194304",
    "PRAGMA cache_size = -8192",
};

bool bl_connection_set(sqlite3 *db, const char *path, GError **error)
{
    if (!write_ahead(db, path, error)) {
        return false;
    }
    for (guint i = 0; i < G_N_ELEMENTS(settings); i++) {
        if (!bl_connection_exec(db, path, settings[i], error)) {
            return false;
        }
    }
    return true;
}
