/*
 * Migration 1, third part: whoever writes a fact that planning reads appends the customer to
 * `touched`, so other programs need not know that planning exists.
 *
 * What is hard about it: REPLACE (also INSERT OR REPLACE and UPDATE OR REPLACE) removes the row
 * in its way without firing a delete trigger, so a BEFORE trigger marks the owner of that row
 * too. Other clients have foreign keys off, so an owner is looked up and may not be there: then
 * nothing is appended, and whatever completes the chain later touches him. Too many marks cost
 * a little planning; a missing one costs a message.
 */
#include "schema.h"

#include <stddef.h>

/* Appends what `owners` selects. */
#define APPEND(owners) " BEGIN INSERT INTO touched (customer) " owners "; END"

#define OF_CUSTOMER(row) "SELECT " row ".id"
#define OF_ROW(row)      "SELECT " row ".customer"
#define OF_CAR(row)      "SELECT customer FROM car WHERE id = " row ".car"
#define OF_TREATMENT(row)                                                                      \
    "SELECT c.customer FROM job j JOIN car c ON c.id = j.car WHERE j.id = " row ".job"
#define OF_RULE(id)                                                                            \
    "SELECT DISTINCT c.customer FROM treatment t JOIN job j ON j.id = t.job"                   \
    " JOIN car c ON c.id = j.car WHERE t.rule = " id
#define OF_RULE_ROW(row) OF_RULE(row ".id")
#define OF_ADDRESS_ROW(row)                                                                    \
    "SELECT id FROM customer WHERE phone = " row ".address"                                    \
    " UNION SELECT id FROM customer WHERE mail = " row ".address"

/* The three ordinary triggers of a table whose owner is found by `of`. */
#define TOUCH(table, of)                                                                       \
    "CREATE TRIGGER " table "_touch_added AFTER INSERT ON " table APPEND(of("NEW")),           \
        "CREATE TRIGGER " table "_touch_changed AFTER UPDATE ON " table APPEND(                \
            of("OLD") " UNION " of("NEW")),                                                    \
        "CREATE TRIGGER " table "_touch_removed AFTER DELETE ON " table APPEND(of("OLD"))

/* The two for rows in the way; `twins` selects the owners of rows with NEW's keys. */
#define TOUCH_TWINS(table, twins)                                                              \
    "CREATE TRIGGER " table "_touch_in_the_way BEFORE INSERT ON " table APPEND(twins),         \
        "CREATE TRIGGER " table "_touch_run_over BEFORE UPDATE ON " table APPEND(twins)

#define TWINS_OF_ROW(table) "SELECT x.customer FROM " table " x WHERE x.id = NEW.id"
#define TWINS_OF_CAR(table)                                                                    \
    "SELECT c.customer FROM " table " x JOIN car c ON c.id = x.car WHERE x.id = NEW.id"

const char *const bl_schema1_touch[] = {
    /* A customer has no key but the id. */
    TOUCH("customer", OF_CUSTOMER),

    TOUCH("consent", OF_ROW), TOUCH_TWINS("consent", TWINS_OF_ROW("consent")),

    TOUCH("car", OF_ROW),
    TOUCH_TWINS("car", TWINS_OF_ROW("car") " OR x.plate_key = NEW.plate_key"),

    TOUCH("car_owner", OF_CAR), TOUCH_TWINS("car_owner", TWINS_OF_CAR("car_owner")),

    TOUCH("mileage", OF_CAR), TOUCH_TWINS("mileage", TWINS_OF_CAR("mileage")),

    /* The other key of a job is (car, finish), of a treatment (job, ...): the row in the way
     * has NEW's own owner. */
    TOUCH("job", OF_CAR), TOUCH_TWINS("job", TWINS_OF_CAR("job")),

    TOUCH("treatment", OF_TREATMENT),
    TOUCH_TWINS("treatment", "SELECT c.customer FROM treatment x JOIN job j ON j.id = x.job"
                             " JOIN car c ON c.id = j.car WHERE x.id = NEW.id"),

    TOUCH("event", OF_CAR), TOUCH_TWINS("event", TWINS_OF_CAR("event")),

    TOUCH("rule_version", OF_RULE_ROW),
    TOUCH_TWINS("rule_version", OF_RULE("(SELECT id FROM rule_version"
                                        " WHERE product = NEW.product AND text = NEW.text)")),

    /* Silence is keyed by the address itself: a row in the way is the same address. */
    TOUCH("silence", OF_ADDRESS_ROW), NULL};
