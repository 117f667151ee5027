/*
 * Facts as text. Doubles are printed to the last bit, so equal texts are equal facts.
 */
#include "facts_text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#define ID G_GINT64_FORMAT

static const char *or_none(const char *text)
{
    return text ? text : "(none)";
}

static void add_car(GString *out, const struct bl_car *car)
{
    g_autofree char *exposures = g_strjoinv(",", car->exposures);
    g_string_append_printf(out, "car %" ID " %s %s %a since %" ID " gone %" ID " [%s]%s\n",
                           car->id, car->plate, or_none(car->name), car->km_a_year, car->since,
                           car->gone_at, exposures, car->offers_held ? " offers held" : "");
    for (guint i = 0; i < car->readings->len; i++) {
        const struct bl_reading *row = &g_array_index(car->readings, struct bl_reading, i);
        g_string_append_printf(out, " mileage %" ID " %" ID " %a %d\n", row->id, row->at,
                               row->km, row->instrument);
    }
    for (guint i = 0; i < car->jobs->len; i++) {
        const struct bl_job *row = &g_array_index(car->jobs, struct bl_job, i);
        g_string_append_printf(out,
                               " job %" ID " %" ID " for %" ID
                               " %a %a wash %d indoors %d told %" ID " redo %" ID "\n",
                               row->id, row->at, row->customer, row->temp_c, row->humidity,
                               row->wash_from, row->cured_indoors, row->told_from,
                               row->redo_of);
    }
    for (guint i = 0; i < car->treatments->len; i++) {
        const struct bl_treatment *row =
            &g_array_index(car->treatments, struct bl_treatment, i);
        g_string_append_printf(
            out, " treatment %" ID " job %" ID " rule %" ID " %s %s [%s] x%d %" ID " %d\n",
            row->id, row->job, row->rule_id, row->rule->product, bl_surface_name(row->surface),
            row->part, row->coats, row->last_coat_at, row->again);
    }
    for (guint i = 0; i < car->events->len; i++) {
        const struct bl_event *row = &g_array_index(car->events, struct bl_event, i);
        g_string_append_printf(out, " event %" ID " %" ID " %s %" ID " %d %s %s %d", row->id,
                               row->at, bl_happening_name(row->happening), row->treatment,
                               row->surface, or_none(row->part), or_none(row->with),
                               row->finding);
        if (row->hours > 0) {
            g_string_append_printf(out, " %a hours at %a", row->hours, row->temp_c);
        }
        g_string_append_c(out, '\n');
    }
}

char *facts_text(const struct bl_facts *facts)
{
    const struct bl_customer *who = &facts->customer;
    GString *out = g_string_new(NULL);
    g_string_append_printf(out, "customer %" ID " %s %s %s %s %s %s yes %d%d%d silent %d%d\n",
                           who->id, who->name, or_none(who->phone), or_none(who->mail),
                           or_none(who->language), bl_channel_name(who->route),
                           bl_wish_name(who->wish), who->consent[BL_SERVICE],
                           who->consent[BL_TIPS], who->consent[BL_OFFERS], who->phone_silenced,
                           who->mail_silenced);
    for (guint i = 0; i < facts->cars->len; i++) {
        add_car(out, &g_array_index(facts->cars, struct bl_car, i));
    }
    for (guint i = 0; i < facts->told->len; i++) {
        const struct bl_told *row = &g_array_index(facts->told, struct bl_told, i);
        g_string_append_printf(out, "told %" ID " %" ID " %s %s\n", row->message, row->at,
                               bl_kind_name(row->kind), bl_state_name(row->state));
    }
    for (guint i = 0; i < facts->ended->len; i++) {
        const struct bl_ended *row = &g_array_index(facts->ended, struct bl_ended, i);
        g_string_append_printf(out, "ended %s %" ID " %d %" ID " %" ID "\n",
                               bl_kind_name(row->kind), row->subject, row->ordinal, row->early,
                               row->at);
    }
    for (guint i = 0; i < facts->skipped->len; i++) {
        g_string_append_printf(out, "skipped %s\n",
                               (const char *)g_ptr_array_index(facts->skipped, i));
    }
    return g_string_free(out, FALSE);
}

