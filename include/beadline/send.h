/*
 * Sending: many parcels in flight over one curl_multi.
 *
 * Knows gateways, not messages: ids are handed back as they came. A started parcel has exactly
 * one outcome. Nothing is retried here.
 */
#ifndef BEADLINE_SEND_H
#define BEADLINE_SEND_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/cleanup.h"
#include "beadline/gateway.h"
#include "beadline/verdict.h"

struct pollfd; /* of poll.h */

struct bl_parcel {
    int64_t id;
    char *to; /* E.164 or mail address, checked again here */
    char *key;
    GBytes *body; /* smtp: the mail; http: the body; folder: the file's content; may be NULL */
    char *url;    /* http */
    char **headers; /* http, NULL-terminated */
    char *suffix;   /* folder: ".eml" or ".txt" */
};

void bl_parcel_clear(struct bl_parcel *parcel);

/* What carries parcels: the real sender, or a false one in tests. */
struct bl_carrier {
    /* How many more may start on this gateway now. */
    guint (*room)(void *self, guint gateway);
    /* Begins one; takes over the parcel's contents. Whatever goes wrong is an outcome. */
    void (*start)(void *self, guint gateway, struct bl_parcel *parcel, int64_t now);
    /* Fills the next finished one; false when there is none. Its connection is left as it is
     * until the next `start` or `poll`, so the outcome can be stored first. */
    bool (*take)(void *self, struct bl_outcome *outcome);
    /* How many are in flight. */
    guint (*flying)(void *self);
    /* The HTTP secret of the gateway, for its headers; NULL none. Owned by the carrier. */
    const char *(*secret)(void *self, guint gateway);
    void *self;
};

struct bl_sender;

/* gateways: struct bl_gateway, kept by the caller and unchanged until the sender is freed.
 * Reads the secrets; a secret file others can read is an error (BL_ERROR_INPUT) naming the file
 * and the remedy. */
struct bl_sender *bl_sender_new(const GArray *gateways, GError **error);

/* Ends what is in flight without an outcome (such messages are unsure). */
void bl_sender_free(struct bl_sender *sender);
BL_DEFINE_AUTO(bl_sender);

struct bl_carrier bl_sender_carrier(struct bl_sender *sender);

/* One poll over the transfers and the caller's descriptors, at most timeout_ms (-1 for ever),
 * then moves the transfers on. revents of the descriptors are filled. The only wait of the
 * daemon. */
bool bl_sender_poll(struct bl_sender *sender, struct pollfd *fds, guint count, int timeout_ms,
                    GError **error);

#endif
