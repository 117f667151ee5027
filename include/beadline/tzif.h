/*
 * Time zone files (RFC 8536): the offsets of one zone as spans of constant offset.
 *
 * Read here rather than through GLib 2.74, which gives Europe/Dublin (whose standard time is
 * its summer time) two hours in place of none in the winters after the last stored transition,
 * 2037. The spans of a zone touch and cover all time.
 */
#ifndef BEADLINE_TZIF_H
#define BEADLINE_TZIF_H

#include <glib.h>
#include <stdint.h>

#include "beadline/cleanup.h"

/* 26 hours: the offsets the format allows lie within as many seconds of UTC (RFC 8536 section
 * 3.2). */
#define BL_TZIF_MOST_OFFSET 93600

struct bl_tzif;

struct bl_tzif_span {
    int64_t from;   /* first second of the span, INT64_MIN when it always was so */
    int64_t until;  /* first second after it, INT64_MAX when it stays so */
    int32_t offset; /* seconds east of UTC */
};

/* Reads version 2 or later; leap seconds are refused, for instants here have none. Error:
 * BL_ERROR_DAMAGED, the text without a file name. */
struct bl_tzif *bl_tzif_parse(const void *bytes, gsize length, GError **error);
void bl_tzif_free(struct bl_tzif *tzif);
BL_DEFINE_AUTO(bl_tzif);

/* The span that `at` lies in. Meant for years 1 to 9999. */
struct bl_tzif_span bl_tzif_span_at(const struct bl_tzif *tzif, int64_t at);

#endif
