/* The facts: all of one customer, nothing of another, and the same however they got there. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "facts_text.h"

static void open_plain(struct books *books)
{
    books_open(books);
    for (guint i = 0; facts_plain[i]; i++) {
        books_careless(books, facts_plain[i]);
    }
}

/* The facts of a customer as text. Caller frees. */
static char *text_of(struct books *books, int64_t customer)
{
    struct bl_facts facts;
    facts_read(books, customer, &facts);
    char *text = facts_text(&facts);
    bl_facts_clear(&facts);
    return text;
}

static const char ada_plain[] =
    "customer 1 Ada Example +447700900123 ada@example.com en mail seldom yes 111 silent 00\n"
    "car 1 AB12 CDE blue estate 0x1.2f22p+14 since 1750000000 gone 9223372036854775807"
    " [stored outdoors,brush wash] offers held\n"
    " mileage 4 1770000000 0x1.388p+15 0\n"
    " mileage 1 1780315200 0x1.405p+15 0\n"
    " mileage 2 1782907200 0x1.4ffp+15 0\n"
    " job 3 1735000000 for 1 nan nan wash -2147483648 indoors 0 told 1780315260 redo 0\n"
    " job 1 1740000000 for 2 0x1.9p+3 0x1.ep+5 wash -2147483648 indoors 0 told 1740000060 redo 0\n"
    " job 2 1780315200 for 1 nan nan wash 20620 indoors 1 told 1780315260 redo 1\n"
    " treatment 1 job 1 rule 1 wax paint [] x1 1739990000 -1\n"
    " treatment 2 job 1 rule 2 wax wheels [front] x2 1740000000 1\n"
    " treatment 3 job 2 rule 1 wax soft top [] x1 1780315200 -1\n"
    " event 2 1742000000 stripped 0 3 front wheel cleaner -1\n"
    " event 1 1743000000 care 1 -1 (none) (none) -1\n"
    "car 2 XY99 ZZZ (none) nan since 1700000000 gone 9223372036854775807 []\n"
    " mileage 3 1780315200 0x1.cp+2 0\n";

static void test_all_that_is_known_of_a_customer_is_there(void **state)
{
    struct books books;
    (void)state;
    open_plain(&books);
    g_autofree char *ada = text_of(&books, 1);
    assert_string_equal(ada, ada_plain);

    /* Bo has sold his car: neither it nor the job it had under him is his any more. */
    g_autofree char *bo = text_of(&books, 2);
    assert_string_equal(bo, "customer 2 Bo Example +447700900124 (none) (none) sms normal"
                            " yes 100 silent 00\n");
    books_close(&books);
}

static void test_nobody_has_no_facts(void **state)
{
    struct books books;
    struct bl_facts facts;
    GError *error = NULL;
    (void)state;
    books_open(&books);
    bl_facts_init(&facts);
    assert_false(bl_store_facts(books.store, 5, &facts_book, &facts, &error));
    books_refused(&error, BL_ERROR_MISSING, "there is no customer \"5\"");
    bl_facts_clear(&facts);
    books_close(&books);
}

static void test_a_finding_counts_when_it_is_in_the_stored_words(void **state)
{
    struct books books;
    (void)state;
    open_plain(&books);
    books_careless(&books, "INSERT INTO event (id, car, at, happening, surface, finding) VALUES"
                           " (3, 1, 1744000000, 'inspection', 'paint', 'gone'),"
                           " (4, 1, 1745000000, 'inspection', 'paint', 'a little dull')");
    g_autofree char *ada = text_of(&books, 1);
    assert_non_null(strstr(ada, " event 3 1744000000 inspection 0 0 (none) (none) 2\n"));
    assert_non_null(strstr(ada, " event 4 1745000000 inspection 0 0 (none) (none) -1\n"));
    books_close(&books);
}

static void test_a_cure_indoors_has_its_hours_or_is_a_lamps(void **state)
{
    struct books books;
    (void)state;
    open_plain(&books);
    books_careless(&books, "INSERT INTO event (id, car, at, happening, temp_c, hours) VALUES"
                           " (3, 1, 1744000000, 'cured indoors', 25.5, 8),"
                           " (4, 1, 1745000000, 'cured indoors', NULL, NULL)");
    g_autofree char *ada = text_of(&books, 1);
    assert_non_null(strstr(ada, " event 3 1744000000 cured indoors 0 -1 (none) (none) -1"
                                " 0x1p+3 hours at 0x1.98p+4\n"));
    assert_non_null(strstr(ada, " event 4 1745000000 cured indoors 0 -1 (none) (none) -1\n"));
    books_close(&books);
}

static void test_facts_are_the_same_inside_a_transaction(void **state)
{
    struct books books;
    (void)state;
    open_plain(&books);
    books_begin(&books);
    g_autofree char *ada = text_of(&books, 1);
    assert_string_equal(ada, ada_plain);
    assert_true(bl_store_within(books.store));
    books_commit(&books);
    books_close(&books);
}

