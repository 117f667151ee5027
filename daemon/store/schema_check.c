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

static void finding(GPtrArray *findings, const char *type, const char *name, const char *what)
{
    g_autofree char *printable = bl_text_printable(name);
    g_ptr_array_add(findings, g_strdup_printf("%s \"%s\" %s", type, printable, what));
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

static void find_strangers(GHashTable *theirs, GHashTable *ours, GPtrArray *findings)
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
            finding(findings, type, name,
                    "is not Beadline's and could act on its data: drop it, or restore a "
                    "backup");
        }
        if (own && !same(own, seen)) {
            finding(findings, type, name, "is not as Beadline made it: restore a backup");
        }
    }
}

static void find_missing(GHashTable *theirs, GHashTable *ours, GPtrArray *findings)
{
    GHashTableIter iter;
    gpointer name;
    gpointer object;
    g_hash_table_iter_init(&iter, ours);
    while (g_hash_table_iter_next(&iter, &name, &object)) {
        if (!g_hash_table_contains(theirs, name)) {
            finding(findings, ((struct object *)object)->type, name,
                    "is missing: restore a backup");
        }
    }
}

static gint by_text(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

GPtrArray *bl_schema_findings(sqlite3 *db, const char *path, int version, GError **error)
{
    g_autoptr(GHashTable) theirs = objects(db, path, error);
    g_autoptr(GHashTable) ours = theirs ? expected(version, error) : NULL;
    if (!ours) {
        return NULL;
    }
    GPtrArray *findings = g_ptr_array_new_with_free_func(g_free);
    find_strangers(theirs, ours, findings);
    find_missing(theirs, ours, findings);
    g_ptr_array_sort(findings, by_text);
    return findings;
}

bool bl_schema_check(sqlite3 *db, const char *path, int version, GError **error)
{
    g_autoptr(GPtrArray) findings = bl_schema_findings(db, path, version, error);
    if (!findings || findings->len == 0) {
        return findings != NULL;
    }
    g_autofree char *more =
        findings->len > 1 ? g_strdup_printf(" (and %u more)", findings->len - 1) : NULL;
    g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED, "database \"%s\": %s%s", path,
                (const char *)g_ptr_array_index(findings, 0), more ? more : "");
    return false;
}
