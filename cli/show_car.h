/* A car whole, read first and shown then: show_car.c for people, show_car_json.c as an object.
 */
#ifndef BEADLINE_CLI_SHOW_CAR_H
#define BEADLINE_CLI_SHOW_CAR_H

#include "look.h"

struct shown_car {
    struct bl_car_row row;
    struct bl_customer_row owner;
    struct look look;
    const struct bl_car *car; /* of the look */
    char *place;              /* where it is worked on, or NULL */
    GArray *owners, *plates, *events, *jobs, *waiting;
};

/* Treatments by surface and part, those on the car and those that came off. Indexes (guint)
 * into car->treatments. */
GArray *shown_car_order(const struct shown_car *shown);

void shown_car_json(const struct context *context, const struct shown_car *shown);

#endif
