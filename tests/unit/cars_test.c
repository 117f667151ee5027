/* Cars and their mileage: plates, owners and readings that can be true. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/lookup.h"
#include "books.h"

static struct bl_car_row estate(int64_t customer)
{
    return (struct bl_car_row){.customer = customer,
                               .plate = "AB12 CDE",
                               .name = "blue estate",
                               .size = "large",
                               .note = "child seat",
                               .exposures = "stored outdoors\nbrush wash",
                               .km_a_year = 19400.5,
                               .gone_at = BL_NEVER,
                               .added_at = NOON};
}

static void assert_same(const struct bl_car_row *a, const struct bl_car_row *b)
{
    assert_int_equal(a->customer, b->customer);
    assert_int_equal(a->place, b->place);
    assert_string_equal(a->plate, b->plate);
    assert_true(g_strcmp0(a->name, b->name) == 0);
    assert_true(g_strcmp0(a->size, b->size) == 0);
    assert_string_equal(a->note, b->note);
    assert_string_equal(a->exposures, b->exposures);
    assert_true(a->km_a_year == b->km_a_year || (isnan(a->km_a_year) && isnan(b->km_a_year)));
    assert_int_equal(a->gone_at, b->gone_at);
    assert_int_equal(a->added_at, b->added_at);
}

static void test_a_car_is_read_back_as_written(void **state)
{
    struct books books;
    GError *error = NULL;
    struct bl_place_row place = {.name = "home"};
    struct bl_car_row got;
    (void)state;
    books_open(&books);
    struct bl_car_row row = estate(books_customer(&books, "Ada Example"));
    place.customer = row.customer;
    books_begin(&books);
    books_well(bl_place_add(books.store, &place, &row.place, &error), error);
    books_well(bl_car_add(books.store, &row, &row.id, &error), error);
    books_commit(&books);
    books_well(bl_car_get(books.store, row.id, &got, &error), error);
    assert_same(&row, &got);
    bl_car_row_clear(&got);

    row.plate = "XY99 ZZZ";
    row.name = row.size = NULL;
    row.place = 0;
    row.note = row.exposures = "";
    row.km_a_year = (double)NAN;
    row.gone_at = NOON + DAYS;
    books_begin(&books);
    books_well(bl_car_change(books.store, &row, NOON, &error), error);
    books_commit(&books);
    g_autoptr(GArray) list = bl_car_list(books.store, row.customer, &error);
    books_well(list != NULL, error);
    assert_int_equal(list->len, 1);
    assert_same(&row, &g_array_index(list, struct bl_car_row, 0));
    g_autoptr(GArray) others = bl_car_list(books.store, 99, &error);
    books_well(others != NULL, error);
    assert_int_equal(others->len, 0);
    books_close(&books);
}

static void test_a_slip_is_refused_with_its_remedy(void **state)
{
    const struct {
        size_t field;
        const char *value, *says;
    } slips[] = {
        {offsetof(struct bl_car_row, plate), NULL, "plate is missing"},
        {offsetof(struct bl_car_row, plate), "", "plate is empty"},
        {offsetof(struct bl_car_row, plate), "- - -", "plate \"- - -\" has no letter or digit"},
        {offsetof(struct bl_car_row, plate), "AB12\x01", "control character (U+0001)"},
        {offsetof(struct bl_car_row, name), "", "name of the car is empty"},
        {offsetof(struct bl_car_row, name), "blue\nestate", "name of the car"},
        {offsetof(struct bl_car_row, size), " ", "size is empty"},
        {offsetof(struct bl_car_row, exposures), "brush wash\n\nsalt", "exposure is empty"},
        {offsetof(struct bl_car_row, exposures), "salt\x7f", "control character (U+007F)"},
        {offsetof(struct bl_car_row, note), "\xc3\x28", "note is not valid UTF-8"},
    };
    static const double distances[] = {0, -1, 500001, (double)INFINITY};
    struct books books;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    books_open(&books);
    int64_t ada = books_customer(&books, "Ada Example");
    books_begin(&books);
    for (guint i = 0; i < G_N_ELEMENTS(slips); i++) {
        struct bl_car_row row = estate(ada);
        memcpy((char *)&row + slips[i].field, &slips[i].value, sizeof slips[i].value);
        assert_false(bl_car_add(books.store, &row, &id, &error));
        books_refused(&error, BL_ERROR_INPUT, slips[i].says);
        assert_false(bl_car_change(books.store, &row, NOON, &error));
        books_refused(&error, BL_ERROR_INPUT, slips[i].says);
    }
    for (guint i = 0; i < G_N_ELEMENTS(distances); i++) {
        struct bl_car_row row = estate(ada);
        row.km_a_year = distances[i];
        assert_false(bl_car_add(books.store, &row, &id, &error));
        books_refused(&error, BL_ERROR_INPUT, "give a figure above 0, up to 500 000 km");
    }
    struct bl_car_row row = estate(77);
    assert_false(bl_car_add(books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no customer \"77\"");
    row = estate(ada);
    row.place = 5;
    assert_false(bl_car_add(books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no place \"5\"");
    row = estate(ada);
    row.id = 9;
    assert_false(bl_car_change(books.store, &row, NOON, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no car \"9\"");
    row.gone_at = 5;
    assert_false(bl_car_change(books.store, &row, NOON, &error));
    books_refused(&error, BL_ERROR_INPUT, "date gone \"5\"");
    books_commit(&books);
    assert_false(bl_car_get(books.store, 1, &row, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no car \"1\"");
    books_close(&books);
}

static void test_a_plate_is_on_one_car_that_is_here(void **state)
{
    struct books books;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    books_open(&books);
    int64_t ada = books_customer(&books, "Ada Example");
    int64_t first = books_car(&books, ada, "AB12 CDE", NULL);
    struct bl_car_row second = estate(books_customer(&books, "Bo Example"));
    second.plate = "ab-12cde";
    books_begin(&books);
    assert_false(bl_car_add(books.store, &second, &id, &error));
    books_refused(&error, BL_ERROR_REFUSED,
                  "plate \"AB12 CDE\" is on car 1 (Ada Example) already: change that car's "
                  "plate, or mark it gone first");

    /* One that has gone may have borne it, and bears it no more. */
    second.gone_at = NOON;
    books_well(bl_car_add(books.store, &second, &second.id, &error), error);
    second.gone_at = BL_NEVER;
    assert_false(bl_car_change(books.store, &second, NOON, &error));
    books_refused(&error, BL_ERROR_REFUSED, "is on car 1 (Ada Example) already");

    struct bl_car_row old = {.id = first,
                             .customer = ada,
                             .plate = "AB12 CDE",
                             .km_a_year = (double)NAN,
                             .gone_at = NOON,
                             .added_at = NOON};
    books_well(bl_car_change(books.store, &old, NOON, &error), error);
    books_well(bl_car_change(books.store, &second, NOON, &error), error);
    books_commit(&books);
    books_close(&books);
}

