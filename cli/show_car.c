/* A car for people: what it is and what it was. What is on it is show_car_on.c. */
#include "show_car.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "beadline/letterbook.h"
#include "beadline/lookup.h"
#include "beadline/text.h"
#include "corrected.h"
#include "messages.h"
#include "report.h"
#include "say.h"
#include "show.h"
#include "table.h"
#include "vehicle.h"

#define RECENT SHOWN_CAR_RECENT

static gint by_place(gconstpointer a, gconstpointer b, gpointer data)
{
    const GArray *treatments = data;
    guint first = *(const guint *)a;
    guint second = *(const guint *)b;
    const struct bl_treatment *one = &g_array_index(treatments, struct bl_treatment, first);
    const struct bl_treatment *other = &g_array_index(treatments, struct bl_treatment, second);
    if (one->surface != other->surface) {
        return one->surface < other->surface ? -1 : 1;
    }
    int parts = strcmp(one->part, other->part);
    if (parts != 0) {
        return parts;
    }
    return (first < second) - (first > second); /* the newest first */
}

GArray *shown_car_order(const struct shown_car *shown)
{
    GArray *order = g_array_new(FALSE, FALSE, sizeof(guint));
    for (guint i = 0; i < shown->car->treatments->len; i++) {
        g_array_append_val(order, i);
    }
    g_array_sort_with_data(order, by_place, shown->car->treatments);
    return order;
}

static bool read_place(struct context *context, struct shown_car *shown, GError **error)
{
    g_autoptr(GArray) places = bl_place_list(context->store, shown->row.customer, error);
    for (guint i = 0; places && i < places->len; i++) {
        const struct bl_place_row *place = &g_array_index(places, struct bl_place_row, i);
        if (place->id == shown->row.place) {
            shown->place =
                g_strdup_printf("%s%s%s%s%s", place->name, *place->address ? ", " : "",
                                place->address, *place->note ? ": " : "", place->note);
        }
    }
    return places != NULL;
}

static bool read_all(struct context *context, int64_t id, struct shown_car *shown,
                     GError **error)
{
    const struct bl_message_query query = {
        .states = 1u << BL_PLANNED | 1u << BL_PAUSED | 1u << BL_CLAIMED | 1u << BL_UNSURE,
        .car = id,
    };
    if (!bl_car_get(context->store, id, &shown->row, error) ||
        !bl_customer_get(context->store, shown->row.customer, &shown->owner, error) ||
        !look_make(context, shown->row.customer, &shown->look, error)) {
        return false;
    }
    shown->car = look_car(&shown->look, id);
    if (!shown->car) {
        g_set_error(error, BL_ERROR, BL_ERROR_DAMAGED,
                    "car #%" G_GINT64_FORMAT " cannot be read: \"beadline check\" says why",
                    id);
        return false;
    }
    return read_place(context, shown, error) &&
           (shown->owners = bl_car_owner_list(context->store, id, error)) &&
           (shown->plates = bl_car_plate_list(context->store, id, error)) &&
           (shown->events = bl_event_list(context->store, id, error)) &&
           (shown->readings = bl_mileage_list(context->store, id, error)) &&
           (shown->corrected = bl_corrected_list(context->store, id, error)) &&
           (shown->jobs = bl_job_list(context->store, id, RECENT, error)) &&
           (shown->waiting = bl_message_list(context->store, &query, error));
}

static void clear(struct shown_car *shown)
{
    bl_car_row_clear(&shown->row);
    bl_customer_row_clear(&shown->owner);
    look_clear(&shown->look);
    g_free(shown->place);
    g_clear_pointer(&shown->owners, g_array_unref);
    g_clear_pointer(&shown->plates, g_array_unref);
    g_clear_pointer(&shown->events, g_array_unref);
    g_clear_pointer(&shown->readings, g_array_unref);
    g_clear_pointer(&shown->corrected, g_array_unref);
    g_clear_pointer(&shown->jobs, g_array_unref);
    g_clear_pointer(&shown->waiting, g_array_unref);
}

static void print_distance(const struct context *context, const struct shown_car *shown)
{
    g_autofree char *forecast = say_distance(context, look_km_a_year(context, shown->car));
    g_autofree char *declared = say_distance(context, shown->row.km_a_year);
    report_line("A year", "%s as forecast%s%s%s", forecast, *declared ? ", " : "", declared,
                *declared ? " as its owner says" : "");
}

/* Those before the one that holds now. */
static void print_past(const struct context *context, const char *label, const GArray *past)
{
    for (guint i = 1; i < past->len; i++) {
        const struct bl_car_past_row *row = &g_array_index(past, struct bl_car_past_row, i);
        const struct bl_car_past_row *next =
            &g_array_index(past, struct bl_car_past_row, i - 1);
        g_autofree char *from = say_day(context, row->since);
        g_autofree char *to = say_day(context, next->since);
        report_line(label, "%s, %s to %s", row->text, from, to);
    }
}

