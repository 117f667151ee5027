/*
 * Records: people, cars, jobs, mileage and events in the store, as the command writes and shows
 * them, and the facts planning reads.
 *
 * Rows given in are plain structs with borrowed texts; rows given out own their texts and live
 * in arrays whose clear function frees them. Bad values are refused with BL_ERROR_INPUT before
 * a statement runs; a broken rule of the schema is BL_ERROR_REFUSED.
 */
#ifndef BEADLINE_RECORDS_H
#define BEADLINE_RECORDS_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/facts.h"
#include "beadline/store.h"
#include "beadline/words.h"

struct bl_customer_row {
    int64_t id;
    char *name, *phone, *mail, *language, *note; /* phone, mail, language may be NULL */
    enum bl_channel route;
    enum bl_wish wish;
    int64_t added_at;
};

bool bl_customer_add(struct bl_store *store, const struct bl_customer_row *row, int64_t *id,
                     GError **error);
/* Writes every column of the row with that id. */
bool bl_customer_change(struct bl_store *store, const struct bl_customer_row *row,
                        GError **error);

struct bl_consent_row {
    int64_t customer, at;
    enum bl_class class;
    bool given;
    char *how, *words;
};

bool bl_consent_add(struct bl_store *store, const struct bl_consent_row *row, GError **error);

struct bl_place_row {
    int64_t id, customer;
    char *name, *address, *note;
};
bool bl_place_add(struct bl_store *store, const struct bl_place_row *row, int64_t *id,
                  GError **error);

struct bl_car_row {
    int64_t id, customer, place;      /* place 0 none */
    char *plate, *name, *size, *note; /* name, size may be NULL */
    char *exposures;                  /* one name a line; "" none */
    double km_a_year;                 /* NaN not declared */
    int64_t gone_at;                  /* BL_NEVER */
    char *gone_how;                   /* "sold", "scrapped"; NULL */
    int64_t offers_held_at;           /* since when nothing is offered for it; 0 */
    int64_t added_at;
};

bool bl_car_add(struct bl_store *store, const struct bl_car_row *row, int64_t *id,
                GError **error);
/* Writes every column; a changed owner or plate is kept in the car's history, and a new owner
 * is offered things again whatever was held for the last one. */
bool bl_car_change(struct bl_store *store, const struct bl_car_row *row, int64_t now,
                   GError **error);

/* Adds a reading of the instrument in use at that time. BL_ERROR_REFUSED, naming both readings
 * with date and value, when it goes back, has another value at the same instant, or rises by
 * more than 2 000 km times max(1, days between), against its neighbours on the same instrument.
 * The very reading that is there already is not added again: id receives that one's. */
bool bl_mileage_add(struct bl_store *store, int64_t car, int64_t at, double km, const char *how,
                    int64_t *id, GError **error);

/* As bl_mileage_add, for the first reading of an instrument that replaced the one before: it
 * may be lower, and nothing is differenced across. BL_ERROR_REFUSED, naming it, when a reading
 * is there that is as late or later. */
bool bl_mileage_new_instrument(struct bl_store *store, int64_t car, int64_t at, double km,
                               const char *how, int64_t *id, GError **error);

/* The version of this product's rule with this text, stored now if it is new. One that comes
 * back after another is the product's last again. */
bool bl_rule_version(struct bl_store *store, const char *product, const char *text, int64_t now,
                     int64_t *id, GError **error);
bool bl_package_version(struct bl_store *store, const char *key, const char *text, int64_t now,
                        int64_t *id, GError **error);
/* The last version of the product's rule; 0 when there is none. */
bool bl_rule_last(struct bl_store *store, const char *product, int64_t *id, GError **error);

/* The products that were put on cars that are here, by name, and how often. */
struct bl_product_used {
    char *product;
    int64_t treatments;
};
GArray *bl_products_used(struct bl_store *store, GError **error);

/* The text and product of a version. Callers free both. BL_ERROR_MISSING. */
bool bl_rule_text(struct bl_store *store, int64_t id, char **product, char **text,
                  GError **error);

struct bl_job_row {
    int64_t id, car, customer, finished_at, package, place, redo_of, entered_at; /* 0 none */
    double km, temp_c, humidity; /* NaN none; km also becomes a mileage reading */
    int32_t wash_from;           /* BL_NO_DATE none */
    bool cured_indoors, leaving_ok;
    char *note;
};

struct bl_treatment_row {
    int64_t id, job, rule;
    enum bl_surface surface;
    char *part; /* "" the whole surface */
    int coats;
    int64_t last_coat_at;
    int again;     /* enum bl_again, or -1 */
    char *batch;   /* NULL none */
    char *product; /* out only */
};

/* A job that makes good another (redo_of, of the same car) holds the car's offers until
 * bl_car_change lifts that.
 *
 * The job with its treatments (struct bl_treatment_row; NULL or empty: a wash only) and its
 * mileage reading, all or nothing, the caller's transaction otherwise untouched. customer 0:
 * whoever owned the car then. A treatment's job is filled in; its last_coat_at 0: when the job
 * was finished. A car's jobs finish at different instants: BL_ERROR_REFUSED names the job that
 * is there and says whether its work (product, surface, part) is the same. */
bool bl_job_add(struct bl_store *store, const struct bl_job_row *job, const GArray *treatments,
                int64_t *id, GError **error);

struct bl_event_row {
    int64_t id, car, at, treatment; /* treatment 0 none */
    enum bl_happening happening;
    int surface;                        /* -1 none */
    char *part, *with, *finding, *note; /* NULL none */
    double temp_c, hours; /* cured indoors: so many hours at that; hours 0 or NaN: a lamp */
};
bool bl_event_add(struct bl_store *store, const struct bl_event_row *row, int64_t *id,
                  GError **error);

/* Rules by version, read once: id -> rule, given by the caller's book. NULL when it cannot be
 * read. */
struct bl_rule_book {
    const struct bl_rule *(*rule)(void *self, int64_t id);
    void *self;
};

/* All facts of the customer, as one moment saw them. Rows that break a rule are left out, and
 * so are those that hang on them, each with one line "treatment 12: what is wrong" in
 * facts->skipped. A broken value of the customer himself counts as the quietest one: no
 * address, no wish, no consent. told includes what began to the same address for another
 * customer; ended leaves out dues that only vanished from the plan. facts is initialised by the
 * caller. BL_ERROR_MISSING when there is no customer. Needs no transaction. */
bool bl_store_facts(struct bl_store *store, int64_t customer, const struct bl_rule_book *book,
                    struct bl_facts *facts, GError **error);

/* Rows whose parent is not there, of every table: char *, "treatment 12: its job is not there:
 * ...". Those that still lead to a customer are in his facts, too; the others are only here. */
GPtrArray *bl_store_orphans(struct bl_store *store, GError **error);

#endif
