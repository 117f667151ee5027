/*
 * Waking: who is to be planned, and when there is something to do again. Triggers append to
 * `touched` whoever writes; this drains it.
 */
#include "ledger_sql.h"
#include "sql.h"

static const char TOUCHED_FIRST[] = "SELECT customer FROM touched ORDER BY id LIMIT 1";
static const char TOUCHED_FORGET[] = "DELETE FROM touched WHERE customer = ?1";
static const char TIMED_FIRST[] =
    "SELECT customer FROM replan WHERE at <= ?1 ORDER BY at, customer LIMIT 1";
static const char TIMED_TAKE[] = "UPDATE replan SET at = NULL WHERE customer = ?1 AND at <= ?2";
static const char CUSTOMER_THERE[] = "SELECT count(*) FROM customer WHERE id = ?1";

/* What is left of a customer whose row somebody removed: nothing may go to him any more. */
static const char GONE_DUES[] =
    "UPDATE due AS d SET end = 'withdrawn', vanished = 1, ended_at = ?2,"
    " reason = 'the customer is no longer there'"
    " WHERE d.customer = ?1 AND d.end IS NULL AND NOT " BL_SQL_RIDES("d");
static const char GONE_MESSAGES[] = "UPDATE message SET state = 'withdrawn', ended_at = ?2,"
                                    " reason = 'the customer is no longer there'"
                                    " WHERE customer = ?1 AND state IN ('planned', 'paused')";
static const char GONE_REPLAN[] = "DELETE FROM replan WHERE customer = ?1";
static const char GONE_SKIPPED[] = "DELETE FROM skipped WHERE customer = ?1";

static bool clear_away(struct bl_store *store, int64_t customer, int64_t now, GError **error)
{
    return bl_sql_run(store, GONE_DUES, BL_VALUES(bl_int(customer), bl_int(now)), error) &&
           bl_sql_run(store, GONE_MESSAGES, BL_VALUES(bl_int(customer), bl_int(now)), error) &&
           bl_sql_run(store, GONE_REPLAN, BL_VALUES(bl_int(customer)), error) &&
           bl_sql_run(store, GONE_SKIPPED, BL_VALUES(bl_int(customer)), error);
}

/* The next customer of either list, 0 when both are done. An id is never 0 or less than 1. */
static bool next(struct bl_store *store, int64_t now, int64_t *customer, bool *found,
                 GError **error)
{
    *found = true;
    BL_ROWS touched = bl_rows(store, TOUCHED_FIRST, NULL);
    if (bl_rows_next(&touched)) {
        *customer = bl_rows_int(&touched, 0);
        return bl_rows_end(&touched, error);
    }
    if (!bl_rows_end(&touched, error)) {
        return false;
    }
    BL_ROWS timed = bl_rows(store, TIMED_FIRST, BL_VALUES(bl_int(now)));
    *found = bl_rows_next(&timed);
    if (*found) {
        *customer = bl_rows_int(&timed, 0);
    }
    return bl_rows_end(&timed, error);
}

/* Takes the customer off both lists; he must have been on one of them. */
static bool strike(struct bl_store *store, int64_t customer, int64_t now, GError **error)
{
    if (!bl_sql_run(store, TOUCHED_FORGET, BL_VALUES(bl_int(customer)), error)) {
        return false;
    }
    int64_t struck = bl_sql_changed(store);
    if (!bl_sql_run(store, TIMED_TAKE, BL_VALUES(bl_int(customer), bl_int(now)), error)) {
        return false;
    }
    return struck + bl_sql_changed(store) > 0 || bl_sql_stuck(store, error);
}

static bool take(struct bl_store *store, int64_t customer, int64_t now, bool *there,
                 GError **error)
{
    int64_t rows = 0;
    if (!strike(store, customer, now, error) ||
        !bl_sql_number(store, CUSTOMER_THERE, BL_VALUES(bl_int(customer)), 0, &rows, error)) {
        return false;
    }
    *there = rows > 0;
    return *there || clear_away(store, customer, now, error);
}

bool bl_store_drain(struct bl_store *store, int64_t now, guint limit, GArray *customers,
                    GError **error)
{
    for (guint taken = 0; taken < limit;) {
        int64_t customer = 0;
        bool found = false;
        bool there = false;
        if (!next(store, now, &customer, &found, error)) {
            return false;
        }
        if (!found) {
            return true;
        }
        if (!take(store, customer, now, &there, error)) {
            return false;
        }
        if (there) {
            g_array_append_val(customers, customer);
            taken++;
        }
    }
    return true;
}

static const char TOUCH_ALL[] = "INSERT INTO touched (customer) SELECT id FROM customer";

bool bl_store_touch_all(struct bl_store *store, GError **error)
{
    return bl_sql_run(store, TOUCH_ALL, NULL, error);
}

/* Each a lookup in an index. A message by hand does not go by itself, so only its window
 * counts; so does a paused one's. What rides on a message that has begun has no instant of its
 * own: the outcome ends it. `after`: the window is over one second later. */
static const struct {
    const char *text;
    int after;
} ahead[] = {
    {"SELECT min(go_at) FROM message"
     " WHERE state = 'planned' AND channel = 'sms' AND go_at > ?1",
     0},
    {"SELECT min(go_at) FROM message"
     " WHERE state = 'planned' AND channel = 'mail' AND go_at > ?1",
     0},
    {"SELECT min(not_after) FROM message"
     " WHERE state IN ('planned', 'paused') AND not_after >= ?1",
     1},
    {"SELECT d.not_after FROM due d WHERE d.end IS NULL AND d.not_after >= ?1"
     " AND NOT " BL_SQL_RIDES("d") " ORDER BY d.not_after LIMIT 1",
     1},
    {"SELECT min(at) FROM replan WHERE at IS NOT NULL AND at > ?1", 0},
};

static const char WANTED[] = "SELECT EXISTS (SELECT 1 FROM touched)"
                             " OR EXISTS (SELECT 1 FROM replan WHERE at <= ?1)";

bool bl_store_wake(struct bl_store *store, int64_t now, int64_t *at, GError **error)
{
    int64_t wanted = 0;
    if (!bl_sql_number(store, WANTED, BL_VALUES(bl_int(now)), 0, &wanted, error)) {
        return false;
    }
    *at = wanted ? now : BL_NEVER;
    for (guint i = 0; i < G_N_ELEMENTS(ahead) && !wanted; i++) {
        int64_t next_at = BL_NEVER;
        if (!bl_sql_number(store, ahead[i].text, BL_VALUES(bl_int(now)), BL_NEVER, &next_at,
                           error)) {
            return false;
        }
        if (next_at < BL_NEVER - ahead[i].after) {
            *at = MIN(*at, next_at + ahead[i].after);
        }
    }
    return true;
}

static const char BY_HAND[] = "SELECT min(go_at) FROM message"
                              " WHERE state = 'planned' AND channel = 'by hand' AND go_at > ?1";

bool bl_store_wake_by_hand(struct bl_store *store, int64_t now, int64_t *at, GError **error)
{
    return bl_sql_number(store, BY_HAND, BL_VALUES(bl_int(now)), BL_NEVER, at, error);
}
