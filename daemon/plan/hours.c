/*
 * The sending hours: between the plan's windows and the instants at which a message may leave.
 *
 * A day's hours are one stretch of instants, from that of its opening wall clock up to, not
 * including, that of its closing one; through a change of the clock it is so much shorter or
 * longer. Everything here reads that one stretch, so the three questions cannot disagree.
 */
#include "beadline/shop.h"

#define SEARCH_DAYS 400
/* Beyond it no zone knows a rule, and adding days could overflow. */
#define LAST_AT (INT64_C(253402300799) - (SEARCH_DAYS + 2) * BL_DAY)

struct stretch {
    int64_t open, close;
};

/* The closed stretch that holds the date, or NULL. */
static const struct bl_closed *closed_on(const struct bl_shop *shop, int32_t date)
{
    guint low = 0;
    guint high = shop->closed ? shop->closed->len : 0;
    while (low < high) {
        guint middle = low + (high - low) / 2;
        const struct bl_closed *closed = &g_array_index(shop->closed, struct bl_closed, middle);
        if (date < closed->first) {
            high = middle;
        } else if (date > closed->last) {
            low = middle + 1;
        } else {
            return closed;
        }
    }
    return NULL;
}

/* The day's hours; false when it has none. */
static bool stretch_of(const struct bl_shop *shop, int32_t date, struct stretch *stretch)
{
    int weekday = bl_date_weekday(date);
    int32_t open = shop->hours.open[weekday];
    int32_t close = shop->hours.close[weekday];
    if (open >= close || closed_on(shop, date)) {
        return false;
    }
    stretch->open = bl_zone_instant(shop->zone, date, open);
    stretch->close = bl_zone_instant(shop->zone, date, close);
    return stretch->open < stretch->close;
}

static bool any_hours(const struct bl_shop *shop)
{
    for (int weekday = 1; weekday <= 7; weekday++) {
        if (shop->hours.open[weekday] < shop->hours.close[weekday]) {
            return true;
        }
    }
    return false;
}

/* The stretch around at. A clock set back over midnight puts an instant under the neighbouring
 * date, so the days beside it are asked too. */
static bool stretch_around(const struct bl_shop *shop, int64_t at, struct stretch *stretch)
{
    int32_t date = bl_zone_date(shop->zone, at);
    for (int32_t day = date - 1; day <= date + 1; day++) {
        if (stretch_of(shop, day, stretch) && stretch->open <= at && at < stretch->close) {
            return true;
        }
    }
    return false;
}

bool bl_hours_open(const struct bl_shop *shop, int64_t at)
{
    struct stretch stretch;
    return stretch_around(shop, at, &stretch);
}

int64_t bl_hours_end(const struct bl_shop *shop, int64_t at)
{
    struct stretch stretch;
    return stretch_around(shop, at, &stretch) ? stretch.close : at;
}

int64_t bl_hours_next(const struct bl_shop *shop, int64_t at)
{
    if (at > LAST_AT || !any_hours(shop)) {
        return BL_NEVER;
    }
    int32_t first = bl_zone_date(shop->zone, at) - 1;
    for (int32_t date = first; date <= first + SEARCH_DAYS + 1; date++) {
        struct stretch stretch;
        if (stretch_of(shop, date, &stretch) && stretch.close > at) {
            int64_t next = MAX(stretch.open, at);
            return next - at <= SEARCH_DAYS * BL_DAY ? next : BL_NEVER;
        }
    }
    return BL_NEVER;
}

int64_t bl_hours_last(const struct bl_shop *shop, int64_t at, int64_t not_before)
{
    at = MIN(at, LAST_AT);
    if (not_before > at || !any_hours(shop)) {
        return BL_NEVER;
    }
    int32_t first = bl_zone_date(shop->zone, not_before) - 1;
    for (int32_t date = bl_zone_date(shop->zone, at) + 1; date >= first; date--) {
        const struct bl_closed *closed = closed_on(shop, date);
        struct stretch stretch;
        if (closed) {
            date = closed->first; /* a year's leave is one step */
            continue;
        }
        if (!stretch_of(shop, date, &stretch) || stretch.open > at) {
            continue;
        }
        int64_t last = MIN(at, stretch.close - 1);
        return last >= not_before ? last : BL_NEVER;
    }
    return BL_NEVER;
}
