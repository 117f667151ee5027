/*
 * The layer every statement of the room goes through: prepared once, values bound by place,
 * rows read by place, SQLite's codes turned into the owner's errors.
 */
#include "sql.h"

#include "beadline/text.h"

static enum bl_error_code code_of(int primary)
{
    switch (primary) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return BL_ERROR_BUSY;
    case SQLITE_CONSTRAINT:
        return BL_ERROR_REFUSED;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return BL_ERROR_DAMAGED;
    default:
        return BL_ERROR_OUTSIDE;
    }
}

/* What the owner can do about it; the database's own words stand before it. */
static const char *remedy_of(enum bl_error_code code)
{
    switch (code) {
    case BL_ERROR_BUSY:
        return "another program is writing to it: try again in a moment";
    case BL_ERROR_DAMAGED:
        return "keep this file and restore a backup";
    case BL_ERROR_OUTSIDE:
        return "see to the disk and the rights on its folder, then try again";
    case BL_ERROR_REFUSED:
    case BL_ERROR_INPUT:
    case BL_ERROR_MISSING:
        break;
    }
    return NULL;
}

bool bl_sql_fail(sqlite3 *db, const char *path, GError **error)
{
    int primary = sqlite3_errcode(db) & 0xff;
    if (primary == SQLITE_NOMEM) {
        g_error("out of memory");
    }
    enum bl_error_code code = code_of(primary);
    const char *remedy = remedy_of(code);
    g_autofree char *said = bl_text_printable(sqlite3_errmsg(db));
    if (remedy) {
        g_set_error(error, BL_ERROR, (int)code, "database \"%s\": %s: %s", path, said, remedy);
    } else {
        g_set_error(error, BL_ERROR, (int)code, "refused by a rule of the database: %s", said);
    }
    return false;
}

bool bl_sql_stuck(const struct bl_store *store, GError **error)
{
    g_set_error(
        error, BL_ERROR, BL_ERROR_DAMAGED,
        "database \"%s\": an index differs from its table: keep this file and restore a "
        "backup",
        store->path);
    return false;
}

static sqlite3_stmt *prepare(struct bl_store *store, const char *text, GError **error)
{
    sqlite3_stmt *statement = g_hash_table_lookup(store->statements, text);
    if (statement) {
        g_assert(!sqlite3_stmt_busy(statement));
        return statement;
    }
    if (sqlite3_prepare_v3(store->db, text, -1, SQLITE_PREPARE_PERSISTENT, &statement, NULL) !=
        SQLITE_OK) {
        bl_sql_fail(store->db, store->path, error);
        return NULL;
    }
    g_hash_table_insert(store->statements, (gpointer)text, statement);
    return statement;
}

static int bind_one(sqlite3_stmt *statement, int place, const struct bl_binding *value)
{
    switch (value->type) {
    case BL_BINDING_INT:
        return sqlite3_bind_int64(statement, place, value->as.number);
    case BL_BINDING_REAL:
        return sqlite3_bind_double(statement, place, value->as.real);
    case BL_BINDING_TEXT:
        return sqlite3_bind_text(statement, place, value->as.text, -1, SQLITE_STATIC);
    case BL_BINDING_NULL:
    case BL_BINDING_END:
        break;
    }
    return sqlite3_bind_null(statement, place);
}

static int length_of(const struct bl_binding *values)
{
    int length = 0;
    while (values && values[length].type != BL_BINDING_END) {
        length++;
    }
    return length;
}

/* The number of values must be the statement's: a forgotten one would be a silent NULL. */
static bool bind(struct bl_store *store, sqlite3_stmt *statement,
                 const struct bl_binding *values, int length, GError **error)
{
    g_assert(length == sqlite3_bind_parameter_count(statement));
    for (int place = 0; place < length; place++) {
        if (bind_one(statement, place + 1, &values[place]) != SQLITE_OK) {
            return bl_sql_fail(store->db, store->path, error);
        }
    }
    return true;
}

static void done(sqlite3_stmt *statement)
{
    sqlite3_reset(statement);
    sqlite3_clear_bindings(statement);
}

static bool run(struct bl_store *store, const char *text, const struct bl_binding *values,
                int length, GError **error)
{
    g_assert(store->within);
    if (sqlite3_get_autocommit(store->db)) {
        g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE,
                    "database \"%s\": an earlier failure ended the transaction: try again",
                    store->path);
        return false;
    }
    sqlite3_stmt *statement = prepare(store, text, error);
    if (!statement || !bind(store, statement, values, length, error)) {
        return false;
    }
    int result = sqlite3_step(statement);
    g_assert(result != SQLITE_ROW);
    bool well = result == SQLITE_DONE || bl_sql_fail(store->db, store->path, error);
    done(statement);
    return well;
}

