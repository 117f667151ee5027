/* Filling the lanes. */
#include "rehearse_lanes.h"

#include <string.h>

#include "beadline/cure.h"
#include "beadline/wear.h"
#include "look.h"
#include "rehearse_list.h"
#include "say.h"

#define MOST_SHOWN 120 /* characters of a message */

/* Where a treatment is shown. */
struct spot {
    guint lane, piece;
};

/* --- what is on the cars
 * ----------------------------------------------------------------------
 */

static int64_t cure_end(const struct lanes *lanes, const struct bl_car *car,
                        const struct bl_treatment *treatment)
{
    struct bl_cure_story story;
    if (!treatment->rule) {
        return treatment->last_coat_at;
    }
    bl_cure_tell(car, treatment, &lanes->context->world->settings->shop, lanes->context->now,
                 &story);
    int64_t end = MIN(story.end, story.voided_at);
    bl_cure_story_clear(&story);
    return end;
}

static char *life_of(const struct lanes *lanes, const struct bl_life *life)
{
    if (life->ended_at != BL_NEVER) {
        g_autofree char *day = say_day(lanes->context, life->ended_at);
        return g_strdup_printf("off since %s", day);
    }
    if (life->late == BL_NEVER) {
        return NULL;
    }
    g_autofree char *span = say_span(lanes->context, life->early, life->late);
    return g_strdup_printf("wears out %s", span);
}

static char *month_of(const struct lanes *lanes, int64_t at, bool with_year)
{
    int year, month, day;
    bl_date_split(bl_zone_date(lanes->page.axis.zone, at), &year, &month, &day);
    return with_year ? g_strdup_printf("%s ’%02d", say_month(month), year % 100)
                     : g_strdup(say_month(month));
}

/* The same by months, as short as a telephone is narrow. */
static char *brief_life(const struct lanes *lanes, const struct bl_life *life)
{
    if (life->ended_at != BL_NEVER) {
        return g_strdup("off");
    }
    if (life->late == BL_NEVER) {
        return NULL;
    }
    g_autofree char *from = month_of(lanes, life->early, true);
    g_autofree char *to = month_of(lanes, life->late, true);
    if (strcmp(from, to) == 0) {
        return g_steal_pointer(&to);
    }
    bool one_year = strcmp(from + 3, to + 3) == 0;
    g_autofree char *begin = month_of(lanes, life->early, !one_year);
    return g_strdup_printf("%s to %s", begin, to);
}

/* Whether any of it lies on the axis. */
static bool in_sight(const struct lanes *lanes, const struct bl_treatment *treatment,
                     const struct bl_life *life)
{
    const struct axis *axis = &lanes->page.axis;
    return treatment->last_coat_at < axis->last &&
           MIN(life->late, life->ended_at) > axis->first;
}

static void add_piece(struct lanes *lanes, guint at, const struct bl_car *car,
                      const struct bl_treatment *treatment)
{
    struct page_lane *lane = &g_array_index(lanes->page.lanes, struct page_lane, at);
    struct bl_life life;
    bl_wear_life(car, treatment, &lanes->context->world->settings->shop, lanes->context->now,
                 &life);
    if (!in_sight(lanes, treatment, &life)) {
        return;
    }
    const struct spot spot = {at, lane->pieces->len};
    struct page_piece *piece = page_add_piece(lane);
    piece->title = g_strdup(look_title(lanes->context, treatment));
    piece->place = look_place(treatment->surface, treatment->part);
    piece->since = treatment->last_coat_at;
    piece->cured = cure_end(lanes, car, treatment);
    piece->early = life.early;
    piece->likely = life.likely;
    piece->late = life.late;
    piece->ended = life.ended_at;
    piece->life = life_of(lanes, &life);
    piece->brief = brief_life(lanes, &life);
    g_hash_table_insert(lanes->pieces, g_memdup2(&treatment->id, sizeof treatment->id),
                        g_memdup2(&spot, sizeof spot));
}

