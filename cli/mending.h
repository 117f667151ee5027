/*
 * One correction from its number to its answer: what is meant is found, then changed or removed
 * in the same transaction with what it said kept, and the answer says what follows.
 */
#ifndef BEADLINE_CLI_MENDING_H
#define BEADLINE_CLI_MENDING_H

#include "beadline/mend.h"
#include "follows.h"

struct mending {
    char *why;
    gboolean dry;
    int64_t id;         /* of what is mended */
    const char *thing;  /* "job", "treatment", "reading", "event" */
    const char *done;   /* "changed", "removed" */
    char *title;        /* one line about it, as it is now; NULL none */
    GPtrArray *remarks; /* char * */
    struct follows follows;
};

#define MENDING_ENTRIES(mending)                                                               \
    {"why", 0, 0, G_OPTION_ARG_STRING, &(mending).why, "The reason, kept with what it said",   \
     "TEXT"},                                                                                  \
    {                                                                                          \
        "dry", 0, 0, G_OPTION_ARG_NONE, &(mending).dry, "Show what follows, write nothing",    \
            NULL                                                                               \
    }

/* find: which car it is about; mend: what is done. Both inside the transaction; self is
 * theirs. */
struct mending_steps {
    bool (*find)(struct context *context, struct mending *mending, void *self, int64_t *car,
                 GError **error);
    bool (*mend)(struct context *context, struct mending *mending, void *self, GError **error);
};

/* Runs it and prints the answer; the command's exit status. word is the number as typed. */
int mending_run(struct context *context, struct mending *mending, const char *word,
                const struct mending_steps *steps, void *self);
void mending_clear(struct mending *mending);

#endif