static void test_owners_and_plates_of_the_past_are_kept_with_their_dates(void **state)
{
    struct books books;
    GError *error = NULL;
    (void)state;
    books_open(&books);
    struct bl_car_row row = estate(books_customer(&books, "Ada Example"));
    int64_t bo = books_customer(&books, "Bo Example");
    books_begin(&books);
    books_well(bl_car_add(books.store, &row, &row.id, &error), error);
    row.customer = bo;
    row.plate = "BO 1";
    books_well(bl_car_change(books.store, &row, NOON + 30 * DAYS, &error), error);
    books_well(bl_car_change(books.store, &row, NOON + 60 * DAYS, &error), error);
    books_commit(&books);
    assert_int_equal(books_number(&books, "SELECT count(*) FROM car_owner"), 2);
    assert_int_equal(
        books_number(&books, "SELECT since FROM car_owner ORDER BY id DESC LIMIT 1"),
        NOON + 30 * DAYS);
    assert_int_equal(
        books_number(&books, "SELECT since FROM car_plate WHERE plate_key = 'BO1'"),
        NOON + 30 * DAYS);
    assert_int_equal(
        books_number(&books, "SELECT since FROM car_plate WHERE plate_key = 'AB12CDE'"), NOON);
    books_close(&books);
}

static bool read_at(struct books *books, int64_t car, int64_t at, double km, GError **error)
{
    int64_t id = 0;
    return bl_mileage_add(books->store, car, at, km, "read off", &id, error);
}