/* Surface by surface, on each in the order in which it went on. */
static void add_car(struct lanes *lanes, const struct look *look, const struct bl_car *car)
{
    guint at = lanes->page.lanes->len;
    struct page_lane *lane = page_add_lane(&lanes->page);
    lane->car = say_car(car->name, car->plate);
    lane->owner = g_strdup(look->facts.customer.name);
    g_hash_table_insert(lanes->cars, g_memdup2(&car->id, sizeof car->id), GUINT_TO_POINTER(at));
    for (guint i = 0; i < BL_SURFACES * car->treatments->len; i++) {
        const struct bl_treatment *treatment =
            &g_array_index(car->treatments, struct bl_treatment, i % car->treatments->len);
        if (treatment->surface == (enum bl_surface)(i / car->treatments->len)) {
            add_piece(lanes, at, car, treatment);
        }
    }
}

static bool add_customer(struct lanes *lanes, int64_t customer, GError **error)
{
    struct look look;
    bool done = look_make(&lanes->rehearsal->copy, customer, &look, error);
    for (guint i = 0; done && i < look.facts.cars->len; i++) {
        const struct bl_car *car = &g_array_index(look.facts.cars, struct bl_car, i);
        if (car->gone_at > lanes->context->now) {
            add_car(lanes, &look, car);
        }
    }
    look_clear(&look);
    return done;
}

/* The instant with its year, whatever year it is. */
static char *at_with_year(const struct context *context, int64_t at)
{
    const struct context in_1970 = {.world = context->world};
    return say_at(&in_1970, at);
}

bool lanes_begin(const struct context *context, struct rehearsal *rehearsal,
                 struct lanes *lanes, GError **error)
{
    const struct bl_shop *shop = &context->world->settings->shop;
    *lanes = (struct lanes){.context = context, .rehearsal = rehearsal};
    lanes->cars = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
    lanes->pieces = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, g_free);
    page_init(&lanes->page);
    lanes->page.shop = g_strdup(shop->name);
    lanes->page.began = at_with_year(context, rehearsal->from);
    lanes->page.until = say_day(context, rehearsal->until - 1);
    lanes->page.now = rehearsal->from;
    lanes->page.axis = axis_make(shop->zone, rehearsal->from, rehearsal->until);
    g_autoptr(GArray) customers = bl_customer_list(rehearsal->copy.store, error);
    for (guint i = 0; customers && i < customers->len; i++) {
        int64_t id = g_array_index(customers, struct bl_customer_row, i).id;
        if (!add_customer(lanes, id, error)) {
            return false;
        }
    }
    return customers != NULL;
}

/* --- what came up
 * -----------------------------------------------------------------------------
 */

static guint key_hash(gconstpointer data)
{
    const struct bl_ended *key = data;
    return g_int64_hash(&key->subject) * 31 + (guint)key->kind * 7 + (guint)key->ordinal;
}

static gboolean key_equal(gconstpointer a, gconstpointer b)
{
    const struct bl_ended *one = a;
    const struct bl_ended *other = b;
    return one->kind == other->kind && one->subject == other->subject &&
           one->ordinal == other->ordinal;
}

/* Dues by key: struct bl_ended -> const struct bl_due_row *. */
static GHashTable *by_key(const GArray *dues)
{
    GHashTable *table = g_hash_table_new_full(key_hash, key_equal, g_free, NULL);
    for (guint i = 0; i < dues->len; i++) {
        struct bl_due_row *due = &g_array_index(dues, struct bl_due_row, i);
        const struct bl_ended key = {
            .kind = due->kind, .subject = due->subject, .ordinal = due->ordinal};
        g_hash_table_insert(table, g_memdup2(&key, sizeof key), due);
    }
    return table;
}

static struct page_lane *lane_of(struct lanes *lanes, int64_t car)
{
    gpointer at = NULL;
    if (!g_hash_table_lookup_extended(lanes->cars, &car, NULL, &at)) {
        return NULL;
    }
    return &g_array_index(lanes->page.lanes, struct page_lane, GPOINTER_TO_UINT(at));
}

