/*
 * Showing one thing whole: show.c finds out what is meant, one file each shows it. All run
 * inside the transaction of context_look and print when nothing can fail any more.
 */
#ifndef BEADLINE_CLI_SHOW_H
#define BEADLINE_CLI_SHOW_H

#include "context.h"

bool show_customer(struct context *context, int64_t id, GError **error);
bool show_car(struct context *context, int64_t id, GError **error);
bool show_job(struct context *context, int64_t id, GError **error);
bool show_message(struct context *context, int64_t id, GError **error);

#endif
