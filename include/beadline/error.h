/*
 * Errors and faults.
 *
 * One idiom for failure everywhere: `bool f(..., GError **error)`. The error's text is one line
 * for the owner: it starts in lower case, names the thing in quotes and says the remedy. A file
 * that is read whole (settings, catalogue, template) collects every fault instead of stopping
 * at the first.
 */
#ifndef BEADLINE_ERROR_H
#define BEADLINE_ERROR_H

#include <glib.h>

#include "beadline/cleanup.h"

#define BL_ERROR (bl_error_quark())

enum bl_error_code {
    BL_ERROR_INPUT,   /* what was typed or written is wrong; the text says what to do */
    BL_ERROR_REFUSED, /* understood, and not done: it would break a rule */
    BL_ERROR_MISSING, /* the thing named is not there */
    BL_ERROR_BUSY,    /* somebody else holds the database; try again */
    BL_ERROR_DAMAGED, /* a file is not what it must be; nothing was changed */
    BL_ERROR_OUTSIDE, /* disk, network or system said no */
};

GQuark bl_error_quark(void);

/* The faults of a reading, in the order found. Each is one line "file:line: text". */
struct bl_faults;

struct bl_faults *bl_faults_new(void);
void bl_faults_free(struct bl_faults *faults);
BL_DEFINE_AUTO(bl_faults);

/* Adds one fault. file may be NULL (no place); line 0 leaves the line out. Control characters
 * in the text are escaped. */
void bl_faults_add(struct bl_faults *faults, const char *file, int line, const char *format,
                   ...) G_GNUC_PRINTF(4, 5);

/* The number of faults so far. */
guint bl_faults_count(const struct bl_faults *faults);

/* Fault i as its whole line, owned by faults. */
const char *bl_faults_line(const struct bl_faults *faults, guint i);

#endif
