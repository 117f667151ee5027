/*
 * Claims: which messages may go now, and the mark that one is about to, committed before its
 * first byte leaves.
 */
#include "beadline/letterbook.h"
#include "ledger_sql.h"

void bl_claim_clear(struct bl_claim *claim)
{
    g_clear_pointer(&claim->address, g_free);
    if (claim->dues) {
        g_clear_pointer(&claim->dues, g_array_unref);
    }
}

/* Walks message_ready in order and stops at the limit: a long queue costs nothing. A message
 * none of whose dues is open, or whose customer was removed by a program without foreign keys,
 * has nothing to say to anybody. */
static const char CANDIDATES[] =
    "SELECT m.id, m.customer, m.kind, m.address, m.key, m.attempts, m.not_after"
    " FROM message m WHERE m.state = 'planned' AND m.channel = ?1 AND m.go_at <= ?2"
    " AND m.not_after >= ?2"
    " AND NOT EXISTS (SELECT 1 FROM silence s WHERE s.address = m.address)"
    " AND EXISTS (SELECT 1 FROM customer c WHERE c.id = m.customer)"
    " AND EXISTS (SELECT 1 FROM message_due l JOIN due d ON d.id = l.due"
    " WHERE l.message = m.id AND d.end IS NULL)"
    " ORDER BY m.go_at LIMIT ?3";

static const char OPEN_DUES[] =
    "SELECT d.kind, d.subject, d.ordinal FROM message_due l JOIN due d ON d.id = l.due"
    " WHERE l.message = ?1 AND d.end IS NULL ORDER BY d.kind, d.subject, d.ordinal";
static const char ALL_DUES[] =
    "SELECT d.kind, d.subject, d.ordinal FROM message_due l JOIN due d ON d.id = l.due"
    " WHERE l.message = ?1 ORDER BY d.kind, d.subject, d.ordinal";

static GArray *dues_of(struct bl_store *store, const char *text, int64_t message,
                       GError **error)
{
    GArray *dues = g_array_new(FALSE, FALSE, sizeof(struct bl_ended));
    BL_ROWS rows = bl_rows(store, text, BL_VALUES(bl_int(message)));
    while (bl_rows_next(&rows)) {
        struct bl_ended due = {.subject = bl_rows_int(&rows, 1),
                               .ordinal = (int)bl_rows_int(&rows, 2)};
        BL_ROWS_WORD(&rows, 0, bl_kind_of, &due.kind);
        g_array_append_val(dues, due);
    }
    if (!bl_rows_end(&rows, error)) {
        g_clear_pointer(&dues, g_array_unref);
    }
    return dues;
}

GArray *bl_message_dues(struct bl_store *store, int64_t message, GError **error)
{
    return dues_of(store, ALL_DUES, message, error);
}

static struct bl_claim read_claim(struct bl_rows *rows, enum bl_channel channel)
{
    struct bl_claim claim = {
        .message = bl_rows_int(rows, 0),
        .customer = bl_rows_int(rows, 1),
        .channel = channel,
        .address = bl_rows_dup(rows, 3),
        .attempts = (int)bl_rows_int(rows, 5),
        .not_after = bl_rows_int(rows, 6),
    };
    BL_ROWS_WORD(rows, 2, bl_kind_of, &claim.kind);
    g_strlcpy(claim.key, bl_rows_word(rows, 4), sizeof claim.key);
    return claim;
}

