/*
 * The thin layer between the store's files and SQLite. Inside the room only.
 *
 * Every statement is a constant text beside the one function that runs it; it is prepared once
 * a connection and kept under the address of its text, so a text must be a constant of the
 * program. Values are bound by place (?1 is the first value), columns are read by place.
 *
 *     static const char FIND[] = "SELECT name, added_at FROM customer WHERE id = ?1";
 *
 *     BL_ROWS rows = bl_rows(store, FIND, BL_VALUES(bl_int(id)));
 *     while (bl_rows_next(&rows)) {
 *         row->name = bl_rows_dup(&rows, 0);
 *         row->added_at = bl_rows_int(&rows, 1);
 *     }
 *     return bl_rows_end(&rows, error);
 *
 * A failure on the way (prepare, bind, step) ends the loop and is reported by bl_rows_end. The
 * same text cannot be open twice at a time (asserted): read into memory first, or use two
 * texts.
 */
#ifndef BEADLINE_STORE_SQL_H
#define BEADLINE_STORE_SQL_H

#include <glib.h>
#include <math.h>
#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/civil.h"
#include "beadline/error.h"
#include "beadline/store.h"

struct bl_store {
    sqlite3 *db;
    char *path;             /* the folder resolved, the name as given */
    GHashTable *statements; /* const char * (its address) -> sqlite3_stmt * */
    int lock;               /* the lock file's descriptor, or -1 */
    bool within;            /* between begin and commit or rollback */
};

enum bl_binding_type {
    BL_BINDING_END,
    BL_BINDING_NULL,
    BL_BINDING_INT,
    BL_BINDING_REAL,
    BL_BINDING_TEXT
};

struct bl_binding {
    enum bl_binding_type type;
    union {
        int64_t number;
        double real;
        const char *text;
    } as;
};

static inline struct bl_binding bl_null(void)
{
    return (struct bl_binding){.type = BL_BINDING_NULL};
}

static inline struct bl_binding bl_int(int64_t number)
{
    return (struct bl_binding){.type = BL_BINDING_INT, .as.number = number};
}

/* NULL when number is `none` (0 for ids, BL_NEVER, BL_NO_DATE, -1 for enums). */
static inline struct bl_binding bl_int_or_null(int64_t number, int64_t none)
{
    return number == none ? bl_null() : bl_int(number);
}

/* NaN is NULL. */
static inline struct bl_binding bl_real(double real)
{
    struct bl_binding value = {.type = BL_BINDING_REAL, .as.real = real};
    return isnan(real) ? bl_null() : value;
}

/* NULL is NULL. The text is borrowed until the statement is done. */
static inline struct bl_binding bl_text(const char *text)
{
    struct bl_binding value = {.type = BL_BINDING_TEXT, .as.text = text};
    return text ? value : bl_null();
}

/* The values of a statement, in order; a statement without values gets NULL instead. */
#define BL_VALUES(...) ((const struct bl_binding[]){__VA_ARGS__, {.type = BL_BINDING_END}})

/* Runs a statement that returns no rows, inside a transaction (asserted). */
bool bl_sql_run(struct bl_store *store, const char *text, const struct bl_binding *values,
                GError **error);

/* As bl_sql_run; id receives the new row's. */
bool bl_sql_insert(struct bl_store *store, const char *text, const struct bl_binding *values,
                   int64_t *id, GError **error);

/* An INSERT of 1 to BL_INSERT_ROWS rows, a text for each number: a statement has more to do
 * before its first row than with another one. Its values are a row's after the other's, and
 * there is no END. A static constant:
 *
 *     static const struct bl_insert ADD = BL_INSERT("note (car, text)", "(?, ?)", 2);
 */
#define BL_INSERT_ROWS 8
struct bl_insert {
    int columns;
    const char *texts[BL_INSERT_ROWS];
};
#define BL_INSERT(into, row, columns_)                                                         \
    {                                                                                          \
        .columns = (columns_), .texts = {                                                      \
            BL_INSERT_1(into, row),                                                            \
            BL_INSERT_1(into, row) "," row,                                                    \
            BL_INSERT_1(into, row) "," row "," row,                                            \
            BL_INSERT_4(into, row),                                                            \
            BL_INSERT_4(into, row) "," row,                                                    \
            BL_INSERT_4(into, row) "," row "," row,                                            \
            BL_INSERT_4(into, row) "," row "," row "," row,                                    \
            BL_INSERT_4(into, row) "," row "," row "," row "," row,                            \
        }                                                                                      \
    }
