/* A file for the owner's eyes only: mode 0600, there whole or not at all. */
#ifndef BEADLINE_CLI_PRIVATE_FILE_H
#define BEADLINE_CLI_PRIVATE_FILE_H

#include <glib.h>
#include <stdbool.h>

/* Whether private_file_write would find a place: a folder that can be written, and nothing of
 * that name, or with `over` at most a plain file. For asking before long work. */
bool private_file_free(const char *path, bool over, GError **error);

/* Writes the text. What stands there already is replaced only with `over`, and only a plain
 * file. */
bool private_file_write(const char *path, const char *text, bool over, GError **error);

#endif
