/*
 * Jobs going in: the work that was carried out, with its treatments and its mileage, all or
 * nothing. What is read back stands in job_lists.c.
 */
#include "beadline/records.h"

#include "checks.h"
#include "columns.h"
#include "job_same.h"
#include "mend.h"

bool bl_job_check(const struct bl_job_row *job, GError **error)
{
    return bl_check_at(job->finished_at, "time the job was finished", error) &&
           bl_check_at(job->entered_at, "time the job was entered", error) &&
           bl_check_measure_or_none(job->km, BL_MEASURE_KM, error) &&
           bl_check_measure_or_none(job->temp_c, BL_MEASURE_TEMP_C, error) &&
           bl_check_measure_or_none(job->humidity, BL_MEASURE_HUMIDITY, error) &&
           bl_check_date_or_none(job->wash_from, "wash date", error) &&
           bl_check_note(job->note, "note", error);
}

static const char *part_of(const struct bl_treatment_row *treatment)
{
    return treatment->part ? treatment->part : "";
}

static int64_t last_coat(const struct bl_treatment_row *treatment, const struct bl_job_row *job)
{
    return treatment->last_coat_at ? treatment->last_coat_at : job->finished_at;
}

bool bl_treatment_check(const struct bl_treatment_row *treatment, const struct bl_job_row *job,
                        GError **error)
{
    g_assert(treatment->surface < BL_SURFACES && treatment->again < BL_AGAINS);
    int64_t at = last_coat(treatment, job);
    if (!bl_check_measure(treatment->coats, BL_MEASURE_COATS, error) ||
        !bl_check_at(at, "time of the last coat", error) ||
        !bl_check_line_or_none(*part_of(treatment) ? treatment->part : NULL, "part", error) ||
        !bl_check_line_or_none(treatment->batch, "batch", error)) {
        return false;
    }
    if (at <= job->finished_at) {
        return true;
    }
    g_autofree char *coat = bl_at_text(at);
    g_autofree char *finish = bl_at_text(job->finished_at);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "the last coat \"%s\" is after the job was finished (%s): correct one of them",
                coat, finish);
    return false;
}

static bool check(const struct bl_job_row *job, const GArray *treatments, GError **error)
{
    if (!bl_job_check(job, error)) {
        return false;
    }
    for (guint i = 0; treatments && i < treatments->len; i++) {
        if (!bl_treatment_check(&g_array_index(treatments, struct bl_treatment_row, i), job,
                                error)) {
            return false;
        }
    }
    return true;
}

static const char CAR[] = "SELECT id FROM car WHERE id = ?1";
static const char CUSTOMER[] = "SELECT id FROM customer WHERE id = ?1";
static const char PACKAGE[] = "SELECT id FROM package WHERE id = ?1";
static const char PLACE[] = "SELECT id FROM place WHERE id = ?1";
static const char OTHER_JOB[] = "SELECT id FROM job WHERE id = ?1 AND car = ?2";

/* What is made good was done on the same car. */
static bool makes_good(struct bl_store *store, const struct bl_job_row *job, GError **error)
{
    int64_t id = 0;
    return bl_sql_number(store, OTHER_JOB, BL_VALUES(bl_int(job->redo_of), bl_int(job->car)), 0,
                         &id, error) &&
           (id != 0 || bl_missing("job of this car", job->redo_of, error));
}

static bool hangs_well(struct bl_store *store, const struct bl_job_row *job, GError **error)
{
    const struct {
        const char *select, *what;
        int64_t id;
    } links[] = {{CAR, "car", job->car},
                 {CUSTOMER, "customer", job->customer},
                 {PACKAGE, "package version", job->package},
                 {PLACE, "place", job->place}};
    for (guint i = 0; i < G_N_ELEMENTS(links); i++) {
        bool given = links[i].id != 0 || i == 0;
        if (given &&
            !bl_must_exist(store, links[i].select, links[i].what, links[i].id, error)) {
            return false;
        }
    }
    return job->redo_of == 0 || makes_good(store, job, error);
}

