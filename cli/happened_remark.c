/*
 * What the owner should think of when something has happened to a car. Some of it no date is
 * reckoned from: then that is said, too.
 */
#include <math.h>
#include <string.h>

#include "happened.h"
#include "report.h"
#include "say.h"

/* What to think of after such a thing; NULL nothing. */
static const char *advice(enum bl_happening happening)
{
    static const char *const texts[BL_HAPPENINGS] = {
        [BL_EV_PART_REPLACED] = "what was on the part went with it; fresh paint on the new one "
                                "is not coated yet, only when its painter says so (a month or "
                                "two: common practice, no source)",
        [BL_EV_RESPRAYED] = "fresh paint is not coated yet, only when its painter says so (a "
                            "month or two: common practice, no source)",
        [BL_EV_WET_EARLY] = "water before its time may leave marks: look at it, and at its "
                            "label, before you promise anything; if it has to go on again: "
                            "beadline redo",
        [BL_EV_ETCHED] = "what has eaten into it is not rubbed: soak it, lift it off, and look "
                         "at what is below before anything goes over it",
        [BL_EV_WHEELS_OFF] = "whoever put the wheels on says when the bolts are tightened "
                             "again: ask that it was done",
    };
    return texts[happening];
}

/* How many surfaces have something on them that may be meant. */
static guint surfaces_of(const struct bl_car *car)
{
    unsigned had = 0;
    guint count = 0;
    for (guint i = 0; car && i < car->treatments->len; i++) {
        unsigned bit = 1u << g_array_index(car->treatments, struct bl_treatment, i).surface;
        count += had & bit ? 0 : 1;
        had |= bit;
    }
    return count;
}

/* Where it came off, as it is typed; S stands for a surface nobody named. */
static char *typed_place(const struct bl_event_row *row)
{
    if (row->treatment != 0) {
        return g_strdup_printf("--treatment %" G_GINT64_FORMAT, row->treatment);
    }
    const char *surface =
        row->surface < 0 ? "S" : bl_surface_name((enum bl_surface)row->surface);
    const char *quote = strchr(surface, ' ') ? "\"" : "";
    return row->part && *row->part ? g_strdup_printf("--surface %s%s%s --part \"%s\"", quote,
                                                     surface, quote, row->part)
                                   : g_strdup_printf("--surface %s%s%s", quote, surface, quote);
}

/* What is found gone still stands on the car: it came off at a time only the owner can say. */
static void remark_gone(const struct bl_event_row *row, GPtrArray *remarks)
{
    g_autofree char *place = typed_place(row);
    report_remark(remarks,
                  "an inspection alone ends nothing, learn goes by it: what is gone comes off "
                  "with beadline add event \"#%" G_GINT64_FORMAT "\" stripped %s",
                  row->car, place);
}

static void remark_inspection(const struct bl_event_row *row, const struct bl_car *car,
                              GPtrArray *remarks)
{
    if (!row->finding) {
        report_remark(remarks, "nothing is learned from an inspection without --finding: "
                               "beading, came-back-after-decontamination or gone");
    } else if (row->treatment == 0 && row->surface < 0 && surfaces_of(car) > 1) {
        report_remark(remarks, "that is said of everything on the car: name a --surface or a "
                               "--treatment when it is only one of them");
    }
    if (g_strcmp0(row->finding, "gone") == 0) {
        remark_gone(row, remarks);
    }
}

/* Which protections should have stayed dry then, by their labels. */
static void remark_dry(const struct context *context, const struct bl_event_row *row,
                       const struct bl_car *car, GPtrArray *remarks)
{
    for (guint i = 0; car && i < car->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(car->treatments, struct bl_treatment, i);
        double hours = one->rule ? one->rule->cure.dry_h : 0;
        int64_t until = one->last_coat_at + llround(hours * 3600);
        if (row->at >= one->last_coat_at && row->at < until) {
            g_autofree char *at = say_at(context, until);
            report_remark(remarks, "%s was to stay dry until %s", look_title(context, one), at);
        }
    }
}

static void remark_nothing(const struct bl_event_row *row, GPtrArray *remarks)
{
    if (row->happening == BL_EV_HARSH_WASH && !row->with) {
        report_remark(remarks, "noted only: --with says what it was washed with, and takes off "
                               "what that strips by its rule");
    } else if ((row->happening == BL_EV_HARSH_WASH || row->happening == BL_EV_STRIPPED) &&
               row->with) {
        report_remark(
            remarks, "noted only: nothing on the car comes off with \"%s\" by its rule%s",
            row->with,
            row->happening == BL_EV_STRIPPED ? "; a place that is bare is named with --surface"
                                             : "");
    } else {
        report_remark(remarks, "noted only: no date is different by it");
    }
}

static bool cures(const struct bl_event_row *row, const struct bl_treatment *one)
{
    bool named =
        row->treatment != 0
            ? row->treatment == one->id
            : (row->surface < 0 || row->surface == (int)one->surface) &&
                  (!row->part || !*row->part || g_ascii_strcasecmp(row->part, one->part) == 0);
    return named && one->rule && one->rule->cure.wash_days[1] > 0 &&
           one->last_coat_at < row->at;
}

/* What of the hours indoors does not count as it was typed, said of the treatment that was
 * finished last. */
static void remark_hours(const struct context *context, const struct bl_event_row *row,
                         const struct bl_car *car, GPtrArray *remarks)
{
    const struct bl_treatment *last = NULL;
    for (guint i = 0; car && i < car->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(car->treatments, struct bl_treatment, i);
        if (cures(row, one) && (!last || one->last_coat_at > last->last_coat_at)) {
            last = one;
        }
    }
    double since = last ? (double)(row->at - last->last_coat_at) / 3600 : (double)INFINITY;
    if (row->hours > since) {
        report_remark(remarks,
                      "only the hours since the last coat count: %.6g of the %.6g (%s)",
                      round(since * 10) / 10, row->hours, look_title(context, last));
    }
    if (last && row->hours > 0 && row->temp_c > last->rule->cure.reference_c) {
        report_remark(remarks,
                      "warmth above %g °C makes nothing cure faster than its label says (%s)",
                      last->rule->cure.reference_c, look_title(context, last));
    }
}

void happened_remark(const struct context *context, const struct bl_event_row *row,
                     const struct follows *follows, GPtrArray *remarks)
{
    const struct bl_car *car = follows_car(follows);
    if (advice(row->happening)) {
        report_remark(remarks, "%s", advice(row->happening));
    }
    if (row->happening == BL_EV_WET_EARLY) {
        remark_dry(context, row, car, remarks);
    }
    if (row->happening == BL_EV_CURED_INDOORS) {
        remark_hours(context, row, car, remarks);
    }
    if (row->happening == BL_EV_INSPECTION) {
        remark_inspection(row, car, remarks);
    } else if (!follows_any(context, follows)) {
        remark_nothing(row, remarks);
    }
}
