/*
 * The plan goes in, first half: the stored dues of the customer become those of the plan.
 * Nothing is written where nothing changed: the comparison is part of each statement.
 */
#include "apply.h"

static const char FIND[] =
    "SELECT d.id, d.end IS NOT NULL AND d.vanished = 0, m.id, m.customer, m.state"
    " FROM due d LEFT JOIN message_due l ON l.due = d.id LEFT JOIN message m ON m.id = l.message"
    " WHERE d.kind = ?1 AND d.subject = ?2 AND d.ordinal = ?3";

struct row {
    int64_t id; /* 0: there is none */
    bool ended; /* for good */
    int64_t message, message_customer;
    enum bl_state state; /* the message's */
};

static bool find(struct bl_store *store, const struct bl_due *due, struct row *row,
                 GError **error)
{
    BL_ROWS rows = bl_rows(store, FIND,
                           BL_VALUES(bl_text(bl_kind_name(due->kind)), bl_int(due->subject),
                                     bl_int(due->ordinal)));
    *row = (struct row){.state = BL_PLANNED};
    if (bl_rows_next(&rows)) {
        row->id = bl_rows_int(&rows, 0);
        row->ended = bl_rows_int(&rows, 1) != 0;
        row->message = bl_rows_int(&rows, 2);
        row->message_customer = bl_rows_int(&rows, 3);
        if (row->message) {
            BL_ROWS_WORD(&rows, 4, bl_state_of, &row->state);
        }
    }
    return bl_rows_end(&rows, error);
}

#define HELD "CASE WHEN ?12 THEN coalesce(held, ?10) ELSE ?10 END"

static const char CHANGE[] =
    "UPDATE due SET customer = ?2, car = ?3, job = ?4, treatment = ?5, rule = ?6, from_at = ?7,"
    " best_by = ?8, not_after = ?9, held = " HELD ", numbers = ?11,"
    " end = NULL, reason = NULL, ended_at = NULL, vanished = 0"
    " WHERE id = ?1 AND (end IS NOT NULL OR customer <> ?2 OR car IS NOT ?3 OR job IS NOT ?4"
    " OR treatment IS NOT ?5 OR rule IS NOT ?6 OR from_at <> ?7 OR best_by <> ?8"
    " OR not_after <> ?9 OR held IS NOT " HELD " OR numbers <> ?11)";

static bool change(struct bl_applying *applying, const struct bl_due *due,
                   const struct bl_rider *rider, GError **error)
{
    char numbers[BL_NUMBERS_SIZE];
    bl_apply_numbers(due, numbers);
    return bl_sql_run(applying->store, CHANGE,
                      BL_VALUES(bl_int(rider->id), bl_int(applying->customer),
                                bl_int_or_null(due->car, 0), bl_int_or_null(due->job, 0),
                                bl_int_or_null(due->treatment, 0),
                                bl_int_or_null(due->rule_id, 0), bl_int(due->from),
                                bl_int(due->best_by), bl_int(due->not_after),
                                bl_text(rider->held), bl_text(numbers), bl_int(rider->past)),
                      error);
}

static const char UNLINK[] = "DELETE FROM message_due WHERE due = ?1";

static bool is_unsent(enum bl_state state)
{
    return state == BL_PLANNED || state == BL_PAUSED;
}

static bool has_begun(enum bl_state state)
{
    return !is_unsent(state) && state != BL_WITHDRAWN && state != BL_LAPSED;
}

/* A due whose car has a new owner leaves the old owner's unsent message, and one that comes
 * back leaves the message it was withdrawn with: a message that has nothing to say never goes.
 */
static bool bring_in(struct bl_applying *applying, guint index, GError **error)
{
    const struct bl_due *due = &g_array_index(applying->plan->dues, struct bl_due, index);
    struct bl_rider *rider = &g_array_index(applying->riders, struct bl_rider, index);
    struct row row;
    if (!find(applying->store, due, &row, error)) {
        return false;
    }
    if (!row.id) {
        return bl_apply_new_dues(applying, index, 1, error);
    }
    rider->id = row.id;
    if (row.ended || (row.message && has_begun(row.state))) {
        return true;
    }
    rider->free = true;
    if (row.message && is_unsent(row.state) && row.message_customer == applying->customer) {
        rider->message = row.message;
    } else if (row.message &&
               !bl_sql_run(applying->store, UNLINK, BL_VALUES(bl_int(row.id)), error)) {
        return false;
    }
    if (rider->past && rider->message && row.state == BL_PAUSED) {
        rider->held = "paused by the owner";
        rider->past = false;
    }
    return change(applying, due, rider, error);
}

