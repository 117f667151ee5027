/*
 * Planning for scripts that compare it with another implementation. Standard input is a
 * customer's facts, a fact a line: a word and then NAME=VALUE fields, all separated by tabs.
 * What a line leaves out has the value in brackets. AT is seconds since 1970, DATE 2026-11-25,
 * a list has commas between its words.
 *
 *   shop       zone [Europe/London] km_a_year [12000] lead_days [21] messages_a_day [1]
 *              care_days [42] tips_offers_a_year [6] climate (12 numbers) salt_months (1..12)
 *   hours      day (1 Monday..7) open close (seconds after midnight) [Mon-Sat 32400-68400]
 *   closed     first last (DATE)
 *   customer   id [1] phone mail route [sms] wish [normal] consent [service,tips,offers]
 *              silenced [0]
 *   rule       id product surface [paint] role [base] again [shop]
 *              drive_h dry_h rinse_days wash_lo wash_hi wiper_h reference_c [10] ea_ev [0.531]
 *              stall_c longest_days [1.5 wash_hi] cold warm dry damp (application range)
 *              life_lo life_hi share [0] km_a_year [12000] limit_lo [0.6] limit_hi [2]
 *              max_km lead_days interval_days grace_days [0] extends [1] on_calendar [0]
 *              by_customer [0] look_over_months [0] exposures (NAME:FACTOR,..) stripped_by
 *              (list)
 *   car        id km_a_year since gone_at offers_held [0] exposures (list)
 *              reading, job, treatment and event are of the last car:
 *   reading    id at km instrument [0]
 *   job        id at customer [1] temp_c humidity wash_from (DATE) cured_indoors [0]
 *              told_from [at]
 *   treatment  id job rule at (its last coat) surface, again [the rule's] part
 *   event      id at happening treatment surface part with temp_c hours
 *   told       at kind state [sent]
 *   ended      kind subject ordinal early at
 *
 * Three lines ask, and may be asked again and again; "reset" forgets all:
 *
 *   plan    at      due KIND SUBJECT ORDINAL CAR FROM BEST_BY NOT_AFTER EARLY LIKELY LATE HELD
 *                   intent KIND CHANNEL SEND_AT FROM NOT_AFTER LAPSE DUES
 *                          (KIND/SUBJECT/ORDINAL,..)
 *                   skipped TEXT
 *                   replan AT
 *   lives   at      life TREATMENT EARLY LIKELY LATE ENDED_AT SPEED KM_A_DAY CURE_END
 *   worn    at of   worn TREATMENT USE WEAR_EARLY WEAR_LIKELY WEAR_LATE KM at the instant `of`
 *
 * Answers have tabs between fields and end with a line "."; "-" is never, none or not given.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "beadline/civil.h"
#include "beadline/plan.h"

struct bench {
    struct bl_shop shop;
    struct bl_facts facts;
    GHashTable *rules; /* id as text -> struct bl_rule * */
    GHashTable *fields;
};

static const char *text(const struct bench *bench, const char *name)
{
    return g_hash_table_lookup(bench->fields, name);
}

static double number(const struct bench *bench, const char *name, double absent)
{
    const char *value = text(bench, name);
    return value ? g_ascii_strtod(value, NULL) : absent;
}

static int64_t whole(const struct bench *bench, const char *name, int64_t absent)
{
    const char *value = text(bench, name);
    return value ? g_ascii_strtoll(value, NULL, 10) : absent;
}

static int32_t day(const struct bench *bench, const char *name)
{
    int32_t date = BL_NO_DATE;
    const char *value = text(bench, name);
    if (value && !bl_date_parse(value, &date, NULL)) {
        g_error("\"%s\" is no date", value);
    }
    return date;
}

static char **list(const struct bench *bench, const char *name)
{
    const char *value = text(bench, name);
    return value && *value ? g_strsplit(value, ",", 0) : g_new0(char *, 1);
}

/* The index of the field's word in the family, or absent. */
static int word(const struct bench *bench, const char *name, const char *const *words,
                int absent)
{
    const char *value = text(bench, name);
    for (int i = 0; value && words[i]; i++) {
        if (g_str_equal(words[i], value)) {
            return i;
        }
    }
    if (value) {
        g_error("\"%s\" is no %s", value, name);
    }
    return absent;
}

