/*
 * What is said of a car on the command line, for `add car` and `change car`.
 */
#ifndef BEADLINE_CLI_VEHICLE_H
#define BEADLINE_CLI_VEHICLE_H

#include "follows.h"

/* As typed; NULL: not said. */
struct vehicle {
    char *plate, *name, *size, *distance, *note;
    char **exposed; /* each --exposed */
    char *place, *place_address, *place_note;
};

#define VEHICLE_ENTRIES(vehicle)                                                                 \
    {"name",                                                                                     \
     0,                                                                                          \
     0,                                                                                          \
     G_OPTION_ARG_STRING,                                                                        \
     &(vehicle).name,                                                                            \
     "As its owner would say: \"blue estate\"",                                                  \
     "TEXT"},                                                                                    \
        {"size", 0, 0, G_OPTION_ARG_STRING, &(vehicle).size, "Its size, as you sort them",       \
         "TEXT"},                                                                                \
        {"distance-a-year",                                                                      \
         0,                                                                                      \
         0,                                                                                      \
         G_OPTION_ARG_STRING,                                                                    \
         &(vehicle).distance,                                                                    \
         "What it is driven in a year, as its owner says",                                       \
         "DISTANCE"},                                                                            \
        {"exposed",                                                                              \
         0,                                                                                      \
         0,                                                                                      \
         G_OPTION_ARG_STRING_ARRAY,                                                              \
         &(vehicle).exposed,                                                                     \
         "What always wears on it (stored-outdoors, brush-wash, ...); may be given again",       \
         "WHAT"},                                                                                \
        {"place", 0, 0, G_OPTION_ARG_STRING, &(vehicle).place, "Where it is worked on", "NAME"}, \
        {"place-address",                                                                        \
         0,                                                                                      \
         0,                                                                                      \
         G_OPTION_ARG_STRING,                                                                    \
         &(vehicle).place_address,                                                               \
         "The address of a new place",                                                           \
         "TEXT"},                                                                                \
        {"place-note",                                                                           \
         0,                                                                                      \
         0,                                                                                      \
         G_OPTION_ARG_STRING,                                                                    \
         &(vehicle).place_note,                                                                  \
         "What to know there: parking, tap, gate, dog",                                          \
         "TEXT"},                                                                                \
    {                                                                                            \
        "note", 0, 0, G_OPTION_ARG_STRING, &(vehicle).note, "A note of your own", "TEXT"         \
    }

void vehicle_clear(struct vehicle *vehicle);

/* Puts what was said into the row, which owns its texts; its customer is set already. A place
 * of a new name is added to the customer's. */
bool vehicle_apply(struct context *context, const struct vehicle *vehicle,
                   struct bl_car_row *row, GError **error);

/* The customer's place of that name or number. Errors list his places. */
bool vehicle_find_place(struct context *context, int64_t customer, const char *name,
                        int64_t *place, GError **error);

/* "What" of the exposures as one line: "stored outdoors, brush wash". Caller frees. */
char *vehicle_exposures(const struct bl_car_row *row);

struct vehicle_answer {
    const struct bl_car_row *row;
    const char *owner;
    double km;                     /* the reading written down with it; NaN none */
    const struct follows *follows; /* what a change made different; NULL: it is new */
    const GPtrArray *remarks;
};

/* The row as an answer: its object with --json, else its lines. */
void vehicle_print(const struct context *context, const struct vehicle_answer *answer);

#endif
