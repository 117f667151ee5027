/*
 * Upkeep: which cares keep a treatment alive, and whether its owner has the habit. Between the
 * events of a car and the wear and the cares of each protection.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

/* A hair of a measured stretch is no lateness: a tenth of a millisecond, in days. */
#define HAIR 1e-9

/* The instants of the cares recorded for it; *last_id receives the last one's. */
static GArray *cares_of(const struct bl_car *car, const struct bl_treatment *treatment,
                        int64_t *last_id)
{
    GArray *cares = g_array_new(FALSE, FALSE, sizeof(int64_t));
    int64_t last = treatment->last_coat_at;
    for (guint i = 0; i < car->events->len; i++) {
        const struct bl_event *event = &g_array_index(car->events, struct bl_event, i);
        if (event->happening == BL_EV_CARE && event->at > last &&
            event_names(event, -1, treatment)) {
            last = event->at;
            *last_id = event->id;
            g_array_append_val(cares, last);
        }
    }
    return cares;
}

/* The upkeep instant so many before the last: 0 the last itself; of all, the first is the last
 * coat. */
static int64_t instant_back(const struct upkeep *upkeep, const struct bl_treatment *treatment,
                            guint back)
{
    return back < upkeep->cares->len
               ? g_array_index(upkeep->cares, int64_t, upkeep->cares->len - 1 - back)
               : treatment->last_coat_at;
}

double upkeep_measure(const struct wear_use *use, const struct bl_treatment *treatment,
                      int64_t from, int64_t to)
{
    if (treatment->rule->care.on_calendar) {
        return (double)(to - from) / (double)BL_DAY;
    }
    return use_until(use, treatment, to) - use_until(use, treatment, from);
}

int64_t upkeep_after(const struct upkeep *upkeep, const struct wear_use *use,
                     const struct bl_treatment *treatment, double days)
{
    if (treatment->rule->care.on_calendar) {
        return upkeep->last + llround(days * (double)BL_DAY);
    }
    return use_reaches(use, treatment, use_until(use, treatment, upkeep->last) + days);
}

static void find_habit(struct upkeep *upkeep, const struct wear_use *use,
                       const struct bl_treatment *treatment, int64_t now)
{
    const struct bl_care *care = &treatment->rule->care;
    double limit = care->interval_days + care->grace_days;
    if (upkeep->cares->len < 2) {
        return;
    }
    for (guint back = 0; back < 2; back++) {
        int64_t to = instant_back(upkeep, treatment, back);
        int64_t from = instant_back(upkeep, treatment, back + 1);
        if (upkeep_measure(use, treatment, from, to) > limit + HAIR) {
            return;
        }
    }
    int64_t last_in_time = upkeep_after(upkeep, use, treatment, limit);
    upkeep->lost_at = last_in_time == BL_NEVER ? BL_NEVER : last_in_time + 1;
    upkeep->habit = now < upkeep->lost_at;
}

void upkeep_init(struct upkeep *upkeep, const struct wear_use *use,
                 const struct bl_treatment *treatment, int64_t now)
{
    *upkeep = (struct upkeep){.last = treatment->last_coat_at, .lost_at = BL_NEVER};
    bool asked = isfinite(treatment->rule->care.interval_days);
    upkeep->cares = asked ? cares_of(use->car, treatment, &upkeep->opened)
                          : g_array_new(FALSE, FALSE, sizeof(int64_t));
    upkeep->last = instant_back(upkeep, treatment, 0);
    if (asked) {
        find_habit(upkeep, use, treatment, now);
    }
}

void upkeep_clear(struct upkeep *upkeep)
{
    g_clear_pointer(&upkeep->cares, g_array_unref);
}
