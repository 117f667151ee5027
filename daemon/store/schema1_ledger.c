/*
 * Migration 1, second part: what is to be said, what was said, silence, and what the daemon
 * keeps for itself. The rules that guard these tables are in schema1_rules.c.
 */
#include "schema.h"

#include <stddef.h>

#define KINDS "('handover', 'wash', 'care', 'mileage', 'top-up', 'look-over', 'booking')"
#define STATES                                                                                 \
    "('planned', 'paused', 'claimed', 'sent', 'delivered', 'failed', 'unsure', 'lapsed', "     \
    "'withdrawn')"
#define CHANNELS "('sms', 'mail', 'by hand')"

const char *const bl_schema1_ledger[] = {
    /* vanished: withdrawn because the plan no longer had it, not because somebody said so; it
     * may come back when the plan has it again. */
    "CREATE TABLE due (" BL_SQL_ID "customer INTEGER NOT NULL REFERENCES customer (id), "
    "car INTEGER REFERENCES car (id) ON DELETE SET NULL, "
    "job INTEGER REFERENCES job (id) ON DELETE SET NULL, "
    "treatment INTEGER REFERENCES treatment (id) ON DELETE SET NULL, "
    "rule INTEGER REFERENCES rule_version (id) ON DELETE SET NULL, "
    "kind TEXT NOT NULL CHECK (kind IN " KINDS "), "
    "subject INTEGER NOT NULL, ordinal INTEGER NOT NULL, "
    "from_at INTEGER NOT NULL, best_by INTEGER NOT NULL, not_after INTEGER NOT NULL, "
    "held TEXT CHECK (length(held) <= 2000), "
    "numbers TEXT NOT NULL CHECK (numbers GLOB '{*}' AND length(numbers) <= 2000), "
    "end TEXT CHECK (end IN ('sent', 'failed', 'lapsed', 'withdrawn')), "
    "reason TEXT CHECK (length(reason) <= 2000), ended_at INTEGER, "
    "vanished INTEGER NOT NULL DEFAULT 0 CHECK (vanished IN (0, 1)), "
    "UNIQUE (kind, subject, ordinal), "
    "CONSTRAINT \"an end has its instant\" CHECK ((end IS NULL) = (ended_at IS NULL)), "
    "CONSTRAINT \"an end has its reason\""
    " CHECK (end IS NULL OR end = 'sent' OR reason IS NOT NULL), "
    "CONSTRAINT \"only the withdrawn vanish\" CHECK (vanished = 0 OR end IS 'withdrawn')) STRICT",
    "CREATE INDEX due_customer ON due (customer, from_at)", "CREATE INDEX due_car ON due (car)",
    "CREATE INDEX due_job ON due (job)", "CREATE INDEX due_treatment ON due (treatment)",
    "CREATE INDEX due_open ON due (not_after) WHERE end IS NULL",

    /* not_before: a retry's date. go_at: when it may go. claimed_at: when its last attempt
     * began, NULL once that is known not to have been taken. */
    "CREATE TABLE message (" BL_SQL_ID "customer INTEGER NOT NULL REFERENCES customer (id), "
    "key TEXT NOT NULL UNIQUE CHECK (length(key) = 32 AND key NOT GLOB '*[^0-9a-f]*'), "
    "kind TEXT NOT NULL CHECK (kind IN " KINDS "), "
    "class TEXT NOT NULL CHECK (class IN ('service', 'tips', 'offers')), "
    "channel TEXT NOT NULL CHECK (channel IN " CHANNELS "), "
    "gateway TEXT CHECK (" BL_SQL_LINE(
        "gateway", "1",
        "200") "), "
               "address TEXT COLLATE NOCASE CHECK (" BL_SQL_LINE(
                   "address", "3",
                   "254") "), "
                          "from_at INTEGER NOT NULL, send_at INTEGER NOT NULL, "
                          "not_before INTEGER NOT NULL DEFAULT 0, not_after INTEGER NOT NULL, "
                          "go_at INTEGER GENERATED ALWAYS AS (max(send_at, not_before)) VIRTUAL, "
                          "state TEXT NOT NULL DEFAULT 'planned' CHECK (state IN " STATES "), "
                          "reason TEXT CHECK (length(reason) <= 2000), "
                          "attempts INTEGER NOT NULL DEFAULT 0 CHECK (attempts >= 0), "
                          "claimed_at INTEGER, ended_at INTEGER, "
                          "subject TEXT, text TEXT, html TEXT, "
                          "reference TEXT CHECK (length(reference) <= 2000), "
                          "made_at INTEGER NOT NULL, "
                          "CONSTRAINT \"by hand and only by hand there is no address\""
                          " CHECK ((channel = 'by hand') = (address IS NULL)), "
                          "CONSTRAINT \"a message that began says when\""
                          " CHECK (state NOT IN ('claimed', 'sent', 'delivered', 'unsure')"
                          " OR claimed_at IS NOT NULL), "
                          "CONSTRAINT \"an ended message says when\""
                          " CHECK ((state IN ('sent', 'delivered', 'failed', 'lapsed', 'withdrawn'))"
                          " = (ended_at IS NOT NULL)), "
                          "CONSTRAINT \"a message that did not arrive says why\""
                          " CHECK (state NOT IN ('failed', 'unsure', 'lapsed', 'withdrawn')"
                          " OR reason IS NOT NULL)) STRICT",
    "CREATE INDEX message_ready ON message (channel, go_at) WHERE state = 'planned'",
    "CREATE INDEX message_unsent ON message (not_after) WHERE state IN ('planned', 'paused')",
    "CREATE INDEX message_begun ON message (state) WHERE state IN ('claimed', 'unsure')",
    "CREATE INDEX message_customer ON message (customer, state)",
    "CREATE INDEX message_told ON message (address, claimed_at) WHERE claimed_at IS NOT NULL",
    "CREATE INDEX message_ended ON message (ended_at) WHERE ended_at IS NOT NULL",

    /* A due rides on one message at most: never twice. */
    "CREATE TABLE message_due ("
    "message INTEGER NOT NULL REFERENCES message (id), "
    "due INTEGER NOT NULL UNIQUE REFERENCES due (id), "
    "PRIMARY KEY (message, due)) STRICT, WITHOUT ROWID",

    "CREATE TABLE attempt (" BL_SQL_ID "message INTEGER NOT NULL REFERENCES message (id), "
    "number INTEGER NOT NULL CHECK (number >= 1), "
    "gateway TEXT NOT NULL, started_at INTEGER NOT NULL, ended_at INTEGER, "
    "verdict TEXT CHECK (verdict IN ('accepted', 'later', 'refused', 'unknown', 'not started')), "
    "answer TEXT CHECK (length(answer) <= 2000), "
    "UNIQUE (message, number), "
    "CHECK ((verdict IS NULL) = (ended_at IS NULL))) STRICT",

    "CREATE TABLE silence ("
    "address TEXT NOT NULL COLLATE NOCASE PRIMARY KEY CHECK (" BL_SQL_LINE(
        "address", "3",
        "254") "), "
               "since INTEGER NOT NULL, how TEXT NOT NULL CHECK (" BL_SQL_LINE(
                   "how", "1",
                   "200") "), "
                          "words TEXT NOT NULL DEFAULT '' CHECK (length(words) <= 2000)) STRICT",
    "CREATE TABLE silence_log (" BL_SQL_ID
    "address TEXT NOT NULL COLLATE NOCASE, at INTEGER NOT NULL, "
    "silenced INTEGER NOT NULL CHECK (silenced IN (0, 1)), "
    "how TEXT NOT NULL, words TEXT NOT NULL DEFAULT '') STRICT",

    "CREATE TABLE clock_mark (id INTEGER PRIMARY KEY CHECK (id = 1), "
    "at INTEGER NOT NULL, boottime_ms INTEGER NOT NULL) STRICT",

    /* Appended by triggers only, drained by id; no UNIQUE and no foreign key, because an outer
     * INSERT OR FAIL would turn a clash in here into the writer's failure. */
    "CREATE TABLE touched (" BL_SQL_ID "customer INTEGER NOT NULL) STRICT",
    "CREATE INDEX touched_customer ON touched (customer)",

    /* at: when time alone changes the customer's plan; NULL while it never does, and while it
     * has come and is being planned. */
    "CREATE TABLE replan (customer INTEGER PRIMARY KEY, at INTEGER) STRICT",
    "CREATE INDEX replan_at ON replan (at) WHERE at IS NOT NULL",
    "CREATE TABLE skipped (" BL_SQL_ID "customer INTEGER NOT NULL, text TEXT NOT NULL) STRICT",
    "CREATE INDEX skipped_customer ON skipped (customer)",

    "CREATE TABLE kept (name TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT",

    "CREATE TABLE change_allowed (from_state TEXT NOT NULL CHECK (from_state IN " STATES "), "
    "to_state TEXT NOT NULL CHECK (to_state IN " STATES "), "
    "PRIMARY KEY (from_state, to_state)) STRICT, WITHOUT ROWID",
    "INSERT INTO change_allowed (from_state, to_state) VALUES "
    "('planned', 'paused'), ('paused', 'planned'), "
    "('planned', 'lapsed'), ('planned', 'withdrawn'), "
    "('paused', 'lapsed'), ('paused', 'withdrawn'), "
    "('planned', 'claimed'), "
    "('claimed', 'sent'), ('claimed', 'failed'), ('claimed', 'unsure'), ('claimed', 'planned'), "
    "('sent', 'delivered'), ('sent', 'failed'), "
    "('unsure', 'sent'), ('unsure', 'planned'), ('unsure', 'withdrawn')",
    NULL};
