/*
 * Reports: the answer of a command that says more than one line. What the owner should think
 * about is collected on the way and said last.
 */
#ifndef BEADLINE_CLI_REPORT_H
#define BEADLINE_CLI_REPORT_H

#include <glib.h>

#include "json.h"

/* "Label         value", control characters made visible. Nothing is printed for an empty
 * value. */
void report_line(const char *label, const char *format, ...) G_GNUC_PRINTF(2, 3);

/* Remarks: an array of char *. */
GPtrArray *report_remarks(void);
void report_remark(GPtrArray *remarks, const char *format, ...) G_GNUC_PRINTF(2, 3);

/* One "Note: ..." line each. */
void report_print(const GPtrArray *remarks);

/* The same as "notes" of the object. */
void report_json(struct json *json, const GPtrArray *remarks);

#endif
