/*
 * Changes of a message's state, each by one statement, so that every way a message can go has
 * the same bookkeeping. Which changes exist is the table in the schema; its triggers end the
 * dues.
 */
#include "ledger_sql.h"

static const char STANDING[] =
    "SELECT state, channel, customer, not_after, address FROM message WHERE id = ?1";

bool bl_no_such_message(int64_t message, GError **error)
{
    g_set_error(error, BL_ERROR, BL_ERROR_MISSING, "there is no message %" G_GINT64_FORMAT,
                message);
    return false;
}

bool bl_message_standing(struct bl_store *store, int64_t message, struct bl_standing *standing,
                         GError **error)
{
    BL_ROWS rows = bl_rows(store, STANDING, BL_VALUES(bl_int(message)));
    if (!bl_rows_next(&rows)) {
        return bl_rows_end(&rows, error) && bl_no_such_message(message, error);
    }
    *standing = (struct bl_standing){
        .customer = bl_rows_int(&rows, 2),
        .not_after = bl_rows_int(&rows, 3),
        .address = bl_rows_dup(&rows, 4),
    };
    BL_ROWS_WORD(&rows, 0, bl_state_of, &standing->state);
    BL_ROWS_WORD(&rows, 1, bl_channel_of, &standing->channel);
    if (!bl_rows_end(&rows, error)) {
        g_clear_pointer(&standing->address, g_free);
        return false;
    }
    return true;
}

/* The states in which a message is over. */
static bool is_end(enum bl_state state)
{
    switch (state) {
    case BL_SENT:
    case BL_FAILED:
    case BL_LAPSED:
    case BL_WITHDRAWN:
        return true;
    case BL_PLANNED:
    case BL_PAUSED:
    case BL_CLAIMED:
    case BL_DELIVERED: /* sent has ended it */
    case BL_UNSURE:
    case BL_STATES:
        break;
    }
    return false;
}

static const char SET[] =
    "UPDATE message SET state = ?2, reason = ?3, ended_at = coalesce(?4, ended_at),"
    " claimed_at = CASE ?2 WHEN 'planned' THEN NULL WHEN 'claimed' THEN ?5"
    " ELSE claimed_at END,"
    " not_before = max(not_before, ?6), reference = coalesce(?7, reference) WHERE id = ?1";

bool bl_message_set(struct bl_store *store, int64_t message, const struct bl_change *change,
                    GError **error)
{
    int64_t ended_at = is_end(change->to) ? change->now : BL_NEVER;
    return bl_sql_run(store, SET,
                      BL_VALUES(bl_int(message), bl_text(bl_state_name(change->to)),
                                bl_text(change->reason), bl_int_or_null(ended_at, BL_NEVER),
                                bl_int(change->now), bl_int(change->not_before),
                                bl_text(change->reference)),
                      error);
}

static const char TOUCH[] = "INSERT INTO touched (customer) VALUES (?1)";

bool bl_store_touch(struct bl_store *store, int64_t customer, GError **error)
{
    return bl_sql_run(store, TOUCH, BL_VALUES(bl_int(customer)), error);
}

static const char ALLOWED[] =
    "SELECT count(*) FROM change_allowed WHERE from_state = ?1 AND to_state = ?2";

static bool may_become(struct bl_store *store, int64_t message,
                       const struct bl_standing *standing, enum bl_state to, GError **error)
{
    int64_t allowed = 0;
    const char *from = bl_state_name(standing->state);
    if (!bl_sql_number(store, ALLOWED, BL_VALUES(bl_text(from), bl_text(bl_state_name(to))), 0,
                       &allowed, error)) {
        return false;
    }
    if (!allowed) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "message %" G_GINT64_FORMAT " is \"%s\": it cannot become \"%s\"", message,
                    from, bl_state_name(to));
        return false;
    }
    if (to == BL_CLAIMED && standing->channel != BL_BY_HAND) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "message %" G_GINT64_FORMAT
                    " goes by %s: only one that goes by hand can be told by hand",
                    message, bl_channel_name(standing->channel));
        return false;
    }
    return true;
}

bool bl_message_change(struct bl_store *store, int64_t message, enum bl_state to,
                       const char *reason, int64_t now, GError **error)
{
    struct bl_standing standing = {0};
    if (!bl_message_standing(store, message, &standing, error)) {
        return false;
    }
    g_free(standing.address);
    struct bl_change change = {.to = to, .reason = reason, .now = now};
    return may_become(store, message, &standing, to, error) &&
           bl_message_set(store, message, &change, error) &&
           (!is_end(to) || bl_store_touch(store, standing.customer, error));
}

static const char STILL_TIME[] =
    "DELETE FROM message_due WHERE message = ?1"
    " AND due IN (SELECT id FROM due WHERE not_after >= ?2 AND end IS NULL)";

bool bl_message_lapse(struct bl_store *store, int64_t message, int64_t at, const char *reason,
                      int64_t now, GError **error)
{
    struct bl_standing standing = {0};
    if (!bl_message_standing(store, message, &standing, error)) {
        return false;
    }
    g_free(standing.address);
    if (!bl_sql_run(store, STILL_TIME, BL_VALUES(bl_int(message), bl_int(at)), error)) {
        return false;
    }
    if (bl_sql_changed(store) > 0 && !bl_store_touch(store, standing.customer, error)) {
        return false;
    }
    struct bl_change change = {.to = BL_LAPSED, .reason = reason, .now = now};
    return bl_message_set(store, message, &change, error);
}

static const char OVER[] =
    "SELECT id, CASE state WHEN 'paused' THEN coalesce(reason, 'paused by the owner')"
    " ELSE 'its time passed' || coalesce(': ' || reason, '') END"
    " FROM message WHERE state IN ('planned', 'paused') AND not_after < ?1"
    " ORDER BY not_after, id";
static const char DUES_OVER[] =
    "UPDATE due AS d SET end = 'lapsed', ended_at = ?1,"
    " reason = coalesce(d.held, 'no message went in its time')"
    " WHERE d.end IS NULL AND d.not_after < ?1 AND NOT " BL_SQL_RIDES("d");

struct over {
    int64_t message;
    char *reason;
};

static void over_clear(gpointer data)
{
    g_free(((struct over *)data)->reason);
}

static GArray *all_over(struct bl_store *store, int64_t now, GError **error)
{
    GArray *list = g_array_new(FALSE, FALSE, sizeof(struct over));
    g_array_set_clear_func(list, over_clear);
    BL_ROWS rows = bl_rows(store, OVER, BL_VALUES(bl_int(now)));
    while (bl_rows_next(&rows)) {
        struct over over = {bl_rows_int(&rows, 0), bl_rows_dup(&rows, 1)};
        g_array_append_val(list, over);
    }
    if (!bl_rows_end(&rows, error)) {
        g_clear_pointer(&list, g_array_unref);
    }
    return list;
}

bool bl_store_lapse(struct bl_store *store, int64_t now, guint *count, GError **error)
{
    g_autoptr(GArray) list = all_over(store, now, error);
    if (!list) {
        return false;
    }
    for (guint i = 0; i < list->len; i++) {
        const struct over *over = &g_array_index(list, struct over, i);
        if (!bl_message_lapse(store, over->message, now, over->reason, now, error)) {
            return false;
        }
    }
    if (!bl_sql_run(store, DUES_OVER, BL_VALUES(bl_int(now)), error)) {
        return false;
    }
    *count = list->len + (guint)bl_sql_changed(store);
    return true;
}
