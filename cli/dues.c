/* One due, as a row and as an object. */
#include "dues.h"

#include <math.h>
#include <string.h>

#include "beadline/letterbook.h"
#include "beadline/lookup.h"
#include "beadline/send.h"
#include "json.h"
#include "look.h"
#include "say.h"

const char *const dues_titles[] = {"car",        "about",  "=from", "=best by",
                                   "=not after", "~state", NULL};

static double number_at(const char *text, const char *name)
{
    g_autofree char *digits = text ? bl_json_path(text, strlen(text), name) : NULL;
    char *rest = NULL;
    double number = digits ? g_ascii_strtod(digits, &rest) : (double)NAN;
    return digits && rest != digits && *rest == '\0' ? number : (double)NAN;
}

static int64_t instant_at(const char *text, const char *name)
{
    double number = number_at(text, name);
    return isfinite(number) && fabs(number) < 1e15 ? (int64_t)number : BL_NEVER;
}

void dues_numbers(const struct bl_due_row *row, struct dues_numbers *numbers)
{
    g_autofree char *by =
        row->numbers ? bl_json_path(row->numbers, strlen(row->numbers), "by_distance") : NULL;
    *numbers = (struct dues_numbers){
        .early = instant_at(row->numbers, "early"),
        .likely = instant_at(row->numbers, "likely"),
        .late = instant_at(row->numbers, "late"),
        .km_a_day = number_at(row->numbers, "km_a_day"),
        .speed = number_at(row->numbers, "speed"),
        .by_distance = g_strcmp0(by, "true") == 0,
    };
}

/* What a due speaks of, read from the store. */
struct about {
    char *car;     /* "blue estate (AB12 CDE)" */
    char *product; /* key, or NULL */
    char *title;   /* the product's */
};

static void about_clear(struct about *about)
{
    g_free(about->car);
    g_free(about->product);
    g_free(about->title);
}

static bool find_product(struct context *context, const struct bl_due_row *row,
                         struct about *about, GError **error)
{
    g_autoptr(GArray) treatments =
        row->treatment ? bl_treatment_list(context->store, row->job, error) : NULL;
    for (guint i = 0; treatments && i < treatments->len; i++) {
        const struct bl_treatment_row *one =
            &g_array_index(treatments, struct bl_treatment_row, i);
        if (one->id == row->treatment && one->product) {
            const struct bl_rule *rule =
                bl_catalogue_rule(context->world->catalogue, one->product);
            about->product = g_strdup(one->product);
            about->title =
                g_strdup(rule ? bl_rule_title(rule, context->world->settings->shop.language)
                              : one->product);
        }
    }
    return treatments || !row->treatment;
}

static bool find_about(struct context *context, const struct bl_due_row *row,
                       struct about *about, GError **error)
{
    struct bl_car_row car = {0};
    *about = (struct about){0};
    if (row->car && !bl_car_get(context->store, row->car, &car, error)) {
        return false;
    }
    about->car = row->car ? say_car(car.name, car.plate) : g_strdup("");
    bl_car_row_clear(&car);
    if (find_product(context, row, about, error)) {
        return true;
    }
    about_clear(about);
    return false;
}

/* "open", "held: no consent for offers", "lapsed: ...". */
static char *state_of(const struct bl_due_row *row)
{
    if (row->end) {
        return row->reason ? g_strdup_printf("%s: %s", row->end, row->reason)
                           : g_strdup(row->end);
    }
    return row->held ? g_strdup_printf("held: %s", row->held) : g_strdup("open");
}

bool dues_row(struct context *context, const struct bl_due_row *row, struct table *table,
              GError **error)
{
    struct about about;
    if (!find_about(context, row, &about, error)) {
        return false;
    }
    g_autofree char *what =
        about.title ? g_strdup_printf("%s: %s", bl_kind_name(row->kind), about.title)
                    : g_strdup(bl_kind_name(row->kind));
    g_autofree char *from = say_day(context, row->from);
    g_autofree char *best_by = say_day(context, row->best_by);
    g_autofree char *not_after = say_day(context, row->not_after);
    g_autofree char *state = state_of(row);
    const char *const cells[] = {about.car, what, from, best_by, not_after, state};
    table_row(table, cells);
    about_clear(&about);
    return true;
}

char *dues_object(struct context *context, const struct bl_due_row *row, GError **error)
{
    const struct bl_zone *zone = context->world->settings->shop.zone;
    struct dues_numbers numbers;
    struct about about;
    struct json json;
    if (!find_about(context, row, &about, error)) {
        return NULL;
    }
    dues_numbers(row, &numbers);
    json_begin(&json);
    json_whole(&json, "due", row->id);
    json_text(&json, "kind", bl_kind_name(row->kind));
    json_whole(&json, "subject", row->subject);
    json_whole(&json, "ordinal", row->ordinal);
    json_whole(&json, "customer", row->customer);
    json_text(&json, "car", about.car);
    json_text(&json, "product", about.product);
    json_at(&json, "from", zone, row->from);
    json_at(&json, "best_by", zone, row->best_by);
    json_at(&json, "not_after", zone, row->not_after);
    json_at(&json, "early", zone, numbers.early);
    json_at(&json, "likely", zone, numbers.likely);
    json_at(&json, "late", zone, numbers.late);
    json_number(&json, "km_a_day", numbers.km_a_day);
    json_number(&json, "speed", numbers.speed);
    json_yes(&json, "by_distance", numbers.by_distance);
    json_text(&json, "held", row->held);
    json_text(&json, "end", row->end);
    json_text(&json, "reason", row->reason);
    json_at(&json, "ended_at", zone, row->ended_at);
    about_clear(&about);
    return json_take(&json);
}
