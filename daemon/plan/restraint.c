/*
 * Restraint: how many messages a customer gets. Every bundle is given its day here, service
 * before tips before offers; what must give moves to the next day that has room, else to the
 * latest one before, or lapses when its window has none.
 */
#include "beadline/civil.h"
#include "internal.h"

#define YEAR_DAYS       365
#define MILEAGES_A_YEAR 2

struct diary {
    const struct bl_shop *shop;
    struct bl_restraint restraint; /* as the customer wishes it */
    GHashTable *days;              /* civil day -> messages on it */
    /* int32_t: civil days, sorted */
    GArray *soft;              /* of tips and offers */
    GArray *of_kind[BL_KINDS]; /* NULL: none yet */
};

/* "often" is twice as often as the shop has it, "seldom" half. */
struct bl_restraint restraint_of(const struct plan_run *run)
{
    struct bl_restraint restraint = run->shop->restraint;
    if (run->facts->customer.wish == BL_WISH_OFTEN) {
        restraint.care_days /= 2;
        restraint.tips_offers_a_year *= 2;
    } else if (run->facts->customer.wish == BL_WISH_SELDOM) {
        restraint.care_days *= 2;
        restraint.tips_offers_a_year = (restraint.tips_offers_a_year + 1) / 2;
    }
    return restraint;
}

/* Whether a message in that state has reached the customer, or may have. */
static bool counts(enum bl_state state)
{
    return state == BL_CLAIMED || state == BL_SENT || state == BL_DELIVERED ||
           state == BL_UNSURE;
}

static int messages_on(const struct diary *diary, int32_t date)
{
    return GPOINTER_TO_INT(g_hash_table_lookup(diary->days, GINT_TO_POINTER(date)));
}

