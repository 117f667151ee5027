/* People: what may be written of them, and that it is read back as it was written. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/lookup.h"
#include "books.h"

static struct bl_customer_row ada(void)
{
    return (struct bl_customer_row){.name = "Ada Example",
                                    .phone = "+447700900123",
                                    .mail = "ada@example.com",
                                    .language = "en",
                                    .note = "rings after six\nlikes mails",
                                    .route = BL_MAIL,
                                    .wish = BL_WISH_SELDOM,
                                    .added_at = NOON};
}

static void assert_same(const struct bl_customer_row *a, const struct bl_customer_row *b)
{
    assert_string_equal(a->name, b->name);
    assert_true(g_strcmp0(a->phone, b->phone) == 0);
    assert_true(g_strcmp0(a->mail, b->mail) == 0);
    assert_true(g_strcmp0(a->language, b->language) == 0);
    assert_string_equal(a->note, b->note);
    assert_int_equal(a->route, b->route);
    assert_int_equal(a->wish, b->wish);
    assert_int_equal(a->added_at, b->added_at);
}

static void test_a_customer_is_read_back_as_written(void **state)
{
    struct books books;
    GError *error = NULL;
    struct bl_customer_row row = ada();
    struct bl_customer_row got;
    int64_t id = 0;
    (void)state;
    books_open(&books);
    books_begin(&books);
    books_well(bl_customer_add(books.store, &row, &id, &error), error);
    books_commit(&books);
    books_well(bl_customer_get(books.store, id, &got, &error), error);
    assert_same(&row, &got);
    assert_int_equal(got.id, id);
    bl_customer_row_clear(&got);

    row.id = id;
    row.name = "Ada O'Neill; DROP TABLE customer; --";
    row.phone = NULL;
    row.mail = NULL;
    row.language = NULL;
    row.note = "";
    row.route = BL_BY_HAND;
    row.wish = BL_WISH_NEVER;
    books_begin(&books);
    books_well(bl_customer_change(books.store, &row, &error), error);
    books_commit(&books);
    books_well(bl_customer_get(books.store, id, &got, &error), error);
    assert_same(&row, &got);
    bl_customer_row_clear(&got);
    books_close(&books);
}

static void test_customers_are_listed_by_name(void **state)
{
    static const char *const names[] = {"mia", "Zoe", "Ada", "bob", "Ada"};
    static const char *const sorted[] = {"Ada", "Ada", "bob", "mia", "Zoe"};
    struct books books;
    GError *error = NULL;
    (void)state;
    books_open(&books);
    for (guint i = 0; i < G_N_ELEMENTS(names); i++) {
        books_customer(&books, names[i]);
    }
    g_autoptr(GArray) list = bl_customer_list(books.store, &error);
    books_well(list != NULL, error);
    assert_int_equal(list->len, G_N_ELEMENTS(sorted));
    for (guint i = 0; i < list->len; i++) {
        assert_string_equal(g_array_index(list, struct bl_customer_row, i).name, sorted[i]);
    }
    struct bl_counts counts;
    books_well(bl_store_counts(books.store, &counts, &error), error);
    assert_int_equal(counts.customers, 5);
    assert_int_equal(counts.cars, 0);
    assert_int_equal(counts.jobs, 0);
    books_close(&books);
}

struct slip {
    size_t field; /* offset of the text in the row */
    const char *value;
    const char *says;
};
#define FIELD(name) offsetof(struct bl_customer_row, name)

