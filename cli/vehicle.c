/* From a car's options to its row, and the row on the screen. */
#include "vehicle.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "json.h"
#include "report.h"
#include "say.h"
#include "typed.h"

void vehicle_clear(struct vehicle *vehicle)
{
    g_free(vehicle->plate);
    g_free(vehicle->name);
    g_free(vehicle->size);
    g_free(vehicle->distance);
    g_free(vehicle->note);
    g_strfreev(vehicle->exposed);
    g_free(vehicle->place);
    g_free(vehicle->place_address);
    g_free(vehicle->place_note);
    *vehicle = (struct vehicle){0};
}

static gint by_text(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* Every exposure the catalogue speaks of, borrowed from it, NULL-terminated. */
static GPtrArray *known_exposures(const struct bl_catalogue *catalogue)
{
    const char *const *products = bl_catalogue_products(catalogue);
    g_autoptr(GHashTable) seen = g_hash_table_new(g_str_hash, g_str_equal);
    GPtrArray *names = g_ptr_array_new();
    for (guint p = 0; products[p]; p++) {
        const GArray *exposures = bl_catalogue_rule(catalogue, products[p])->exposures;
        for (guint i = 0; exposures && i < exposures->len; i++) {
            char *name = g_array_index(exposures, struct bl_exposure, i).name;
            if (g_hash_table_add(seen, name)) {
                g_ptr_array_add(names, name);
            }
        }
    }
    g_ptr_array_sort(names, by_text);
    g_ptr_array_add(names, NULL);
    return names;
}

static bool apply_exposures(const struct context *context, char **typed, char **exposures,
                            GError **error)
{
    g_autoptr(GPtrArray) known = known_exposures(context->world->catalogue);
    g_autoptr(GPtrArray) said = g_ptr_array_new();
    bool none = typed[0] && !typed[1] && typed_none(typed[0]);
    for (guint i = 0; typed[i] && !none; i++) {
        const char *name =
            typed_word("exposure", typed[i], (const char *const *)known->pdata, error);
        if (!name) {
            return false;
        }
        if (!g_ptr_array_find(said, name, NULL)) {
            g_ptr_array_add(said, (gpointer)name);
        }
    }
    g_ptr_array_add(said, NULL);
    g_free(*exposures);
    *exposures = g_strjoinv("\n", (char **)said->pdata);
    return true;
}

/* The place of that name or number, or NULL. */
static const struct bl_place_row *place_named(const GArray *places, const char *name)
{
    g_autofree char *folded = bl_text_fold(name);
    for (guint i = 0; i < places->len; i++) {
        const struct bl_place_row *place = &g_array_index(places, struct bl_place_row, i);
        g_autofree char *other = bl_text_fold(place->name);
        g_autofree char *number = g_strdup_printf("#%" G_GINT64_FORMAT, place->id);
        if (strcmp(folded, other) == 0 || strcmp(name, number) == 0) {
            return place;
        }
    }
    return NULL;
}

bool vehicle_find_place(struct context *context, int64_t customer, const char *name,
                        int64_t *place, GError **error)
{
    g_autoptr(GArray) places = bl_place_list(context->store, customer, error);
    const struct bl_place_row *found = places ? place_named(places, name) : NULL;
    if (found) {
        *place = found->id;
        return true;
    }
    if (!places) {
        return false;
    }
    g_autoptr(GString) list = g_string_new(NULL);
    for (guint i = 0; i < places->len; i++) {
        const struct bl_place_row *one = &g_array_index(places, struct bl_place_row, i);
        g_string_append_printf(list, "%s\"%s\"", i ? ", " : "", one->name);
    }
    g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                "the customer has no place \"%s\": there is %s; a new one is given with "
                "\"change car CAR --place NAME\"",
                name, places->len ? list->str : "none");
    return false;
}

