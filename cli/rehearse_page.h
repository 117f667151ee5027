/*
 * The rehearsal as one page for a browser or for paper: a lane a car on one time axis. Pure:
 * from what stands here to the page's text; nothing on it comes from elsewhere.
 */
#ifndef BEADLINE_CLI_REHEARSE_PAGE_H
#define BEADLINE_CLI_REHEARSE_PAGE_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/words.h"
#include "rehearse_axis.h"

/* When something wants doing on a protection. */
struct page_span {
    enum bl_kind kind;
    int64_t from, to;
};

/* One protection. Instants are BL_NEVER where there is none. */
struct page_piece {
    char *title, *place;  /* "wheel spray sealant", "wheels, front" */
    int64_t since, cured; /* its last coat; the end of its cure, since when it has none */
    int64_t early, likely, late; /* its end */
    int64_t ended;               /* taken off or replaced */
    char *life;                  /* "wears out 12 Apr to 3 May", or NULL */
    char *brief;                 /* the same for a telephone: "Apr to May ’26" */
    GArray *spans;               /* struct page_span */
};

/* A message that would go. */
struct page_bead {
    int64_t at;
    enum bl_kind kind;
    enum bl_channel channel;
    char *when, *line;
};

/* Dues of one kind that end in one way without a message. */
struct page_lapse {
    int64_t first;
    enum bl_kind kind;
    char *text; /* "5 Jun, and 4 more until 2 Dec: no consent for tips" */
};

struct page_lane {
    char *car, *owner;
    GArray *pieces; /* struct page_piece */
    GArray *beads;  /* struct page_bead, in order of time */
    GArray *lapses; /* struct page_lapse */
};

struct page {
    char *shop, *began, *until; /* "Thu 12 Mar 2026 16:00", "Wed 31 Mar 2027" */
    struct axis axis;
    int64_t now;
    GArray *messages; /* struct page_bead: each once, whatever number of cars it speaks of */
    guint ends;       /* dues that end without a message */
    guint idle;       /* cars left out: nothing on them, and nothing comes up */
    GArray *lanes;    /* struct page_lane, in the order shown */
};

/* Empty arrays that free what is in them. */
void page_init(struct page *page);
void page_clear(struct page *page);
/* Appends an empty lane or protection and returns it; valid until the next call. */
struct page_lane *page_add_lane(struct page *page);
struct page_piece *page_add_piece(struct page_lane *lane);

/* The whole page, HTML. Caller frees. */
char *page_write(const struct page *page);

#endif
