/*
 * Two looks at one customer laid side by side: one row for each thing that reads differently.
 */
#include "follows.h"

#include <stdio.h>

#include "beadline/letterbook.h"
#include "report.h"
#include "say.h"
#include "table.h"

/* One thing that is different; a side that has nothing of it is "". */
struct row {
    char *what, *now, *was;
};

static void row_clear(gpointer data)
{
    struct row *row = data;
    g_free(row->what);
    g_free(row->now);
    g_free(row->was);
}

/* Takes over the texts; what reads the same is no row. */
static void add_row(GArray *rows, struct row row)
{
    if (g_str_equal(row.now, row.was)) {
        row_clear(&row);
    } else {
        g_array_append_val(rows, row);
    }
}

bool follows_begin(struct context *context, int64_t car, struct follows *follows,
                   GError **error)
{
    struct bl_car_row row = {0};
    follows->car = car;
    bool done = bl_car_get(context->store, car, &row, error) &&
                look_make(context, row.customer, &follows->before, error);
    bl_car_row_clear(&row);
    return done;
}

void follows_clear(struct follows *follows)
{
    look_clear(&follows->before);
    look_clear(&follows->after);
    g_clear_pointer(&follows->went, g_ptr_array_unref);
}

const struct bl_car *follows_car(const struct follows *follows)
{
    return look_car(&follows->after, follows->car);
}

/* --- what is on the car ------------------------------------------------------------------ */

static const struct bl_treatment *treatment_of(const struct bl_car *car, int64_t id)
{
    for (guint i = 0; car && i < car->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(car->treatments, struct bl_treatment, i);
        if (one->id == id) {
            return one;
        }
    }
    return NULL;
}

static char *treatment_title(const struct context *context, const struct bl_treatment *one)
{
    g_autofree char *place = look_place(one->surface, one->part);
    return g_strdup_printf("%s (%s)", look_title(context, one), place);
}

/* "top-up Fri 12 Apr to Fri 3 May", "off since ...: stripped", "on it"; "" when it is not
 * there. */
static char *treatment_state(const struct context *context, const struct bl_car *car,
                             int64_t id)
{
    const struct bl_treatment *one = treatment_of(car, id);
    struct bl_life life;
    if (!one) {
        return g_strdup("");
    }
    bl_wear_life(car, one, &context->world->settings->shop, context->now, &life);
    char *off = look_off(context, &life);
    if (off) {
        return off;
    }
    g_autofree char *span = say_span(context, life.early, life.late);
    return *span ? g_strdup_printf("top-up %s", span) : g_strdup("on it");
}

static void add_treatment(const struct context *context, const struct follows *follows,
                          const struct bl_treatment *one, GArray *rows)
{
    const struct bl_car *before = look_car(&follows->before, follows->car);
    const struct bl_treatment *was = treatment_of(before, one->id);
    char *now = treatment_state(context, follows_car(follows), one->id);
    char *then = treatment_state(context, before, one->id);
    g_autofree char *title = treatment_title(context, one);
    g_autofree char *old = was ? treatment_title(context, was) : NULL;
    if (old && !g_str_equal(old, title)) { /* another product or place under the same number */
        char *named = g_strdup_printf("%s: %s", old, then);
        g_free(then);
        then = named;
    }
    add_row(rows, (struct row){g_steal_pointer(&title), now, then});
}

static void add_treatments(const struct context *context, const struct follows *follows,
                           GArray *rows)
{
    const struct bl_car *before = look_car(&follows->before, follows->car);
    const struct bl_car *after = follows_car(follows);
    for (guint i = 0; after && i < after->treatments->len; i++) {
        add_treatment(context, follows,
                      &g_array_index(after->treatments, struct bl_treatment, i), rows);
    }
    for (guint i = 0; before && after && i < before->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(before->treatments, struct bl_treatment, i);
        if (!treatment_of(after, one->id)) {
            add_treatment(context, follows, one, rows);
        }
    }
}

static char *wash_of(const struct context *context, const struct look *look, int64_t id)
{
    const struct bl_car *car = look_car(look, id);
    int32_t date =
        car ? bl_cure_wash_date(car, &context->world->settings->shop, context->now, NULL)
            : BL_NO_DATE;
    return date == BL_NO_DATE ? g_strdup("now on") : say_date(context, date);
}