static enum bl_kind kind(const struct bench *bench)
{
    enum bl_kind found = BL_KINDS;
    if (!bl_kind_of(text(bench, "kind"), &found)) {
        g_error("that is no kind");
    }
    return found;
}

static void read_shop(struct bench *bench)
{
    struct bl_shop *shop = &bench->shop;
    const char *zone = text(bench, "zone");
    g_auto(GStrv) climate = list(bench, "climate");
    g_auto(GStrv) salted = list(bench, "salt_months");
    if (zone) {
        g_clear_pointer(&shop->zone, bl_zone_free);
        shop->zone = bl_zone_new(zone, NULL);
        g_assert(shop->zone);
    }
    shop->km_a_year = number(bench, "km_a_year", shop->km_a_year);
    shop->lead_days = (int)whole(bench, "lead_days", shop->lead_days);
    shop->restraint = (struct bl_restraint){(int)whole(bench, "messages_a_day", 1),
                                            (int)whole(bench, "care_days", 42),
                                            (int)whole(bench, "tips_offers_a_year", 6)};
    shop->has_climate = g_strv_length(climate) == 12;
    for (int i = 0; shop->has_climate && i < 12; i++) {
        shop->climate_c[i] = g_ascii_strtod(climate[i], NULL);
    }
    shop->salt_months = 0;
    for (guint i = 0; salted[i]; i++) {
        shop->salt_months |= 1u << (g_ascii_strtoll(salted[i], NULL, 10) - 1);
    }
}

static void read_hours(struct bench *bench)
{
    int64_t weekday = whole(bench, "day", 1);
    g_assert(weekday >= 1 && weekday <= 7);
    bench->shop.hours.open[weekday] = (int32_t)whole(bench, "open", 0);
    bench->shop.hours.close[weekday] = (int32_t)whole(bench, "close", 0);
}

static void read_closed(struct bench *bench)
{
    struct bl_closed closed = {day(bench, "first"), day(bench, "last")};
    g_array_append_val(bench->shop.closed, closed);
}

static void read_customer(struct bench *bench)
{
    static const char *const routes[] = {"sms", "mail", "by hand", NULL};
    struct bl_customer *customer = &bench->facts.customer;
    g_auto(GStrv) consent = list(bench, "consent");
    customer->id = whole(bench, "id", 1);
    g_free(customer->phone);
    g_free(customer->mail);
    customer->phone = g_strdup(text(bench, "phone"));
    customer->mail = g_strdup(text(bench, "mail"));
    customer->route = (enum bl_channel)word(bench, "route", routes, BL_SMS);
    customer->wish = (enum bl_wish)word(bench, "wish", bl_wish_words(), BL_WISH_NORMAL);
    customer->phone_silenced = customer->mail_silenced = whole(bench, "silenced", 0) != 0;
    for (int class = 0; text(bench, "consent") && class < BL_CLASSES; class ++) {
        customer->consent[class] =
            g_strv_contains((const char *const *)consent, bl_class_name((enum bl_class) class));
    }
}

static GArray *exposures(const struct bench *bench)
{
    GArray *all = g_array_new(FALSE, TRUE, sizeof(struct bl_exposure));
    g_auto(GStrv) pairs = list(bench, "exposures");
    for (guint i = 0; pairs[i]; i++) {
        g_auto(GStrv) pair = g_strsplit(pairs[i], ":", 2);
        struct bl_exposure exposure = {g_strdup(pair[0]), g_ascii_strtod(pair[1], NULL)};
        g_array_append_val(all, exposure);
    }
    return all;
}

static void read_cure(const struct bench *bench, struct bl_cure *cure)
{
    const double none = (double)NAN;
    *cure = (struct bl_cure){
        .drive_h = number(bench, "drive_h", 0),
        .dry_h = number(bench, "dry_h", 0),
        .rinse_days = number(bench, "rinse_days", none),
        .wash_days = {number(bench, "wash_lo", 0), number(bench, "wash_hi", 0)},
        .wiper_h = number(bench, "wiper_h", 0),
        .reference_c = number(bench, "reference_c", 10),
        .ea_ev = number(bench, "ea_ev", 0.531),
        .stall_c = number(bench, "stall_c", none),
        .apply_c = {number(bench, "cold", none), number(bench, "warm", none)},
        .apply_rh = {number(bench, "dry", none), number(bench, "damp", none)},
    };
    cure->longest_days = number(bench, "longest_days", 1.5 * cure->wash_days[1]);
}

