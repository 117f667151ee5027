/* What was written down wrongly is mended under the same checks, and what it said is kept. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/lookup.h"
#include "beadline/mend.h"
#include "books.h"

#define HOUR INT64_C(3600)

struct yard {
    struct books books;
    struct bl_store *store;
    int64_t ada, car, wax, seal, job, treatment;
};

/* A car at 41 000 km with a wax put on at noon. */
static void yard_open(struct yard *yard)
{
    books_open(&yard->books);
    yard->store = yard->books.store;
    yard->ada = books_customer(&yard->books, "Ada Example");
    yard->car = books_car(&yard->books, yard->ada, "AB12 CDE", NULL);
    yard->wax = books_rule(&yard->books, "wax");
    yard->seal = books_rule(&yard->books, "seal");
    yard->job = books_job(&yard->books, yard->car, NOON, 41000, yard->wax);
    yard->treatment = books_treatment(&yard->books, yard->job);
}

static void begin(struct yard *yard, const char *why)
{
    GError *error = NULL;
    books_begin(&yard->books);
    books_well(bl_mend_begin(yard->store, NOON + DAYS, why, &error), error);
}

static void end(struct yard *yard)
{
    GError *error = NULL;
    books_well(bl_mend_end(yard->store, &error), error);
    books_commit(&yard->books);
}

/* The newest correction of the car: "mileage 3 removed: km = 41000.0 (mistyped)". */
static void assert_kept(struct yard *yard, const char *text)
{
    GError *error = NULL;
    g_autoptr(GArray) list = bl_corrected_list(yard->store, yard->car, &error);
    books_well(list != NULL, error);
    assert_true(list->len > 0);
    const struct bl_corrected_row *row = &g_array_index(list, struct bl_corrected_row, 0);
    g_autofree char *got =
        g_strdup_printf("%s %" G_GINT64_FORMAT "%s: %s (%s)", row->thing, row->row,
                        row->removed ? " removed" : "", row->before, row->why ? row->why : "");
    assert_string_equal(got, text);
}

static struct bl_reading reading_of(struct yard *yard, int64_t id)
{
    struct bl_reading reading;
    int64_t car;
    int64_t job;
    GError *error = NULL;
    books_well(bl_mileage_get(yard->store, id, &reading, &car, &job, &error), error);
    assert_int_equal(car, yard->car);
    return reading;
}

static int64_t read_km(struct yard *yard, int64_t at, double km)
{
    int64_t id = 0;
    GError *error = NULL;
    books_begin(&yard->books);
    books_well(bl_mileage_add(yard->store, yard->car, at, km, "told", &id, &error), error);
    books_commit(&yard->books);
    return id;
}

