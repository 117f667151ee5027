/*
 * A look at one customer: the facts and the plan as they are now, for the reports of the
 * commands that write and of those that show.
 */
#ifndef BEADLINE_CLI_LOOK_H
#define BEADLINE_CLI_LOOK_H

#include "context.h"

struct look {
    struct bl_facts facts;
    struct bl_plan *plan;
};

/* Inside an open transaction. Clear it even when it failed. */
bool look_make(struct context *context, int64_t customer, struct look *look, GError **error);
void look_clear(struct look *look);

/* Parts of the facts, owned by the look; NULL when they are not the customer's. */
const struct bl_car *look_car(const struct look *look, int64_t car);
const struct bl_job *look_job(const struct bl_car *car, int64_t job);

/* The intent that carries due number i of the plan; NULL: no message goes for it. One that can
 * only lapse is none. */
const struct bl_intent *look_intent(const struct look *look, guint i);

/* Why due number i can only lapse; NULL: it has a message, is held, has passed or was told. */
const char *look_lapse(const struct look *look, guint i);

/* What the car is driven in a year as forecast, km: from its readings, what its owner says, and
 * the shop's usual. */
double look_km_a_year(const struct context *context, const struct bl_car *car);

/* The title of the treatment's product as the shop speaks, or "product no longer known". */
const char *look_title(const struct context *context, const struct bl_treatment *treatment);

/* "sms to +447700900123", "by hand". Caller frees. */
char *look_way(enum bl_channel channel, const char *address);

/* "paint", "paint, bonnet". Caller frees. */
char *look_place(enum bl_surface surface, const char *part);

/* "off since Thu 12 Mar: stripped" of a life that has ended; NULL while it is on. Caller frees.
 */
char *look_off(const struct context *context, const struct bl_life *life);

/* How much of its life is used, 1 all of it: by wear against the likely life, or by its plain
 * distance where that is more. NaN without a life of its own. */
double look_used(const struct bl_rule *rule, const struct bl_worn *worn);

/* Who puts it on again, as the owner reads it. Static text. */
const char *look_again(const struct bl_treatment *treatment);

#endif
