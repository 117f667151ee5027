/*
 * Looking up: what a typed name means, and the records as lists and single rows.
 *
 * Rows given out own their texts; an array frees them with itself.
 */
#ifndef BEADLINE_LOOKUP_H
#define BEADLINE_LOOKUP_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/records.h"

/* What a typed name found. label is one line to show ("Ada Example (customer 3)"). */
struct bl_found {
    int64_t id;
    char *label;
};
void bl_found_free_all(GArray *found);

/* What was typed finds the candidates of the best rank that has any, so there is more than one
 * only when they fit equally well; none is an empty array. Names and addresses are compared
 * folded (text.h), names that do not fit so also without accents and apostrophes, plates by
 * their letters and digits. "#3" is the number 3 and nothing else.
 */

/* Customers, best first: whole name, telephone number or mail address in the stored form, or a
 * bare number that is an id; then a whole name but for its accents and apostrophes; then every
 * name that contains it. */
GArray *bl_customer_find(struct bl_store *store, const char *name, GError **error);
/* Cars, best first: the plate a car bears now (a plate of digits only wins over an id); a bare
 * number that is an id; whole name, former plate, or the owner as above (all his cars, so one
 * car is found by its owner); a whole name but for its accents and apostrophes; a part of
 * plate, name or owner's name. Of these, the same of a car that has gone comes right after
 * each. */
GArray *bl_car_find(struct bl_store *store, const char *name, GError **error);

/* Rows with texts owned by the array (its clear function is set). customer or car 0: all.
 * Sorted by name, plate, or newest first. */
GArray *bl_customer_list(struct bl_store *store, GError **error); /* bl_customer_row */
GArray *bl_consent_list(struct bl_store *store, int64_t customer,
                        GError **error); /* bl_consent_row, newest first */
GArray *bl_place_list(struct bl_store *store, int64_t customer,
                      GError **error); /* bl_place_row */
GArray *bl_car_list(struct bl_store *store, int64_t customer, GError **error); /* bl_car_row */
/* Those that are here and nothing is offered for, the longest held first. bl_car_row. */
GArray *bl_car_held_list(struct bl_store *store, GError **error);

/* What a car was before, newest first, what it is now among it. */
struct bl_car_past_row {
    int64_t since, customer; /* customer 0 in a list of plates */
    char *text;              /* the owner's name, or the plate */
};
GArray *bl_car_owner_list(struct bl_store *store, int64_t car, GError **error);
GArray *bl_car_plate_list(struct bl_store *store, int64_t car, GError **error);

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

#endif
