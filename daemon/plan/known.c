/*
 * The first step of planning: of a car's facts those that may be believed at this instant, in
 * one order whatever order they came in. What is left out is named, with the reason.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

static void note(struct plan_notes *notes, char *text)
{
    if (notes) {
        g_ptr_array_add(notes->skipped, text);
    } else {
        g_free(text);
    }
}

/* Whether a fact of that instant is too far ahead; then it is noted. */
static bool ahead(struct plan_notes *notes, const char *what, int64_t id, int64_t at,
                  int64_t now)
{
    if (at - PLAN_AHEAD <= now) {
        return false;
    }
    note(notes, g_strdup_printf("%s %" G_GINT64_FORMAT ": dated over a day ahead", what, id));
    if (notes && at != BL_NEVER) {
        notes->next = MIN(notes->next, at - PLAN_AHEAD);
    }
    return true;
}

static int by_time(int64_t at_a, int64_t at_b, int64_t id_a, int64_t id_b)
{
    if (at_a != at_b) {
        return at_a < at_b ? -1 : 1;
    }
    return (id_a > id_b) - (id_a < id_b);
}

#define COMPARE_BY(type, instant)                                                              \
    static int compare_##type(gconstpointer a, gconstpointer b)                                \
    {                                                                                          \
        const struct bl_##type *one = a;                                                       \
        const struct bl_##type *other = b;                                                     \
        return by_time(one->instant, other->instant, one->id, other->id);                      \
    }
COMPARE_BY(job, at)
COMPARE_BY(reading, at)
COMPARE_BY(event, at)
COMPARE_BY(treatment, last_coat_at)

static GArray *known_jobs(const GArray *jobs, int64_t now, struct plan_notes *notes)
{
    GArray *kept = g_array_sized_new(FALSE, FALSE, sizeof(struct bl_job), jobs->len);
    for (guint i = 0; i < jobs->len; i++) {
        const struct bl_job *job = &g_array_index(jobs, struct bl_job, i);
        if (!ahead(notes, "job", job->id, job->at, now)) {
            g_array_append_vals(kept, job, 1);
        }
    }
    g_array_sort(kept, compare_job);
    return kept;
}

static GArray *known_events(const GArray *events, int64_t now, struct plan_notes *notes)
{
    GArray *kept = g_array_sized_new(FALSE, FALSE, sizeof(struct bl_event), events->len);
    for (guint i = 0; i < events->len; i++) {
        const struct bl_event *event = &g_array_index(events, struct bl_event, i);
        if (ahead(notes, "event", event->id, event->at, now)) {
            continue;
        }
        if (event->happening == BL_EV_PART_REPLACED && !event->part && event->surface < 0 &&
            event->treatment == 0) {
            note(notes, g_strdup_printf("event %" G_GINT64_FORMAT
                                        ": a part was replaced, but which is not named",
                                        event->id));
            continue;
        }
        g_array_append_vals(kept, event, 1);
    }
    g_array_sort(kept, compare_event);
    return kept;
}

/* The store refuses readings that go back or leap, but it is not the only writer. */
static bool believable(const struct bl_reading *last, const struct bl_reading *reading,
                       struct plan_notes *notes)
{
    double rate;
    if (!isfinite(reading->km) || reading->km < 0) {
        note(notes,
             g_strdup_printf("reading %" G_GINT64_FORMAT ": is no distance", reading->id));
        return false;
    }
    if (last && last->instrument == reading->instrument && last->at < reading->at &&
        !forecast_stretch(last, reading, &rate)) {
        note(notes, g_strdup_printf("reading %" G_GINT64_FORMAT
                                    ": does not follow from reading %" G_GINT64_FORMAT,
                                    reading->id, last->id));
        return false;
    }
    return true;
}

static GArray *known_readings(const GArray *readings, int64_t now, struct plan_notes *notes)
{
    GArray *sorted = g_array_sized_new(FALSE, FALSE, sizeof(struct bl_reading), readings->len);
    for (guint i = 0; i < readings->len; i++) {
        const struct bl_reading *reading = &g_array_index(readings, struct bl_reading, i);
        if (!ahead(notes, "reading", reading->id, reading->at, now)) {
            g_array_append_vals(sorted, reading, 1);
        }
    }
    g_array_sort(sorted, compare_reading);

    guint kept = 0;
    for (guint i = 0; i < sorted->len; i++) {
        struct bl_reading reading = g_array_index(sorted, struct bl_reading, i);
        const struct bl_reading *last =
            kept ? &g_array_index(sorted, struct bl_reading, kept - 1) : NULL;
        if (believable(last, &reading, notes)) {
            g_array_index(sorted, struct bl_reading, kept++) = reading;
        }
    }
    g_array_set_size(sorted, kept);
    return sorted;
}

static GHashTable *ids_of(const GArray *jobs)
{
    GHashTable *ids = g_hash_table_new(g_int64_hash, g_int64_equal);
    for (guint i = 0; i < jobs->len; i++) {
        g_hash_table_add(ids, &g_array_index(jobs, struct bl_job, i).id);
    }
    return ids;
}

static GArray *known_treatments(const GArray *treatments, const GArray *jobs, int64_t now,
                                struct plan_notes *notes)
{
    g_autoptr(GHashTable) ids = ids_of(jobs);
    GArray *kept =
        g_array_sized_new(FALSE, FALSE, sizeof(struct bl_treatment), treatments->len);
    for (guint i = 0; i < treatments->len; i++) {
        const struct bl_treatment *treatment =
            &g_array_index(treatments, struct bl_treatment, i);
        const char *why = !treatment->rule ? "its product's rule cannot be read"
                          : !g_hash_table_contains(ids, &treatment->job)
                              ? "its job is not there, or left out"
                              : NULL;
        if (why) {
            note(notes,
                 g_strdup_printf("treatment %" G_GINT64_FORMAT ": %s", treatment->id, why));
        } else if (!ahead(notes, "treatment", treatment->id, treatment->last_coat_at, now)) {
            g_array_append_vals(kept, treatment, 1);
        }
    }
    g_array_sort(kept, compare_treatment);
    return kept;
}

static GArray *hours_indoors(const GArray *events)
{
    GArray *indoors = g_array_new(FALSE, FALSE, sizeof(struct bl_event));
    for (guint i = 0; i < events->len; i++) {
        const struct bl_event *event = &g_array_index(events, struct bl_event, i);
        if (event_cures_for_hours(event)) {
            g_array_append_vals(indoors, event, 1);
        }
    }
    return indoors;
}

void known_car_init(struct known_car *known, const struct bl_car *source, int64_t now,
                    struct plan_notes *notes)
{
    known->car = *source;
    known->car.jobs = known_jobs(source->jobs, now, notes);
    known->car.events = known_events(source->events, now, notes);
    known->car.readings = known_readings(source->readings, now, notes);
    known->car.treatments = known_treatments(source->treatments, known->car.jobs, now, notes);
    known->ends = car_ends(&known->car);
    known->indoors = hours_indoors(known->car.events);
}

void known_car_clear(struct known_car *known)
{
    g_array_unref(known->car.jobs);
    g_array_unref(known->car.events);
    g_array_unref(known->car.readings);
    g_array_unref(known->car.treatments);
    g_array_unref(known->ends);
    g_array_unref(known->indoors);
}