static void test_a_reading_fits_between_its_neighbours(void **state)
{
    struct books books;
    GError *error = NULL;
    (void)state;
    books_open(&books);
    int64_t car = books_car(&books, books_customer(&books, "Ada Example"), "AB12 CDE", NULL);
    books_begin(&books);
    books_well(read_at(&books, car, NOON, 41000, &error), error);
    books_well(read_at(&books, car, NOON + 120 * DAYS, 47000, &error), error);

    assert_false(read_at(&books, car, NOON + 130 * DAYS, 46999, &error));
    books_refused(
        &error, BL_ERROR_REFUSED,
        "the mileage goes back from \"47 000 km (29 204 mi)\" on 2026-09-29 12:00 UTC "
        "to \"46 999 km (29 204 mi)\" on 2026-10-09 12:00 UTC: check both and correct "
        "the wrong one");
    assert_false(read_at(&books, car, NOON + 60 * DAYS, 47001, &error));
    books_refused(&error, BL_ERROR_REFUSED, "goes back from \"47 001 km");
    assert_false(read_at(&books, car, NOON - DAYS, 41001, &error));
    books_refused(&error, BL_ERROR_REFUSED, "to \"41 000 km (25 476 mi)\"");
    assert_false(read_at(&books, car, NOON + 122 * DAYS, 51001, &error));
    books_refused(&error, BL_ERROR_REFUSED,
                  "rises too fast (over 2 000 km a day) from \"47 000 km");
    assert_false(read_at(&books, car, NOON, 41001, &error));
    books_refused(&error, BL_ERROR_REFUSED, "is both \"41 000 km (25 476 mi)\"");

    /* The limits themselves are allowed: standing still, and 2 000 km in an hour as in a day.
     */
    books_well(read_at(&books, car, NOON + 60 * DAYS, 47000, &error), error);
    books_well(read_at(&books, car, NOON + 120 * DAYS + 3600, 49000, &error), error);
    books_well(read_at(&books, car, NOON + 122 * DAYS + 3600, 53000, &error), error);
    books_commit(&books);
    books_close(&books);
}

static void test_the_same_reading_twice_is_one(void **state)
{
    struct books books;
    GError *error = NULL;
    int64_t first = 0;
    int64_t second = 0;
    (void)state;
    books_open(&books);
    int64_t car = books_car(&books, books_customer(&books, "Ada Example"), "AB12 CDE", NULL);
    books_begin(&books);
    books_well(bl_mileage_add(books.store, car, NOON, 41000, "x", &first, &error), error);
    books_well(bl_mileage_add(books.store, car, NOON, 41000, "y", &second, &error), error);
    books_commit(&books);
    assert_int_equal(first, second);
    assert_int_equal(books_number(&books, "SELECT count(*) FROM mileage"), 1);
    books_close(&books);
}

static void test_nothing_is_compared_across_a_replaced_instrument(void **state)
{
    struct books books;
    GError *error = NULL;
    (void)state;
    books_open(&books);
    int64_t car = books_car(&books, books_customer(&books, "Ada Example"), "AB12 CDE", NULL);
    books_careless(&books, "INSERT INTO mileage (car, at, km, instrument, how) VALUES"
                           " (1, 1780315200, 90000, 0, 'x'), (1, 1782907200, 12, 1, 'x')");
    books_begin(&books);
    /* Before the new one came, the old one counts; after it, the new one. */
    books_well(read_at(&books, car, NOON + 10 * DAYS, 91000, &error), error);
    books_well(read_at(&books, car, NOON + 29 * DAYS, 92000, &error), error);
    books_well(read_at(&books, car, NOON + 40 * DAYS, 800, &error), error);
    books_well(read_at(&books, car, NOON - 40 * DAYS, 88000, &error), error);
    assert_false(read_at(&books, car, NOON + 41 * DAYS, 799, &error));
    books_refused(&error, BL_ERROR_REFUSED, "goes back from \"800 km");
    books_commit(&books);
    g_autoptr(GArray) list = bl_mileage_list(books.store, car, &error);
    books_well(list != NULL, error);
    static const int instruments[] = {1, 1, 0, 0, 0, 0};
    assert_int_equal(list->len, G_N_ELEMENTS(instruments));
    for (guint i = 0; i < list->len; i++) {
        assert_int_equal(g_array_index(list, struct bl_reading, i).instrument, instruments[i]);
    }
    books_close(&books);
}

