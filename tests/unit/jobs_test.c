/* Jobs: all or nothing, once, and read back as they were written. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/lookup.h"
#include "books.h"

/* A customer, a car, two products. */
struct shop {
    struct books books;
    int64_t ada, car, coating, wax;
};

static void shop_open(struct shop *shop)
{
    books_open(&shop->books);
    shop->ada = books_customer(&shop->books, "Ada Example");
    shop->car = books_car(&shop->books, shop->ada, "AB12 CDE", NULL);
    shop->coating = books_rule(&shop->books, "coating");
    shop->wax = books_rule(&shop->books, "wax");
}

static GArray *coats(const struct bl_treatment_row *rows, guint count)
{
    GArray *array = g_array_new(FALSE, FALSE, sizeof *rows);
    return g_array_append_vals(array, rows, count);
}

static bool add(struct shop *shop, const struct bl_job_row *job, const GArray *treatments,
                int64_t *id, GError **error)
{
    books_begin(&shop->books);
    bool well = bl_job_add(shop->books.store, job, treatments, id, error);
    books_commit(&shop->books);
    return well;
}

static int64_t count_of(struct shop *shop, const char *table)
{
    g_autofree char *sql = g_strdup_printf("SELECT count(*) FROM %s", table);
    return books_number(&shop->books, sql);
}

static void assert_same_job(const struct bl_job_row *a, const struct bl_job_row *b)
{
    assert_int_equal(a->car, b->car);
    assert_int_equal(a->customer, b->customer);
    assert_int_equal(a->finished_at, b->finished_at);
    assert_int_equal(a->package, b->package);
    assert_int_equal(a->place, b->place);
    assert_int_equal(a->redo_of, b->redo_of);
    assert_int_equal(a->entered_at, b->entered_at);
    assert_true(a->km == b->km);
    assert_true(a->temp_c == b->temp_c);
    assert_true(a->humidity == b->humidity);
    assert_int_equal(a->wash_from, b->wash_from);
    assert_int_equal(a->cured_indoors, b->cured_indoors);
    assert_int_equal(a->leaving_ok, b->leaving_ok);
    assert_string_equal(a->note, b->note);
}

static void assert_same_coat(const struct bl_treatment_row *a, const struct bl_treatment_row *b)
{
    assert_int_equal(a->rule, b->rule);
    assert_int_equal(a->surface, b->surface);
    assert_string_equal(a->part ? a->part : "", b->part);
    assert_int_equal(a->coats, b->coats);
    assert_int_equal(a->last_coat_at, b->last_coat_at);
    assert_int_equal(a->again, b->again);
    assert_true(g_strcmp0(a->batch, b->batch) == 0);
}

static void test_a_job_is_read_back_as_written(void **state)
{
    struct shop shop;
    GError *error = NULL;
    struct bl_job_row got;
    struct bl_place_row place = {.name = "home"};
    (void)state;
    shop_open(&shop);
    struct bl_job_row job = books_plain_job(shop.car, NOON);
    struct bl_treatment_row rows[] = {books_coat(shop.coating), books_coat(shop.wax)};
    rows[0].last_coat_at = NOON - 3600;
    rows[0].coats = 9;
    rows[0].batch = "LOT 7";
    rows[1].surface = BL_SOFT_TOP;
    rows[1].part = "rear half";
    rows[1].again = BL_AGAIN_NEXT_BOOKING;
    rows[1].last_coat_at = NOON;
    g_autoptr(GArray) treatments = coats(rows, 2);
    place.customer = shop.ada;

    books_begin(&shop.books);
    books_well(bl_place_add(shop.books.store, &place, &job.place, &error), error);
    books_well(
        bl_package_version(shop.books.store, "full", "items = ();", NOON, &job.package, &error),
        error);
    books_commit(&shop.books);
    job.redo_of = books_job(&shop.books, shop.car, NOON - 9 * DAYS, (double)NAN, shop.wax);
    job.customer = shop.ada;
    job.entered_at = NOON + 60;
    job.km = 41000.25;
    job.temp_c = -3.5;
    job.humidity = 71;
    job.wash_from = 20620;
    job.cured_indoors = job.leaving_ok = true;
    job.note = "swirls on the bonnet\nowner knows";
    books_well(add(&shop, &job, treatments, &job.id, &error), error);

    books_well(bl_job_get(shop.books.store, job.id, &got, &error), error);
    assert_same_job(&job, &got);
    bl_job_row_clear(&got);
    g_autoptr(GArray) list = bl_treatment_list(shop.books.store, job.id, &error);
    books_well(list != NULL, error);
    assert_int_equal(list->len, 2);
    for (guint i = 0; i < 2; i++) {
        const struct bl_treatment_row *row = &g_array_index(list, struct bl_treatment_row, i);
        assert_same_coat(&rows[i], row);
        assert_int_equal(row->job, job.id);
        assert_string_equal(row->product, i ? "wax" : "coating");
    }
    g_autoptr(GArray) readings = bl_mileage_list(shop.books.store, shop.car, &error);
    books_well(readings != NULL, error);
    assert_int_equal(readings->len, 1);
    assert_true(g_array_index(readings, struct bl_reading, 0).km == 41000.25);
    assert_int_equal(g_array_index(readings, struct bl_reading, 0).at, NOON);
    books_close(&shop.books);
}

