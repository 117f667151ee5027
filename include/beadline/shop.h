/*
 * The shop: what planning and composing need to know of it. Plain data, filled by the settings.
 */
#ifndef BEADLINE_SHOP_H
#define BEADLINE_SHOP_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/address.h"
#include "beadline/civil.h"

/* Sending hours of a week: seconds after local midnight; open == close means none that day. */
struct bl_hours {
    int32_t open[8]; /* index 1 Monday .. 7 Sunday */
    int32_t close[8];
};

/* A closed stretch of civil days, both ends included. */
struct bl_closed {
    int32_t first, last;
};

/* How seldom customers are written to. */
struct bl_restraint {
    int messages_a_day;     /* to one address; 1 */
    int care_days;          /* days between two care messages to a customer; 42 */
    int tips_offers_a_year; /* tips and offers together to a customer; 6 */
};

struct bl_shop {
    char *name;     /* every text starts with it */
    char *owner;    /* the person's name */
    char *phone;    /* E.164, for "ring me on"; never NULL */
    char *mail;     /* the owner's mailbox: From and Reply-To of mails; NULL without mail */
    char *address;  /* postal address for mails, may be NULL */
    char *language; /* default language of messages: "en" */
    struct bl_zone *zone;
    struct bl_hours hours;
    GArray *closed; /* struct bl_closed, sorted by first, not overlapping */
    struct bl_phone_home home;
    bool miles; /* distances shown and typed in miles; stored in km always */
    bool has_climate;
    double climate_c[12]; /* monthly means, degrees C, January first */
    unsigned salt_months; /* bit 0 January: when "winter salt" counts; 0 all the year */
    double km_a_year;     /* the prior for a car that declared nothing */
    int lead_days; /* how long before a protection's likely end its top-up is offered; 21; at
                    * most a quarter of a short life */
    struct bl_restraint restraint;
};

/* A day's sending hours are the instants from that of its opening wall clock up to, not
 * including, that of its closing one. */

/* The earliest instant >= at inside the sending hours, or BL_NEVER when the next 400 days have
 * none. */
int64_t bl_hours_next(const struct bl_shop *shop, int64_t at);

/* The latest instant <= at inside the sending hours and >= not_before, or BL_NEVER when there
 * is none between the two. The closing second itself is outside. */
int64_t bl_hours_last(const struct bl_shop *shop, int64_t at, int64_t not_before);

/* Whether at is inside the sending hours. */
bool bl_hours_open(const struct bl_shop *shop, int64_t at);

/* Frees what a shop holds, its zone among it, and leaves the pointers NULL. */
/* The first instant after at outside that day's sending hours; at itself when at is outside.
 * Days open around the clock still end at midnight. */
int64_t bl_hours_end(const struct bl_shop *shop, int64_t at);

void bl_shop_clear(struct bl_shop *shop);

#endif
