/*
 * Opening and making the database file: what it must be before anything in it is believed, and
 * how the connection is set so that nothing in it can surprise us.
 */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "connection.h"
#include "sql.h"

static bool damaged(GError **error, const char *path, const char *what)
{
    g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED, "database \"%s\": %s", path, what);
    return false;
}

static bool outside(GError **error, const char *path)
{
    g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "\"%s\": %s", path, g_strerror(errno));
    return false;
}

/* The folder's real path and the file's own name: the folder may be reached through symbolic
 * links, the file may not be one. */
static char *resolve(const char *path, GError **error)
{
    g_autofree char *folder = g_path_get_dirname(path);
    g_autofree char *name = g_path_get_basename(path);
    char *real = realpath(folder, NULL);
    if (!real) {
        g_set_error(error, BL_ERROR, errno == ENOENT ? BL_ERROR_MISSING : BL_ERROR_OUTSIDE,
                    "folder \"%s\": %s", folder, g_strerror(errno));
        return NULL;
    }
    char *whole = g_build_filename(real, name, NULL);
    free(real);
    return whole;
}

static bool look_at(const char *path, GError **error)
{
    struct stat seen;
    if (lstat(path, &seen) != 0) {
        if (errno != ENOENT) {
            return outside(error, path);
        }
        g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                    "there is no database \"%s\": make one with init, or correct the path in "
                    "the settings",
                    path);
        return false;
    }
    if (S_ISLNK(seen.st_mode)) {
        return damaged(error, path, "is a symbolic link: name the file itself");
    }
    if (!S_ISREG(seen.st_mode)) {
        return damaged(error, path, "is not a file: correct the path in the settings");
    }
    if (seen.st_size == 0) {
        return damaged(error, path,
                       "is empty: restore a backup, or remove it and make a new one");
    }
    return true;
}

static bool identify(sqlite3 *db, const char *path, int *version, GError **error)
{
    int64_t id = 0;
    int64_t stored = 0;
    if (!bl_connection_number(db, path, "PRAGMA application_id", &id, error) ||
        !bl_connection_number(db, path, "PRAGMA user_version", &stored, error)) {
        return false;
    }
    if (id != BL_APPLICATION_ID) {
        return damaged(error, path,
                       "belongs to another program: correct the path in the settings");
    }
    if (stored > bl_migrations()) {
        g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED,
                    "database \"%s\": has version %" G_GINT64_FORMAT
                    ", and this program knows %d: install the newer program again",
                    path, stored, bl_migrations());
        return false;
    }
    if (stored < 1) {
        return damaged(error, path, "was never finished: restore a backup, or make a new one");
    }
    *version = (int)stored;
    return true;
}

/* Until the file is known to be ours nothing is written to it, not even by closing it. */
static bool approach(sqlite3 *db, const char *path, int *version, GError **error)
{
    sqlite3_db_config(db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    return bl_connection_guard(db, path, error) && identify(db, path, version, error);
}

static bool prepare(sqlite3 *db, const char *path, GError **error)
{
    int version = 0;
    if (!approach(db, path, &version, error) || !bl_schema_check(db, path, version, error)) {
        return false;
    }
    sqlite3_db_config(db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, NULL);
    if (sqlite3_db_readonly(db, "main") == 1) {
        g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE,
                    "database \"%s\" cannot be written: see to its owner and rights", path);
        return false;
    }
    if (!bl_connection_set(db, path, error)) {
        return false;
    }
    return version == bl_migrations() || (bl_migrate(db, path, bl_migrations(), error) &&
                                          bl_schema_check(db, path, bl_migrations(), error));
}

static void finalize(gpointer statement)
{
    sqlite3_finalize(statement);
}

/* Takes over db and path. */
static struct bl_store *store_new(sqlite3 *db, char *path)
{
    struct bl_store *store = g_new0(struct bl_store, 1);
    store->db = db;
    store->path = path;
    store->statements = g_hash_table_new_full(NULL, NULL, NULL, finalize);
    store->lock = -1;
    return store;
}

