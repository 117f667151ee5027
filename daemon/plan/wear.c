/*
 * Wear: when a protection ends. Use is piecewise linear and upkeep divides it by a constant, so
 * wear is piecewise linear too, and its crossings are solved, not stepped.
 *
 * Linear accumulation (Palmgren, Miner) on a combined scale of time and distance (Kordonsky and
 * Gertsbakh); distance alone is a second clock.
 */
#include <math.h>

#include "beadline/civil.h"
#include "wear_walk.h"

#define HAIR 1e-9 /* days: what rounding leaves of a stretch is no stretch */

static double days_after(const struct wear_walk *walk, int64_t at)
{
    return at == BL_NEVER ? (double)INFINITY
                          : (double)(at - walk->treatment->last_coat_at) / (double)BL_DAY;
}

static const int64_t *next_care(const struct wear_walk *walk)
{
    const GArray *cares = walk->upkeep->cares;
    return walk->cares < cares->len ? &g_array_index(cares, int64_t, walk->cares) : NULL;
}

/* Begins the next upkeep stretch where its care was. */
static void pass_cares(struct wear_walk *walk)
{
    const int64_t *care;
    while ((care = next_care(walk)) && days_after(walk, *care) <= walk->at) {
        walk->since = walk->at;
        walk->since_used = walk->used;
        walk->cares++;
    }
}

/* How many days from here on the closed stretch is still kept up. */
static double kept_for(const struct wear_walk *walk, double rate)
{
    const struct bl_care *care = &walk->treatment->rule->care;
    double limit = care->interval_days + care->grace_days;
    if (care->on_calendar) {
        return walk->since + limit - walk->at;
    }
    double left = walk->since_used + limit - walk->used;
    return rate > 0 ? left / rate : (left > HAIR ? (double)INFINITY : 0);
}

/* What holds from here up to *until (days after the last coat), which is drawn in to where the
 * upkeep changes. */
static void set_upkeep(struct wear_walk *walk, double rate, double *until)
{
    const int64_t *care = next_care(walk);
    bool closed_kept = false;
    if (care) {
        double kept = kept_for(walk, rate);
        closed_kept = kept > HAIR;
        *until = fmin(*until, days_after(walk, *care));
        *until = closed_kept ? fmin(*until, walk->at + kept) : *until;
    }
    for (guint i = 0; i < BL_ENDS; i++) {
        walk->goals[i].kept =
            walk->cared_for && (care ? closed_kept : walk->goals[i].kept_open);
    }
}

/* Days of wear a day for that end. */
static double wear_rate(const struct wear_walk *walk, const struct wear_goal *goal, double rate)
{
    return goal->kept ? rate / walk->treatment->rule->care.extends : rate;
}

/* How many days from here on the goal is reached, and whether distance does it. */
static double reached_in(const struct wear_walk *walk, const struct wear_goal *goal,
                         const struct use_piece *piece, bool *by_km)
{
    double max_km = walk->treatment->rule->wear.max_km;
    double speed = wear_rate(walk, goal, piece->rate);
    double by_wear = speed > 0 ? fmax(goal->asked - goal->wear, 0) / speed : (double)INFINITY;
    double by_distance = max_km > 0 && piece->km_a_day > 0 && !walk->endless
                             ? fmax(max_km - walk->km, 0) / piece->km_a_day
                             : (double)INFINITY;
    *by_km = by_distance < by_wear;
    return fmin(by_wear, by_distance);
}

/* The first of the goals that is reached before `until` draws it in. */
static void stop_at_goals(struct wear_walk *walk, const struct use_piece *piece, double *until)
{
    double first = (double)INFINITY;
    for (guint i = 0; i < BL_ENDS; i++) {
        struct wear_goal *goal = &walk->goals[i];
        if (!goal->reached) {
            goal->in = reached_in(walk, goal, piece, &goal->by_km);
            first = fmin(first, goal->in);
        }
    }
    *until = fmin(*until, walk->at + first);
}

static int64_t instant(const struct wear_walk *walk)
{
    return walk->treatment->last_coat_at + llround(walk->at * (double)BL_DAY);
}

/* Goes on by so many days, and marks the goals that were reached on the way. */
static void step(struct wear_walk *walk, const struct use_piece *piece, double days)
{
    struct bl_stretch stretch = {
        .from = instant(walk),
        .driven = piece->driven,
        .km_a_day = piece->km_a_day,
        .raw = piece->raw,
        .speed = piece->speed,
        .exposed = piece->exposed,
        .exposure = piece->exposure,
        .use = piece->rate * days,
    };
    walk->at += days;
    walk->used += stretch.use;
    walk->km += piece->km_a_day * days;
    for (guint i = 0; i < BL_ENDS; i++) {
        struct wear_goal *goal = &walk->goals[i];
        stretch.kept[i] = goal->kept;
        stretch.wear[i] = goal->reached ? 0 : wear_rate(walk, goal, piece->rate) * days;
        goal->wear += stretch.wear[i];
        stretch.wear_sum[i] = goal->wear;
        if (!goal->reached && goal->in <= days + HAIR) {
            goal->reached = true;
            goal->at = walk->at;
            goal->used = walk->used;
        }
    }
    stretch.to = instant(walk);
    stretch.use_sum = walk->used;
    stretch.km_sum = walk->km;
    if (walk->stretches && stretch.to > stretch.from) {
        g_array_append_val(walk->stretches, stretch);
    }
}

