/* Finding one's way in a customer's facts and plan. */
#include "look.h"

#include <math.h>

#include "say.h"

bool look_make(struct context *context, int64_t customer, struct look *look, GError **error)
{
    *look = (struct look){0};
    bl_facts_init(&look->facts);
    return bl_pass_look(context->pass, customer, context->now, &look->facts, &look->plan,
                        error);
}

void look_clear(struct look *look)
{
    if (look->facts.cars) {
        bl_facts_clear(&look->facts);
    }
    bl_plan_free(look->plan);
    *look = (struct look){0};
}

const struct bl_car *look_car(const struct look *look, int64_t car)
{
    for (guint i = 0; i < look->facts.cars->len; i++) {
        const struct bl_car *one = &g_array_index(look->facts.cars, struct bl_car, i);
        if (one->id == car) {
            return one;
        }
    }
    return NULL;
}

const struct bl_job *look_job(const struct bl_car *car, int64_t job)
{
    for (guint i = 0; car && i < car->jobs->len; i++) {
        const struct bl_job *one = &g_array_index(car->jobs, struct bl_job, i);
        if (one->id == job) {
            return one;
        }
    }
    return NULL;
}

static bool carries(const struct bl_intent *intent, guint due)
{
    for (guint i = 0; i < intent->dues->len; i++) {
        if (g_array_index(intent->dues, guint, i) == due) {
            return true;
        }
    }
    return false;
}

const struct bl_intent *look_intent(const struct look *look, guint i)
{
    const GArray *intents = look->plan->intents;
    for (guint n = 0; n < intents->len; n++) {
        const struct bl_intent *intent = &g_array_index(intents, struct bl_intent, n);
        if (!intent->lapse && carries(intent, i)) {
            return intent;
        }
    }
    return NULL;
}

const char *look_lapse(const struct look *look, guint i)
{
    const GArray *intents = look->plan->intents;
    for (guint n = 0; n < intents->len; n++) {
        const struct bl_intent *intent = &g_array_index(intents, struct bl_intent, n);
        if (intent->lapse && carries(intent, i)) {
            return intent->lapse;
        }
    }
    return NULL;
}

double look_km_a_year(const struct context *context, const struct bl_car *car)
{
    double prior =
        isnan(car->km_a_year) ? context->world->settings->shop.km_a_year : car->km_a_year;
    return bl_forecast_km_a_day(car, prior) * BL_YEAR_DAYS;
}

const char *look_title(const struct context *context, const struct bl_treatment *treatment)
{
    return treatment->rule
               ? bl_rule_title(treatment->rule, context->world->settings->shop.language)
               : "a product no longer known";
}

char *look_way(enum bl_channel channel, const char *address)
{
    return address ? g_strdup_printf("%s to %s", bl_channel_name(channel), address)
                   : g_strdup(bl_channel_name(BL_BY_HAND));
}

char *look_place(enum bl_surface surface, const char *part)
{
    return part && *part ? g_strdup_printf("%s, %s", bl_surface_name(surface), part)
                         : g_strdup(bl_surface_name(surface));
}

char *look_off(const struct context *context, const struct bl_life *life)
{
    if (life->ended_at == BL_NEVER) {
        return NULL;
    }
    g_autofree char *day = say_day(context, life->ended_at);
    return g_strdup_printf("off since %s%s%s", day, life->ended_by ? ": " : "",
                           life->ended_by ? life->ended_by : "");
}

const char *look_again(const struct bl_treatment *treatment)
{
    static const char *const again[BL_AGAINS] = {
        [BL_AGAIN_SHOP] = "you, a booking",
        [BL_AGAIN_NEXT_BOOKING] = "you, next booking",
        [BL_AGAIN_CUSTOMER] = "the customer",
    };
    if (treatment->again >= 0) {
        return again[treatment->again];
    }
    return treatment->rule ? again[treatment->rule->again] : "";
}

double look_used(const struct bl_rule *rule, const struct bl_worn *worn)
{
    const struct bl_wear *wear = &rule->wear;
    double asked = (wear->life_days[0] + wear->life_days[1]) / 2;
    double by_wear = worn->wear[BL_LIKELY] / asked;
    double by_distance = wear->max_km > 0 ? worn->km / wear->max_km : 0;
    return isfinite(by_wear) ? fmax(by_wear, by_distance) : (double)NAN;
}