static void add_wash(const struct context *context, const struct follows *follows, GArray *rows)
{
    if (follows_car(follows)) {
        add_row(rows, (struct row){g_strdup("washed from"),
                                   wash_of(context, &follows->after, follows->car),
                                   wash_of(context, &follows->before, follows->car)});
    }
}

/* --- its messages ------------------------------------------------------------------------ */

static const struct bl_due *due_at(const struct look *look, guint i)
{
    return &g_array_index(look->plan->dues, struct bl_due, i);
}

/* Whether both are the same to a person: the next care of a protection is the next one,
 * whatever its number, and so is asking for a car's mileage. */
static bool same_matter(const struct bl_due *a, const struct bl_due *b)
{
    if (a->kind != b->kind || a->kind == BL_MILEAGE) {
        return a->kind == b->kind && a->car == b->car;
    }
    bool counted = a->kind == BL_CARE || a->kind == BL_LOOK_OVER;
    return a->subject == b->subject && (counted || a->ordinal == b->ordinal);
}

/* The due of that matter by its number in the plan, or the plan's length. */
static guint find_due(const struct look *look, const struct bl_due *key)
{
    guint i = 0;
    while (i < look->plan->dues->len && !same_matter(due_at(look, i), key)) {
        i++;
    }
    return i;
}

/* What became of a due the plan has no more. */
static char *why_gone(const struct context *context, const struct look *look,
                      const struct bl_due *due)
{
    const struct bl_car *car = look_car(look, due->car);
    if (!car) {
        return g_strdup("the car has another owner");
    }
    if (car->gone_at <= context->now) {
        return g_strdup("the car is gone");
    }
    for (guint i = 0; i < look->plan->over->len; i++) {
        const struct bl_over *over = &g_array_index(look->plan->over, struct bl_over, i);
        if (over->treatment == due->treatment && due->treatment != 0) {
            return g_strdup(over->by);
        }
    }
    bool removed = due->treatment ? !treatment_of(car, due->treatment)
                                  : due->job != 0 && !look_job(car, due->job);
    return g_strdup(removed ? "removed" : "no longer due");
}

static const char *lapse_of(const struct look *look, guint i)
{
    const GArray *intents = look->plan->intents;
    for (guint n = 0; n < intents->len; n++) {
        const struct bl_intent *intent = &g_array_index(intents, struct bl_intent, n);
        for (guint d = 0; intent->lapse && d < intent->dues->len; d++) {
            if (g_array_index(intent->dues, guint, d) == i) {
                return intent->lapse;
            }
        }
    }
    return NULL;
}

/* "goes Thu 12 Mar 09:00 sms to ...", "withdrawn: ...", "none: ..."; "" for one that never was.
 */
static char *message_state(const struct context *context, const struct look *look,
                           const struct bl_due *key, bool went_before)
{
    guint i = find_due(look, key);
    if (i == look->plan->dues->len) {
        g_autofree char *why = why_gone(context, look, key);
        return went_before ? g_strdup_printf("withdrawn: %s", why) : g_strdup("");
    }
    const struct bl_intent *intent = look_intent(look, i);
    if (!intent) {
        const char *lapse = lapse_of(look, i);
        const char *why = due_at(look, i)->held ? due_at(look, i)->held : lapse;
        return why ? g_strdup_printf("%s: %s", went_before ? "withdrawn" : "none", why)
                   : g_strdup("");
    }
    g_autofree char *at = say_at(context, intent->send_at);
    g_autofree char *way = look_way(intent->channel, intent->address);
    return g_strdup_printf("goes %s, %s", at, way);
}

/* "message: care, three-year paint coating", "message: handover, job #12". */
static char *message_title(const struct context *context, const struct follows *follows,
                           const struct bl_due *due)
{
    const struct look *const looks[] = {&follows->after, &follows->before};
    for (gsize i = 0; due->treatment && i < G_N_ELEMENTS(looks); i++) {
        const struct bl_treatment *one =
            treatment_of(look_car(looks[i], due->car), due->treatment);
        if (one) {
            return g_strdup_printf("message: %s, %s", bl_kind_name(due->kind),
                                   look_title(context, one));
        }
    }
    return due->job ? g_strdup_printf("message: %s, job #%" G_GINT64_FORMAT,
                                      bl_kind_name(due->kind), due->job)
                    : g_strdup_printf("message: %s", bl_kind_name(due->kind));
}

