/*
 * From dues to messages: what can still be said is bundled, kind by kind, and each bundle gets
 * the instant it would like to go at. Restraint then gives it its day.
 *
 * What a bundle holds depends on now only through what is overdue: that goes at the next
 * sending hour, and whatever of its kind has become due by then goes along. So time alone
 * changes the intents at few instants, and those are what planning must be done again at.
 */
#include "beadline/civil.h"
#include "beadline/gather.h"
#include "internal.h"

#define NO_HOUR_LEFT "no sending hour is left in its window"
#define SAME_HOUR_S  3600

static const struct bl_due *due_at(const struct plan_run *run, guint index)
{
    return &g_array_index(run->plan->dues, struct bl_due, index);
}

static int by_index(gconstpointer a, gconstpointer b)
{
    guint one = *(const guint *)a;
    guint other = *(const guint *)b;
    return (one > other) - (one < other);
}

void bundle_measure(const struct plan_run *run, struct bundle *bundle)
{
    g_array_sort(bundle->dues, by_index);
    bundle->from = INT64_MIN;
    bundle->not_after = BL_NEVER;
    for (guint i = 0; i < bundle->dues->len; i++) {
        const struct bl_due *due = due_at(run, g_array_index(bundle->dues, guint, i));
        bundle->from = MAX(bundle->from, due->from);
        bundle->not_after = MIN(bundle->not_after, due->not_after);
    }
}

static GArray *indexes_new(void)
{
    return g_array_new(FALSE, FALSE, sizeof(guint));
}

void intent_lapse(const struct plan_run *run, enum bl_kind kind, GArray *dues, const char *why)
{
    struct bundle bundle = {.kind = kind, .dues = dues};
    const char *address;
    enum bl_channel channel = bl_facts_route(run->facts, &address);
    bundle_measure(run, &bundle);
    struct bl_intent intent = {
        .kind = kind,
        .channel = channel,
        .address = g_strdup(address),
        .from = bundle.from,
        .send_at = bundle.not_after,
        .not_after = bundle.not_after,
        .lapse = g_strdup(why ? why : NO_HOUR_LEFT),
        .too_late = !why,
        .ideal = BL_NEVER,
        .dues = dues,
    };
    g_array_append_val(run->plan->intents, intent);
}

/* Whether something can still be said about the due. What cannot, though its window is open,
 * lapses. */
static bool open_due(const struct plan_run *run, guint index)
{
    const struct bl_due *due = due_at(run, index);
    const struct bl_ended key = {due->kind, due->subject, due->ordinal, 0, 0};
    if (due->held || due->from > due->not_after || due->not_after < run->now ||
        g_hash_table_contains(run->ended, &key)) {
        return false;
    }
    if (bl_hours_next(run->shop, MAX(due->from, run->now)) <= due->not_after) {
        return true;
    }
    GArray *alone = indexes_new();
    g_array_append_val(alone, index);
    intent_lapse(run, due->kind, alone, NULL);
    return false;
}

struct wish {
    int64_t at; /* the first sending instant of its window */
    guint due;
};

static int by_wish(gconstpointer a, gconstpointer b)
{
    const struct wish *one = a;
    const struct wish *other = b;
    if (one->at != other->at) {
        return one->at < other->at ? -1 : 1;
    }
    return (one->due > other->due) - (one->due < other->due);
}

/* The bundle of the wishes from first on that are of one hour; returns the first that is not.
 * It goes when the last of them may, if none of their windows has ended by then. */
static guint bundle_hour(const struct plan_run *run, const GArray *wishes, guint first,
                         struct bundle *bundle)
{
    guint i = first;
    bundle->right = g_array_index(wishes, struct wish, first).at;
    bundle->not_after = BL_NEVER;
    for (; i < wishes->len; i++) {
        const struct wish *wish = &g_array_index(wishes, struct wish, i);
        int64_t not_after = MIN(bundle->not_after, due_at(run, wish->due)->not_after);
        if (wish->at >= bundle->right + SAME_HOUR_S || wish->at > not_after) {
            break;
        }
        g_array_append_val(bundle->dues, wish->due);
        bundle->not_after = not_after;
        bundle->ideal = wish->at;
    }
    return i;
}

/* When a bundle that is not yet due becomes one with what is overdue: when the next sending
 * hour is its own, from the close before on where it is an opening. */
static int64_t comes_at(const struct plan_run *run, int64_t ideal)
{
    int64_t last = bl_hours_last(run->shop, ideal - 1, run->now);
    return last == BL_NEVER ? ideal : MIN(ideal, bl_hours_end(run->shop, last));
}

/* Hours are made of the windows alone, so they stay as they are while time passes; those that
 * have come by the next sending hour are one. */
