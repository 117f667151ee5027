/*
 * Messages as they are shown: the list with its restrictions, and one by its number.
 */
#include "beadline/letterbook.h"
#include "ledger_sql.h"

void bl_message_row_clear(struct bl_message_row *row)
{
    char **texts[] = {&row->customer_name, &row->cars,   &row->key,      &row->gateway,
                      &row->address,       &row->reason, &row->text,     &row->subject,
                      &row->html,          &row->answer, &row->reference};
    for (guint i = 0; i < G_N_ELEMENTS(texts); i++) {
        g_clear_pointer(texts[i], g_free);
    }
}

#define COLUMNS                                                                                \
    "m.id, m.customer, c.name, (SELECT group_concat(plate, ', ') FROM (SELECT DISTINCT"        \
    " a.plate AS plate FROM message_due l JOIN due d ON d.id = l.due"                          \
    " JOIN car a ON a.id = d.car WHERE l.message = m.id ORDER BY a.id)), m.key, m.kind,"       \
    " m.class, m.channel, m.state, m.gateway, m.address, m.reason, m.subject, m.text, m.html," \
    " m.reference, (SELECT t.answer FROM attempt t WHERE t.message = m.id"                     \
    " ORDER BY t.number DESC LIMIT 1), m.from_at, m.send_at, m.not_before, m.not_after,"       \
    " m.claimed_at, m.ended_at, m.attempts"

/* A removed customer and cars nobody has are shown as nothing rather than hidden. */
static char *shown(const struct bl_rows *rows, int column)
{
    return g_strdup(bl_rows_word(rows, column));
}

static void read_row(struct bl_rows *rows, struct bl_message_row *row)
{
    *row = (struct bl_message_row){
        .id = bl_rows_int(rows, 0),
        .customer = bl_rows_int(rows, 1),
        .customer_name = shown(rows, 2),
        .cars = shown(rows, 3),
        .key = bl_rows_dup(rows, 4),
        .gateway = bl_rows_dup(rows, 9),
        .address = bl_rows_dup(rows, 10),
        .reason = bl_rows_dup(rows, 11),
        .subject = bl_rows_dup(rows, 12),
        .text = bl_rows_dup(rows, 13),
        .html = bl_rows_dup(rows, 14),
        .reference = bl_rows_dup(rows, 15),
        .answer = bl_rows_dup(rows, 16),
        .from = bl_rows_int(rows, 17),
        .send_at = bl_rows_int(rows, 18),
        .not_before = bl_rows_int(rows, 19),
        .not_after = bl_rows_int(rows, 20),
        .claimed_at = bl_rows_int(rows, 21),
        .ended_at = bl_rows_int(rows, 22),
        .attempts = (int)bl_rows_int(rows, 23),
    };
    BL_ROWS_WORD(rows, 5, bl_kind_of, &row->kind);
    BL_ROWS_WORD(rows, 6, bl_class_of, &row->class);
    BL_ROWS_WORD(rows, 7, bl_channel_of, &row->channel);
    BL_ROWS_WORD(rows, 8, bl_state_of, &row->state);
}

/* What every list restricts by; ?1 is ",planned,paused," and so on. The rows are picked and cut
 * to the limit before anything is looked up for them. */
#define PICKED                                                                                 \
    " AND instr(?1, ',' || m.state || ',') > 0 AND (?2 = 0 OR m.customer = ?2)"                \
    " AND (?3 = 0 OR EXISTS (SELECT 1 FROM message_due l JOIN due d ON d.id = l.due"           \
    " WHERE l.message = m.id AND d.car = ?3))"                                                 \
    " AND (?4 = 0 OR EXISTS (SELECT 1 FROM message_due l JOIN due d ON d.id = l.due"           \
    " WHERE l.message = m.id AND d.job = ?4))"                                                 \
    " AND (?5 = 0 OR m.send_at < ?5) AND (?6 = 0 OR m.ended_at >= ?6)"