struct bl_store *bl_store_open(const char *path, GError **error)
{
    g_autofree char *real = resolve(path, error);
    if (!real || !look_at(real, error)) {
        return NULL;
    }
    sqlite3 *db = NULL;
    if (!bl_connection_open(real, &db, error)) {
        return NULL;
    }
    if (!prepare(db, real, error)) {
        sqlite3_close(db);
        return NULL;
    }
    return store_new(db, g_steal_pointer(&real));
}

GPtrArray *bl_store_strangers(const char *path, GError **error)
{
    g_autofree char *real = resolve(path, error);
    sqlite3 *db = NULL;
    int version = 0;
    if (!real || !look_at(real, error) || !bl_connection_open(real, &db, error)) {
        return NULL;
    }
    GPtrArray *findings = approach(db, real, &version, error)
                              ? bl_schema_findings(db, real, version, error)
                              : NULL;
    sqlite3_close(db);
    return findings;
}

void bl_store_close(struct bl_store *store)
{
    if (!store) {
        return;
    }
    bl_store_rollback(store);
    g_hash_table_destroy(store->statements);
    sqlite3_close(store->db);
    if (store->lock >= 0) {
        close(store->lock);
    }
    g_free(store->path);
    g_free(store);
}

static bool refuse_existing(const char *path, GError **error)
{
    static const char *const suffixes[] = {"", "-wal", "-journal", "-shm"};
    for (guint i = 0; i < G_N_ELEMENTS(suffixes); i++) {
        g_autofree char *name = g_strconcat(path, suffixes[i], NULL);
        struct stat seen;
        if (lstat(name, &seen) == 0) {
            g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                        "there is a file \"%s\" already: move it away first", name);
            return false;
        }
    }
    return true;
}

static bool fill(const char *path, GError **error)
{
    sqlite3 *db = NULL;
    if (!bl_connection_open(path, &db, error)) {
        return false;
    }
    g_autofree char *mark = g_strdup_printf("PRAGMA application_id = %d", BL_APPLICATION_ID);
    bool well =
        bl_connection_guard(db, path, error) && bl_connection_exec(db, path, mark, error) &&
        bl_connection_set(db, path, error) && bl_migrate(db, path, bl_migrations(), error);
    return sqlite3_close(db) == SQLITE_OK && well;
}

/* Gives the finished file its name, unless something has that name by now. */
static bool name_it(const char *made, const char *path, GError **error)
{
    bool taken = renameat2(AT_FDCWD, made, AT_FDCWD, path, RENAME_NOREPLACE) == 0;
    if (!taken && (errno == EINVAL || errno == ENOSYS)) {
        taken = link(made, path) == 0 && unlink(made) == 0;
    }
    if (!taken && errno == EEXIST) {
        return refuse_existing(path, error);
    }
    if (!taken) {
        return outside(error, path);
    }
    g_autofree char *folder = g_path_get_dirname(path);
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool synced = fd >= 0 && fsync(fd) == 0;
    if (!synced) {
        outside(error, folder);
    }
    if (fd >= 0) {
        close(fd);
    }
    return synced;
}

/* Made whole under another name first: a kill in the middle leaves no half database. */
struct bl_store *bl_store_create(const char *path, GError **error)
{
    g_autofree char *real = resolve(path, error);
    if (!real || !refuse_existing(real, error)) {
        return NULL;
    }
    g_autofree char *making = g_strconcat(real, ".making-XXXXXX", NULL);
    int fd = g_mkstemp_full(making, O_RDWR | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (fd < 0) {
        outside(error, real);
        return NULL;
    }
    close(fd);
    if (!fill(making, error) || !name_it(making, real, error)) {
        unlink(making);
        return NULL;
    }
    return bl_store_open(real, error);
}
