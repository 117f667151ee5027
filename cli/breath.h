/*
 * A job in one breath: what is typed after `add job` and `redo`, from the words to the row with
 * its treatments, what follows from it, and the answer.
 */
#ifndef BEADLINE_CLI_BREATH_H
#define BEADLINE_CLI_BREATH_H

#include "context.h"

/* As typed; NULL: not said. */
struct breath_numbers {
    char *mileage, *temp, *humidity;
};

struct breath {
    struct breath_numbers numbers;
    char *at, *place, *note, *wash_from;
    char **batches, **again;
    gboolean same, cured, leaving_ok, dry;
    int64_t
        redo_of; /* the job it makes good: its car, and its products unless some are named */
};

#define BREATH_NUMBERS_ENTRIES(numbers)                                                        \
    {"mileage", 0, 0, G_OPTION_ARG_STRING, &(numbers).mileage, "What the instrument showed",   \
     "DISTANCE"},                                                                              \
        {"temp", 0, 0, G_OPTION_ARG_STRING, &(numbers).temp, "Temperature, 14 or 57F", "C"},   \
    {                                                                                          \
        "humidity", 0, 0, G_OPTION_ARG_STRING, &(numbers).humidity, "Relative humidity",       \
            "PERCENT"                                                                          \
    }

#define BREATH_ENTRIES(breath)                                                                 \
    {"at",                                                                                     \
     0,                                                                                        \
     0,                                                                                        \
     G_OPTION_ARG_STRING,                                                                      \
     &(breath).at,                                                                             \
     "When it was finished: 15:40, \"yesterday 15:40\", 2026-11-25T15:40; now if not said",    \
     "TIME"},                                                                                  \
        BREATH_NUMBERS_ENTRIES((breath).numbers), {"place",                                    \
                                                   0,                                          \
                                                   0,                                          \
                                                   G_OPTION_ARG_STRING,                        \
                                                   &(breath).place,                            \
                                                   "Where, if not at the car's place",         \
                                                   "NAME"},                                    \
        {"note", 0, 0, G_OPTION_ARG_STRING, &(breath).note, "A note of your own", "TEXT"},     \
        {"wash-from",                                                                          \
         0,                                                                                    \
         0,                                                                                    \
         G_OPTION_ARG_STRING,                                                                  \
         &(breath).wash_from,                                                                  \
         "A later wash date of your own",                                                      \
         "DATE"},                                                                              \
        {"cured-indoors",                                                                      \
         0,                                                                                    \
         0,                                                                                    \
         G_OPTION_ARG_NONE,                                                                    \
         &(breath).cured,                                                                      \
         "It cured under lamps or in a warm hall: nothing to wait for",                        \
         NULL},                                                                                \
        {"batch",                                                                              \
         0,                                                                                    \
         0,                                                                                    \
         G_OPTION_ARG_STRING_ARRAY,                                                            \
         &(breath).batches,                                                                    \
         "The batch on the bottle",                                                            \
         "PRODUCT=TEXT"},                                                                      \
        {"again",                                                                              \
         0,                                                                                    \
         0,                                                                                    \
         G_OPTION_ARG_STRING_ARRAY,                                                            \
         &(breath).again,                                                                      \
         "Who does it again: shop, next-booking or customer",                                  \
         "PRODUCT=WHO"},                                                                       \
        {"leaving-ok",                                                                         \
         0,                                                                                    \
         0,                                                                                    \
         G_OPTION_ARG_NONE,                                                                    \
         &(breath).leaving_ok,                                                                 \
         "Windscreen, discs, tread and pedals were looked at",                                 \
         NULL},                                                                                \
    {                                                                                          \
        "dry", 0, 0, G_OPTION_ARG_NONE, &(breath).dry, "Show it, write nothing", NULL          \
    }

/* Writes the job down and prints the answer; the command's exit status. car NULL: that of the
 * job it makes good. words: what went on, NULL-terminated. */
int breath_run(struct context *context, const struct breath *breath, const char *car,
               char **words);
void breath_clear(struct breath *breath);

/* Parts, for correcting a job: each sets what was said, and "none" takes away. */
bool breath_numbers(const struct context *context, const struct breath_numbers *typed,
                    struct bl_job_row *row, GError **error);
void breath_numbers_clear(struct breath_numbers *typed);

/* Whether the owner's own wash date is not before the job's finish. */
bool breath_wash_from(const struct context *context, const struct bl_job_row *row,
                      GError **error);

#endif
