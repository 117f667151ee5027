/* What a rehearsal found, for a terminal and for programs. */
#ifndef BEADLINE_CLI_REHEARSE_LIST_H
#define BEADLINE_CLI_REHEARSE_LIST_H

#include "rehearse_ends.h"

/* Prints messages and ends (dues: struct bl_due_row). context says how: its now is when the
 * rehearsal began. */
void rehearse_list(const struct context *context, const struct rehearsal *rehearsal,
                   const struct rehearse_names *names, const GArray *dues);

/* "Fri 5 Jun", "4 times, Fri 5 Jun to Wed 2 Dec". Caller frees. */
char *rehearse_when(const struct context *context, const struct rehearsed_end *end);

#endif
