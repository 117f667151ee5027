/*
 * Migration 1, last part: what nobody may do to the ledger, whoever writes. A state changes
 * only as change_allowed lists it; what has been sent stays as it was sent; an ended due stays
 * ended.
 *
 * Every guard compares with IS and IS NOT: a NULL (which REPLACE turns into the column's
 * default only after the BEFORE triggers ran) must not slip through. An INSERT meets a guard
 * too where REPLACE could overwrite the row it guards, because REPLACE fires no delete trigger.
 */
#include "schema.h"

#include <stddef.h>

#define REFUSE(why) " BEGIN SELECT RAISE(ABORT, '" why "'); END"

/* A message that is on the wire, or may have been, or was. */
#define BEGUN "('claimed', 'sent', 'delivered', 'failed', 'unsure')"
#define ON_BEGUN(link)                                                                         \
    "EXISTS (SELECT 1 FROM message m WHERE m.id = " link ".message AND m.state IN " BEGUN ")"

#define DIFFERS(column) "NEW." column " IS NOT OLD." column

#define FROZEN(table)                                                                          \
    "CREATE TRIGGER " table "_frozen_insert BEFORE INSERT ON " table REFUSE(                   \
        table " is fixed by the program"),                                                     \
        "CREATE TRIGGER " table "_frozen_update BEFORE UPDATE ON " table REFUSE(               \
            table " is fixed by the program"),                                                 \
        "CREATE TRIGGER " table "_frozen_delete BEFORE DELETE ON " table REFUSE(               \
            table " is fixed by the program")