#define BL_INSERT_1(into, row) "INSERT INTO " into " VALUES " row
#define BL_INSERT_4(into, row) BL_INSERT_1(into, row) "," row "," row "," row

/* Inserts up to BL_INSERT_ROWS rows, all or none. ids (may be NULL) receives their ids; the
 * table's id must be AUTOINCREMENT then, for those follow one another. */
bool bl_sql_insert_rows(struct bl_store *store, const struct bl_insert *insert,
                        const struct bl_binding *values, guint rows, int64_t *ids,
                        GError **error);

/* Rows the last bl_sql_run changed, triggers not counted. */
int64_t bl_sql_changed(const struct bl_store *store);

struct bl_rows {
    struct bl_store *store;
    sqlite3_stmt *statement; /* NULL once it is done */
    GError *failure;
};

struct bl_rows bl_rows(struct bl_store *store, const char *text,
                       const struct bl_binding *values);
bool bl_rows_next(struct bl_rows *rows);
/* Done with the rows, read to the end or not. False: what went wrong on the way. */
bool bl_rows_end(struct bl_rows *rows, GError **error);
void bl_rows_clear(struct bl_rows *rows);
#define BL_ROWS __attribute__((cleanup(bl_rows_clear))) struct bl_rows

/* Column `column` of the row at hand. */
bool bl_rows_null(const struct bl_rows *rows, int column);
int64_t bl_rows_int(const struct bl_rows *rows, int column); /* NULL: 0 */
int64_t bl_rows_int_or(const struct bl_rows *rows, int column, int64_t none);
double bl_rows_real(const struct bl_rows *rows, int column);      /* NULL: NaN */
const char *bl_rows_text(const struct bl_rows *rows, int column); /* NULL: NULL; borrowed */
char *bl_rows_dup(const struct bl_rows *rows, int column);        /* NULL: NULL; caller frees */

/* As bl_rows_text, "" for NULL. */
const char *bl_rows_word(const struct bl_rows *rows, int column);

/* The row holds what the schema does not let in: ends the reading with BL_ERROR_DAMAGED. */
void bl_rows_spoil(struct bl_rows *rows, int column);

/* Reads a stored word by its family's `_of`. */
#define BL_ROWS_WORD(rows, column, of, into)                                                   \
    do {                                                                                       \
        if (!of(bl_rows_word(rows, column), into)) {                                           \
            bl_rows_spoil(rows, column);                                                       \
        }                                                                                      \
    } while (0)

/* The first column of the first row of a query, `none` when there is no row or it is NULL. */
bool bl_sql_number(struct bl_store *store, const char *text, const struct bl_binding *values,
                   int64_t none, int64_t *number, GError **error);

/* Sets error for the last failed call on the connection: BUSY -> BL_ERROR_BUSY, CONSTRAINT ->
 * BL_ERROR_REFUSED, CORRUPT and NOTADB -> BL_ERROR_DAMAGED, everything else ->
 * BL_ERROR_OUTSIDE. Always false. Out of memory ends the process. */
bool bl_sql_fail(sqlite3 *db, const char *path, GError **error);

/* For a write that had to change a row just read and did not: index and table differ, and going
 * on would go round for ever. Sets BL_ERROR_DAMAGED; always false. */
bool bl_sql_stuck(const struct bl_store *store, GError **error);

#define BL_APPLICATION_ID 0x42656164 /* "Bead" */

/* The number of migrations this program knows: the user_version of a database it made. */
int bl_migrations(void);

/* Brings the connection from user_version to `version`, each migration in a transaction. */
bool bl_migrate(sqlite3 *db, const char *path, int version, GError **error);

/* Compares the schema of the connection with what our migrations up to `version` make: a line
 * for each object that is unknown, changed or missing, sorted. NULL and error when it cannot.
 */
GPtrArray *bl_schema_findings(sqlite3 *db, const char *path, int version, GError **error);

/* The same as an error, BL_ERROR_DAMAGED, that names the first and how many more there are. */
bool bl_schema_check(sqlite3 *db, const char *path, int version, GError **error);

#endif
