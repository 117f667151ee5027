/*
 * Cure: how long the car may not be washed. One sum a treatment, the latest a job, one date a
 * car.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

/* An instant so many seconds after another, rounded up: no label's time is shortened. Values
 * that a division left a hair above a whole second are not pushed to the next. */
static int64_t after(int64_t at, double seconds)
{
    return at + (int64_t)ceil(seconds - 1e-6);
}

/* Days on the label's scale the treatment has to gather after its last coat. */
static double days_asked(const struct bl_treatment *treatment, const struct bl_job *job)
{
    if (!treatment->rule || (job && job->cured_indoors)) {
        return 0;
    }
    double days = treatment->rule->cure.wash_days[1];
    return isfinite(days) ? MAX(days, 0) : 0;
}

/* When so many have been gathered: one a day, by the label. */
static int64_t gathered_at(int64_t since, double days)
{
    return after(since, days * (double)BL_DAY);
}

int64_t bl_cure_end(const struct bl_treatment *treatment, const struct bl_job *job)
{
    return gathered_at(treatment->last_coat_at, days_asked(treatment, job));
}

/* The first civil day that begins at or after the instant. */
static int32_t first_day(const struct bl_zone *zone, int64_t at)
{
    int32_t date = bl_zone_date(zone, at);
    return bl_zone_instant(zone, date, 0) >= at ? date : date + 1;
}

/* The end that counts: an indoor cure ends it earlier, and what was taken off the car before
 * has nothing to cure any more. CURE_NONE where there is no cure. */
static int64_t end_that_counts(const struct bl_treatment *treatment, const struct bl_job *job,
                               const struct car_end *end)
{
    if (days_asked(treatment, job) <= 0) {
        return CURE_NONE;
    }
    int64_t at = bl_cure_end(treatment, job);
    if (end->removed_at < at) {
        return CURE_NONE;
    }
    return MIN(at, MAX(end->cured_at, treatment->last_coat_at));
}

static void add_own_date(struct cure_line *line, const struct bl_zone *zone)
{
    if (line->job->wash_from != BL_NO_DATE) {
        line->end = MAX(line->end, bl_zone_instant(zone, line->job->wash_from, 0));
    }
    line->date = line->end == CURE_NONE ? BL_NO_DATE : first_day(zone, line->end);
}

GArray *cure_lines(const struct known_car *known, const struct bl_shop *shop)
{
    const GArray *jobs = known->car.jobs;
    const GArray *treatments = known->car.treatments;
    GArray *lines = g_array_sized_new(FALSE, FALSE, sizeof(struct cure_line), jobs->len);
    g_autoptr(GHashTable) by_job = g_hash_table_new(g_int64_hash, g_int64_equal);
    for (guint i = 0; i < jobs->len; i++) {
        const struct bl_job *job = &g_array_index(jobs, struct bl_job, i);
        struct cure_line line = {.job = job, .end = CURE_NONE};
        g_array_append_val(lines, line);
        g_hash_table_insert(by_job, (gpointer)&job->id, GUINT_TO_POINTER(i));
    }
    for (guint i = 0; i < treatments->len; i++) {
        const struct bl_treatment *treatment =
            &g_array_index(treatments, struct bl_treatment, i);
        guint at = GPOINTER_TO_UINT(g_hash_table_lookup(by_job, &treatment->job));
        struct cure_line *line = &g_array_index(lines, struct cure_line, at);
        const struct car_end *end = &g_array_index(known->ends, struct car_end, i);
        line->treatments++;
        line->end = MAX(line->end, end_that_counts(treatment, line->job, end));
    }
    for (guint i = 0; i < lines->len; i++) {
        add_own_date(&g_array_index(lines, struct cure_line, i), shop->zone);
    }
    return lines;
}

int32_t bl_cure_wash_date(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                          int64_t *job)
{
    struct known_car known;
    known_car_init(&known, car, now, NULL);
    g_autoptr(GArray) lines = cure_lines(&known, shop);
    int32_t date = BL_NO_DATE;
    int32_t today = bl_zone_date(shop->zone, now);
    for (guint i = 0; i < lines->len; i++) {
        const struct cure_line *line = &g_array_index(lines, struct cure_line, i);
        if (line->date > MAX(date, today)) {
            date = line->date;
            if (job) {
                *job = line->job->id;
            }
        }
    }
    known_car_clear(&known);
    return date;
}

static void later(int64_t *told, int64_t since, double hours)
{
    if (!(hours > 0) || !isfinite(hours)) {
        return;
    }
    int64_t at = after(since, hours * 3600);
    *told = *told == BL_NEVER ? at : MAX(*told, at);
}

struct bl_cure_times bl_cure_job_times(const struct bl_car *car, const struct bl_job *job)
{
    struct bl_cure_times times = {BL_NEVER, BL_NEVER, BL_NEVER, BL_NEVER};
    for (guint i = 0; i < car->treatments->len && !job->cured_indoors; i++) {
        const struct bl_treatment *treatment =
            &g_array_index(car->treatments, struct bl_treatment, i);
        if (treatment->job != job->id || !treatment->rule) {
            continue;
        }
        const struct bl_cure *cure = &treatment->rule->cure;
        int64_t since = treatment->last_coat_at;
        later(&times.drive, since, cure->drive_h);
        later(&times.dry, since, cure->dry_h);
        later(&times.rinse, since, cure->rinse_days * 24);
        if (treatment->surface == BL_WINDSCREEN) {
            later(&times.wipers, since, cure->wiper_h);
        }
    }
    return times;
}
