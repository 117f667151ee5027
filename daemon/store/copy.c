/*
 * A copy to play with: the whole database by SQLite's online backup, which takes what is
 * committed at one moment while others go on reading and writing.
 *
 * The copy lies in a folder of its own that nobody else may enter, and has lost its name before
 * anything is done with it: when its connection is closed, or the process ends in whatever way,
 * the file system gives its space back and nothing is left lying about.
 */
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <unistd.h>

#include "beadline/signals.h"
#include "connection.h"
#include "sql.h"

static bool outside(GError **error, const char *path)
{
    g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "\"%s\": %s", path, g_strerror(errno));
    return false;
}

/* Mode 0700 by mkdtemp; without symbolic links on the way, which a connection does not follow.
 */
static char *make_folder(GError **error)
{
    g_autofree char *folder = g_build_filename(g_get_tmp_dir(), "beadline-XXXXXX", NULL);
    if (!g_mkdtemp(folder)) {
        outside(error, folder);
        return NULL;
    }
    char *real = realpath(folder, NULL);
    if (!real) {
        outside(error, folder);
        rmdir(folder);
        return NULL;
    }
    char *owned = g_strdup(real);
    free(real);
    return owned;
}

static void take_names_away(const char *folder, const char *path)
{
    static const char *const suffixes[] = {"", "-wal", "-shm", "-journal"};
    for (guint i = 0; i < G_N_ELEMENTS(suffixes); i++) {
        g_autofree char *name = g_strconcat(path, suffixes[i], NULL);
        unlink(name);
    }
    rmdir(folder);
}

static bool make_file(const char *path, GError **error)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (fd < 0) {
        return outside(error, path);
    }
    close(fd);
    return true;
}

static bool back_up(struct bl_store *store, sqlite3 *into, const char *path, GError **error)
{
    sqlite3_backup *backup = sqlite3_backup_init(into, "main", store->db, "main");
    if (!backup) {
        return bl_sql_fail(into, path, error);
    }
    sqlite3_backup_step(backup, -1);
    return sqlite3_backup_finish(backup) == SQLITE_OK || bl_sql_fail(into, path, error);
}

static bool fill(struct bl_store *store, const char *path, GError **error)
{
    sqlite3 *db = NULL;
    if (!make_file(path, error) || !bl_connection_open(path, &db, error)) {
        return false;
    }
    bool well = back_up(store, db, path, error);
    return sqlite3_close(db) == SQLITE_OK && well;
}

/* What is written to a copy need not survive anything. In this order: the log ahead goes, and
 * with it the files beside the database; then nobody but us is to lock it. */
static const char *const settings[] = {
    "PRAGMA journal_mode = MEMORY", "PRAGMA locking_mode = EXCLUSIVE",
    "PRAGMA synchronous = OFF",     "PRAGMA secure_delete = OFF",
    "PRAGMA cache_size = -65536",
};

static struct bl_store *open_copy(const char *path, GError **error)
{
    struct bl_store *copy = bl_store_open(path, error);
    for (guint i = 0; copy && i < G_N_ELEMENTS(settings); i++) {
        if (!bl_connection_exec(copy->db, copy->path, settings[i], error)) {
            g_clear_pointer(&copy, bl_store_close);
        }
    }
    return copy;
}

static struct bl_store *make_copy(struct bl_store *store, GError **error)
{
    g_autofree char *folder = make_folder(error);
    if (!folder) {
        return NULL;
    }
    g_autofree char *path = g_build_filename(folder, "copy.db", NULL);
    struct bl_store *copy = fill(store, path, error) ? open_copy(path, error) : NULL;
    take_names_away(folder, path);
    return copy;
}

/* A signal that comes while the copy has a name waits until it has lost it. */
struct bl_store *bl_store_copy(struct bl_store *store, GError **error)
{
    g_assert(!store->within);
    sigset_t before;
    bl_signals_hold(&before);
    struct bl_store *copy = make_copy(store, error);
    bl_signals_release(&before);
    return copy;
}