static void read_rule(struct bench *bench)
{
    const double none = (double)NAN;
    struct bl_rule *rule = g_new0(struct bl_rule, 1);
    rule->product = g_strdup(text(bench, "product") ? text(bench, "product") : "product");
    rule->surface = (enum bl_surface)word(bench, "surface", bl_surface_words(), BL_PAINT);
    rule->role = (enum bl_role)word(bench, "role", bl_role_words(), BL_BASE);
    rule->again = (enum bl_again)word(bench, "again", bl_again_words(), BL_AGAIN_SHOP);
    read_cure(bench, &rule->cure);
    rule->wear = (struct bl_wear){
        .life_days = {number(bench, "life_lo", none), number(bench, "life_hi", none)},
        .share = number(bench, "share", 0),
        .km_a_year = number(bench, "km_a_year", 12000),
        .limits = {number(bench, "limit_lo", 0.6), number(bench, "limit_hi", 2)},
        .max_km = number(bench, "max_km", (double)INFINITY),
        .lead_days = number(bench, "lead_days", none),
    };
    rule->care = (struct bl_care){
        .interval_days = number(bench, "interval_days", none),
        .grace_days = number(bench, "grace_days", 0),
        .extends = number(bench, "extends", 1),
        .on_calendar = whole(bench, "on_calendar", 0) != 0,
        .by_customer = whole(bench, "by_customer", 0) != 0,
        .what = g_strdup("topper"),
    };
    rule->look_over_months = (int)whole(bench, "look_over_months", 0);
    rule->exposures = exposures(bench);
    rule->stripped_by = list(bench, "stripped_by");
    g_hash_table_replace(bench->rules, g_strdup(text(bench, "id")), rule);
}

static void read_car(struct bench *bench)
{
    struct bl_car *car = bl_facts_add_car(&bench->facts);
    car->id = whole(bench, "id", 1);
    car->plate = g_strdup("EX26 AMP");
    car->km_a_year = number(bench, "km_a_year", (double)NAN);
    car->since = whole(bench, "since", 0);
    car->gone_at = whole(bench, "gone_at", BL_NEVER);
    car->offers_held = whole(bench, "offers_held", 0) != 0;
    g_strfreev(car->exposures);
    car->exposures = list(bench, "exposures");
}

static struct bl_car *last_car(struct bench *bench)
{
    g_assert(bench->facts.cars->len > 0);
    return &g_array_index(bench->facts.cars, struct bl_car, bench->facts.cars->len - 1);
}

static void read_reading(struct bench *bench)
{
    struct bl_reading reading = {whole(bench, "id", 1), whole(bench, "at", 0),
                                 number(bench, "km", 0), (int)whole(bench, "instrument", 0)};
    g_array_append_val(last_car(bench)->readings, reading);
}

static void read_job(struct bench *bench)
{
    struct bl_job job = {.id = whole(bench, "id", 1), .at = whole(bench, "at", 0)};
    job.customer = whole(bench, "customer", 1);
    job.temp_c = number(bench, "temp_c", (double)NAN);
    job.humidity = number(bench, "humidity", (double)NAN);
    job.wash_from = day(bench, "wash_from");
    job.cured_indoors = whole(bench, "cured_indoors", 0) != 0;
    job.told_from = whole(bench, "told_from", job.at);
    g_array_append_val(last_car(bench)->jobs, job);
}

static void read_treatment(struct bench *bench)
{
    const struct bl_rule *rule = g_hash_table_lookup(bench->rules, text(bench, "rule"));
    const char *part = text(bench, "part");
    g_assert(rule);
    struct bl_treatment treatment = {
        .id = whole(bench, "id", 1),
        .job = whole(bench, "job", 1),
        .rule_id = whole(bench, "rule", 1),
        .rule = rule,
        .surface =
            (enum bl_surface)word(bench, "surface", bl_surface_words(), (int)rule->surface),
        .part = g_strdup(part ? part : ""),
        .coats = 1,
        .last_coat_at = whole(bench, "at", 0),
        .again = word(bench, "again", bl_again_words(), -1),
    };
    g_array_append_val(last_car(bench)->treatments, treatment);
}

