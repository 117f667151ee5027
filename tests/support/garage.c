/* Ordinary facts for tests of planning. */
#include "garage.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

static void make_shop(struct bl_shop *shop, const char *zone)
{
    g_autoptr(GError) error = NULL;
    *shop = (struct bl_shop){
        .name = g_strdup("Example Valeting"),
        .phone = g_strdup("+447700900001"),
        .language = g_strdup("en"),
        .closed = g_array_new(FALSE, TRUE, sizeof(struct bl_closed)),
        .km_a_year = 12000,
        .lead_days = 21,
        .restraint = {.messages_a_day = 1, .care_days = 42, .tips_offers_a_year = 6},
    };
    shop->zone = bl_zone_new(zone, &error);
    assert_null(error);
    for (int day = 1; day <= 6; day++) {
        shop->hours.open[day] = 9 * 3600;
        shop->hours.close[day] = 19 * 3600;
    }
}

void garage_init(struct garage *garage, const char *zone)
{
    bl_facts_init(&garage->facts);
    garage->facts.customer.id = 1;
    garage->facts.customer.name = g_strdup("Ada Example");
    garage->facts.customer.phone = g_strdup("+447700900123");
    garage->facts.customer.mail = g_strdup("ada@example.com");
    for (int class = 0; class < BL_CLASSES; class ++) {
        garage->facts.customer.consent[class] = true;
    }
    garage->rules = g_ptr_array_new_with_free_func((GDestroyNotify)bl_rule_free);
    make_shop(&garage->shop, zone);
}

void garage_clear(struct garage *garage)
{
    bl_facts_clear(&garage->facts);
    bl_shop_clear(&garage->shop);
    g_ptr_array_unref(garage->rules);
}

struct bl_rule *garage_rule(struct garage *garage, const char *product)
{
    struct bl_rule *rule = g_new0(struct bl_rule, 1);
    rule->product = g_strdup(product);
    rule->surface = BL_PAINT;
    rule->role = BL_BASE;
    rule->again = BL_AGAIN_SHOP;
    rule->cure = (struct bl_cure){
        .drive_h = 1,
        .dry_h = 24,
        .rinse_days = (double)NAN,
        .wash_days = {14, 21},
        .reference_c = 10,
        .ea_ev = 0.531,
        .longest_days = 31.5,
    };
    rule->wear = (struct bl_wear){
        .life_days = {700, 1100},
        .km_a_year = 12000,
        .limits = {0.6, 2.0},
        .max_km = (double)INFINITY,
        .lead_days = (double)NAN,
    };
    rule->care.interval_days = (double)NAN;
    rule->exposures = g_array_new(FALSE, TRUE, sizeof(struct bl_exposure));
    g_ptr_array_add(garage->rules, rule);
    return rule;
}

struct bl_car *garage_car(struct garage *garage, guint i)
{
    return &g_array_index(garage->facts.cars, struct bl_car, i);
}

struct bl_car *garage_add_car(struct garage *garage)
{
    struct bl_car *car = bl_facts_add_car(&garage->facts);
    car->id = garage->facts.cars->len;
    car->plate = g_strdup_printf("EX%02d AMP", (int)car->id);
    return car;
}

struct bl_job *garage_job(struct bl_car *car, int64_t id, int64_t at)
{
    struct bl_job job = {.id = id,
                         .at = at,
                         .customer = 1,
                         .temp_c = (double)NAN,
                         .humidity = (double)NAN,
                         .wash_from = BL_NO_DATE,
                         .told_from = at};
    g_array_append_val(car->jobs, job);
    return &g_array_index(car->jobs, struct bl_job, car->jobs->len - 1);
}

struct bl_treatment *garage_treat(struct bl_car *car, int64_t id, int64_t job,
                                  const struct bl_rule *rule, int64_t at)
{
    struct bl_treatment treatment = {.id = id,
                                     .job = job,
                                     .rule_id = 100 + id,
                                     .rule = rule,
                                     .surface = rule ? rule->surface : BL_PAINT,
                                     .part = g_strdup(""),
                                     .coats = 1,
                                     .last_coat_at = at,
                                     .again = -1};
    g_array_append_val(car->treatments, treatment);
    return &g_array_index(car->treatments, struct bl_treatment, car->treatments->len - 1);
}

