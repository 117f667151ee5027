/*
 * The same work twice: a job typed again after a wet-handed slip is refused instead of starting
 * every clock of the car a second time.
 */
#include "job_same.h"

#include <string.h>

#include "checks.h"
#include "columns.h"

static const char *part_of(const struct bl_treatment_row *treatment)
{
    return treatment->part ? treatment->part : "";
}

/* One treatment as it is compared: by product, not by version, for the catalogue may have been
 * edited between the two tries. */
static char *sort_key(const char *product, const char *surface, const char *part)
{
    return g_strdup_printf("%s\x1f%s\x1f%s", product ? product : "", surface ? surface : "",
                           part ? part : "");
}

static gint by_text(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static char *joined(GPtrArray *keys)
{
    g_ptr_array_sort(keys, by_text);
    g_ptr_array_add(keys, NULL);
    return g_strjoinv("\x1e", (char **)keys->pdata);
}

/* A product goes on a surface, or one part of it, once a job; more of it is coats. */
static bool each_once(GPtrArray *sorted, const GArray *treatments, GError **error)
{
    for (guint i = 1; i < treatments->len; i++) {
        if (strcmp(sorted->pdata[i - 1], sorted->pdata[i]) == 0) {
            g_auto(GStrv) words = g_strsplit(sorted->pdata[i], "\x1f", 3);
            g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                        "\"%s\" is on the %s%s%s twice in this job: give the number of coats "
                        "instead",
                        words[0], words[1], *words[2] ? ", " : "", words[2]);
            return false;
        }
    }
    return true;
}

static const char PRODUCT[] = "SELECT product FROM rule_version WHERE id = ?1";

static bool product_of(struct bl_store *store, int64_t rule, char **product, GError **error)
{
    BL_ROWS rows = bl_rows(store, PRODUCT, BL_VALUES(bl_int(rule)));
    *product = bl_rows_next(&rows) ? bl_rows_dup(&rows, 0) : NULL;
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    return *product || bl_missing("rule version", rule, error);
}

char *bl_job_work(struct bl_store *store, const GArray *treatments, GError **error)
{
    g_autoptr(GPtrArray) keys = g_ptr_array_new_with_free_func(g_free);
    for (guint i = 0; treatments && i < treatments->len; i++) {
        const struct bl_treatment_row *treatment =
            &g_array_index(treatments, struct bl_treatment_row, i);
        g_autofree char *product = NULL;
        if (!product_of(store, treatment->rule, &product, error)) {
            return NULL;
        }
        g_ptr_array_add(
            keys, sort_key(product, bl_surface_name(treatment->surface), part_of(treatment)));
    }
    g_autofree char *work = joined(keys);
    return !treatments || each_once(keys, treatments, error) ? g_steal_pointer(&work) : NULL;
}

static const char THAT_TIME[] =
    "SELECT job.id, car.plate, rule_version.product, treatment.surface, treatment.part"
    " FROM job JOIN car ON car.id = job.car LEFT JOIN treatment ON treatment.job = job.id"
    " LEFT JOIN rule_version ON rule_version.id = treatment.rule"
    " WHERE job.car = ?1 AND job.finished_at = ?2";

/* A car's jobs end at different times; the same time and work is the same job typed twice. */
bool bl_job_is_new(struct bl_store *store, const struct bl_job_row *job, const char *work,
                   GError **error)
{
    g_autoptr(GPtrArray) keys = g_ptr_array_new_with_free_func(g_free);
    g_autofree char *plate = NULL;
    int64_t there = 0;
    BL_ROWS rows =
        bl_rows(store, THAT_TIME, BL_VALUES(bl_int(job->car), bl_int(job->finished_at)));
    while (bl_rows_next(&rows)) {
        there = bl_rows_int(&rows, 0);
        g_free(plate);
        plate = bl_column_note(&rows, 1);
        if (!bl_rows_null(&rows, 3)) {
            g_ptr_array_add(keys, sort_key(bl_rows_text(&rows, 2), bl_rows_text(&rows, 3),
                                           bl_rows_text(&rows, 4)));
        }
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    if (!there) {
        return true;
    }
    g_autofree char *that_work = joined(keys);
    g_autofree char *finish = bl_at_text(job->finished_at);
    bool same = strcmp(that_work, work) == 0;
    g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                same ? "this is already recorded as job %" G_GINT64_FORMAT
                       " (\"%s\", finished %s): nothing was added"
                     : "job %" G_GINT64_FORMAT " of \"%s\" was finished at that very time (%s) "
                       "with other work: give the time this one was finished",
                there, plate, finish);
    return false;
}
