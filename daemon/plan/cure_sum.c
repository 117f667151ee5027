/*
 * The sum of one cure: civil days of its temperature, each gathering what Arrhenius says, until
 * the label's time is full. Between the label and the one date of a car.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

#define MONTHS 12

double bl_cure_speed(double temp_c, double reference_c, double ea_ev)
{
    double at = 1 / (temp_c + BL_ZERO_C_K);
    double reference = 1 / (reference_c + BL_ZERO_C_K);
    return exp(ea_ev / BL_BOLTZMANN_EV * (reference - at));
}

/* month: 0 January, -1 the December before, 12 the January after. */
static int length_of(int month, int year)
{
    static const int days[MONTHS] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[(month + MONTHS) % MONTHS] + (month == 1 && leap);
}

/* Days count from the month's beginning: this noon, the middles around it. */
double bl_cure_climate_c(const struct bl_shop *shop, int32_t date)
{
    int year = 0;
    int month = 0;
    int day = 0;
    if (!shop->has_climate) {
        return (double)NAN;
    }
    bl_date_split(date, &year, &month, &day);
    double noon = day - 0.5;
    int before = month - 1; /* the month whose middle was last */
    double last = length_of(before, year) / 2.0;
    double next = length_of(before, year) + length_of(before + 1, year) / 2.0;
    if (noon < last) {
        next = last;
        before--;
        last = -length_of(before, year) / 2.0;
    }
    double cool = shop->climate_c[(before + MONTHS) % MONTHS];
    double then = shop->climate_c[(before + 1) % MONTHS];
    return cool + (noon - last) / (next - last) * (then - cool);
}

int64_t cure_after(int64_t at, double seconds)
{
    return at + (int64_t)ceil(seconds - 1e-6);
}

double cure_days_asked(const struct bl_treatment *treatment, const struct bl_job *job)
{
    if (!treatment->rule || (job && job->cured_indoors)) {
        return 0;
    }
    double days = treatment->rule->cure.wash_days[1];
    return isfinite(days) ? MAX(days, 0) : 0;
}

double cure_longest(const struct bl_treatment *treatment)
{
    const struct bl_cure *cure = &treatment->rule->cure;
    double longest = isfinite(cure->longest_days) ? cure->longest_days : 0;
    return MAX(longest, cure->wash_days[1]);
}

/* Hours somebody recorded indoors, after the last coat. */
static bool is_indoors(const struct cure_case *cure, const struct bl_event *event)
{
    return event->at > cure->treatment->last_coat_at && event_names(event, -1, cure->treatment);
}

/* What the day is like: the job's own measure up to its day, then the climate. */
static double outdoors_c(const struct cure_case *cure, int32_t date, int32_t own_date,
                         enum bl_warmth *warmth)
{
    double job_c = cure->job ? cure->job->temp_c : (double)NAN;
    double climate_c = bl_cure_climate_c(cure->shop, date);
    bool own_day = date <= own_date;
    bool by_job = isfinite(job_c) && (own_day || !isfinite(climate_c));
    double temp_c = by_job ? job_c : climate_c;
    *warmth = by_job ? BL_WARMTH_JOB : BL_WARMTH_CLIMATE;
    if (!isfinite(temp_c)) {
        *warmth = BL_WARMTH_LABEL;
        return (double)NAN;
    }
    return temp_c;
}

/* The warmest of the hours indoors around day->from, if any; day->to is drawn in to where any
 * of them begins or ends. */
static void go_indoors(const struct cure_case *cure, struct bl_cure_day *day)
{
    for (guint i = 0; cure->indoors && i < cure->indoors->len; i++) {
        const struct bl_event *event = &g_array_index(cure->indoors, struct bl_event, i);
        if (!is_indoors(cure, event)) {
            continue;
        }
        int64_t begin = event->at - llround(event->hours * 3600);
        if (begin <= day->from && day->from < event->at) {
            bool first = day->warmth != BL_WARMTH_INDOORS;
            day->temp_c = first ? event->temp_c : MAX(day->temp_c, event->temp_c);
            day->warmth = BL_WARMTH_INDOORS;
        }
        if (begin > day->from) {
            day->to = MIN(day->to, begin);
        }
        if (event->at > day->from) {
            day->to = MIN(day->to, event->at);
        }
    }
}

