/*
 * Dues of what is on a car: when each protection ends, when it wants care or a look, and when a
 * reading of the mileage would tell more. Between wear and the messages.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

#define TOP_UP_DAYS     30 /* how long after its late end a protection is still offered again */
#define LOOK_OVER_DAYS  30 /* how long a look-over goes with others, */
#define LOOK_OVER_ENDS  60 /* and how long it is offered */
#define REARMED         2  /* the ordinal of a top-up that is offered a second time */
#define MOST_CARES      999 /* in one stretch: nobody does them any more */
#define HALF_YEAR_DAYS  (BL_YEAR_DAYS / 2)
#define MILEAGE_SHARE   0.2 /* how much of the way to the top-up its date must be in doubt */
#define MILEAGES_A_YEAR 2
#define NEXT_BOOKING    "on the next booking"
#define TOLD_LATELY     "told of this surface lately"
#define ASKED_ENOUGH    "asked for the mileage twice in a year"
#define COMPLAINED      "offers for this car are held after a complaint"

/* One car on its way through this file. */
struct visit {
    const struct plan_run *run;
    const struct known_car *known;
    const struct wear_use *use;
    int64_t washable;
    int64_t *replan_at;
    struct {
        const struct bl_treatment *treatment; /* NULL: nothing to ask the mileage for */
        int64_t from, likely;
    } next; /* the earliest top-up whose date a reading may move */
};

static struct bl_due due_of_treatment(const struct visit *visit, enum bl_kind kind,
                                      const struct bl_treatment *treatment)
{
    struct bl_due due = due_begin(kind, treatment->id, visit->known);
    due.job = treatment->job;
    due.treatment = treatment->id;
    due.rule_id = treatment->rule_id;
    return due;
}

/* The record of the due's end, or NULL. */
static const struct bl_ended *end_of(const struct plan_run *run, enum bl_kind kind,
                                     int64_t subject, int ordinal)
{
    const struct bl_ended key = {kind, subject, ordinal, 0, 0};
    return g_hash_table_lookup(run->ended, &key);
}

/* How long before its end a protection is offered again: the rule's own, else the shop's, which
 * is meant for bookings; of what lasts weeks it is at most a quarter, or it would be offered
 * the day it went on. */
static void set_lead(struct bl_due *due, const struct plan_run *run,
                     const struct bl_treatment *treatment)
{
    double days = treatment->rule->wear.lead_days;
    int64_t quarter = (due->early - treatment->last_coat_at) / 4;
    due->lead = run->shop->lead_days * BL_DAY;
    due->lead_by = BL_LEAD_SHOP;
    if (isfinite(days)) {
        due->lead = llround(days * (double)BL_DAY);
        due->lead_by = BL_LEAD_RULE;
    } else if (quarter < due->lead) {
        due->lead = quarter;
        due->lead_by = BL_LEAD_QUARTER;
    }
}

/* The due begins at the instant at the earliest. */
static void wait_until(struct bl_due *due, int64_t at, enum bl_wait waits)
{
    if (at > due->from) {
        due->own_from = due->waits == BL_WAIT_NONE ? due->from : due->own_from;
        due->from = at;
        due->waits = waits;
    }
}

/* Whether the protection turned out to last so much longer than it was told that its offer is
 * worth a second one. */
static bool is_rearmed(const struct bl_ended *told, const struct bl_treatment *treatment,
                       const struct bl_life *life, int64_t lead)
{
    int64_t quarter = (life->early - treatment->last_coat_at) / 4;
    return told && told->early > 0 && life->early - told->early > MAX(lead, quarter);
}

