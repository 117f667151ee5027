/* The sum of a protection's wear as JSON: days and km, whatever the shop counts in. */
#include <math.h>

#include "explain_wear.h"

static char *of_ends(const double values[BL_ENDS])
{
    struct json json;
    json_begin(&json);
    for (guint end = 0; end < BL_ENDS; end++) {
        json_number(&json, explain_end_names[end], values[end]);
    }
    return json_take(&json);
}

static char *kept_of(const bool kept[BL_ENDS])
{
    struct json json;
    json_begin(&json);
    for (guint end = 0; end < BL_ENDS; end++) {
        json_yes(&json, explain_end_names[end], kept[end]);
    }
    return json_take(&json);
}

static void add_exposed(struct json *json, const struct bl_rule *rule, unsigned exposed)
{
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    for (guint i = 0; exposed >> i; i++) {
        if ((exposed >> i) & 1u) {
            g_ptr_array_add(names, g_array_index(rule->exposures, struct bl_exposure, i).name);
        }
    }
    g_ptr_array_add(names, NULL);
    json_texts(json, "exposed_to", (const char *const *)names->pdata);
}

static char *stretch_object(const struct explained *explained,
                            const struct bl_wear_story *story, const struct bl_rule *rule,
                            const struct bl_stretch *stretch)
{
    struct json json;
    g_autofree char *kept = kept_of(stretch->kept);
    g_autofree char *wear = of_ends(stretch->wear);
    g_autofree char *sum = of_ends(stretch->wear_sum);
    json_begin(&json);
    json_at(&json, "from", explained->shop->zone, stretch->from);
    json_at(&json, "to", explained->shop->zone, stretch->to);
    json_number(&json, "days", explain_days(stretch->from, stretch->to));
    json_text(&json, "driven", explain_driven(story, stretch->driven));
    json_number(&json, "km_a_day", stretch->km_a_day);
    json_number(&json, "free_speed", stretch->raw);
    json_number(&json, "speed", stretch->speed);
    json_text(&json, "limit",
              !explain_held(stretch)          ? NULL
              : stretch->raw < stretch->speed ? "least"
                                              : "most");
    add_exposed(&json, rule, stretch->exposed);
    json_number(&json, "exposure", stretch->exposure);
    json_number(&json, "use_days", stretch->use);
    json_number(&json, "use_sum_days", stretch->use_sum);
    json_raw(&json, "kept_up", kept);
    json_raw(&json, "wear_days", wear);
    json_raw(&json, "wear_sum_days", sum);
    json_number(&json, "km_sum", stretch->km_sum);
    return json_take(&json);
}

static void add_stretches(const struct explained *explained, const struct bl_wear_story *story,
                          const struct bl_rule *rule, struct json *json)
{
    g_autoptr(GPtrArray) objects = json_list();
    for (guint i = 0; i < story->stretches->len; i++) {
        g_ptr_array_add(objects,
                        stretch_object(explained, story, rule,
                                       &g_array_index(story->stretches, struct bl_stretch, i)));
    }
    json_objects(json, "stretches", objects);
}

static void add_ends(const struct explained *explained, const struct bl_wear_story *story,
                     int64_t since, struct json *json)
{
    g_autoptr(GPtrArray) objects = json_list();
    for (guint end = 0; end < BL_ENDS; end++) {
        int64_t at = explain_end_at(&story->life, end);
        struct json one;
        json_begin(&one);
        json_text(&one, "end", explain_end_names[end]);
        json_at(&one, "at", explained->shop->zone, at);
        json_number(&one, "after_days", at == BL_NEVER ? (double)NAN : explain_days(since, at));
        json_number(&one, "wear_to_reach_days", story->life_days[end]);
        json_yes(&one, "by_distance", story->by_distance[end]);
        g_ptr_array_add(objects, json_take(&one));
    }
    json_objects(json, "ends", objects);
}

