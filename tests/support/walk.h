/*
 * The whole way of the data on a bench: a real store, the starter catalogue and templates, a
 * clock one turns by hand, and a false carrier that answers as it is told.
 */
#ifndef BEADLINE_TESTS_WALK_H
#define BEADLINE_TESTS_WALK_H

#include "beadline/pass.h"
#include "books.h"

struct walk {
    struct books books;
    struct bl_world *world;
    struct bl_pass *pass;
    int64_t now;
    bool synchronised;
    uint64_t seed;
    struct bl_carrier carrier;
    /* the false carrier */
    guint connections;       /* how many at once */
    GArray *flying, *landed; /* struct bl_outcome: ids on the wire; finished, not yet taken */
    GPtrArray *carried;      /* "TO KEY TEXT" of each start, in order */
    enum bl_verdict verdict; /* of what lands */
    enum bl_failure failure;
    bool opted_out;
    void (*on_start)(struct walk *walk); /* what happens just as a transfer starts; or NULL */
};

/* now: as bl_at_parse reads it, in Europe/London. Messages go Monday to Saturday 09:00 to
 * 19:00, texts and mails into two folders, where an unsure text waits and an unsure mail goes
 * again. */
void walk_open(struct walk *walk, const char *now);
void walk_close(struct walk *walk);

int64_t walk_at(const struct walk *walk, const char *text);

/* A customer with this number (NULL: this mail address) and one car, consent to everything. */
int64_t walk_customer(struct walk *walk, const char *name, const char *phone, const char *mail);

/* A job of the customer's car finished and entered now, with one product of the catalogue. */
int64_t walk_job(struct walk *walk, int64_t customer, const char *product);

/* One pass; its wake. It must succeed. */
int64_t walk_pass(struct walk *walk);

/* All that is on the wire lands with walk->verdict. */
void walk_land(struct walk *walk);

/* Passes and landings until nothing moves at this instant. */
void walk_settle(struct walk *walk);

/* Another pass over the same store, as after a restart; what was on the wire is forgotten. */
void walk_restart(struct walk *walk);

/* How many messages are in the state. */
int64_t walk_count(struct walk *walk, const char *state);

#endif