/* A reading may tell more of what lasts over half a year and is still to be offered. */
static void keep_earliest(struct visit *visit, const struct bl_due *due,
                          const struct bl_treatment *treatment)
{
    const double *days = treatment->rule->wear.life_days;
    bool lasting = (days[0] + days[1]) / 2 > HALF_YEAR_DAYS;
    if (lasting && !end_of(visit->run, BL_TOP_UP, treatment->id, due->ordinal) &&
        (!visit->next.treatment || due->from < visit->next.from)) {
        visit->next.treatment = treatment;
        visit->next.from = due->from;
        visit->next.likely = due->likely;
    }
}

static int again_of(const struct bl_treatment *treatment)
{
    return treatment->again >= 0 ? treatment->again : (int)treatment->rule->again;
}

/* What the customer renews himself on a surface is told of no more often than care: the first
 * instant at which it may be again, INT64_MIN when it was not told of. */
static int64_t may_be_told(const struct visit *visit, const struct bl_treatment *treatment)
{
    const GArray *treatments = visit->known->car.treatments;
    int64_t told = INT64_MIN;
    for (guint i = 0; i < treatments->len; i++) {
        const struct bl_treatment *other = &g_array_index(treatments, struct bl_treatment, i);
        if (other->surface != treatment->surface || again_of(other) != BL_AGAIN_CUSTOMER) {
            continue;
        }
        const struct bl_ended *first = end_of(visit->run, BL_TOP_UP, other->id, 0);
        const struct bl_ended *second = end_of(visit->run, BL_TOP_UP, other->id, REARMED);
        told = first && first->at > 0 && other != treatment ? MAX(told, first->at) : told;
        told = second && second->at > 0 && other != treatment ? MAX(told, second->at) : told;
    }
    return told == INT64_MIN ? told : told + restraint_of(visit->run).care_days * BL_DAY;
}

/* The due's window, drawn in to when it may be told of. */
static const char *wait_to_be_told(const struct visit *visit, struct bl_due *due,
                                   const struct bl_treatment *treatment)
{
    int64_t from =
        again_of(treatment) == BL_AGAIN_CUSTOMER ? may_be_told(visit, treatment) : INT64_MIN;
    if (from > due->not_after) {
        return TOLD_LATELY;
    }
    wait_until(due, from, BL_WAIT_TOLD);
    due->best_by = MAX(due->best_by, from);
    return NULL;
}

/* An offer for a car whose owner complained waits until that is lifted. */
static const char *held_offer(const struct visit *visit, const char *held)
{
    return !held && visit->known->car.offers_held ? COMPLAINED : held;
}

static void add_top_up(struct visit *visit, const struct bl_treatment *treatment,
                       const struct bl_life *life)
{
    const struct bl_ended *told = end_of(visit->run, BL_TOP_UP, treatment->id, 0);
    const char *held = again_of(treatment) == BL_AGAIN_NEXT_BOOKING ? NEXT_BOOKING : NULL;
    struct bl_due due = due_of_treatment(visit, BL_TOP_UP, treatment);
    due.early = life->early;
    due.likely = life->likely;
    due.late = life->late;
    set_lead(&due, visit->run, treatment);
    due.from = life->early - due.lead;
    wait_until(&due, visit->washable, BL_WAIT_WASH);
    due.best_by = MAX(due.from, life->likely - due.lead);
    due.not_after = MAX(due.best_by, life->late + TOP_UP_DAYS * BL_DAY);
    due.km_a_day = life->km_a_day;
    due.speed = life->speed;
    due.by_distance = life->by_distance;
    held = held ? held : wait_to_be_told(visit, &due, treatment);
    struct bl_due second = due;
    due_add(visit->run, &due, held_offer(visit, held));
    if (is_rearmed(told, treatment, life, due.lead)) {
        second.ordinal = REARMED;
        due_add(visit->run, &second, held_offer(visit, held));
        due.ordinal = REARMED;
    }
    if (!held) {
        keep_earliest(visit, &due, treatment);
    }
}

/* When reminding of the k-th care since the last one has no sense any more. */
static int64_t care_ends(const struct visit *visit, const struct bl_treatment *treatment,
                         const struct upkeep *upkeep, int k)
{
    double interval = treatment->rule->care.interval_days;
    return upkeep_after(upkeep, visit->use, treatment, (k + 0.5) * interval);
}