/* How many of the days are before date. */
static guint count_before(const GArray *days, int32_t date)
{
    guint low = 0;
    guint high = days->len;
    while (low < high) {
        guint middle = low + (high - low) / 2;
        if (g_array_index(days, int32_t, middle) < date) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

static void put(GArray *days, int32_t date)
{
    g_array_insert_val(days, count_before(days, date), date);
}

static void take(struct diary *diary, int32_t date, enum bl_kind kind)
{
    int taken = messages_on(diary, date);
    g_hash_table_insert(diary->days, GINT_TO_POINTER(date), GINT_TO_POINTER(taken + 1));
    if (!diary->of_kind[kind]) {
        diary->of_kind[kind] = g_array_new(FALSE, FALSE, sizeof(int32_t));
    }
    put(diary->of_kind[kind], date);
    if (bl_kind_class(kind) != BL_SERVICE) {
        put(diary->soft, date);
    }
}

/* What was told, and what has its day already. */
static void diary_init(struct diary *diary, const struct plan_run *run)
{
    *diary = (struct diary){.shop = run->shop, .restraint = restraint_of(run)};
    diary->days = g_hash_table_new(g_direct_hash, g_direct_equal);
    diary->soft = g_array_new(FALSE, FALSE, sizeof(int32_t));
    for (guint i = 0; i < run->facts->told->len; i++) {
        const struct bl_told *told = &g_array_index(run->facts->told, struct bl_told, i);
        if (counts(told->state)) {
            take(diary, bl_zone_date(run->shop->zone, told->at), told->kind);
        }
    }
    for (guint i = 0; i < run->plan->intents->len; i++) {
        const struct bl_intent *intent =
            &g_array_index(run->plan->intents, struct bl_intent, i);
        if (!intent->lapse) {
            take(diary, bl_zone_date(run->shop->zone, intent->send_at), intent->kind);
        }
    }
}

static void diary_clear(struct diary *diary)
{
    g_hash_table_destroy(diary->days);
    g_array_unref(diary->soft);
    for (int kind = 0; kind < BL_KINDS; kind++) {
        g_clear_pointer(&diary->of_kind[kind], g_array_unref);
    }
}

/* Whether one more on that day would be more than the limit within some `span` days: so it is
 * when the day and `limit` neighbours lie within fewer. */
static bool is_full(const GArray *days, int32_t date, int allowed, int span)
{
    guint limit = (guint)MAX(allowed, 0);
    if (!days || days->len < limit) {
        return limit == 0 && span > 0;
    }
    guint place = count_before(days, date);
    for (guint before = 0; before <= limit; before++) {
        if (before > place || place - before + limit > days->len) {
            continue;
        }
        /* the days place - before .. place - before + limit of the list with date put in */
        guint last = place - before + limit;
        int32_t from = before == 0 ? date : g_array_index(days, int32_t, place - before);
        int32_t to = before == limit ? date : g_array_index(days, int32_t, last - 1);
        if (to - from < span) {
            return true;
        }
    }
    return false;
}

enum room { ROOM, DAY_FULL, YEAR_FULL, CARE_FULL, MILEAGE_FULL };

static enum room room_on(const struct diary *diary, int32_t date, enum bl_kind kind,
                         bool addressed)
{
    const struct bl_restraint *restraint = &diary->restraint;
    const GArray *same = diary->of_kind[kind];
    if (addressed && messages_on(diary, date) >= restraint->messages_a_day) {
        return DAY_FULL;
    }
    if (bl_kind_class(kind) != BL_SERVICE &&
        is_full(diary->soft, date, restraint->tips_offers_a_year, YEAR_DAYS)) {
        return YEAR_FULL;
    }
    if (kind == BL_CARE && is_full(same, date, 1, restraint->care_days)) {
        return CARE_FULL;
    }
    return kind == BL_MILEAGE && is_full(same, date, MILEAGES_A_YEAR, YEAR_DAYS) ? MILEAGE_FULL
                                                                                 : ROOM;
}

/* The first sending instant from at on that has room, or BL_NEVER when it would be after until.
 * full receives what was in the way last. */
static int64_t find_room(const struct diary *diary, const struct bundle *bundle, bool addressed,
                         int64_t until, enum room *full)
{
    int64_t at = bundle->ideal;
    while (at <= until) {
        int32_t date = bl_zone_date(diary->shop->zone, at);
        enum room room = room_on(diary, date, bundle->kind, addressed);
        if (room == ROOM) {
            return at;
        }
        *full = room;
        at = bl_hours_next(diary->shop, bl_zone_instant(diary->shop->zone, date + 1, 0));
    }
    return BL_NEVER;
}

/* The last sending instant of the latest day before the ideal one that has room, or BL_NEVER:
 * what finds no room later is better said sooner than not at all. */
static int64_t find_room_sooner(const struct diary *diary, const struct bundle *bundle,
                                bool addressed, int64_t open)
{
    int64_t until = bundle->ideal;
    for (;;) {
        int32_t date = bl_zone_date(diary->shop->zone, until);
        until =
            bl_hours_last(diary->shop, bl_zone_instant(diary->shop->zone, date, 0) - 1, open);
        if (until == BL_NEVER) {
            return BL_NEVER;
        }
        date = bl_zone_date(diary->shop->zone, until);
        if (room_on(diary, date, bundle->kind, addressed) == ROOM) {
            return until;
        }
    }
}

/* What was in the way; NULL for nothing. */
static char *why_full(const struct diary *diary, enum room full)
{
    const struct bl_restraint *restraint = &diary->restraint;
    if (full == ROOM) {
        return NULL;
    }
    if (full == YEAR_FULL) {
        return g_strdup_printf("at most %d tips and offers a year",
                               restraint->tips_offers_a_year);
    }
    if (full == CARE_FULL) {
        return g_strdup_printf("at most one care tip in %d days", restraint->care_days);
    }
    if (full == MILEAGE_FULL) {
        return g_strdup_printf("the mileage is asked for %d times a year at most",
                               MILEAGES_A_YEAR);
    }
    return g_strdup_printf("at most %d message%s a day to an address",
                           restraint->messages_a_day,
                           restraint->messages_a_day == 1 ? "" : "s");
}

static char *why_it_gave(const char *full)
{
    return full ? g_strdup_printf("gave way: %s", full) : NULL;
}

/* The latest end of the bundle's windows: until then some of it can go. */
static int64_t latest_end(const struct plan_run *run, const struct bundle *bundle)
{
    int64_t end = INT64_MIN;
    for (guint i = 0; i < bundle->dues->len; i++) {
        guint index = g_array_index(bundle->dues, guint, i);
        end = MAX(end, g_array_index(run->plan->dues, struct bl_due, index).not_after);
    }
    return end;
}

/* The earliest start of the bundle's windows: from then on some of it can go. */
static int64_t earliest_start(const struct plan_run *run, const struct bundle *bundle)
{
    int64_t start = BL_NEVER;
    for (guint i = 0; i < bundle->dues->len; i++) {
        guint index = g_array_index(bundle->dues, guint, i);
        start = MIN(start, g_array_index(run->plan->dues, struct bl_due, index).from);
    }
    return start;
}

/* Takes the dues whose window does not hold at out of the bundle. */
static GArray *take_those_without(const struct plan_run *run, struct bundle *bundle, int64_t at)
{
    GArray *without = g_array_new(FALSE, FALSE, sizeof(guint));
    guint kept = 0;
    for (guint i = 0; i < bundle->dues->len; i++) {
        guint index = g_array_index(bundle->dues, guint, i);
        const struct bl_due *due = &g_array_index(run->plan->dues, struct bl_due, index);
        if (due->not_after < at || due->from > at) {
            g_array_append_val(without, index);
        } else {
            g_array_index(bundle->dues, guint, kept++) = index;
        }
    }
    g_array_set_size(bundle->dues, kept);
    return without;
}

static void lapse_each(const struct plan_run *run, enum bl_kind kind, GArray *dues,
                       const char *why)
{
    for (guint i = 0; i < dues->len; i++) {
        GArray *alone = g_array_new(FALSE, FALSE, sizeof(guint));
        g_array_append_val(alone, g_array_index(dues, guint, i));
        intent_lapse(run, kind, alone, why);
    }
    g_array_unref(dues);
}

static void place(const struct plan_run *run, struct diary *diary, struct bundle *bundle)
{
    const char *address;
    enum bl_channel channel = bl_facts_route(run->facts, &address);
    enum room full = ROOM;
    int64_t at = find_room(diary, bundle, address != NULL, latest_end(run, bundle), &full);
    if (at == BL_NEVER) {
        at = find_room_sooner(diary, bundle, address != NULL,
                              MAX(earliest_start(run, bundle), run->now));
    }
    g_autofree char *in_the_way = why_full(diary, full);
    g_autofree char *why = why_it_gave(in_the_way);
    lapse_each(run, bundle->kind, take_those_without(run, bundle, at), why);
    if (bundle->dues->len == 0) {
        g_array_unref(bundle->dues);
        return;
    }
    bundle_measure(run, bundle);
    struct bl_intent intent = {
        .kind = bundle->kind,
        .channel = channel,
        .address = g_strdup(address),
        .from = bundle->from,
        .send_at = at,
        .not_after = bundle->not_after,
        .ideal = bundle->ideal,
        .waited = at > bundle->ideal ? g_steal_pointer(&in_the_way) : NULL,
        .dues = bundle->dues,
    };
    g_array_append_val(run->plan->intents, intent);
    take(diary, bl_zone_date(run->shop->zone, at), bundle->kind);
}

/* Who chooses his day first: by class, then by kind (a handover will not wait for a "wash
 * now"), then by how long they have waited. */
static int by_right(gconstpointer a, gconstpointer b)
{
    const struct bundle *one = a;
    const struct bundle *other = b;
    int classes = (int)bl_kind_class(one->kind) - (int)bl_kind_class(other->kind);
    if (classes != 0) {
        return classes;
    }
    if (one->kind != other->kind) {
        return one->kind < other->kind ? -1 : 1;
    }
    if (one->right != other->right) {
        return one->right < other->right ? -1 : 1;
    }
    guint first = g_array_index(one->dues, guint, 0);
    guint second = g_array_index(other->dues, guint, 0);
    return (first > second) - (first < second);
}

void restraint_place(const struct plan_run *run, GArray *bundles)
{
    struct diary diary;
    diary_init(&diary, run);
    g_array_sort(bundles, by_right);
    for (guint i = 0; i < bundles->len; i++) {
        place(run, &diary, &g_array_index(bundles, struct bundle, i));
    }
    g_array_set_size(bundles, 0);
    diary_clear(&diary);
}
