/* The text of an owner's file with everything it includes, and where each line came from. */
#ifndef BEADLINE_SETTINGS_SOURCE_H
#define BEADLINE_SETTINGS_SOURCE_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/cleanup.h"
#include "beadline/error.h"
#include "grammar.h"

struct source_place {
    const char *file; /* owned by the source */
    int line;
    gsize start; /* where the line begins in the text */
};

struct source {
    GString *text;
    GArray *places;         /* struct source_place of each line of text */
    GPtrArray *files;       /* char *: every file read */
    gsize taken;            /* bytes read, over all files */
    guint depth;            /* of files inside files just now */
    bool alone;             /* a text of no file: it may include nothing */
    struct grammar grammar; /* over all files: an included one goes on where it stands */
    struct bl_faults *faults;
};

void source_init(struct source *source, struct bl_faults *faults);
void source_clear(struct source *source);

/* Reads file, or takes the text of it (file NULL: of no file), with its includes. false: a
 * fault was added. */
bool source_read(struct source *source, const char *file);
bool source_take(struct source *source, const char *text, gsize length, const char *file);

/* Where line `line` of the text (from 1) was written. A line that only closes a bracket stands
 * for the one before it, since that is where the parser had read the last value. */
struct source_place source_place(const struct source *source, guint line);

#endif
