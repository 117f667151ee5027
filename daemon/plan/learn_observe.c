/*
 * What was seen of a car's treatments: inspections and top-ups in the order they happened, each
 * turned into a point of the treatment's own scale of wear.
 */
#include <math.h>

#include "beadline/civil.h"
#include "beadline/learn.h"
#include "wear_walk.h"

/* A car under the lens. */
struct lens {
    struct known_car known;
    const struct bl_shop *shop;
    struct wear_use use;
};

/* One of its treatments. */
struct subject {
    const struct lens *lens;
    guint index;
    const struct bl_treatment *treatment;
    const struct car_end *end;
    struct upkeep upkeep;
    struct bl_observed seen;
};

static const struct bl_treatment *treatment_of(const struct lens *lens, guint i)
{
    return &g_array_index(lens->known.car.treatments, struct bl_treatment, i);
}

static const struct car_end *end_of(const struct lens *lens, guint i)
{
    return &g_array_index(lens->known.ends, struct car_end, i);
}

static int32_t day_of(const struct lens *lens, int64_t at)
{
    return bl_zone_date(lens->shop->zone, at);
}

static const struct bl_job *job_of(const struct lens *lens, int64_t id)
{
    const GArray *jobs = lens->known.car.jobs;
    for (guint i = 0; i < jobs->len; i++) {
        const struct bl_job *job = &g_array_index(jobs, struct bl_job, i);
        if (job->id == id) {
            return job;
        }
    }
    return NULL;
}

/* W at the instant, its last stretch taken for closed. */
static double wear_seen(const struct subject *subject, int64_t at)
{
    struct upkeep closed = {.cares = g_array_new(FALSE, FALSE, sizeof(int64_t))};
    const struct wear_case wear = {&subject->lens->use, subject->treatment, &closed, NULL};
    for (guint i = 0; i < subject->upkeep.cares->len; i++) {
        int64_t care = g_array_index(subject->upkeep.cares, int64_t, i);
        if (care < at) {
            g_array_append_val(closed.cares, care);
        }
    }
    g_array_append_val(closed.cares, at);
    struct wear_walk walk;
    wear_walk_begin(&walk, &wear, false);
    for (guint i = 0; i < BL_ENDS; i++) {
        walk.goals[i].asked = (double)INFINITY;
    }
    walk.endless = true;
    wear_walk_to(&walk, wear.use,
                 (double)(at - subject->treatment->last_coat_at) / (double)BL_DAY);
    g_array_unref(closed.cares);
    return walk.goals[BL_EARLY].wear;
}

static void see_alive(struct subject *subject, int64_t at)
{
    subject->seen.alive = fmax(subject->seen.alive, wear_seen(subject, at));
    subject->seen.over = (double)INFINITY;
    subject->seen.renewed = false;
}

static void see_over(struct subject *subject, int64_t at)
{
    double wear = wear_seen(subject, at);
    if (wear > subject->seen.alive) {
        subject->seen.over = fmin(subject->seen.over, wear);
    }
}

/* Whether another layer, film apart, was on the same place at that instant. */
static bool layered(const struct subject *subject, int64_t at)
{
    const struct lens *lens = subject->lens;
    for (guint i = 0; i < lens->known.car.treatments->len; i++) {
        const struct bl_treatment *other = treatment_of(lens, i);
        enum bl_role role = other->rule->role;
        if (role != BL_FILM && role != subject->treatment->rule->role &&
            other->last_coat_at < at && end_of(lens, i)->at >= at &&
            same_place(other, subject->treatment)) {
            return true;
        }
    }
    return false;
}

/* Whether the inspection is of this treatment: not of what was there before it that day, and
 * not of what came after it; what was put on again was looked at before, whenever on that day
 * it was written down. */
static bool is_of(const struct subject *subject, const struct bl_event *event)
{
    const struct car_end *end = subject->end;
    const struct lens *lens = subject->lens;
    if (event->happening != BL_EV_INSPECTION || event->finding < 0 ||
        !event_names(event, -1, subject->treatment) ||
        day_of(lens, event->at) <= day_of(lens, subject->treatment->last_coat_at)) {
        return false;
    }
    return event->at <= end->at ||
           (end->under != CAR_END_BARE && day_of(lens, event->at) == day_of(lens, end->at));
}

static void take_finding(struct subject *subject, const struct bl_event *event)
{
    int64_t at = MIN(event->at, subject->end->at);
    bool named = event->treatment != 0;
    bool among_others = !named && layered(subject, at);
    if (event->finding != BL_FOUND_GONE && !among_others) {
        see_alive(subject, at);
        subject->seen.looks++;
    } else if (event->finding == BL_FOUND_GONE &&
               (!among_others || subject->treatment->rule->role != BL_FILM)) {
        see_over(subject, at);
        subject->seen.looks++;
    }
}

