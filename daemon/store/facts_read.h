/*
 * Reading the facts of one customer, table by table: one statement a table, joined through the
 * car, so a customer costs the same few statements whatever his fleet. Inside the room only.
 *
 * Every row is checked as if a stranger had typed it. One that fails is left out with one line
 * in facts->skipped: table, number, what is wrong; and so is each row that hangs on it.
 */
#ifndef BEADLINE_STORE_FACTS_READ_H
#define BEADLINE_STORE_FACTS_READ_H

#include "beadline/records.h"
#include "sql.h"

struct bl_reader {
    struct bl_store *store;
    struct bl_facts *facts;
    const struct bl_rule_book *book;
    int64_t customer;
    GHashTable *jobs;       /* those read: id -> the id of its car, both int64_t * */
    GHashTable *treatments; /* the same */
};

/* The steps, in this order: what hangs on a row comes after it. */
bool bl_read_person(struct bl_reader *reader, GError **error); /* BL_ERROR_MISSING */
bool bl_read_consents(struct bl_reader *reader, GError **error);
bool bl_read_cars(struct bl_reader *reader, GError **error);
bool bl_read_mileage(struct bl_reader *reader, GError **error);
bool bl_read_jobs(struct bl_reader *reader, GError **error);
bool bl_read_treatments(struct bl_reader *reader, GError **error);
bool bl_read_events(struct bl_reader *reader, GError **error);
bool bl_read_orphans(struct bl_reader *reader, GError **error);
bool bl_read_told(struct bl_reader *reader, GError **error);
bool bl_read_ended(struct bl_reader *reader, GError **error);

/* Whether the question about the customer (its only value) is answered with yes. Statements
 * that sort and unite rows have much to do before they find that there are none, as of most
 * customers; so they are asked about first. */
bool bl_reader_asks(struct bl_reader *reader, const char *question, bool *yes, GError **error);

/* Leaves a row out: "treatment 12: " and the error's text. The error is freed. */
void bl_reader_skip(struct bl_reader *reader, const char *table, int64_t id, GError *error);

/* The car of that number, or NULL and an error saying that it is left out. */
struct bl_car *bl_reader_car(struct bl_reader *reader, int64_t id, GError **error);

/* Remembers that this row of the car was read; and the car of a row, 0 when it was not. */
void bl_reader_keep(GHashTable *rows, int64_t id, int64_t car);
int64_t bl_reader_kept(GHashTable *rows, int64_t id);

/* A checked line of text, NULL for NULL and "". Caller frees *text. */
bool bl_reader_line(const struct bl_rows *rows, int column, const char *what, char **text,
                    GError **error);

/* Sets BL_ERROR_INPUT: "what "word" is unknown". Always false. */
bool bl_reader_unknown(const char *what, const char *word, GError **error);

#endif
