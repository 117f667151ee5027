/* The drawings on the rehearsal's page. Pure; each appends to the page. */
#ifndef BEADLINE_CLI_REHEARSE_SVG_H
#define BEADLINE_CLI_REHEARSE_SVG_H

#include "rehearse_page.h"

/* The text escaped for HTML, characters that have no business on a page made visible. */
void svg_text(GString *out, const char *text);

/* What the other drawings refer to: patterns, fades, and the axis itself. Comes first. */
void svg_shared(GString *out, const struct page *page);

/* A bead by itself, in a line of text. */
void svg_bead(GString *out, enum bl_kind kind, bool by_hand);

/* Messages by month, as columns along the axis. */
void svg_months(GString *out, const struct page *page);

/* A car's lane: its messages as beads on a line, and under it what is on the car. */
void svg_lane(GString *out, const struct page *page, const struct page_lane *lane);

/* A sample protection, for the legend. */
void svg_sample(GString *out);

/* The letter of a bead, and the kind as a class ("k-top-up"). */
char svg_letter(enum bl_kind kind);

#endif