static void print_head(const struct context *context, const struct shown_car *shown)
{
    const struct bl_car_row *row = &shown->row;
    const struct bl_car_past_row *owner =
        shown->owners->len ? &g_array_index(shown->owners, struct bl_car_past_row, 0) : NULL;
    g_autofree char *title = say_car(row->name, row->plate);
    g_autofree char *safe = bl_text_printable(title);
    g_autofree char *since = say_day(context, owner ? owner->since : 0);
    g_autofree char *exposures = vehicle_exposures(row);
    g_autofree char *gone = say_day(context, row->gone_at);
    printf("Car #%" G_GINT64_FORMAT ": %s\n", row->id, safe);
    report_line("Owner", "%s (#%" G_GINT64_FORMAT "), since %s", shown->owner.name,
                row->customer, since);
    print_past(context, "Owner before", shown->owners);
    print_past(context, "Plate before", shown->plates);
    report_line("Size", "%s", row->size ? row->size : "");
    print_distance(context, shown);
    report_line("Exposed to", "%s", exposures);
    report_line("Place", "%s", shown->place ? shown->place : "");
    report_line("Note", "%s", row->note);
    report_line("Gone", "%s%s%s", row->gone_how ? row->gone_how : "", row->gone_how ? ", " : "",
                gone);
    if (row->offers_held_at) {
        g_autofree char *held = say_day(context, row->offers_held_at);
        report_line("Offers",
                    "held since %s (\"beadline change car #%" G_GINT64_FORMAT
                    " --offers yes\" lifts that)",
                    held, row->id);
    }
    g_autofree char *wash =
        say_date(context, bl_cure_wash_date(shown->car, &context->world->settings->shop,
                                            context->now, NULL));
    report_line("Wash from", "%s", wash);
}

static void print_readings(const struct context *context, const GArray *readings)
{
    static const char *const titles[] = {">#", "=read", ">mileage", "~", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < readings->len && i < RECENT; i++) {
        const struct bl_reading *row = &g_array_index(readings, struct bl_reading, i);
        const struct bl_reading *before = row + 1; /* the newest come first */
        bool other = i + 1 < readings->len && before->instrument != row->instrument;
        g_autofree char *id = g_strdup_printf("#%" G_GINT64_FORMAT, row->id);
        g_autofree char *at = say_at(context, row->at);
        g_autofree char *distance = say_distance(context, row->km);
        const char *const cells[] = {id, at, distance, other ? "a new instrument" : ""};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("Mileage");
        table_print(table, 2);
    }
}

static void print_jobs(const struct context *context, const GArray *jobs)
{
    static const char *const titles[] = {">job", "=finished", ">degrees", "~note", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < jobs->len; i++) {
        const struct bl_job_row *row = &g_array_index(jobs, struct bl_job_row, i);
        g_autofree char *id = g_strdup_printf("#%" G_GINT64_FORMAT, row->id);
        g_autofree char *at = say_at(context, row->finished_at);
        g_autofree char *temp =
            isnan(row->temp_c) ? g_strdup("") : g_strdup_printf("%.4g °C", row->temp_c);
        const char *const cells[] = {id, at, temp, row->note};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("Jobs");
        table_print(table, 2);
    }
}

static void print_events(const struct context *context, const GArray *events)
{
    static const char *const titles[] = {
        ">#", "=when", "=what happened", "where", "with", "~found or cured", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < events->len; i++) {
        const struct bl_event_row *row = &g_array_index(events, struct bl_event_row, i);
        g_autofree char *id = g_strdup_printf("#%" G_GINT64_FORMAT, row->id);
        g_autofree char *cured =
            row->hours > 0 ? g_strdup_printf("%.4g hours at %.4g °C", row->hours, row->temp_c)
                           : NULL;
        g_autofree char *at = say_at(context, row->at);
        g_autofree char *place = row->surface < 0
                                     ? g_strdup(row->part)
                                     : look_place((enum bl_surface)row->surface, row->part);
        const char *const cells[] = {id,    at,        bl_happening_name(row->happening),
                                     place, row->with, cured ? cured : row->finding};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("Events");
        table_print(table, 2);
    }
}

static void print_text(struct context *context, const struct shown_car *shown)
{
    print_head(context, shown);
    shown_car_print_on(context, shown);
    shown_car_print_off(context, shown);
    print_readings(context, shown->readings);
    print_jobs(context, shown->jobs);
    print_events(context, shown->events);
    corrected_print(context, shown->corrected, RECENT);
    if (shown->waiting->len > 0) {
        putchar('\n');
        table_heading("Next messages");
        messages_print(context, shown->waiting, MESSAGES_GOING, 2);
    }
}

bool show_car(struct context *context, int64_t id, GError **error)
{
    struct shown_car shown = {0};
    bool done = read_all(context, id, &shown, error);
    if (done && context->json) {
        shown_car_json(context, &shown);
    } else if (done) {
        print_text(context, &shown);
    }
    clear(&shown);
    return done;
}