static void read_event(struct bench *bench)
{
    struct bl_event event = {
        .id = whole(bench, "id", 1),
        .at = whole(bench, "at", 0),
        .happening = (enum bl_happening)word(bench, "happening", bl_happening_words(), 0),
        .treatment = whole(bench, "treatment", 0),
        .surface = word(bench, "surface", bl_surface_words(), -1),
        .part = g_strdup(text(bench, "part")),
        .with = g_strdup(text(bench, "with")),
        .temp_c = number(bench, "temp_c", (double)NAN),
        .hours = number(bench, "hours", 0),
    };
    g_array_append_val(last_car(bench)->events, event);
}

static void read_told(struct bench *bench)
{
    struct bl_told told = {.at = whole(bench, "at", 0), .kind = kind(bench), .state = BL_SENT};
    if (text(bench, "state") && !bl_state_of(text(bench, "state"), &told.state)) {
        g_error("that is no state");
    }
    g_array_append_val(bench->facts.told, told);
}

static void read_ended(struct bench *bench)
{
    struct bl_ended ended = {kind(bench), whole(bench, "subject", 0),
                             (int)whole(bench, "ordinal", 0), whole(bench, "early", 0),
                             whole(bench, "at", 0)};
    g_array_append_val(bench->facts.ended, ended);
}

static void say_at(int64_t at)
{
    if (at == BL_NEVER) {
        fputs("\t-", stdout);
    } else {
        printf("\t%" PRId64, at);
    }
}

static void say_due(const struct bl_due *due)
{
    printf("due\t%s\t%" PRId64 "\t%d\t%" PRId64, bl_kind_name(due->kind), due->subject,
           due->ordinal, due->car);
    say_at(due->from);
    say_at(due->best_by);
    say_at(due->not_after);
    say_at(due->early);
    say_at(due->likely);
    say_at(due->late);
    printf("\t%s\n", due->held ? due->held : "-");
}

static void say_intent(const struct bl_plan *plan, const struct bl_intent *intent)
{
    printf("intent\t%s\t%s", bl_kind_name(intent->kind), bl_channel_name(intent->channel));
    say_at(intent->send_at);
    say_at(intent->from);
    say_at(intent->not_after);
    printf("\t%s\t", intent->lapse ? intent->lapse : "-");
    for (guint i = 0; i < intent->dues->len; i++) {
        guint index = g_array_index(intent->dues, guint, i);
        const struct bl_due *due = &g_array_index(plan->dues, struct bl_due, index);
        printf("%s%s/%" PRId64 "/%d", i ? "," : "", bl_kind_name(due->kind), due->subject,
               due->ordinal);
    }
    putchar('\n');
}

static void answer_plan(struct bench *bench)
{
    BL_AUTO(bl_plan) *plan = bl_plan_make(&bench->facts, &bench->shop, whole(bench, "at", 0));
    for (guint i = 0; i < plan->dues->len; i++) {
        say_due(&g_array_index(plan->dues, struct bl_due, i));
    }
    for (guint i = 0; i < plan->intents->len; i++) {
        say_intent(plan, &g_array_index(plan->intents, struct bl_intent, i));
    }
    for (guint i = 0; i < plan->skipped->len; i++) {
        printf("skipped\t%s\n", (const char *)g_ptr_array_index(plan->skipped, i));
    }
    fputs("replan", stdout);
    say_at(plan->replan_at);
    fputs("\n.\n", stdout);
}

static void answer_lives(struct bench *bench)
{
    int64_t now = whole(bench, "at", 0);
    for (guint c = 0; c < bench->facts.cars->len; c++) {
        const struct bl_car *car = &g_array_index(bench->facts.cars, struct bl_car, c);
        for (guint i = 0; i < car->treatments->len; i++) {
            const struct bl_treatment *treatment =
                &g_array_index(car->treatments, struct bl_treatment, i);
            struct bl_life life;
            struct bl_cure_story cure;
            bl_wear_life(car, treatment, &bench->shop, now, &life);
            bl_cure_tell(car, treatment, &bench->shop, now, &cure);
            printf("life\t%" PRId64, treatment->id);
            say_at(life.early);
            say_at(life.likely);
            say_at(life.late);
            say_at(life.ended_at);
            printf("\t%.17g\t%.17g", life.speed, life.km_a_day);
            say_at(cure.end);
            putchar('\n');
            bl_cure_story_clear(&cure);
        }
    }
    puts(".");
}

