/*
 * Readings mended: held to the same rule against their neighbours as new ones.
 */
#include "beadline/mend.h"

#include "checks.h"
#include "columns.h"
#include "mend.h"
#include "mileage.h"

/* A reading taken at a job is of that instant, and its distance stands in the job, too. */
static const char GET[] =
    "SELECT m.at, m.km, m.instrument, m.car, j.id FROM mileage m LEFT JOIN job j"
    " ON j.car = m.car AND j.finished_at = m.at AND j.km = m.km WHERE m.id = ?1";

bool bl_mileage_get(struct bl_store *store, int64_t id, struct bl_reading *reading,
                    int64_t *car, int64_t *job, GError **error)
{
    BL_ROWS rows = bl_rows(store, GET, BL_VALUES(bl_int(id)));
    bool found = bl_rows_next(&rows);
    *reading = (struct bl_reading){0};
    if (found) {
        *reading = (struct bl_reading){id, bl_rows_int(&rows, 0), bl_rows_real(&rows, 1),
                                       (int)bl_rows_int(&rows, 2)};
        *car = bl_rows_int(&rows, 3);
        *job = bl_rows_int(&rows, 4);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    return found || bl_missing("reading", id, error);
}

/* An instrument that was replaced shows nothing any more. */
static const char CROSSED[] =
    "SELECT id FROM mileage WHERE car = ?1 AND id <> ?2 AND ((instrument < ?3 AND at >= ?4)"
    " OR (instrument > ?3 AND at <= ?4)) ORDER BY abs(at - ?4), id LIMIT 1";

static bool in_turn(struct bl_store *store, int64_t car, const struct bl_reading *reading,
                    GError **error)
{
    int64_t other = 0;
    if (!bl_sql_number(store, CROSSED,
                       BL_VALUES(bl_int(car), bl_int(reading->id), bl_int(reading->instrument),
                                 bl_int(reading->at)),
                       0, &other, error)) {
        return false;
    }
    if (other != 0) {
        g_autofree char *when = bl_at_text(reading->at);
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "at \"%s\" the car had another instrument (reading %" G_GINT64_FORMAT
                    "): give a time at which this one was in it",
                    when, other);
    }
    return other == 0;
}

static bool fits(struct bl_store *store, int64_t car, const struct bl_reading *reading,
                 GError **error)
{
    int64_t same = 0;
    if (!bl_check_measure(reading->km, BL_MEASURE_KM, error) ||
        !bl_check_at(reading->at, "date of the reading", error) ||
        !in_turn(store, car, reading, error) ||
        !bl_reading_between(store, car, reading, &same, error)) {
        return false;
    }
    if (same != 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "that is reading %" G_GINT64_FORMAT " already: remove this one instead",
                    same);
    }
    return same == 0;
}

static const char CHANGE[] = "UPDATE mileage SET at = ?2, km = ?3 WHERE id = ?1";

bool bl_reading_move(struct bl_store *store, int64_t car, const struct bl_reading *reading,
                     GError **error)
{
    return fits(store, car, reading, error) &&
           bl_sql_run(store, CHANGE,
                      BL_VALUES(bl_int(reading->id), bl_int(reading->at), bl_real(reading->km)),
                      error);
}

static const char JOB_KM[] = "UPDATE job SET km = ?2 WHERE id = ?1";

bool bl_mileage_change(struct bl_store *store, const struct bl_reading *reading, GError **error)
{
    struct bl_reading old;
    int64_t car = 0;
    int64_t job = 0;
    if (!bl_mileage_get(store, reading->id, &old, &car, &job, error)) {
        return false;
    }
    if (job != 0 && reading->at != old.at) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "reading %" G_GINT64_FORMAT " was taken when job %" G_GINT64_FORMAT
                    " was finished: change the job's time, and it moves along",
                    reading->id, job);
        return false;
    }
    struct bl_reading moved = *reading;
    moved.instrument = old.instrument;
    return bl_reading_move(store, car, &moved, error) &&
           (job == 0 ||
            bl_sql_run(store, JOB_KM, BL_VALUES(bl_int(job), bl_real(reading->km)), error));
}

static const char REMOVE[] = "DELETE FROM mileage WHERE id = ?1";

bool bl_mileage_remove(struct bl_store *store, int64_t id, GError **error)
{
    struct bl_reading old;
    int64_t car = 0;
    int64_t job = 0;
    return bl_mileage_get(store, id, &old, &car, &job, error) &&
           bl_sql_run(store, REMOVE, BL_VALUES(bl_int(id)), error) &&
           (job == 0 || bl_sql_run(store, JOB_KM, BL_VALUES(bl_int(job), bl_null()), error));
}
