/*
 * Migrations: an append-only array whose length is the version. Each runs in one transaction
 * under BEGIN IMMEDIATE, so a kill in the middle leaves the version before; there is no way
 * down.
 */
#include <glib.h>

#include "schema.h"
#include "sql.h"

#define PARTS 4

struct migration {
    const char *const *parts[PARTS]; /* lists of statements, run in order */
};

static const struct migration migrations[] = {
    {{bl_schema1_people, bl_schema1_ledger, bl_schema1_touch, bl_schema1_rules}},
    {{bl_schema2_mend}},
};

int bl_migrations(void)
{
    return G_N_ELEMENTS(migrations);
}

static bool exec(sqlite3 *db, const char *path, const char *text, GError **error)
{
    return sqlite3_exec(db, text, NULL, NULL, NULL) == SQLITE_OK ||
           bl_sql_fail(db, path, error);
}

static bool user_version(sqlite3 *db, const char *path, int *version, GError **error)
{
    sqlite3_stmt *statement = NULL;
    bool well =
        sqlite3_prepare_v2(db, "PRAGMA user_version", -1, &statement, NULL) == SQLITE_OK &&
        sqlite3_step(statement) == SQLITE_ROW;
    if (well) {
        *version = sqlite3_column_int(statement, 0);
    } else {
        bl_sql_fail(db, path, error);
    }
    sqlite3_finalize(statement);
    return well;
}

static bool run(sqlite3 *db, const char *path, int index, GError **error)
{
    for (guint part = 0; part < PARTS && migrations[index].parts[part]; part++) {
        const char *const *text = migrations[index].parts[part];
        for (; *text; text++) {
            if (!exec(db, path, *text, error)) {
                return false;
            }
        }
    }
    g_autofree char *mark = g_strdup_printf("PRAGMA user_version = %d", index + 1);
    return exec(db, path, mark, error);
}

/* The version is read again under the lock: another program may have come first. */
static bool step(sqlite3 *db, const char *path, int from, GError **error)
{
    int version = 0;
    if (!exec(db, path, "BEGIN IMMEDIATE", error)) {
        return false;
    }
    if (user_version(db, path, &version, error) &&
        (version > from || run(db, path, from, error)) && exec(db, path, "COMMIT", error)) {
        return true;
    }
    sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
    return false;
}

bool bl_migrate(sqlite3 *db, const char *path, int version, GError **error)
{
    int from = 0;
    if (!user_version(db, path, &from, error)) {
        return false;
    }
    for (; from < version; from++) {
        if (!step(db, path, from, error)) {
            return false;
        }
    }
    return true;
}
