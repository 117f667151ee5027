/* How the rehearsal's page looks: one style sheet, for light and dark, narrow and wide, paper.
 */
#ifndef BEADLINE_CLI_REHEARSE_STYLE_H
#define BEADLINE_CLI_REHEARSE_STYLE_H

/* The rules, NULL-terminated. */
extern const char *const page_style[];

#endif
