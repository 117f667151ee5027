/*
 * What is still on the car: treatments and events in the order they happened, each taking off
 * or covering what was there before it.
 *
 * A treatment supersedes one of the same surface, part and role from an earlier job; one on the
 * whole surface also those on its parts, for the part is under it; one on a part never the
 * whole. A new base ends the topper it is put over; film stays. Layers of one job belong
 * together and do not end each other.
 */
#include <math.h>

#include "beadline/civil.h"
#include "beadline/text.h"
#include "internal.h"

#define ROLE(role) (1u << (role))
#define ANY_ROLE   (ROLE(BL_ROLES) - 1)

/* What an event that takes something off the car takes off. */
static const struct taking {
    enum bl_happening happening;
    guint roles;
    int surface; /* meant when the event names none: one polishes and sprays paint */
} takings[] = {
    {BL_EV_STRIPPED, ANY_ROLE, -1},
    {BL_EV_POLISHED, ROLE(BL_BASE) | ROLE(BL_TOPPER), BL_PAINT},
    {BL_EV_PART_REPLACED, ANY_ROLE, -1},
    {BL_EV_RESPRAYED, ANY_ROLE, BL_PAINT},
    {BL_EV_HARSH_WASH, ANY_ROLE, -1},
};

static const struct taking *taking_of(enum bl_happening happening)
{
    for (guint i = 0; i < G_N_ELEMENTS(takings); i++) {
        if (takings[i].happening == happening) {
            return &takings[i];
        }
    }
    return NULL;
}

/* Names people type: "Front left" is "front left". */
static bool same_words(const char *a, const char *b)
{
    if (g_strcmp0(a, b) == 0) {
        return true;
    }
    if (!a || !b || !*a || !*b) {
        return false;
    }
    g_autofree char *folded_a = bl_text_fold(a);
    g_autofree char *folded_b = bl_text_fold(b);
    return g_str_equal(folded_a, folded_b);
}

bool event_cures_for_hours(const struct bl_event *event)
{
    return event->happening == BL_EV_CURED_INDOORS && event->hours > 0 &&
           isfinite(event->hours) && isfinite(event->temp_c);
}

bool event_names(const struct bl_event *event, int surface,
                 const struct bl_treatment *treatment)
{
    if (event->treatment != 0) {
        return event->treatment == treatment->id;
    }
    if (event->surface >= 0) {
        surface = event->surface;
    }
    if (surface >= 0 && surface != (int)treatment->surface) {
        return false;
    }
    return !event->part || !*event->part || same_words(event->part, treatment->part);
}

bool same_place(const struct bl_treatment *a, const struct bl_treatment *b)
{
    return a->surface == b->surface && (!*a->part || !*b->part || same_words(a->part, b->part));
}

static bool names_a_place(const struct bl_event *event)
{
    return event->treatment != 0 || event->surface >= 0 || (event->part && *event->part);
}

static bool listed(char *const *list, const char *word)
{
    for (guint i = 0; list && list[i]; i++) {
        if (same_words(list[i], word)) {
            return true;
        }
    }
    return false;
}

/* Whether the event takes the treatment off. A stripper that went over the whole car, and any
 * harsh wash, takes what its rule says it takes; a stripped place is bare whatever did it. */
static bool event_takes(const struct bl_event *event, const struct taking *taking,
                        const struct bl_treatment *treatment)
{
    if (!event_names(event, taking->surface, treatment) ||
        !(taking->roles & ROLE(treatment->rule->role))) {
        return false;
    }
    if (event->happening == BL_EV_HARSH_WASH) {
        return event->with && listed(treatment->rule->stripped_by, event->with);
    }
    return event->happening != BL_EV_STRIPPED || !event->with || names_a_place(event) ||
           listed(treatment->rule->stripped_by, event->with);
}

static bool supersedes(const struct bl_treatment *new, const struct bl_treatment *old)
{
    enum bl_role under = new->rule->role;
    enum bl_role over = old->rule->role;
    if (new->job == old->job || (*new->part && !same_words(new->part, old->part))) {
        return false;
    }
    return under == over || (under == BL_BASE && over == BL_TOPPER);
}

struct sweep {
    const GArray *treatments;
    GArray *ends;
    GArray *on[BL_SURFACES]; /* guint: treatments that are on the car */
    GArray *under;           /* guint: covered by newer ones, and perhaps curing still */
};

static const struct bl_treatment *treatment_at(const struct sweep *sweep, guint i)
{
    return &g_array_index(sweep->treatments, struct bl_treatment, i);
}

