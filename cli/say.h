/*
 * How things are said on the owner's screen: instants, distances, names of cars and channels.
 */
#ifndef BEADLINE_CLI_SAY_H
#define BEADLINE_CLI_SAY_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/lookup.h"
#include "context.h"

/* "Mar" for 3. */
const char *say_month(int month);

/* "Thu 12 Mar 09:00" in the shop's zone, with the year when it is not now's; "" for 0 and
 * BL_NEVER. Caller frees. */
char *say_at(const struct context *context, int64_t at);

/* "Thu 12 Mar" or "Thu 12 Mar 2028"; "" for BL_NO_DATE. Caller frees. */
char *say_date(const struct context *context, int32_t date);

/* The civil day of an instant as say_date. */
char *say_day(const struct context *context, int64_t at);

/* As say_at, say_date and say_day, the year always there: for what is reckoned with. */
char *say_moment(const struct context *context, int64_t at);
char *say_full_date(int32_t date);
char *say_full_day(const struct context *context, int64_t at);

/* "12 Apr to 3 May" of two instants, the day alone when it is one; "" when last never comes.
 * Caller frees. */
char *say_span(const struct context *context, int64_t first, int64_t last);

/* "48 210 km" or "29 957 miles", as the shop counts. Caller frees. */
char *say_distance(const struct context *context, double km);

/* "21 days", "14 to 21 days", "2 to 5 years"; "" for none. Caller frees. */
char *say_life(const double span[2]);

/* What was typed as a distance, "48210", "48 210", "48,210km", "30000 miles", "30k": km. A bare
 * number and thousands ("30k") are in the shop's unit. Error: BL_ERROR_INPUT. */
bool say_read_distance(const struct context *context, const char *text, double *km,
                       GError **error);

/* "blue estate (AB12 CDE)" or the plate alone. Caller frees. */
char *say_car(const char *name, const char *plate);

/* The one customer or car that the name finds: its id. Nothing (the nearest name is offered) or
 * several are errors that say what to type instead (BL_ERROR_MISSING, BL_ERROR_INPUT). */
bool say_find_customer(struct context *context, const char *name, int64_t *id, GError **error);
bool say_find_car(struct context *context, const char *name, int64_t *id, GError **error);

/* Whether a car that is here bears what was typed as its plate now. */
bool say_is_plate(struct context *context, const char *name);

/* A message's number as typed, "#12" or "12". Error: BL_ERROR_INPUT. */
bool say_read_id(const char *text, const char *what, int64_t *id, GError **error);

#endif