/* A text message is one long line: its beginning will do. */
static char *beginning(const char *line)
{
    if (g_utf8_strlen(line, -1) <= MOST_SHOWN) {
        return g_strdup(line);
    }
    g_autofree char *first = g_utf8_substring(line, 0, MOST_SHOWN);
    char *space = strrchr(first, ' ');
    if (space) {
        *space = '\0';
    }
    return g_strconcat(first, "…", NULL);
}

static void add_bead(const struct lanes *lanes, GArray *beads,
                     const struct rehearsed_message *message)
{
    struct page_bead bead = {
        .at = message->at,
        .kind = message->kind,
        .channel = message->channel,
        .when = say_at(lanes->context, message->at),
        .line = beginning(message->line),
    };
    g_array_append_val(beads, bead);
}

/* Once on each car it speaks of. */
static void hang(struct lanes *lanes, const struct rehearsed_message *message, GHashTable *keys)
{
    g_autoptr(GHashTable) done = g_hash_table_new(NULL, NULL);
    add_bead(lanes, lanes->page.messages, message);
    for (guint i = 0; i < message->keys->len; i++) {
        const struct bl_due_row *due =
            g_hash_table_lookup(keys, &g_array_index(message->keys, struct bl_ended, i));
        struct page_lane *lane = due ? lane_of(lanes, due->car) : NULL;
        if (lane && g_hash_table_add(done, lane)) {
            add_bead(lanes, lane->beads, message);
        }
    }
}

/* What was over before the time shown, and what the plan took back, is no sight. */
static void mark_due(struct lanes *lanes, const struct bl_due_row *due)
{
    const struct spot *spot = g_hash_table_lookup(lanes->pieces, &due->treatment);
    if (!spot || due->vanished || due->not_after < lanes->page.axis.first ||
        due->from >= lanes->page.axis.last) {
        return;
    }
    const struct page_span span = {due->kind, due->from, due->not_after};
    GArray *pieces = g_array_index(lanes->page.lanes, struct page_lane, spot->lane).pieces;
    g_array_append_val(g_array_index(pieces, struct page_piece, spot->piece).spans, span);
}

static void add_lapse(struct lanes *lanes, const struct rehearsed_end *end)
{
    struct page_lane *lane = lane_of(lanes, end->car);
    lanes->page.ends += end->times;
    if (lane) {
        g_autofree char *when = rehearse_when(lanes->context, end);
        struct page_lapse lapse = {end->first, end->kind,
                                   g_strdup_printf("%s: %s", when, end->reason)};
        g_array_append_val(lane->lapses, lapse);
    }
}

static gint by_owner(gconstpointer a, gconstpointer b)
{
    const struct page_lane *one = a;
    const struct page_lane *other = b;
    int owners = g_utf8_collate(one->owner, other->owner);
    return owners ? owners : g_utf8_collate(one->car, other->car);
}

static void drop_idle(struct page *page)
{
    for (guint i = page->lanes->len; i > 0; i--) {
        const struct page_lane *lane = &g_array_index(page->lanes, struct page_lane, i - 1);
        if (lane->pieces->len + lane->beads->len + lane->lapses->len == 0) {
            g_array_remove_index(page->lanes, i - 1);
            page->idle++;
        }
    }
}

void lanes_finish(struct lanes *lanes, const GArray *dues)
{
    g_autoptr(GHashTable) keys = by_key(dues);
    g_autoptr(GArray) ends = rehearse_ends(lanes->rehearsal, dues);
    const GArray *messages = lanes->rehearsal->messages;
    for (guint i = 0; i < messages->len; i++) {
        hang(lanes, &g_array_index(messages, struct rehearsed_message, i), keys);
    }
    for (guint i = 0; i < dues->len; i++) {
        mark_due(lanes, &g_array_index(dues, struct bl_due_row, i));
    }
    for (guint i = 0; i < ends->len; i++) {
        add_lapse(lanes, &g_array_index(ends, struct rehearsed_end, i));
    }
    drop_idle(&lanes->page);
    g_array_sort(lanes->page.lanes, by_owner);
}

void lanes_clear(struct lanes *lanes)
{
    page_clear(&lanes->page);
    g_hash_table_destroy(lanes->cars);
    g_hash_table_destroy(lanes->pieces);
}
