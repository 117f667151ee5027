/*
 * Gathering windows into the fewest occasions, and the occasions' instants: between the dues of
 * a customer and the messages about them.
 */
#include "beadline/gather.h"

#include "beadline/civil.h"

static int by_end(gconstpointer a, gconstpointer b)
{
    const struct bl_window *one = *(struct bl_window *const *)a;
    const struct bl_window *other = *(struct bl_window *const *)b;
    if (one->best_by != other->best_by) {
        return one->best_by < other->best_by ? -1 : 1;
    }
    return (one->from > other->from) - (one->from < other->from);
}

guint bl_gather(struct bl_window *windows, guint count)
{
    g_autoptr(GPtrArray) sorted = g_ptr_array_sized_new(count);
    for (guint i = 0; i < count; i++) {
        g_assert(windows[i].from <= windows[i].best_by);
        g_ptr_array_add(sorted, &windows[i]);
    }
    g_ptr_array_sort(sorted, by_end);

    guint groups = 0;
    int64_t point = 0;
    for (guint i = 0; i < count; i++) {
        struct bl_window *window = g_ptr_array_index(sorted, i);
        if (groups == 0 || window->from > point) {
            point = window->best_by;
            groups++;
        }
        window->group = groups - 1;
    }
    return groups;
}

static int64_t time_of(const struct bl_shop *shop, const struct bl_window *common,
                       int64_t before)
{
    int64_t spaced = MIN(common->best_by, before);
    int64_t at = bl_hours_last(shop, spaced, common->from);
    if (at == BL_NEVER) {
        at = bl_hours_last(shop, common->best_by, common->from);
    }
    return at == BL_NEVER ? bl_hours_next(shop, common->best_by) : at;
}

void bl_gather_times(const struct bl_shop *shop, const struct bl_window *windows, guint count,
                     int64_t *times, guint groups)
{
    bl_gather_times_apart(shop, windows, count, times, groups, BL_DAY);
}

void bl_gather_times_apart(const struct bl_shop *shop, const struct bl_window *windows,
                           guint count, int64_t *times, guint groups, int64_t apart)
{
    g_autoptr(GArray) common =
        g_array_sized_new(FALSE, FALSE, sizeof(struct bl_window), groups);
    for (guint g = 0; g < groups; g++) {
        const struct bl_window all = {.from = INT64_MIN, .best_by = BL_NEVER, .group = g};
        g_array_append_val(common, all);
    }
    for (guint i = 0; i < count; i++) {
        g_assert(windows[i].group < groups);
        struct bl_window *group = &g_array_index(common, struct bl_window, windows[i].group);
        group->from = MAX(group->from, windows[i].from);
        group->best_by = MIN(group->best_by, windows[i].best_by);
    }
    int64_t before = BL_NEVER;
    for (guint g = groups; g-- > 0;) {
        times[g] = time_of(shop, &g_array_index(common, struct bl_window, g), before);
        before = times[g] == BL_NEVER ? BL_NEVER : times[g] - apart;
    }
}
