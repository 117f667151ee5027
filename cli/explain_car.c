/* A car explained: what is on it, surface by surface, and the messages that follow. */
#include <stdio.h>

#include "explain.h"
#include "say.h"
#include "table.h"

static const struct bl_treatment *treatment_at(const struct bl_car *car, guint i)
{
    return &g_array_index(car->treatments, struct bl_treatment, i);
}

static void life_of(const struct explained *explained, const struct bl_car *car, guint i,
                    struct bl_life *life)
{
    bl_wear_life(car, treatment_at(car, i), explained->shop, explained->now, life);
}

/* What is on it by surface, the oldest first. Indexes (guint) into car->treatments. */
static GArray *on_it(const struct explained *explained, const struct bl_car *car)
{
    GArray *order = g_array_new(FALSE, FALSE, sizeof(guint));
    for (int surface = 0; surface < BL_SURFACES; surface++) {
        for (guint i = 0; i < car->treatments->len; i++) {
            struct bl_life life;
            life_of(explained, car, i, &life);
            if ((int)treatment_at(car, i)->surface == surface && life.ended_at == BL_NEVER) {
                g_array_append_val(order, i);
            }
        }
    }
    return order;
}

/* The protection that ends first of those still to end. */
static const struct bl_treatment *first_to_end(const struct explained *explained,
                                               const struct bl_car *car)
{
    const struct bl_treatment *first = NULL;
    int64_t soonest = BL_NEVER;
    for (guint i = 0; i < car->treatments->len; i++) {
        struct bl_life life;
        life_of(explained, car, i, &life);
        if (life.ended_at == BL_NEVER && life.likely < soonest &&
            life.likely > explained->now) {
            soonest = life.likely;
            first = treatment_at(car, i);
        }
    }
    return first;
}

/* The one line an owner reads. Caller frees. */
static char *plain_line(const struct explained *explained, const struct bl_car *car)
{
    const struct bl_treatment *first = first_to_end(explained, car);
    g_autofree char *title = say_car(car->name, car->plate);
    if (!first) {
        return g_strdup_printf("%s: nothing on it is still to end", title);
    }
    g_autofree char *plain = explain_plain(explained, car, first);
    return g_strdup_printf("%s: %s, for the %s", title, plain,
                           look_title(explained->context, first));
}

/* "wheel spray sealant, tyre dressing": what is past its likely end and was not renewed. */
static char *past_its_end(const struct explained *explained, const struct bl_car *car)
{
    GString *list = g_string_new(NULL);
    for (guint i = 0; i < car->treatments->len; i++) {
        struct bl_life life;
        life_of(explained, car, i, &life);
        if (life.ended_at == BL_NEVER && life.likely <= explained->now) {
            g_string_append_printf(list, "%s%s", list->len ? ", " : "",
                                   look_title(explained->context, treatment_at(car, i)));
        }
    }
    return g_string_free(list, FALSE);
}

/* Whether the due still says something, or would if it were not held. */
static bool is_open(const struct explained *explained, guint i)
{
    const struct bl_due *due = &g_array_index(explained->look.plan->dues, struct bl_due, i);
    return look_intent(&explained->look, i) || look_lapse(&explained->look, i) ||
           (due->not_after >= explained->now && (due->held || due->kind == BL_TOP_UP));
}

/* The open dues of the car's treatment, 0: those of the car itself. Indexes (guint). */
static GArray *dues_of(const struct explained *explained, const struct bl_car *car,
                       int64_t treatment)
{
    GArray *dues = g_array_new(FALSE, FALSE, sizeof(guint));
    for (guint i = 0; i < explained->look.plan->dues->len; i++) {
        const struct bl_due *due = &g_array_index(explained->look.plan->dues, struct bl_due, i);
        if (due->car == car->id && due->treatment == treatment && is_open(explained, i)) {
            g_array_append_val(dues, i);
        }
    }
    return dues;
}

