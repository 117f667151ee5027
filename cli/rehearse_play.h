/*
 * Playing the coming time on a copy of the shop: the daemon's own pass under a false clock,
 * with a carrier that takes everything at once and delivers nothing. What goes by hand is taken
 * as told on the day it comes up.
 */
#ifndef BEADLINE_CLI_REHEARSE_PLAY_H
#define BEADLINE_CLI_REHEARSE_PLAY_H

#include "context.h"

/* A message that would go. */
struct rehearsed_message {
    int64_t at;
    enum bl_kind kind;
    enum bl_channel channel;
    char *customer, *cars, *address; /* address NULL by hand */
    char *line;   /* a mail's subject, a text's first line, what a sheet begins to say */
    GArray *keys; /* struct bl_ended: its dues */
};

struct rehearsal {
    struct context copy; /* the world is the caller's, the store a copy, now the false clock */
    int64_t from, until; /* [from, until) is played */
    GArray *messages;    /* struct rehearsed_message, as they go */
    GArray *ids;         /* int64_t: started in this turn, not yet noted */
    GArray *taken;       /* struct bl_outcome: accepted, not yet asked for */
    struct bl_carrier carrier;
};

/* Makes the copy and brings its plan up to date at the context's now, as a daemon that starts
 * then. Clear it even when it failed; where it stands it must not be moved. */
bool rehearse_begin(struct context *context, int64_t until, struct rehearsal *rehearsal,
                    GError **error);

/* Plays from then on, from wake to wake. */
bool rehearse_play(struct rehearsal *rehearsal, GError **error);

void rehearse_clear(struct rehearsal *rehearsal);

#endif
