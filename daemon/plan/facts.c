/*
 * The facts of one customer as plain data: made empty here, filled by the store, read by
 * planning and composing.
 */
#include "beadline/facts.h"

#include <math.h>

#include "beadline/civil.h"

static void event_clear(gpointer data)
{
    struct bl_event *event = data;
    g_free(event->part);
    g_free(event->with);
}

static void treatment_clear(gpointer data)
{
    g_free(((struct bl_treatment *)data)->part);
}

static void car_clear(gpointer data)
{
    struct bl_car *car = data;
    g_free(car->plate);
    g_free(car->name);
    g_strfreev(car->exposures);
    g_array_unref(car->readings);
    g_array_unref(car->jobs);
    g_array_unref(car->treatments);
    g_array_unref(car->events);
}

static GArray *array_of(guint size, GDestroyNotify clear)
{
    GArray *array = g_array_new(FALSE, TRUE, size);
    if (clear) {
        g_array_set_clear_func(array, clear);
    }
    return array;
}

void bl_facts_init(struct bl_facts *facts)
{
    *facts = (struct bl_facts){
        .customer = {.route = BL_SMS, .consent = {[BL_SERVICE] = true}},
        .cars = array_of(sizeof(struct bl_car), car_clear),
        .told = array_of(sizeof(struct bl_told), NULL),
        .ended = array_of(sizeof(struct bl_ended), NULL),
        .skipped = g_ptr_array_new_with_free_func(g_free),
    };
}

void bl_facts_clear(struct bl_facts *facts)
{
    g_clear_pointer(&facts->customer.name, g_free);
    g_clear_pointer(&facts->customer.phone, g_free);
    g_clear_pointer(&facts->customer.mail, g_free);
    g_clear_pointer(&facts->customer.language, g_free);
    g_clear_pointer(&facts->cars, g_array_unref);
    g_clear_pointer(&facts->told, g_array_unref);
    g_clear_pointer(&facts->ended, g_array_unref);
    g_clear_pointer(&facts->skipped, g_ptr_array_unref);
}

struct bl_car *bl_facts_add_car(struct bl_facts *facts)
{
    struct bl_car car = {
        .km_a_year = (double)NAN,
        .gone_at = BL_NEVER,
        .exposures = g_new0(char *, 1),
        .readings = array_of(sizeof(struct bl_reading), NULL),
        .jobs = array_of(sizeof(struct bl_job), NULL),
        .treatments = array_of(sizeof(struct bl_treatment), treatment_clear),
        .events = array_of(sizeof(struct bl_event), event_clear),
    };
    g_array_append_val(facts->cars, car);
    return &g_array_index(facts->cars, struct bl_car, facts->cars->len - 1);
}

bool bl_facts_silenced(const struct bl_facts *facts)
{
    const struct bl_customer *customer = &facts->customer;
    return (customer->phone && customer->phone_silenced) ||
           (customer->mail && customer->mail_silenced);
}

enum bl_channel bl_facts_route(const struct bl_facts *facts, const char **address)
{
    const struct bl_customer *customer = &facts->customer;
    const char *addresses[BL_CHANNELS] = {
        [BL_SMS] = customer->phone, [BL_MAIL] = customer->mail};
    enum bl_channel wished = customer->route;
    enum bl_channel other = wished == BL_SMS ? BL_MAIL : BL_SMS;
    *address = NULL;
    if (wished == BL_BY_HAND || bl_facts_silenced(facts)) {
        return BL_BY_HAND;
    }
    enum bl_channel channel = addresses[wished] ? wished : other;
    *address = addresses[channel];
    return *address ? channel : BL_BY_HAND;
}
