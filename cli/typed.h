/*
 * What was typed: instants, dates, words and numbers as people write them, each read with one
 * clear answer when it cannot be. Errors are BL_ERROR_INPUT unless something else is said.
 */
#ifndef BEADLINE_CLI_TYPED_H
#define BEADLINE_CLI_TYPED_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "context.h"

/* When something happened; NULL: now. What lies more than a day ahead has not happened:
 * BL_ERROR_REFUSED. what is "job", "reading". */
bool typed_at(const struct context *context, const char *what, const char *text, int64_t *at,
              GError **error);

/* The civil day of an instant as typed. */
bool typed_date(const struct context *context, const char *text, int32_t *date, GError **error);

/* The one of the words that was meant: case, and hyphens for spaces, do not matter. NULL and an
 * error that offers the nearest, or all. Owned by words. */
const char *typed_word(const char *what, const char *text, const char *const *words,
                       GError **error);

bool typed_yes(const char *what, const char *text, bool *yes, GError **error);

/* A number, with the unit behind it or without ("14", "14C", "60%"). unit may be "". */
bool typed_number(const char *what, const char *text, const char *unit, double *value,
                  GError **error);

/* A temperature: "14", "14C", "57F". */
bool typed_temp(const char *text, double *temp_c, GError **error);

/* "none": what was there is to go. */
bool typed_none(const char *text);

/* Puts a typed text, trimmed, in the place of *target; "none" and an empty text leave NULL.
 * Nothing happens when text is NULL. */
void typed_text(char **target, const char *text);

#endif
