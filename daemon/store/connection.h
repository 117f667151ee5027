/*
 * One SQLite connection before it is a store: opened without following links, guarded against
 * what a file may hold, set for durability.
 */
#ifndef BEADLINE_STORE_CONNECTION_H
#define BEADLINE_STORE_CONNECTION_H

#include <glib.h>
#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#define BL_WAIT_MS 5000 /* for another program, where the caller names no time of his own */

/* The caller closes db, also after a failure when it is not NULL. */
bool bl_connection_open(const char *path, sqlite3 **db, GError **error);

/* Defensive, no trusted schema, no extensions, low limits. Reads nothing of the file. */
bool bl_connection_guard(sqlite3 *db, const char *path, GError **error);

/* WAL, synchronous=FULL, foreign keys, secure_delete, ...; may write to the file. */
bool bl_connection_set(sqlite3 *db, const char *path, GError **error);

bool bl_connection_exec(sqlite3 *db, const char *path, const char *text, GError **error);

/* The first column of the first row. */
bool bl_connection_number(sqlite3 *db, const char *path, const char *text, int64_t *number,
                          GError **error);

#endif