static void add_exposures(const struct bl_rule *rule, struct json *json)
{
    g_autoptr(GPtrArray) objects = json_list();
    for (guint i = 0; rule->exposures && i < rule->exposures->len; i++) {
        const struct bl_exposure *exposure =
            &g_array_index(rule->exposures, struct bl_exposure, i);
        struct json one;
        json_begin(&one);
        json_text(&one, "name", exposure->name);
        json_number(&one, "factor", exposure->factor);
        g_ptr_array_add(objects, json_take(&one));
    }
    json_objects(json, "exposure_factors", objects);
}

static void add_cares(const struct explained *explained, const struct bl_wear_story *story,
                      const struct bl_care *care, struct json *json)
{
    g_autoptr(GPtrArray) objects = json_list();
    for (guint i = 0; i < story->cares->len; i++) {
        struct json one;
        json_begin(&one);
        json_at(&one, "at", explained->shop->zone, g_array_index(story->cares, int64_t, i));
        json_number(&one, "after_days", g_array_index(story->upkept, double, i));
        g_ptr_array_add(objects, json_take(&one));
    }
    json_text(json, "care", isfinite(care->interval_days) ? care->what : NULL);
    json_number(json, "care_interval_days", care->interval_days);
    json_number(json, "care_grace_days", care->grace_days);
    json_text(json, "care_counts", care->on_calendar ? "calendar" : "use");
    json_number(json, "extends", care->extends);
    json_objects(json, "cares", objects);
    json_yes(json, "habit", story->life.habit);
    json_at(json, "habit_lost_at", explained->shop->zone, story->life.habit_lost_at);
}

static void add_rule(const struct bl_treatment *treatment, struct json *json)
{
    const struct bl_rule *rule = treatment->rule;
    json_whole(json, "rule_version", treatment->rule_id);
    json_pair(json, "life_days", rule->wear.life_days);
    json_number(json, "share", rule->wear.share);
    json_number(json, "reference_km_a_year", rule->wear.km_a_year);
    json_pair(json, "limits", rule->wear.limits);
    json_number(json, "max_km", explain_most_km(rule));
    add_exposures(rule, json);
}

static void add_used(const struct explained *explained, const struct bl_car *car,
                     const struct bl_treatment *treatment, struct json *json)
{
    struct bl_worn worn;
    bl_wear_use_at(car, treatment, explained->shop, explained->now, explained->now, &worn);
    g_autofree char *wear = of_ends(worn.wear);
    json_at(json, "as_of", explained->shop->zone, explained->now);
    json_number(json, "use_days", worn.use);
    json_raw(json, "wear_days", wear);
    json_number(json, "km", worn.km);
    json_number(json, "used_share", look_used(treatment->rule, &worn));
}

char *explain_wear_object(const struct explained *explained, const struct bl_car *car,
                          const struct bl_treatment *treatment)
{
    struct bl_wear_story story;
    struct json json;
    g_autofree char *plain = explain_plain(explained, car, treatment);
    bl_wear_tell(car, treatment, explained->shop, explained->now, &story);
    json_begin(&json);
    json_whole(&json, "treatment", treatment->id);
    json_whole(&json, "job", treatment->job);
    json_text(&json, "plain", plain);
    json_text(&json, "product", treatment->rule ? treatment->rule->product : NULL);
    json_text(&json, "title", look_title(explained->context, treatment));
    json_text(&json, "surface", bl_surface_name(treatment->surface));
    json_text(&json, "part", *treatment->part ? treatment->part : NULL);
    json_at(&json, "last_coat_at", explained->shop->zone, treatment->last_coat_at);
    json_at(&json, "ended_at", explained->shop->zone, story.life.ended_at);
    json_text(&json, "ended_by", story.life.ended_by);
    if (treatment->rule) {
        add_rule(treatment, &json);
        add_cares(explained, &story, &treatment->rule->care, &json);
        json_number(&json, "forecast_km_a_day", story.life.km_a_day);
        json_number(&json, "mean_speed", story.life.speed);
        add_stretches(explained, &story, treatment->rule, &json);
        add_ends(explained, &story, treatment->last_coat_at, &json);
        add_used(explained, car, treatment, &json);
    }
    bl_wear_story_clear(&story);
    return json_take(&json);
}
