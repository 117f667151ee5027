/*
 * Explaining: the sum behind a date, as a person would write it for a pocket calculator. What
 * is printed is enough to reckon what follows from it again: facts and rule values as they are,
 * days to three decimals, speeds to six. explain.c finds what is meant; explain_car.c and
 * explain_message.c put together what the others print, each once for people and once as JSON.
 */
#ifndef BEADLINE_CLI_EXPLAIN_H
#define BEADLINE_CLI_EXPLAIN_H

#include "beadline/letterbook.h"
#include "json.h"
#include "look.h"

/* Both run inside the transaction of context_look. */
bool explain_car(struct context *context, int64_t id, GError **error);
bool explain_message(struct context *context, int64_t id, GError **error);

/* Whose facts, and as they are known when: an explanation of what has gone is of its day. */
struct explained {
    const struct context *context;
    const struct bl_shop *shop;
    struct look look;
    GArray *messages; /* struct explained_message: those of the customer that wait */
    int64_t now;
};

struct explained_message {
    struct bl_message_row row;
    GArray *keys; /* struct bl_ended */
};

/* Reads the facts, the plan and the waiting messages of the customer as known at now. Clear it
 * even when it failed. */
bool explained_init(struct explained *explained, struct context *context, int64_t customer,
                    GError **error);
void explained_clear(struct explained *explained);

/* --- explain_say.c: words and numbers -------------------------------------------------------
 */

/* "  Label       text", wrapped, control characters made visible. Label "" goes on with the one
 * before, NULL is a line of its own. */
void explain_line(const char *label, const char *format, ...) G_GNUC_PRINTF(2, 3);

/* Callers free. */
char *explain_fixed(double value, int decimals);
char *explain_exact(double value); /* "0.6", "91.3125": as the rule has it */

/* A distance in the shop's unit, and its name. */
double explain_length(const struct explained *explained, double km);
const char *explain_unit(const struct explained *explained);

/* "34 000 miles", rounded as people say it. Caller frees. */
char *explain_about(const struct explained *explained, double km);

char *explain_kind_title(enum bl_kind kind); /* "Top-up"; caller frees */
double explain_days(int64_t from, int64_t to);

/* "wheel spray sealant on wheels, front left, #9". Caller frees. */
char *explain_treatment_name(const struct explained *explained,
                             const struct bl_treatment *treatment);

/* Whether the rule's life is the one adopted from what was seen (learn). */
bool explain_learned(const struct explained *explained, const struct bl_rule *rule);

/* The one plain line, without what it is about: "34 000 miles a year, about twice the usual:
 * three weeks, not six". Caller frees. */
char *explain_plain(const struct explained *explained, const struct bl_car *car,
                    const struct bl_treatment *treatment);

/* --- explain_distance.c, explain_wear.c, explain_cure.c, explain_due.c -----------------------
 */

void explain_distance_print(const struct explained *explained, const struct bl_car *car);
char *explain_distance_object(const struct explained *explained, const struct bl_car *car);

void explain_wear_print(const struct explained *explained, const struct bl_car *car,
                        const struct bl_treatment *treatment);
char *explain_wear_object(const struct explained *explained, const struct bl_car *car,
                          const struct bl_treatment *treatment);

/* Nothing, and NULL, when nothing cures. */
void explain_cure_print(const struct explained *explained, const struct bl_car *car);
char *explain_cure_object(const struct explained *explained, const struct bl_car *car);
char *explain_cure_plain(const struct explained *explained, const struct bl_car *car);

/* Due number i of the look's plan. */
void explain_due_print(const struct explained *explained, guint i);
char *explain_due_object(const struct explained *explained, guint i);

/* The waiting message the due rides on, or NULL. */
const struct bl_message_row *explained_message_of(const struct explained *explained,
                                                  const struct bl_due *due);

const struct bl_treatment *explained_treatment(const struct bl_car *car, int64_t id);

#endif