const char *const bl_schema1_rules[] = {
    FROZEN("change_allowed"),

    /* Messages. */
    "CREATE TRIGGER message_begins_planned BEFORE INSERT ON message"
    " WHEN NEW.state IS NOT 'planned'" REFUSE("a message begins planned"),
    "CREATE TRIGGER message_not_replaced BEFORE INSERT ON message"
    " WHEN EXISTS (SELECT 1 FROM message m WHERE m.id = NEW.id OR m.key = NEW.key)" REFUSE(
        "there is a message with that number or key"),
    "CREATE TRIGGER message_change BEFORE UPDATE ON message"
    " WHEN NEW.state IS NOT OLD.state AND NOT EXISTS (SELECT 1 FROM change_allowed"
    " WHERE from_state = OLD.state AND to_state = NEW.state)" REFUSE(
        "that change of state is not allowed"),
    "CREATE TRIGGER message_keeps_its_name BEFORE UPDATE ON message"
    " WHEN " DIFFERS("id") " OR " DIFFERS("key") REFUSE("a message keeps its number and key"),
    "CREATE TRIGGER message_stays_as_sent BEFORE UPDATE ON message"
    " WHEN OLD.state NOT IN ('planned', 'paused') AND (" DIFFERS("customer") " OR " DIFFERS("kind") " OR " DIFFERS("class") " OR " DIFFERS("channel") " OR " DIFFERS(
        "gateway") " OR " DIFFERS("address") " OR " DIFFERS("subject") " OR " DIFFERS("text") " OR " DIFFERS("html") ")" REFUSE("a message that has begun stays as it was"),
    "CREATE TRIGGER message_stays BEFORE DELETE ON message" REFUSE(
        "a message is not removed: withdraw it"),

    /* A message's end is the end of its dues; a bounce corrects a sent one. */
    "CREATE TRIGGER message_ends_its_dues AFTER UPDATE ON message"
    " WHEN NEW.state IS NOT OLD.state"
    " AND NEW.state IN ('sent', 'failed', 'lapsed', 'withdrawn') BEGIN"
    " UPDATE due SET end = NEW.state, reason = NEW.reason, ended_at = NEW.ended_at"
    " WHERE id IN (SELECT due FROM message_due WHERE message = NEW.id)"
    " AND (end IS NULL OR (end = 'sent' AND NEW.state = 'failed')); END",

    /* Links between messages and dues. */
    "CREATE TRIGGER message_due_joins BEFORE INSERT ON message_due WHEN " ON_BEGUN("NEW")
        REFUSE("a message that has begun takes no more dues"),
    "CREATE TRIGGER message_due_not_replaced BEFORE INSERT ON message_due"
    " WHEN EXISTS (SELECT 1 FROM message_due l WHERE l.due = NEW.due)" REFUSE(
        "a due rides on one message"),
    "CREATE TRIGGER message_due_not_ended BEFORE INSERT ON message_due"
    " WHEN EXISTS (SELECT 1 FROM due d WHERE d.id = NEW.due AND d.end IS NOT NULL)" REFUSE(
        "an ended due goes on no message"),
    "CREATE TRIGGER message_due_moves BEFORE UPDATE ON message_due" REFUSE(
        "a due changes its message by leaving one and joining another"),
    "CREATE TRIGGER message_due_leaves BEFORE DELETE ON message_due WHEN " ON_BEGUN("OLD")
        REFUSE("a message that has begun keeps its dues"),

    /* Dues. */
    "CREATE TRIGGER due_not_replaced BEFORE INSERT ON due"
    " WHEN EXISTS (SELECT 1 FROM due d WHERE d.id = NEW.id OR (d.kind = NEW.kind"
    " AND d.subject = NEW.subject AND d.ordinal = NEW.ordinal))" REFUSE(
        "there is a due with that key"),
    "CREATE TRIGGER due_keeps_its_key BEFORE UPDATE ON due"
    " WHEN " DIFFERS("id") " OR " DIFFERS("kind") " OR " DIFFERS("subject") " OR " DIFFERS(
        "ordinal") REFUSE("a due keeps its key"),
    "CREATE TRIGGER due_stays_ended BEFORE UPDATE ON due"
    " WHEN OLD.end IS NOT NULL AND (" DIFFERS("end") " OR " DIFFERS(
        "vanished") ")"
                    " AND NOT (OLD.vanished = 1 AND NEW.end IS NULL)"
                    " AND NOT (OLD.end = 'sent' AND NEW.end IS 'failed')" REFUSE(
                        "an ended due stays ended"),
    "CREATE TRIGGER due_stays BEFORE DELETE ON due" REFUSE("a due is not removed"),

    /* What was tried, and who said stop. */
    "CREATE TRIGGER attempt_not_replaced BEFORE INSERT ON attempt"
    " WHEN EXISTS (SELECT 1 FROM attempt a WHERE a.id = NEW.id"
    " OR (a.message = NEW.message AND a.number = NEW.number))" REFUSE(
        "there is an attempt with that number"),
    "CREATE TRIGGER attempt_stays_closed BEFORE UPDATE ON attempt"
    " WHEN OLD.ended_at IS NOT NULL" REFUSE("an attempt that is over stays as it was"),
    "CREATE TRIGGER attempt_stays BEFORE DELETE ON attempt" REFUSE("an attempt is not removed"),
    "CREATE TRIGGER silence_is_logged AFTER INSERT ON silence BEGIN"
    " INSERT INTO silence_log (address, at, silenced, how, words)"
    " VALUES (NEW.address, NEW.since, 1, NEW.how, NEW.words); END",
    "CREATE TRIGGER silence_log_not_replaced BEFORE INSERT ON silence_log"
    " WHEN EXISTS (SELECT 1 FROM silence_log l WHERE l.id = NEW.id)" REFUSE(
        "an entry of the log of silence stays"),
    "CREATE TRIGGER silence_log_stays_as_it_is BEFORE UPDATE ON silence_log" REFUSE(
        "an entry of the log of silence stays"),
    "CREATE TRIGGER silence_log_stays BEFORE DELETE ON silence_log" REFUSE(
        "an entry of the log of silence stays"),
    NULL};
