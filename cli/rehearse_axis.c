/*
 * Laying out time. Everything is a share of the width, because the page does not know how wide
 * it will be: the same drawing serves a telephone and a sheet of paper.
 */
#include "rehearse_axis.h"

#include "say.h"

/* How many labels fit side by side. */
struct room {
    int wide, narrow;
};

static const struct room rooms[] = {
    [AXIS_MONTHS] = {22, 10}, [AXIS_WEEKS] = {14, 6}, [AXIS_DAYS] = {14, 6}};

#define LONG_DAYS  70 /* from here on months are told apart, */
#define SHORT_DAYS 15 /* from here on weeks */

static enum axis_unit_kind unit_of(int32_t first, int32_t last)
{
    int32_t days = last - first;
    if (days >= LONG_DAYS) {
        return AXIS_MONTHS;
    }
    return days >= SHORT_DAYS ? AXIS_WEEKS : AXIS_DAYS;
}

/* The beginning of the unit a date lies in. */
static int32_t begin_of(enum axis_unit_kind unit, int32_t date)
{
    int year, month, day;
    if (unit == AXIS_MONTHS) {
        bl_date_split(date, &year, &month, &day);
        return bl_date_of(year, month, 1);
    }
    return unit == AXIS_WEEKS ? date - (bl_date_weekday(date) - 1) : date;
}

static int32_t next_of(enum axis_unit_kind unit, int32_t date)
{
    if (unit == AXIS_MONTHS) {
        return bl_date_add_months(date, 1);
    }
    return date + (unit == AXIS_WEEKS ? 7 : 1);
}

struct axis axis_make(const struct bl_zone *zone, int64_t now, int64_t until)
{
    int32_t today = bl_zone_date(zone, now);
    int32_t last = bl_zone_date(zone, until - 1);
    int32_t before = (last - today) / 12;
    enum axis_unit_kind by = unit_of(today, last);
    int32_t first = begin_of(by, today - before);
    return (struct axis){zone, bl_zone_instant(zone, first, 0), until, by};
}

double axis_place(const struct axis *axis, int64_t at)
{
    if (at == BL_NEVER) {
        return 101;
    }
    return 100.0 * (double)(at - axis->first) / (double)(axis->last - axis->first);
}

/* --- what is written along it ----------------------------------------------------------------
 */

/* The least step of labels that so many units leave room for. */
static int step_of(guint units, int room)
{
    static const int steps[] = {1, 2, 3, 6, 12, 24};
    for (gsize i = 0; i < G_N_ELEMENTS(steps); i++) {
        if (units <= (guint)(steps[i] * room)) {
            return steps[i];
        }
    }
    return 60;
}

static void label_of(enum axis_unit_kind unit, int32_t date, struct axis_unit *one)
{
    int year, month, day;
    bl_date_split(date, &year, &month, &day);
    one->year = unit == AXIS_MONTHS && month == 1;
    if (one->year) {
        g_snprintf(one->label, sizeof one->label, "%d", year);
    } else if (unit == AXIS_MONTHS) {
        g_snprintf(one->label, sizeof one->label, "%s", say_month(month));
    } else {
        g_snprintf(one->label, sizeof one->label, "%d %s", day, say_month(month));
    }
}

/* Which of its kind the unit is, counted so that every January counts as a multiple of 12. */
static int number_of(enum axis_unit_kind unit, int32_t date, guint i)
{
    int year, month, day;
    bl_date_split(date, &year, &month, &day);
    return unit == AXIS_MONTHS ? year * 12 + month - 1 : (int)i;
}

/* A label needs room behind its line. */
static void give_labels(const struct axis *axis, GArray *units)
{
    const struct room room = rooms[axis->by];
    int wide = step_of(units->len, room.wide);
    int narrow = step_of(units->len, room.narrow);
    for (guint i = 0; i < units->len; i++) {
        struct axis_unit *one = &g_array_index(units, struct axis_unit, i);
        int number = number_of(axis->by, bl_zone_date(axis->zone, one->from), i);
        one->wide = number % wide == 0 && one->place <= 100 - 60.0 / room.wide;
        one->narrow = number % narrow == 0 && one->place <= 100 - 80.0 / room.narrow;
    }
}

GArray *axis_units(const struct axis *axis)
{
    int32_t first = bl_zone_date(axis->zone, axis->first);
    int32_t last = bl_zone_date(axis->zone, axis->last - 1);
    GArray *units = g_array_new(FALSE, TRUE, sizeof(struct axis_unit));
    for (int32_t date = first; date <= last; date = next_of(axis->by, date)) {
        struct axis_unit one = {.from = bl_zone_instant(axis->zone, date, 0)};
        one.place = axis_place(axis, one.from);
        label_of(axis->by, date, &one);
        g_array_append_val(units, one);
    }
    give_labels(axis, units);
    return units;
}

/* --- beads
 * ------------------------------------------------------------------------------------
 */

/* The row for a bead, given where each row's last one stands. */
static guint row_for(const GArray *last, double place, double apart)
{
    guint best = 0;
    for (guint row = 0; row < last->len; row++) {
        double there = g_array_index(last, double, row);
        if (place - there >= apart) {
            return row;
        }
        best = there < g_array_index(last, double, best) ? row : best;
    }
    return best;
}

guint axis_rows(const double *places, guint count, double apart, guint most, guint *rows)
{
    static const double nowhere = -1e9;
    g_autoptr(GArray) last = g_array_sized_new(FALSE, FALSE, sizeof nowhere, most);
    guint used = 0;
    for (guint row = 0; row < most; row++) {
        g_array_append_val(last, nowhere);
    }
    for (guint i = 0; i < count; i++) {
        rows[i] = row_for(last, places[i], apart);
        g_array_index(last, double, rows[i]) = places[i];
        used = MAX(used, rows[i] + 1);
    }
    return used;
}