static void test_a_slip_is_refused_with_its_remedy(void **state)
{
    g_autofree char *long_name = g_strnfill(201, 'a');
    g_autofree char *long_note = g_strnfill(2001, 'a');
    const struct slip slips[] = {
        {FIELD(name), "", "name is empty"},
        {FIELD(name), "  \t ", "name"},
        {FIELD(name), NULL, "name is missing: give it"},
        {FIELD(name), "Ada\nBcc: all@example.com", "control character (U+000A)"},
        {FIELD(name), "Ada \xe2\x80\xae elpmaxE", "control character (U+202E)"},
        {FIELD(name), "Ada \xff", "not valid UTF-8"},
        {FIELD(name), long_name, "at most 200"},
        {FIELD(note), long_note, "at most 2000"},
        {FIELD(note), "bell \a", "control character (U+0007)"},
        {FIELD(phone), "", "phone \"\" is not an international number"},
        {FIELD(phone), "07700 900123", "phone \"07700 900123\" is not an international number"},
        {FIELD(phone), "+44 7700 900123", "give it like \"+447700900123\""},
        {FIELD(phone), "+0447700900123", "phone \"+0447700900123\""},
        {FIELD(phone), "+447700900123x", "phone \"+447700900123x\""},
        {FIELD(phone), "+123456", "phone \"+123456\""},
        {FIELD(phone), "+1234567890123456", "phone \"+1234567890123456\""},
        {FIELD(mail), "ada", "ada"},
        {FIELD(mail), "ada@example.com,bob@example.com", "bob@example.com"},
        {FIELD(mail), "ada@Example.COM", "write its domain small"},
        {FIELD(mail), "ada@example.com\r\nRCPT TO:<x@example.com>", "control"},
        {FIELD(language), "", "language is empty"},
        {FIELD(language), "en\n", "language"},
    };
    struct books books;
    (void)state;
    books_open(&books);
    books_begin(&books);
    for (guint i = 0; i < G_N_ELEMENTS(slips); i++) {
        GError *error = NULL;
        struct bl_customer_row row = ada();
        int64_t id = 0;
        memcpy((char *)&row + slips[i].field, &slips[i].value, sizeof slips[i].value);
        assert_false(bl_customer_add(books.store, &row, &id, &error));
        books_refused(&error, BL_ERROR_INPUT, slips[i].says);
        row.id = 1;
        assert_false(bl_customer_change(books.store, &row, &error));
        books_refused(&error, BL_ERROR_INPUT, slips[i].says);
    }
    books_commit(&books);
    assert_int_equal(books_number(&books, "SELECT count(*) FROM customer"), 0);
    books_close(&books);
}

static void test_a_date_that_cannot_be_is_refused(void **state)
{
    static const int64_t dates[] = {INT64_MIN, -1, 0, 1, 86399, 7258118400, INT64_MAX};
    struct books books;
    (void)state;
    books_open(&books);
    books_begin(&books);
    for (guint i = 0; i < G_N_ELEMENTS(dates); i++) {
        GError *error = NULL;
        struct bl_customer_row row = ada();
        int64_t id = 0;
        row.added_at = dates[i];
        assert_false(bl_customer_add(books.store, &row, &id, &error));
        books_refused(&error, BL_ERROR_INPUT, "is outside the years 1970 to 2199");
    }
    books_commit(&books);
    books_close(&books);
}