static const char OPEN[] =
    "SELECT d.id, d.treatment FROM due d WHERE d.customer = ?1 AND d.end IS NULL"
    " AND d.not_after >= ?2 AND NOT " BL_SQL_RIDES("d") " ORDER BY d.id";
static const char VANISH[] =
    "UPDATE due SET end = 'withdrawn', vanished = 1, ended_at = ?2, reason = coalesce("
    "(SELECT CASE WHEN c.customer <> due.customer THEN 'the car has another owner'"
    " WHEN c.gone_at <= ?2 THEN 'the car is gone' || coalesce(': ' || c.gone_how, '') END"
    " FROM car c WHERE c.id = due.car), ?3, CASE WHEN due.kind IN ('top-up', 'care', 'look-over')"
    " AND NOT EXISTS (SELECT 1 FROM treatment t WHERE t.id = due.subject) THEN 'its treatment was"
    " removed' WHEN due.kind IN ('handover', 'wash')"
    " AND NOT EXISTS (SELECT 1 FROM job j WHERE j.id = due.subject) THEN 'its job was removed'"
    " ELSE 'no longer due' END) WHERE id = ?1";

struct forgotten {
    int64_t id, treatment;
};

/* The customer's open dues that no rider stands for. One whose window has passed lapses. */
static GArray *forgotten(struct bl_applying *applying, GError **error)
{
    g_autoptr(GHashTable) planned = g_hash_table_new(g_int64_hash, g_int64_equal);
    for (guint i = 0; i < applying->riders->len; i++) {
        g_hash_table_add(planned, &g_array_index(applying->riders, struct bl_rider, i).id);
    }
    GArray *dues = g_array_new(FALSE, FALSE, sizeof(struct forgotten));
    BL_ROWS rows = bl_rows(applying->store, OPEN,
                           BL_VALUES(bl_int(applying->customer), bl_int(applying->now)));
    while (bl_rows_next(&rows)) {
        struct forgotten due = {bl_rows_int(&rows, 0), bl_rows_int(&rows, 1)};
        if (!g_hash_table_contains(planned, &due.id)) {
            g_array_append_val(dues, due);
        }
    }
    if (!bl_rows_end(&rows, error)) {
        g_clear_pointer(&dues, g_array_unref);
    }
    return dues;
}

/* What ended the treatment, "it has come off: stripped"; NULL when nothing did. Caller frees.
 */
static char *why_over(const struct bl_plan *plan, int64_t treatment)
{
    for (guint i = 0; i < plan->over->len; i++) {
        const struct bl_over *over = &g_array_index(plan->over, struct bl_over, i);
        if (over->treatment == treatment) {
            return g_strdup_printf("it is over: %s", over->by);
        }
    }
    return NULL;
}

static bool vanish(struct bl_applying *applying, GError **error)
{
    g_autoptr(GArray) dues = forgotten(applying, error);
    if (!dues) {
        return false;
    }
    for (guint i = 0; i < dues->len; i++) {
        const struct forgotten *due = &g_array_index(dues, struct forgotten, i);
        g_autofree char *over = why_over(applying->plan, due->treatment);
        if (!bl_sql_run(applying->store, VANISH,
                        BL_VALUES(bl_int(due->id), bl_int(applying->now), bl_text(over)),
                        error)) {
            return false;
        }
    }
    return true;
}

/* What restraint made give is held like what the plan itself holds. */
static void hold_back(struct bl_applying *applying)
{
    for (guint i = 0; i < applying->plan->intents->len; i++) {
        const struct bl_intent *intent =
            &g_array_index(applying->plan->intents, struct bl_intent, i);
        for (guint j = 0; intent->lapse && j < intent->dues->len; j++) {
            guint due = g_array_index(intent->dues, guint, j);
            struct bl_rider *rider = &g_array_index(applying->riders, struct bl_rider, due);
            rider->past = rider->past || (intent->too_late && !rider->held);
            rider->held = rider->held ? rider->held : intent->lapse;
        }
    }
}

static const char KNOWN[] = "SELECT EXISTS (SELECT 1 FROM due WHERE customer = ?1)";

/* Dues first .. first + count of the plan. Of a customer that nothing is known of none is
 * looked for; but a key may be taken by a due of the car's former owner, and then each is. */