/* What the event does to one treatment that was there before it; whether it took it off. */
static bool reach(const struct sweep *sweep, const struct bl_event *event, guint index)
{
    const struct taking *taking = taking_of(event->happening);
    const struct bl_treatment *treatment = treatment_at(sweep, index);
    struct car_end *end = &g_array_index(sweep->ends, struct car_end, index);
    bool taken =
        taking && event->at > treatment->last_coat_at && event_takes(event, taking, treatment);
    if (event->happening == BL_EV_CURED_INDOORS && !event_cures_for_hours(event) &&
        event_names(event, -1, treatment)) {
        end->cured_at = MIN(end->cured_at, event->at);
    }
    if (taken && end->at == BL_NEVER) {
        end->at = event->at;
        end->by = bl_happening_name(event->happening);
        end->happening = (int)event->happening;
    }
    end->removed_at = taken ? event->at : end->removed_at;
    return taken;
}

static bool may_cure(const struct bl_treatment *treatment, int64_t at)
{
    double longest = cure_longest(treatment);
    return isfinite(longest) &&
           (double)(at - treatment->last_coat_at) <= longest * (double)BL_DAY + 1;
}

static void take_event(struct sweep *sweep, const struct bl_event *event)
{
    bool reaches = taking_of(event->happening) || event->happening == BL_EV_CURED_INDOORS;
    guint kept = 0;
    for (int surface = 0; reaches && surface < BL_SURFACES; surface++) {
        GArray *on = sweep->on[surface];
        kept = 0;
        for (guint i = 0; i < on->len; i++) {
            guint index = g_array_index(on, guint, i);
            if (!reach(sweep, event, index)) {
                g_array_index(on, guint, kept++) = index;
            }
        }
        g_array_set_size(on, kept);
    }
    kept = 0;
    for (guint i = 0; reaches && i < sweep->under->len; i++) {
        guint index = g_array_index(sweep->under, guint, i);
        if (may_cure(treatment_at(sweep, index), event->at) && !reach(sweep, event, index)) {
            g_array_index(sweep->under, guint, kept++) = index;
        }
    }
    g_array_set_size(sweep->under, reaches ? kept : sweep->under->len);
}

static void take_treatment(struct sweep *sweep, guint new_index)
{
    const struct bl_treatment *new = treatment_at(sweep, new_index);
    if (!new->rule || (guint) new->surface >= BL_SURFACES) {
        return;
    }
    GArray *on = sweep->on[new->surface];
    guint kept = 0;
    for (guint i = 0; i < on->len; i++) {
        guint index = g_array_index(on, guint, i);
        const struct bl_treatment *old = treatment_at(sweep, index);
        if (supersedes(new, old)) {
            struct car_end *end = &g_array_index(sweep->ends, struct car_end, index);
            end->at = new->last_coat_at;
            end->by = new->rule->role == old->rule->role ? "superseded" : "under a new base";
            end->under = new_index;
            g_array_append_val(sweep->under, index);
        } else {
            g_array_index(on, guint, kept++) = index;
        }
    }
    g_array_set_size(on, kept);
    g_array_append_val(on, new_index);
}

/* At the same instant: polished first and coated then, coated first and cured then. */
static bool comes_before(const struct bl_event *event, const struct bl_treatment *treatment)
{
    return event->at < treatment->last_coat_at ||
           (event->at == treatment->last_coat_at && event->happening != BL_EV_CURED_INDOORS);
}

GArray *car_ends(const struct bl_car *car)
{
    struct sweep sweep = {.treatments = car->treatments};
    const struct car_end none = {.at = BL_NEVER,
                                 .happening = -1,
                                 .under = CAR_END_BARE,
                                 .removed_at = BL_NEVER,
                                 .cured_at = BL_NEVER};
    sweep.under = g_array_new(FALSE, FALSE, sizeof(guint));
    sweep.ends = g_array_sized_new(FALSE, FALSE, sizeof none, car->treatments->len);
    for (guint i = 0; i < car->treatments->len; i++) {
        g_array_append_val(sweep.ends, none);
    }
    for (int surface = 0; surface < BL_SURFACES; surface++) {
        sweep.on[surface] = g_array_new(FALSE, FALSE, sizeof(guint));
    }
    guint e = 0;
    for (guint t = 0; t < car->treatments->len || e < car->events->len;) {
        const struct bl_event *event =
            e < car->events->len ? &g_array_index(car->events, struct bl_event, e) : NULL;
        if (event &&
            (t == car->treatments->len || comes_before(event, treatment_at(&sweep, t)))) {
            take_event(&sweep, event);
            e++;
        } else {
            take_treatment(&sweep, t++);
        }
    }
    for (int surface = 0; surface < BL_SURFACES; surface++) {
        g_array_unref(sweep.on[surface]);
    }
    g_array_unref(sweep.under);
    return sweep.ends;
}
