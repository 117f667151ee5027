/* What is on a car, surface by surface: how much of each life is used, and the next dates. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "say.h"
#include "show_car.h"
#include "table.h"

#define BAR 10

/* Whether the session shows UTF-8: the names of its locale are asked, in the order POSIX has.
 */
static bool shows_utf8(void)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (guint i = 0; i < G_N_ELEMENTS(names); i++) {
        const char *value = g_getenv(names[i]);
        if (value && *value) {
            g_autofree char *lower = g_ascii_strdown(value, -1);
            return strstr(lower, "utf-8") || strstr(lower, "utf8");
        }
    }
    return false;
}

/* "[####------]  42 %": over 100 where it should have ended. Caller frees. */
static char *say_used(double share)
{
    bool blocks = shows_utf8();
    if (!isfinite(share)) {
        return g_strdup("");
    }
    GString *bar = g_string_new(blocks ? "" : "[");
    int full = (int)lround(fmin(fmax(share, 0), 1) * BAR);
    for (int i = 0; i < BAR; i++) {
        g_string_append(bar, i < full ? (blocks ? "█" : "#") : (blocks ? "░" : "-"));
    }
    g_string_append_printf(bar, "%s %3.0f %%", blocks ? "" : "]", fmin(share, 9.99) * 100);
    return g_string_free(bar, FALSE);
}

int64_t shown_car_next(const struct shown_car *shown, const struct bl_treatment *treatment,
                       enum bl_kind kind)
{
    const GArray *dues = shown->look.plan->dues;
    int64_t next = BL_NEVER;
    for (guint i = 0; i < dues->len; i++) {
        const struct bl_due *due = &g_array_index(dues, struct bl_due, i);
        if (due->kind == kind && due->treatment == treatment->id) {
            next = MIN(next, due->from);
        }
    }
    return next;
}

int64_t shown_car_goes(const struct shown_car *shown, const struct bl_treatment *treatment,
                       enum bl_kind kind)
{
    const GArray *dues = shown->look.plan->dues;
    int64_t goes = BL_NEVER;
    for (guint i = 0; i < dues->len; i++) {
        const struct bl_due *due = &g_array_index(dues, struct bl_due, i);
        const struct bl_intent *intent = look_intent(&shown->look, i);
        if (intent && due->kind == kind && due->treatment == treatment->id) {
            goes = MIN(goes, intent->send_at);
        }
    }
    return goes;
}

static void add_next(const struct context *context, const struct shown_car *shown,
                     const struct bl_treatment *treatment, enum bl_kind kind, GString *text)
{
    int64_t from = shown_car_next(shown, treatment, kind);
    int64_t goes = shown_car_goes(shown, treatment, kind);
    if (from != BL_NEVER || goes != BL_NEVER) {
        g_autofree char *day = say_day(context, goes != BL_NEVER ? goes : from);
        const char *how = goes != BL_NEVER ? "goes" : from <= context->now ? "since" : "from";
        g_string_append_printf(text, "%s%s %s %s", text->len ? "; " : "", bl_kind_name(kind),
                               how, day);
    }
}

/* "top-up 12 Jan to 3 Mar (you, a booking); care goes 5 May; look-over from 12 Mar". Caller
 * frees. */
static char *say_next(const struct context *context, const struct shown_car *shown,
                      const struct bl_treatment *treatment, const struct bl_life *life)
{
    GString *text = g_string_new(NULL);
    g_autofree char *span = say_span(context, life->early, life->late);
    if (*span) {
        g_string_append_printf(text, "top-up %s (%s)", span, look_again(treatment));
    }
    add_next(context, shown, treatment, BL_CARE, text);
    add_next(context, shown, treatment, BL_LOOK_OVER, text);
    return g_string_free(text, FALSE);
}

static const struct bl_treatment *treatment_at(const struct shown_car *shown,
                                               const GArray *order, guint i)
{
    return &g_array_index(shown->car->treatments, struct bl_treatment,
                          g_array_index(order, guint, i));
}

static void life_of(const struct context *context, const struct shown_car *shown,
                    const struct bl_treatment *treatment, struct bl_life *life)
{
    bl_wear_life(shown->car, treatment, &context->world->settings->shop, context->now, life);
}

static void add_on(const struct context *context, const struct shown_car *shown,
                   const struct bl_treatment *treatment, const struct bl_life *life,
                   struct table *table)
{
    struct bl_worn worn;
    bl_wear_use_at(shown->car, treatment, &context->world->settings->shop, context->now,
                   context->now, &worn);
    g_autofree char *id = g_strdup_printf("#%" G_GINT64_FORMAT, treatment->id);
    g_autofree char *place = look_place(treatment->surface, treatment->part);
    g_autofree char *since = say_day(context, treatment->last_coat_at);
    g_autofree char *used =
        say_used(treatment->rule ? look_used(treatment->rule, &worn) : (double)NAN);
    g_autofree char *next = say_next(context, shown, treatment, life);
    const char *const cells[] = {id, place, look_title(context, treatment), since, used, next};
    table_row(table, cells);
}

void shown_car_print_on(const struct context *context, const struct shown_car *shown)
{
    static const char *const titles[] = {">#",    "where", "what", "=since",
                                         "=used", "_next", NULL};
    BL_AUTO(table) *table = table_new(titles);
    g_autoptr(GArray) order = shown_car_order(shown);
    for (guint i = 0; i < order->len; i++) {
        const struct bl_treatment *treatment = treatment_at(shown, order, i);
        struct bl_life life;
        life_of(context, shown, treatment, &life);
        if (life.ended_at == BL_NEVER) {
            add_on(context, shown, treatment, &life, table);
        }
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("On it");
        table_print(table, 2);
        printf("  Why these dates: beadline explain car '#%" G_GINT64_FORMAT "'\n",
               shown->row.id);
    }
}

struct off {
    const struct bl_treatment *treatment;
    struct bl_life life;
};

static int by_end(gconstpointer a, gconstpointer b)
{
    const struct off *one = a;
    const struct off *other = b;
    return (one->life.ended_at < other->life.ended_at) -
           (one->life.ended_at > other->life.ended_at);
}

void shown_car_print_off(const struct context *context, const struct shown_car *shown)
{
    static const char *const titles[] = {">#", "where", "what", "~off", NULL};
    BL_AUTO(table) *table = table_new(titles);
    g_autoptr(GArray) order = shown_car_order(shown);
    g_autoptr(GArray) gone = g_array_new(FALSE, FALSE, sizeof(struct off));
    for (guint i = 0; i < order->len; i++) {
        struct off off = {.treatment = treatment_at(shown, order, i)};
        life_of(context, shown, off.treatment, &off.life);
        if (off.life.ended_at != BL_NEVER) {
            g_array_append_val(gone, off);
        }
    }
    g_array_sort(gone, by_end);
    for (guint i = 0; i < gone->len && i < SHOWN_CAR_RECENT; i++) {
        const struct off *off = &g_array_index(gone, struct off, i);
        g_autofree char *id = g_strdup_printf("#%" G_GINT64_FORMAT, off->treatment->id);
        g_autofree char *place = look_place(off->treatment->surface, off->treatment->part);
        g_autofree char *why = look_off(context, &off->life);
        const char *const cells[] = {id, place, look_title(context, off->treatment), why};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("Off it");
        table_print(table, 2);
    }
}
