/* A car as one object. */
#include <math.h>

#include "beadline/lookup.h"
#include "corrected.h"
#include "json.h"
#include "messages.h"
#include "show_car.h"

static const struct bl_zone *zone_of(const struct context *context)
{
    return context->world->settings->shop.zone;
}

static GPtrArray *past_objects(const struct context *context, const GArray *past,
                               const char *name)
{
    GPtrArray *objects = json_list();
    for (guint i = 0; i < past->len; i++) {
        const struct bl_car_past_row *row = &g_array_index(past, struct bl_car_past_row, i);
        struct json json;
        json_begin(&json);
        json_text(&json, name, row->text);
        json_at(&json, "since", zone_of(context), row->since);
        g_ptr_array_add(objects, json_take(&json));
    }
    return objects;
}

static GPtrArray *reading_objects(const struct context *context, const GArray *readings)
{
    GPtrArray *objects = json_list();
    for (guint i = 0; i < readings->len; i++) {
        const struct bl_reading *row = &g_array_index(readings, struct bl_reading, i);
        struct json json;
        json_begin(&json);
        json_whole(&json, "reading", row->id);
        json_at(&json, "at", zone_of(context), row->at);
        json_number(&json, "km", row->km);
        json_whole(&json, "instrument", row->instrument);
        g_ptr_array_add(objects, json_take(&json));
    }
    return objects;
}

/* How far it has come now. */
static void add_used(const struct context *context, const struct bl_car *car,
                     const struct bl_treatment *row, struct json *json)
{
    struct bl_worn worn;
    bl_wear_use_at(car, row, &context->world->settings->shop, context->now, context->now,
                   &worn);
    json_number(json, "use_days", row->rule ? worn.use : (double)NAN);
    json_number(json, "wear_likely_days", row->rule ? worn.wear[BL_LIKELY] : (double)NAN);
    json_number(json, "since_last_coat_km", row->rule ? worn.km : (double)NAN);
    json_number(json, "used_share", row->rule ? look_used(row->rule, &worn) : (double)NAN);
}

static char *treatment_object(const struct context *context, const struct shown_car *shown,
                              const struct bl_treatment *row)
{
    const struct bl_car *car = shown->car;
    struct bl_life life;
    struct json json;
    bl_wear_life(car, row, &context->world->settings->shop, context->now, &life);
    json_begin(&json);
    json_whole(&json, "treatment", row->id);
    json_whole(&json, "job", row->job);
    json_text(&json, "product", row->rule ? row->rule->product : NULL);
    json_text(&json, "title", look_title(context, row));
    json_text(&json, "surface", bl_surface_name(row->surface));
    json_text(&json, "part", *row->part ? row->part : NULL);
    json_whole(&json, "coats", row->coats);
    json_at(&json, "last_coat_at", zone_of(context), row->last_coat_at);
    json_at(&json, "early", zone_of(context), life.early);
    json_at(&json, "likely", zone_of(context), life.likely);
    json_at(&json, "late", zone_of(context), life.late);
    json_number(&json, "speed", life.speed);
    json_number(&json, "km_a_day", life.km_a_day);
    json_yes(&json, "by_distance", life.by_distance);
    add_used(context, car, row, &json);
    json_at(&json, "next_care_at", zone_of(context), shown_car_next(shown, row, BL_CARE));
    json_at(&json, "next_look_over_at", zone_of(context),
            shown_car_next(shown, row, BL_LOOK_OVER));
    json_at(&json, "care_goes_at", zone_of(context), shown_car_goes(shown, row, BL_CARE));
    json_at(&json, "look_over_goes_at", zone_of(context),
            shown_car_goes(shown, row, BL_LOOK_OVER));
    json_at(&json, "ended_at", zone_of(context), life.ended_at);
    json_text(&json, "ended_by", life.ended_by);
    return json_take(&json);
}

static GPtrArray *treatment_objects(const struct context *context,
                                    const struct shown_car *shown)
{
    GPtrArray *objects = json_list();
    g_autoptr(GArray) order = shown_car_order(shown);
    for (guint i = 0; i < order->len; i++) {
        guint n = g_array_index(order, guint, i);
        g_ptr_array_add(objects, treatment_object(context, shown,
                                                  &g_array_index(shown->car->treatments,
                                                                 struct bl_treatment, n)));
    }
    return objects;
}

static GPtrArray *event_objects(const struct context *context, const GArray *events)
{
    GPtrArray *objects = json_list();
    for (guint i = 0; i < events->len; i++) {
        const struct bl_event_row *row = &g_array_index(events, struct bl_event_row, i);
        struct json json;
        json_begin(&json);
        json_whole(&json, "event", row->id);
        json_at(&json, "at", zone_of(context), row->at);
        json_text(&json, "happening", bl_happening_name(row->happening));
        json_text(&json, "surface",
                  row->surface < 0 ? NULL : bl_surface_name((enum bl_surface)row->surface));
        json_text(&json, "part", row->part);
        json_text(&json, "with", row->with);
        json_text(&json, "finding", row->finding && *row->finding ? row->finding : NULL);
        json_number(&json, "temp_c", row->temp_c);
        json_number(&json, "hours", row->hours);
        g_ptr_array_add(objects, json_take(&json));
    }
    return objects;
}

static void add_lists(struct context *context, const struct shown_car *shown, struct json *json)
{
    g_autoptr(GPtrArray) owners = past_objects(context, shown->owners, "owner");
    g_autoptr(GPtrArray) plates = past_objects(context, shown->plates, "plate");
    g_autoptr(GPtrArray) readings = reading_objects(context, shown->readings);
    g_autoptr(GPtrArray) treatments = treatment_objects(context, shown);
    g_autoptr(GPtrArray) events = event_objects(context, shown->events);
    g_autoptr(GPtrArray) corrected = corrected_objects(context, shown->corrected);
    g_autoptr(GPtrArray) waiting = messages_objects(context, shown->waiting);
    json_objects(json, "owners", owners);
    json_objects(json, "plates", plates);
    json_objects(json, "mileage", readings);
    json_objects(json, "treatments", treatments);
    json_objects(json, "events", events);
    json_objects(json, "corrected", corrected);
    json_objects(json, "waiting", waiting);
}

void shown_car_json(struct context *context, const struct shown_car *shown)
{
    const struct bl_car_row *row = &shown->row;
    const struct bl_shop *shop = &context->world->settings->shop;
    struct json json;
    json_begin(&json);
    json_whole(&json, "car", row->id);
    json_text(&json, "plate", row->plate);
    json_text(&json, "name", row->name);
    json_whole(&json, "customer", row->customer);
    json_text(&json, "owner", shown->owner.name);
    json_text(&json, "size", row->size);
    json_number(&json, "km_a_year", row->km_a_year);
    json_number(&json, "forecast_km_a_year", look_km_a_year(context, shown->car));
    json_texts(&json, "exposed", (const char *const *)shown->car->exposures);
    json_text(&json, "place", shown->place);
    json_at(&json, "gone_at", zone_of(context), row->gone_at);
    json_text(&json, "gone_how", row->gone_how);
    json_at(&json, "offers_held_at", zone_of(context), row->offers_held_at);
    json_date(&json, "wash_from", bl_cure_wash_date(shown->car, shop, context->now, NULL));
    add_lists(context, shown, &json);
    json_end(&json);
}
