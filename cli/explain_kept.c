/* What was kept of a due, and the same reckoned again. */
#include "explain_kept.h"

#include <math.h>
#include <stdio.h>

#include "dues.h"
#include "explain_wear.h"
#include "say.h"
#include "table.h"

#define SAME_S 1 /* instants are rounded to the second */
#define ANEW   "Reckoned anew from the facts as known now, so not always what it said"

static void free_rule(gpointer rule)
{
    bl_rule_free(rule);
}

void kept_rules_init(struct kept_rules *rules)
{
    rules->by_version = g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, free_rule);
}

void kept_rules_clear(struct kept_rules *rules)
{
    g_hash_table_destroy(rules->by_version);
}

static const struct bl_rule *rule_of(const struct kept_rules *rules, int64_t version)
{
    return g_hash_table_lookup(rules->by_version, &version);
}

static void read_rule(struct kept_rules *rules, struct context *context, int64_t version)
{
    g_autofree char *product = NULL;
    g_autofree char *text = NULL;
    g_autoptr(GError) error = NULL;
    if (version == 0 || rule_of(rules, version) ||
        !bl_rule_text(context->store, version, &product, &text, &error)) {
        return;
    }
    struct bl_rule *rule = bl_rule_read(text, &error);
    if (rule) {
        g_hash_table_insert(rules->by_version, g_memdup2(&version, sizeof version), rule);
    }
}

void kept_rules_put(struct kept_rules *rules, struct context *context,
                    struct explained *explained, const GArray *kept)
{
    for (guint i = 0; i < kept->len; i++) {
        const struct bl_due_row *row = &g_array_index(kept, struct bl_due_row, i);
        const struct bl_car *car = look_car(&explained->look, row->car);
        read_rule(rules, context, row->rule);
        for (guint t = 0; car && rule_of(rules, row->rule) && t < car->treatments->len; t++) {
            struct bl_treatment *one = &g_array_index(car->treatments, struct bl_treatment, t);
            if (one->id == row->treatment) {
                one->rule = rule_of(rules, row->rule);
                one->rule_id = row->rule;
            }
        }
    }
}

/* The treatment and its car as far as the facts still have them. */
static const struct bl_treatment *treatment_of(const struct explained *explained,
                                               const struct bl_due_row *row,
                                               const struct bl_car **car)
{
    *car = look_car(&explained->look, row->car);
    return *car ? explained_treatment(*car, row->treatment) : NULL;
}

/* Only what was kept: all else would be facts as known now, and not what was said. */
char *kept_plain(const struct explained *explained, const struct bl_due_row *row)
{
    struct dues_numbers numbers;
    dues_numbers(row, &numbers);
    if (numbers.late == BL_NEVER) {
        return NULL;
    }
    g_autofree char *early = say_full_day(explained->context, numbers.early);
    g_autofree char *likely = say_full_day(explained->context, numbers.likely);
    g_autofree char *late = say_full_day(explained->context, numbers.late);
    return g_strdup_printf("early %s, likely %s, late %s, as kept of it", early, likely, late);
}

/* Parts what was kept from what follows it. */
static void print_anew(void)
{
    putchar('\n');
    table_heading(ANEW);
}

static void print_window(const struct explained *explained, const struct bl_due_row *row)
{
    g_autofree char *from = say_moment(explained->context, row->from);
    g_autofree char *best_by = say_moment(explained->context, row->best_by);
    g_autofree char *not_after = say_moment(explained->context, row->not_after);
    explain_line("Kept", "from %s, best by %s, not after %s", from, best_by, not_after);
    if (row->held) {
        explain_line("", "held: %s", row->held);
    }
}

static void print_numbers(const struct explained *explained, const struct dues_numbers *numbers)
{
    g_autofree char *early = say_moment(explained->context, numbers->early);
    g_autofree char *likely = say_moment(explained->context, numbers->likely);
    g_autofree char *late = say_moment(explained->context, numbers->late);
    g_autofree char *daily = explain_fixed(explain_length(explained, numbers->km_a_day), 4);
    g_autofree char *speed = explain_fixed(numbers->speed, 5);
    explain_line("", "early %s, likely %s, late %s", early, likely, late);
    explain_line("", "%s %s a day, worn %s days a day on the mean up to likely%s", daily,
                 explain_unit(explained), speed,
                 numbers->by_distance ? "; its plain distance came first" : "");
}

/* What the sum needs and was not kept, in words; NULL when it is all there. */
static const char *missing(const struct bl_due_row *row, const struct kept_rules *rules,
                           const struct bl_treatment *treatment)
{
    if (row->rule == 0) {
        return "no rule version is kept with a message of this kind: it cannot be reckoned again";
    }
    if (!rule_of(rules, row->rule)) {
        return "the rule version it was reckoned by cannot be read any more";
    }
    return treatment ? NULL : "its treatment, or its car, is this customer's no more";
}

