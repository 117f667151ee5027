/* The settings' fingerprint: when it changes, everybody is planned again. It covers what a plan
 * depends on, and nothing a plan does not. */
#include <string.h>

#include "beadline/settings.h"

/* Days of the zone's rules that count, 2020-01-01 to 2059-12-31: an update of the system's time
 * zones changes plans as much as a change of zone does. */
#define ZONE_FIRST 18262
#define ZONE_DAYS  14610

static void add_number(GString *text, const char *name, double number)
{
    char digits[G_ASCII_DTOSTR_BUF_SIZE];
    g_string_append_printf(text, "%s %s\n", name,
                           g_ascii_dtostr(digits, sizeof digits, number));
}

static void add_zone(GString *text, const struct bl_zone *zone)
{
    int32_t last = INT32_MAX;
    g_string_append_printf(text, "zone %s\n", bl_zone_name(zone));
    for (int32_t day = ZONE_FIRST; day < ZONE_FIRST + ZONE_DAYS; day++) {
        int32_t offset = bl_zone_offset(zone, day * BL_DAY + BL_DAY / 2);
        if (offset != last) {
            g_string_append_printf(text, "offset %d %d\n", day, offset);
            last = offset;
        }
    }
}

static void add_hours(GString *text, const struct bl_shop *shop)
{
    for (int weekday = 1; weekday <= 7; weekday++) {
        g_string_append_printf(text, "day %d %d %d\n", weekday, shop->hours.open[weekday],
                               shop->hours.close[weekday]);
    }
    for (guint i = 0; i < shop->closed->len; i++) {
        const struct bl_closed *closed = &g_array_index(shop->closed, struct bl_closed, i);
        g_string_append_printf(text, "closed %d %d\n", closed->first, closed->last);
    }
}

char *bl_settings_fingerprint(const struct bl_settings *settings)
{
    const struct bl_shop *shop = &settings->shop;
    g_autoptr(GString) text = g_string_new("beadline settings 2\n");
    add_zone(text, shop->zone);
    add_hours(text, shop);
    for (int month = 0; shop->has_climate && month < 12; month++) {
        add_number(text, "climate", shop->climate_c[month]);
    }
    add_number(text, "salt_months", shop->salt_months);
    add_number(text, "km_a_year", shop->km_a_year);
    add_number(text, "lead_days", shop->lead_days);
    add_number(text, "messages_a_day", shop->restraint.messages_a_day);
    add_number(text, "care_days", shop->restraint.care_days);
    add_number(text, "tips_offers_a_year", shop->restraint.tips_offers_a_year);
    return g_compute_checksum_for_string(G_CHECKSUM_SHA256, text->str, (gssize)text->len);
}
