/*
 * What is said of an event on the command line, for `add event` and `change event`.
 */
#ifndef BEADLINE_CLI_HAPPENED_H
#define BEADLINE_CLI_HAPPENED_H

#include "follows.h"

/* As typed; NULL: not said. */
struct happened {
    char *at, *surface, *part, *treatment, *with, *finding, *temp, *hours, *note;
    gboolean lamp;
};

#define HAPPENED_ENTRIES(typed)                                                                \
    {"at", 0, 0, G_OPTION_ARG_STRING, &(typed).at, "When it happened", "TIME"},                \
        {"surface", 0, 0, G_OPTION_ARG_STRING, &(typed).surface, "On which surface only",      \
         "SURFACE"},                                                                           \
        {"part", 0, 0, G_OPTION_ARG_STRING, &(typed).part, "On which part only", "PART"},      \
        {"treatment",                                                                          \
         0,                                                                                    \
         0,                                                                                    \
         G_OPTION_ARG_STRING,                                                                  \
         &(typed).treatment,                                                                   \
         "On which treatment only (show car has the numbers)",                                 \
         "N"},                                                                                 \
        {"with", 0, 0, G_OPTION_ARG_STRING, &(typed).with, "What did it", "TEXT"},             \
        {"finding", 0, 0, G_OPTION_ARG_STRING, &(typed).finding, "What an inspection found",   \
         "FINDING"},                                                                           \
        {"temp", 0, 0, G_OPTION_ARG_STRING, &(typed).temp, "How warm it cured indoors", "C"},  \
        {"hours", 0, 0, G_OPTION_ARG_STRING, &(typed).hours, "For how many hours, up to --at", \
         "HOURS"},                                                                             \
        {"lamp", 0, 0, G_OPTION_ARG_NONE, &(typed).lamp, "It cured under a lamp: done with",   \
         NULL},                                                                                \
    {                                                                                          \
        "note", 0, 0, G_OPTION_ARG_STRING, &(typed).note, "A note of your own", "TEXT"         \
    }

void happened_clear(struct happened *typed);

/* Sets what was said in the row, "none" takes away, and sees that the whole fits together. The
 * row owns its texts. happening NULL: as it is. */
bool happened_apply(const struct context *context, const struct happened *typed,
                    const char *happening, struct bl_event_row *row, GError **error);

/* What the owner should think of after such a thing, and what nobody reckons with. */
void happened_remark(const struct context *context, const struct bl_event_row *row,
                     const struct follows *follows, GPtrArray *remarks);

/* "wheels, front left", "bonnet"; "" for the whole car. Caller frees. */
char *happened_place(const struct bl_event_row *row);

#endif
