/*
 * Consents: every yes and no of a customer, by class, with when, how and in what words. Rows
 * are only ever added; the newest of a class counts.
 */
#include "beadline/lookup.h"
#include "beadline/records.h"

#include "checks.h"
#include "columns.h"

static bool check(const struct bl_consent_row *row, GError **error)
{
    g_assert(row->class < BL_CLASSES);
    return bl_check_at(row->at, "date of the consent", error) &&
           bl_check_line(row->how, "way the consent was given", error) &&
           bl_check_note(row->words, "words of the consent", error);
}

static const char CUSTOMER[] = "SELECT id FROM customer WHERE id = ?1";
static const char ADD[] = "INSERT INTO consent (customer, class, given, at, how, words)"
                          " VALUES (?1, ?2, ?3, ?4, ?5, ?6)";

bool bl_consent_add(struct bl_store *store, const struct bl_consent_row *row, GError **error)
{
    return check(row, error) &&
           bl_must_exist(store, CUSTOMER, "customer", row->customer, error) &&
           bl_sql_run(store, ADD,
                      BL_VALUES(bl_int(row->customer), bl_text(bl_class_name(row->class)),
                                bl_int(row->given), bl_int(row->at), bl_text(row->how),
                                bl_text(row->words ? row->words : "")),
                      error);
}

static void clear(gpointer data)
{
    struct bl_consent_row *row = data;
    g_free(row->how);
    g_free(row->words);
}

static const char LIST[] = "SELECT customer, at, class, given, how, words FROM consent"
                           " WHERE customer = ?1 ORDER BY at DESC, id DESC";

GArray *bl_consent_list(struct bl_store *store, int64_t customer, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_consent_row), clear);
    BL_ROWS rows = bl_rows(store, LIST, BL_VALUES(bl_int(customer)));
    while (bl_rows_next(&rows)) {
        struct bl_consent_row row = {.customer = bl_rows_int(&rows, 0),
                                     .at = bl_rows_int(&rows, 1),
                                     .given = bl_rows_int(&rows, 3) == 1};
        if (bl_class_of(bl_rows_text(&rows, 2), &row.class)) {
            row.how = bl_column_note(&rows, 4);
            row.words = bl_column_note(&rows, 5);
            g_array_append_val(list, row);
        }
    }
    return bl_row_array_end(list, &rows, error);
}
