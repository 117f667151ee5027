/*
 * Facts as text, so two readings of them can be compared and a difference read; and the plain
 * database such tests start from.
 */
#ifndef BEADLINE_TEST_FACTS_TEXT_H
#define BEADLINE_TEST_FACTS_TEXT_H

#include "books.h"

/* Every field of the facts, one thing a line. Caller frees. */
char *facts_text(const struct bl_facts *facts);

/* A book that knows the rule versions 1 to 9 and no others. */
extern const struct bl_rule_book facts_book;

/* Reads the facts of a customer, which must succeed; the caller clears them. */
void facts_read(struct books *books, int64_t customer, struct bl_facts *facts);

/* The statements that make the plain database, NULL-terminated. They may be run in any order on
 * a connection without foreign keys; ids and instants do not run the same way. Ada (1) has two
 * cars: car 1 with three readings (4, 1, 2), a wash (job 3), a job for its former owner Bo (1,
 * with treatments 1 and 2), one for herself (2, with treatment 3) and two events (2 on the
 * wheels, 1 on treatment 1); car 2 with one reading (3). */
extern const char *const facts_plain[];

#endif