/* The treatment of the same product that took its place: over it, or on that day where it had
 * been stripped for it; NULL none. */
static const struct bl_treatment *successor(const struct subject *subject)
{
    const struct lens *lens = subject->lens;
    const struct bl_treatment *old = subject->treatment;
    for (guint i = subject->index + 1; i < lens->known.car.treatments->len; i++) {
        const struct bl_treatment *new = treatment_of(lens, i);
        bool takes_over =
            i == subject->end->under ||
            (subject->end->happening == BL_EV_STRIPPED &&
             new->last_coat_at >= subject->end->at &&day_of(lens, new->last_coat_at) ==
                 day_of(lens, subject->end->at) &&
             same_place(new, old));
        if (takes_over && g_str_equal(new->rule->product, old->rule->product)) {
            return new;
        }
    }
    return NULL;
}

/* The product on again says that it was over, unless it goes on anyway whenever the car is
 * there. */
static bool was_due(const struct subject *subject)
{
    const struct bl_treatment *treatment = subject->treatment;
    enum bl_again again =
        treatment->again >= 0 ? (enum bl_again)treatment->again : treatment->rule->again;
    return again == BL_AGAIN_SHOP ||
           wear_seen(subject, subject->end->at) >= treatment->rule->wear.life_days[0];
}

/* Only the product on again tells: what is stripped or polished off, or gets another product
 * over it, may have been alive or over by then. */
static void take_end(struct subject *subject, int32_t last_look)
{
    const struct car_end *end = subject->end;
    if (end->at == BL_NEVER || !successor(subject)) {
        return;
    }
    bool looked = last_look == day_of(subject->lens, end->at);
    if (!looked && isinf(subject->seen.over) && was_due(subject)) {
        see_over(subject, end->at);
        subject->seen.renewed = isfinite(subject->seen.over);
    }
}

/* Whether the treatment makes something good, or was made good by a later job. */
static bool complained_of(const struct subject *subject)
{
    const struct lens *lens = subject->lens;
    const struct bl_treatment *treatment = subject->treatment;
    const struct bl_job *job = job_of(lens, treatment->job);
    if (job && job->redo_of != 0) {
        return true;
    }
    for (guint i = 0; i < lens->known.car.treatments->len; i++) {
        const struct bl_treatment *other = treatment_of(lens, i);
        const struct bl_job *redo = job_of(lens, other->job);
        if (redo && redo->redo_of == treatment->job && same_place(other, treatment) &&
            g_str_equal(other->rule->product, treatment->rule->product)) {
            return true;
        }
    }
    return false;
}

static void observe(struct subject *subject, GArray *observed)
{
    const GArray *events = subject->lens->known.car.events;
    int32_t last_look = BL_NO_DATE;
    upkeep_init(&subject->upkeep, &subject->lens->use, subject->treatment,
                subject->treatment->last_coat_at);
    for (guint i = 0; i < events->len; i++) {
        const struct bl_event *event = &g_array_index(events, struct bl_event, i);
        guint before = subject->seen.looks;
        if (is_of(subject, event)) {
            take_finding(subject, event);
        }
        if (subject->seen.looks > before) {
            last_look = day_of(subject->lens, event->at);
        }
    }
    take_end(subject, last_look);
    upkeep_clear(&subject->upkeep);
    if (subject->seen.alive > 0 || isfinite(subject->seen.over)) {
        g_array_append_val(observed, subject->seen);
    }
}

void bl_learn_observe(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                      const char *product, GArray *observed)
{
    struct lens lens = {.shop = shop};
    known_car_init(&lens.known, car, now, NULL);
    lens.use = wear_use_of(&lens.known.car, shop);
    for (guint i = 0; i < lens.known.car.treatments->len; i++) {
        const struct bl_treatment *treatment = treatment_of(&lens, i);
        struct subject subject = {
            .lens = &lens,
            .index = i,
            .treatment = treatment,
            .end = end_of(&lens, i),
            .seen = {.rule = treatment->rule,
                     .car = car->id,
                     .treatment = treatment->id,
                     .over = (double)INFINITY},
        };
        if (wear_has_life(treatment->rule) &&
            (!product || g_str_equal(treatment->rule->product, product)) &&
            !complained_of(&subject)) {
            observe(&subject, observed);
        }
    }
    known_car_clear(&lens.known);
}
