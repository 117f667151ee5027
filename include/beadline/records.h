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

/* --- customers ---------------------------------------------------------------------------- */

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

/* --- cars, places, mileage ------------------------------------------------------------------
 */

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
    int64_t added_at;
};

bool bl_car_add(struct bl_store *store, const struct bl_car_row *row, int64_t *id,
                GError **error);
/* Writes every column; a changed owner or plate is kept in the car's history. */
bool bl_car_change(struct bl_store *store, const struct bl_car_row *row, int64_t now,
                   GError **error);

/* Adds a reading. BL_ERROR_REFUSED, naming both readings, when it goes back or rises by more
 * than 2 000 km times max(1, days between) against its neighbours on the same instrument. */
bool bl_mileage_add(struct bl_store *store, int64_t car, int64_t at, double km, const char *how,
                    int64_t *id, GError **error);

/* --- rules, jobs, treatments, events ---------------------------------------------------------
 */

/* The version of this product's rule with this text, stored now if it is new. */
bool bl_rule_version(struct bl_store *store, const char *product, const char *text, int64_t now,
                     int64_t *id, GError **error);
bool bl_package_version(struct bl_store *store, const char *key, const char *text, int64_t now,
                        int64_t *id, GError **error);
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

/* The job with its treatments (struct bl_treatment_row; their job is filled in), all or
 * nothing. An identical job of the same car and finish time is refused as already there. */
bool bl_job_add(struct bl_store *store, const struct bl_job_row *job, const GArray *treatments,
                int64_t *id, GError **error);

struct bl_event_row {
    int64_t id, car, at, treatment; /* treatment 0 none */
    enum bl_happening happening;
    int surface;                        /* -1 none */
    char *part, *with, *finding, *note; /* NULL none */
};
bool bl_event_add(struct bl_store *store, const struct bl_event_row *row, int64_t *id,
                  GError **error);

/* --- finding and listing ---------------------------------------------------------------------
 */

/* What a typed name found. label is one line to show ("Ada Example (customer 3)"). */
struct bl_found {
    int64_t id;
    char *label;
};
void bl_found_free_all(GArray *found);

/* Customers matching: "#3" or "3" (id), a number or mail address already in its stored form,
 * the whole name, else every name that contains it (folded). Exact matches win over partial
 * ones. */
GArray *bl_customer_find(struct bl_store *store, const char *name, GError **error);
/* Cars matching: "#7"/"7" (id), plate (also an old one), name, or their owner when he has one
 * car. */
GArray *bl_car_find(struct bl_store *store, const char *name, GError **error);

/* Rows with texts owned by the array (its clear function is set). customer or car 0: all.
 * Sorted by name, plate, or newest first. */
GArray *bl_customer_list(struct bl_store *store, GError **error); /* bl_customer_row */
GArray *bl_consent_list(struct bl_store *store, int64_t customer,
                        GError **error); /* bl_consent_row, newest first */
GArray *bl_place_list(struct bl_store *store, int64_t customer,
                      GError **error); /* bl_place_row */
GArray *bl_car_list(struct bl_store *store, int64_t customer, GError **error); /* bl_car_row */
GArray *bl_job_list(struct bl_store *store, int64_t car, guint limit,
                    GError **error); /* bl_job_row */
GArray *bl_treatment_list(struct bl_store *store, int64_t job,
                          GError **error); /* bl_treatment_row */
GArray *bl_event_list(struct bl_store *store, int64_t car, GError **error); /* bl_event_row */
GArray *bl_mileage_list(struct bl_store *store, int64_t car,
                        GError **error); /* struct bl_reading */

bool bl_customer_get(struct bl_store *store, int64_t id, struct bl_customer_row *row,
                     GError **error);
bool bl_car_get(struct bl_store *store, int64_t id, struct bl_car_row *row, GError **error);
bool bl_job_get(struct bl_store *store, int64_t id, struct bl_job_row *row, GError **error);
void bl_customer_row_clear(struct bl_customer_row *row);
void bl_car_row_clear(struct bl_car_row *row);
void bl_job_row_clear(struct bl_job_row *row);

/* How many there are. */
struct bl_counts {
    int64_t customers, cars, jobs;
};
bool bl_store_counts(struct bl_store *store, struct bl_counts *counts, GError **error);

/* --- facts -------------------------------------------------------------------------------- */

/* Rules by version, read once: id -> rule, given by the caller's book. NULL when it cannot be
 * read. */
struct bl_rule_book {
    const struct bl_rule *(*rule)(void *self, int64_t id);
    void *self;
};

/* All facts of the customer. Rows that break a rule are left out, each with its reason in
 * facts->skipped. facts is initialised by the caller. BL_ERROR_MISSING when there is no
 * customer. */
bool bl_store_facts(struct bl_store *store, int64_t customer, const struct bl_rule_book *book,
                    struct bl_facts *facts, GError **error);

#endif
