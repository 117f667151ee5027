/*
 * Jobs and treatments mended: under the checks of jobs.c, with what hangs on them.
 */
#include "beadline/lookup.h"
#include "beadline/mend.h"

#include "checks.h"
#include "columns.h"
#include "job_same.h"
#include "mend.h"

/* --- a job ------------------------------------------------------------------------------- */

static const char THAT_TIME[] =
    "SELECT id FROM job WHERE car = ?1 AND finished_at = ?2 AND id <> ?3";

static bool time_is_free(struct bl_store *store, const struct bl_job_row *row, GError **error)
{
    int64_t other = 0;
    if (!bl_sql_number(store, THAT_TIME,
                       BL_VALUES(bl_int(row->car), bl_int(row->finished_at), bl_int(row->id)),
                       0, &other, error)) {
        return false;
    }
    if (other != 0) {
        g_autofree char *when = bl_at_text(row->finished_at);
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "job %" G_GINT64_FORMAT
                    " of this car was finished at that very time (%s): give another time",
                    other, when);
    }
    return other == 0;
}

static const char COATS_FOLLOW[] =
    "UPDATE treatment SET last_coat_at = ?3 WHERE job = ?1 AND last_coat_at = ?2";

/* What was put on last with the old finish was put on last with the new one; a coat in between
 * keeps its time, and must not come after the finish. */
static bool move_coats(struct bl_store *store, const struct bl_job_row *row, int64_t old,
                       GError **error)
{
    if (!bl_sql_run(store, COATS_FOLLOW,
                    BL_VALUES(bl_int(row->id), bl_int(old), bl_int(row->finished_at)), error)) {
        return false;
    }
    g_autoptr(GArray) treatments = bl_treatment_list(store, row->id, error);
    for (guint i = 0; treatments && i < treatments->len; i++) {
        if (!bl_treatment_check(&g_array_index(treatments, struct bl_treatment_row, i), row,
                                error)) {
            return false;
        }
    }
    return treatments != NULL;
}

static const char READING[] =
    "SELECT id, instrument FROM mileage WHERE car = ?1 AND at = ?2 AND km = ?3";
static const char READING_REMOVE[] = "DELETE FROM mileage WHERE id = ?1";

/* The job's own reading of its mileage: moved, corrected, taken away, or read only now. */
static bool move_reading(struct bl_store *store, const struct bl_job_row *row,
                         const struct bl_job_row *old, GError **error)
{
    struct bl_reading reading = {.at = row->finished_at, .km = row->km};
    BL_ROWS rows =
        bl_rows(store, READING,
                BL_VALUES(bl_int(old->car), bl_int(old->finished_at), bl_real(old->km)));
    if (!isnan(old->km) && bl_rows_next(&rows)) {
        reading.id = bl_rows_int(&rows, 0);
        reading.instrument = (int)bl_rows_int(&rows, 1);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    if (isnan(row->km)) {
        return reading.id == 0 ||
               bl_sql_run(store, READING_REMOVE, BL_VALUES(bl_int(reading.id)), error);
    }
    return reading.id ? bl_reading_move(store, row->car, &reading, error)
                      : bl_mileage_add(store, row->car, row->finished_at, row->km, "job",
                                       &reading.id, error);
}

static bool same_reading(const struct bl_job_row *a, const struct bl_job_row *b)
{
    bool none = isnan(a->km) && isnan(b->km);
    return none || (a->km == b->km && a->finished_at == b->finished_at);
}

static const char CHANGE_JOB[] =
    "UPDATE job SET finished_at = ?2, km = ?3, temp_c = ?4, humidity = ?5, wash_from = ?6,"
    " cured_indoors = ?7, note = ?8, leaving_ok = ?9 WHERE id = ?1";

static bool change_job(struct bl_store *store, const struct bl_job_row *row, GError **error)
{
    return bl_sql_run(store, CHANGE_JOB,
                      BL_VALUES(bl_int(row->id), bl_int(row->finished_at), bl_real(row->km),
                                bl_real(row->temp_c), bl_real(row->humidity),
                                bl_int_or_null(row->wash_from, BL_NO_DATE),
                                bl_int(row->cured_indoors), bl_text(row->note ? row->note : ""),
                                bl_int(row->leaving_ok)),
                      error);
}

bool bl_job_change(struct bl_store *store, const struct bl_job_row *row, GError **error)
{
    struct bl_job_row old = {0};
    if (!bl_job_get(store, row->id, &old, error)) {
        return false;
    }
    g_assert(old.car == row->car);
    bool done = bl_job_check(row, error) && time_is_free(store, row, error) &&
                change_job(store, row, error) &&
                (row->finished_at == old.finished_at ||
                 move_coats(store, row, old.finished_at, error)) &&
                (same_reading(row, &old) || move_reading(store, row, &old, error));
    bl_job_row_clear(&old);
    return done;
}

static const char MADE_GOOD_BY[] = "SELECT id FROM job WHERE redo_of = ?1 ORDER BY id LIMIT 1";
static const char TREATMENTS[] = "SELECT id FROM treatment WHERE job = ?1 ORDER BY id";
static const char REMOVE_JOB[] = "DELETE FROM job WHERE id = ?1";

static bool is_needed(struct bl_store *store, int64_t id, GError **error)
{
    int64_t other = 0;
    if (!bl_sql_number(store, MADE_GOOD_BY, BL_VALUES(bl_int(id)), 0, &other, error)) {
        return true;
    }
    if (other != 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "job %" G_GINT64_FORMAT " makes good job %" G_GINT64_FORMAT
                    ": remove that one first",
                    other, id);
    }
    return other != 0;
}