static void test_nobody_is_changed_or_read_under_a_wrong_number(void **state)
{
    struct books books;
    GError *error = NULL;
    struct bl_customer_row row = ada();
    (void)state;
    books_open(&books);
    row.id = 7;
    books_begin(&books);
    assert_false(bl_customer_change(books.store, &row, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no customer \"7\"");
    books_commit(&books);
    assert_false(bl_customer_get(books.store, 7, &row, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no customer \"7\"");
    books_close(&books);
}

static void test_consents_are_kept_with_their_words_newest_first(void **state)
{
    struct books books;
    GError *error = NULL;
    struct bl_consent_row yes = {.class = BL_OFFERS,
                                 .given = true,
                                 .at = NOON,
                                 .how = "in person",
                                 .words = "yes, write when it is due"};
    struct bl_consent_row no = {
        .class = BL_OFFERS, .given = false, .at = NOON + 1, .how = "by SMS"};
    (void)state;
    books_open(&books);
    yes.customer = no.customer = books_customer(&books, "Ada Example");
    books_begin(&books);
    books_well(bl_consent_add(books.store, &no, &error), error);
    books_well(bl_consent_add(books.store, &yes, &error), error);
    books_commit(&books);
    g_autoptr(GArray) list = bl_consent_list(books.store, yes.customer, &error);
    books_well(list != NULL, error);
    assert_int_equal(list->len, 2);
    const struct bl_consent_row *first = &g_array_index(list, struct bl_consent_row, 0);
    const struct bl_consent_row *second = &g_array_index(list, struct bl_consent_row, 1);
    assert_false(first->given);
    assert_string_equal(first->words, "");
    assert_true(second->given);
    assert_int_equal(second->class, BL_OFFERS);
    assert_int_equal(second->customer, yes.customer);
    assert_string_equal(second->how, "in person");
    assert_string_equal(second->words, "yes, write when it is due");
    books_close(&books);
}

static void test_a_consent_needs_a_customer_a_date_and_a_way(void **state)
{
    struct books books;
    GError *error = NULL;
    struct bl_consent_row row = {.customer = 9, .at = NOON, .how = "in person"};
    (void)state;
    books_open(&books);
    books_begin(&books);
    assert_false(bl_consent_add(books.store, &row, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no customer \"9\"");
    row.how = "";
    assert_false(bl_consent_add(books.store, &row, &error));
    books_refused(&error, BL_ERROR_INPUT, "way the consent was given is empty");
    row.how = "in person";
    row.words = "esc \x1b[2J";
    assert_false(bl_consent_add(books.store, &row, &error));
    books_refused(&error, BL_ERROR_INPUT, "words of the consent");
    row.words = NULL;
    row.at = 0;
    assert_false(bl_consent_add(books.store, &row, &error));
    books_refused(&error, BL_ERROR_INPUT, "date of the consent");
    books_commit(&books);
    books_close(&books);
}

static void test_places_are_read_back_as_written(void **state)
{
    struct books books;
    GError *error = NULL;
    struct bl_place_row row = {.name = "home",
                               .address = "1 Example Lane\nExampleton",
                               .note = "tap behind the gate; the dog is kind"};
    int64_t id = 0;
    (void)state;
    books_open(&books);
    row.customer = books_customer(&books, "Ada Example");
    int64_t other = books_customer(&books, "Bo Example");
    books_begin(&books);
    books_well(bl_place_add(books.store, &row, &id, &error), error);
    struct bl_place_row bad = row;
    bad.name = "";
    assert_false(bl_place_add(books.store, &bad, &id, &error));
    books_refused(&error, BL_ERROR_INPUT, "name of the place is empty");
    bad = row;
    bad.customer = 77;
    assert_false(bl_place_add(books.store, &bad, &id, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no customer \"77\"");
    books_commit(&books);
    g_autoptr(GArray) all = bl_place_list(books.store, 0, &error);
    books_well(all != NULL, error);
    g_autoptr(GArray) none = bl_place_list(books.store, other, &error);
    books_well(none != NULL, error);
    assert_int_equal(all->len, 1);
    assert_int_equal(none->len, 0);
    const struct bl_place_row *got = &g_array_index(all, struct bl_place_row, 0);
    assert_int_equal(got->customer, row.customer);
    assert_string_equal(got->name, row.name);
    assert_string_equal(got->address, row.address);
    assert_string_equal(got->note, row.note);
    books_close(&books);
}

static void test_a_list_shows_what_another_program_broke(void **state)
{
    struct books books;
    GError *error = NULL;
    (void)state;
    books_open(&books);
    books_careless(&books, "INSERT INTO customer (name, route, wish, added_at)"
                           " VALUES (CAST(x'416461ff' AS TEXT), 'pigeon', 'always', 1);"
                           "INSERT INTO consent (customer, class, given, at, how)"
                           " VALUES (1, 'everything', 1, 1, 'x')");
    g_autoptr(GArray) list = bl_customer_list(books.store, &error);
    books_well(list != NULL, error);
    const struct bl_customer_row *row = &g_array_index(list, struct bl_customer_row, 0);
    assert_true(g_utf8_validate(row->name, -1, NULL));
    assert_int_equal(row->route, BL_BY_HAND);
    assert_int_equal(row->wish, BL_WISH_NEVER);
    g_autoptr(GArray) consents = bl_consent_list(books.store, 1, &error);
    books_well(consents != NULL, error);
    assert_int_equal(consents->len, 0);
    books_close(&books);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_customer_is_read_back_as_written),
        cmocka_unit_test(test_customers_are_listed_by_name),
        cmocka_unit_test(test_a_slip_is_refused_with_its_remedy),
        cmocka_unit_test(test_a_date_that_cannot_be_is_refused),
        cmocka_unit_test(test_nobody_is_changed_or_read_under_a_wrong_number),
        cmocka_unit_test(test_consents_are_kept_with_their_words_newest_first),
        cmocka_unit_test(test_a_consent_needs_a_customer_a_date_and_a_way),
        cmocka_unit_test(test_places_are_read_back_as_written),
        cmocka_unit_test(test_a_list_shows_what_another_program_broke),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
