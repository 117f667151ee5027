/* Finding: what the owner types, and whom or what it means. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/lookup.h"
#include "books.h"

/* The labels found, " | " between. Caller frees. */
static char *labels(GArray *found)
{
    GString *text = g_string_new(NULL);
    for (guint i = 0; i < found->len; i++) {
        g_string_append_printf(text, "%s%s", i ? " | " : "",
                               g_array_index(found, struct bl_found, i).label);
    }
    bl_found_free_all(found);
    return g_string_free(text, FALSE);
}

struct question {
    const char *typed, *means;
};

static void ask(struct books *books,
                GArray *(*find)(struct bl_store *, const char *, GError **),
                const struct question *questions, guint count)
{
    for (guint i = 0; i < count; i++) {
        GError *error = NULL;
        GArray *found = find(books->store, questions[i].typed, &error);
        books_well(found != NULL, error);
        g_autofree char *means = labels(found);
        if (strcmp(means, questions[i].means) != 0) {
            fail_msg("\"%s\" means \"%s\", not \"%s\"", questions[i].typed, questions[i].means,
                     means);
        }
    }
}

static void test_customers_are_found_by_anything_that_is_theirs(void **state)
{
    static const struct question questions[] = {
        {"#3", "Bo Example (customer 3)"},
        {"3", "Bo Example (customer 3)"},
        {" 3 ", "Bo Example (customer 3)"},
        {"#9", ""},
        {"9", ""},
        {"#", ""},
        {"#Ada", ""},
        {"#99999999999999999999", ""},
        {"ada example", "Ada Example (customer 1)"},
        {"ADA  EXAMPLE", "Ada Example (customer 1)"},
        {"Ada", "Ada Example (customer 1) | Ada Example-Smith (customer 2)"},
        {"smith", "Ada Example-Smith (customer 2)"},
        {"example smith", "Ada Example-Smith (customer 2)"},
        {"+447700900123", "Ada Example (customer 1)"},
        {"+447700900124", "Ada Example-Smith (customer 2) | Bo Example (customer 3)"},
        {"ada@example.com", "Ada Example (customer 1)"},
        {"Ada@Example.com", "Ada Example (customer 1)"},
        {"ada@example", ""},
        {"nobody", ""},
        {"%", ""},
        {"'; --", ""},
        {"m\xc3\xbcller", "M\xc3\xbcller (customer 4) | M\xc3\xbcller (customer 5)"},
        {"M\xc3\x9cLLER", "M\xc3\xbcller (customer 4) | M\xc3\xbcller (customer 5)"},
    };
    struct books books;
    (void)state;
    books_open(&books);
    books_customer(&books, "Ada Example");
    books_customer(&books, "Ada Example-Smith");
    books_customer(&books, "Bo Example");
    books_customer(&books, "M\xc3\xbcller");
    books_customer(&books, "M\xc3\xbcller");
    books_careless(&books,
                   "UPDATE customer SET phone = '+447700900123', mail = 'ada@example.com'"
                   " WHERE id = 1;"
                   "UPDATE customer SET phone = '+447700900124' WHERE id IN (2, 3)");
    ask(&books, bl_customer_find, questions, G_N_ELEMENTS(questions));
    books_close(&books);
}

