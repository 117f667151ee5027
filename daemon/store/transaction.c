/*
 * Transactions, the daemon's lock, and what `check` looks at.
 */
#include <errno.h>
#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include "beadline/text.h"
#include "connection.h"
#include "sql.h"

bool bl_store_begin(struct bl_store *store, int wait_ms, GError **error)
{
    g_assert(!store->within);
    sqlite3_busy_timeout(store->db, wait_ms);
    bool well = bl_connection_exec(store->db, store->path, "BEGIN IMMEDIATE", error);
    sqlite3_busy_timeout(store->db, BL_WAIT_MS);
    store->within = well;
    return well;
}

bool bl_store_commit(struct bl_store *store, GError **error)
{
    g_assert(store->within);
    if (!bl_connection_exec(store->db, store->path, "COMMIT", error)) {
        bl_store_rollback(store);
        return false;
    }
    store->within = false;
    return true;
}

/* A failure of the disk ends the transaction by itself; then there is nothing to roll back. */
void bl_store_rollback(struct bl_store *store)
{
    if (!sqlite3_get_autocommit(store->db)) {
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
    }
    store->within = false;
}

bool bl_store_within(const struct bl_store *store)
{
    return store->within;
}

bool bl_store_version(struct bl_store *store, int64_t *version, GError **error)
{
    return bl_sql_number(store, "PRAGMA data_version", NULL, 0, version, error);
}

/* Not O_EXCL and never removed: the file is nothing, the lock on it is everything, and that the
 * kernel lets go when the process ends, however it ends. */
bool bl_store_lock(struct bl_store *store, GError **error)
{
    g_assert(store->lock < 0);
    g_autofree char *path = g_strconcat(store->path, ".lock", NULL);
    int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NOCTTY, 0600);
    if (fd < 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "lock file \"%s\": %s", path,
                    g_strerror(errno));
        return false;
    }
    if (flock(fd, LOCK_EX | LOCK_NB) == 0) {
        store->lock = fd;
        return true;
    }
    bool held = errno == EWOULDBLOCK;
    g_set_error(error, BL_ERROR, held ? BL_ERROR_BUSY : BL_ERROR_OUTSIDE,
                held ? "another daemon looks after database \"%s\": stop that one first"
                     : "database \"%s\": its lock file cannot be locked",
                store->path);
    close(fd);
    return false;
}

static bool intact(struct bl_store *store, GError **error)
{
    BL_ROWS rows = bl_rows(store, "PRAGMA integrity_check(1)", NULL);
    if (bl_rows_next(&rows) && g_strcmp0(bl_rows_text(&rows, 0), "ok") != 0) {
        g_autofree char *said = bl_text_printable(bl_rows_text(&rows, 0));
        g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED,
                    "database \"%s\": %s: keep this file and restore a backup", store->path,
                    said);
        return false;
    }
    return bl_rows_end(&rows, error);
}

static bool resolved(struct bl_store *store, GError **error)
{
    BL_ROWS rows = bl_rows(store, "PRAGMA foreign_key_check", NULL);
    if (bl_rows_next(&rows)) {
        g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED,
                    "database \"%s\": %s %" G_GINT64_FORMAT
                    " names a %s that is not there: put that back, or remove the row",
                    store->path, bl_rows_text(&rows, 0), bl_rows_int(&rows, 1),
                    bl_rows_text(&rows, 2));
        return false;
    }
    return bl_rows_end(&rows, error);
}

bool bl_store_check(struct bl_store *store, GError **error)
{
    return intact(store, error) && resolved(store, error) &&
           bl_schema_check(store->db, store->path, bl_migrations(), error);
}
