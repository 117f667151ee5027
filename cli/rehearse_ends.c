/* Ends without a message, gathered so that the same reason is not read thirty times over. */
#include "rehearse_ends.h"

#include <string.h>

#include "say.h"

static void keep_name(GHashTable *names, int64_t id, char *name)
{
    g_hash_table_insert(names, g_memdup2(&id, sizeof id), name);
}

static GHashTable *new_names(void)
{
    return g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, g_free);
}

bool rehearse_names_read(struct rehearsal *rehearsal, struct rehearse_names *names,
                         GError **error)
{
    *names = (struct rehearse_names){new_names(), new_names()};
    struct bl_store *store = rehearsal->copy.store;
    g_autoptr(GArray) customers = bl_customer_list(store, error);
    g_autoptr(GArray) cars = customers ? bl_car_list(store, 0, error) : NULL;
    for (guint i = 0; cars && i < customers->len; i++) {
        const struct bl_customer_row *row =
            &g_array_index(customers, struct bl_customer_row, i);
        keep_name(names->customers, row->id, g_strdup(row->name));
    }
    for (guint i = 0; cars && i < cars->len; i++) {
        const struct bl_car_row *row = &g_array_index(cars, struct bl_car_row, i);
        keep_name(names->cars, row->id, say_car(row->name, row->plate));
    }
    return cars != NULL;
}

void rehearse_names_clear(struct rehearse_names *names)
{
    g_clear_pointer(&names->customers, g_hash_table_destroy);
    g_clear_pointer(&names->cars, g_hash_table_destroy);
}

const char *rehearse_customer(const struct rehearse_names *names, int64_t id)
{
    const char *name = g_hash_table_lookup(names->customers, &id);
    return name ? name : "";
}

const char *rehearse_car(const struct rehearse_names *names, int64_t id)
{
    const char *name = g_hash_table_lookup(names->cars, &id);
    return name ? name : "";
}

bool rehearse_unsaid(const struct rehearsal *rehearsal, const struct bl_due_row *due)
{
    return due->end && due->ended_at >= rehearsal->from && strcmp(due->end, "sent") != 0 &&
           !due->vanished;
}

static bool same(const struct rehearsed_end *one, const struct rehearsed_end *other)
{
    return one->car == other->car && one->customer == other->customer &&
           one->kind == other->kind && strcmp(one->end, other->end) == 0 &&
           strcmp(one->reason, other->reason) == 0;
}

static gint compare_alike(gconstpointer a, gconstpointer b)
{
    const struct rehearsed_end *one = a;
    const struct rehearsed_end *other = b;
    if (one->car != other->car) {
        return one->car < other->car ? -1 : 1;
    }
    if (one->customer != other->customer) {
        return one->customer < other->customer ? -1 : 1;
    }
    if (one->kind != other->kind) {
        return one->kind < other->kind ? -1 : 1;
    }
    int ends = strcmp(one->end, other->end);
    int reasons = ends ? ends : strcmp(one->reason, other->reason);
    return reasons ? reasons : (one->first > other->first) - (one->first < other->first);
}

static gint compare_time(gconstpointer a, gconstpointer b)
{
    const struct rehearsed_end *one = a;
    const struct rehearsed_end *other = b;
    if (one->first != other->first) {
        return one->first < other->first ? -1 : 1;
    }
    return compare_alike(a, b);
}

/* One after the other, alike ones side by side. */
static GArray *singly(const struct rehearsal *rehearsal, const GArray *dues)
{
    GArray *ends = g_array_new(FALSE, FALSE, sizeof(struct rehearsed_end));
    for (guint i = 0; i < dues->len; i++) {
        const struct bl_due_row *due = &g_array_index(dues, struct bl_due_row, i);
        if (rehearse_unsaid(rehearsal, due)) {
            const struct rehearsed_end end = {
                due->car, due->customer, due->kind,    due->end, due->reason ? due->reason : "",
                1,        due->ended_at, due->ended_at};
            g_array_append_val(ends, end);
        }
    }
    g_array_sort(ends, compare_alike);
    return ends;
}

GArray *rehearse_ends(const struct rehearsal *rehearsal, const GArray *dues)
{
    g_autoptr(GArray) single = singly(rehearsal, dues);
    GArray *ends = g_array_new(FALSE, FALSE, sizeof(struct rehearsed_end));
    for (guint i = 0; i < single->len; i++) {
        const struct rehearsed_end *one = &g_array_index(single, struct rehearsed_end, i);
        struct rehearsed_end *last =
            ends->len ? &g_array_index(ends, struct rehearsed_end, ends->len - 1) : NULL;
        if (last && same(last, one)) {
            last->times++;
            last->last = one->last;
        } else {
            g_array_append_val(ends, *one);
        }
    }
    g_array_sort(ends, compare_time);
    return ends;
}
