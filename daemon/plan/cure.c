/*
 * Cure: how long the car may not be washed. One sum a treatment, the latest a job, one date a
 * car.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

/* The first civil day that begins at or after the instant. */
static int32_t first_day(const struct bl_zone *zone, int64_t at)
{
    int32_t date = bl_zone_date(zone, at);
    return bl_zone_instant(zone, date, 0) >= at ? date : date + 1;
}

static struct cure_case case_of(const struct known_car *known,
                                const struct bl_treatment *treatment, const struct bl_job *job,
                                const struct bl_shop *shop)
{
    return (struct cure_case){treatment, job, shop, known->indoors};
}

/* The end that counts: an indoor cure ends it earlier, and what was taken off the car before
 * has nothing to cure any more. CURE_NONE where there is no cure. */
static int64_t end_that_counts(const struct cure_case *cure, const struct car_end *end)
{
    bool held;
    if (cure_days_asked(cure->treatment, cure->job) <= 0) {
        return CURE_NONE;
    }
    int64_t at = cure_sum(cure, NULL, &held);
    at = MIN(at, MAX(end->cured_at, cure->treatment->last_coat_at));
    return end->removed_at < at ? CURE_NONE : at;
}

static void add_own_date(struct cure_line *line, const struct bl_zone *zone)
{
    int64_t own = line->job->wash_from == BL_NO_DATE
                      ? CURE_NONE
                      : bl_zone_instant(zone, line->job->wash_from, 0);
    if (own > line->end) {
        line->end = own;
        line->binds = 0;
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
        const struct cure_case cure = case_of(known, treatment, line->job, shop);
        int64_t over = end_that_counts(&cure, end);
        line->treatments++;
        line->binds = over > line->end ? treatment->id : line->binds;
        line->end = MAX(line->end, over);
    }
    for (guint i = 0; i < lines->len; i++) {
        add_own_date(&g_array_index(lines, struct cure_line, i), shop->zone);
    }
    return lines;
}

bool bl_cure_wash_tell(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                       struct bl_wash *wash)
{
    struct known_car known;
    known_car_init(&known, car, now, NULL);
    g_autoptr(GArray) lines = cure_lines(&known, shop);
    int32_t today = bl_zone_date(shop->zone, now);
    *wash = (struct bl_wash){.date = BL_NO_DATE};
    for (guint i = 0; i < lines->len; i++) {
        const struct cure_line *line = &g_array_index(lines, struct cure_line, i);
        if (line->date > MAX(wash->date, today)) {
            *wash = (struct bl_wash){line->date, line->end, line->job->id, line->binds};
        }
    }
    known_car_clear(&known);
    return wash->date != BL_NO_DATE;
}

int32_t bl_cure_wash_date(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                          int64_t *job)
{
    struct bl_wash wash;
    if (bl_cure_wash_tell(car, shop, now, &wash) && job) {
        *job = wash.job;
    }
    return wash.date;
}

static void later(int64_t *told, int64_t since, double hours)
{
    if (!(hours > 0) || !isfinite(hours)) {
        return;
    }
    int64_t at = cure_after(since, hours * 3600);
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

/* The index of the treatment in the known car; its length when it does not count. */
static guint index_of(const struct known_car *known, int64_t treatment)
{
    guint i = 0;
    while (i < known->car.treatments->len &&
           g_array_index(known->car.treatments, struct bl_treatment, i).id != treatment) {
        i++;
    }
    return i;
}

static const struct bl_job *job_of(const struct known_car *known, int64_t id)
{
    for (guint i = 0; i < known->car.jobs->len; i++) {
        const struct bl_job *job = &g_array_index(known->car.jobs, struct bl_job, i);
        if (job->id == id) {
            return job;
        }
    }
    return NULL;
}

/* An event that ended the cure, or voided it, cuts the days short. */
static void cut_story(struct bl_cure_story *story, const struct car_end *end, int64_t since)
{
    int64_t cured = MAX(end->cured_at, since);
    if (cured < story->end) {
        story->indoors = true;
        story->held = false;
        story->end = cured;
    }
    if (end->removed_at < story->end) {
        story->voided_at = end->removed_at;
    }
    int64_t over = MIN(story->end, story->voided_at);
    while (story->days->len > 0) {
        struct bl_cure_day *day =
            &g_array_index(story->days, struct bl_cure_day, story->days->len - 1);
        if (day->from < over) {
            double whole = (double)(day->to - day->from);
            double gone = whole > 0 ? (double)MAX(day->to - over, 0) / whole : 0;
            day->sum -= day->days * gone;
            day->days -= day->days * gone;
            day->to = MIN(day->to, over);
            return;
        }
        g_array_set_size(story->days, story->days->len - 1);
    }
}

void bl_cure_tell(const struct bl_car *car, const struct bl_treatment *treatment,
                  const struct bl_shop *shop, int64_t now, struct bl_cure_story *story)
{
    struct known_car known;
    known_car_init(&known, car, now, NULL);
    guint i = index_of(&known, treatment->id);
    *story = (struct bl_cure_story){
        .days = g_array_new(FALSE, FALSE, sizeof(struct bl_cure_day)),
        .end = treatment->last_coat_at,
        .voided_at = BL_NEVER,
    };
    if (i < known.car.treatments->len) {
        const struct bl_job *job = job_of(&known, treatment->job);
        const struct cure_case cure = case_of(&known, treatment, job, shop);
        story->indoors = job && job->cured_indoors;
        story->asked_days = cure_days_asked(treatment, job);
        if (story->asked_days > 0) {
            story->longest_days = cure_longest(treatment);
            story->end = cure_sum(&cure, story->days, &story->held);
            cut_story(story, &g_array_index(known.ends, struct car_end, i),
                      treatment->last_coat_at);
        }
    }
    known_car_clear(&known);
}

void bl_cure_story_clear(struct bl_cure_story *story)
{
    g_clear_pointer(&story->days, g_array_unref);
}