static void bundle_service(const struct plan_run *run, enum bl_kind kind, const GArray *open,
                           GArray *bundles, int64_t *replan_at)
{
    g_autoptr(GArray) wishes = g_array_new(FALSE, FALSE, sizeof(struct wish));
    int64_t next = bl_hours_next(run->shop, run->now);
    guint first = bundles->len;
    for (guint i = 0; i < open->len; i++) {
        guint due = g_array_index(open, guint, i);
        struct wish wish = {bl_hours_next(run->shop, due_at(run, due)->from), due};
        g_array_append_val(wishes, wish);
    }
    g_array_sort(wishes, by_wish);
    for (guint i = 0; i < wishes->len;) {
        struct bundle bundle = {.kind = kind, .dues = indexes_new()};
        i = bundle_hour(run, wishes, i, &bundle);
        struct bundle *overdue =
            bundles->len > first ? &g_array_index(bundles, struct bundle, first) : NULL;
        if (overdue && bundle.ideal <= next) {
            g_array_append_vals(overdue->dues, bundle.dues->data, bundle.dues->len);
            g_array_unref(bundle.dues);
            continue;
        }
        if (overdue) {
            *replan_at = MIN(*replan_at, comes_at(run, bundle.ideal));
        }
        bundle.ideal = MAX(bundle.ideal, next);
        g_array_append_val(bundles, bundle);
    }
    for (guint i = first; i < bundles->len; i++) {
        bundle_measure(run, &g_array_index(bundles, struct bundle, i));
    }
}

/* The first instant at which another due would go along with the first group, if that had not
 * gone by then: the one whose end made the second group comes within reach. */
static int64_t joins_at(const struct bl_window *windows, guint count)
{
    struct bl_window second = {.from = BL_NEVER, .best_by = BL_NEVER};
    for (guint i = 0; i < count; i++) {
        const struct bl_window *window = &windows[i];
        if (window->group == 1 &&
            (window->best_by < second.best_by ||
             (window->best_by == second.best_by && window->from < second.from))) {
            second = *window;
        }
    }
    return second.from;
}

/* The due's window from now on as sending instants: what meets meets at one then. What has no
 * such instant left by its best_by is overdue, and wants the next. */
static struct bl_window window_of(const struct plan_run *run, const struct bl_due *due)
{
    int64_t open = MAX(due->from, run->now);
    int64_t last = bl_hours_last(run->shop, due->best_by, open);
    struct bl_window window = {.from = bl_hours_next(run->shop, due->from), .best_by = last};
    if (last == BL_NEVER) {
        window.best_by = bl_hours_next(run->shop, open);
    }
    window.from = MIN(window.from, window.best_by);
    return window;
}

static void bundle_gathered(const struct plan_run *run, enum bl_kind kind, const GArray *open,
                            GArray *bundles, int64_t *replan_at)
{
    g_autofree struct bl_window *windows = g_new0(struct bl_window, MAX(open->len, 1));
    for (guint i = 0; i < open->len; i++) {
        windows[i] = window_of(run, due_at(run, g_array_index(open, guint, i)));
    }
    guint groups = bl_gather(windows, open->len);
    g_autofree int64_t *times = g_new(int64_t, MAX(groups, 1));
    int64_t apart = kind == BL_CARE ? MAX(restraint_of(run).care_days, 1) * BL_DAY : BL_DAY;
    bl_gather_times_apart(run->shop, windows, open->len, times, groups, apart);
    int64_t joins = joins_at(windows, open->len);
    *replan_at = joins == BL_NEVER ? *replan_at : MIN(*replan_at, comes_at(run, joins));

    int64_t next = bl_hours_next(run->shop, run->now);
    guint first = bundles->len;
    for (guint g = 0; g < groups; g++) {
        struct bundle bundle = {.kind = kind,
                                .right = BL_NEVER,
                                .ideal = MAX(times[g], next),
                                .dues = indexes_new()};
        g_array_append_val(bundles, bundle);
    }
    for (guint i = 0; i < open->len; i++) {
        struct bundle *bundle =
            &g_array_index(bundles, struct bundle, first + windows[i].group);
        guint index = g_array_index(open, guint, i);
        g_array_append_val(bundle->dues, index);
        bundle->right = MIN(bundle->right, due_at(run, index)->best_by);
    }
    for (guint g = 0; g < groups; g++) {
        bundle_measure(run, &g_array_index(bundles, struct bundle, first + g));
    }
}

/* Which messages a question for the mileage may ride on. */
static bool carries_riders(const struct bl_intent *intent)
{
    return !intent->lapse && (intent->kind == BL_WASH || intent->kind == BL_CARE ||
                              intent->kind == BL_TOP_UP || intent->kind == BL_LOOK_OVER);
}

/* The earliest message up to `until` that the due can ride on, or NULL. One that goes before
 * the due's time moves with now while it has not gone, and would take it along then. */
static struct bl_intent *host_of(const struct plan_run *run, const struct bl_due *due,
                                 int64_t until, int64_t *replan_at)
{
    struct bl_intent *host = NULL;
    for (guint i = 0; i < run->plan->intents->len; i++) {
        struct bl_intent *intent = &g_array_index(run->plan->intents, struct bl_intent, i);
        if (!carries_riders(intent)) {
            continue;
        }
        if (intent->send_at < due->from) {
            bool same_day = due->from < bl_hours_end(run->shop, intent->send_at);
            *replan_at = same_day ? MIN(*replan_at, due->from) : *replan_at;
        } else if (intent->send_at <= until && (!host || intent->send_at < host->send_at)) {
            host = intent;
        }
    }
    return host;
}