/* The first care whose window has not passed by then; MOST_CARES + 1 when it is past them. */
static int next_care(const struct visit *visit, const struct bl_treatment *treatment,
                     const struct upkeep *upkeep, int64_t by)
{
    double passed = upkeep_measure(visit->use, treatment, upkeep->last, MAX(by, upkeep->last));
    double cycles = passed / treatment->rule->care.interval_days;
    int k = (int)fmin(fmax(ceil(cycles - 0.5), 1), MOST_CARES + 1);
    while (k > 1 && care_ends(visit, treatment, upkeep, k - 1) >= by) {
        k--;
    }
    while (k <= MOST_CARES && care_ends(visit, treatment, upkeep, k) < by) {
        k++;
    }
    return k;
}

static void add_care(struct visit *visit, const struct bl_treatment *treatment,
                     const struct upkeep *upkeep, int64_t likely)
{
    const struct bl_care *care = &treatment->rule->care;
    if (!care->by_customer || !isfinite(care->interval_days)) {
        return;
    }
    int k = next_care(visit, treatment, upkeep, MAX(visit->run->now, visit->washable));
    int64_t at = upkeep_after(upkeep, visit->use, treatment, k * care->interval_days);
    if (k > MOST_CARES || at == BL_NEVER || at > likely) {
        return;
    }
    struct bl_due due = due_of_treatment(visit, BL_CARE, treatment);
    due.ordinal = (int)(upkeep->opened % (INT_MAX / 1000) * 1000) + k;
    due.since = upkeep->last;
    due.from = at;
    wait_until(&due, visit->washable, BL_WAIT_WASH);
    due.not_after = care_ends(visit, treatment, upkeep, k);
    due.best_by = due.not_after;
    due_add(visit->run, &due, NULL);
    if (due.best_by != BL_NEVER) {
        *visit->replan_at = MIN(*visit->replan_at, due.best_by + 1);
    }
}

/* The first look-over whose window has not passed, unless the protection has by then. */
static void add_look_over(struct visit *visit, const struct bl_treatment *treatment,
                          int64_t likely)
{
    const struct bl_zone *zone = visit->run->shop->zone;
    int32_t applied = bl_zone_date(zone, treatment->last_coat_at);
    int months = treatment->rule->look_over_months;
    int64_t by = MAX(visit->run->now, visit->washable);
    int64_t at = BL_NEVER;
    int n = 0;
    if (months <= 0) {
        return;
    }
    do {
        at = bl_zone_instant(zone, bl_date_add_months(applied, ++n * months), 0);
    } while (at + LOOK_OVER_ENDS * BL_DAY < by && at <= likely);
    if (at > likely) {
        return;
    }
    struct bl_due due = due_of_treatment(visit, BL_LOOK_OVER, treatment);
    due.ordinal = n;
    due.since = bl_zone_instant(zone, applied, 0);
    due.from = at;
    wait_until(&due, visit->washable, BL_WAIT_WASH);
    due.best_by = MAX(due.from, at + LOOK_OVER_DAYS * BL_DAY);
    due.not_after = at + LOOK_OVER_ENDS * BL_DAY;
    *visit->replan_at = MIN(*visit->replan_at, due.not_after + 1);
    due_add(visit->run, &due, held_offer(visit, NULL));
}

/* `likely` of the top-up's treatment, were it driven so many times as far from now on. */
static int64_t likely_at(const struct visit *visit, const struct upkeep *upkeep, double times)
{
    struct wear_use use = *visit->use;
    struct bl_life life;
    use.forecast *= times;
    const struct wear_case wear = {&use, visit->next.treatment, upkeep, NULL};
    wear_life(&wear, &life);
    return life.likely;
}

