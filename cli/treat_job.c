/* What was picked, and the store: the job before, batches, who does it again, rule versions. */
#include <string.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "treat.h"
#include "typed.h"

/* The newest job of the car before `at` that put something on, or 0. */
static bool find_last(struct context *context, int64_t car, int64_t at, GArray **treatments,
                      GError **error)
{
    g_autoptr(GArray) jobs = bl_job_list(context->store, car, 0, error);
    *treatments = NULL;
    for (guint i = 0; jobs && i < jobs->len; i++) {
        const struct bl_job_row *job = &g_array_index(jobs, struct bl_job_row, i);
        g_autoptr(GArray) list = NULL;
        if (job->finished_at >= at) {
            continue;
        }
        list = bl_treatment_list(context->store, job->id, error);
        if (!list) {
            return false;
        }
        if (list->len > 0) {
            *treatments = g_steal_pointer(&list);
            return true;
        }
    }
    if (jobs) {
        g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                    "this car has no earlier job that put something on: name the products");
    }
    return false;
}

static bool take(struct picks *picks, const struct bl_catalogue *catalogue,
                 const struct bl_treatment_row *row, GError **error)
{
    struct pick pick = {
        .rule = row->product ? bl_catalogue_rule(catalogue, row->product) : NULL,
        .surface = row->surface,
        .part = g_strdup(row->part),
        .coats = row->coats,
        .again = row->again,
    };
    if (!pick.rule) {
        g_free(pick.part);
        g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                    "\"%s\" of that job is not in the catalogue any more: name the products",
                    row->product ? row->product : "a product");
        return false;
    }
    g_array_append_val(picks->list, pick);
    return true;
}

static bool take_all(struct picks *picks, const struct bl_catalogue *catalogue,
                     const GArray *treatments, GError **error)
{
    for (guint i = 0; i < treatments->len; i++) {
        if (!take(picks, catalogue, &g_array_index(treatments, struct bl_treatment_row, i),
                  error)) {
            return false;
        }
    }
    return true;
}

bool picks_last(struct picks *picks, struct context *context, int64_t car, int64_t at,
                GError **error)
{
    g_autoptr(GArray) treatments = NULL;
    if (!find_last(context, car, at, &treatments, error)) {
        return false;
    }
    return take_all(picks, context->world->catalogue, treatments, error);
}

bool picks_job(struct picks *picks, struct context *context, int64_t job, GError **error)
{
    g_autoptr(GArray) treatments = bl_treatment_list(context->store, job, error);
    if (!treatments || treatments->len > 0) {
        return treatments && take_all(picks, context->world->catalogue, treatments, error);
    }
    g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                "job %" G_GINT64_FORMAT " put nothing on: name what went on now", job);
    return false;
}

/* "PRODUCT=TEXT" cut in two; the product must be among the picks. */
static bool split(const struct picks *picks, const char *option, const char *typed,
                  char **product, const char **text, GError **error)
{
    const char *equals = strchr(typed, '=');
    g_autofree char *shown = bl_text_shown(typed);
    if (!equals || equals == typed || !equals[1]) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "\"%s\" is not understood: write %s PRODUCT=...", shown, option);
        return false;
    }
    *product = g_strndup(typed, (gsize)(equals - typed));
    *text = equals + 1;
    for (guint i = 0; i < picks->list->len; i++) {
        if (strcmp(g_array_index(picks->list, struct pick, i).rule->product, *product) == 0) {
            return true;
        }
    }
    g_set_error(
        error, BL_ERROR, BL_ERROR_INPUT,
        "%s \"%s\" names a product that is not in this job: name the product there, too",
        option, shown);
    return false;
}

bool picks_batch(struct picks *picks, const char *typed, GError **error)
{
    g_autofree char *product = NULL;
    const char *text = NULL;
    if (!split(picks, "--batch", typed, &product, &text, error)) {
        return false;
    }
    for (guint i = 0; i < picks->list->len; i++) {
        struct pick *pick = &g_array_index(picks->list, struct pick, i);
        if (strcmp(pick->rule->product, product) == 0) {
            g_free(pick->batch);
            pick->batch = g_strdup(text);
        }
    }
    return true;
}

bool picks_again(struct picks *picks, const char *typed, GError **error)
{
    g_autofree char *product = NULL;
    const char *text = NULL;
    enum bl_again again = BL_AGAIN_SHOP;
    if (!split(picks, "--again", typed, &product, &text, error)) {
        return false;
    }
    const char *word = typed_word("answer to who does it again", text, bl_again_words(), error);
    if (!word) {
        return false;
    }
    bl_again_of(word, &again);
    for (guint i = 0; i < picks->list->len; i++) {
        struct pick *pick = &g_array_index(picks->list, struct pick, i);
        if (strcmp(pick->rule->product, product) == 0) {
            pick->again = (int)again;
        }
    }
    return true;
}

GArray *picks_rows(const struct picks *picks, struct context *context, GError **error)
{
    g_autoptr(GArray) rows = g_array_new(FALSE, FALSE, sizeof(struct bl_treatment_row));
    for (guint i = 0; i < picks->list->len; i++) {
        const struct pick *pick = &g_array_index(picks->list, struct pick, i);
        g_autofree char *text = bl_rule_write(pick->rule);
        struct bl_treatment_row row = {
            .surface = pick->surface,
            .part = pick->part,
            .coats = pick->coats,
            .again = pick->again,
            .batch = pick->batch,
        };
        if (!bl_rule_version(context->store, pick->rule->product, text, context->now, &row.rule,
                             error)) {
            return NULL;
        }
        g_array_append_val(rows, row);
    }
    return g_steal_pointer(&rows);
}
