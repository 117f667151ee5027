/*
 * Use: the scale protections wear on, as pieces in which nothing changes, from the last coat
 * on. Between readings and forecast on the one side and wear and care on the other.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

#define YEAR_MONTHS 12
#define ALL_MONTHS  ((1u << YEAR_MONTHS) - 1)
#define WINTER_SALT "winter salt"

struct wear_use wear_use_of(const struct bl_car *car, const struct bl_shop *shop)
{
    double prior = forecast_prior(car, shop);
    return (struct wear_use){car, shop, prior / BL_YEAR_DAYS, bl_forecast_km_a_day(car, prior)};
}

/* The first reading after the instant. */
static guint first_after(const GArray *readings, int64_t at)
{
    guint low = 0;
    guint high = readings->len;
    while (low < high) {
        guint middle = low + (high - low) / 2;
        if (g_array_index(readings, struct bl_reading, middle).at > at) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return low;
}

static bool in_season(const struct bl_shop *shop)
{
    return shop->salt_months != 0 && (shop->salt_months & ALL_MONTHS) != ALL_MONTHS;
}

void use_begin(struct use_walk *walk, const struct wear_use *use,
               const struct bl_treatment *treatment)
{
    const GArray *exposures = treatment->rule->exposures;
    const char *const *lived = (const char *const *)use->car->exposures;
    *walk =
        (struct use_walk){.use = use, .rule = treatment->rule, .at = treatment->last_coat_at};
    walk->reading = first_after(use->car->readings, walk->at);
    for (guint i = 0; lived && exposures && i < exposures->len; i++) {
        const char *name = g_array_index(exposures, struct bl_exposure, i).name;
        if (!g_strv_contains(lived, name)) {
            continue;
        }
        bool winter = in_season(use->shop) && g_str_equal(name, WINTER_SALT);
        *(winter ? &walk->in_winter : &walk->always) |= 1u << i;
    }
}

static bool is_salted(const struct bl_shop *shop, int month)
{
    return (shop->salt_months >> (month - 1)) & 1u;
}

/* Whether roads are salted at the instant, and when that changes. */
static bool salt_at(const struct bl_shop *shop, int64_t at, int64_t *until)
{
    int year = 0;
    int month = 0;
    int day = 0;
    int32_t date = bl_zone_date(shop->zone, at);
    bl_date_split(date, &year, &month, &day);
    bool salted = is_salted(shop, month);
    int32_t first = date - day + 1;
    for (int i = 0; i < YEAR_MONTHS && is_salted(shop, month) == salted; i++) {
        first = bl_date_add_months(first, 1);
        month = month % YEAR_MONTHS + 1;
    }
    *until = MAX(bl_zone_instant(shop->zone, first, 0), at + 1);
    return salted;
}

static void set_exposure(struct use_piece *piece, const struct use_walk *walk)
{
    piece->exposed = walk->always;
    piece->exposure = 1;
    if (walk->in_winter) {
        int64_t until;
        bool salted = salt_at(walk->use->shop, piece->from, &until);
        piece->exposed |= salted ? walk->in_winter : 0;
        piece->to = MIN(piece->to, until);
    }
    for (guint i = 0; piece->exposed >> i; i++) {
        if ((piece->exposed >> i) & 1u) {
            piece->exposure *=
                g_array_index(walk->rule->exposures, struct bl_exposure, i).factor;
        }
    }
}

/* km a day up to reading i: measured since the one before; the prior's before the first; what
 * is forecast where the two do not measure. */
static void set_distance(struct use_piece *piece, const struct wear_use *use, guint i)
{
    const GArray *readings = use->car->readings;
    piece->driven = BL_DRIVEN_FORECAST;
    piece->km_a_day = use->forecast;
    if (i == readings->len) {
        return;
    }
    const struct bl_reading *reading = &g_array_index(readings, struct bl_reading, i);
    piece->to = reading->at;
    if (i == 0) {
        piece->driven = BL_DRIVEN_PRIOR;
        piece->km_a_day = use->prior;
    } else if (forecast_stretch(reading - 1, reading, &piece->km_a_day)) {
        piece->driven = BL_DRIVEN_MEASURED;
    }
}

static void set_speed(struct use_piece *piece, const struct bl_wear *wear)
{
    double reference = wear->km_a_year / BL_YEAR_DAYS;
    double driven = reference > 0 ? piece->km_a_day / reference : 1;
    piece->raw = 1 - wear->share + wear->share * driven;
    piece->speed = fmin(fmax(piece->raw, wear->limits[0]), wear->limits[1]);
    piece->rate = piece->speed * piece->exposure;
}

struct use_piece use_next(struct use_walk *walk)
{
    const GArray *readings = walk->use->car->readings;
    struct use_piece piece = {.from = walk->at, .to = BL_NEVER};
    while (walk->reading < readings->len &&
           g_array_index(readings, struct bl_reading, walk->reading).at <= walk->at) {
        walk->reading++;
    }
    set_distance(&piece, walk->use, walk->reading);
    set_exposure(&piece, walk);
    set_speed(&piece, &walk->rule->wear);
    walk->at = piece.to;
    return piece;
}

static double days_between(int64_t from, int64_t to)
{
    return (double)(to - from) / (double)BL_DAY;
}

double use_until(const struct wear_use *use, const struct bl_treatment *treatment, int64_t at)
{
    struct use_walk walk;
    double used = 0;
    use_begin(&walk, use, treatment);
    while (walk.at < at) {
        struct use_piece piece = use_next(&walk);
        used += piece.rate * days_between(piece.from, MIN(piece.to, at));
    }
    return used;
}

int64_t use_reaches(const struct wear_use *use, const struct bl_treatment *treatment,
                    double days)
{
    struct use_walk walk;
    double used = 0;
    use_begin(&walk, use, treatment);
    for (;;) {
        struct use_piece piece = use_next(&walk);
        double missing = fmax(days - used, 0);
        double wanted = piece.rate > 0 ? missing / piece.rate : (double)INFINITY;
        double before = days_between(treatment->last_coat_at, piece.from);
        if (before + fmin(wanted, days_between(piece.from, piece.to)) > WEAR_LONGEST_DAYS) {
            return BL_NEVER;
        }
        if (wanted <= days_between(piece.from, piece.to)) {
            return piece.from + llround(wanted * (double)BL_DAY);
        }
        used += piece.rate * days_between(piece.from, piece.to);
    }
}
