/* A car whole, read first and shown then: show_car.c for people, show_car_json.c as an object.
 */
#ifndef BEADLINE_CLI_SHOW_CAR_H
#define BEADLINE_CLI_SHOW_CAR_H

#include "look.h"

#define SHOWN_CAR_RECENT 8 /* readings, jobs, what came off */

struct shown_car {
    struct bl_car_row row;
    struct bl_customer_row owner;
    struct look look;
    const struct bl_car *car; /* of the look */
    char *place;              /* where it is worked on, or NULL */
    GArray *owners, *plates, *events, *readings, *corrected, *jobs, *waiting;
};

/* Treatments by surface and part, those on the car and those that came off. Indexes (guint)
 * into car->treatments. */
GArray *shown_car_order(const struct shown_car *shown);

/* The next instant of that kind's due of the treatment, as planned; BL_NEVER none. */
int64_t shown_car_next(const struct shown_car *shown, const struct bl_treatment *treatment,
                       enum bl_kind kind);

/* When the message about that due goes as planned; BL_NEVER: none does. */
int64_t shown_car_goes(const struct shown_car *shown, const struct bl_treatment *treatment,
                       enum bl_kind kind);

/* show_car_on.c: what is on the car surface by surface, and what came off it lately. */
void shown_car_print_on(const struct context *context, const struct shown_car *shown);
void shown_car_print_off(const struct context *context, const struct shown_car *shown);

void shown_car_json(struct context *context, const struct shown_car *shown);

#endif