static void test_a_reading_is_corrected_between_its_neighbours(void **state)
{
    struct yard yard;
    GError *error = NULL;
    (void)state;
    yard_open(&yard);
    int64_t id = read_km(&yard, NOON + 50 * DAYS, 48000);
    read_km(&yard, NOON + 100 * DAYS, 49000);
    struct bl_reading reading = reading_of(&yard, id);

    books_begin(&yard.books);
    reading.km = 49500;
    assert_false(bl_mileage_change(yard.store, &reading, &error));
    assert_non_null(strstr(error->message, "49 500 km"));
    books_refused(&error, BL_ERROR_REFUSED, "49 000 km");
    reading.km = 40999;
    assert_false(bl_mileage_change(yard.store, &reading, &error));
    assert_non_null(strstr(error->message, "41 000 km"));
    books_refused(&error, BL_ERROR_REFUSED, "40 999 km");
    reading.id = 99;
    assert_false(bl_mileage_change(yard.store, &reading, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no reading \"99\"");
    books_undo(&yard.books);

    begin(&yard, "heard wrong");
    reading = (struct bl_reading){id, NOON + 51 * DAYS, 48500, 0};
    books_well(bl_mileage_change(yard.store, &reading, &error), error);
    end(&yard);
    reading = reading_of(&yard, id);
    assert_true(reading.km == 48500 && reading.at == NOON + 51 * DAYS);
    assert_kept(&yard, "mileage 2: \"at\" = 1784635200, \"km\" = 48000.0 (heard wrong)");
    books_close(&yard.books);
}

static void test_a_jobs_reading_and_the_job_say_the_same(void **state)
{
    struct yard yard;
    GError *error = NULL;
    (void)state;
    yard_open(&yard);
    struct bl_reading reading = reading_of(&yard, 1);

    begin(&yard, NULL);
    reading.at += HOUR;
    assert_false(bl_mileage_change(yard.store, &reading, &error));
    books_refused(&error, BL_ERROR_REFUSED, "change the job's time");
    reading.at = NOON;
    reading.km = 41500;
    books_well(bl_mileage_change(yard.store, &reading, &error), error);
    end(&yard);
    assert_int_equal(books_number(&yard.books, "SELECT km FROM job WHERE id = 1"), 41500);

    begin(&yard, NULL);
    books_well(bl_mileage_remove(yard.store, 1, &error), error);
    end(&yard);
    assert_int_equal(books_number(&yard.books, "SELECT count(*) FROM mileage"), 0);
    assert_int_equal(books_number(&yard.books, "SELECT km IS NULL FROM job WHERE id = 1"), 1);
    books_close(&yard.books);
}

static void test_a_job_moves_with_its_coats_and_its_reading(void **state)
{
    struct yard yard;
    struct bl_job_row row;
    GError *error = NULL;
    (void)state;
    yard_open(&yard);
    books_well(bl_job_get(yard.store, yard.job, &row, &error), error);

    begin(&yard, "the day before");
    row.finished_at = NOON - DAYS;
    row.temp_c = 6;
    books_well(bl_job_change(yard.store, &row, &error), error);
    end(&yard);
    assert_int_equal(books_number(&yard.books, "SELECT last_coat_at FROM treatment"),
                     NOON - DAYS);
    assert_int_equal(books_number(&yard.books, "SELECT at FROM mileage"), NOON - DAYS);
    assert_int_equal(books_number(&yard.books, "SELECT temp_c FROM job"), 6);

    /* A coat that was not the last stays, and cannot come after the finish. */
    books_careless(&yard.books, "UPDATE treatment SET last_coat_at = last_coat_at - 3600");
    books_begin(&yard.books);
    row.finished_at = NOON - DAYS - 2 * HOUR;
    assert_false(bl_job_change(yard.store, &row, &error));
    books_refused(&error, BL_ERROR_INPUT, "after the job was finished");
    books_undo(&yard.books);

    int64_t other = books_job(&yard.books, yard.car, NOON + DAYS, 42000, yard.wax);
    books_begin(&yard.books);
    row.finished_at = NOON + DAYS;
    assert_false(bl_job_change(yard.store, &row, &error));
    g_autofree char *says = g_strdup_printf("job %" G_GINT64_FORMAT " of this car", other);
    books_refused(&error, BL_ERROR_REFUSED, says);
    row.finished_at = NOON + 2 * DAYS; /* its reading would come after a higher one */
    assert_false(bl_job_change(yard.store, &row, &error));
    books_refused(&error, BL_ERROR_REFUSED, "goes back from");
    books_undo(&yard.books);
    books_begin(&yard.books);
    row.finished_at = NOON - DAYS;
    row.km = (double)NAN;
    books_well(bl_job_change(yard.store, &row, &error), error);
    books_commit(&yard.books);
    assert_int_equal(books_number(&yard.books, "SELECT count(*) FROM mileage"), 1);
    bl_job_row_clear(&row);
    books_close(&yard.books);
}

static void test_a_removed_job_takes_all_its_own_along(void **state)
{
    struct yard yard;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    yard_open(&yard);
    struct bl_job_row redo = books_plain_job(yard.car, NOON + DAYS);
    struct bl_event_row care = {.car = yard.car,
                                .at = NOON + HOUR,
                                .treatment = yard.treatment,
                                .happening = BL_EV_CARE,
                                .surface = -1};
    redo.redo_of = yard.job;
    books_begin(&yard.books);
    books_well(bl_job_add(yard.store, &redo, NULL, &id, &error), error);
    books_well(bl_event_add(yard.store, &care, &care.id, &error), error);
    assert_false(bl_job_remove(yard.store, yard.job, &error));
    books_refused(&error, BL_ERROR_REFUSED, "job 2 makes good job 1");
    books_well(bl_job_remove(yard.store, id, &error), error);
    books_well(bl_job_remove(yard.store, yard.job, &error), error);
    books_commit(&yard.books);
    static const char *const tables[] = {"job", "treatment", "mileage", "event"};
    for (guint i = 0; i < G_N_ELEMENTS(tables); i++) {
        g_autofree char *count = g_strdup_printf("SELECT count(*) FROM %s", tables[i]);
        g_autofree char *kept = g_strdup_printf(
            "SELECT count(*) FROM corrected WHERE thing = '%s' AND removed", tables[i]);
        assert_int_equal(books_number(&yard.books, count), 0);
        assert_int_equal(books_number(&yard.books, kept), i == 0 ? 2 : 1);
    }
    books_close(&yard.books);
}

static void test_a_treatment_is_corrected_as_it_was_written(void **state)
{
    struct yard yard;
    struct bl_treatment_row row;
    GError *error = NULL;
    int64_t car = 0;
    (void)state;
    yard_open(&yard);
    books_careless(&yard.books, "INSERT INTO treatment (job, rule, surface, last_coat_at)"
                                " VALUES (1, 2, 'paint', 1780315200)");
    books_well(bl_treatment_get(yard.store, 2, &row, &car, &error), error);
    assert_int_equal(car, yard.car);
    assert_string_equal(row.product, "seal");

    books_begin(&yard.books);
    row.rule = yard.wax;
    assert_false(bl_treatment_change(yard.store, &row, &error));
    books_refused(&error, BL_ERROR_INPUT, "twice in this job");
    row.rule = yard.seal;
    row.last_coat_at = NOON + 1;
    assert_false(bl_treatment_change(yard.store, &row, &error));
    books_refused(&error, BL_ERROR_INPUT, "after the job was finished");
    row.last_coat_at = NOON - HOUR;
    row.coats = 10;
    assert_false(bl_treatment_change(yard.store, &row, &error));
    books_refused(&error, BL_ERROR_INPUT, "coats \"10\"");
    books_undo(&yard.books);

    begin(&yard, "wrong surface");
    row.coats = 2;
    row.surface = BL_WHEELS;
    books_well(bl_treatment_change(yard.store, &row, &error), error);
    end(&yard);
    assert_kept(&yard, "treatment 2: \"surface\" = 'paint', \"coats\" = 1,"
                       " \"last_coat_at\" = 1780315200 (wrong surface)");
    bl_treatment_row_clear(&row);

    begin(&yard, "never put on");
    books_well(bl_treatment_remove(yard.store, 2, &error), error);
    assert_false(bl_treatment_remove(yard.store, 2, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no treatment \"2\"");
    assert_false(bl_treatment_get(yard.store, 2, &row, NULL, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no treatment \"2\"");
    end(&yard);
    books_close(&yard.books);
}

static void test_an_event_is_corrected_or_removed(void **state)
{
    struct yard yard;
    struct bl_event_row row = {
        .at = NOON + HOUR, .happening = BL_EV_CURED_INDOORS, .surface = -1, .temp_c = 25};
    GError *error = NULL;
    (void)state;
    yard_open(&yard);
    row.car = yard.car;
    row.hours = 8;
    books_begin(&yard.books);
    books_well(bl_event_add(yard.store, &row, &row.id, &error), error);
    row.hours = -1;
    assert_false(bl_event_change(yard.store, &row, &error));
    books_refused(&error, BL_ERROR_INPUT, "hours of the cure \"-1\"");
    row.hours = 12;
    row.note = "Gate's open, 2 = two";
    books_well(bl_event_change(yard.store, &row, &error), error);
    books_commit(&yard.books);
    assert_kept(&yard, "event 1: \"hours\" = 8.0, \"note\" = NULL ()");
    struct bl_event_row got;
    books_well(bl_event_get(yard.store, row.id, &got, &error), error);
    assert_true(got.hours == 12 && got.temp_c == 25);
    assert_string_equal(got.note, "Gate's open, 2 = two");
    bl_event_row_clear(&got);

    begin(&yard, "another car");
    books_well(bl_event_remove(yard.store, row.id, &error), error);
    assert_false(bl_event_get(yard.store, row.id, &got, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no event \"1\"");
    assert_false(bl_event_remove(yard.store, row.id, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no event \"1\"");
    end(&yard);
    books_close(&yard.books);
}

static void test_the_first_reading_of_a_new_instrument_may_be_lower(void **state)
{
    struct yard yard;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    yard_open(&yard);
    books_begin(&yard.books);
    assert_false(bl_mileage_new_instrument(yard.store, yard.car, NOON, 5, "told", &id, &error));
    books_refused(&error, BL_ERROR_REFUSED, "reading 1 \"41 000 km");
    books_well(
        bl_mileage_new_instrument(yard.store, yard.car, NOON + DAYS, 5, "told", &id, &error),
        error);
    int64_t later = 0;
    books_well(
        bl_mileage_add(yard.store, yard.car, NOON + 9 * DAYS, 400, "told", &later, &error),
        error);
    assert_int_equal(reading_of(&yard, later).instrument, 1);
    struct bl_reading moved = {id, NOON - DAYS, 5, 1};
    assert_false(bl_mileage_change(yard.store, &moved, &error));
    books_refused(&error, BL_ERROR_REFUSED, "another instrument (reading 1)");
    moved.at = NOON + 9 * DAYS;
    moved.km = 400;
    assert_false(bl_mileage_change(yard.store, &moved, &error));
    books_refused(&error, BL_ERROR_REFUSED, "that is reading 3 already");
    books_commit(&yard.books);
    books_close(&yard.books);
}

static void test_a_job_done_again_holds_the_cars_offers_until_lifted(void **state)
{
    struct yard yard;
    struct bl_car_row row;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    yard_open(&yard);
    struct bl_job_row redo = books_plain_job(yard.car, NOON + DAYS);
    int64_t other = books_car(&yard.books, yard.ada, "XY99 ZZZ", NULL);
    redo.redo_of = books_job(&yard.books, other, NOON, (double)NAN, yard.wax);
    books_begin(&yard.books);
    assert_false(bl_job_add(yard.store, &redo, NULL, &id, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no job of this car \"2\"");
    redo.redo_of = yard.job;
    books_well(bl_job_add(yard.store, &redo, NULL, &id, &error), error);
    books_commit(&yard.books);
    g_autoptr(GArray) held = bl_car_held_list(yard.store, &error);
    books_well(held != NULL, error);
    assert_int_equal(held->len, 1);
    assert_int_equal(g_array_index(held, struct bl_car_row, 0).id, yard.car);

    books_well(bl_car_get(yard.store, yard.car, &row, &error), error);
    assert_int_equal(row.offers_held_at, redo.entered_at);
    books_begin(&yard.books);
    row.offers_held_at = 0;
    books_well(bl_car_change(yard.store, &row, NOON, &error), error);
    books_commit(&yard.books);
    assert_int_equal(books_number(&yard.books, "SELECT count(offers_held_at) FROM car"), 0);

    /* Another owner has not complained. */
    books_careless(&yard.books, "UPDATE car SET offers_held_at = 1780315200 WHERE id = 1;"
                                "UPDATE car SET customer = 2 WHERE id = 1");
    assert_int_equal(books_number(&yard.books, "SELECT count(offers_held_at) FROM car"), 0);
    bl_car_row_clear(&row);
    books_close(&yard.books);
}

/* Whoever writes, and however, leaves behind what there was. */
static void test_no_other_program_changes_a_fact_unseen(void **state)
{
    static const struct {
        const char *sql, *thing;
        int kept;
    } tries[] = {
        {"UPDATE mileage SET km = 7", "mileage", 1},
        {"UPDATE mileage SET km = km, how = how", "mileage", 0},
        {"DELETE FROM mileage", "mileage", 1},
        {"INSERT OR REPLACE INTO mileage (id, car, at, km) VALUES (1, 1, 5, 6)", "mileage", 1},
        {"UPDATE job SET humidity = 3", "job", 1},
        {"REPLACE INTO job (car, customer, finished_at, entered_at)"
         " VALUES (1, 1, 1780315200, 9)",
         "job", 1},
        {"INSERT INTO job (id, car, customer, finished_at, entered_at) VALUES (5, 1, 1, 9, 9);"
         "UPDATE OR REPLACE job SET finished_at = 1780315200 WHERE id = 5",
         "job", 2},
        {"UPDATE treatment SET coats = 3, batch = 'B'", "treatment", 1},
        {"REPLACE INTO treatment (job, rule, surface, last_coat_at) VALUES (1, 1, 'paint', 9)",
         "treatment", 1},
        {"DELETE FROM treatment", "treatment", 1},
        {"INSERT INTO event (id, car, at, happening) VALUES (4, 1, 9, 'care');"
         "REPLACE INTO event (id, car, at, happening) VALUES (4, 1, 10, 'care')",
         "event", 1},
        {"UPDATE corrected SET why = 'because'", "", -1},
        {"DELETE FROM corrected", "", -1},
        {"REPLACE INTO corrected (id, at, thing, row, removed, before)"
         " VALUES (1, 1, 'job', 1, 0, '')",
         "", -1},
    };
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(tries); i++) {
        struct yard yard;
        yard_open(&yard);
        books_careless(&yard.books, "UPDATE event SET note = 'x' WHERE id = 0");
        if (tries[i].kept < 0) {
            books_careless(&yard.books, "UPDATE job SET note = 'x'");
            assert_int_not_equal(sqlite3_exec(yard.books.other, tries[i].sql, NULL, NULL, NULL),
                                 SQLITE_OK);
            assert_int_equal(books_number(&yard.books, "SELECT count(*) FROM corrected"), 1);
        } else {
            g_autofree char *count = g_strdup_printf(
                "SELECT count(*) FROM corrected WHERE thing = '%s'", tries[i].thing);
            books_careless(&yard.books, tries[i].sql);
            if (books_number(&yard.books, count) != tries[i].kept) {
                fail_msg("%s", tries[i].sql);
            }
        }
        books_close(&yard.books);
    }
}

/* What is kept is a SET: it puts things back as they were. */
static void test_what_was_kept_can_be_put_back(void **state)
{
    struct yard yard;
    (void)state;
    yard_open(&yard);
    books_careless(&yard.books,
                   "INSERT INTO event (id, car, at, happening, \"with\", note, hours, temp_c)"
                   " VALUES (1, 1, 9, 'cured indoors', 'Ada''s lamp', NULL, 0.1, 20.3);"
                   "CREATE TABLE copy AS SELECT * FROM event;"
                   "UPDATE event SET at = 10, \"with\" = NULL, note = 'n', hours = 2");
    sqlite3_stmt *statement = NULL;
    assert_int_equal(sqlite3_prepare_v2(yard.books.other, "SELECT before FROM corrected", -1,
                                        &statement, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
    g_autofree char *set =
        g_strdup_printf("UPDATE event SET %s", (const char *)sqlite3_column_text(statement, 0));
    sqlite3_finalize(statement);
    books_careless(&yard.books, set);
    assert_int_equal(
        books_number(&yard.books,
                     "SELECT count(*) FROM (SELECT * FROM copy EXCEPT SELECT * FROM event)"),
        0);
    books_close(&yard.books);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_reading_is_corrected_between_its_neighbours),
        cmocka_unit_test(test_a_jobs_reading_and_the_job_say_the_same),
        cmocka_unit_test(test_a_job_moves_with_its_coats_and_its_reading),
        cmocka_unit_test(test_a_removed_job_takes_all_its_own_along),
        cmocka_unit_test(test_a_treatment_is_corrected_as_it_was_written),
        cmocka_unit_test(test_an_event_is_corrected_or_removed),
        cmocka_unit_test(test_the_first_reading_of_a_new_instrument_may_be_lower),
        cmocka_unit_test(test_a_job_done_again_holds_the_cars_offers_until_lifted),
        cmocka_unit_test(test_no_other_program_changes_a_fact_unseen),
        cmocka_unit_test(test_what_was_kept_can_be_put_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
