/*
 * The facts of what was said: messages that began, and dues that are over. Restraint counts the
 * first, "never twice" looks at the second.
 */
#include "facts_read.h"

#include "checks.h"
#include "columns.h"

#define BEGAN                                                                                  \
    "SELECT id, claimed_at, kind, state FROM message"                                          \
    " WHERE state IN ('claimed', 'sent', 'delivered', 'failed', 'unsure')"                     \
    " AND claimed_at >= coalesce((SELECT at FROM clock_mark), 0) - 400 * 86400"

/* Also what began for somebody else at the same address: a couple shares a phone, and it is the
 * phone that rings. The clock's mark is never ahead of a trusted now, so nothing is missed. Two
 * selects, for one with OR would read the messages of everybody. */
static const char TOLD[] = BEGAN
    " AND customer = ?1 UNION " BEGAN
    " AND address IN (SELECT phone FROM customer WHERE id = ?1 AND phone IS NOT NULL"
    " UNION ALL SELECT mail FROM customer WHERE id = ?1 AND mail IS NOT NULL) ORDER BY 2, 1";

#define BEGAN_EVER(whose)                                                                      \
    "EXISTS (SELECT 1 FROM message WHERE claimed_at IS NOT NULL AND " whose ")"
static const char ANY_TOLD[] = "SELECT " BEGAN_EVER("customer = ?1") " OR " BEGAN_EVER(
    "address = (SELECT phone FROM customer WHERE id = ?1)") " OR " BEGAN_EVER("address = (SELECT mail FROM customer WHERE id = ?1)");

static bool read_told(const struct bl_rows *rows, struct bl_told *told, GError **error)
{
    *told = (struct bl_told){.message = bl_rows_int(rows, 0), .at = bl_rows_int(rows, 1)};
    if (!bl_kind_of(bl_rows_text(rows, 2), &told->kind)) {
        return bl_reader_unknown("kind", bl_rows_text(rows, 2), error);
    }
    if (!bl_state_of(bl_rows_text(rows, 3), &told->state)) {
        return bl_reader_unknown("state", bl_rows_text(rows, 3), error);
    }
    return bl_check_at(told->at, "time the message was claimed", error);
}

bool bl_read_told(struct bl_reader *reader, GError **error)
{
    bool any = false;
    if (!bl_reader_asks(reader, ANY_TOLD, &any, error)) {
        return false;
    }
    if (!any) {
        return true;
    }
    BL_ROWS rows = bl_rows(reader->store, TOLD, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        struct bl_told told;
        GError *why = NULL;
        if (!read_told(&rows, &told, &why)) {
            bl_reader_skip(reader, "message", bl_rows_int(&rows, 0), why);
            continue;
        }
        g_array_append_val(reader->facts->told, told);
    }
    return bl_rows_end(&rows, error);
}

/* A due that vanished from the plan may come back; every other end is for good. Dues of his
 * cars count whoever they were for: their keys are taken. Numbers stay as they were sent. */
static const char ENDED[] =
    "SELECT d.id, d.kind, d.subject, d.ordinal,"
    " CASE WHEN d.kind = 'top-up' AND (d.end = 'sent' OR m.state IN ('claimed', 'sent',"
    " 'delivered')) AND typeof(d.numbers) = 'text' AND json_valid(d.numbers)"
    " THEN json_extract(d.numbers, '$.early') END,"
    " coalesce(m.claimed_at, d.ended_at)"
    " FROM due d"
    " LEFT JOIN message_due l ON l.due = d.id LEFT JOIN message m ON m.id = l.message"
    " WHERE (d.customer = ?1 OR d.car IN (SELECT id FROM car WHERE customer = ?1))"
    " AND ((d.end IS NOT NULL AND d.vanished = 0)"
    " OR m.state IN ('claimed', 'sent', 'delivered', 'failed', 'unsure'))"
    " ORDER BY d.kind, d.subject, d.ordinal";

static const char ANY_DUE[] =
    "SELECT EXISTS (SELECT 1 FROM due WHERE customer = ?1)"
    " OR EXISTS (SELECT 1 FROM car c JOIN due d ON d.car = c.id WHERE c.customer = ?1)";

static bool read_ended(const struct bl_rows *rows, struct bl_ended *ended, GError **error)
{
    int64_t ordinal = bl_rows_int(rows, 3);
    *ended = (struct bl_ended){.subject = bl_rows_int(rows, 2)};
    if (!bl_kind_of(bl_rows_text(rows, 1), &ended->kind)) {
        return bl_reader_unknown("kind", bl_rows_text(rows, 1), error);
    }
    if (ordinal < INT_MIN || ordinal > INT_MAX) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "ordinal \"%" G_GINT64_FORMAT "\" is out of range: remove this due",
                    ordinal);
        return false;
    }
    ended->ordinal = (int)ordinal;
    ended->early = bl_rows_int_or(rows, 4, 0);
    ended->at = ended->early ? bl_rows_int_or(rows, 5, 0) : 0;
    return true;
}

bool bl_read_ended(struct bl_reader *reader, GError **error)
{
    bool any = false;
    if (!bl_reader_asks(reader, ANY_DUE, &any, error)) {
        return false;
    }
    if (!any) {
        return true;
    }
    BL_ROWS rows = bl_rows(reader->store, ENDED, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        struct bl_ended ended;
        GError *why = NULL;
        if (!read_ended(&rows, &ended, &why)) {
            bl_reader_skip(reader, "due", bl_rows_int(&rows, 0), why);
            continue;
        }
        g_array_append_val(reader->facts->ended, ended);
    }
    return bl_rows_end(&rows, error);
}