/* Whether driving half as far, or half as far again, would move the date by much. */
static bool moves_much(const struct visit *visit, const struct upkeep *upkeep, int64_t stretch)
{
    static const double times[] = {0.5, 1.5};
    for (guint i = 0; i < G_N_ELEMENTS(times); i++) {
        int64_t likely = likely_at(visit, upkeep, times[i]);
        if (likely == BL_NEVER ||
            (double)ABS(likely - visit->next.likely) > MILEAGE_SHARE * (double)stretch) {
            return true;
        }
    }
    return false;
}

/* The same with the habit as it is now, and when losing it will say otherwise. */
static bool in_doubt(const struct visit *visit, int64_t stretch)
{
    struct upkeep upkeep;
    upkeep_init(&upkeep, visit->use, visit->next.treatment, visit->run->now);
    bool doubt = moves_much(visit, &upkeep, stretch);
    if (upkeep.habit) {
        upkeep.habit = false;
        if (moves_much(visit, &upkeep, stretch) != doubt) {
            *visit->replan_at = MIN(*visit->replan_at, upkeep.lost_at);
        }
    }
    upkeep_clear(&upkeep);
    return doubt;
}

/* How often the mileage was asked for within a year before this reading. */
static int asked_before(const struct visit *visit, const struct bl_reading *last)
{
    const GArray *readings = visit->known->car.readings;
    int asked = 0;
    for (guint i = 0; i < readings->len; i++) {
        const struct bl_reading *reading = &g_array_index(readings, struct bl_reading, i);
        asked += reading->id != last->id && reading->at > last->at - 365 * BL_DAY &&
                 end_of(visit->run, BL_MILEAGE, reading->id, 0);
    }
    return asked;
}

static void add_mileage(const struct visit *visit)
{
    const GArray *readings = visit->known->car.readings;
    if (readings->len == 0 || !visit->next.treatment) {
        return;
    }
    const struct bl_reading *last =
        &g_array_index(readings, struct bl_reading, readings->len - 1);
    int64_t stretch = visit->next.from - last->at;
    if (stretch <= 0 || !in_doubt(visit, stretch)) {
        return;
    }
    struct bl_due due = due_begin(BL_MILEAGE, last->id, visit->known);
    due.since = last->at;
    due.asks_for = visit->next.treatment->id;
    due.from = last->at + stretch / 2;
    due.best_by = last->at + stretch / 4 * 3;
    due.not_after = visit->next.from;
    due.km_a_day = visit->use->forecast;
    due_add(visit->run, &due,
            asked_before(visit, last) >= MILEAGES_A_YEAR ? ASKED_ENOUGH : NULL);
}

void dues_of_treatments(const struct plan_run *run, const struct known_car *known,
                        int64_t washable, int64_t *replan_at)
{
    const struct wear_use use = wear_use_of(&known->car, run->shop);
    struct visit visit = {run, known, &use, washable, replan_at, {0}};
    for (guint i = 0; i < known->car.treatments->len; i++) {
        const struct bl_treatment *treatment =
            &g_array_index(known->car.treatments, struct bl_treatment, i);
        const struct car_end *end = &g_array_index(known->ends, struct car_end, i);
        struct bl_life life;
        struct upkeep upkeep;
        if (end->at != BL_NEVER) {
            const struct bl_over over = {treatment->id, end->by};
            g_array_append_val(run->plan->over, over);
            continue;
        }
        upkeep_init(&upkeep, &use, treatment, run->now);
        const struct wear_case wear = {&use, treatment, &upkeep, end};
        wear_life(&wear, &life);
        if (life.late != BL_NEVER) {
            add_top_up(&visit, treatment, &life);
            *replan_at = MIN(*replan_at, life.habit_lost_at);
        }
        add_care(&visit, treatment, &upkeep, life.likely);
        add_look_over(&visit, treatment, life.likely);
        upkeep_clear(&upkeep);
    }
    add_mileage(&visit);
}
