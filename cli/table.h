/*
 * Tables for people: columns aligned by display width, a column without any text left out. On a
 * terminal columns give way from the left until the line fits (cut with an ellipsis), what
 * still finds no room goes on lines of its own below its row, and the head is bold unless
 * NO_COLOR is set; into a pipe nothing is cut, moved or coloured.
 */
#ifndef BEADLINE_CLI_TABLE_H
#define BEADLINE_CLI_TABLE_H

#include <stdbool.h>

#include "beadline/cleanup.h"

struct table;

/* Titles, NULL-terminated. A mark in front says how a column behaves where room is short:
 *   '>'  a number: right-aligned, never cut
 *   '='  a date, a plate, an id: never cut
 *   '~'  the last column, a state with its reason: what does not fit stands below its row
 *   '_'  the last column, what always stands on lines of its own below its row
 * A telephone number is never cut either, whatever its column: half of one is another one. */
struct table *table_new(const char *const *titles);
void table_free(struct table *table);
BL_DEFINE_AUTO(table);

/* One row: as many texts as titles; NULL is an empty cell. Control characters are made visible.
 */
void table_row(struct table *table, const char *const *cells);

bool table_empty(const struct table *table);

/* Prints to standard output, indented by `indent` columns. */
void table_print(const struct table *table, int indent);

/* A heading line, bold on a terminal. */
void table_heading(const char *text);

#endif
