/*
 * The facts of one customer: where the store hands over to planning. The order of the steps is
 * here; the tables are read in the files facts_*.c.
 */
#include "facts_read.h"

#include "beadline/text.h"
#include "checks.h"
#include "columns.h"

/* Steps, as a table: each needs what those before it read. */
static bool (*const steps[])(struct bl_reader *, GError **) = {
    bl_read_person,     bl_read_consents, bl_read_cars,    bl_read_mileage, bl_read_jobs,
    bl_read_treatments, bl_read_events,   bl_read_orphans, bl_read_told,    bl_read_ended,
};

static bool read_all(struct bl_reader *reader, GError **error)
{
    g_autoptr(GHashTable) jobs =
        g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, g_free);
    g_autoptr(GHashTable) treatments =
        g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, g_free);
    reader->jobs = jobs;
    reader->treatments = treatments;
    for (guint i = 0; i < G_N_ELEMENTS(steps); i++) {
        if (!steps[i](reader, error)) {
            return false;
        }
    }
    return true;
}

static const char SNAPSHOT[] = "BEGIN";
static const char RELEASE[] = "COMMIT";

bool bl_store_facts(struct bl_store *store, int64_t customer, const struct bl_rule_book *book,
                    struct bl_facts *facts, GError **error)
{
    struct bl_reader reader = {
        .store = store, .facts = facts, .book = book, .customer = customer};
    if (!sqlite3_get_autocommit(store->db)) {
        return read_all(&reader, error);
    }
    /* Without a snapshot a writer between two statements could leave us a treatment whose job
     * we did not see. */
    if (sqlite3_exec(store->db, SNAPSHOT, NULL, NULL, NULL) != SQLITE_OK) {
        return bl_sql_fail(store->db, store->path, error);
    }
    bool well = read_all(&reader, error);
    sqlite3_exec(store->db, RELEASE, NULL, NULL, NULL);
    return well;
}

bool bl_reader_asks(struct bl_reader *reader, const char *question, bool *yes, GError **error)
{
    int64_t answer = 0;
    bool done = bl_sql_number(reader->store, question, BL_VALUES(bl_int(reader->customer)), 0,
                              &answer, error);
    *yes = answer != 0;
    return done;
}

void bl_reader_skip(struct bl_reader *reader, const char *table, int64_t id, GError *error)
{
    char *line = g_strdup_printf("%s %" G_GINT64_FORMAT ": %s", table, id, error->message);
    g_ptr_array_add(reader->facts->skipped, line);
    g_error_free(error);
}

static gint by_id(gconstpointer a, gconstpointer b)
{
    int64_t x = ((const struct bl_car *)a)->id;
    int64_t y = ((const struct bl_car *)b)->id;
    return (x > y) - (x < y);
}

struct bl_car *bl_reader_car(struct bl_reader *reader, int64_t id, GError **error)
{
    const struct bl_car wanted = {.id = id};
    guint place;
    if (g_array_binary_search(reader->facts->cars, &wanted, by_id, &place)) {
        return &g_array_index(reader->facts->cars, struct bl_car, place);
    }
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "its car %" G_GINT64_FORMAT " is left out: mend that one", id);
    return NULL;
}

void bl_reader_keep(GHashTable *rows, int64_t id, int64_t car)
{
    g_hash_table_insert(rows, g_memdup2(&id, sizeof id), g_memdup2(&car, sizeof car));
}

int64_t bl_reader_kept(GHashTable *rows, int64_t id)
{
    const int64_t *car = g_hash_table_lookup(rows, &id);
    return car ? *car : 0;
}

bool bl_reader_line(const struct bl_rows *rows, int column, const char *what, char **text,
                    GError **error)
{
    const char *whole;
    if (!bl_column_whole(rows, column, what, &whole, error)) {
        return false;
    }
    if (!whole || !*whole) {
        *text = NULL;
        return true;
    }
    if (!bl_check_line(whole, what, error)) {
        return false;
    }
    *text = g_strdup(whole);
    return true;
}

bool bl_reader_unknown(const char *what, const char *word, GError **error)
{
    g_autofree char *shown = bl_text_printable(word ? word : "");
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "%s \"%s\" is unknown: give one of the words the command takes", what, shown);
    return false;
}
