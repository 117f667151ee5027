/*
 * Migration 2: what is corrected later. Whoever changes or removes a fact leaves behind what it
 * said before; a car whose owner complained is offered nothing until that is lifted; a cure
 * indoors knows its hours.
 *
 * As with `touched`, REPLACE fires no trigger for the row it removes, so a BEFORE trigger keeps
 * that row too. A row kept once too often (INSERT OR IGNORE met it, and nothing changed) is
 * harmless; one that is lost cannot be had back.
 */
#include "schema.h"

#include <stddef.h>

#define REFUSE(why) " BEGIN SELECT RAISE(ABORT, '" why "'); END"

/* A column as ", km = 41000.0", whole or where it differs. One after the other they are what a
 * SET takes. */
#define WHOLE(row, column) "', \"" column "\" = ' || quote(" row ".\"" column "\")"
#define DIFFERENT(column)                                                                      \
    "CASE WHEN NEW.\"" column "\" IS NOT OLD.\"" column                                        \
    "\" THEN " WHOLE("OLD", column) " ELSE '' END"

#define AND " || "
#define MILEAGE(each)                                                                          \
    each("car") AND each("at") AND each("km") AND each("instrument") AND each("how")
#define JOB(each)                                                                              \
    each("car") AND each("customer") AND each("finished_at") AND each("km") AND each("temp_c") \
        AND each("humidity") AND each("wash_from") AND each("cured_indoors") AND each("place") \
            AND each("redo_of") AND each("note") AND each("leaving_ok")
#define TREATMENT(each)                                                                        \
    each("job") AND each("rule") AND each("surface") AND each("part") AND each("coats")        \
        AND each("last_coat_at") AND each("again") AND each("batch")
#define EVENT(each)                                                                            \
    each("car") AND each("at") AND each("happening") AND each("treatment") AND each("surface") \
        AND each("part") AND each("with") AND each("finding") AND each("temp_c")               \
            AND each("hours") AND each("note")

#define OLD_WHOLE(column)   WHOLE("OLD", column)
#define OTHER_WHOLE(column) WHOLE("x", column)

#define ITS_CAR(row)  row ".car"
#define JOBS_CAR(row) "(SELECT j.car FROM job j WHERE j.id = " row ".job)"

/* One row of what was: of the trigger's OLD, or of the rows x in the way. */
#define KEEP(table, row, car, was, removed)                                                    \
    "INSERT INTO corrected (at, thing, row, car, removed, before, why)"                        \
    " SELECT coalesce((SELECT at FROM correcting), unixepoch()), '" table "', " row            \
    ".id, " car ", " removed ", substr(" was ", 3), (SELECT why FROM correcting)"

#define KEPT(table, car, columns, twins)                                                       \
    "CREATE TRIGGER " table "_keeps_before_change AFTER UPDATE ON " table                      \
    " WHEN '' <> " columns(DIFFERENT) " BEGIN " KEEP(table, "OLD", car("OLD"),                 \
                                                     columns(DIFFERENT), "0") "; END",         \
        "CREATE TRIGGER " table "_keeps_removed AFTER DELETE ON " table                        \
        " BEGIN " KEEP(table, "OLD", car("OLD"), columns(OLD_WHOLE), "1") "; END",             \
        "CREATE TRIGGER " table "_keeps_in_the_way BEFORE INSERT ON " table                    \
        " BEGIN " KEEP(table, "x", car("x"), columns(OTHER_WHOLE),                             \
                       "1") " FROM " table " x WHERE x.id = NEW.id" twins "; END",             \
        "CREATE TRIGGER " table "_keeps_run_over BEFORE UPDATE ON " table                      \
        " BEGIN " KEEP(table, "x", car("x"), columns(OTHER_WHOLE),                             \
                       "1") " FROM " table " x WHERE x.id <> OLD.id AND (x.id = NEW.id" twins  \
                            "); END"

const char *const bl_schema2_mend[] = {
    "ALTER TABLE car ADD COLUMN offers_held_at INTEGER CHECK (" BL_SQL_INSTANT(
        "offers_held_at") ")",
    "CREATE INDEX car_offers_held ON car (offers_held_at) WHERE offers_held_at IS NOT NULL",
    "ALTER TABLE event ADD COLUMN temp_c REAL CHECK (temp_c BETWEEN -40 AND 100)",
    "ALTER TABLE event ADD COLUMN hours REAL CHECK (hours > 0 AND hours <= 8784)",

    /* A writer who corrects says here when, by his own clock, and why, and takes it out again
     * in the same transaction. */
    "CREATE TABLE correcting (id INTEGER PRIMARY KEY CHECK (id = 1), "
    "at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
        "at") "), "
              "why TEXT CHECK (length(why) <= 2000)) STRICT",
    /* before: what was different, as a SET takes it; all of it when the row was removed. */
    "CREATE TABLE corrected (" BL_SQL_ID "at INTEGER NOT NULL, "
    "thing TEXT NOT NULL CHECK (thing IN ('job', 'treatment', 'mileage', 'event')), "
    "row INTEGER NOT NULL, car INTEGER, "
    "removed INTEGER NOT NULL CHECK (removed IN (0, 1)), "
    "before TEXT NOT NULL, why TEXT) STRICT",
    "CREATE INDEX corrected_car ON corrected (car, at)",
    "CREATE TRIGGER corrected_not_replaced BEFORE INSERT ON corrected"
    " WHEN EXISTS (SELECT 1 FROM corrected c WHERE c.id = NEW.id)" REFUSE(
        "what was corrected stays on record"),
    "CREATE TRIGGER corrected_stays_as_it_is BEFORE UPDATE ON corrected" REFUSE(
        "what was corrected stays on record"),
    "CREATE TRIGGER corrected_stays BEFORE DELETE ON corrected" REFUSE(
        "what was corrected stays on record"),

    KEPT("mileage", ITS_CAR, MILEAGE, ""),
    KEPT("job", ITS_CAR, JOB, " OR (x.car = NEW.car AND x.finished_at = NEW.finished_at)"),
    KEPT("treatment", JOBS_CAR, TREATMENT,
         " OR (x.job = NEW.job AND x.rule = NEW.rule AND x.surface = NEW.surface"
         " AND x.part = NEW.part)"),
    KEPT("event", ITS_CAR, EVENT, ""),

    /* The customer complained: nothing is offered for that car until the owner says so. The
     * complaint is the owner's of then; the next one has made none. A job may be written before
     * its car. */
    "CREATE TRIGGER job_redo_holds_offers AFTER INSERT ON job WHEN NEW.redo_of IS NOT NULL BEGIN "
    "UPDATE car SET offers_held_at = NEW.entered_at"
    " WHERE id = NEW.car AND offers_held_at IS NULL; END",
    "CREATE TRIGGER car_offers_held AFTER INSERT ON car WHEN NEW.offers_held_at IS NULL"
    " AND EXISTS (SELECT 1 FROM job j WHERE j.car = NEW.id AND j.redo_of IS NOT NULL) BEGIN "
    "UPDATE car SET offers_held_at = (SELECT max(j.entered_at) FROM job j"
    " WHERE j.car = NEW.id AND j.redo_of IS NOT NULL) WHERE id = NEW.id; END",
    "CREATE TRIGGER car_new_owner_is_offered AFTER UPDATE OF customer ON car"
    " WHEN NEW.customer IS NOT OLD.customer AND NEW.offers_held_at IS NOT NULL BEGIN "
    "UPDATE car SET offers_held_at = NULL WHERE id = NEW.id; END",
    NULL};
