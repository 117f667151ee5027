/*
 * Planning, the whole walk: facts that may be believed, dues of every car, messages about them.
 * The same facts and the same now give the same plan, in whatever order the facts come.
 */
#include "beadline/civil.h"
#include "internal.h"

static int compare_keys(enum bl_kind kind_a, int64_t subject_a, int ordinal_a,
                        const struct bl_due *b)
{
    if (kind_a != b->kind) {
        return kind_a < b->kind ? -1 : 1;
    }
    if (subject_a != b->subject) {
        return subject_a < b->subject ? -1 : 1;
    }
    return (ordinal_a > b->ordinal) - (ordinal_a < b->ordinal);
}

static int by_key(gconstpointer a, gconstpointer b)
{
    const struct bl_due *due = a;
    return compare_keys(due->kind, due->subject, due->ordinal, b);
}

static void due_clear(gpointer data)
{
    g_free(((struct bl_due *)data)->held);
}

static void intent_clear(gpointer data)
{
    struct bl_intent *intent = data;
    g_free(intent->address);
    g_free(intent->lapse);
    g_free(intent->waited);
    g_array_unref(intent->dues);
}

static struct bl_plan *plan_new(void)
{
    struct bl_plan *plan = g_new0(struct bl_plan, 1);
    plan->dues = g_array_new(FALSE, TRUE, sizeof(struct bl_due));
    g_array_set_clear_func(plan->dues, due_clear);
    plan->intents = g_array_new(FALSE, TRUE, sizeof(struct bl_intent));
    g_array_set_clear_func(plan->intents, intent_clear);
    plan->over = g_array_new(FALSE, FALSE, sizeof(struct bl_over));
    plan->skipped = g_ptr_array_new_with_free_func(g_free);
    plan->replan_at = BL_NEVER;
    return plan;
}

void bl_plan_free(struct bl_plan *plan)
{
    if (!plan) {
        return;
    }
    g_array_unref(plan->dues);
    g_array_unref(plan->intents);
    g_array_unref(plan->over);
    g_ptr_array_unref(plan->skipped);
    g_free(plan);
}

static guint ended_hash(gconstpointer key)
{
    const struct bl_ended *ended = key;
    return g_int64_hash(&ended->subject) * 31 + (guint)ended->kind * 7 + (guint)ended->ordinal;
}

static gboolean ended_equal(gconstpointer a, gconstpointer b)
{
    const struct bl_ended *one = a;
    const struct bl_ended *other = b;
    return one->kind == other->kind && one->subject == other->subject &&
           one->ordinal == other->ordinal;
}

static GHashTable *ended_set(const GArray *ended)
{
    GHashTable *set = g_hash_table_new(ended_hash, ended_equal);
    for (guint i = 0; i < ended->len; i++) {
        g_hash_table_add(set, &g_array_index(ended, struct bl_ended, i));
    }
    return set;
}

/* A car that is gone gives nothing any more; one that goes later does so until then. */
static void plan_car(const struct plan_run *run, const struct bl_car *car,
                     struct plan_notes *notes)
{
    struct known_car known;
    if (car->gone_at <= run->now) {
        return;
    }
    guint before = run->plan->dues->len + run->plan->skipped->len;
    known_car_init(&known, car, run->now, notes);
    dues_of_car(run, &known, &notes->next);
    if (run->plan->dues->len + run->plan->skipped->len > before) {
        notes->next = MIN(notes->next, car->gone_at);
    }
    known_car_clear(&known);
}

static int by_text(gconstpointer a, gconstpointer b)
{
    return g_strcmp0(*(char *const *)a, *(char *const *)b);
}

struct bl_plan *bl_plan_make(const struct bl_facts *facts, const struct bl_shop *shop,
                             int64_t now)
{
    struct bl_plan *plan = plan_new();
    struct plan_notes notes = {plan->skipped, BL_NEVER};
    g_autoptr(GHashTable) ended = ended_set(facts->ended);
    const struct plan_run run = {facts, shop, now, plan, ended};
    for (guint i = 0; i < facts->skipped->len; i++) {
        g_ptr_array_add(plan->skipped, g_strdup(g_ptr_array_index(facts->skipped, i)));
    }
    for (guint i = 0; i < facts->cars->len; i++) {
        plan_car(&run, &g_array_index(facts->cars, struct bl_car, i), &notes);
    }
    g_ptr_array_sort(plan->skipped, by_text);
    g_array_sort(plan->dues, by_key);
    plan->replan_at = notes.next;
    intents_make(&run, &plan->replan_at);
    return plan;
}

const struct bl_due *bl_plan_due(const struct bl_plan *plan, enum bl_kind kind, int64_t subject,
                                 int ordinal)
{
    guint low = 0;
    guint high = plan->dues->len;
    while (low < high) {
        guint middle = low + (high - low) / 2;
        const struct bl_due *due = &g_array_index(plan->dues, struct bl_due, middle);
        int order = compare_keys(kind, subject, ordinal, due);
        if (order == 0) {
            return due;
        }
        if (order < 0) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return NULL;
}