/* A book that is read while another program writes. */
static const struct bl_rule *meddle(void *self, int64_t id)
{
    books_careless(self, "DELETE FROM event; DELETE FROM treatment");
    return facts_book.rule(facts_book.self, id);
}

static void test_facts_are_of_one_moment_while_others_write(void **state)
{
    struct books books;
    struct bl_facts facts;
    GError *error = NULL;
    const struct bl_rule_book book = {meddle, &books};
    (void)state;
    open_plain(&books);
    bl_facts_init(&facts);
    books_well(bl_store_facts(books.store, 1, &book, &facts, &error), error);
    g_autofree char *text = facts_text(&facts);
    assert_string_equal(text, ada_plain);
    bl_facts_clear(&facts);
    g_autofree char *after = text_of(&books, 1);
    assert_null(strstr(after, "event"));
    books_close(&books);
}

static void shuffle(GRand *chance, const char **lines, guint count)
{
    for (guint i = count; i > 1; i--) {
        guint j = (guint)g_rand_int_range(chance, 0, (gint32)i);
        const char *swap = lines[i - 1];
        lines[i - 1] = lines[j];
        lines[j] = swap;
    }
}

static void test_facts_are_the_same_in_whatever_order_rows_were_written(void **state)
{
    /* Three rows more, which are left out: that and its reason are facts as well. */
    static const char *const broken[] = {
        "INSERT INTO event (id, car, at, happening) VALUES (7, 1, 1741000000, 'flown')",
        "INSERT INTO event (id, car, at, happening) VALUES (8, 2, 1741000000, 'sunk')",
        ("INSERT INTO treatment (id, job, rule, surface, last_coat_at)"
         " VALUES (9, 1, 77, 'trim', 1740000000)"),
    };
    guint32 seed = g_random_int();
    g_autoptr(GRand) chance = g_rand_new_with_seed(seed);
    g_autoptr(GPtrArray) lines = g_ptr_array_new();
    g_autofree char *first = NULL;
    (void)state;
    print_message("seed %u\n", seed);
    for (guint i = 0; facts_plain[i]; i++) {
        g_ptr_array_add(lines, (gpointer)facts_plain[i]);
    }
    for (guint i = 0; i < G_N_ELEMENTS(broken); i++) {
        g_ptr_array_add(lines, (gpointer)broken[i]);
    }
    for (int round = 0; round < 25; round++) {
        struct books books;
        books_open(&books);
        books_careless(&books, "BEGIN");
        for (guint i = 0; i < lines->len; i++) {
            books_careless(&books, g_ptr_array_index(lines, i));
        }
        books_careless(&books, "COMMIT");
        g_autofree char *text = text_of(&books, 1);
        if (!first) {
            first = g_strdup(text);
            assert_true(g_str_has_prefix(first, ada_plain));
            assert_true(strlen(first) > strlen(ada_plain));
        }
        assert_string_equal(text, first);
        books_close(&books);
        shuffle(chance, (const char **)lines->pdata, lines->len);
    }
}

static void test_the_newest_word_on_consent_counts(void **state)
{
    static const struct {
        const char *sql, *yes;
    } cases[] = {
        {"DELETE FROM consent", "yes 100"},
        {"INSERT INTO consent (customer, class, given, at, how)"
         " VALUES (1, 'offers', 0, 1700000001, 'SMS')",
         "yes 110"},
        {"INSERT INTO consent (customer, class, given, at, how)"
         " VALUES (1, 'offers', 0, 1600000000, 'SMS')",
         "yes 111"},
        /* at the same second the later entry counts */
        {"INSERT INTO consent (customer, class, given, at, how)"
         " VALUES (1, 'offers', 0, 1700000000, 'SMS')",
         "yes 110"},
        {"INSERT INTO consent (customer, class, given, at, how)"
         " VALUES (1, 'service', 0, 1700000000, 'SMS')",
         "yes 011"},
        {"INSERT INTO consent (customer, class, given, at, how)"
         " VALUES (2, 'offers', 0, 1800000000, 'SMS')",
         "yes 111"},
    };
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
        struct books books;
        open_plain(&books);
        books_careless(&books, cases[i].sql);
        g_autofree char *text = text_of(&books, 1);
        assert_non_null(strstr(text, cases[i].yes));
        books_close(&books);
    }
}

