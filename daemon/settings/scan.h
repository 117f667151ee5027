/* Joining a file's text to the whole, and its includes in their places. */
#ifndef BEADLINE_SETTINGS_SCAN_H
#define BEADLINE_SETTINGS_SCAN_H

#include <glib.h>
#include <stdbool.h>

#include "source.h"

/* text is checked, NUL-terminated and has LF line ends; file is owned by source. */
bool scan_file(struct source *source, const char *file, const char *text, gsize length);

#endif
