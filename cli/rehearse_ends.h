/*
 * What a rehearsal leaves behind besides messages: the dues, whom and what they are about, and
 * which of them end without a message.
 */
#ifndef BEADLINE_CLI_REHEARSE_ENDS_H
#define BEADLINE_CLI_REHEARSE_ENDS_H

#include "beadline/letterbook.h"
#include "rehearse_play.h"

/* Names by id, as the rehearsal found them. */
struct rehearse_names {
    GHashTable *customers, *cars; /* int64 -> char * */
};

bool rehearse_names_read(struct rehearsal *rehearsal, struct rehearse_names *names,
                         GError **error);
void rehearse_names_clear(struct rehearse_names *names);

/* "" for an id nobody has. Owned by names. */
const char *rehearse_customer(const struct rehearse_names *names, int64_t id);
const char *rehearse_car(const struct rehearse_names *names, int64_t id);

/* Whether the due came to an end in the rehearsal and no message went for it. What the plan
 * itself took back is none. */
bool rehearse_unsaid(const struct rehearsal *rehearsal, const struct bl_due_row *due);

/* Unsaid dues of one car, kind and reason, together. */
struct rehearsed_end {
    int64_t car, customer;
    enum bl_kind kind;
    const char *end, *reason; /* owned by the dues */
    guint times;
    int64_t first, last;
};

/* struct rehearsed_end, by when they begin. dues: struct bl_due_row, which must outlive it. */
GArray *rehearse_ends(const struct rehearsal *rehearsal, const GArray *dues);

#endif
