/* Lines of plain text as a reader sees them. Inside this room only. */
#ifndef BEADLINE_COMPOSE_WRAP_H
#define BEADLINE_COMPOSE_WRAP_H

/* The text with lines of at most `columns` on a terminal, broken at spaces (or inside a word
 * that is longer than a line), what follows a "- " or "[ ] " indented under it; blanks at line
 * ends and more than one empty line on end are gone; it ends with one line feed, or is empty.
 * Caller frees. */
char *bl_wrap_lines(const char *text, int columns);

/* The text of an SMS: all blanks and line ends are one space; a line of two dashes alone is a
 * line break, once, and none at the ends. Caller frees. */
char *bl_wrap_none(const char *text);

#endif