static bool is_same(int64_t kept, int64_t again)
{
    return kept == again ||
           (kept != BL_NEVER && again != BL_NEVER && ABS(kept - again) <= SAME_S);
}

static bool reckons_the_same(const struct dues_numbers *numbers, const struct bl_life *life)
{
    return is_same(numbers->early, life->early) && is_same(numbers->likely, life->likely) &&
           is_same(numbers->late, life->late) &&
           fabs(numbers->km_a_day - life->km_a_day) <= 1e-6 * fabs(life->km_a_day);
}

static void print_again(const struct explained *explained, const struct bl_due_row *row,
                        const struct kept_rules *rules)
{
    struct dues_numbers numbers;
    struct bl_life life;
    const struct bl_car *car;
    const struct bl_treatment *treatment = treatment_of(explained, row, &car);
    const char *lacks = missing(row, rules, treatment);
    dues_numbers(row, &numbers);
    if (lacks) {
        explain_line("Not kept", "%s", lacks);
        return;
    }
    bl_wear_life(car, treatment, explained->shop, explained->now, &life);
    explain_line("Rule", "version %" G_GINT64_FORMAT ", kept with it", row->rule);
    if (numbers.late == BL_NEVER) {
        explain_line("Not kept", "early, likely and late of the protection: below they are "
                                 "reckoned again by the facts of that day as known now");
    } else if (reckons_the_same(&numbers, &life)) {
        explain_line("Again", "reckoned again with the facts of that day: the same dates");
    } else {
        explain_line("Again",
                     "facts of that day were entered or mended since, so the sum below "
                     "is not the one it went by");
    }
    print_anew();
    explain_distance_print(explained, car);
    explain_wear_print(explained, car, treatment);
}

void kept_print(const struct explained *explained, const struct bl_due_row *row,
                const struct kept_rules *rules)
{
    struct dues_numbers numbers;
    const struct bl_car *car;
    const struct bl_treatment *treatment = treatment_of(explained, row, &car);
    g_autofree char *name = treatment ? explain_treatment_name(explained, treatment)
                                      : g_strdup_printf("job #%" G_GINT64_FORMAT, row->job);
    dues_numbers(row, &numbers);
    g_autofree char *kind = explain_kind_title(row->kind);
    printf("\n%s: %s\n", kind, name);
    print_window(explained, row);
    if (numbers.late != BL_NEVER) {
        print_numbers(explained, &numbers);
    }
    if (row->kind == BL_HANDOVER || row->kind == BL_WASH) {
        explain_line("Not kept",
                     "temperatures and rule versions of a cure: below it is reckoned "
                     "again by the catalogue and the facts of that day as known now");
        if (car) {
            print_anew();
            explain_cure_print(explained, car);
        }
    } else if (row->kind == BL_MILEAGE) {
        explain_line("Not kept", "the top-up it was asked for");
    } else {
        print_again(explained, row, rules);
    }
}

char *kept_object(const struct explained *explained, const struct bl_due_row *row,
                  const struct kept_rules *rules)
{
    const struct bl_zone *zone = explained->shop->zone;
    struct dues_numbers numbers;
    const struct bl_car *car;
    const struct bl_treatment *treatment = treatment_of(explained, row, &car);
    const char *lacks = missing(row, rules, treatment);
    g_autofree char *again = lacks ? NULL : explain_wear_object(explained, car, treatment);
    g_autofree char *distance = lacks ? NULL : explain_distance_object(explained, car);
    g_autofree char *cure = car && (row->kind == BL_HANDOVER || row->kind == BL_WASH)
                                ? explain_cure_object(explained, car)
                                : NULL;
    struct bl_life life = {0};
    struct json json;
    dues_numbers(row, &numbers);
    if (!lacks) {
        bl_wear_life(car, treatment, explained->shop, explained->now, &life);
    }
    json_begin(&json);
    json_text(&json, "kind", bl_kind_name(row->kind));
    json_whole(&json, "subject", row->subject);
    json_whole(&json, "ordinal", row->ordinal);
    json_whole(&json, "treatment", row->treatment);
    json_whole(&json, "rule_version", row->rule);
    json_at(&json, "from", zone, row->from);
    json_at(&json, "best_by", zone, row->best_by);
    json_at(&json, "not_after", zone, row->not_after);
    json_at(&json, "early", zone, numbers.early);
    json_at(&json, "likely", zone, numbers.likely);
    json_at(&json, "late", zone, numbers.late);
    json_number(&json, "km_a_day", numbers.km_a_day);
    json_number(&json, "speed", numbers.speed);
    json_yes(&json, "by_distance", numbers.by_distance);
    json_text(&json, "not_kept", lacks);
    json_yes(&json, "reckoned_again_the_same", !lacks && reckons_the_same(&numbers, &life));
    json_raw(&json, "reckoned_again", again ? again : "null");
    json_raw(&json, "distance", distance ? distance : "null");
    json_raw(&json, "cure", cure ? cure : "null");
    return json_take(&json);
}
