/* Plain facts made by hand, for tests of letters. */
#include "driveway.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "beadline/civil.h"

void driveway_open(struct driveway *driveway)
{
    memset(driveway, 0, sizeof *driveway);
    struct bl_shop *shop = &driveway->shop;
    shop->name = g_strdup("Bright Panel");
    shop->owner = g_strdup("Sam Sample");
    shop->phone = g_strdup("+447700900100");
    shop->mail = g_strdup("sam@shop.example");
    shop->address = g_strdup("1 Example Yard, Sampleton");
    shop->language = g_strdup("en");
    shop->zone = bl_zone_new("Europe/London", NULL);
    shop->closed = g_array_new(FALSE, TRUE, sizeof(struct bl_closed));
    for (int day = 1; day <= 6; day++) {
        shop->hours.open[day] = 9 * 3600;
        shop->hours.close[day] = 19 * 3600;
    }
    shop->km_a_year = 12000;
    shop->lead_days = 21;
    shop->restraint = (struct bl_restraint){1, 42, 6};

    bl_facts_init(&driveway->facts);
    struct bl_customer *customer = &driveway->facts.customer;
    customer->id = 1;
    customer->name = g_strdup("Ada Example");
    customer->phone = g_strdup("+447700900123");
    customer->mail = g_strdup("ada@example.com");
    customer->route = BL_SMS;
    for (int i = 0; i < BL_CLASSES; i++) {
        customer->consent[i] = true;
    }
    driveway->rules = g_ptr_array_new();
}

void driveway_close(struct driveway *driveway)
{
    bl_facts_clear(&driveway->facts);
    for (guint i = 0; i < driveway->rules->len; i++) {
        bl_rule_free(g_ptr_array_index(driveway->rules, i));
    }
    g_ptr_array_unref(driveway->rules);
    bl_shop_clear(&driveway->shop);
}

int64_t driveway_at(const struct driveway *driveway, const char *local)
{
    int64_t at = 0;
    g_autoptr(GError) error = NULL;
    if (!bl_at_parse(driveway->shop.zone, local, 0, &at, &error)) {
        g_error("%s", error->message);
    }
    return at;
}

void driveway_title(struct bl_rule *rule, const char *language, const char *title)
{
    g_hash_table_replace(rule->titles, g_strdup(language), g_strdup(title));
}

struct bl_rule *driveway_rule(struct driveway *driveway, const char *title,
                              enum bl_surface surface, enum bl_role role)
{
    struct bl_rule *rule = g_new0(struct bl_rule, 1);
    rule->product = g_ascii_strdown(title, -1);
    rule->titles = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    driveway_title(rule, "en", title);
    rule->surface = surface;
    rule->role = role;
    rule->cure = (struct bl_cure){
        .rinse_days = NAN,
        .reference_c = 10,
        .ea_ev = 0.531,
        .stall_c = NAN,
        .apply_c = {NAN, NAN},
        .apply_rh = {NAN, NAN},
    };
    rule->wear = (struct bl_wear){
        .life_days = {NAN, NAN},
        .km_a_year = 12000,
        .limits = {0.6, 2.0},
        .max_km = INFINITY,
        .lead_days = NAN,
    };
    rule->care = (struct bl_care){.interval_days = NAN, .grace_days = NAN, .extends = 1};
    rule->exposures = g_array_new(FALSE, TRUE, sizeof(struct bl_exposure));
    rule->stripped_by = g_new0(char *, 1);
    rule->cautions = g_new0(char *, 1);
    rule->wash = g_new0(char *, 1);
    g_ptr_array_add(driveway->rules, rule);
    return rule;
}

char **driveway_words(const char *first, ...)
{
    g_autoptr(GStrvBuilder) words = g_strv_builder_new();
    va_list args;
    va_start(args, first);
    for (const char *word = first; word; word = va_arg(args, const char *)) {
        g_strv_builder_add(words, word);
    }
    va_end(args);
    return g_strv_builder_end(words);
}

int64_t driveway_car(struct driveway *driveway, const char *plate, const char *name)
{
    struct bl_car *car = bl_facts_add_car(&driveway->facts);
    car->id = driveway->facts.cars->len;
    car->plate = g_strdup(plate);
    car->name = g_strdup(name);
    car->km_a_year = NAN;
    car->gone_at = BL_NEVER;
    return car->id;
}

struct bl_car *driveway_find(struct driveway *driveway, int64_t car)
{
    return &g_array_index(driveway->facts.cars, struct bl_car, car - 1);
}

int64_t driveway_job(struct driveway *driveway, int64_t car, const char *finished)
{
    const struct bl_job job = {
        .id = 1000 * car + ++driveway->last_id,
        .at = driveway_at(driveway, finished),
        .customer = driveway->facts.customer.id,
        .temp_c = 12,
        .humidity = NAN,
        .wash_from = BL_NO_DATE,
        .told_from = driveway_at(driveway, finished),
    };
    g_array_append_val(driveway_find(driveway, car)->jobs, job);
    return job.id;
}

int64_t driveway_put(struct driveway *driveway, int64_t job, const struct bl_rule *rule)
{
    struct bl_car *car = driveway_find(driveway, job / 1000);
    int64_t at = 0;
    for (guint i = 0; i < car->jobs->len; i++) {
        const struct bl_job *made = &g_array_index(car->jobs, struct bl_job, i);
        at = made->id == job ? made->at : at;
    }
    const struct bl_treatment treatment = {
        .id = ++driveway->last_id,
        .job = job,
        .rule_id = 1,
        .rule = rule,
        .surface = rule->surface,
        .part = g_strdup(""),
        .coats = 1,
        .last_coat_at = at,
        .again = -1,
    };
    g_array_append_val(car->treatments, treatment);
    return treatment.id;
}
