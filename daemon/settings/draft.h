/* The settings while they are being read, and the table they are read by. */
#ifndef BEADLINE_SETTINGS_DRAFT_H
#define BEADLINE_SETTINGS_DRAFT_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/conf.h"
#include "beadline/settings.h"

/* Sending hours of one day, seconds after midnight; equal means none. */
struct draft_day {
    int32_t open, close;
};

/* What the file says, before the parts are held against each other. */
struct draft {
    struct bl_settings settings;
    const struct bl_conf *conf;
    char *folder;             /* absolute: what paths are relative to */
    struct draft_day week[8]; /* index 1 Monday .. 7 Sunday */
    bool hours_wide;          /* the owner allows hours outside 08:00-21:00 */
    double distance;          /* a year, in the shop's unit */
    char *carry[BL_CHANNELS]; /* gateways' names as written */
};

/* The table of options. Rows below "gateways[]." fill a struct bl_gateway, those below
 * "gateways[].headers[]." a struct bl_header_form, all others a struct draft. */
const struct bl_field *option_fields(guint *count);

/* The bits of `only`. */
#define FOR_FOLDER (1U << BL_GATEWAY_FOLDER)
#define FOR_SMTP   (1U << BL_GATEWAY_SMTP)
#define FOR_HTTP   (1U << BL_GATEWAY_HTTP)

/* Types of the settings alone; what each fills. */
bl_field_read value_hours;       /* struct draft_day */
bl_field_read value_closed;      /* GArray * of struct bl_closed */
bl_field_read value_closed_days; /* struct bl_closed: one of them */
bl_field_read value_months;      /* unsigned: bit 0 January */
bl_field_read value_zone;        /* struct bl_zone * */
bl_field_read value_mail;        /* char *: as stored */
bl_field_read value_language;    /* char * */
bl_field_read value_digits;      /* char *: lo to hi digits */
bl_field_read value_statuses;    /* GArray * of int */
bl_field_read value_secret;      /* nothing: a secret has no place in this file */

/* Reads the gateways and who carries what; with no gateway, the outbox carries everything. */
void draft_gateways(struct draft *draft);

/* Faults of one gateway's parts against each other. */
void draft_check_gateway(const struct draft *draft, const struct config_setting_t *element,
                         struct bl_gateway *gateway);

/* Faults of a carrying gateway against its channel. */
void draft_check_carrier(const struct draft *draft, const struct config_setting_t *place,
                         enum bl_channel channel, const struct bl_gateway *gateway);

/* Makes *path absolute, from the settings' folder; a "~" is a fault at place. */
void draft_resolve(const struct draft *draft, const struct config_setting_t *place,
                   const char *subject, const char *name, char **path);

#endif