bool bl_store_candidates(struct bl_store *store, enum bl_channel channel, int64_t now,
                         guint limit, GArray *claims, GError **error)
{
    guint first = claims->len;
    BL_ROWS rows = bl_rows(
        store, CANDIDATES,
        BL_VALUES(bl_text(bl_channel_name(channel)), bl_int(now), bl_int((int64_t)limit)));
    while (bl_rows_next(&rows)) {
        struct bl_claim claim = read_claim(&rows, channel);
        g_array_append_val(claims, claim);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    for (guint i = first; i < claims->len; i++) {
        struct bl_claim *claim = &g_array_index(claims, struct bl_claim, i);
        claim->dues = dues_of(store, OPEN_DUES, claim->message, error);
        if (!claim->dues) {
            return false;
        }
    }
    return true;
}

/* A failed message counts when the gateway had taken it, or may have. */
static const char TOLD_SINCE[] =
    "SELECT count(*) FROM message m WHERE m.address = ?1 AND m.claimed_at >= ?2"
    " AND (m.state IN ('claimed', 'sent', 'delivered', 'unsure') OR (m.state = 'failed'"
    " AND EXISTS (SELECT 1 FROM attempt a WHERE a.message = m.id"
    " AND a.verdict IN ('accepted', 'unknown'))))";

bool bl_store_told_since(struct bl_store *store, const char *address, int64_t since, int *count,
                         GError **error)
{
    int64_t rows = 0;
    if (!bl_sql_number(store, TOLD_SINCE, BL_VALUES(bl_text(address), bl_int(since)), 0, &rows,
                       error)) {
        return false;
    }
    *count = (int)rows;
    return true;
}

/* Everything that could have changed since it was a candidate is asked again here. */
static const char CLAIM[] =
    "UPDATE message SET state = 'claimed', gateway = ?2, subject = ?3, text = ?4, html = ?5,"
    " claimed_at = ?6, attempts = attempts + 1, reason = NULL"
    " WHERE id = ?1 AND state = 'planned' AND channel <> 'by hand' AND not_after >= ?6"
    " AND NOT EXISTS (SELECT 1 FROM silence s WHERE s.address = message.address)";
static const char ATTEMPT_OPEN[] =
    "INSERT INTO attempt (message, number, gateway, started_at) VALUES (?1,"
    " (SELECT coalesce(max(number), 0) + 1 FROM attempt WHERE message = ?1), ?2, ?3)";

bool bl_store_claim(struct bl_store *store, int64_t message, const struct bl_leaving *leaving,
                    int64_t now, GError **error)
{
    if (!bl_sql_run(store, CLAIM,
                    BL_VALUES(bl_int(message), bl_text(leaving->gateway),
                              bl_text(leaving->subject), bl_text(leaving->text),
                              bl_text(leaving->html), bl_int(now)),
                    error)) {
        return false;
    }
    if (bl_sql_changed(store) == 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "message %" G_GINT64_FORMAT
                    " cannot go: it is not planned any more, its time has passed, or its "
                    "address is silenced",
                    message);
        return false;
    }
    return bl_sql_run(store, ATTEMPT_OPEN,
                      BL_VALUES(bl_int(message), bl_text(leaving->gateway), bl_int(now)),
                      error);
}

static const char ATTEMPT_CLOSE[] =
    "UPDATE attempt SET verdict = ?2, answer = ?3, ended_at = ?4"
    " WHERE message = ?1 AND ended_at IS NULL";

bool bl_attempt_close(struct bl_store *store, int64_t message, const char *verdict,
                      const char *answer, int64_t now, GError **error)
{
    return bl_sql_run(
        store, ATTEMPT_CLOSE,
        BL_VALUES(bl_int(message), bl_text(verdict), bl_text(answer), bl_int(now)), error);
}

/* Nothing left the machine: the attempt stays in the list, dated by its beginning, and does not
 * count. */
static const char UNCLAIM[] = "UPDATE message SET state = 'planned', claimed_at = NULL,"
                              " attempts = max(attempts - 1, 0), reason = ?2 WHERE id = ?1"
                              " AND state = 'claimed'";
static const char ATTEMPT_NOT_STARTED[] =
    "UPDATE attempt SET verdict = 'not started', answer = ?2, ended_at = started_at"
    " WHERE message = ?1 AND ended_at IS NULL";

bool bl_store_unclaim(struct bl_store *store, int64_t message, const char *reason,
                      GError **error)
{
    if (!bl_sql_run(store, UNCLAIM, BL_VALUES(bl_int(message), bl_text(reason)), error)) {
        return false;
    }
    if (bl_sql_changed(store) == 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "message %" G_GINT64_FORMAT " is not claimed", message);
        return false;
    }
    return bl_sql_run(store, ATTEMPT_NOT_STARTED, BL_VALUES(bl_int(message), bl_text(reason)),
                      error);
}