static void test_a_silenced_address_is_known_as_such(void **state)
{
    struct books books;
    (void)state;
    open_plain(&books);
    books_careless(&books, "INSERT INTO silence (address, since, how)"
                           " VALUES ('+447700900123', 1780315200, 'SMS')");
    g_autofree char *phone = text_of(&books, 1);
    assert_non_null(strstr(phone, "silent 10"));
    books_careless(&books, "INSERT INTO silence (address, since, how)"
                           " VALUES ('ADA@example.com', 1780315200, 'mail')");
    g_autofree char *both = text_of(&books, 1);
    assert_non_null(strstr(both, "silent 11"));
    g_autofree char *bo = text_of(&books, 2);
    assert_non_null(strstr(bo, "silent 00"));
    books_close(&books);
}

/* A message of the kind, and what became of it. A state word beginning with '>' is reached
 * through claimed at that instant. */
static void message(struct books *books, int64_t id, int64_t customer, const char *address,
                    const char *kind, const char *state, int64_t at)
{
    g_autofree char *sql = g_strdup_printf(
        "INSERT INTO message (id, customer, key, kind, class, channel, address, from_at,"
        " send_at, not_after, made_at) VALUES (%" G_GINT64_FORMAT ", %" G_GINT64_FORMAT
        ", printf('%%032x', %" G_GINT64_FORMAT
        "), '%s', 'service', 'sms', '%s', 1, 1, 2000000000, 1)",
        id, customer, id, kind, address);
    books_careless(books, sql);
    if (state[0] == '>') {
        g_autofree char *claim = g_strdup_printf(
            "UPDATE message SET state = 'claimed', claimed_at = %" G_GINT64_FORMAT
            " WHERE id = %" G_GINT64_FORMAT,
            at, id);
        books_careless(books, claim);
    }
    if (strcmp(state, ">claimed") == 0 || strcmp(state, "planned") == 0) {
        return;
    }
    g_autofree char *end = g_strdup_printf(
        "UPDATE message SET state = '%s', reason = 'so', ended_at ="
        " CASE WHEN '%s' IN ('unsure', 'planned', 'paused') THEN NULL ELSE 5 END,"
        " claimed_at = CASE WHEN '%s' = 'planned' THEN NULL ELSE claimed_at END"
        " WHERE id = %" G_GINT64_FORMAT,
        state + (state[0] == '>'), state + 1, state + 1, id);
    books_careless(books, end);
}

static void test_messages_that_began_are_told_in_order(void **state)
{
    static const char phone[] = "+447700900123";
    struct books books;
    (void)state;
    open_plain(&books);
    message(&books, 1, 1, phone, "wash", ">sent", NOON);
    message(&books, 2, 1, phone, "handover", ">claimed", NOON - 5);
    message(&books, 3, 1, phone, "top-up", ">failed", NOON + 5);
    message(&books, 4, 1, phone, "care", ">unsure", NOON + 6);
    message(&books, 5, 1, phone, "care", "planned", 0);
    message(&books, 6, 1, phone, "care", ">planned", NOON + 7); /* not taken: later */
    message(&books, 7, 1, phone, "care", "lapsed", 0);
    message(&books, 8, 1, phone, "care", "withdrawn", 0);
    message(&books, 9, 1, phone, "look-over", ">sent", NOON);
    books_careless(&books, "UPDATE message SET state = 'delivered' WHERE id = 9");
    message(&books, 10, 2, "+447700900124", "wash", ">sent", NOON);
    /* Bo shares Ada's phone, and her mail in other capitals: the day is taken for her. */
    message(&books, 11, 2, phone, "booking", ">sent", NOON + 8);
    message(&books, 12, 2, "Ada@Example.com", "wash", ">sent", NOON + 9);
    g_autofree char *text = text_of(&books, 1);
    g_autofree char *expected = g_strconcat(ada_plain,
                                            "told 2 1780315195 handover claimed\n"
                                            "told 1 1780315200 wash sent\n"
                                            "told 9 1780315200 look-over delivered\n"
                                            "told 3 1780315205 top-up failed\n"
                                            "told 4 1780315206 care unsure\n"
                                            "told 11 1780315208 booking sent\n"
                                            "told 12 1780315209 wash sent\n",
                                            NULL);
    assert_string_equal(text, expected);
    books_close(&books);
}

static void test_what_was_said_over_400_days_ago_is_forgotten(void **state)
{
    struct books books;
    GError *error = NULL;
    (void)state;
    open_plain(&books);
    message(&books, 1, 1, "+447700900123", "wash", ">sent", NOON - 400 * DAYS - 1);
    message(&books, 2, 1, "+447700900123", "wash", ">sent", NOON - 400 * DAYS);
    g_autofree char *unmarked = text_of(&books, 1);
    assert_non_null(strstr(unmarked, "told 1 "));
    books_begin(&books);
    books_well(bl_store_set_mark(books.store, NOON, 1, &error), error);
    books_commit(&books);
    g_autofree char *marked = text_of(&books, 1);
    assert_null(strstr(marked, "told 1 "));
    assert_non_null(strstr(marked, "told 2 "));
    books_close(&books);
}

