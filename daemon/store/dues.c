/*
 * Dues as they are shown, and the facts the last plans left out.
 */
#include "beadline/letterbook.h"
#include "ledger_sql.h"

#define COLUMNS                                                                                \
    "SELECT id, customer, car, job, treatment, kind, subject, ordinal, from_at, best_by,"      \
    " not_after, ended_at, held, end, reason, numbers, rule, vanished FROM due "
#define ORDER " ORDER BY end IS NOT NULL, from_at, kind, subject, ordinal"

static const char OF_CUSTOMER[] = COLUMNS "WHERE customer = ?1" ORDER;
static const char OF_ALL[] = COLUMNS "WHERE ?1 = 0" ORDER;

static void clear_row(gpointer data)
{
    struct bl_due_row *row = data;
    g_free(row->held);
    g_free(row->end);
    g_free(row->reason);
    g_free(row->numbers);
}

static struct bl_due_row read_row(struct bl_rows *rows)
{
    struct bl_due_row row = {
        .id = bl_rows_int(rows, 0),
        .customer = bl_rows_int(rows, 1),
        .car = bl_rows_int(rows, 2),
        .job = bl_rows_int(rows, 3),
        .treatment = bl_rows_int(rows, 4),
        .subject = bl_rows_int(rows, 6),
        .ordinal = (int)bl_rows_int(rows, 7),
        .from = bl_rows_int(rows, 8),
        .best_by = bl_rows_int(rows, 9),
        .not_after = bl_rows_int(rows, 10),
        .ended_at = bl_rows_int(rows, 11),
        .held = bl_rows_dup(rows, 12),
        .end = bl_rows_dup(rows, 13),
        .reason = bl_rows_dup(rows, 14),
        .numbers = bl_rows_dup(rows, 15),
        .rule = bl_rows_int(rows, 16),
        .vanished = bl_rows_int(rows, 17) != 0,
    };
    BL_ROWS_WORD(rows, 5, bl_kind_of, &row.kind);
    return row;
}

GArray *bl_due_list(struct bl_store *store, int64_t customer, GError **error)
{
    GArray *list = g_array_new(FALSE, FALSE, sizeof(struct bl_due_row));
    g_array_set_clear_func(list, clear_row);
    BL_ROWS rows = bl_rows(store, customer ? OF_CUSTOMER : OF_ALL, BL_VALUES(bl_int(customer)));
    while (bl_rows_next(&rows)) {
        struct bl_due_row row = read_row(&rows);
        g_array_append_val(list, row);
    }
    if (!bl_rows_end(&rows, error)) {
        g_clear_pointer(&list, g_array_unref);
    }
    return list;
}

static const char SKIPPED[] = "SELECT c.name || ': ' || s.text FROM skipped s"
                              " JOIN customer c ON c.id = s.customer ORDER BY c.name, s.id";

GPtrArray *bl_skipped_list(struct bl_store *store, GError **error)
{
    GPtrArray *list = g_ptr_array_new_with_free_func(g_free);
    BL_ROWS rows = bl_rows(store, SKIPPED, NULL);
    while (bl_rows_next(&rows)) {
        g_ptr_array_add(list, bl_rows_dup(&rows, 0));
    }
    if (!bl_rows_end(&rows, error)) {
        g_clear_pointer(&list, g_ptr_array_unref);
    }
    return list;
}
