/*
 * Books for tests. The second connection shows what the store must bear: the sqlite3 shell has
 * foreign keys off, and any program may switch the checks off.
 */
#include "books.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>
#include <glib/gstdio.h>

void books_open(struct books *books)
{
    GError *error = NULL;
    const char *memory = "/dev/shm"; /* no test of these is about the disk */
    books->folder = g_build_filename(g_access(memory, W_OK) == 0 ? memory : g_get_tmp_dir(),
                                     "beadline-books-XXXXXX", NULL);
    assert_non_null(g_mkdtemp(books->folder));
    books->path = g_build_filename(books->folder, "books.db", NULL);
    books->store = bl_store_create(books->path, &error);
    books_well(books->store != NULL, error);
    assert_int_equal(sqlite3_open(books->path, &books->other), SQLITE_OK);
    books_careless(books, "PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON;"
                          "PRAGMA synchronous = OFF");
}

void books_close(struct books *books)
{
    sqlite3_close(books->other);
    bl_store_close(books->store);
    static const char *const endings[] = {"", "-wal", "-shm", ".lock"};
    for (guint i = 0; i < G_N_ELEMENTS(endings); i++) {
        g_autofree char *file = g_strconcat(books->path, endings[i], NULL);
        g_unlink(file);
    }
    assert_int_equal(g_rmdir(books->folder), 0);
    g_free(books->path);
    g_free(books->folder);
}

void books_careless(struct books *books, const char *sql)
{
    char *message = NULL;
    if (sqlite3_exec(books->other, sql, NULL, NULL, &message) != SQLITE_OK) {
        fail_msg("%s: %s", sql, message);
    }
}

int64_t books_number(struct books *books, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    int64_t number = -1;
    if (sqlite3_prepare_v2(books->other, sql, -1, &statement, NULL) != SQLITE_OK) {
        fail_msg("%s: %s", sql, sqlite3_errmsg(books->other));
    }
    if (sqlite3_step(statement) == SQLITE_ROW) {
        number = sqlite3_column_int64(statement, 0);
    }
    sqlite3_finalize(statement);
    return number;
}

void books_begin(struct books *books)
{
    GError *error = NULL;
    books_well(bl_store_begin(books->store, 1000, &error), error);
}

void books_commit(struct books *books)
{
    GError *error = NULL;
    books_well(bl_store_commit(books->store, &error), error);
}

void books_undo(struct books *books)
{
    bl_store_rollback(books->store);
}

int64_t books_customer(struct books *books, const char *name)
{
    GError *error = NULL;
    int64_t id = 0;
    struct bl_customer_row row = {.name = (char *)name, .added_at = NOON};
    books_begin(books);
    books_well(bl_customer_add(books->store, &row, &id, &error), error);
    books_commit(books);
    return id;
}

int64_t books_car(struct books *books, int64_t customer, const char *plate, const char *name)
{
    GError *error = NULL;
    int64_t id = 0;
    struct bl_car_row row = {.customer = customer,
                             .plate = (char *)plate,
                             .name = (char *)name,
                             .km_a_year = (double)NAN,
                             .gone_at = BL_NEVER,
                             .added_at = NOON};
    books_begin(books);
    books_well(bl_car_add(books->store, &row, &id, &error), error);
    books_commit(books);
    return id;
}

int64_t books_rule(struct books *books, const char *product)
{
    GError *error = NULL;
    int64_t id = 0;
    g_autofree char *text = g_strdup_printf("product = \"%s\";", product);
    books_begin(books);
    books_well(bl_rule_version(books->store, product, text, NOON, &id, &error), error);
    books_commit(books);
    return id;
}

struct bl_treatment_row books_coat(int64_t rule)
{
    return (struct bl_treatment_row){
        .rule = rule, .surface = BL_PAINT, .coats = 1, .again = -1};
}

struct bl_job_row books_plain_job(int64_t car, int64_t at)
{
    return (struct bl_job_row){.car = car,
                               .finished_at = at,
                               .entered_at = at,
                               .km = (double)NAN,
                               .temp_c = (double)NAN,
                               .humidity = (double)NAN,
                               .wash_from = BL_NO_DATE};
}

int64_t books_job(struct books *books, int64_t car, int64_t at, double km, int64_t rule)
{
    GError *error = NULL;
    int64_t id = 0;
    struct bl_job_row job = books_plain_job(car, at);
    struct bl_treatment_row coat = books_coat(rule);
    g_autoptr(GArray) treatments = g_array_new(FALSE, FALSE, sizeof coat);
    job.km = km;
    g_array_append_val(treatments, coat);
    books_begin(books);
    books_well(bl_job_add(books->store, &job, treatments, &id, &error), error);
    books_commit(books);
    return id;
}

int64_t books_treatment(struct books *books, int64_t job)
{
    g_autofree char *sql =
        g_strdup_printf("SELECT min(id) FROM treatment WHERE job = %" G_GINT64_FORMAT, job);
    return books_number(books, sql);
}

void books_refused(GError **error, enum bl_error_code code, const char *part)
{
    assert_non_null(*error);
    const char *text = (*error)->message;
    if (!strstr(text, part)) {
        fail_msg("\"%s\" does not say \"%s\"", text, part);
    }
    assert_int_equal((*error)->code, code);
    assert_true((*error)->domain == BL_ERROR);
    assert_null(strchr(text, '\n'));
    assert_true(g_ascii_islower(text[0]) || text[0] == '"');
    g_clear_error(error);
}
