/* Values of mail headers that carry text of people. Inside this room only. */
#ifndef BEADLINE_COMPOSE_HEADER_H
#define BEADLINE_COMPOSE_HEADER_H

/* The text on one line: controls, line and paragraph separators and runs of blanks become one
 * space, invalid bytes U+FFFD; no blanks at the ends. Caller frees. */
char *bl_header_line(const char *text);

/* The value of an unstructured header (RFC 2047 section 5 (1)), folded by CRLF and a space so
 * that no line is over 76 octets; name is the header's, which the first line begins with.
 * Caller frees. */
char *bl_header_text(const char *name, const char *text);

/* A mailbox: display name as a phrase (RFC 5322 section 3.2.5, RFC 2047 section 5 (3)) and
 * <address>, folded likewise. address has passed bl_mail_check. Caller frees. */
char *bl_header_mailbox(const char *name, const char *display, const char *address);

#endif
