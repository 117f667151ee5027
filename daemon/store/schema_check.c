/*
 * The schema of a file against the one our migrations make: a trigger or view that is not ours
 * runs inside our own writes, so it is refused before there are any. Tables of other programs
 * beside ours are none of our business; an index on one of ours is.
 */
#include <string.h>

#include "beadline/text.h"
#include "connection.h"
#include "sql.h"

static const char OBJECTS[] = "SELECT type, name, tbl_name, sql FROM sqlite_schema"
                              " WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'";

struct object {
    char *type, *table, *sql;
};

static void object_free(gpointer data)
{
    struct object *object = data;
    g_free(object->type);
    g_free(object->table);
    g_free(object->sql);
    g_free(object);
}

static char *column(sqlite3_stmt *statement, int place)
{
    return g_strdup((const char *)sqlite3_column_text(statement, place));
}

/* name -> struct object; NULL and error. */
static GHashTable *objects(sqlite3 *db, const char *path, GError **error)
{
    GHashTable *found = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, object_free);
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(db, OBJECTS, -1, &statement, NULL);
    if (result == SQLITE_OK) {
        while ((result = sqlite3_step(statement)) == SQLITE_ROW) {
            struct object *object = g_new0(struct object, 1);
            object->type = column(statement, 0);
            object->table = column(statement, 2);
            object->sql = column(statement, 3);
            char *name = column(statement, 1);
            g_hash_table_insert(found, name ? name : g_strdup(""), object);
        }
    }
    if (result != SQLITE_DONE) {
        bl_sql_fail(db, path, error);
        g_clear_pointer(&found, g_hash_table_destroy);
    }
    sqlite3_finalize(statement);
    return found;
}

/* What the migrations make, in memory. */
static GHashTable *expected(int version, GError **error)
{
    static const char name[] = ":memory:";
    sqlite3 *db = NULL;
    GHashTable *found = NULL;
    if (sqlite3_open_v2(name, &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_MEMORY, NULL) !=
        SQLITE_OK) {
        bl_sql_fail(db, name, error);
    } else if (bl_migrate(db, name, version, error)) {
        found = objects(db, name, error);
    }
    sqlite3_close(db);
    return found;
}

static bool finding(GError **error, const char *path, const char *type, const char *name,
                    const char *what)
{
    g_autofree char *printable = bl_text_printable(name);
    g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED, "database \"%s\": %s \"%s\" %s", path, type,
                printable, what);
    return false;
}

/* An object of the file that our schema does not have. */
static bool stranger_allowed(const struct object *object, GHashTable *ours)
{
    if (g_strcmp0(object->type, "table") == 0) {
        return true;
    }
    return g_strcmp0(object->type, "index") == 0 &&
           !(object->table && g_hash_table_contains(ours, object->table));
}

static bool same(const struct object *a, const struct object *b)
{
    return g_strcmp0(a->type, b->type) == 0 && g_strcmp0(a->table, b->table) == 0 &&
           g_strcmp0(a->sql, b->sql) == 0;
}

static bool no_strangers(GHashTable *theirs, GHashTable *ours, const char *path, GError **error)
{
    GHashTableIter iter;
    gpointer name;
    gpointer object;
    g_hash_table_iter_init(&iter, theirs);
    while (g_hash_table_iter_next(&iter, &name, &object)) {
        const struct object *own = g_hash_table_lookup(ours, name);
        const struct object *seen = object;
        const char *type = seen->type ? seen->type : "object";
        if (!own && !stranger_allowed(seen, ours)) {
            return finding(error, path, type, name,
                           "is not Beadline's and could act on its data: drop it, or restore a "
                           "backup");
        }
        if (own && !same(own, seen)) {
            return finding(error, path, type, name,
                           "is not as Beadline made it: restore a backup");
        }
    }
    return true;
}

static bool none_missing(GHashTable *theirs, GHashTable *ours, const char *path, GError **error)
{
    GHashTableIter iter;
    gpointer name;
    gpointer object;
    g_hash_table_iter_init(&iter, ours);
    while (g_hash_table_iter_next(&iter, &name, &object)) {
        if (!g_hash_table_contains(theirs, name)) {
            return finding(error, path, ((struct object *)object)->type, name,
                           "is missing: restore a backup");
        }
    }
    return true;
}

bool bl_schema_check(sqlite3 *db, const char *path, int version, GError **error)
{
    g_autoptr(GHashTable) theirs = objects(db, path, error);
    g_autoptr(GHashTable) ours = theirs ? expected(version, error) : NULL;
    return ours && no_strangers(theirs, ours, path, error) &&
           none_missing(theirs, ours, path, error);
}