static void due(struct books *books, int64_t customer, const char *car, const char *kind,
                int64_t subject, const char *end, int vanished)
{
    g_autofree char *sql = g_strdup_printf(
        "INSERT INTO due (customer, car, kind, subject, ordinal, from_at, best_by, not_after,"
        " numbers, end, reason, ended_at, vanished) VALUES (%" G_GINT64_FORMAT
        ", %s, '%s', %" G_GINT64_FORMAT ", 1, 1, 1, 1, '{}', %s, 'so',"
        " CASE WHEN %s IS NULL THEN NULL ELSE 5 END, %d)",
        customer, car, kind, subject, end, end, vanished);
    books_careless(books, sql);
}

static void test_dues_that_are_over_are_named_and_no_others(void **state)
{
    struct books books;
    (void)state;
    open_plain(&books);
    due(&books, 1, "1", "wash", 1, "'sent'", 0);
    due(&books, 1, "1", "wash", 2, "'failed'", 0);
    due(&books, 1, "1", "wash", 3, "'lapsed'", 0);
    due(&books, 1, "1", "wash", 4, "'withdrawn'", 0);
    due(&books, 1, "1", "wash", 5, "'withdrawn'", 1); /* vanished: may come back */
    due(&books, 1, "1", "wash", 6, "NULL", 0);
    due(&books, 2, "NULL", "wash", 7, "'sent'", 0);  /* Bo's own */
    due(&books, 2, "1", "handover", 8, "'sent'", 0); /* Bo's, about the car Ada has now */
    books_careless(&books, "INSERT INTO due (id, customer, kind, subject, ordinal, from_at,"
                           " best_by, not_after, numbers) VALUES"
                           " (50, 1, 'care', 1, 3, 1, 1, 1, '{}'),"
                           " (51, 1, 'care', 1, 4, 1, 1, 1, '{}')");
    message(&books, 1, 1, "+447700900123", "care", "planned", 0);
    message(&books, 2, 1, "+447700900123", "care", "planned", 0);
    books_careless(
        &books, "INSERT INTO message_due (message, due) VALUES (1, 50), (2, 51);"
                "UPDATE message SET state = 'claimed', claimed_at = 1780315200 WHERE id = 1");
    g_autofree char *text = text_of(&books, 1);
    g_autofree char *expected = g_strconcat(ada_plain,
                                            "told 1 1780315200 care claimed\n"
                                            "ended care 1 3 0 0\n"
                                            "ended handover 8 1 0 0\n"
                                            "ended wash 1 1 0 0\n"
                                            "ended wash 2 1 0 0\n"
                                            "ended wash 3 1 0 0\n"
                                            "ended wash 4 1 0 0\n",
                                            NULL);
    assert_string_equal(text, expected);
    books_close(&books);
}

/* Whether it lasts longer than told can only be seen by what was told. */
static void test_a_top_up_that_was_sent_is_remembered_with_its_date(void **state)
{
    struct books books;
    (void)state;
    open_plain(&books);
    due(&books, 1, "1", "top-up", 1, "'sent'", 0);
    due(&books, 1, "1", "top-up", 2, "'lapsed'", 0);
    due(&books, 1, "1", "care", 1, "'sent'", 0);
    due(&books, 1, "1", "top-up", 3, "'sent'", 0);
    books_careless(&books,
                   "UPDATE due SET numbers = '{\"early\":1790000000}' WHERE subject < 3");
    g_autofree char *text = text_of(&books, 1);
    assert_non_null(strstr(text, "ended top-up 1 1 1790000000 5\n"));
    assert_non_null(strstr(text, "ended top-up 2 1 0 0\n"));
    assert_non_null(strstr(text, "ended top-up 3 1 0 0\n"));
    assert_non_null(strstr(text, "ended care 1 1 0 0\n"));
    books_close(&books);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_that_is_known_of_a_customer_is_there),
        cmocka_unit_test(test_nobody_has_no_facts),
        cmocka_unit_test(test_a_finding_counts_when_it_is_in_the_stored_words),
        cmocka_unit_test(test_a_cure_indoors_has_its_hours_or_is_a_lamps),
        cmocka_unit_test(test_facts_are_the_same_inside_a_transaction),
        cmocka_unit_test(test_facts_are_of_one_moment_while_others_write),
        cmocka_unit_test(test_facts_are_the_same_in_whatever_order_rows_were_written),
        cmocka_unit_test(test_the_newest_word_on_consent_counts),
        cmocka_unit_test(test_a_silenced_address_is_known_as_such),
        cmocka_unit_test(test_messages_that_began_are_told_in_order),
        cmocka_unit_test(test_what_was_said_over_400_days_ago_is_forgotten),
        cmocka_unit_test(test_dues_that_are_over_are_named_and_no_others),
        cmocka_unit_test(test_a_top_up_that_was_sent_is_remembered_with_its_date),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
