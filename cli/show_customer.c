/* A customer whole: how they are reached, what they agreed to, their cars and messages. */
#include <stdio.h>

#include "beadline/letterbook.h"
#include "beadline/lookup.h"
#include "beadline/text.h"
#include "json.h"
#include "look.h"
#include "messages.h"
#include "report.h"
#include "say.h"
#include "show.h"
#include "table.h"

#define RECENT 10 /* messages that went */

/* All that is shown, read first. */
struct shown {
    struct bl_customer_row row;
    struct look look;
    GArray *consents, *cars, *places, *waiting, *gone;
};

static GArray *messages_in(struct context *context, int64_t customer, bool gone, GError **error)
{
    static const guint begun =
        1u << BL_SENT | 1u << BL_DELIVERED | 1u << BL_FAILED | 1u << BL_LAPSED;
    static const guint open =
        1u << BL_PLANNED | 1u << BL_PAUSED | 1u << BL_CLAIMED | 1u << BL_UNSURE;
    const struct bl_message_query query = {
        .states = gone ? begun : open,
        .customer = customer,
        .newest_first = gone,
        .limit = gone ? RECENT : 0,
    };
    return bl_message_list(context->store, &query, error);
}

static bool read_all(struct context *context, int64_t id, struct shown *shown, GError **error)
{
    return bl_customer_get(context->store, id, &shown->row, error) &&
           look_make(context, id, &shown->look, error) &&
           (shown->consents = bl_consent_list(context->store, id, error)) &&
           (shown->cars = bl_car_list(context->store, id, error)) &&
           (shown->places = bl_place_list(context->store, id, error)) &&
           (shown->waiting = messages_in(context, id, false, error)) &&
           (shown->gone = messages_in(context, id, true, error));
}

static void clear(struct shown *shown)
{
    bl_customer_row_clear(&shown->row);
    look_clear(&shown->look);
    g_clear_pointer(&shown->consents, g_array_unref);
    g_clear_pointer(&shown->cars, g_array_unref);
    g_clear_pointer(&shown->places, g_array_unref);
    g_clear_pointer(&shown->waiting, g_array_unref);
    g_clear_pointer(&shown->gone, g_array_unref);
}

static GPtrArray *consent_objects(const struct context *context, const GArray *consents)
{
    GPtrArray *objects = json_list();
    for (guint i = 0; i < consents->len; i++) {
        const struct bl_consent_row *row = &g_array_index(consents, struct bl_consent_row, i);
        struct json json;
        json_begin(&json);
        json_text(&json, "class", bl_class_name(row->class));
        json_yes(&json, "given", row->given);
        json_at(&json, "at", context->world->settings->shop.zone, row->at);
        json_text(&json, "how", row->how);
        json_text(&json, "words", *row->words ? row->words : NULL);
        g_ptr_array_add(objects, json_take(&json));
    }
    return objects;
}

static GPtrArray *car_objects(const GArray *cars)
{
    GPtrArray *objects = json_list();
    for (guint i = 0; i < cars->len; i++) {
        const struct bl_car_row *row = &g_array_index(cars, struct bl_car_row, i);
        struct json json;
        json_begin(&json);
        json_whole(&json, "car", row->id);
        json_text(&json, "plate", row->plate);
        json_text(&json, "name", row->name);
        json_yes(&json, "gone", row->gone_at != BL_NEVER);
        g_ptr_array_add(objects, json_take(&json));
    }
    return objects;
}

static void print_json(const struct context *context, const struct shown *shown)
{
    const struct bl_customer *facts = &shown->look.facts.customer;
    g_autoptr(GPtrArray) consents = consent_objects(context, shown->consents);
    g_autoptr(GPtrArray) cars = car_objects(shown->cars);
    g_autoptr(GPtrArray) waiting = messages_objects(context, shown->waiting);
    g_autoptr(GPtrArray) gone = messages_objects(context, shown->gone);
    const char *address = NULL;
    enum bl_channel channel = bl_facts_route(&shown->look.facts, &address);
    struct json json;
    json_begin(&json);
    json_whole(&json, "customer", shown->row.id);
    json_text(&json, "name", shown->row.name);
    json_text(&json, "phone", shown->row.phone);
    json_text(&json, "mail", shown->row.mail);
    json_text(&json, "route", bl_channel_name(shown->row.route));
    json_text(&json, "goes_by", bl_channel_name(channel));
    json_text(&json, "goes_to", address);
    json_yes(&json, "silenced", bl_facts_silenced(&shown->look.facts));
    json_text(&json, "language", shown->row.language);
    json_text(&json, "wish", bl_wish_name(shown->row.wish));
    json_yes(&json, "service", facts->consent[BL_SERVICE]);
    json_yes(&json, "tips", facts->consent[BL_TIPS]);
    json_yes(&json, "offers", facts->consent[BL_OFFERS]);
    json_text(&json, "note", *shown->row.note ? shown->row.note : NULL);
    json_objects(&json, "consents", consents);
    json_objects(&json, "cars", cars);
    json_objects(&json, "waiting", waiting);
    json_objects(&json, "gone", gone);
    json_end(&json);
}

