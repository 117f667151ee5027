/*
 * Watching the database for other writers. The folder is watched, not the file: commits land in
 * the
 * "-wal" beside it, which itself comes and goes.
 */
#ifndef BEADLINE_WATCH_H
#define BEADLINE_WATCH_H

#include <glib.h>
#include <stdbool.h>

struct watch {
    int fd;
    char *name; /* of the database in its folder */
    char *wal;
};

/* Error: BL_ERROR_OUTSIDE. */
bool watch_open(struct watch *watch, const char *database, GError **error);
void watch_close(struct watch *watch);

/* Empties the queue; whether one of the names was in it, or events were lost. */
bool watch_read(struct watch *watch);

#endif