/* The stretch from `from` on that is of one day and one temperature; its gain still to come. */
static struct bl_cure_day day_from(const struct cure_case *cure, int32_t own_date, int64_t from)
{
    const struct bl_zone *zone = cure->shop->zone;
    const struct bl_cure *rule = &cure->treatment->rule->cure;
    struct bl_cure_day day = {.date = bl_zone_date(zone, from), .from = from, .speed = 1};
    int32_t next = day.date + 1;
    do {
        day.to = bl_zone_instant(zone, next++, 0);
    } while (day.to <= from);
    day.temp_c = outdoors_c(cure, day.date, own_date, &day.warmth);
    go_indoors(cure, &day);
    if (day.warmth != BL_WARMTH_LABEL) {
        day.speed = bl_cure_speed(day.temp_c, rule->reference_c, rule->ea_ev);
        day.stalled = day.temp_c < rule->stall_c;
    }
    return day;
}

/* Nobody knows any temperature: every day is a label's day. */
static bool by_label(const struct cure_case *cure)
{
    bool known = cure->shop->has_climate || (cure->job && isfinite(cure->job->temp_c));
    for (guint i = 0; !known && cure->indoors && i < cure->indoors->len; i++) {
        known = is_indoors(cure, &g_array_index(cure->indoors, struct bl_event, i));
    }
    return !known;
}

/* Ends the stretch where the label's time is full or the longest is over; whether it did. */
static bool ends_in(struct bl_cure_day *day, double asked, int64_t latest, bool *held)
{
    double rate = day->stalled ? 0 : fmin(1, day->speed);
    double missing = (asked - day->sum) * (double)BL_DAY;
    int64_t full = rate > 0 && missing / rate <= (double)(latest - day->from) + 1
                       ? cure_after(day->from, missing / rate)
                       : BL_NEVER;
    int64_t end = MIN(full, latest);
    bool over = end <= day->to;
    day->to = over ? end : day->to;
    day->days = rate * (double)(day->to - day->from) / (double)BL_DAY;
    day->sum = MIN(day->sum + day->days, asked);
    *held = over && full > latest;
    return over;
}

int64_t cure_sum(const struct cure_case *cure, GArray *days, bool *held)
{
    double asked = cure_days_asked(cure->treatment, cure->job);
    int64_t since = cure->treatment->last_coat_at;
    *held = false;
    if (asked <= 0 || (!days && by_label(cure))) {
        return cure_after(since, asked * (double)BL_DAY);
    }
    int64_t latest = cure_after(since, cure_longest(cure->treatment) * (double)BL_DAY);
    int32_t own_date = cure->job ? bl_zone_date(cure->shop->zone, cure->job->at) : BL_NO_DATE;
    double sum = 0;
    for (int64_t from = since;;) {
        struct bl_cure_day day = day_from(cure, own_date, from);
        day.sum = sum;
        bool over = ends_in(&day, asked, latest, held);
        if (days) {
            g_array_append_val(days, day);
        }
        if (over) {
            return day.to;
        }
        sum = day.sum;
        from = day.to;
    }
}

int64_t bl_cure_end(const struct bl_treatment *treatment, const struct bl_job *job,
                    const struct bl_shop *shop)
{
    const struct cure_case cure = {treatment, job, shop, NULL};
    bool held;
    return cure_sum(&cure, NULL, &held);
}

bool bl_cure_outside(const struct bl_rule *rule, double temp_c, double humidity,
                     struct bl_cure_outside *outside)
{
    const struct bl_cure *cure = &rule->cure;
    struct bl_cure_outside found = {
        .too_cold = temp_c<cure->apply_c[0], .too_warm = temp_c> cure->apply_c[1],
        .too_dry = humidity<cure->apply_rh[0], .too_damp = humidity> cure->apply_rh[1],
    };
    if (outside) {
        *outside = found;
    }
    return found.too_cold || found.too_warm || found.too_dry || found.too_damp;
}