static bool bring_several(struct bl_applying *applying, guint first, guint count, bool known,
                          GError **error)
{
    GError *refusal = NULL;
    if (!known && bl_apply_new_dues(applying, first, count, &refusal)) {
        return true;
    }
    if (refusal && !g_error_matches(refusal, BL_ERROR, BL_ERROR_REFUSED)) {
        g_propagate_error(error, refusal);
        return false;
    }
    g_clear_error(&refusal);
    for (guint i = first; i < first + count; i++) {
        if (!bring_in(applying, i, error)) {
            return false;
        }
    }
    return true;
}

bool bl_apply_dues(struct bl_applying *applying, GError **error)
{
    const GArray *dues = applying->plan->dues;
    int64_t known = 0;
    for (guint i = 0; i < dues->len; i++) {
        const struct bl_due *due = &g_array_index(dues, struct bl_due, i);
        struct bl_rider rider = {.held = due->held,
                                 .past = !due->held && due->not_after < applying->now};
        g_array_append_val(applying->riders, rider);
    }
    hold_back(applying);
    if (!bl_sql_number(applying->store, KNOWN, BL_VALUES(bl_int(applying->customer)), 0, &known,
                       error)) {
        return false;
    }
    for (guint i = 0; i < dues->len; i += BL_INSERT_ROWS) {
        if (!bring_several(applying, i, MIN(dues->len - i, BL_INSERT_ROWS), known != 0,
                           error)) {
            return false;
        }
    }
    return !known || vanish(applying, error);
}

static const char REPLAN_AT[] =
    "INSERT INTO replan (customer, at) VALUES (?1, ?2)"
    " ON CONFLICT (customer) DO UPDATE SET at = excluded.at WHERE at IS NOT excluded.at";
static const char REPLAN_NEVER[] =
    "UPDATE replan SET at = NULL WHERE customer = ?1 AND at IS NOT NULL";

/* An instant that has come already would make the daemon spin. */
static bool replan(struct bl_store *store, int64_t customer, int64_t at, int64_t now,
                   GError **error)
{
    if (at == BL_NEVER) {
        return bl_sql_run(store, REPLAN_NEVER, BL_VALUES(bl_int(customer)), error);
    }
    return bl_sql_run(store, REPLAN_AT, BL_VALUES(bl_int(customer), bl_int(MAX(at, now + 1))),
                      error);
}

static const char SKIPPED[] = "SELECT text FROM skipped WHERE customer = ?1 ORDER BY id";
static const char SKIPPED_FORGET[] = "DELETE FROM skipped WHERE customer = ?1";
static const char SKIPPED_ADD[] = "INSERT INTO skipped (customer, text) VALUES (?1, ?2)";

static bool skipped_same(struct bl_store *store, int64_t customer, const GPtrArray *texts,
                         bool *same, GError **error)
{
    BL_ROWS rows = bl_rows(store, SKIPPED, BL_VALUES(bl_int(customer)));
    guint i = 0;
    *same = true;
    while (bl_rows_next(&rows) && *same) {
        *same = i < texts->len && g_str_equal(bl_rows_word(&rows, 0), texts->pdata[i]);
        i++;
    }
    *same = *same && i == texts->len;
    return bl_rows_end(&rows, error);
}

static bool skip(struct bl_store *store, int64_t customer, const GPtrArray *texts,
                 GError **error)
{
    bool same = false;
    if (!skipped_same(store, customer, texts, &same, error)) {
        return false;
    }
    if (same) {
        return true;
    }
    if (!bl_sql_run(store, SKIPPED_FORGET, BL_VALUES(bl_int(customer)), error)) {
        return false;
    }
    for (guint i = 0; i < texts->len; i++) {
        if (!bl_sql_run(store, SKIPPED_ADD,
                        BL_VALUES(bl_int(customer), bl_text(texts->pdata[i])), error)) {
            return false;
        }
    }
    return true;
}

bool bl_store_apply(struct bl_store *store, int64_t customer, const struct bl_plan *plan,
                    int64_t now, struct bl_chance chance, GError **error)
{
    g_autoptr(GArray) riders = g_array_new(FALSE, TRUE, sizeof(struct bl_rider));
    struct bl_applying applying = {.store = store,
                                   .customer = customer,
                                   .now = now,
                                   .plan = plan,
                                   .chance = chance,
                                   .riders = riders};
    return bl_apply_dues(&applying, error) && bl_apply_messages(&applying, error) &&
           skip(store, customer, plan->skipped, error) &&
           replan(store, customer, plan->replan_at, now, error);
}