#define BY_SEND  "m.send_at, m.id"
#define BY_ENDED "coalesce(m.ended_at, m.send_at) DESC, m.id DESC"
#define LIST(driven, order)                                                                    \
    "SELECT " COLUMNS " FROM (SELECT m.id FROM message m WHERE " driven PICKED                 \
    " ORDER BY " order " LIMIT ?7) p JOIN message m ON m.id = p.id"                            \
    " LEFT JOIN customer c ON c.id = m.customer ORDER BY " order
#define LIST_BOTH(driven)                                                                      \
    {                                                                                          \
        LIST(driven, BY_SEND), LIST(driven, BY_ENDED)                                          \
    }

/* What the list is found by: the narrowest index that serves. */
enum drive { BY_JOB, BY_CAR, BY_CUSTOMER, BY_END, BY_OPEN, BY_ALL, DRIVES };

static const char *const lists[DRIVES][2] = {
    [BY_JOB] = LIST_BOTH("m.id IN (SELECT l.message FROM due d JOIN message_due l"
                         " ON l.due = d.id WHERE d.job = ?4)"),
    [BY_CAR] = LIST_BOTH("m.id IN (SELECT l.message FROM due d JOIN message_due l"
                         " ON l.due = d.id WHERE d.car = ?3)"),
    [BY_CUSTOMER] = LIST_BOTH("m.customer = ?2"),
    [BY_END] = LIST_BOTH("m.ended_at >= ?6"),
    [BY_OPEN] = LIST_BOTH("m.state IN ('planned', 'paused')"),
    [BY_ALL] = LIST_BOTH("1"),
};

static enum drive drive_of(const struct bl_message_query *query)
{
    guint open = 1U << BL_PLANNED | 1U << BL_PAUSED;
    if (query->job) {
        return BY_JOB;
    }
    if (query->car) {
        return BY_CAR;
    }
    if (query->customer) {
        return BY_CUSTOMER;
    }
    if (query->ended_since) {
        return BY_END;
    }
    return query->states && !(query->states & ~open) ? BY_OPEN : BY_ALL;
}

static char *states_of(guint bits)
{
    GString *states = g_string_new(",");
    for (guint state = 0; state < BL_STATES; state++) {
        if (!bits || (bits & 1U << state)) {
            g_string_append_printf(states, "%s,", bl_state_name((enum bl_state)state));
        }
    }
    return g_string_free(states, FALSE);
}

static void clear_row(gpointer row)
{
    bl_message_row_clear(row);
}

GArray *bl_message_list(struct bl_store *store, const struct bl_message_query *query,
                        GError **error)
{
    g_autofree char *states = states_of(query->states);
    GArray *list = g_array_new(FALSE, FALSE, sizeof(struct bl_message_row));
    g_array_set_clear_func(list, clear_row);
    BL_ROWS rows = bl_rows(store, lists[drive_of(query)][query->newest_first],
                           BL_VALUES(bl_text(states), bl_int(query->customer),
                                     bl_int(query->car), bl_int(query->job),
                                     bl_int(query->send_before), bl_int(query->ended_since),
                                     bl_int(query->limit ? (int64_t)query->limit : -1)));
    while (bl_rows_next(&rows)) {
        struct bl_message_row row;
        read_row(&rows, &row);
        g_array_append_val(list, row);
    }
    if (!bl_rows_end(&rows, error)) {
        g_clear_pointer(&list, g_array_unref);
    }
    return list;
}

static const char GET[] = "SELECT " COLUMNS " FROM message m"
                          " LEFT JOIN customer c ON c.id = m.customer WHERE m.id = ?1";

bool bl_message_get(struct bl_store *store, int64_t id, struct bl_message_row *row,
                    GError **error)
{
    BL_ROWS rows = bl_rows(store, GET, BL_VALUES(bl_int(id)));
    bool found = bl_rows_next(&rows);
    if (found) {
        read_row(&rows, row);
    }
    if (!bl_rows_end(&rows, error)) {
        if (found) {
            bl_message_row_clear(row);
        }
        return false;
    }
    return found || bl_no_such_message(id, error);
}
