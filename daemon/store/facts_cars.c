/*
 * The facts of the cars: what they are, how far they have gone, and the jobs done on them,
 * those for a former owner too.
 */
#include "facts_read.h"

#include "checks.h"
#include "columns.h"
#include "mileage.h"

static const char CARS[] =
    "SELECT c.id, c.plate, c.name, c.km_a_year, c.exposures, c.gone_at, coalesce("
    "(SELECT o.since FROM car_owner o WHERE o.car = c.id AND o.customer = c.customer"
    " ORDER BY o.id DESC LIMIT 1), c.added_at), c.offers_held_at IS NOT NULL"
    " FROM car c WHERE c.customer = ?1 ORDER BY c.id";

/* What stands in a car's row; the arrays come later. */
struct car_row {
    char *plate, *name;
    char **exposures;
    int64_t gone_at, since;
};

static void car_row_clear(struct car_row *row)
{
    g_free(row->plate);
    g_free(row->name);
    g_strfreev(row->exposures);
}

static char **lines_of(const char *text)
{
    g_autoptr(GStrvBuilder) names = g_strv_builder_new();
    g_auto(GStrv) lines = g_strsplit(text ? text : "", "\n", -1);
    for (guint i = 0; lines[i]; i++) {
        if (*g_strstrip(lines[i])) {
            g_strv_builder_add(names, lines[i]);
        }
    }
    return g_strv_builder_end(names);
}

static bool read_car(const struct bl_rows *rows, struct car_row *row, GError **error)
{
    const char *text;
    if (!bl_column_whole(rows, 1, "plate", &text, error) || !bl_check_plate(text, error)) {
        return false;
    }
    row->plate = g_strdup(text);
    if (!bl_reader_line(rows, 2, "name of the car", &row->name, error) ||
        !bl_check_measure_or_none(bl_rows_real(rows, 3), BL_MEASURE_KM_A_YEAR, error) ||
        !bl_column_whole(rows, 4, "exposure", &text, error) ||
        !bl_check_lines(text, "exposure", error)) {
        return false;
    }
    row->exposures = lines_of(text);
    row->gone_at = bl_rows_int_or(rows, 5, BL_NEVER);
    row->since = bl_rows_int(rows, 6);
    return (row->gone_at == BL_NEVER || bl_check_at(row->gone_at, "date gone", error)) &&
           (row->since == 0 || bl_check_at(row->since, "date it came to its owner", error));
}

bool bl_read_cars(struct bl_reader *reader, GError **error)
{
    BL_ROWS rows = bl_rows(reader->store, CARS, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        __attribute__((cleanup(car_row_clear))) struct car_row row = {0};
        GError *why = NULL;
        if (!read_car(&rows, &row, &why)) {
            bl_reader_skip(reader, "car", bl_rows_int(&rows, 0), why);
            continue;
        }
        struct bl_car *car = bl_facts_add_car(reader->facts);
        g_strfreev(car->exposures);
        car->id = bl_rows_int(&rows, 0);
        car->plate = g_steal_pointer(&row.plate);
        car->name = g_steal_pointer(&row.name);
        car->km_a_year = bl_rows_real(&rows, 3);
        car->exposures = g_steal_pointer(&row.exposures);
        car->gone_at = row.gone_at;
        car->since = row.since;
        car->offers_held = bl_rows_int(&rows, 7) != 0;
    }
    return bl_rows_end(&rows, error);
}

static const char MILEAGE[] =
    "SELECT m.id, m.car, m.at, m.km, m.instrument FROM mileage m JOIN car c ON c.id = m.car"
    " WHERE c.customer = ?1 ORDER BY m.at, m.id";

/* The newest reading of the instrument so far, or NULL. */
static const struct bl_reading *last_of(const GArray *readings, int instrument)
{
    for (guint i = readings->len; i > 0; i--) {
        const struct bl_reading *reading = &g_array_index(readings, struct bl_reading, i - 1);
        if (reading->instrument == instrument) {
            return reading;
        }
    }
    return NULL;
}

