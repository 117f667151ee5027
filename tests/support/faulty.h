/* For tests of what an owner writes: a folder for files that are tried, and the lines that were
 * said about them. */
#ifndef BEADLINE_TESTS_FAULTY_H
#define BEADLINE_TESTS_FAULTY_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/error.h"

/* A folder of its own for a test: *state while it runs. */
struct folder {
    char *path;
};

int make_folder(void **state);
int drop_folder(void **state);

/* Writes name (with its folders) below the folder, mode 0600; length -1: a text. Returns the
 * file's path; caller frees. */
char *put(const struct folder *folder, const char *name, const char *text, gssize length);

/* All faults, a line each. Caller frees. */
char *all_lines(const struct bl_faults *faults);

/* Whether a fault begins with part. */
bool has_line(const struct bl_faults *faults, const char *part);

/* A seed for random trials, printed; BEADLINE_SEED repeats a run. */
guint32 seed_of(void);

#endif