static void test_jobs_are_listed_newest_first_and_no_more_than_asked(void **state)
{
    struct shop shop;
    GError *error = NULL;
    (void)state;
    shop_open(&shop);
    int64_t other = books_car(&shop.books, shop.ada, "XY99 ZZZ", NULL);
    int64_t first = books_job(&shop.books, shop.car, NOON, 100, shop.wax);
    int64_t last = books_job(&shop.books, shop.car, NOON + 9 * DAYS, 200, shop.wax);
    int64_t middle = books_job(&shop.books, other, NOON + DAYS, 5, shop.wax);
    g_autoptr(GArray) all = bl_job_list(shop.books.store, 0, 0, &error);
    books_well(all != NULL, error);
    g_autoptr(GArray) one = bl_job_list(shop.books.store, shop.car, 1, &error);
    books_well(one != NULL, error);
    assert_int_equal(all->len, 3);
    assert_int_equal(g_array_index(all, struct bl_job_row, 0).id, last);
    assert_int_equal(g_array_index(all, struct bl_job_row, 1).id, middle);
    assert_int_equal(g_array_index(all, struct bl_job_row, 2).id, first);
    assert_int_equal(one->len, 1);
    assert_int_equal(g_array_index(one, struct bl_job_row, 0).id, last);
    struct bl_job_row row;
    assert_false(bl_job_get(shop.books.store, 99, &row, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no job \"99\"");
    books_close(&shop.books);
}

static void test_a_wash_is_a_job_and_an_unsaid_coat_time_is_the_finish(void **state)
{
    struct shop shop;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    shop_open(&shop);
    struct bl_job_row wash = books_plain_job(shop.car, NOON);
    books_well(add(&shop, &wash, NULL, &id, &error), error);
    assert_int_equal(count_of(&shop, "treatment"), 0);
    id = books_job(&shop.books, shop.car, NOON + 5, (double)NAN, shop.wax);
    assert_int_equal(books_number(&shop.books, "SELECT last_coat_at FROM treatment"), NOON + 5);
    assert_int_equal(count_of(&shop, "mileage"), 0);
    books_close(&shop.books);
}

static void test_the_same_job_twice_is_refused_by_its_number(void **state)
{
    struct shop shop;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    shop_open(&shop);
    struct bl_job_row job = books_plain_job(shop.car, NOON);
    struct bl_treatment_row rows[] = {books_coat(shop.coating), books_coat(shop.wax)};
    rows[1].part = "bonnet";
    g_autoptr(GArray) treatments = coats(rows, 2);
    job.km = 41000;
    books_well(add(&shop, &job, treatments, &id, &error), error);

    /* In another order, with another number of coats, by a rule edited in between: the same. */
    books_begin(&shop.books);
    books_well(bl_rule_version(shop.books.store, "wax", "edited;", NOON, &rows[1].rule, &error),
               error);
    books_commit(&shop.books);
    assert_int_not_equal(rows[1].rule, shop.wax);
    struct bl_treatment_row turned[] = {rows[1], rows[0]};
    turned[1].coats = 3;
    g_autoptr(GArray) again = coats(turned, 2);
    int64_t second = 0;
    assert_false(add(&shop, &job, again, &second, &error));
    books_refused(&error, BL_ERROR_REFUSED,
                  "this is already recorded as job 1 (\"AB12 CDE\", finished 2026-06-01 12:00 "
                  "UTC): nothing was added");

    /* Other work at that very time is a slip of another kind. */
    g_autoptr(GArray) other = coats(rows, 1);
    assert_false(add(&shop, &job, other, &second, &error));
    books_refused(&error, BL_ERROR_REFUSED,
                  "job 1 of \"AB12 CDE\" was finished at that very time");
    assert_false(add(&shop, &job, NULL, &second, &error));
    books_refused(&error, BL_ERROR_REFUSED, "with other work");

    /* Another car, or another time, is another job. */
    job.car = books_car(&shop.books, shop.ada, "XY99 ZZZ", NULL);
    books_well(add(&shop, &job, treatments, &second, &error), error);
    job.finished_at++;
    job.km = (double)NAN;
    books_well(add(&shop, &job, treatments, &second, &error), error);
    assert_int_equal(count_of(&shop, "job"), 3);
    assert_int_equal(count_of(&shop, "treatment"), 6);
    books_close(&shop.books);
}

static void test_a_refused_mileage_leaves_nothing_of_the_job(void **state)
{
    struct shop shop;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    shop_open(&shop);
    books_job(&shop.books, shop.car, NOON, 41000, shop.wax);
    struct bl_job_row job = books_plain_job(shop.car, NOON + DAYS);
    struct bl_treatment_row row = books_coat(shop.coating);
    g_autoptr(GArray) treatments = coats(&row, 1);
    struct bl_customer_row bo = {.name = "Bo Example", .added_at = NOON};
    job.km = 40999;
    books_begin(&shop.books);
    books_well(bl_customer_add(shop.books.store, &bo, &id, &error), error);
    assert_false(bl_job_add(shop.books.store, &job, treatments, &id, &error));
    books_refused(&error, BL_ERROR_REFUSED, "the mileage goes back from \"41 000 km");
    /* The caller's transaction goes on, and what it wrote before is kept. */
    job.km = 41001;
    books_well(bl_job_add(shop.books.store, &job, treatments, &id, &error), error);
    books_commit(&shop.books);
    assert_int_equal(count_of(&shop, "customer"), 2);
    assert_int_equal(count_of(&shop, "job"), 2);
    assert_int_equal(count_of(&shop, "treatment"), 2);
    assert_int_equal(count_of(&shop, "mileage"), 2);
    books_close(&shop.books);
}

static void test_a_job_belongs_to_whom_the_car_belonged_then(void **state)
{
    struct shop shop;
    GError *error = NULL;
    (void)state;
    shop_open(&shop);
    int64_t bo = books_customer(&shop.books, "Bo Example");
    struct bl_car_row car;
    books_well(bl_car_get(shop.books.store, shop.car, &car, &error), error);
    car.customer = bo;
    books_begin(&shop.books);
    books_well(bl_car_change(shop.books.store, &car, NOON + 30 * DAYS, &error), error);
    books_commit(&shop.books);
    bl_car_row_clear(&car);
    books_job(&shop.books, shop.car, NOON - 9 * DAYS, (double)NAN, shop.wax);
    books_job(&shop.books, shop.car, NOON + 29 * DAYS, (double)NAN, shop.wax);
    books_job(&shop.books, shop.car, NOON + 30 * DAYS, (double)NAN, shop.wax);
    g_autoptr(GArray) list = bl_job_list(shop.books.store, shop.car, 0, &error);
    books_well(list != NULL, error);
    assert_int_equal(g_array_index(list, struct bl_job_row, 0).customer, bo);
    assert_int_equal(g_array_index(list, struct bl_job_row, 1).customer, shop.ada);
    assert_int_equal(g_array_index(list, struct bl_job_row, 2).customer, shop.ada);
    books_close(&shop.books);
}

/* One thing wrong with the job or its first treatment. */
struct slip {
    void (*make)(struct bl_job_row *job, struct bl_treatment_row *row);
    enum bl_error_code code;
    const char *says;
};

#define SLIP(name, change)                                                                     \
    static void name(struct bl_job_row *job, struct bl_treatment_row *row)                     \
    {                                                                                          \
        (void)job;                                                                             \
        (void)row;                                                                             \
        change;                                                                                \
    }

SLIP(no_finish, job->finished_at = 0)
SLIP(late_finish, job->finished_at = INT64_MAX)
SLIP(no_entry, job->entered_at = -5)
SLIP(negative_km, job->km = -1)
SLIP(endless_km, job->km = (double)INFINITY)
SLIP(much_km, job->km = 5000001)
SLIP(frozen, job->temp_c = -41)
SLIP(fahrenheit, job->temp_c = 68)
SLIP(dry, job->humidity = -0.5)
SLIP(wet, job->humidity = 101)
SLIP(early_wash, job->wash_from = -1)
SLIP(late_wash, job->wash_from = 84007)
SLIP(rude_note, job->note = "\x1b[31m")
SLIP(no_car, job->car = 99)
SLIP(car_zero, job->car = 0)
SLIP(no_customer, job->customer = 99)
SLIP(no_package, job->package = 99)
SLIP(no_place, job->place = 99)
SLIP(no_redo, job->redo_of = 99)
SLIP(no_coats, row->coats = 0)
SLIP(ten_coats, row->coats = 10)
SLIP(less_coats, row->coats = -1)
SLIP(blank_part, row->part = "  ")
SLIP(broken_part, row->part = "left\ndoor")
SLIP(blank_batch, row->batch = "")
SLIP(late_coat, row->last_coat_at = NOON + 1)
SLIP(old_coat, row->last_coat_at = -1)
SLIP(no_rule, row->rule = 99)

static const struct slip slips[] = {
    {no_finish, BL_ERROR_INPUT, "time the job was finished \"0\" is outside the years"},
    {late_finish, BL_ERROR_INPUT, "give a date like 2026-11-25"},
    {no_entry, BL_ERROR_INPUT, "time the job was entered \"-5\""},
    {negative_km, BL_ERROR_INPUT, "mileage \"-1\" cannot be right: give the figure"},
    {endless_km, BL_ERROR_INPUT, "mileage \"inf\" cannot be right"},
    {much_km, BL_ERROR_INPUT, "mileage \"5000001\" cannot be right"},
    {frozen, BL_ERROR_INPUT, "temperature \"-41\" cannot be right: give degrees Celsius"},
    {fahrenheit, BL_ERROR_INPUT, "temperature \"68\" cannot be right"},
    {dry, BL_ERROR_INPUT, "humidity \"-0.5\" cannot be right: give percent from 0 to 100"},
    {wet, BL_ERROR_INPUT, "humidity \"101\" cannot be right"},
    {early_wash, BL_ERROR_INPUT, "wash date \"-1\" is outside"},
    {late_wash, BL_ERROR_INPUT, "wash date \"84007\" is outside"},
    {rude_note, BL_ERROR_INPUT, "note \"\\x1b[31m\" holds a control character"},
    {no_car, BL_ERROR_MISSING, "there is no car \"99\""},
    {car_zero, BL_ERROR_MISSING, "there is no car \"0\""},
    {no_customer, BL_ERROR_MISSING, "there is no customer \"99\""},
    {no_package, BL_ERROR_MISSING, "there is no package version \"99\""},
    {no_place, BL_ERROR_MISSING, "there is no place \"99\""},
    {no_redo, BL_ERROR_MISSING, "there is no job of this car \"99\""},
    {no_coats, BL_ERROR_INPUT, "coats \"0\" cannot be right: give a whole number from 1 to 9"},
    {ten_coats, BL_ERROR_INPUT, "coats \"10\" cannot be right"},
    {less_coats, BL_ERROR_INPUT, "coats \"-1\" cannot be right"},
    {blank_part, BL_ERROR_INPUT, "part is empty"},
    {broken_part, BL_ERROR_INPUT, "part \"left\\x0adoor\" holds a control character"},
    {blank_batch, BL_ERROR_INPUT, "batch is empty"},
    {late_coat, BL_ERROR_INPUT, "the last coat \"2026-06-01 12:00 UTC\" is after the job"},
    {old_coat, BL_ERROR_INPUT, "time of the last coat \"-1\""},
    {no_rule, BL_ERROR_MISSING, "there is no rule version \"99\""},
};

static void test_a_slip_is_refused_with_its_remedy_and_writes_nothing(void **state)
{
    struct shop shop;
    (void)state;
    shop_open(&shop);
    for (guint i = 0; i < G_N_ELEMENTS(slips); i++) {
        GError *error = NULL;
        int64_t id = 0;
        struct bl_job_row job = books_plain_job(shop.car, NOON);
        struct bl_treatment_row row = books_coat(shop.wax);
        slips[i].make(&job, &row);
        g_autoptr(GArray) treatments = coats(&row, 1);
        assert_false(add(&shop, &job, treatments, &id, &error));
        books_refused(&error, slips[i].code, slips[i].says);
    }
    assert_int_equal(count_of(&shop, "job"), 0);
    assert_int_equal(count_of(&shop, "treatment"), 0);
    assert_int_equal(count_of(&shop, "mileage"), 0);
    books_close(&shop.books);
}

static void test_a_product_goes_on_a_surface_once_a_job(void **state)
{
    struct shop shop;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    shop_open(&shop);
    struct bl_job_row job = books_plain_job(shop.car, NOON);
    struct bl_treatment_row rows[] = {books_coat(shop.wax), books_coat(shop.coating),
                                      books_coat(shop.wax)};
    g_autoptr(GArray) treatments = coats(rows, 3);
    assert_false(add(&shop, &job, treatments, &id, &error));
    books_refused(
        &error, BL_ERROR_INPUT,
        "\"wax\" is on the paint twice in this job: give the number of coats instead");
    for (guint i = 0; i < 3; i++) {
        g_array_index(treatments, struct bl_treatment_row, i).part = "left door";
    }
    assert_false(add(&shop, &job, treatments, &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "\"wax\" is on the paint, left door twice");
    g_array_index(treatments, struct bl_treatment_row, 2).part = "right door";
    books_well(add(&shop, &job, treatments, &id, &error), error);
    books_close(&shop.books);
}

static void test_a_rule_is_stored_once_a_text(void **state)
{
    struct shop shop;
    GError *error = NULL;
    int64_t id = 0;
    g_autofree char *product = NULL;
    g_autofree char *text = NULL;
    g_autofree char *runaway = g_strnfill(100001, 'x');
    (void)state;
    shop_open(&shop);
    assert_int_equal(books_rule(&shop.books, "wax"), shop.wax);
    books_begin(&shop.books);
    books_well(bl_rule_version(shop.books.store, "wax", "new;", NOON, &id, &error), error);
    assert_int_not_equal(id, shop.wax);
    assert_false(bl_rule_version(shop.books.store, "wax", runaway, NOON, &id, &error));
    books_refused(&error, BL_ERROR_INPUT,
                  "the text of \"wax\" is not valid UTF-8, or has more");
    assert_false(bl_rule_version(shop.books.store, "wax", "\xff", NOON, &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "mend the catalogue");
    assert_false(bl_package_version(shop.books.store, "", "x", NOON, &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "package is empty");
    int64_t first = 0;
    int64_t second = 0;
    books_well(bl_package_version(shop.books.store, "full", "x", NOON, &first, &error), error);
    books_well(bl_package_version(shop.books.store, "full", "x", NOON, &second, &error), error);
    assert_int_equal(first, second);
    books_commit(&shop.books);
    books_well(bl_rule_text(shop.books.store, shop.wax, &product, &text, &error), error);
    assert_string_equal(product, "wax");
    assert_string_equal(text, "product = \"wax\";");
    assert_false(bl_rule_text(shop.books.store, 99, &product, &text, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no rule version \"99\"");
    books_close(&shop.books);
}

/* Whatever its text: an owner who takes a change back has the old rule again. */
static void test_the_last_rule_is_the_one_that_came_last(void **state)
{
    static const char *const texts[] = {"a;", "b;", "b;", "a;", "a;", "c;", "a;"};
    struct shop shop;
    GError *error = NULL;
    int64_t last = 1;
    (void)state;
    shop_open(&shop);
    books_begin(&shop.books);
    books_well(bl_rule_last(shop.books.store, "seal", &last, &error), error);
    assert_int_equal(last, 0);
    for (guint i = 0; i < G_N_ELEMENTS(texts); i++) {
        int64_t id = 0;
        books_well(bl_rule_version(shop.books.store, "seal", texts[i], NOON, &id, &error),
                   error);
        books_well(bl_rule_last(shop.books.store, "seal", &last, &error), error);
        assert_int_equal(last, id);
    }
    books_commit(&shop.books);
    assert_int_equal(
        books_number(&shop.books, "SELECT count(*) FROM rule_version WHERE product = 'seal'"),
        3);
    books_job(&shop.books, shop.car, NOON, (double)NAN, last);
    books_job(&shop.books, shop.car, NOON + 1, (double)NAN, shop.wax);
    books_job(&shop.books, shop.car, NOON + 2, (double)NAN, last + 1);
    g_autoptr(GArray) used = bl_products_used(shop.books.store, &error);
    books_well(used != NULL, error);
    assert_int_equal(used->len, 2);
    assert_string_equal(g_array_index(used, struct bl_product_used, 0).product, "seal");
    assert_int_equal(g_array_index(used, struct bl_product_used, 0).treatments, 2);
    books_close(&shop.books);
}

static void test_events_are_read_back_as_written_newest_first(void **state)
{
    struct shop shop;
    GError *error = NULL;
    (void)state;
    shop_open(&shop);
    int64_t job = books_job(&shop.books, shop.car, NOON, (double)NAN, shop.wax);
    struct bl_event_row rows[] = {
        {.car = shop.car, .at = NOON + DAYS, .happening = BL_EV_WHEELS_OFF, .surface = -1},
        {.car = shop.car,
         .at = NOON + 2 * DAYS,
         .happening = BL_EV_STRIPPED,
         .treatment = books_treatment(&shop.books, job),
         .surface = BL_WHEELS,
         .part = "front left",
         .with = "wheel cleaner",
         .finding = "beads no more\nmatt",
         .note = "he used the strong one"},
    };
    books_begin(&shop.books);
    books_well(bl_event_add(shop.books.store, &rows[0], &rows[0].id, &error), error);
    books_well(bl_event_add(shop.books.store, &rows[1], &rows[1].id, &error), error);
    books_commit(&shop.books);
    g_autoptr(GArray) list = bl_event_list(shop.books.store, shop.car, &error);
    books_well(list != NULL, error);
    assert_int_equal(list->len, 2);
    for (guint i = 0; i < 2; i++) {
        const struct bl_event_row *got = &g_array_index(list, struct bl_event_row, 1 - i);
        assert_int_equal(got->id, rows[i].id);
        assert_int_equal(got->car, rows[i].car);
        assert_int_equal(got->at, rows[i].at);
        assert_int_equal(got->happening, rows[i].happening);
        assert_int_equal(got->treatment, rows[i].treatment);
        assert_int_equal(got->surface, rows[i].surface);
        assert_true(g_strcmp0(got->part, rows[i].part) == 0);
        assert_true(g_strcmp0(got->with, rows[i].with) == 0);
        assert_true(g_strcmp0(got->finding, rows[i].finding) == 0);
        assert_true(g_strcmp0(got->note, rows[i].note) == 0);
    }
    books_close(&shop.books);
}

static void test_an_event_needs_a_car_and_a_treatment_it_wears(void **state)
{
    struct shop shop;
    GError *error = NULL;
    int64_t id = 0;
    (void)state;
    shop_open(&shop);
    int64_t job = books_job(&shop.books, shop.car, NOON, (double)NAN, shop.wax);
    struct bl_event_row row = {
        .car = shop.car, .at = NOON, .happening = BL_EV_CARE, .surface = -1};
    books_begin(&shop.books);
    row.car = 99;
    assert_false(bl_event_add(shop.books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no car \"99\"");
    row.car = shop.car;
    row.treatment = 99;
    assert_false(bl_event_add(shop.books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_REFUSED, "there is no treatment \"99\" on car 1");
    row.treatment = 0;
    row.at = 0;
    assert_false(bl_event_add(shop.books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "time of the event");
    row.at = NOON;
    row.with = "wheel\rcleaner";
    assert_false(bl_event_add(shop.books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "thing it was done with");
    row.with = NULL;
    row.part = "";
    assert_false(bl_event_add(shop.books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "part is empty");
    row.part = NULL;
    row.finding = "\xed\xa0\x80";
    assert_false(bl_event_add(shop.books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "finding is not valid UTF-8");
    books_commit(&shop.books);
    row.car = books_car(&shop.books, shop.ada, "XY99 ZZZ", NULL);
    row.finding = NULL;
    row.treatment = books_treatment(&shop.books, job);
    books_begin(&shop.books);
    assert_false(bl_event_add(shop.books.store, &row, &id, &error));
    books_refused(&error, BL_ERROR_REFUSED, "there is no treatment \"1\" on car 2");
    books_commit(&shop.books);
    assert_int_equal(count_of(&shop, "event"), 0);
    books_close(&shop.books);
}

static void test_lists_leave_out_what_cannot_be_shown(void **state)
{
    struct shop shop;
    GError *error = NULL;
    (void)state;
    shop_open(&shop);
    int64_t job = books_job(&shop.books, shop.car, NOON, (double)NAN, shop.wax);
    books_careless(&shop.books, "INSERT INTO event (car, at, happening)"
                                " VALUES (1, 1780315200, 'flown'), (1, 1780315201, 'care');"
                                "UPDATE treatment SET surface = 'wings'");
    g_autoptr(GArray) events = bl_event_list(shop.books.store, 0, &error);
    books_well(events != NULL, error);
    g_autoptr(GArray) rows = bl_treatment_list(shop.books.store, job, &error);
    books_well(rows != NULL, error);
    assert_int_equal(events->len, 1);
    assert_int_equal(rows->len, 0);
    books_close(&shop.books);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_job_is_read_back_as_written),
        cmocka_unit_test(test_jobs_are_listed_newest_first_and_no_more_than_asked),
        cmocka_unit_test(test_a_wash_is_a_job_and_an_unsaid_coat_time_is_the_finish),
        cmocka_unit_test(test_the_same_job_twice_is_refused_by_its_number),
        cmocka_unit_test(test_a_refused_mileage_leaves_nothing_of_the_job),
        cmocka_unit_test(test_a_job_belongs_to_whom_the_car_belonged_then),
        cmocka_unit_test(test_a_slip_is_refused_with_its_remedy_and_writes_nothing),
        cmocka_unit_test(test_a_product_goes_on_a_surface_once_a_job),
        cmocka_unit_test(test_a_rule_is_stored_once_a_text),
        cmocka_unit_test(test_the_last_rule_is_the_one_that_came_last),
        cmocka_unit_test(test_events_are_read_back_as_written_newest_first),
        cmocka_unit_test(test_an_event_needs_a_car_and_a_treatment_it_wears),
        cmocka_unit_test(test_lists_leave_out_what_cannot_be_shown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
