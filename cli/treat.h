/*
 * Treatments as they are typed, one word each, easy with wet hands:
 *
 *     wheel-spray                      a product, on its own surface
 *     coating-3y:2                     in two coats
 *     coating-3y@paint                 on this surface (soft-top for "soft top")
 *     paint-film/bonnet                on a part only (front-bumper for "front bumper")
 *     paint-film@paint/front-bumper:2  all of it
 *     full-3y                          a package: a named set of treatments
 *
 * What is typed by itself replaces what a package, or the last job, put on the same place.
 */
#ifndef BEADLINE_CLI_TREAT_H
#define BEADLINE_CLI_TREAT_H

#include "context.h"

/* One treatment that was meant. */
struct pick {
    const struct bl_rule *rule;
    enum bl_surface surface;
    char *part; /* "" the whole surface */
    int coats;
    bool typed;  /* by itself, not in a package or by the last job */
    char *batch; /* NULL none */
    int again;   /* enum bl_again, or -1 the rule's */
};

struct picks {
    GArray *list;                     /* struct pick, in the order typed */
    const struct bl_package *package; /* the first one named; NULL none */
};

void picks_init(struct picks *picks);
void picks_clear(struct picks *picks);

/* Adds what the word means. BL_ERROR_INPUT, BL_ERROR_MISSING with the nearest known name. */
bool picks_word(struct picks *picks, const struct bl_catalogue *catalogue, const char *word,
                GError **error);

/* Adds what the car's newest job before `at` that put something on put on. BL_ERROR_MISSING
 * when there is none, or one of its products is not in the catalogue any more. */
bool picks_last(struct picks *picks, struct context *context, int64_t car, int64_t at,
                GError **error);

/* Adds what that job put on. BL_ERROR_MISSING when it put nothing on, or one of its products is
 * not in the catalogue any more. */
bool picks_job(struct picks *picks, struct context *context, int64_t job, GError **error);

/* The product of that key, by itself. BL_ERROR_MISSING with the nearest known name. */
const struct bl_rule *picks_product(const struct bl_catalogue *catalogue, const char *typed,
                                    GError **error);

/* "PRODUCT=TEXT": the batch of the bottle; "PRODUCT=shop|next-booking|customer": who does it
 * again. Each is set on every pick of the product. */
bool picks_batch(struct picks *picks, const char *typed, GError **error);
bool picks_again(struct picks *picks, const char *typed, GError **error);

/* The picks as rows with their rules' versions stored; texts are borrowed from the picks. NULL
 * and error. Inside the transaction. */
GArray *picks_rows(const struct picks *picks, struct context *context, GError **error);

/* The word for a treatment, as it would be typed. Caller frees. */
char *treat_spell(const struct bl_rule *rule, enum bl_surface surface, const char *part,
                  int coats);

#endif