static void mount(const struct plan_run *run, struct bl_intent *host, guint index)
{
    const struct bl_due *due = due_at(run, index);
    g_array_append_val(host->dues, index);
    g_array_sort(host->dues, by_index);
    host->from = MAX(host->from, due->from);
    host->not_after = MIN(host->not_after, due->not_after);
}

/* Puts each due on a message that goes anyway by the time it should; leaves the others. */
static void ride(const struct plan_run *run, GArray *riders, int64_t *replan_at)
{
    guint kept = 0;
    for (guint i = 0; i < riders->len; i++) {
        guint index = g_array_index(riders, guint, i);
        const struct bl_due *due = due_at(run, index);
        struct bl_intent *host = host_of(run, due, due->best_by, replan_at);
        if (host) {
            mount(run, host, index);
        } else {
            g_array_index(riders, guint, kept++) = index;
        }
    }
    g_array_set_size(riders, kept);
}

/* What found no day of its own rides on a later message rather than give way. */
static void ride_late(const struct plan_run *run, int64_t *replan_at)
{
    GArray *intents = run->plan->intents;
    for (guint i = intents->len; i > 0; i--) {
        const struct bl_intent *intent = &g_array_index(intents, struct bl_intent, i - 1);
        guint index = g_array_index(intent->dues, guint, 0);
        if (intent->kind != BL_MILEAGE || !intent->lapse) {
            continue;
        }
        struct bl_intent *host = host_of(run, due_at(run, index), intent->not_after, replan_at);
        if (host) {
            mount(run, host, index);
            g_array_remove_index(intents, i - 1);
        }
    }
}

/* Two kinds of what is due at once wait for each other by the day, never by the kind. */
static void bundle_kind(const struct plan_run *run, enum bl_kind kind, const GArray *open,
                        GArray *bundles, int64_t *replan_at)
{
    if (bl_kind_class(kind) == BL_SERVICE) {
        bundle_service(run, kind, open, bundles, replan_at);
    } else {
        bundle_gathered(run, kind, open, bundles, replan_at);
    }
}

/* What was to go and has not: at the end of that sending day it moves to the next, which may
 * push others; and when one of several dues passes its window, the rest go without it. */
static int64_t intents_change_at(const struct plan_run *run)
{
    int64_t change = BL_NEVER;
    for (guint i = 0; i < run->plan->intents->len; i++) {
        const struct bl_intent *intent =
            &g_array_index(run->plan->intents, struct bl_intent, i);
        int64_t last = intent->lapse ? bl_hours_last(run->shop, intent->not_after, run->now)
                                     : intent->send_at;
        if (last != BL_NEVER) {
            change = MIN(change, bl_hours_end(run->shop, last));
        }
        for (guint d = 0; d < intent->dues->len; d++) {
            const struct bl_due *due = due_at(run, g_array_index(intent->dues, guint, d));
            change = MIN(change, due->not_after + 1);
        }
    }
    return change;
}

static int by_send(gconstpointer a, gconstpointer b)
{
    const struct bl_intent *one = a;
    const struct bl_intent *other = b;
    if (one->send_at != other->send_at) {
        return one->send_at < other->send_at ? -1 : 1;
    }
    if (one->kind != other->kind) {
        return one->kind < other->kind ? -1 : 1;
    }
    guint first = g_array_index(one->dues, guint, 0);
    guint second = g_array_index(other->dues, guint, 0);
    return (first > second) - (first < second);
}

/* The indexes of the kind's dues that something can still be said about, from *i on. */
static GArray *open_of_kind(const struct plan_run *run, enum bl_kind kind, guint *i)
{
    GArray *open = indexes_new();
    for (; *i < run->plan->dues->len && due_at(run, *i)->kind == kind; (*i)++) {
        if (open_due(run, *i)) {
            g_array_append_val(open, *i);
        }
    }
    return open;
}

void intents_make(const struct plan_run *run, int64_t *replan_at)
{
    g_autoptr(GArray) bundles = g_array_new(FALSE, FALSE, sizeof(struct bundle));
    g_autoptr(GArray) mileages = indexes_new();
    for (guint i = 0; i < run->plan->dues->len;) {
        enum bl_kind kind = due_at(run, i)->kind;
        g_autoptr(GArray) open = open_of_kind(run, kind, &i);
        if (kind == BL_MILEAGE) {
            g_array_append_vals(mileages, open->data, open->len);
        } else {
            bundle_kind(run, kind, open, bundles, replan_at);
        }
    }
    restraint_place(run, bundles);
    ride(run, mileages, replan_at);
    bundle_gathered(run, BL_MILEAGE, mileages, bundles, replan_at);
    restraint_place(run, bundles);
    ride_late(run, replan_at);
    g_array_sort(run->plan->intents, by_send);
    *replan_at = MIN(*replan_at, intents_change_at(run));
}
