/*
 * Tables for people: columns aligned by display width. On a terminal the widest columns give
 * way until the line fits (cut with an ellipsis) and the head is bold unless NO_COLOR is set;
 * into a pipe nothing is cut and nothing is coloured.
 */
#ifndef BEADLINE_CLI_TABLE_H
#define BEADLINE_CLI_TABLE_H

#include <stdbool.h>

#include "beadline/cleanup.h"

struct table;

/* Titles, NULL-terminated; a title that starts with '>' is a column of numbers (right-aligned).
 */
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