bool bl_sql_run(struct bl_store *store, const char *text, const struct bl_binding *values,
                GError **error)
{
    return run(store, text, values, length_of(values), error);
}

bool bl_sql_insert(struct bl_store *store, const char *text, const struct bl_binding *values,
                   int64_t *id, GError **error)
{
    if (!bl_sql_run(store, text, values, error)) {
        return false;
    }
    *id = sqlite3_last_insert_rowid(store->db);
    return true;
}

bool bl_sql_insert_rows(struct bl_store *store, const struct bl_insert *insert,
                        const struct bl_binding *values, guint rows, int64_t *ids,
                        GError **error)
{
    g_assert(rows >= 1 && rows <= BL_INSERT_ROWS);
    if (!run(store, insert->texts[rows - 1], values, insert->columns * (int)rows, error)) {
        return false;
    }
    int64_t last = sqlite3_last_insert_rowid(store->db);
    for (guint i = 0; ids && i < rows; i++) {
        ids[i] = last - (rows - 1) + i;
    }
    return true;
}

int64_t bl_sql_changed(const struct bl_store *store)
{
    return sqlite3_changes64(store->db);
}

struct bl_rows bl_rows(struct bl_store *store, const char *text,
                       const struct bl_binding *values)
{
    struct bl_rows rows = {.store = store};
    sqlite3_stmt *statement = prepare(store, text, &rows.failure);
    if (statement && bind(store, statement, values, length_of(values), &rows.failure)) {
        rows.statement = statement;
    }
    return rows;
}

bool bl_rows_next(struct bl_rows *rows)
{
    if (!rows->statement || rows->failure) {
        return false;
    }
    int result = sqlite3_step(rows->statement);
    if (result == SQLITE_ROW) {
        return true;
    }
    if (result != SQLITE_DONE) {
        bl_sql_fail(rows->store->db, rows->store->path, &rows->failure);
    }
    done(rows->statement);
    rows->statement = NULL;
    return false;
}

bool bl_rows_end(struct bl_rows *rows, GError **error)
{
    if (rows->statement) {
        done(rows->statement);
        rows->statement = NULL;
    }
    if (rows->failure) {
        g_propagate_error(error, g_steal_pointer(&rows->failure));
        return false;
    }
    return true;
}

void bl_rows_clear(struct bl_rows *rows)
{
    bl_rows_end(rows, NULL);
}

bool bl_rows_null(const struct bl_rows *rows, int column)
{
    return sqlite3_column_type(rows->statement, column) == SQLITE_NULL;
}

int64_t bl_rows_int(const struct bl_rows *rows, int column)
{
    return sqlite3_column_int64(rows->statement, column);
}

int64_t bl_rows_int_or(const struct bl_rows *rows, int column, int64_t none)
{
    return bl_rows_null(rows, column) ? none : bl_rows_int(rows, column);
}

double bl_rows_real(const struct bl_rows *rows, int column)
{
    return bl_rows_null(rows, column) ? NAN : sqlite3_column_double(rows->statement, column);
}

const char *bl_rows_text(const struct bl_rows *rows, int column)
{
    return (const char *)sqlite3_column_text(rows->statement, column);
}

char *bl_rows_dup(const struct bl_rows *rows, int column)
{
    return g_strdup(bl_rows_text(rows, column));
}

const char *bl_rows_word(const struct bl_rows *rows, int column)
{
    const char *text = bl_rows_text(rows, column);
    return text ? text : "";
}

void bl_rows_spoil(struct bl_rows *rows, int column)
{
    g_autofree char *word = bl_text_printable(bl_rows_word(rows, column));
    if (!rows->failure) {
        g_set_error(&rows->failure, BL_ERROR, BL_ERROR_DAMAGED,
                    "database \"%s\": \"%s\" is not a word that \"%s\" can hold: restore a "
                    "backup",
                    rows->store->path, word, sqlite3_column_name(rows->statement, column));
    }
}

bool bl_sql_number(struct bl_store *store, const char *text, const struct bl_binding *values,
                   int64_t none, int64_t *number, GError **error)
{
    BL_ROWS rows = bl_rows(store, text, values);
    *number = bl_rows_next(&rows) ? bl_rows_int_or(&rows, 0, none) : none;
    return bl_rows_end(&rows, error);
}
