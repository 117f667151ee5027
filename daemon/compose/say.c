/*
 * What a message says at this instant, found from the facts: only what is still true and still
 * ahead, for the cars it is about, in the reader's language.
 */
#include "said.h"

#include "advice.h"

#define HALF_HOUR_S 1800

/* What the finding of one message works with. */
struct saying {
    const struct bl_language *language;
    const struct bl_material *material;
    struct bl_said *said;
    struct bl_advice *advice;
};

static enum bl_date_form long_form(const struct saying *saying)
{
    return saying->material->channel == BL_SMS ? BL_DATE_BRIEF : BL_DATE_LONG;
}

static const struct bl_car *find_car(const struct bl_facts *facts, int64_t id)
{
    for (guint i = 0; i < facts->cars->len; i++) {
        const struct bl_car *car = &g_array_index(facts->cars, struct bl_car, i);
        if (car->id == id) {
            return car;
        }
    }
    return NULL;
}

static const struct bl_job *find_job(const struct bl_car *car, int64_t id)
{
    for (guint i = 0; i < car->jobs->len; i++) {
        const struct bl_job *job = &g_array_index(car->jobs, struct bl_job, i);
        if (job->id == id) {
            return job;
        }
    }
    return NULL;
}

static const struct bl_treatment *treatment_at(const struct bl_car *car, guint i)
{
    return &g_array_index(car->treatments, struct bl_treatment, i);
}

/* The car's part of what is said; several dues of one car share it. */
static struct bl_subject *subject_of(const struct saying *saying, const struct bl_car *car)
{
    for (guint i = 0; i < saying->said->cars->len; i++) {
        struct bl_subject *subject = g_ptr_array_index(saying->said->cars, i);
        if (subject->car == car) {
            return subject;
        }
    }
    struct bl_subject *subject = bl_said_add_car(saying->said);
    subject->car = car;
    subject->plate = car->plate;
    subject->named = car->name && *car->name;
    subject->name = subject->named ? car->name : car->plate;
    return subject;
}

static struct bl_piece *add_piece(const struct saying *saying, GPtrArray *pieces,
                                  const struct bl_treatment *treatment)
{
    struct bl_piece *piece = bl_piece_add(pieces);
    piece->title = g_strdup(bl_rule_title(treatment->rule, bl_language_name(saying->language)));
    piece->surface = g_strdup(
        bl_language_word(saying->language, "surfaces", bl_surface_name(treatment->surface)));
    piece->part = treatment->part && *treatment->part ? g_strdup(treatment->part) : NULL;
    piece->coats = treatment->coats;
    return piece;
}

/* An SMS names products only; said once is enough. */
static bool told_already(const struct saying *saying, const GPtrArray *pieces,
                         const struct bl_treatment *treatment)
{
    const char *title = bl_rule_title(treatment->rule, bl_language_name(saying->language));
    for (guint i = 0; saying->material->channel == BL_SMS && i < pieces->len; i++) {
        const struct bl_piece *piece = g_ptr_array_index(pieces, i);
        if (g_str_equal(piece->title, title)) {
            return true;
        }
    }
    return false;
}

static bool is_on(const struct saying *saying, const struct bl_car *car,
                  const struct bl_treatment *treatment)
{
    struct bl_life life = {0};
    bl_wear_life(car, treatment, saying->material->shop, saying->material->now, &life);
    return life.ended_at > saying->material->now;
}

/* Everything on the car has a say in how it is washed, not only what went on last. */
static void advise_wash(const struct saying *saying, const struct bl_car *car, int64_t job)
{
    for (guint i = 0; i < car->treatments->len; i++) {
        const struct bl_treatment *treatment = treatment_at(car, i);
        if (treatment->rule && (treatment->job == job || is_on(saying, car, treatment))) {
            bl_advice_wash(saying->advice, treatment);
        }
    }
}

/* A moment a customer may rely on: up to the next half hour, never earlier than the label says.
 * NULL when it is past or not given. */
static char *until(const struct saying *saying, int64_t at)
{
    const struct bl_zone *zone = saying->material->shop->zone;
    if (at == BL_NEVER || at <= saying->material->now) {
        return NULL;
    }
    int32_t over = bl_zone_seconds(zone, at) % HALF_HOUR_S;
    int64_t told = over ? at + HALF_HOUR_S - over : at;
    return bl_language_moment(saying->language, zone, told, long_form(saying));
}

/* The first day that begins at or after the instant. */
static int32_t whole_day(const struct bl_zone *zone, int64_t at)
{
    int32_t date = bl_zone_date(zone, at);
    return bl_zone_instant(zone, date, 0) < at ? date + 1 : date;
}

static int64_t later(int64_t a, int64_t b)
{
    if (a == BL_NEVER || b == BL_NEVER) {
        return MIN(a, b);
    }
    return MAX(a, b);
}

static void keep_latest(struct bl_cure_times *times, struct bl_cure_times more)
{
    times->drive = later(times->drive, more.drive);
    times->dry = later(times->dry, more.dry);
    times->rinse = later(times->rinse, more.rinse);
    times->wipers = later(times->wipers, more.wipers);
}

static void say_dates(const struct saying *saying, struct bl_subject *subject)
{
    const struct bl_cure_times *times = &subject->times;
    subject->parked = until(saying, times->drive);
    subject->dry = until(saying, times->dry);
    subject->wipers = until(saying, times->wipers);

    const struct bl_material *material = saying->material;
    int32_t wash = bl_cure_wash_date(subject->car, material->shop, material->now, NULL);
    if (wash != BL_NO_DATE) {
        subject->wash = bl_language_date(saying->language, wash, long_form(saying));
    }
    if (times->rinse == BL_NEVER || times->rinse <= material->now) {
        return;
    }
    int32_t rinse = whole_day(material->shop->zone, times->rinse);
    if (wash == BL_NO_DATE || rinse < wash) {
        subject->rinse = bl_language_date(saying->language, rinse, long_form(saying));
    }
}

