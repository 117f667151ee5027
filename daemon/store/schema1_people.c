/*
 * Migration 1, first part: the owner's records. Ids are never given twice (AUTOINCREMENT): dues
 * are named by them for ever.
 */
#include "schema.h"

#include <stddef.h>

#define SURFACES                                                                               \
    "('paint', 'windscreen', 'glass', 'wheels', 'tyres', 'trim', 'leather', 'fabric', 'soft "  \
    "top')"

/* The newest entry of a car's history, and the instant a new one is dated by. */
#define LAST(history, column)                                                                  \
    "(SELECT " column " FROM " history " WHERE car = NEW.id ORDER BY id DESC LIMIT 1)"
#define SINCE(history)                                                                         \
    "CASE WHEN EXISTS (SELECT 1 FROM " history " WHERE car = NEW.id)"                          \
    " THEN coalesce(NEW.changed_at, unixepoch()) ELSE NEW.added_at END"

const char *const bl_schema1_people[] = {
    "CREATE TABLE customer (" BL_SQL_ID
    "name TEXT NOT NULL CHECK (trim(name) <> '' AND " BL_SQL_LINE(
        "name", "1",
        "200") "), "
               "phone TEXT CHECK (phone GLOB '+[1-9]*' AND length(phone) BETWEEN 8 AND 16"
               " AND substr(phone, 2) NOT GLOB '*[^0-9]*'), "
               "mail TEXT COLLATE NOCASE CHECK (mail LIKE '%_@_%' AND instr(mail, ' ') = 0 AND " BL_SQL_LINE(
                   "mail", "3",
                   "254") "), "
                          "language TEXT CHECK (" BL_SQL_LINE(
                              "language", "1",
                              "35") "), "
                                    "route TEXT NOT NULL DEFAULT 'sms' CHECK (route IN ('sms', 'mail', 'by hand')), "
                                    "wish TEXT NOT NULL DEFAULT 'normal'"
                                    " CHECK (wish IN ('normal', 'often', 'seldom', 'never')), "
                                    "note TEXT NOT NULL DEFAULT '' CHECK (length(note) <= 2000), "
                                    "added_at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
                                        "added_at") ")) STRICT",
    "CREATE INDEX customer_phone ON customer (phone) WHERE phone IS NOT NULL",
    "CREATE INDEX customer_mail ON customer (mail) WHERE mail IS NOT NULL",

    /* The newest (at, id) of a class holds. */
    "CREATE TABLE consent (" BL_SQL_ID "customer INTEGER NOT NULL REFERENCES customer (id), "
    "class TEXT NOT NULL CHECK (class IN ('service', 'tips', 'offers')), "
    "given INTEGER NOT NULL CHECK (given IN (0, 1)), "
    "at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
        "at") "), "
              "how TEXT NOT NULL CHECK (" BL_SQL_LINE(
                  "how", "1",
                  "200") "), "
                         "words TEXT NOT NULL DEFAULT '' CHECK (length(words) <= 2000)) STRICT",
    "CREATE INDEX consent_customer ON consent (customer, class, at)",

    "CREATE TABLE place (" BL_SQL_ID "customer INTEGER NOT NULL REFERENCES customer (id), "
    "name TEXT NOT NULL CHECK (" BL_SQL_LINE(
        "name", "1",
        "200") "), "
               "address TEXT NOT NULL DEFAULT '' CHECK (length(address) <= 2000), "
               "note TEXT NOT NULL DEFAULT '' CHECK (length(note) <= 2000)) STRICT",
    "CREATE INDEX place_customer ON place (customer)",

    /* plate_key: upper case letters and digits only, what plates are compared by.
     * changed_at: a writer that changes owner or plate says here when, by its own clock; the
     * trigger that dates the history takes it out again, and asks the machine's clock when
     * nothing was said. It reads NULL always. */
    "CREATE TABLE car (" BL_SQL_ID "customer INTEGER NOT NULL REFERENCES customer (id), "
    "plate TEXT NOT NULL CHECK (" BL_SQL_LINE(
        "plate", "1",
        "200") "), "
               "plate_key TEXT NOT NULL CHECK (" BL_SQL_LINE(
                   "plate_key", "1",
                   "200") "), "
                          "name TEXT CHECK (" BL_SQL_LINE(
                              "name", "1",
                              "200") "), "
                                     "size TEXT CHECK (" BL_SQL_LINE(
                                         "size", "1",
                                         "200") "), "
                                                "km_a_year REAL CHECK (km_a_year BETWEEN 0 AND 1000000), "
                                                "exposures TEXT NOT NULL DEFAULT '' CHECK (length(exposures) <= 2000), "
                                                "place INTEGER REFERENCES place (id) ON DELETE SET NULL, "
                                                "gone_at INTEGER CHECK (" BL_SQL_INSTANT(
                                                    "gone_at") "), "
                                                               "gone_how TEXT CHECK (" BL_SQL_LINE(
                                                                   "gone_how", "1",
                                                                   "200") "), "
                                                                          "note TEXT NOT NULL DEFAULT '' CHECK (length(note) <= 2000), "
                                                                          "added_at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
                                                                              "added_at") "), "
                                                                                          "changed_at INTEGER CHECK (" BL_SQL_INSTANT(
                                                                                              "changed_at") ")) STRICT",
    "CREATE UNIQUE INDEX car_plate_here ON car (plate_key) WHERE gone_at IS NULL",
    "CREATE INDEX car_customer ON car (customer)",

    "CREATE TABLE car_owner (" BL_SQL_ID "car INTEGER NOT NULL REFERENCES car (id), "
    "customer INTEGER NOT NULL REFERENCES customer (id), "
    "since INTEGER NOT NULL) STRICT",
    "CREATE INDEX car_owner_car ON car_owner (car)",
    "CREATE INDEX car_owner_customer ON car_owner (customer, car)",
    "CREATE TABLE car_plate (" BL_SQL_ID "car INTEGER NOT NULL REFERENCES car (id), "
    "plate TEXT NOT NULL, plate_key TEXT NOT NULL, since INTEGER NOT NULL) STRICT",
    "CREATE INDEX car_plate_car ON car_plate (car)",
    "CREATE INDEX car_plate_key ON car_plate (plate_key)",

    "CREATE TABLE mileage (" BL_SQL_ID "car INTEGER NOT NULL REFERENCES car (id), "
    "at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
        "at") "), "
              "km REAL NOT NULL CHECK (km >= 0 AND km <= 5000000), "
              "instrument INTEGER NOT NULL DEFAULT 0 CHECK (instrument BETWEEN 0 AND 1000), "
              "how TEXT NOT NULL DEFAULT '' CHECK (" BL_SQL_LINE("how", "0", "200") ")) STRICT",
    "CREATE INDEX mileage_car ON mileage (car, at)",

    "CREATE TABLE package (" BL_SQL_ID "key TEXT NOT NULL CHECK (" BL_SQL_LINE(
        "key", "1", "200") "), "
                           "text TEXT NOT NULL CHECK (length(text) <= 100000), "
                           "stored_at INTEGER NOT NULL, UNIQUE (key, text)) STRICT",
    "CREATE TABLE rule_version (" BL_SQL_ID "product TEXT NOT NULL CHECK (" BL_SQL_LINE(
        "product", "1", "200") "), "
                               "text TEXT NOT NULL CHECK (length(text) <= 100000), "
                               "stored_at INTEGER NOT NULL, UNIQUE (product, text)) STRICT",

    "CREATE TABLE job (" BL_SQL_ID "car INTEGER NOT NULL REFERENCES car (id), "
    "customer INTEGER NOT NULL REFERENCES customer (id), "
    "finished_at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
        "finished_at") "), "
                       "km REAL CHECK (km >= 0 AND km <= 5000000), "
                       "temp_c REAL CHECK (temp_c BETWEEN -40 AND 60), "
                       "humidity REAL CHECK (humidity BETWEEN 0 AND 100), "
                       "wash_from INTEGER CHECK (wash_from BETWEEN 0 AND 84005), "
                       "cured_indoors INTEGER NOT NULL DEFAULT 0 CHECK (cured_indoors IN (0, 1)), "
                       "package INTEGER REFERENCES package (id), "
                       "place INTEGER REFERENCES place (id) ON DELETE SET NULL, "
                       "redo_of INTEGER REFERENCES job (id), "
                       "note TEXT NOT NULL DEFAULT '' CHECK (length(note) <= 2000), "
                       "leaving_ok INTEGER NOT NULL DEFAULT 0 CHECK (leaving_ok IN (0, 1)), "
                       "entered_at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
                           "entered_at") "), "
                                         "UNIQUE (car, finished_at)) STRICT",
    "CREATE INDEX job_customer ON job (customer)",

    "CREATE TABLE treatment (" BL_SQL_ID "job INTEGER NOT NULL REFERENCES job (id), "
    "rule INTEGER NOT NULL REFERENCES rule_version (id), "
    "surface TEXT NOT NULL CHECK (surface IN " SURFACES "), "
    "part TEXT NOT NULL DEFAULT '' CHECK (" BL_SQL_LINE(
        "part", "0",
        "200") "), "
               "coats INTEGER NOT NULL DEFAULT 1 CHECK (coats BETWEEN 1 AND 9), "
               "last_coat_at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
                   "last_coat_at") "), "
                                   "again TEXT CHECK (again IN ('shop', 'next booking', 'customer')), "
                                   "batch TEXT CHECK (" BL_SQL_LINE(
                                       "batch", "1",
                                       "200") "), "
                                              "UNIQUE (job, rule, surface, part)) STRICT",
    "CREATE INDEX treatment_rule ON treatment (rule)",

    "CREATE TABLE event (" BL_SQL_ID "car INTEGER NOT NULL REFERENCES car (id), "
    "at INTEGER NOT NULL CHECK (" BL_SQL_INSTANT(
        "at") "), "
              "happening TEXT NOT NULL CHECK (happening IN ('care', 'harsh wash', 'stripped', 'polished', "
              "'part replaced', 'resprayed', 'wet too early', 'etched', 'wheels off', 'cured indoors', "
              "'inspection')), "
              "treatment INTEGER REFERENCES treatment (id), "
              "surface TEXT CHECK (surface IN " SURFACES "), "
              "part TEXT CHECK (" BL_SQL_LINE(
                  "part", "0",
                  "200") "), "
                         "\"with\" TEXT CHECK (" BL_SQL_LINE(
                             "\"with\"", "1",
                             "200") "), "
                                    "finding TEXT CHECK (length(finding) <= 2000), "
                                    "note TEXT CHECK (length(note) <= 2000)) STRICT",
    "CREATE INDEX event_car ON event (car, at)",

    /* A car's owners and plates, whoever writes. A row that was replaced has its history
     * already, and the new row adds to it only what differs. */
    "CREATE TRIGGER car_history_begins AFTER INSERT ON car BEGIN "
    "INSERT INTO car_owner (car, customer, since) SELECT NEW.id, NEW.customer, " SINCE("car_owner") " WHERE NEW.customer IS NOT " LAST(
        "car_owner",
        "customer") "; "
                    "INSERT INTO car_plate (car, plate, plate_key, since) SELECT NEW.id, NEW.plate, "
                    "NEW.plate_key, " SINCE("car_plate") " WHERE NEW.plate IS NOT " LAST(
                        "car_plate",
                        "plate") "; "
                                 "UPDATE car SET changed_at = NULL WHERE id = NEW.id AND changed_at IS NOT NULL; END",
    "CREATE TRIGGER car_history AFTER UPDATE ON car BEGIN "
    "INSERT INTO car_owner (car, customer, since) SELECT NEW.id, NEW.customer, "
    "coalesce(NEW.changed_at, unixepoch()) WHERE NEW.customer IS NOT OLD.customer; "
    "INSERT INTO car_plate (car, plate, plate_key, since) SELECT NEW.id, NEW.plate, "
    "NEW.plate_key, coalesce(NEW.changed_at, unixepoch()) WHERE NEW.plate IS NOT OLD.plate; "
    "UPDATE car SET changed_at = NULL WHERE id = NEW.id AND changed_at IS NOT NULL; END",
    NULL};
