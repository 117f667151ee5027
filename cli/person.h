/*
 * What is said of a customer on the command line, for `add customer` and `change customer`:
 * options, their way into a row, consents with their proof, and what the owner should know.
 */
#ifndef BEADLINE_CLI_PERSON_H
#define BEADLINE_CLI_PERSON_H

#include "context.h"

/* As typed; NULL: not said. */
struct person {
    char *name, *phone, *mail, *route, *language, *wish, *note;
    char *answers[BL_CLASSES]; /* yes or no, by class */
    char *how, *words;
};

#define PERSON_ENTRIES(person)                                                                  \
    {"phone", 0, 0, G_OPTION_ARG_STRING, &(person).phone, "Telephone, as people write it",      \
     "NUMBER"},                                                                                 \
        {"mail", 0, 0, G_OPTION_ARG_STRING, &(person).mail, "Mail address", "ADDRESS"},         \
        {"route", 0, 0, G_OPTION_ARG_STRING, &(person).route, "sms, mail or by-hand", "ROUTE"}, \
        {"language", 0, 0, G_OPTION_ARG_STRING, &(person).language, "Language of the messages", \
         "en"},                                                                                 \
        {"wish",                                                                                \
         0,                                                                                     \
         0,                                                                                     \
         G_OPTION_ARG_STRING,                                                                   \
         &(person).wish,                                                                        \
         "How much they want to hear: normal, often, seldom or never",                          \
         "WISH"},                                                                               \
        {"note", 0, 0, G_OPTION_ARG_STRING, &(person).note, "A note of your own", "TEXT"},      \
        {"tips",                                                                                \
         0,                                                                                     \
         0,                                                                                     \
         G_OPTION_ARG_STRING,                                                                   \
         &(person).answers[BL_TIPS],                                                            \
         "May care tips be sent?",                                                              \
         "yes|no"},                                                                             \
        {"offers",                                                                              \
         0,                                                                                     \
         0,                                                                                     \
         G_OPTION_ARG_STRING,                                                                   \
         &(person).answers[BL_OFFERS],                                                          \
         "May offers (a protection ends) be sent?",                                             \
         "yes|no"},                                                                             \
        {"how", 0, 0, G_OPTION_ARG_STRING, &(person).how, "How they said so", "TEXT"},          \
    {                                                                                           \
        "words", 0, 0, G_OPTION_ARG_STRING, &(person).words, "In what words", "TEXT"            \
    }

void person_clear(struct person *person);

/* Whether the row's texts would change: puts what was said into it. The row owns its texts. */
bool person_apply(const struct context *context, const struct person *person,
                  struct bl_customer_row *row, GError **error);

/* Whether any consent was spoken of. */
bool person_answered(const struct person *person);

/* A yes without `--how` is refused. Before anything is written. */
bool person_check(const struct person *person, GError **error);

/* Writes the answers given. */
bool person_consent(struct context *context, const struct person *person, int64_t customer,
                    GError **error);

/* Remarks on the row as stored: no address, a silenced one, one that others have too. */
bool person_remarks(struct context *context, const struct bl_customer_row *row,
                    GPtrArray *remarks, GError **error);

/* The row as an answer: its object with --json, else its lines under `heading`. */
void person_print(const struct context *context, const struct bl_customer_row *row,
                  const GPtrArray *remarks);

#endif