static bool all_reached(const struct wear_walk *walk)
{
    return walk->goals[BL_EARLY].reached && walk->goals[BL_LIKELY].reached &&
           walk->goals[BL_LATE].reached;
}

void wear_walk_to(struct wear_walk *walk, const struct wear_use *use, double until)
{
    struct use_walk pieces;
    use_begin(&pieces, use, walk->treatment);
    until = fmin(until, WEAR_LONGEST_DAYS);
    while (walk->at < until && !all_reached(walk)) {
        struct use_piece piece = use_next(&pieces);
        double end = fmin(days_after(walk, piece.to), until);
        while (walk->at < end && !all_reached(walk)) {
            double stop = end;
            pass_cares(walk);
            set_upkeep(walk, piece.rate, &stop);
            stop_at_goals(walk, &piece, &stop);
            step(walk, &piece, stop - walk->at);
        }
        walk->at = all_reached(walk) ? walk->at : end;
    }
}

bool wear_has_life(const struct bl_rule *rule)
{
    return isfinite(rule->wear.life_days[0]) && isfinite(rule->wear.life_days[1]);
}

void wear_walk_begin(struct wear_walk *walk, const struct wear_case *wear, bool habit)
{
    const struct bl_rule *rule = wear->treatment->rule;
    double lo = rule->wear.life_days[0];
    double hi = rule->wear.life_days[1];
    *walk = (struct wear_walk){
        .treatment = wear->treatment,
        .upkeep = wear->upkeep,
        .cared_for = isfinite(rule->care.interval_days) && rule->care.extends > 1,
        .goals = {[BL_EARLY] = {.asked = lo},
                  [BL_LIKELY] = {.asked = (lo + hi) / 2, .kept_open = habit},
                  [BL_LATE] = {.asked = hi, .kept_open = true}},
    };
}

static int64_t goal_at(const struct wear_walk *walk, enum bl_end end)
{
    const struct wear_goal *goal = &walk->goals[end];
    return goal->reached ? walk->treatment->last_coat_at + llround(goal->at * (double)BL_DAY)
                         : BL_NEVER;
}

/* What `likely` would be with the habit lost. */
static int64_t likely_without_habit(const struct wear_case *wear)
{
    struct wear_walk walk;
    wear_walk_begin(&walk, wear, false);
    wear_walk_to(&walk, wear->use, (double)INFINITY);
    return goal_at(&walk, BL_LIKELY);
}

static void set_speed(struct bl_life *life, const struct wear_case *wear,
                      const struct wear_goal *likely)
{
    struct use_walk pieces;
    use_begin(&pieces, wear->use, wear->treatment);
    life->speed = likely->at > 0 ? likely->used / likely->at : use_next(&pieces).rate;
    life->by_distance = likely->by_km;
}

static void tell_distance(struct bl_wear_story *story, const struct wear_walk *walk)
{
    for (guint i = 0; story && i < BL_ENDS; i++) {
        story->by_distance[i] = walk->goals[i].reached && walk->goals[i].by_km;
    }
}

void wear_life_told(const struct wear_case *wear, struct bl_life *life,
                    struct bl_wear_story *story)
{
    *life = (struct bl_life){
        .early = BL_NEVER,
        .likely = BL_NEVER,
        .late = BL_NEVER,
        .ended_at = wear->end ? wear->end->at : BL_NEVER,
        .ended_by = wear->end ? wear->end->by : NULL,
        .speed = (double)NAN,
        .km_a_day = wear->use->forecast,
        .habit_lost_at = BL_NEVER,
    };
    if (!wear->treatment->rule || !wear_has_life(wear->treatment->rule)) {
        return;
    }
    struct wear_walk walk;
    wear_walk_begin(&walk, wear, wear->upkeep->habit);
    walk.stretches = story ? story->stretches : NULL;
    wear_walk_to(&walk, wear->use, (double)INFINITY);
    life->early = goal_at(&walk, BL_EARLY);
    life->likely = goal_at(&walk, BL_LIKELY);
    life->late = goal_at(&walk, BL_LATE);
    tell_distance(story, &walk);
    life->habit = wear->upkeep->habit && walk.cared_for;
    if (life->habit && likely_without_habit(wear) != life->likely) {
        life->habit_lost_at = wear->upkeep->lost_at;
    }
    if (life->likely != BL_NEVER) {
        set_speed(life, wear, &walk.goals[BL_LIKELY]);
    }
}

void wear_life(const struct wear_case *wear, struct bl_life *life)
{
    wear_life_told(wear, life, NULL);
}