static bool goes(const struct look *look, const struct bl_due *key)
{
    guint i = find_due(look, key);
    return i < look->plan->dues->len && look_intent(look, i) != NULL;
}

static void add_message(const struct context *context, const struct follows *follows,
                        const struct bl_due *due, GArray *rows)
{
    bool before = goes(&follows->before, due);
    if (!before && !goes(&follows->after, due)) {
        return; /* what went neither way is no news */
    }
    add_row(rows, (struct row){message_title(context, follows, due),
                               message_state(context, &follows->after, due, before),
                               message_state(context, &follows->before, due, false)});
}

static void add_messages(const struct context *context, const struct follows *follows,
                         GArray *rows)
{
    const struct look *after = &follows->after;
    const struct look *before = &follows->before;
    for (guint i = 0; i < after->plan->dues->len; i++) {
        add_message(context, follows, due_at(after, i), rows);
    }
    for (guint i = 0; i < before->plan->dues->len; i++) {
        if (find_due(after, due_at(before, i)) == after->plan->dues->len) {
            add_message(context, follows, due_at(before, i), rows);
        }
    }
}

static GArray *rows_of(const struct context *context, const struct follows *follows)
{
    GArray *rows = g_array_new(FALSE, FALSE, sizeof(struct row));
    g_array_set_clear_func(rows, row_clear);
    add_wash(context, follows, rows);
    add_treatments(context, follows, rows);
    add_messages(context, follows, rows);
    return rows;
}

/* --- told -------------------------------------------------------------------------------- */

bool follows_any(const struct context *context, const struct follows *follows)
{
    g_autoptr(GArray) rows = rows_of(context, follows);
    return rows->len > 0;
}

void follows_print(const struct context *context, const struct follows *follows)
{
    static const char *const titles[] = {"different", "now", "~was", NULL};
    g_autoptr(GArray) rows = rows_of(context, follows);
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < rows->len; i++) {
        const struct row *row = &g_array_index(rows, struct row, i);
        const char *const cells[] = {row->what, *row->now ? row->now : "not there",
                                     *row->was ? row->was : "not there"};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_print(table, 2);
    }
}

void follows_json(const struct context *context, const struct follows *follows,
                  struct json *json)
{
    g_autoptr(GArray) rows = rows_of(context, follows);
    g_autoptr(GPtrArray) came_off = follows_came_off(context, follows);
    g_autoptr(GPtrArray) objects = json_list();
    for (guint i = 0; i < rows->len; i++) {
        const struct row *row = &g_array_index(rows, struct row, i);
        struct json one;
        json_begin(&one);
        json_text(&one, "what", row->what);
        json_text(&one, "now", *row->now ? row->now : NULL);
        json_text(&one, "was", *row->was ? row->was : NULL);
        g_ptr_array_add(objects, json_take(&one));
    }
    json_texts(json, "came_off", (const char *const *)came_off->pdata);
    json_objects(json, "changes", objects);
}

GPtrArray *follows_came_off(const struct context *context, const struct follows *follows)
{
    const struct bl_car *before = look_car(&follows->before, follows->car);
    const struct bl_car *after = follows_car(follows);
    const struct bl_shop *shop = &context->world->settings->shop;
    GPtrArray *list = g_ptr_array_new_with_free_func(g_free);
    for (guint i = 0; before && after && i < after->treatments->len; i++) {
        const struct bl_treatment *one =
            &g_array_index(after->treatments, struct bl_treatment, i);
        const struct bl_treatment *was = treatment_of(before, one->id);
        struct bl_life then;
        struct bl_life now;
        if (was) {
            bl_wear_life(before, was, shop, context->now, &then);
            bl_wear_life(after, one, shop, context->now, &now);
            if (now.ended_at != BL_NEVER && now.ended_at != then.ended_at) {
                g_ptr_array_add(list, treatment_title(context, one));
            }
        }
    }
    g_ptr_array_add(list, NULL);
    return list;
}