static void say_handover(const struct saying *saying, const struct bl_car *car,
                         const struct bl_due *due)
{
    int64_t id = due->job ? due->job : due->subject;
    const struct bl_job *job = find_job(car, id);
    if (!job) {
        return;
    }
    struct bl_subject *subject = subject_of(saying, car);
    for (guint i = 0; i < car->treatments->len; i++) {
        const struct bl_treatment *treatment = treatment_at(car, i);
        if (treatment->job != id || !treatment->rule) {
            continue;
        }
        bl_advice_handed_over(saying->advice, treatment);
        subject->off_label = subject->off_label ||
                             bl_cure_outside(treatment->rule, job->temp_c, job->humidity, NULL);
        if (!told_already(saying, subject->went_on, treatment)) {
            add_piece(saying, subject->went_on, treatment);
        }
    }
    if (!subject->finished) {
        int32_t finished = bl_zone_date(saying->material->shop->zone, job->at);
        subject->finished = bl_language_date(saying->language, finished, long_form(saying));
    }
    subject->replaces = subject->replaces || due->ordinal > 0;
    keep_latest(&subject->times, bl_cure_job_times(car, job));
    advise_wash(saying, car, id);
}

static void say_wash(const struct saying *saying, const struct bl_car *car,
                     const struct bl_due *due)
{
    subject_of(saying, car);
    advise_wash(saying, car, due->job);
}

static const struct bl_treatment *find_treatment(const struct bl_car *car, int64_t id)
{
    for (guint i = 0; i < car->treatments->len; i++) {
        const struct bl_treatment *treatment = treatment_at(car, i);
        if (treatment->id == id) {
            return treatment;
        }
    }
    return NULL;
}

static char *when_it_ends(const struct saying *saying, const struct bl_due *due)
{
    const struct bl_material *material = saying->material;
    const struct bl_zone *zone = material->shop->zone;
    int64_t early = due->early == BL_NEVER ? due->from : due->early;
    int64_t late = due->late == BL_NEVER ? due->best_by : due->late;
    return bl_language_span(saying->language, bl_zone_date(zone, early),
                            bl_zone_date(zone, late), bl_zone_date(zone, material->now),
                            material->channel == BL_SMS ? BL_DATE_SHORT : BL_DATE_PLAIN);
}

static void say_top_up(const struct saying *saying, const struct bl_car *car,
                       const struct bl_due *due)
{
    const struct bl_treatment *treatment =
        find_treatment(car, due->treatment ? due->treatment : due->subject);
    if (!treatment || !treatment->rule) {
        return;
    }
    int again = treatment->again >= 0 ? treatment->again : (int)treatment->rule->again;
    struct bl_subject *subject = subject_of(saying, car);
    bool by_you = again == BL_AGAIN_CUSTOMER;
    struct bl_piece *piece =
        add_piece(saying, by_you ? subject->by_you : subject->by_us, treatment);
    piece->when = when_it_ends(saying, due);
    if (by_you) {
        piece->how = g_strdup(
            bl_language_word(saying->language, "renew", bl_surface_name(treatment->surface)));
        bl_advice_by_customer(saying->advice, treatment);
    }
}

static void say_wanting(const struct saying *saying, const struct bl_car *car,
                        const struct bl_due *due)
{
    const struct bl_treatment *treatment =
        find_treatment(car, due->treatment ? due->treatment : due->subject);
    if (!treatment || !treatment->rule) {
        return;
    }
    struct bl_subject *subject = subject_of(saying, car);
    if (due->kind == BL_CARE) {
        bl_advice_care(saying->advice, treatment);
    }
    if (!told_already(saying, subject->wants, treatment)) {
        add_piece(saying, subject->wants, treatment);
    }
}

static void say_mileage(const struct saying *saying, const struct bl_car *car,
                        const struct bl_due *due)
{
    (void)due;
    subject_of(saying, car);
}

static void (*const says[BL_KINDS])(const struct saying *saying, const struct bl_car *car,
                                    const struct bl_due *due) = {
    [BL_HANDOVER] = say_handover, [BL_WASH] = say_wash,     [BL_CARE] = say_wanting,
    [BL_MILEAGE] = say_mileage,   [BL_TOP_UP] = say_top_up, [BL_LOOK_OVER] = say_wanting,
};

struct bl_said *bl_say(const struct bl_language *language, const struct bl_material *material,
                       GError **error)
{
    const struct bl_facts *facts = material->facts;
    BL_AUTO(bl_said) *said = bl_said_new(material->shop, facts->customer.name);
    BL_AUTO(bl_advice) *advice = bl_advice_new();
    const struct saying saying = {language, material, said, advice};
    for (const struct bl_due *const *due = material->dues; *due; due++) {
        const struct bl_car *car = find_car(facts, (*due)->car);
        if (car && (*due)->kind == material->kind && says[material->kind]) {
            says[material->kind](&saying, car, *due);
        } else if (car && (*due)->kind == BL_MILEAGE) {
            said->asking = true;
        }
    }
    for (guint i = 0; material->kind == BL_HANDOVER && i < said->cars->len; i++) {
        say_dates(&saying, g_ptr_array_index(said->cars, i));
    }
    if (said->cars->len == 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "nothing of this \"%s\" message is true any more: it is not sent",
                    bl_kind_name(material->kind));
        return NULL;
    }
    bl_advice_tell(advice, language, material->kind, material->channel, said);
    return g_steal_pointer(&said);
}
