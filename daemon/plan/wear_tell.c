/*
 * Wear for those outside planning: of one treatment in the facts as they are known at an
 * instant, the dates, how far it has come, and the sum.
 */
#include <math.h>

#include "beadline/civil.h"
#include "wear_walk.h"

/* One treatment as planning would see it. */
struct view {
    struct known_car known;
    struct wear_use use;
    struct upkeep upkeep;
    struct wear_case wear;
    bool counts; /* false: the treatment is not known at that instant */
};

static void view_open(struct view *view, const struct bl_car *car,
                      const struct bl_treatment *treatment, const struct bl_shop *shop,
                      int64_t now)
{
    *view = (struct view){0};
    known_car_init(&view->known, car, now, NULL);
    view->use = wear_use_of(&view->known.car, shop);
    view->wear.use = &view->use;
    for (guint i = 0; i < view->known.car.treatments->len && !view->counts; i++) {
        const struct bl_treatment *known =
            &g_array_index(view->known.car.treatments, struct bl_treatment, i);
        if (known->id == treatment->id) {
            view->counts = true;
            upkeep_init(&view->upkeep, &view->use, known, now);
            view->wear.treatment = known;
            view->wear.upkeep = &view->upkeep;
            view->wear.end = &g_array_index(view->known.ends, struct car_end, i);
        }
    }
}

static void view_close(struct view *view)
{
    upkeep_clear(&view->upkeep);
    known_car_clear(&view->known);
}

static struct bl_life no_life(double km_a_day)
{
    return (struct bl_life){
        .early = BL_NEVER,
        .likely = BL_NEVER,
        .late = BL_NEVER,
        .ended_at = BL_NEVER,
        .speed = (double)NAN,
        .km_a_day = km_a_day,
        .habit_lost_at = BL_NEVER,
    };
}

void bl_wear_life(const struct bl_car *car, const struct bl_treatment *treatment,
                  const struct bl_shop *shop, int64_t now, struct bl_life *life)
{
    struct view view;
    view_open(&view, car, treatment, shop, now);
    *life = no_life(view.use.forecast);
    if (view.counts) {
        wear_life(&view.wear, life);
    }
    view_close(&view);
}

void bl_wear_use_at(const struct bl_car *car, const struct bl_treatment *treatment,
                    const struct bl_shop *shop, int64_t now, int64_t at, struct bl_worn *worn)
{
    struct view view;
    *worn = (struct bl_worn){0};
    view_open(&view, car, treatment, shop, now);
    if (view.counts && at > treatment->last_coat_at) {
        struct wear_walk walk;
        wear_walk_begin(&walk, &view.wear, view.upkeep.habit);
        for (guint i = 0; i < BL_ENDS; i++) {
            walk.goals[i].asked = (double)INFINITY;
        }
        walk.endless = true;
        wear_walk_to(&walk, &view.use, (double)(at - treatment->last_coat_at) / (double)BL_DAY);
        worn->use = walk.used;
        worn->km = walk.km;
        for (guint i = 0; i < BL_ENDS; i++) {
            worn->wear[i] = walk.goals[i].wear;
        }
    }
    view_close(&view);
}

static void tell_upkeep(struct bl_wear_story *story, const struct view *view)
{
    int64_t from = view->wear.treatment->last_coat_at;
    for (guint i = 0; i < story->cares->len; i++) {
        int64_t care = g_array_index(story->cares, int64_t, i);
        double days = upkeep_measure(&view->use, view->wear.treatment, from, care);
        g_array_append_val(story->upkept, days);
        from = care;
    }
}

void bl_wear_tell(const struct bl_car *car, const struct bl_treatment *treatment,
                  const struct bl_shop *shop, int64_t now, struct bl_wear_story *story)
{
    struct view view;
    view_open(&view, car, treatment, shop, now);
    *story = (struct bl_wear_story){
        .life = no_life(view.use.forecast),
        .life_days = {(double)NAN, (double)NAN, (double)NAN},
        .stretches = g_array_new(FALSE, FALSE, sizeof(struct bl_stretch)),
        .upkept = g_array_new(FALSE, FALSE, sizeof(double)),
    };
    if (view.counts) {
        const double *days = view.wear.treatment->rule->wear.life_days;
        wear_life_told(&view.wear, &story->life, story);
        story->life_days[BL_EARLY] = days[0];
        story->life_days[BL_LIKELY] = (days[0] + days[1]) / 2;
        story->life_days[BL_LATE] = days[1];
        story->cares = g_array_ref(view.upkeep.cares);
        tell_upkeep(story, &view);
    } else {
        story->cares = g_array_new(FALSE, FALSE, sizeof(int64_t));
    }
    bl_distance_tell(&view.known.car, shop, now, &story->distance);
    view_close(&view);
}

void bl_wear_story_clear(struct bl_wear_story *story)
{
    g_clear_pointer(&story->stretches, g_array_unref);
    g_clear_pointer(&story->cares, g_array_unref);
    g_clear_pointer(&story->upkept, g_array_unref);
    bl_distance_clear(&story->distance);
}
