/*
 * The facts of the work: what is on the cars, and what happened to it since.
 */
#include "facts_read.h"

#include "checks.h"
#include "columns.h"

static const char TREATMENTS[] =
    "SELECT t.id, j.car, t.job, t.rule, t.surface, t.part, t.coats, t.last_coat_at, t.again"
    " FROM treatment t JOIN job j ON j.id = t.job JOIN car c ON c.id = j.car"
    " WHERE c.customer = ?1 ORDER BY t.last_coat_at, t.id";

static bool read_again(const struct bl_rows *rows, int column, int *again, GError **error)
{
    enum bl_again word;
    *again = -1;
    if (bl_rows_null(rows, column)) {
        return true;
    }
    if (!bl_again_of(bl_rows_text(rows, column), &word)) {
        return bl_reader_unknown("who does it again", bl_rows_text(rows, column), error);
    }
    *again = (int)word;
    return true;
}

static bool read_rule(struct bl_reader *reader, struct bl_treatment *treatment, GError **error)
{
    treatment->rule = reader->book->rule(reader->book->self, treatment->rule_id);
    if (treatment->rule) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "its rule version %" G_GINT64_FORMAT
                " is missing or cannot be read: put the product into the catalogue again",
                treatment->rule_id);
    return false;
}

/* What stands in the row alone. */
static bool read_columns(const struct bl_rows *rows, struct bl_treatment *treatment,
                         GError **error)
{
    double coats = bl_rows_real(rows, 6);
    if (!bl_surface_of(bl_rows_text(rows, 4), &treatment->surface)) {
        return bl_reader_unknown("surface", bl_rows_text(rows, 4), error);
    }
    if (!bl_check_measure(coats, BL_MEASURE_COATS, error) ||
        !bl_check_at(treatment->last_coat_at, "time of the last coat", error) ||
        !read_again(rows, 8, &treatment->again, error) ||
        !bl_reader_line(rows, 5, "part", &treatment->part, error)) {
        return false;
    }
    treatment->coats = (int)coats;
    return true;
}

static bool read_treatment(struct bl_reader *reader, const struct bl_rows *rows, GError **error)
{
    struct bl_treatment treatment = {
        .id = bl_rows_int(rows, 0),
        .job = bl_rows_int(rows, 2),
        .rule_id = bl_rows_int(rows, 3),
        .last_coat_at = bl_rows_int(rows, 7),
    };
    struct bl_car *car = bl_reader_car(reader, bl_rows_int(rows, 1), error);
    if (!car) {
        return false;
    }
    if (!bl_reader_kept(reader->jobs, treatment.job)) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "its job %" G_GINT64_FORMAT " is left out: mend that one", treatment.job);
        return false;
    }
    if (!read_rule(reader, &treatment, error) || !read_columns(rows, &treatment, error)) {
        return false;
    }
    if (!treatment.part) {
        treatment.part = g_strdup("");
    }
    g_array_append_val(car->treatments, treatment);
    bl_reader_keep(reader->treatments, treatment.id, car->id);
    return true;
}

bool bl_read_treatments(struct bl_reader *reader, GError **error)
{
    BL_ROWS rows = bl_rows(reader->store, TREATMENTS, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        GError *why = NULL;
        if (!read_treatment(reader, &rows, &why)) {
            bl_reader_skip(reader, "treatment", bl_rows_int(&rows, 0), why);
        }
    }
    return bl_rows_end(&rows, error);
}

static const char EVENTS[] =
    "SELECT e.id, e.car, e.at, e.happening, e.treatment, e.surface, e.part, e.\"with\","
    " e.finding, e.temp_c, e.hours FROM event e JOIN car c ON c.id = e.car"
    " WHERE c.customer = ?1 ORDER BY e.at, e.id";

static bool read_surface(const struct bl_rows *rows, int column, int *surface, GError **error)
{
    enum bl_surface word;
    *surface = -1;
    if (bl_rows_null(rows, column)) {
        return true;
    }
    if (!bl_surface_of(bl_rows_text(rows, column), &word)) {
        return bl_reader_unknown("surface", bl_rows_text(rows, column), error);
    }
    *surface = (int)word;
    return true;
}

/* A finding in other words is for people. */
static int finding_of(const struct bl_rows *rows, int column)
{
    enum bl_finding finding;
    return bl_finding_of(bl_rows_text(rows, column), &finding) ? (int)finding : -1;
}

static bool read_happening(const struct bl_rows *rows, struct bl_event *event, GError **error)
{
    if (!bl_happening_of(bl_rows_text(rows, 3), &event->happening)) {
        return bl_reader_unknown("happening", bl_rows_text(rows, 3), error);
    }
    return bl_check_at(event->at, "time of the event", error) &&
           read_surface(rows, 5, &event->surface, error) &&
           bl_reader_line(rows, 6, "part", &event->part, error) &&
           bl_reader_line(rows, 7, "thing it was done with", &event->with, error) &&
           bl_check_measure_or_none(event->temp_c, BL_MEASURE_CURE_C, error) &&
           bl_check_measure_or_none(event->hours, BL_MEASURE_HOURS, error);
}

static bool read_event(struct bl_reader *reader, const struct bl_rows *rows,
                       struct bl_event *event, GError **error)
{
    struct bl_car *car = bl_reader_car(reader, bl_rows_int(rows, 1), error);
    if (!car || !read_happening(rows, event, error)) {
        return false;
    }
    if (event->treatment != 0 &&
        bl_reader_kept(reader->treatments, event->treatment) != car->id) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "its treatment %" G_GINT64_FORMAT
                    " is not on this car, or is left out: mend that one",
                    event->treatment);
        return false;
    }
    g_array_append_val(car->events, *event);
    return true;
}

bool bl_read_events(struct bl_reader *reader, GError **error)
{
    BL_ROWS rows = bl_rows(reader->store, EVENTS, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        struct bl_event event = {.id = bl_rows_int(&rows, 0),
                                 .at = bl_rows_int(&rows, 2),
                                 .treatment = bl_rows_int(&rows, 4),
                                 .finding = finding_of(&rows, 8),
                                 .temp_c = bl_rows_real(&rows, 9),
                                 .hours = bl_rows_real(&rows, 10)};
        GError *why = NULL;
        if (!read_event(reader, &rows, &event, &why)) {
            g_free(event.part);
            g_free(event.with);
            bl_reader_skip(reader, "event", bl_rows_int(&rows, 0), why);
        }
    }
    return bl_rows_end(&rows, error);
}