static bool remove_treatments(struct bl_store *store, int64_t job, GError **error)
{
    g_autoptr(GArray) ids = g_array_new(FALSE, FALSE, sizeof(int64_t));
    BL_ROWS rows = bl_rows(store, TREATMENTS, BL_VALUES(bl_int(job)));
    while (bl_rows_next(&rows)) {
        int64_t id = bl_rows_int(&rows, 0);
        g_array_append_val(ids, id);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    for (guint i = 0; i < ids->len; i++) {
        if (!bl_treatment_remove(store, g_array_index(ids, int64_t, i), error)) {
            return false;
        }
    }
    return true;
}

bool bl_job_remove(struct bl_store *store, int64_t id, GError **error)
{
    struct bl_job_row old = {0};
    if (!bl_job_get(store, id, &old, error)) {
        return false;
    }
    struct bl_job_row without = old;
    without.km = (double)NAN;
    bool done = !is_needed(store, id, error) && remove_treatments(store, id, error) &&
                (isnan(old.km) || move_reading(store, &without, &old, error)) &&
                bl_sql_run(store, REMOVE_JOB, BL_VALUES(bl_int(id)), error);
    bl_job_row_clear(&old);
    return done;
}

/* --- a treatment ------------------------------------------------------------------------- */

/* The row of that number in the job's list, its texts taken out of it. */
static bool pick(GArray *list, int64_t id, struct bl_treatment_row *row)
{
    for (guint i = 0; i < list->len; i++) {
        struct bl_treatment_row *one = &g_array_index(list, struct bl_treatment_row, i);
        if (one->id == id) {
            *row = *one;
            one->part = one->batch = one->product = NULL;
            return true;
        }
    }
    return false;
}

static const char ITS_JOB[] = "SELECT job FROM treatment WHERE id = ?1";
static const char ITS_CAR[] = "SELECT car FROM job WHERE id = ?1";

bool bl_treatment_get(struct bl_store *store, int64_t id, struct bl_treatment_row *row,
                      int64_t *car, GError **error)
{
    int64_t job = 0;
    *row = (struct bl_treatment_row){0};
    if (!bl_sql_number(store, ITS_JOB, BL_VALUES(bl_int(id)), 0, &job, error) ||
        (car && !bl_sql_number(store, ITS_CAR, BL_VALUES(bl_int(job)), 0, car, error))) {
        return false;
    }
    g_autoptr(GArray) list = bl_treatment_list(store, job, error);
    return list && (pick(list, id, row) || bl_missing("treatment", id, error));
}

void bl_treatment_row_clear(struct bl_treatment_row *row)
{
    g_free(row->part);
    g_free(row->batch);
    g_free(row->product);
    *row = (struct bl_treatment_row){0};
}

/* A product goes on a surface, or one part of it, once a job. */
static bool still_once(struct bl_store *store, const struct bl_treatment_row *row,
                       GError **error)
{
    g_autoptr(GArray) list = bl_treatment_list(store, row->job, error);
    for (guint i = 0; list && i < list->len; i++) {
        struct bl_treatment_row *one = &g_array_index(list, struct bl_treatment_row, i);
        if (one->id == row->id) {
            one->rule = row->rule;
            one->surface = row->surface;
            g_free(one->part);
            one->part = g_strdup(row->part);
        }
    }
    g_autofree char *work = list ? bl_job_work(store, list, error) : NULL;
    return work != NULL;
}

static const char CHANGE_TREATMENT[] =
    "UPDATE treatment SET rule = ?2, surface = ?3, part = ?4, coats = ?5, last_coat_at = ?6,"
    " again = ?7, batch = ?8 WHERE id = ?1";

static bool change_treatment(struct bl_store *store, const struct bl_treatment_row *row,
                             GError **error)
{
    const char *again = row->again < 0 ? NULL : bl_again_name((enum bl_again)row->again);
    return bl_sql_run(store, CHANGE_TREATMENT,
                      BL_VALUES(bl_int(row->id), bl_int(row->rule),
                                bl_text(bl_surface_name(row->surface)),
                                bl_text(row->part ? row->part : ""), bl_int(row->coats),
                                bl_int(row->last_coat_at), bl_text(again), bl_text(row->batch)),
                      error);
}

bool bl_treatment_change(struct bl_store *store, const struct bl_treatment_row *row,
                         GError **error)
{
    struct bl_job_row job = {0};
    bool done = bl_job_get(store, row->job, &job, error) &&
                bl_treatment_check(row, &job, error) && still_once(store, row, error) &&
                change_treatment(store, row, error);
    bl_job_row_clear(&job);
    return done;
}

static const char REMOVE_EVENTS[] = "DELETE FROM event WHERE treatment = ?1";
static const char REMOVE_TREATMENT[] = "DELETE FROM treatment WHERE id = ?1";

bool bl_treatment_remove(struct bl_store *store, int64_t id, GError **error)
{
    return bl_sql_run(store, REMOVE_EVENTS, BL_VALUES(bl_int(id)), error) &&
           bl_sql_run(store, REMOVE_TREATMENT, BL_VALUES(bl_int(id)), error) &&
           (bl_sql_changed(store) > 0 || bl_missing("treatment", id, error));
}