/* Whose car it was at that time: the last one to get it before, else its first owner. */
static const char OWNER_THEN[] =
    "SELECT coalesce((SELECT o.customer FROM car_owner o WHERE o.car = c.id"
    " ORDER BY o.since > ?2, abs(o.since - ?2), o.id DESC LIMIT 1), c.customer)"
    " FROM car c WHERE c.id = ?1";

static bool fill_owner(struct bl_store *store, struct bl_job_row *job, GError **error)
{
    return job->customer != 0 ||
           bl_sql_number(store, OWNER_THEN,
                         BL_VALUES(bl_int(job->car), bl_int(job->finished_at)), 0,
                         &job->customer, error);
}

static const char ADD_JOB[] =
    "INSERT INTO job (car, customer, finished_at, km, temp_c, humidity, wash_from,"
    " cured_indoors, package, place, redo_of, note, leaving_ok, entered_at)"
    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)";

static bool add_job(struct bl_store *store, const struct bl_job_row *job, int64_t *id,
                    GError **error)
{
    return bl_sql_insert(
        store, ADD_JOB,
        BL_VALUES(bl_int(job->car), bl_int(job->customer), bl_int(job->finished_at),
                  bl_real(job->km), bl_real(job->temp_c), bl_real(job->humidity),
                  bl_int_or_null(job->wash_from, BL_NO_DATE), bl_int(job->cured_indoors),
                  bl_int_or_null(job->package, 0), bl_int_or_null(job->place, 0),
                  bl_int_or_null(job->redo_of, 0), bl_text(job->note ? job->note : ""),
                  bl_int(job->leaving_ok), bl_int(job->entered_at)),
        id, error);
}

static const char ADD_TREATMENT[] =
    "INSERT INTO treatment (job, rule, surface, part, coats, last_coat_at, again, batch)"
    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";

static bool add_treatment(struct bl_store *store, int64_t id, const struct bl_job_row *job,
                          const struct bl_treatment_row *treatment, GError **error)
{
    const char *again =
        treatment->again < 0 ? NULL : bl_again_name((enum bl_again)treatment->again);
    return bl_sql_run(store, ADD_TREATMENT,
                      BL_VALUES(bl_int(id), bl_int(treatment->rule),
                                bl_text(bl_surface_name(treatment->surface)),
                                bl_text(part_of(treatment)), bl_int(treatment->coats),
                                bl_int(last_coat(treatment, job)), bl_text(again),
                                bl_text(treatment->batch)),
                      error);
}

static bool add(struct bl_store *store, const struct bl_job_row *job, const GArray *treatments,
                int64_t *id, GError **error)
{
    int64_t reading;
    if (!add_job(store, job, id, error)) {
        return false;
    }
    for (guint i = 0; treatments && i < treatments->len; i++) {
        if (!add_treatment(store, *id, job,
                           &g_array_index(treatments, struct bl_treatment_row, i), error)) {
            return false;
        }
    }
    return isnan(job->km) ||
           bl_mileage_add(store, job->car, job->finished_at, job->km, "job", &reading, error);
}

static const char MARK[] = "SAVEPOINT job";
static const char KEEP[] = "RELEASE job";
static const char UNDO[] = "ROLLBACK TO job";

bool bl_job_add(struct bl_store *store, const struct bl_job_row *job, const GArray *treatments,
                int64_t *id, GError **error)
{
    if (!check(job, treatments, error) || !hangs_well(store, job, error)) {
        return false;
    }
    struct bl_job_row whole = *job;
    g_autofree char *work = bl_job_work(store, treatments, error);
    if (!work || !bl_job_is_new(store, job, work, error) || !fill_owner(store, &whole, error) ||
        !bl_sql_run(store, MARK, NULL, error)) {
        return false;
    }
    if (add(store, &whole, treatments, id, error)) {
        return bl_sql_run(store, KEEP, NULL, error);
    }
    /* What went wrong is told already; the caller's transaction stays as it was before. */
    bl_sql_run(store, UNDO, NULL, NULL);
    bl_sql_run(store, KEEP, NULL, NULL);
    return false;
}
