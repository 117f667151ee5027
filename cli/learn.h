/*
 * What `learn` found out about one product, and how it is told: in words, in a row of a table,
 * as JSON.
 */
#ifndef BEADLINE_CLI_LEARN_H
#define BEADLINE_CLI_LEARN_H

#include "beadline/catalogue.h"
#include "beadline/learn.h"
#include "context.h"
#include "table.h"

struct learning {
    const struct bl_rule *rule;
    const struct bl_learned *adopted; /* NULL: the rule has the label's life */
    struct bl_lesson lesson;
};

/* What is missing before there is a lesson, as the owner can mend it; NULL when there is one.
 * Caller frees. */
char *learn_missing(const struct learning *learning);

/* "14 looked at: 9 alive, 5 over; half last 34 days or longer (80 %: 30 to 39 days)": what an
 * adopted life rests on. Caller frees. */
char *learn_basis(const struct learning *learning);

/* What the product's own group says. */
const double *learn_label(const struct learning *learning);

/* Whether the proposed life is the one the product has by adoption. */
bool learn_adopted(const struct learning *learning);

void learn_print(const struct context *context, const struct learning *learning);
void learn_row(const struct learning *learning, struct table *table);
extern const char *const learn_titles[];

/* adopted_in: the file in which the life just adopted stands, or NULL. */
void learn_json(const struct context *context, const struct learning *learning,
                const char *adopted_in);

#endif
