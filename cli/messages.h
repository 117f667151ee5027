/*
 * Messages on the owner's screen: one way to list them, for every command that does.
 */
#ifndef BEADLINE_CLI_MESSAGES_H
#define BEADLINE_CLI_MESSAGES_H

#include "beadline/letterbook.h"
#include "context.h"
#include "json.h"

/* What the time column of a list shows. */
enum messages_time { MESSAGES_GOING, MESSAGES_GONE };

/* The rows (struct bl_message_row) as a table indented by `indent`, or one JSON object a line
 * with
 * --json. */
void messages_print(const struct context *context, const GArray *rows, enum messages_time time,
                    int indent);

/* Begins an object with all that is known of a message. */
void messages_begin(const struct context *context, const struct bl_message_row *row,
                    struct json *json);

/* The rows as objects for json_objects. */
GPtrArray *messages_objects(const struct context *context, const GArray *rows);

/* The rows of a query inside the open transaction, or NULL with error set. */
GArray *messages_of(struct context *context, guint states, int64_t send_before,
                    int64_t ended_since, GError **error);

/* "+447700900123", "a@example.com" or "by hand". */
const char *messages_to(const struct bl_message_row *row);

/* When it goes: send_at, or not_before while a retry waits. */
int64_t messages_goes_at(const struct bl_message_row *row);

#endif