void garage_read(struct bl_car *car, int64_t id, int64_t at, double km)
{
    struct bl_reading reading = {.id = id, .at = at, .km = km};
    g_array_append_val(car->readings, reading);
}

struct bl_event *garage_event(struct bl_car *car, int64_t id, int64_t at,
                              enum bl_happening happening, int surface)
{
    struct bl_event event = {
        .id = id, .at = at, .happening = happening, .surface = surface, .finding = -1};
    g_array_append_val(car->events, event);
    return &g_array_index(car->events, struct bl_event, car->events->len - 1);
}

void garage_told(struct garage *garage, int64_t at, enum bl_kind kind)
{
    struct bl_told told = {.message = at, .at = at, .kind = kind, .state = BL_SENT};
    g_array_append_val(garage->facts.told, told);
}

void garage_ended(struct garage *garage, enum bl_kind kind, int64_t subject, int ordinal)
{
    struct bl_ended ended = {kind, subject, ordinal, 0, 0};
    g_array_append_val(garage->facts.ended, ended);
}

int64_t garage_at(const struct garage *garage, const char *text)
{
    int64_t at = 0;
    g_autoptr(GError) error = NULL;
    bl_at_parse(garage->shop.zone, text, 0, &at, &error);
    assert_null(error);
    return at;
}

struct bl_plan *garage_plan(const struct garage *garage, int64_t now)
{
    return bl_plan_make(&garage->facts, &garage->shop, now);
}

const struct bl_intent *garage_intent(const struct bl_plan *plan, enum bl_kind kind,
                                      int64_t subject, int ordinal)
{
    const struct bl_due *due = bl_plan_due(plan, kind, subject, ordinal);
    for (guint i = 0; due && i < plan->intents->len; i++) {
        const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
        for (guint d = 0; d < intent->dues->len; d++) {
            guint index = g_array_index(intent->dues, guint, d);
            if (&g_array_index(plan->dues, struct bl_due, index) == due) {
                return intent;
            }
        }
    }
    return NULL;
}

static void print_intent(GString *text, const struct bl_plan *plan,
                         const struct bl_intent *intent)
{
    g_string_append_printf(text, "%s %s %s %ld..%ld at %ld %s:", bl_kind_name(intent->kind),
                           bl_channel_name(intent->channel), intent->address, intent->from,
                           intent->not_after, intent->send_at, intent->lapse);
    for (guint i = 0; i < intent->dues->len; i++) {
        const struct bl_due *due =
            &g_array_index(plan->dues, struct bl_due, g_array_index(intent->dues, guint, i));
        g_string_append_printf(text, " %ld/%d", due->subject, due->ordinal);
    }
    g_string_append_c(text, '\n');
}

char *garage_print_after(const struct bl_plan *plan, int64_t at)
{
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < plan->intents->len; i++) {
        const struct bl_intent *intent = &g_array_index(plan->intents, struct bl_intent, i);
        if (intent->send_at > at) {
            print_intent(text, plan, intent);
        }
    }
    return g_string_free(text, FALSE);
}

char *garage_print(const struct bl_plan *plan)
{
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < plan->dues->len; i++) {
        const struct bl_due *due = &g_array_index(plan->dues, struct bl_due, i);
        g_string_append_printf(
            text,
            "%s %ld/%d car %ld job %ld treatment %ld rule %ld %ld %ld %ld (%ld) %ld %ld "
            "%ld %.17g %.17g %s %d\n",
            bl_kind_name(due->kind), due->subject, due->ordinal, due->car, due->job,
            due->treatment, due->rule_id, due->from, due->best_by, due->not_after,
            due->extended_from, due->early, due->likely, due->late, due->km_a_day, due->speed,
            due->held, due->by_distance);
    }
    g_autofree char *intents = garage_print_after(plan, INT64_MIN);
    g_string_append(text, intents);
    for (guint i = 0; i < plan->skipped->len; i++) {
        g_string_append_printf(text, "skipped %s\n",
                               (char *)g_ptr_array_index(plan->skipped, i));
    }
    g_string_append_printf(text, "again at %ld\n", plan->replan_at);
    return g_string_free(text, FALSE);
}

uint32_t garage_seed(const char *test)
{
    const char *given = g_getenv("BL_SEED");
    uint32_t seed = given ? (uint32_t)strtoul(given, NULL, 10) : 20261125;
    printf("%s: seed %u (BL_SEED sets another)\n", test, seed);
    return seed;
}
