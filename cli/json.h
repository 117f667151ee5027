/*
 * --json: one object a line. Instants are RFC 3339 in the shop's zone; what is absent is null.
 */
#ifndef BEADLINE_CLI_JSON_H
#define BEADLINE_CLI_JSON_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/civil.h"

struct json {
    GString *line;
};

void json_begin(struct json *json);
void json_text(struct json *json, const char *name, const char *value);
void json_whole(struct json *json, const char *name, int64_t value);
void json_number(struct json *json, const char *name, double value); /* NaN: null */
/* "[1, 2]"; an end that is none is null, and so is a pair of two of them. */
void json_pair(struct json *json, const char *name, const double values[2]);
void json_yes(struct json *json, const char *name, bool value);
void json_at(struct json *json, const char *name, const struct bl_zone *zone,
             int64_t at);                                          /* 0, BL_NEVER: null */
void json_date(struct json *json, const char *name, int32_t date); /* BL_NO_DATE: null */
void json_texts(struct json *json, const char *name, const char *const *values);
/* value is JSON already (an object or array made by json_take). */
void json_raw(struct json *json, const char *name, const char *value);
/* values: char *, each a JSON object; they become one array. */
void json_objects(struct json *json, const char *name, const GPtrArray *values);

/* Prints the object and a line feed on standard output. */
void json_end(struct json *json);

/* The object as a text instead; caller frees. */
char *json_take(struct json *json);

/* A new array for json_objects, which frees its texts. */
GPtrArray *json_list(void);

#endif
