/*
 * Books for tests: a fresh database in a folder of its own, a few lines to fill it, and a
 * second connection that writes as a careless program would: no foreign keys, no checks.
 */
#ifndef BEADLINE_TEST_BOOKS_H
#define BEADLINE_TEST_BOOKS_H

#include <glib.h>
#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/civil.h"
#include "beadline/error.h"
#include "beadline/records.h"

#define NOON INT64_C(1780315200) /* 2026-06-01 12:00 UTC */
#define DAYS INT64_C(86400)

struct books {
    char *folder, *path;
    struct bl_store *store;
    sqlite3 *other;
};

void books_open(struct books *books);
void books_close(struct books *books);

/* Runs the statements on the second connection; they must succeed. */
void books_careless(struct books *books, const char *sql);

/* The first column of a query's first row on the second connection, -1 when there is none. */
int64_t books_number(struct books *books, const char *sql);

/* A row with plain values, in a transaction of its own. */
int64_t books_customer(struct books *books, const char *name);
int64_t books_car(struct books *books, int64_t customer, const char *plate, const char *name);
int64_t books_rule(struct books *books, const char *product);
int64_t books_job(struct books *books, int64_t car, int64_t at, double km, int64_t rule);
int64_t books_treatment(struct books *books, int64_t job); /* its first */

/* A treatment of the rule on the paint, one coat. */
struct bl_treatment_row books_coat(int64_t rule);
/* A job that says nothing but car and time. */
struct bl_job_row books_plain_job(int64_t car, int64_t at);

void books_begin(struct books *books);
void books_commit(struct books *books);
void books_undo(struct books *books);

/* The error is of that code, one line, starts in lower case (or with a quoted thing), and holds
 * `part`; frees it. */
void books_refused(GError **error, enum bl_error_code code, const char *part);

/* No error; the owner's text is shown when there is one. */
#define books_well(done, error)                                                                \
    do {                                                                                       \
        bool done_ = (done);                                                                   \
        if (error) {                                                                           \
            fail_msg("%s", (error)->message);                                                  \
        }                                                                                      \
        assert_true(done_);                                                                    \
    } while (0)

#endif