static void answer_worn(struct bench *bench)
{
    int64_t now = whole(bench, "at", 0);
    for (guint c = 0; c < bench->facts.cars->len; c++) {
        const struct bl_car *car = &g_array_index(bench->facts.cars, struct bl_car, c);
        for (guint i = 0; i < car->treatments->len; i++) {
            const struct bl_treatment *treatment =
                &g_array_index(car->treatments, struct bl_treatment, i);
            struct bl_worn worn;
            bl_wear_use_at(car, treatment, &bench->shop, now, whole(bench, "of", now), &worn);
            printf("worn\t%" PRId64 "\t%.17g\t%.17g\t%.17g\t%.17g\t%.17g\n", treatment->id,
                   worn.use, worn.wear[BL_EARLY], worn.wear[BL_LIKELY], worn.wear[BL_LATE],
                   worn.km);
        }
    }
    puts(".");
}

static void begin(struct bench *bench)
{
    bench->shop = (struct bl_shop){.phone = g_strdup("+447700900001"),
                                   .closed = g_array_new(FALSE, TRUE, sizeof(struct bl_closed)),
                                   .zone = bl_zone_new("Europe/London", NULL),
                                   .km_a_year = 12000,
                                   .lead_days = 21,
                                   .restraint = {1, 42, 6}};
    for (int weekday = 1; weekday <= 6; weekday++) {
        bench->shop.hours.open[weekday] = 9 * 3600;
        bench->shop.hours.close[weekday] = 19 * 3600;
    }
    bl_facts_init(&bench->facts);
    bench->facts.customer.id = 1;
    bench->facts.customer.phone = g_strdup("+447700900123");
    for (int class = 0; class < BL_CLASSES; class ++) {
        bench->facts.customer.consent[class] = true;
    }
    bench->rules =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, (GDestroyNotify)bl_rule_free);
}

static void end(struct bench *bench)
{
    bl_facts_clear(&bench->facts);
    bl_shop_clear(&bench->shop);
    g_hash_table_destroy(bench->rules);
}

static void reset(struct bench *bench)
{
    end(bench);
    begin(bench);
}

static const struct line {
    const char *name;
    void (*take)(struct bench *bench);
} lines[] = {
    {"shop", read_shop},           {"hours", read_hours},
    {"closed", read_closed},       {"customer", read_customer},
    {"rule", read_rule},           {"car", read_car},
    {"reading", read_reading},     {"job", read_job},
    {"treatment", read_treatment}, {"event", read_event},
    {"told", read_told},           {"ended", read_ended},
    {"plan", answer_plan},         {"lives", answer_lives},
    {"worn", answer_worn},         {"reset", reset},
};

static void take_line(struct bench *bench, char *typed)
{
    g_auto(GStrv) words = g_strsplit(g_strchomp(typed), "\t", 0);
    g_hash_table_remove_all(bench->fields);
    for (guint i = 1; words[0] && words[i]; i++) {
        char *sign = strchr(words[i], '=');
        if (!sign) {
            g_error("\"%s\" has no =", words[i]);
        }
        *sign = '\0';
        g_hash_table_replace(bench->fields, words[i], sign + 1);
    }
    for (guint i = 0; words[0] && *words[0]; i++) {
        if (i == G_N_ELEMENTS(lines)) {
            g_error("\"%s\" is no line", words[0]);
        }
        if (g_str_equal(lines[i].name, words[0])) {
            lines[i].take(bench);
            return;
        }
    }
}

int main(void)
{
    struct bench bench = {.fields = g_hash_table_new(g_str_hash, g_str_equal)};
    char *typed = NULL;
    size_t size = 0;
    begin(&bench);
    while (getline(&typed, &size, stdin) > 0) {
        take_line(&bench, typed);
        fflush(stdout);
    }
    free(typed);
    end(&bench);
    g_hash_table_destroy(bench.fields);
    return 0;
}
