/* The store's own fixture: see store_room.h. */
#include "store_room.h"

#include <glib/gstdio.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static void assert_well(GError *error)
{
    if (error) {
        print_error("%s\n", error->message);
    }
    assert_null(error);
}

struct store_room *store_room_empty(void)
{
    struct store_room *room = g_new0(struct store_room, 1);
    GError *error = NULL;
    room->folder = g_dir_make_tmp("beadline-store-XXXXXX", &error);
    assert_well(error);
    room->path = g_build_filename(room->folder, "shop.db", NULL);
    return room;
}

struct store_room *store_room_new(void)
{
    struct store_room *room = store_room_empty();
    GError *error = NULL;
    room->store = bl_store_create(room->path, &error);
    assert_well(error);
    assert_int_equal(sqlite3_open(room->path, &room->other), SQLITE_OK);
    return room;
}

void store_room_free(struct store_room *room)
{
    sqlite3_close(room->other);
    bl_store_close(room->store);
    GDir *dir = g_dir_open(room->folder, 0, NULL);
    const char *name;
    while (dir && (name = g_dir_read_name(dir))) {
        g_autofree char *file = g_build_filename(room->folder, name, NULL);
        g_remove(file);
    }
    if (dir) {
        g_dir_close(dir);
    }
    g_rmdir(room->folder);
    g_free(room->folder);
    g_free(room->path);
    g_free(room);
}

static char *run(struct store_room *room, const char *format, va_list args)
{
    g_autofree char *sql = g_strdup_vprintf(format, args);
    char *said = NULL;
    if (sqlite3_exec(room->other, sql, NULL, NULL, &said) == SQLITE_OK) {
        return NULL;
    }
    char *copy = g_strdup(said ? said : "failed");
    sqlite3_free(said);
    return copy;
}

void store_room_exec(struct store_room *room, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *said = run(room, format, args);
    va_end(args);
    if (said) {
        print_error("%s: %s\n", format, said);
    }
    assert_null(said);
}

char *store_room_try(struct store_room *room, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    char *said = run(room, format, args);
    va_end(args);
    return said;
}

static char *first(struct store_room *room, const char *format, va_list args)
{
    g_autofree char *sql = g_strdup_vprintf(format, args);
    sqlite3_stmt *statement = NULL;
    assert_int_equal(sqlite3_prepare_v2(room->other, sql, -1, &statement, NULL), SQLITE_OK);
    char *text = NULL;
    if (sqlite3_step(statement) == SQLITE_ROW) {
        text = g_strdup((const char *)sqlite3_column_text(statement, 0));
    }
    sqlite3_finalize(statement);
    return text;
}

char *store_room_text(struct store_room *room, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    char *text = first(room, format, args);
    va_end(args);
    return text;
}

int64_t store_room_number(struct store_room *room, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *text = first(room, format, args);
    va_end(args);
    return text ? g_ascii_strtoll(text, NULL, 10) : -1;
}

void store_room_people(struct store_room *room)
{
    store_room_exec(room, "INSERT INTO customer (id, name, phone, mail, added_at) VALUES"
                          " (1, 'Ada Example', '+447700900001', 'ada@example.com', 1000),"
                          " (2, 'Ben Example', '+447700900002', 'ben@example.com', 1000)");
    store_room_exec(room, "INSERT INTO car (id, customer, plate, plate_key, added_at) VALUES"
                          " (1, 1, 'AB 1', 'AB1', 1000), (2, 2, 'AB 2', 'AB2', 1000)");
    store_room_exec(room, "INSERT INTO rule_version (id, product, text, stored_at)"
                          " VALUES (1, 'spray', 'life', 1000)");
    store_room_exec(room, "INSERT INTO job (id, car, customer, finished_at, entered_at) VALUES"
                          " (1, 1, 1, 2000, 2000), (2, 2, 2, 2000, 2000)");
    store_room_exec(room, "INSERT INTO treatment (id, job, rule, surface, last_coat_at) VALUES"
                          " (1, 1, 1, 'wheels', 2000), (2, 2, 1, 'wheels', 2000)");
    store_room_exec(room, "DELETE FROM touched");
}

void store_room_begin(struct store_room *room)
{
    GError *error = NULL;
    bl_store_begin(room->store, 1000, &error);
    assert_well(error);
}

void store_room_commit(struct store_room *room)
{
    GError *error = NULL;
    bl_store_commit(room->store, &error);
    assert_well(error);
}

static int by_value(gconstpointer a, gconstpointer b)
{
    const int64_t *one = a;
    const int64_t *other = b;
    return (*one > *other) - (*one < *other);
}

char *store_room_drain(struct store_room *room, int64_t now)
{
    g_autoptr(GArray) customers = g_array_new(FALSE, FALSE, sizeof(int64_t));
    GError *error = NULL;
    store_room_begin(room);
    bl_store_drain(room->store, now, 1000, customers, &error);
    assert_well(error);
    store_room_commit(room);
    g_array_sort(customers, by_value);
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < customers->len; i++) {
        g_string_append_printf(text, "%s%" G_GINT64_FORMAT, i ? " " : "",
                               g_array_index(customers, int64_t, i));
    }
    return g_string_free(text, FALSE);
}