static void test_cars_are_found_by_plate_number_name_and_owner(void **state)
{
    static const struct question questions[] = {
        {"AB12 CDE", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"ab12cde", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"ab-12 cde", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"#1", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"1", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"cde", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"estate", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"Blue Estate", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"ada example", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"ada", "AB12 CDE, blue estate, Ada Example (car 1)"},
        {"+447700900123", "AB12 CDE, blue estate, Ada Example (car 1)"},
        /* an owner of two cars leaves the choice */
        {"Bo Example", "3, Bo Example (car 2) | XY99 ZZZ, Bo Example (car 3)"},
        /* a plate of digits only wins over the number of another car; "#" asks for that one */
        {"3", "3, Bo Example (car 2)"},
        {"#3", "XY99 ZZZ, Bo Example (car 3)"},
        {"#2", "3, Bo Example (car 2)"},
        {"2", "3, Bo Example (car 2)"},
        /* a former plate, until another car bears it */
        {"OLD 1", "NEW 1, Cy Example (car 4)"},
        {"OLD 2", "OLD 2, Dee Example (car 6)"},
        {"new", "NEW 1, Cy Example (car 4) | NEW 2, Cy Example (car 5)"},
        /* one that has gone, when nothing that is here fits as well */
        {"GONE 1", "GONE 1, Dee Example (car 7, gone)"},
        {"gone", "GONE 1, Dee Example (car 7, gone)"},
        {"Dee Example", "OLD 2, Dee Example (car 6)"},
        {"--", ""},
        {"#77", ""},
        {"zzzz", ""},
    };
    struct books books;
    GError *error = NULL;
    (void)state;
    books_open(&books);
    int64_t ada = books_customer(&books, "Ada Example");
    int64_t bo = books_customer(&books, "Bo Example");
    int64_t cy = books_customer(&books, "Cy Example");
    int64_t dee = books_customer(&books, "Dee Example");
    books_car(&books, ada, "AB12 CDE", "blue estate");
    books_car(&books, bo, "3", NULL);
    books_car(&books, bo, "XY99 ZZZ", NULL);
    struct bl_car_row row = {
        .customer = cy, .km_a_year = (double)NAN, .gone_at = BL_NEVER, .added_at = NOON};
    row.id = books_car(&books, cy, "OLD 1", NULL);
    row.plate = "NEW 1";
    books_begin(&books);
    books_well(bl_car_change(books.store, &row, NOON, &error), error);
    books_commit(&books);
    row.id = books_car(&books, cy, "OLD 2", NULL);
    row.plate = "NEW 2";
    books_begin(&books);
    books_well(bl_car_change(books.store, &row, NOON, &error), error);
    books_commit(&books);
    books_car(&books, dee, "OLD 2", NULL);
    books_car(&books, dee, "GONE 1", NULL);
    books_careless(&books, "UPDATE car SET gone_at = 1780315200 WHERE id = 7;"
                           "UPDATE customer SET phone = '+447700900123' WHERE id = 1");
    ask(&books, bl_car_find, questions, G_N_ELEMENTS(questions));
    books_close(&books);
}

static void test_names_are_found_without_accents_and_the_exact_one_first(void **state)
{
    static const struct question questions[] = {
        {"sean", "Seán Example (customer 1)"},
        {"jurgen example", "Jürgen Example (customer 2)"},
        {"JÜRGEN", "Jürgen Example (customer 2)"},
        {"obrien", "O'Brien (customer 3)"},
        {"o\u2019brien", "O'Brien (customer 3)"},
        {"zoe", "Zoe (customer 5)"},
        {"zoë", "Zoë (customer 4)"},
        {"zo", "Zoe (customer 5) | Zoë (customer 4)"},
        {"'", "O'Brien (customer 3)"},
        {".", ""},
    };
    static const struct question cars[] = {
        {"jurgen", "AB12 CDE, Jürgen Example (car 1)"},
        {"emile", "AB34 CDE, Émile, O'Brien (car 2)"},
    };
    struct books books;
    (void)state;
    books_open(&books);
    books_customer(&books, "Seán Example");
    int64_t jurgen = books_customer(&books, "Jürgen Example");
    int64_t brien = books_customer(&books, "O'Brien");
    books_customer(&books, "Zoë");
    books_customer(&books, "Zoe");
    books_car(&books, jurgen, "AB12 CDE", NULL);
    books_car(&books, brien, "AB34 CDE", "Émile");
    ask(&books, bl_customer_find, questions, G_N_ELEMENTS(questions));
    ask(&books, bl_car_find, cars, G_N_ELEMENTS(cars));
    books_close(&books);
}

static void test_a_car_of_nobody_is_still_found(void **state)
{
    static const struct question questions[] = {
        {"AB12 CDE", "AB12 CDE, no such customer (car 1)"}};
    struct books books;
    (void)state;
    books_open(&books);
    books_car(&books, books_customer(&books, "Ada Example"), "AB12 CDE", NULL);
    books_careless(&books, "DELETE FROM customer");
    ask(&books, bl_car_find, questions, G_N_ELEMENTS(questions));
    books_close(&books);
}

static void test_nothing_typed_finds_nothing_and_says_so(void **state)
{
    static const char *const typed[] = {"", "   ", NULL, "a\nb", "\xff"};
    struct books books;
    (void)state;
    books_open(&books);
    for (guint i = 0; i < G_N_ELEMENTS(typed); i++) {
        GError *error = NULL;
        assert_null(bl_customer_find(books.store, typed[i], &error));
        books_refused(&error, BL_ERROR_INPUT, "name");
        assert_null(bl_car_find(books.store, typed[i], &error));
        books_refused(&error, BL_ERROR_INPUT, "name");
    }
    bl_found_free_all(NULL);
    books_close(&books);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_customers_are_found_by_anything_that_is_theirs),
        cmocka_unit_test(test_cars_are_found_by_plate_number_name_and_owner),
        cmocka_unit_test(test_names_are_found_without_accents_and_the_exact_one_first),
        cmocka_unit_test(test_a_car_of_nobody_is_still_found),
        cmocka_unit_test(test_nothing_typed_finds_nothing_and_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