static const struct bl_rule *known_rule(void *self, int64_t id)
{
    static const struct bl_rule wax = {.product = "wax"};
    (void)self;
    return id >= 1 && id <= 9 ? &wax : NULL;
}

const struct bl_rule_book facts_book = {known_rule, NULL};

void facts_read(struct books *books, int64_t customer, struct bl_facts *facts)
{
    GError *error = NULL;
    bl_facts_init(facts);
    books_well(bl_store_facts(books->store, customer, &facts_book, facts, &error), error);
}

const char *const facts_plain[] = {
    "INSERT INTO customer (id, name, phone, mail, language, route, wish, added_at) VALUES (1,"
    " 'Ada Example', '+447700900123', 'ada@example.com', 'en', 'mail', 'seldom', 1700000000)",
    "INSERT INTO customer (id, name, phone, added_at)"
    " VALUES (2, 'Bo Example', '+447700900124', 1700000000)",
    "INSERT INTO consent (id, customer, class, given, at, how)"
    " VALUES (1, 1, 'offers', 1, 1700000000, 'in person')",
    "INSERT INTO consent (id, customer, class, given, at, how)"
    " VALUES (2, 1, 'tips', 1, 1700000000, 'in person')",
    "INSERT INTO rule_version (id, product, text, stored_at) VALUES (1, 'wax', 'a', 1)",
    "INSERT INTO rule_version (id, product, text, stored_at) VALUES (2, 'coating', 'b', 1)",
    "INSERT INTO car (id, customer, plate, plate_key, name, km_a_year, exposures, added_at)"
    " VALUES (1, 1, 'AB12 CDE', 'AB12CDE', 'blue estate', 19400.5,"
    " 'stored outdoors' || char(10) || 'brush wash', 1750000000)",
    "INSERT INTO car (id, customer, plate, plate_key, added_at)"
    " VALUES (2, 1, 'XY99 ZZZ', 'XY99ZZZ', 1700000000)",
    "INSERT INTO mileage (id, car, at, km) VALUES (1, 1, 1780315200, 41000)",
    "INSERT INTO mileage (id, car, at, km) VALUES (2, 1, 1782907200, 43000)",
    "INSERT INTO mileage (id, car, at, km) VALUES (4, 1, 1770000000, 40000)",
    "INSERT INTO mileage (id, car, at, km) VALUES (3, 2, 1780315200, 7)",
    "INSERT INTO job (id, car, customer, finished_at, temp_c, humidity, entered_at)"
    " VALUES (1, 1, 2, 1740000000, 12.5, 60, 1740000060)",
    "INSERT INTO job (id, car, customer, finished_at, wash_from, cured_indoors, redo_of,"
    " entered_at) VALUES (2, 1, 1, 1780315200, 20620, 1, 1, 1780315260)",
    "INSERT INTO job (id, car, customer, finished_at, entered_at)"
    " VALUES (3, 1, 1, 1735000000, 1780315260)",
    "INSERT INTO treatment (id, job, rule, surface, last_coat_at)"
    " VALUES (1, 1, 1, 'paint', 1739990000)",
    "INSERT INTO treatment (id, job, rule, surface, part, coats, last_coat_at, again)"
    " VALUES (2, 1, 2, 'wheels', 'front', 2, 1740000000, 'next booking')",
    "INSERT INTO treatment (id, job, rule, surface, last_coat_at)"
    " VALUES (3, 2, 1, 'soft top', 1780315200)",
    "INSERT INTO event (id, car, at, happening, treatment) VALUES (1, 1, 1743000000, 'care', 1)",
    "INSERT INTO event (id, car, at, happening, surface, part, \"with\")"
    " VALUES (2, 1, 1742000000, 'stripped', 'wheels', 'front', 'wheel cleaner')",
    NULL,
};
