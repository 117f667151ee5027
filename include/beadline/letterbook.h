/*
 * The letter book: messages and dues as the owner looks at them, waiting, gone and ended.
 */
#ifndef BEADLINE_LETTERBOOK_H
#define BEADLINE_LETTERBOOK_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/store.h"
#include "beadline/words.h"

struct bl_message_row {
    int64_t id, customer;
    char *customer_name;
    char *cars; /* plates or names of the cars it speaks of, ", " between */
    char *key;
    enum bl_kind kind;
    enum bl_class class;
    enum bl_channel channel;
    enum bl_state state;
    char *gateway, *address, *reason, *subject, *text, *html, *reference; /* NULL none */
    char *answer;                                                       /* the last attempt's */
    int64_t from, send_at, not_before, not_after, claimed_at, ended_at; /* 0 none */
    int attempts;
};
void bl_message_row_clear(struct bl_message_row *row);

/* What a list of messages is to hold; zero and empty fields do not restrict. */
struct bl_message_query {
    guint states; /* bits 1u << enum bl_state; 0 all */
    int64_t customer, car, job;
    int64_t send_before; /* send_at < it */
    int64_t ended_since; /* ended_at >= it */
    bool newest_first;   /* by ended_at, else by send_at */
    guint limit;         /* 0 all */
};
/* struct bl_message_row, texts owned by the array. */
GArray *bl_message_list(struct bl_store *store, const struct bl_message_query *query,
                        GError **error);
bool bl_message_get(struct bl_store *store, int64_t id, struct bl_message_row *row,
                    GError **error);

/* The keys (struct bl_ended) of a message's dues. */
GArray *bl_message_dues(struct bl_store *store, int64_t message, GError **error);

struct bl_due_row {
    int64_t id, customer, car, job, treatment;
    int64_t rule; /* the version it was reckoned by, 0 none */
    enum bl_kind kind;
    int64_t subject;
    int ordinal;
    int64_t from, best_by, not_after, ended_at;
    char *held, *end, *reason, *numbers; /* NULL none */
    bool vanished;                       /* withdrawn because the plan no longer had it */
};
/* Dues of the customer (0 all), open ones first by from. struct bl_due_row. */
GArray *bl_due_list(struct bl_store *store, int64_t customer, GError **error);

/* Facts left out, as stored by the last plans: char *, "Ada Example: treatment 12: no such
 * rule". */
GPtrArray *bl_skipped_list(struct bl_store *store, GError **error);

#endif