static void print_head(const struct context *context, const struct shown *shown)
{
    const struct bl_customer_row *row = &shown->row;
    const struct bl_facts *facts = &shown->look.facts;
    const bool *consent = facts->customer.consent;
    const char *address = NULL;
    enum bl_channel channel = bl_facts_route(facts, &address);
    g_autofree char *name = bl_text_printable(row->name);
    g_autofree char *since = say_day(context, row->added_at);
    g_autofree char *way = bl_facts_silenced(facts) ? g_strdup("silenced: nothing is sent")
                                                    : look_way(channel, address);
    printf("Customer #%" G_GINT64_FORMAT ": %s\n", row->id, name);
    report_line("Since", "%s", since);
    report_line("Phone", "%s%s", row->phone ? row->phone : "",
                facts->customer.phone_silenced ? " (silenced)" : "");
    report_line("Mail", "%s%s", row->mail ? row->mail : "",
                facts->customer.mail_silenced ? " (silenced)" : "");
    report_line("Messages go", "%s", way);
    report_line("Language", "%s", row->language ? row->language : "");
    report_line("Wish", "%s", bl_wish_name(row->wish));
    report_line("Agreed to", "%s%s%s", consent[BL_SERVICE] ? "service" : "nothing",
                consent[BL_TIPS] ? ", tips" : "", consent[BL_OFFERS] ? ", offers" : "");
    report_line("Note", "%s", row->note);
    for (guint i = 0; i < shown->places->len; i++) {
        const struct bl_place_row *place =
            &g_array_index(shown->places, struct bl_place_row, i);
        report_line("Place", "%s%s%s%s%s", place->name, *place->address ? ", " : "",
                    place->address, *place->note ? ": " : "", place->note);
    }
}

static void print_consents(const struct context *context, const GArray *consents)
{
    static const char *const titles[] = {"=consent", "=answer", "=when", "how", "~words", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < consents->len; i++) {
        const struct bl_consent_row *row = &g_array_index(consents, struct bl_consent_row, i);
        g_autofree char *at = say_at(context, row->at);
        const char *const cells[] = {bl_class_name(row->class), row->given ? "yes" : "no", at,
                                     row->how, row->words};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_print(table, 2);
    }
}

static void print_cars(const struct context *context, const struct shown *shown)
{
    static const char *const titles[] = {"=plate",     "name",        ">mileage",
                                         "=wash from", "=gone since", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < shown->cars->len; i++) {
        const struct bl_car_row *row = &g_array_index(shown->cars, struct bl_car_row, i);
        const struct bl_car *car = look_car(&shown->look, row->id);
        const GArray *readings = car ? car->readings : NULL;
        g_autofree char *km =
            readings && readings->len
                ? say_distance(context,
                               g_array_index(readings, struct bl_reading, readings->len - 1).km)
                : g_strdup("");
        g_autofree char *wash =
            say_date(context, car ? bl_cure_wash_date(car, &context->world->settings->shop,
                                                      context->now, NULL)
                                  : BL_NO_DATE);
        g_autofree char *gone = say_day(context, row->gone_at);
        const char *const cells[] = {row->plate, row->name, km, wash, gone};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("Cars");
        table_print(table, 2);
    }
}

static void print_messages(const struct context *context, const char *heading,
                           const GArray *rows, enum messages_time time)
{
    if (rows->len > 0) {
        putchar('\n');
        table_heading(heading);
        messages_print(context, rows, time, 2);
    }
}

bool show_customer(struct context *context, int64_t id, GError **error)
{
    struct shown shown = {0};
    bool done = read_all(context, id, &shown, error);
    if (done && context->json) {
        print_json(context, &shown);
    } else if (done) {
        print_head(context, &shown);
        print_consents(context, shown.consents);
        print_cars(context, &shown);
        print_messages(context, "Next messages", shown.waiting, MESSAGES_GOING);
        print_messages(context, "Went before", shown.gone, MESSAGES_GONE);
    }
    clear(&shown);
    return done;
}
