/*
 * Outcomes: what became of a claimed message, and what a start does about those whose outcome
 * was never stored.
 */
#include "ledger_sql.h"

static const char *const verdict_words[] = {
    [BL_ACCEPTED] = "accepted",
    [BL_LATER] = "later",
    [BL_REFUSED] = "refused",
    [BL_UNKNOWN] = "unknown",
};

static bool accepted(struct bl_store *store, const struct bl_outcome *outcome, int64_t now,
                     GError **error)
{
    struct bl_change change = {.to = BL_SENT, .now = now, .reference = outcome->reference};
    return bl_message_set(store, outcome->id, &change, error);
}

static bool refused(struct bl_store *store, const struct bl_outcome *outcome, int64_t now,
                    GError **error)
{
    struct bl_change change = {.to = BL_FAILED, .reason = outcome->answer, .now = now};
    return bl_message_set(store, outcome->id, &change, error);
}

/* What surely was not taken is made anew the next time; what may have been, once, leaves again
 * as it was. */
static const char TEXT_FORGET[] =
    "UPDATE message SET subject = NULL, text = NULL, html = NULL WHERE id = ?1 AND NOT EXISTS"
    " (SELECT 1 FROM attempt a WHERE a.message = ?1 AND a.verdict = 'unknown')";

static bool later(struct bl_store *store, const struct bl_outcome *outcome, int64_t now,
                  int64_t retry_at, int64_t not_after, GError **error)
{
    if (retry_at > not_after) {
        g_autofree char *reason = g_strdup_printf(
            "given up, its time passes before the next try: %s", outcome->answer);
        struct bl_change change = {.to = BL_FAILED, .reason = reason, .now = now};
        return bl_message_set(store, outcome->id, &change, error);
    }
    struct bl_change change = {
        .to = BL_PLANNED, .reason = outcome->answer, .now = now, .not_before = retry_at};
    return bl_message_set(store, outcome->id, &change, error) &&
           bl_sql_run(store, TEXT_FORGET, BL_VALUES(bl_int(outcome->id)), error);
}

/* A resend that would come after the window stays unsure: it waits for the owner. */
static bool unknown(struct bl_store *store, const struct bl_outcome *outcome, int64_t now,
                    int64_t resend_at, int64_t not_after, GError **error)
{
    struct bl_change change = {.to = BL_UNSURE, .reason = outcome->answer, .now = now};
    if (!bl_message_set(store, outcome->id, &change, error)) {
        return false;
    }
    if (resend_at > not_after) {
        return true;
    }
    g_autofree char *reason =
        g_strdup_printf("sent again, because nobody can know: %s", outcome->answer);
    change = (struct bl_change){
        .to = BL_PLANNED, .reason = reason, .now = now, .not_before = resend_at};
    return bl_message_set(store, outcome->id, &change, error);
}

static bool store_verdict(struct bl_store *store, const struct bl_outcome *outcome,
                          const struct bl_standing *standing, int64_t now, int64_t retry_at,
                          bool resend, GError **error)
{
    switch (outcome->verdict) {
    case BL_ACCEPTED:
        return accepted(store, outcome, now, error);
    case BL_REFUSED:
        return refused(store, outcome, now, error);
    case BL_LATER:
        return later(store, outcome, now, retry_at, standing->not_after, error);
    case BL_UNKNOWN:
        return unknown(store, outcome, now, resend ? retry_at : BL_NEVER, standing->not_after,
                       error);
    }
    g_assert_not_reached();
}

bool bl_store_outcome(struct bl_store *store, const struct bl_outcome *outcome, int64_t now,
                      int64_t retry_at, bool resend, GError **error)
{
    struct bl_standing standing = {0};
    if (!bl_message_standing(store, outcome->id, &standing, error)) {
        return false;
    }
    g_autofree char *address = standing.address;
    if (standing.state != BL_CLAIMED) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "message %" G_GINT64_FORMAT
                    " is \"%s\": an outcome is only for one that is "
                    "on the wire",
                    outcome->id, bl_state_name(standing.state));
        return false;
    }
    return bl_attempt_close(store, outcome->id, verdict_words[outcome->verdict],
                            outcome->answer, now, error) &&
           store_verdict(store, outcome, &standing, now, retry_at, resend, error) &&
           (!outcome->opted_out || !address ||
            bl_silence_add(store, address, "gateway", outcome->answer, now, error));
}

static const char LEFT[] =
    "SELECT id, gateway FROM message WHERE state = 'claimed' ORDER BY id";
static const char ended_on_the_wire[] = "the daemon ended while it was on the wire";

static bool leave_unsure(struct bl_store *store, int64_t message, int64_t now, GError **error)
{
    struct bl_change change = {.to = BL_UNSURE, .reason = ended_on_the_wire, .now = now};
    return bl_attempt_close(store, message, "unknown", ended_on_the_wire, now, error) &&
           bl_message_set(store, message, &change, error);
}

static void left_clear(gpointer data)
{
    struct bl_left *left = data;
    g_clear_pointer(&left->gateway, g_free);
}

bool bl_store_recover(struct bl_store *store, int64_t now, GArray *left, GError **error)
{
    guint first = left->len;
    g_array_set_clear_func(left, left_clear);
    BL_ROWS rows = bl_rows(store, LEFT, NULL);
    while (bl_rows_next(&rows)) {
        struct bl_left one = {.message = bl_rows_int(&rows, 0),
                              .gateway = bl_rows_dup(&rows, 1)};
        g_array_append_val(left, one);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    for (guint i = first; i < left->len; i++) {
        if (!leave_unsure(store, g_array_index(left, struct bl_left, i).message, now, error)) {
            return false;
        }
    }
    return true;
}

static const char MOVE[] = "UPDATE message SET send_at = ?2, reason = ?3 WHERE id = ?1";

bool bl_store_move(struct bl_store *store, int64_t message, int64_t send_at, const char *reason,
                   GError **error)
{
    struct bl_standing standing = {0};
    if (!bl_message_standing(store, message, &standing, error)) {
        return false;
    }
    g_free(standing.address);
    if (standing.state != BL_PLANNED) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "message %" G_GINT64_FORMAT " is \"%s\": only a planned one moves", message,
                    bl_state_name(standing.state));
        return false;
    }
    if (send_at > standing.not_after) {
        return bl_message_lapse(store, message, send_at, reason, standing.not_after, error);
    }
    return bl_sql_run(store, MOVE, BL_VALUES(bl_int(message), bl_int(send_at), bl_text(reason)),
                      error);
}