static bool read_reading(struct bl_reader *reader, const struct bl_rows *rows, GError **error)
{
    struct bl_car *car = bl_reader_car(reader, bl_rows_int(rows, 1), error);
    if (!car || !bl_check_at(bl_rows_int(rows, 2), "date of the reading", error) ||
        !bl_check_measure(bl_rows_real(rows, 3), BL_MEASURE_KM, error) ||
        !bl_check_measure((double)bl_rows_int(rows, 4), BL_MEASURE_INSTRUMENT, error)) {
        return false;
    }
    struct bl_reading reading = {bl_rows_int(rows, 0), bl_rows_int(rows, 2),
                                 bl_rows_real(rows, 3), (int)bl_rows_int(rows, 4)};
    const struct bl_reading *last = last_of(car->readings, reading.instrument);
    if (last && !bl_reading_fits(last, &reading, error)) {
        return false;
    }
    g_array_append_val(car->readings, reading);
    return true;
}

bool bl_read_mileage(struct bl_reader *reader, GError **error)
{
    BL_ROWS rows = bl_rows(reader->store, MILEAGE, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        GError *why = NULL;
        if (!read_reading(reader, &rows, &why)) {
            bl_reader_skip(reader, "mileage", bl_rows_int(&rows, 0), why);
        }
    }
    return bl_rows_end(&rows, error);
}

static const char JOBS[] =
    "SELECT j.id, j.car, j.customer, j.finished_at, j.temp_c, j.humidity, j.wash_from,"
    " j.cured_indoors, j.entered_at, j.redo_of FROM job j JOIN car c ON c.id = j.car"
    " WHERE c.customer = ?1 ORDER BY j.finished_at, j.id";

/* A date column as a date; what does not fit one is no date at all. */
static bool read_date(const struct bl_rows *rows, int column, const char *what, int32_t *date,
                      GError **error)
{
    int64_t stored = bl_rows_int_or(rows, column, BL_NO_DATE);
    *date = (int32_t)CLAMP(stored, (int64_t)BL_NO_DATE + (stored != BL_NO_DATE), INT32_MAX);
    return bl_check_date_or_none(*date, what, error);
}

static bool read_job(struct bl_reader *reader, const struct bl_rows *rows, GError **error)
{
    struct bl_car *car = bl_reader_car(reader, bl_rows_int(rows, 1), error);
    struct bl_job job = {
        .id = bl_rows_int(rows, 0),
        .at = bl_rows_int(rows, 3),
        .customer = bl_rows_int(rows, 2),
        .temp_c = bl_rows_real(rows, 4),
        .humidity = bl_rows_real(rows, 5),
        .cured_indoors = bl_rows_int(rows, 7) == 1,
        .told_from = bl_rows_int(rows, 8),
        .redo_of = bl_rows_int(rows, 9),
    };
    if (!car || !bl_check_at(job.at, "time the job was finished", error) ||
        !bl_check_at(job.told_from, "time the job was entered", error) ||
        !bl_check_measure_or_none(job.temp_c, BL_MEASURE_TEMP_C, error) ||
        !bl_check_measure_or_none(job.humidity, BL_MEASURE_HUMIDITY, error) ||
        !read_date(rows, 6, "wash date", &job.wash_from, error)) {
        return false;
    }
    g_array_append_val(car->jobs, job);
    bl_reader_keep(reader->jobs, job.id, car->id);
    return true;
}

bool bl_read_jobs(struct bl_reader *reader, GError **error)
{
    BL_ROWS rows = bl_rows(reader->store, JOBS, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        GError *why = NULL;
        if (!read_job(reader, &rows, &why)) {
            bl_reader_skip(reader, "job", bl_rows_int(&rows, 0), why);
        }
    }
    return bl_rows_end(&rows, error);
}
