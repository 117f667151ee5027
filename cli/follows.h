/*
 * What follows from a change: the customer as he was before and as he is after it, told as what
 * is different now: what is on the car and until when, its wash date, and which message goes
 * when, or not any more, and why.
 */
#ifndef BEADLINE_CLI_FOLLOWS_H
#define BEADLINE_CLI_FOLLOWS_H

#include "json.h"
#include "look.h"

struct follows {
    int64_t car;
    struct look before, after;
    GPtrArray
        *went; /* char *: messages about what is different that went before, a remark each */
};

/* Each inside the one transaction: before the change, and after it. The customer is whose car
 * it was before. Clear it even when one failed. */
bool follows_begin(struct context *context, int64_t car, struct follows *follows,
                   GError **error);
bool follows_end(struct context *context, struct follows *follows, GError **error);
void follows_clear(struct follows *follows);

/* The car after the change; NULL when it is another customer's. */
const struct bl_car *follows_car(const struct follows *follows);

/* Whether anything is different. */
bool follows_any(const struct context *context, const struct follows *follows);

/* As a table with a heading; nothing when nothing is different. */
void follows_print(const struct context *context, const struct follows *follows);

/* The same as "changes" of the object, and what came off as "came_off". */
void follows_json(const struct context *context, const struct follows *follows,
                  struct json *json);

/* What the change took off the car: "wheel spray sealant (wheels)"; NULL-terminated. */
GPtrArray *follows_came_off(const struct context *context, const struct follows *follows);

/* What went before the change stays as it went: a remark for each such message. */
void follows_remark(const struct follows *follows, GPtrArray *remarks);

#endif
