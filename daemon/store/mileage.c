/*
 * Mileage: readings of a car's instrument. What cannot be true is refused here, because every
 * date of wear stands on the differences between readings.
 */
#include "mileage.h"

#include "beadline/lookup.h"
#include "beadline/records.h"
#include "checks.h"
#include "columns.h"

/* A day's driving no car exceeds (common practice, no source). */
#define KM_A_DAY_MOST 2000.0

bool bl_reading_fits(const struct bl_reading *earlier, const struct bl_reading *later,
                     GError **error)
{
    double days = (double)(later->at - earlier->at) / (double)BL_DAY;
    bool same_time = later->at == earlier->at;
    bool back = later->km < earlier->km;
    if (!same_time && !back && later->km - earlier->km <= KM_A_DAY_MOST * MAX(1.0, days)) {
        return true;
    }
    g_autofree char *from = bl_km_text(earlier->km);
    g_autofree char *to = bl_km_text(later->km);
    g_autofree char *from_at = bl_at_text(earlier->at);
    g_autofree char *to_at = bl_at_text(later->at);
    g_set_error(
        error, BL_ERROR, BL_ERROR_REFUSED,
        "the mileage %s \"%s\" on %s %s \"%s\" on %s: check both and correct the wrong one",
        same_time ? "is both"
        : back    ? "goes back from"
                  : "rises too fast (over 2 000 km a day) from",
        from, from_at, same_time ? "and" : "to", to, to_at);
    return false;
}

/* The instrument a reading of that instant was taken from: that of the reading before it, else
 * of the first one after. */
static const char INSTRUMENT[] = "SELECT instrument FROM mileage WHERE car = ?1"
                                 " ORDER BY at > ?2, abs(at - ?2), id DESC LIMIT 1";

static const char BEFORE[] =
    "SELECT id, at, km FROM mileage WHERE car = ?1 AND"
    " instrument = ?2 AND at <= ?3 AND id <> ?4 ORDER BY at DESC, id DESC LIMIT 1";
static const char AFTER[] = "SELECT id, at, km FROM mileage WHERE car = ?1 AND"
                            " instrument = ?2 AND at > ?3 AND id <> ?4 ORDER BY at, id LIMIT 1";

/* The neighbour `select` finds, other than the reading itself; its id stays 0 when there is
 * none. */
static bool neighbour(struct bl_store *store, const char *select, int64_t car,
                      const struct bl_reading *of, struct bl_reading *found, GError **error)
{
    BL_ROWS rows =
        bl_rows(store, select,
                BL_VALUES(bl_int(car), bl_int(of->instrument), bl_int(of->at), bl_int(of->id)));
    if (bl_rows_next(&rows)) {
        *found = (struct bl_reading){bl_rows_int(&rows, 0), bl_rows_int(&rows, 1),
                                     bl_rows_real(&rows, 2), of->instrument};
    }
    return bl_rows_end(&rows, error);
}

static const char ADD[] =
    "INSERT INTO mileage (car, at, km, instrument, how) VALUES (?1, ?2, ?3, ?4, ?5)";

/* Between its neighbours, or the very reading that is there already. */
static bool insert(struct bl_store *store, int64_t car, const struct bl_reading *reading,
                   const char *how, int64_t *id, GError **error)
{
    return bl_sql_insert(store, ADD,
                         BL_VALUES(bl_int(car), bl_int(reading->at), bl_real(reading->km),
                                   bl_int(reading->instrument), bl_text(how)),
                         id, error);
}

bool bl_reading_between(struct bl_store *store, int64_t car, const struct bl_reading *reading,
                        int64_t *same, GError **error)
{
    struct bl_reading before = {0};
    struct bl_reading after = {0};
    *same = 0;
    if (!neighbour(store, BEFORE, car, reading, &before, error) ||
        !neighbour(store, AFTER, car, reading, &after, error)) {
        return false;
    }
    if (before.id && before.at == reading->at && before.km == reading->km) {
        *same = before.id;
        return true;
    }
    return (!before.id || bl_reading_fits(&before, reading, error)) &&
           (!after.id || bl_reading_fits(reading, &after, error));
}

static const char CAR[] = "SELECT id FROM car WHERE id = ?1";

static bool check(struct bl_store *store, int64_t car, const struct bl_reading *reading,
                  const char *how, GError **error)
{
    return bl_check_measure(reading->km, BL_MEASURE_KM, error) &&
           bl_check_at(reading->at, "date of the reading", error) &&
           bl_check_line(how, "way the mileage was read", error) &&
           bl_must_exist(store, CAR, "car", car, error);
}

bool bl_mileage_add(struct bl_store *store, int64_t car, int64_t at, double km, const char *how,
                    int64_t *id, GError **error)
{
    struct bl_reading reading = {0, at, km, 0};
    int64_t instrument = 0;
    if (!check(store, car, &reading, how, error) ||
        !bl_sql_number(store, INSTRUMENT, BL_VALUES(bl_int(car), bl_int(at)), 0, &instrument,
                       error)) {
        return false;
    }
    reading.instrument = (int)instrument;
    return bl_reading_between(store, car, &reading, id, error) &&
           (*id != 0 || insert(store, car, &reading, how, id, error));
}

static const char NEWEST[] = "SELECT id, at, km, instrument FROM mileage WHERE car = ?1"
                             " ORDER BY at DESC, id DESC LIMIT 1";

static bool newest(struct bl_store *store, int64_t car, struct bl_reading *found,
                   GError **error)
{
    BL_ROWS rows = bl_rows(store, NEWEST, BL_VALUES(bl_int(car)));
    *found = (struct bl_reading){.at = INT64_MIN, .instrument = -1};
    if (bl_rows_next(&rows)) {
        *found = (struct bl_reading){bl_rows_int(&rows, 0), bl_rows_int(&rows, 1),
                                     bl_rows_real(&rows, 2), (int)bl_rows_int(&rows, 3)};
    }
    return bl_rows_end(&rows, error);
}

bool bl_mileage_new_instrument(struct bl_store *store, int64_t car, int64_t at, double km,
                               const char *how, int64_t *id, GError **error)
{
    struct bl_reading reading = {0, at, km, 0};
    struct bl_reading last;
    if (!check(store, car, &reading, how, error) || !newest(store, car, &last, error)) {
        return false;
    }
    reading.instrument = last.instrument + 1;
    if (last.at < at) {
        return bl_check_measure(reading.instrument, BL_MEASURE_INSTRUMENT, error) &&
               insert(store, car, &reading, how, id, error);
    }
    g_autofree char *shown = bl_km_text(last.km);
    g_autofree char *when = bl_at_text(last.at);
    g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                "reading %" G_GINT64_FORMAT " \"%s\" on %s is of the instrument before and not "
                "earlier: give a later time, or correct that one",
                last.id, shown, when);
    return false;
}

static const char LIST[] = "SELECT id, at, km, instrument FROM mileage WHERE car = ?1"
                           " ORDER BY at DESC, id DESC";

GArray *bl_mileage_list(struct bl_store *store, int64_t car, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_reading), NULL);
    BL_ROWS rows = bl_rows(store, LIST, BL_VALUES(bl_int(car)));
    while (bl_rows_next(&rows)) {
        struct bl_reading reading = {bl_rows_int(&rows, 0), bl_rows_int(&rows, 1),
                                     bl_rows_real(&rows, 2), (int)bl_rows_int(&rows, 3)};
        g_array_append_val(list, reading);
    }
    return bl_row_array_end(list, &rows, error);
}
