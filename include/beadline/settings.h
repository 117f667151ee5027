/*
 * Settings: one libconfig file, read by one table of options.
 */
#ifndef BEADLINE_SETTINGS_H
#define BEADLINE_SETTINGS_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/cleanup.h"
#include "beadline/error.h"
#include "beadline/gateway.h"
#include "beadline/option.h"
#include "beadline/shop.h"

struct bl_settings {
    char *file; /* as opened, absolute */
    struct bl_shop shop;
    char *database;   /* absolute; relative paths in the file are from the file's folder */
    char *catalogue;  /* folder */
    char *templates;  /* folder */
    GArray *gateways; /* struct bl_gateway; a folder gateway "outbox" when none is given */
    int carries[BL_CHANNELS]; /* index into gateways for BL_SMS, BL_MAIL; -1 none */
    bool
        clock_unchecked; /* the owner says there is no way to know whether it is synchronised */
    int retry_first_s;   /* plain exponential backoff: first wait; 60 */
    int retry_longest_s; /* and longest; 21600 */
};

/* All faults are collected as "file:line: ..."; NULL when there was one. Unknown names are
 * faults and offer the nearest known one. @include works, relative to the including file. */
struct bl_settings *bl_settings_load(const char *file, struct bl_faults *faults);

/* As bl_settings_load, but what could be read is handed out even beside faults, to see where
 * the other files are: any text or array in it may be missing. NULL when the file cannot be
 * read at all. */
struct bl_settings *bl_settings_read(const char *file, struct bl_faults *faults);

/* The same as bl_settings_load of a text at hand, as if it stood in file. */
struct bl_settings *bl_settings_parse(const char *text, gsize length, const char *file,
                                      struct bl_faults *faults);
void bl_settings_free(struct bl_settings *settings);
BL_DEFINE_AUTO(bl_settings);

/* The gateway that carries the channel, or NULL. */
const struct bl_gateway *bl_settings_carrier(const struct bl_settings *settings,
                                             enum bl_channel channel);

/* A digest of everything a plan depends on (not gateways, not paths): when it changes, all
 * customers are planned again. Caller frees. */
char *bl_settings_fingerprint(const struct bl_settings *settings);

/* Option i of the table, or NULL past its end. */
const struct bl_option_help *bl_settings_option(guint i);

#endif