static void print_dues(const struct explained *explained, const struct bl_car *car,
                       int64_t treatment)
{
    g_autoptr(GArray) dues = dues_of(explained, car, treatment);
    for (guint i = 0; i < dues->len; i++) {
        explain_due_print(explained, g_array_index(dues, guint, i));
    }
}

static void print_ended(const struct explained *explained, const struct bl_car *car)
{
    bool any = false;
    for (guint i = 0; i < car->treatments->len; i++) {
        struct bl_life life;
        life_of(explained, car, i, &life);
        g_autofree char *off = look_off(explained->context, &life);
        g_autofree char *name = explain_treatment_name(explained, treatment_at(car, i));
        if (off && !any) {
            putchar('\n');
            table_heading("Off it");
        }
        if (off) {
            any = true;
            printf("  %s: %s\n", name, off);
        }
    }
}

static void print_text(const struct explained *explained, const struct bl_car *car)
{
    g_autofree char *plain = plain_line(explained, car);
    g_autofree char *past = past_its_end(explained, car);
    g_autoptr(GArray) order = on_it(explained, car);
    explain_line(NULL, "%s.", plain);
    if (*past) {
        explain_line(NULL, "Past its likely end: %s.", past);
    }
    if (car->gone_at <= explained->now) {
        explain_line(NULL, "The car is gone: no message goes for it.");
    }
    explain_cure_print(explained, car);
    explain_distance_print(explained, car);
    print_dues(explained, car, 0);
    for (guint i = 0; i < order->len; i++) {
        const struct bl_treatment *treatment =
            treatment_at(car, g_array_index(order, guint, i));
        explain_wear_print(explained, car, treatment);
        print_dues(explained, car, treatment->id);
    }
    print_ended(explained, car);
}

static void add_treatments(const struct explained *explained, const struct bl_car *car,
                           struct json *json)
{
    g_autoptr(GPtrArray) objects = json_list();
    for (guint i = 0; i < car->treatments->len; i++) {
        g_ptr_array_add(objects, explain_wear_object(explained, car, treatment_at(car, i)));
    }
    json_objects(json, "treatments", objects);
}

static void add_dues(const struct explained *explained, const struct bl_car *car,
                     struct json *json)
{
    g_autoptr(GPtrArray) objects = json_list();
    for (guint i = 0; i < explained->look.plan->dues->len; i++) {
        if (g_array_index(explained->look.plan->dues, struct bl_due, i).car == car->id) {
            g_ptr_array_add(objects, explain_due_object(explained, i));
        }
    }
    json_objects(json, "dues", objects);
}

static void print_json(const struct explained *explained, const struct bl_car *car)
{
    struct json json;
    g_autofree char *plain = plain_line(explained, car);
    g_autofree char *cure = explain_cure_object(explained, car);
    g_autofree char *distance = explain_distance_object(explained, car);
    json_begin(&json);
    json_whole(&json, "car", car->id);
    json_text(&json, "plate", car->plate);
    json_text(&json, "name", car->name);
    json_text(&json, "plain", plain);
    json_raw(&json, "cure", cure ? cure : "null");
    json_raw(&json, "distance", distance);
    add_treatments(explained, car, &json);
    add_dues(explained, car, &json);
    json_end(&json);
}

static const struct bl_car *car_of(const struct explained *explained, int64_t id,
                                   GError **error)
{
    const struct bl_car *car = look_car(&explained->look, id);
    if (!car) {
        g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED,
                    "car #%" G_GINT64_FORMAT " cannot be read: \"beadline check\" says why",
                    id);
    }
    return car;
}

bool explain_car(struct context *context, int64_t id, GError **error)
{
    struct bl_car_row row = {0};
    struct explained explained = {0};
    bool read = bl_car_get(context->store, id, &row, error) &&
                explained_init(&explained, context, row.customer, error);
    const struct bl_car *car = read ? car_of(&explained, id, error) : NULL;
    if (car && context->json) {
        print_json(&explained, car);
    } else if (car) {
        print_text(&explained, car);
    }
    bl_car_row_clear(&row);
    explained_clear(&explained);
    return car != NULL;
}