static void test_a_reading_is_a_number_on_a_car_at_a_time(void **state)
{
    static const double numbers[] = {-1, 5000001, (double)NAN, (double)INFINITY};
    struct books books;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    books_open(&books);
    int64_t car = books_car(&books, books_customer(&books, "Ada Example"), "AB12 CDE", NULL);
    books_begin(&books);
    for (guint i = 0; i < G_N_ELEMENTS(numbers); i++) {
        assert_false(read_at(&books, car, NOON, numbers[i], &error));
        books_refused(&error, BL_ERROR_INPUT, "from 0 to 5 000 000 km");
    }
    assert_false(read_at(&books, car, 0, 1, &error));
    books_refused(&error, BL_ERROR_INPUT, "date of the reading \"0\"");
    assert_false(read_at(&books, 9, NOON, 1, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no car \"9\"");
    assert_false(bl_mileage_add(books.store, car, NOON, 1, "\n", &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "way the mileage was read");
    books_well(read_at(&books, car, NOON, 0, &error), error);
    books_well(read_at(&books, car, NOON + 3000 * DAYS, 5000000, &error), error);
    books_commit(&books);
    books_close(&books);
}

/* The rule once more, over every pair and without a database. */
static bool may_join(const GArray *readings, const struct bl_reading *added)
{
    for (guint i = 0; i < readings->len; i++) {
        const struct bl_reading *there = &g_array_index(readings, struct bl_reading, i);
        if (there->at == added->at) {
            return there->km == added->km;
        }
    }
    const struct bl_reading *before = NULL;
    const struct bl_reading *after = NULL;
    for (guint i = 0; i < readings->len; i++) {
        const struct bl_reading *there = &g_array_index(readings, struct bl_reading, i);
        if (there->at < added->at && (!before || there->at > before->at)) {
            before = there;
        } else if (there->at > added->at && (!after || there->at < after->at)) {
            after = there;
        }
    }
    const struct bl_reading *chain[] = {before, added, after};
    for (guint i = 0; i < 2; i++) {
        if (!chain[i] || !chain[i + 1]) {
            continue;
        }
        double rise = chain[i + 1]->km - chain[i]->km;
        double days = (double)(chain[i + 1]->at - chain[i]->at) / 86400.0;
        if (rise < 0 || rise > 2000 * fmax(1, days)) {
            return false;
        }
    }
    return true;
}

static void test_readings_in_any_order_never_contradict_each_other(void **state)
{
    guint32 seed = g_random_int();
    g_autoptr(GRand) chance = g_rand_new_with_seed(seed);
    struct books books;
    guint kept = 0;
    (void)state;
    print_message("seed %u\n", seed);
    books_open(&books);
    int64_t ada = books_customer(&books, "Ada Example");
    for (int round = 0; round < 20; round++) {
        g_autofree char *plate = g_strdup_printf("R%d", round);
        int64_t car = books_car(&books, ada, plate, NULL);
        g_autoptr(GArray) readings = g_array_new(FALSE, FALSE, sizeof(struct bl_reading));
        books_begin(&books);
        for (int i = 0; i < 60; i++) {
            g_autoptr(GError) error = NULL;
            struct bl_reading added = {.at = NOON + g_rand_int_range(chance, 0, 40) * 43200};
            added.km = g_rand_int_range(chance, 0, 80) * 500;
            bool expected = may_join(readings, &added);
            assert_int_equal(read_at(&books, car, added.at, added.km, &error), expected);
            if (expected) {
                g_array_append_val(readings, added);
                kept++;
            }
        }
        books_commit(&books);
    }
    assert_true(kept > 100);
    books_close(&books);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_car_is_read_back_as_written),
        cmocka_unit_test(test_a_slip_is_refused_with_its_remedy),
        cmocka_unit_test(test_a_plate_is_on_one_car_that_is_here),
        cmocka_unit_test(test_owners_and_plates_of_the_past_are_kept_with_their_dates),
        cmocka_unit_test(test_a_reading_fits_between_its_neighbours),
        cmocka_unit_test(test_the_same_reading_twice_is_one),
        cmocka_unit_test(test_nothing_is_compared_across_a_replaced_instrument),
        cmocka_unit_test(test_a_reading_is_a_number_on_a_car_at_a_time),
        cmocka_unit_test(test_readings_in_any_order_never_contradict_each_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
