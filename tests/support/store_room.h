/*
 * A store in a folder of its own, with a second connection beside it: the program of somebody
 * else, which sets nothing the way ours does.
 */
#ifndef BEADLINE_TESTS_STORE_ROOM_H
#define BEADLINE_TESTS_STORE_ROOM_H

#include <glib.h>
#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/store.h"

struct store_room {
    char *folder, *path;
    struct bl_store *store;
    sqlite3 *other; /* foreign keys off, as sqlite3 opens */
};

/* With a fresh database, or (without) only the folder and the path. */
struct store_room *store_room_new(void);
struct store_room *store_room_empty(void);
/* Closes everything and removes the folder. */
void store_room_free(struct store_room *room);

/* The other program runs a statement; it must succeed. */
void store_room_exec(struct store_room *room, const char *format, ...) G_GNUC_PRINTF(2, 3);
/* It tries one: the text of its failure (caller frees), or NULL when it was done. */
char *store_room_try(struct store_room *room, const char *format, ...) G_GNUC_PRINTF(2, 3);
/* The first column of the first row it reads; -1 when there is none or it is NULL. */
int64_t store_room_number(struct store_room *room, const char *format, ...) G_GNUC_PRINTF(2, 3);
/* The same as text, NULL for none. Caller frees. */
char *store_room_text(struct store_room *room, const char *format, ...) G_GNUC_PRINTF(2, 3);

/* Customers 1 and 2 with cars 1 and 2, jobs 1 and 2, rule 1 and treatments 1 and 2, nobody
 * touched. */
void store_room_people(struct store_room *room);

/* Our own side; each asserts success. */
void store_room_begin(struct store_room *room);
void store_room_commit(struct store_room *room);
/* The customers waiting to be planned, "1 2", taken out. Caller frees. */
char *store_room_drain(struct store_room *room, int64_t now);

#endif