static bool apply_place(struct context *context, const struct vehicle *vehicle,
                        struct bl_car_row *row, GError **error)
{
    g_autoptr(GArray) places = bl_place_list(context->store, row->customer, error);
    if (!places) {
        return false;
    }
    const struct bl_place_row *known = place_named(places, vehicle->place);
    if (!known) {
        const struct bl_place_row place = {
            .customer = row->customer,
            .name = vehicle->place,
            .address = vehicle->place_address,
            .note = vehicle->place_note,
        };
        return bl_place_add(context->store, &place, &row->place, error);
    }
    if (vehicle->place_address || vehicle->place_note) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "place \"%s\" is there already and keeps its address and note: leave them "
                    "out, or give the place another name",
                    known->name);
        return false;
    }
    row->place = known->id;
    return true;
}

static bool apply_distance(const struct context *context, const char *typed, double *km_a_year,
                           GError **error)
{
    if (!typed) {
        return true;
    }
    if (typed_none(typed)) {
        *km_a_year = (double)NAN;
        return true;
    }
    return say_read_distance(context, typed, km_a_year, error);
}

bool vehicle_apply(struct context *context, const struct vehicle *vehicle,
                   struct bl_car_row *row, GError **error)
{
    if (vehicle->plate) {
        g_free(row->plate);
        row->plate = g_strstrip(g_strdup(vehicle->plate));
    }
    typed_text(&row->name, vehicle->name);
    typed_text(&row->size, vehicle->size);
    typed_text(&row->note, vehicle->note);
    if (!apply_distance(context, vehicle->distance, &row->km_a_year, error) ||
        (vehicle->exposed &&
         !apply_exposures(context, vehicle->exposed, &row->exposures, error))) {
        return false;
    }
    if (vehicle->place && typed_none(vehicle->place)) {
        row->place = 0;
        return true;
    }
    if (vehicle->place) {
        return apply_place(context, vehicle, row, error);
    }
    if (vehicle->place_address || vehicle->place_note) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "an address or a note belongs to a place: add --place NAME");
        return false;
    }
    return true;
}

char *vehicle_exposures(const struct bl_car_row *row)
{
    g_auto(GStrv) lines = g_strsplit(row->exposures ? row->exposures : "", "\n", -1);
    return g_strjoinv(", ", lines);
}

static void print_json(const struct context *context, const struct vehicle_answer *answer)
{
    const struct bl_car_row *row = answer->row;
    const struct bl_zone *zone = context->world->settings->shop.zone;
    g_auto(GStrv) exposures = g_strsplit(row->exposures ? row->exposures : "", "\n", -1);
    struct json json;
    json_begin(&json);
    json_whole(&json, "car", row->id);
    json_text(&json, "plate", row->plate);
    json_text(&json, "name", row->name);
    json_whole(&json, "customer", row->customer);
    json_text(&json, "owner", answer->owner);
    json_text(&json, "size", row->size);
    json_number(&json, "km", answer->km);
    json_number(&json, "km_a_year", row->km_a_year);
    json_texts(&json, "exposed", (const char *const *)exposures);
    json_at(&json, "gone_at", zone, row->gone_at);
    json_text(&json, "gone_how", row->gone_how);
    json_at(&json, "offers_held_at", zone, row->offers_held_at);
    if (answer->follows) {
        follows_json(context, answer->follows, &json);
    }
    report_json(&json, answer->remarks);
    json_end(&json);
}

void vehicle_print(const struct context *context, const struct vehicle_answer *answer)
{
    const struct bl_car_row *row = answer->row;
    if (context->json) {
        print_json(context, answer);
        return;
    }
    g_autofree char *car = say_car(row->name, row->plate);
    g_autofree char *title = bl_text_printable(car);
    g_autofree char *reading = say_distance(context, answer->km);
    g_autofree char *distance = say_distance(context, row->km_a_year);
    g_autofree char *exposures = vehicle_exposures(row);
    g_autofree char *gone = say_day(context, row->gone_at);
    printf("Car #%" G_GINT64_FORMAT ": %s\n", row->id, title);
    report_line("Owner", "%s", answer->owner);
    report_line("Size", "%s", row->size ? row->size : "");
    report_line("Reading", "%s", reading);
    report_line("A year", "%s", distance);
    report_line("Exposed to", "%s", exposures);
    report_line("Gone", "%s%s%s", row->gone_how ? row->gone_how : "", row->gone_how ? ", " : "",
                gone);
    if (answer->follows) {
        follows_print(context, answer->follows);
    }
    report_print(answer->remarks);
}
