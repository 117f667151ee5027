/*
 * Broken rows: whatever another program wrote, the facts are read, what is broken is left out,
 * and each row left out is named with its reason.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/lookup.h"
#include "facts_text.h"

static void open_plain(struct books *books)
{
    books_open(books);
    for (guint i = 0; facts_plain[i]; i++) {
        books_careless(books, facts_plain[i]);
    }
}

/* What another program did, the lines it must give (each the beginning of one, "|" between),
 * and what of the facts' text must still be there. */
struct breakage {
    const char *sql;
    const char *lines;
    const char *still;
};

#define OUT_JOB2 "|treatment 3: its job 2 is left out"
#define OUT_CAR1                                                                               \
    "|mileage 4: its car 1 is left out|mileage 1: its car 1 is left out"                       \
    "|mileage 2: its car 1 is left out|job 3: its car 1 is left out"                           \
    "|job 1: its car 1 is left out|job 2: its car 1 is left out"                               \
    "|treatment 1: its car 1 is left out|treatment 2: its car 1 is left out"                   \
    "|treatment 3: its car 1 is left out|event 2: its car 1 is left out"                       \
    "|event 1: its car 1 is left out"

static const struct breakage breakages[] = {
    /* the person: the quietest value counts */
    {"UPDATE customer SET phone = '07700 900123' WHERE id = 1",
     "customer 1: phone \"07700 900123\" is not an international number",
     "Ada Example (none) ada@example.com"},
    {"UPDATE customer SET phone = '+44770\n0900123' WHERE id = 1",
     "customer 1: phone \"+44770\\x0a0900123\"", "Ada Example (none) ada@example.com"},
    {"UPDATE customer SET mail = 'ada@example.com, bo@example.com' WHERE id = 1",
     "customer 1: ", "Ada Example +447700900123 (none)"},
    {"UPDATE customer SET mail = 'ada@example.com' || char(0) || 'x' WHERE id = 1",
     "customer 1: the mail holds a control character (U+0000)",
     "Ada Example +447700900123 (none)"},
    {"UPDATE customer SET name = CAST(x'416461ff' AS TEXT) WHERE id = 1",
     "customer 1: the name is not valid UTF-8", "customer 1 Ada\\xff (none) (none)"},
    {"UPDATE customer SET name = 'Ada' || char(13, 10) || 'Bcc: x' WHERE id = 1",
     "customer 1: the name \"Ada\\x0d\\x0aBcc: x\" holds a control character",
     "customer 1 Ada\\x0d\\x0aBcc: x (none) (none)"},
    {"UPDATE customer SET name = 'Ada' || char(0) WHERE id = 1",
     "customer 1: the name holds a control character (U+0000)", "customer 1 Ada (none) (none)"},
    {"UPDATE customer SET name = '' WHERE id = 1", "customer 1: the name is empty",
     "customer 1  (none) (none)"},
    {"UPDATE customer SET name = printf('%.300c', 'a') WHERE id = 1",
     "customer 1: the name has 300 characters", "(none) (none) en mail"},
    {"UPDATE customer SET language = 'e' || char(10) WHERE id = 1", "customer 1: the language",
     "ada@example.com (none) mail"},
    {"UPDATE customer SET route = 'pigeon', wish = 'always' WHERE id = 1",
     "customer 1: route \"pigeon\" is unknown|customer 1: wish \"always\" is unknown",
     "en by hand never"},
    {"UPDATE consent SET class = 'everything' WHERE id = 1",
     "consent 1: class of the consent \"everything\" is unknown", "yes 110"},
    {"UPDATE consent SET given = 7 WHERE id = 1",
     "consent 1: given \"7\" is neither 0 (no) nor 1 (yes)", "yes 110"},
    {"UPDATE consent SET at = -1 WHERE id = 1", "consent 1: date of the consent \"-1\"",
     "yes 110"},
    {"UPDATE consent SET at = -1, given = 0 WHERE id = 1",
     "consent 1: date of the consent \"-1\"", "yes 110"},

    /* cars: what hangs on them is left out, too */
    {"UPDATE car SET plate = '' WHERE id = 2",
     "car 2: the plate is empty|mileage 3: its car 2 is left out", "car 1 AB12 CDE"},
    {"UPDATE car SET plate = '---' WHERE id = 1",
     "car 1: plate \"---\" has no letter or digit" OUT_CAR1, "car 2 XY99 ZZZ"},
    {"UPDATE car SET plate = 'AB' || char(0x202e) WHERE id = 1",
     "car 1: the plate \"AB\\xe2\\x80\\xae\" holds a control character (U+202E)" OUT_CAR1,
     "car 2 XY99 ZZZ"},
    {"UPDATE car SET name = char(27) || '[2J' WHERE id = 2",
     "car 2: the name of the car \"\\x1b[2J\" holds|mileage 3: its car 2", "car 1"},
    {"UPDATE car SET km_a_year = 9e999 WHERE id = 2",
     "car 2: distance a year \"inf\" cannot be right|mileage 3: its car 2", "car 1"},
    {"UPDATE car SET km_a_year = -5 WHERE id = 2",
     "car 2: distance a year \"-5\" cannot be right|mileage 3: its car 2", "car 1"},
    {"UPDATE car SET exposures = CAST(x'ff0a41' AS TEXT) WHERE id = 2",
     "car 2: the exposure is not valid UTF-8|mileage 3: its car 2", "car 1"},
    {"UPDATE car SET gone_at = 99999999999999 WHERE id = 2",
     "car 2: date gone \"99999999999999\" is outside|mileage 3: its car 2", "car 1"},
    {"UPDATE car_owner SET since = -9 WHERE car = 2",
     "car 2: date it came to its owner \"-9\" is outside|mileage 3: its car 2", "car 1"},

    /* mileage */
    {"UPDATE mileage SET km = 9e999 WHERE id = 1", "mileage 1: mileage \"inf\" cannot be right",
     " mileage 2 "},
    {"UPDATE mileage SET km = -0.5 WHERE id = 1", "mileage 1: mileage \"-0.5\" cannot be right",
     " mileage 2 "},
    {"UPDATE mileage SET at = -7 WHERE id = 1", "mileage 1: date of the reading \"-7\"",
     " mileage 2 "},
    {"UPDATE mileage SET instrument = 5000 WHERE id = 1",
     "mileage 1: instrument \"5000\" cannot be right", " mileage 2 "},
    {"UPDATE mileage SET instrument = -9223372036854775808 WHERE id = 1",
     "mileage 1: instrument ", " mileage 2 "},
    {"UPDATE mileage SET km = 40999 WHERE id = 2",
     "mileage 2: the mileage goes back from \"41 000 km (25 476 mi)\" on 2026-06-01",
     " mileage 1 "},
    {"UPDATE mileage SET km = 430000 WHERE id = 2", "mileage 2: the mileage rises too fast",
     " mileage 1 "},
    {"UPDATE mileage SET at = 1780315200 WHERE id = 2", "mileage 2: the mileage is both",
     " mileage 1 "},

    /* jobs */
    {"UPDATE job SET finished_at = -5 WHERE id = 2",
     "job 2: time the job was finished \"-5\" is outside" OUT_JOB2, " treatment 1 "},
    {"UPDATE job SET finished_at = 9223372036854775807 WHERE id = 2",
     "job 2: time the job was finished" OUT_JOB2, " treatment 1 "},
    {"UPDATE job SET temp_c = 9e999 WHERE id = 2",
     "job 2: temperature \"inf\" cannot be right" OUT_JOB2, " treatment 1 "},
    {"UPDATE job SET temp_c = 68 WHERE id = 2",
     "job 2: temperature \"68\" cannot be right: give degrees Celsius" OUT_JOB2, " job 1 "},
    {"UPDATE job SET humidity = 400 WHERE id = 2",
     "job 2: humidity \"400\" cannot be right" OUT_JOB2, " job 1 "},
    {"UPDATE job SET wash_from = 9999999999999 WHERE id = 2",
     "job 2: wash date \"2147483647\" is outside" OUT_JOB2, " job 1 "},
    {"UPDATE job SET wash_from = -9999999999999 WHERE id = 2", "job 2: wash date" OUT_JOB2,
     " job 1 "},
    {"UPDATE job SET entered_at = 0 WHERE id = 2",
     "job 2: time the job was entered \"0\" is outside" OUT_JOB2, " job 1 "},

    /* treatments; an event on one is left out with it */
    {"UPDATE treatment SET rule = 999 WHERE id = 3",
     "treatment 3: its rule version 999 is missing or cannot be read", " treatment 2 "},
    {"UPDATE treatment SET surface = 'wings' WHERE id = 1",
     "treatment 1: surface \"wings\" is unknown|event 1: its treatment 1 is not on this car",
     " treatment 2 "},
    {"UPDATE treatment SET part = char(27) || '[31m' WHERE id = 2",
     "treatment 2: the part \"\\x1b[31m\" holds a control character", " treatment 1 "},
    {"UPDATE treatment SET part = CAST(x'ff' AS TEXT) WHERE id = 2",
     "treatment 2: the part is not valid UTF-8", " treatment 1 "},
    {"UPDATE treatment SET coats = 0 WHERE id = 2",
     "treatment 2: coats \"0\" cannot be right: give a whole number", " treatment 1 "},
    {"UPDATE treatment SET coats = 9223372036854775807 WHERE id = 2", "treatment 2: coats ",
     " treatment 1 "},
    {"UPDATE treatment SET last_coat_at = -1 WHERE id = 2",
     "treatment 2: time of the last coat \"-1\"", " treatment 1 "},
    {"UPDATE treatment SET again = 'nobody' WHERE id = 2",
     "treatment 2: who does it again \"nobody\" is unknown", " treatment 1 "},

    /* events */
    {"UPDATE event SET happening = 'flown' WHERE id = 2",
     "event 2: happening \"flown\" is unknown", " event 1 "},
    {"UPDATE event SET surface = 'wings' WHERE id = 2", "event 2: surface \"wings\" is unknown",
     " event 1 "},
    {"UPDATE event SET hours = -3 WHERE id = 2", "event 2: hours of the cure \"-3\"",
     " event 1 "},
    {"UPDATE event SET temp_c = 400, hours = 2 WHERE id = 2",
     "event 2: temperature of the cure \"400\"", " event 1 "},
    {"UPDATE event SET treatment = 99 WHERE id = 2",
     "event 2: its treatment 99 is not on this car", " event 1 "},
    {"UPDATE event SET car = 2 WHERE id = 1", "event 1: its treatment 1 is not on this car",
     " event 2 "},
    {"UPDATE event SET \"with\" = 'wheel' || char(7) WHERE id = 2",
     "event 2: the thing it was done with \"wheel\\x07\" holds", " event 1 "},
    {"UPDATE event SET part = 'front' || char(0) || 'left' WHERE id = 2",
     "event 2: the part holds a control character (U+0000)", " event 1 "},
    {"UPDATE event SET at = -1 WHERE id = 2", "event 2: time of the event \"-1\"", " event 1 "},

    /* orphans: foreign keys were off */
    {"DELETE FROM rule_version WHERE id = 1; UPDATE treatment SET rule = 99 WHERE rule = 1",
     "treatment 1: its rule version 99|treatment 3: its rule version 99|event 1: its treatment",
     " treatment 2 "},
    {"INSERT INTO due (customer, car, job, treatment, kind, subject, ordinal, from_at, best_by,"
     " not_after, numbers) VALUES (1, 1, 2, 3, 'top-up', 3, 1, 1, 1, 1, '{}');"
     "DELETE FROM job WHERE id = 2",
     "treatment 3: there is no job 2: remove it, or give it the right job", " job 1 "},
    {"UPDATE job SET car = 88 WHERE id = 2",
     "job 2: there is no car 88|treatment 3: there is no car 88", " job 1 "},
    {"DELETE FROM car WHERE id = 1",
     "event 1: there is no car 1|event 2: there is no car 1|job 2: there is no car 1"
     "|job 3: there is no car 1|mileage 1: there is no car 1|mileage 2: there is no car 1"
     "|mileage 4: there is no car 1|treatment 3: there is no car 1",
     "car 2 XY99 ZZZ"},

    /* the ledger */
    {"INSERT INTO message (id, customer, key, kind, class, channel, address, from_at, send_at,"
     " not_after, made_at) VALUES (1, 1, printf('%032x', 1), 'gossip', 'service', 'sms',"
     " '+447700900123', 1, 1, 1, 1);"
     "UPDATE message SET state = 'claimed', claimed_at = 1780315200",
     "message 1: kind \"gossip\" is unknown", "car 1"},
    {"INSERT INTO message (id, customer, key, kind, class, channel, address, from_at, send_at,"
     " not_after, made_at) VALUES (1, 1, printf('%032x', 1), 'wash', 'service', 'sms',"
     " '+447700900123', 1, 1, 1, 1);"
     "UPDATE message SET state = 'claimed', claimed_at = 9223372036854775807",
     "message 1: time the message was claimed \"9223372036854775807\"", "car 1"},
    {"INSERT INTO due (id, customer, kind, subject, ordinal, from_at, best_by, not_after,"
     " numbers, end, reason, ended_at) VALUES"
     " (1, 1, 'gossip', 1, 1, 1, 1, 1, '{}', 'lapsed', 'so', 1),"
     " (2, 1, 'wash', 1, 99999999999, 1, 1, 1, '{}', 'lapsed', 'so', 1)",
     "due 1: kind \"gossip\" is unknown|due 2: ordinal \"99999999999\" is out of range",
     "car 1"},
};

static void check_breakage(const struct breakage *breakage)
{
    struct books books;
    struct bl_facts facts;
    open_plain(&books);
    books_careless(&books, breakage->sql);
    facts_read(&books, 1, &facts);
    g_auto(GStrv) lines = g_strsplit(breakage->lines, "|", -1);
    g_autofree char *text = facts_text(&facts);
    if (facts.skipped->len != g_strv_length(lines)) {
        fail_msg("%s\n%s", breakage->sql, text);
    }
    for (guint i = 0; lines[i]; i++) {
        const char *line = g_ptr_array_index(facts.skipped, i);
        if (!g_str_has_prefix(line, lines[i])) {
            fail_msg("%s\n\"%s\" does not begin \"%s\"", breakage->sql, line, lines[i]);
        }
        assert_true(g_utf8_validate(line, -1, NULL));
        assert_null(strpbrk(line, "\n\r\x1b\x07"));
    }
    if (!strstr(text, breakage->still)) {
        fail_msg("%s: \"%s\" is gone from\n%s", breakage->sql, breakage->still, text);
    }
    bl_facts_clear(&facts);
    books_close(&books);
}

static void test_each_broken_row_is_left_out_and_named(void **state)
{
    (void)state;
    assert_true(G_N_ELEMENTS(breakages) >= 50);
    for (guint i = 0; i < G_N_ELEMENTS(breakages); i++) {
        check_breakage(&breakages[i]);
    }
}

static void test_rows_of_nobody_are_named_by_the_check(void **state)
{
    struct books books;
    GError *error = NULL;
    (void)state;
    open_plain(&books);
    g_autoptr(GPtrArray) none = bl_store_orphans(books.store, &error);
    books_well(none != NULL, error);
    assert_int_equal(none->len, 0);
    books_careless(&books, "INSERT INTO treatment (id, job, rule, surface, last_coat_at)"
                           " VALUES (12, 99, 1, 'paint', 1780315200);"
                           "INSERT INTO mileage (id, car, at, km) VALUES (13, 99, 1, 1)");
    g_autoptr(GPtrArray) lines = bl_store_orphans(books.store, &error);
    books_well(lines != NULL, error);
    assert_int_equal(lines->len, 2);
    assert_string_equal(
        g_ptr_array_index(lines, 0),
        "mileage 13: its car is not there: remove it, or give it the right car");
    assert_string_equal(g_ptr_array_index(lines, 1),
                        "treatment 12: its job is not there: remove it, or give it the right "
                        "job");
    books_close(&books);
}

/* A file that lost a table is no empty file: every reader of it says so. */
static void test_a_table_that_is_gone_is_an_error_and_not_an_empty_list(void **state)
{
    static const char *const tables[] = {"customer", "consent", "car",    "car_owner",
                                         "mileage",  "job",     "event",  "treatment",
                                         "message",  "due",     "silence"};
    (void)state;
    for (guint i = 0; i < G_N_ELEMENTS(tables); i++) {
        struct books books;
        struct bl_facts facts;
        GError *error = NULL;
        g_autofree char *drop = g_strdup_printf("DROP TABLE %s", tables[i]);
        open_plain(&books);
        books_careless(&books, drop);
        bl_facts_init(&facts);
        assert_false(bl_store_facts(books.store, 1, &facts_book, &facts, &error));
        books_refused(&error, BL_ERROR_OUTSIDE, tables[i]);
        bl_facts_clear(&facts);
        books_close(&books);
    }
}

static void test_every_list_of_a_lost_table_is_an_error(void **state)
{
    struct books books;
    (void)state;
    open_plain(&books);
    books_careless(&books, "DROP TABLE event; DROP TABLE treatment; DROP TABLE job;"
                           "DROP TABLE mileage; DROP TABLE car; DROP TABLE place;"
                           "DROP TABLE consent; DROP TABLE customer");
    for (int i = 0; i < 10; i++) {
        GError *error = NULL;
        GArray *list = i == 0   ? bl_customer_list(books.store, &error)
                       : i == 1 ? bl_consent_list(books.store, 1, &error)
                       : i == 2 ? bl_place_list(books.store, 1, &error)
                       : i == 3 ? bl_car_list(books.store, 1, &error)
                       : i == 4 ? bl_job_list(books.store, 1, 0, &error)
                       : i == 5 ? bl_treatment_list(books.store, 1, &error)
                       : i == 6 ? bl_event_list(books.store, 1, &error)
                       : i == 7 ? bl_mileage_list(books.store, 1, &error)
                       : i == 8 ? bl_customer_find(books.store, "Ada", &error)
                                : bl_car_find(books.store, "AB12 CDE", &error);
        assert_null(list);
        books_refused(&error, BL_ERROR_OUTSIDE, "no such table");
    }
    books_close(&books);
}

/* Columns that anyone may fill with anything of their type. */
static const struct {
    const char *table, *column;
    bool text;
} targets[] = {
    {"customer", "name", true},    {"customer", "phone", true},
    {"customer", "mail", true},    {"customer", "route", true},
    {"car", "plate", true},        {"car", "name", true},
    {"car", "exposures", true},    {"car", "km_a_year", false},
    {"car", "gone_at", false},     {"mileage", "at", false},
    {"mileage", "km", false},      {"mileage", "instrument", false},
    {"job", "finished_at", false}, {"job", "temp_c", false},
    {"job", "wash_from", false},   {"job", "entered_at", false},
    {"treatment", "rule", false},  {"treatment", "surface", true},
    {"treatment", "part", true},   {"treatment", "coats", false},
    {"treatment", "again", true},  {"treatment", "last_coat_at", false},
    {"event", "happening", true},  {"event", "treatment", false},
    {"event", "surface", true},    {"event", "with", true},
    {"event", "at", false},        {"consent", "given", false},
    {"consent", "class", true},    {"consent", "at", false},
};

static const char *const texts[] = {
    "''",
    "'x'",
    "char(0)",
    "char(10)",
    "CAST(x'ff' AS TEXT)",
    "CAST(x'c080' AS TEXT)",
    "CAST(x'eda080' AS TEXT)",
    "char(0x2028)",
    "char(0x10ffff)",
    "printf('%.5000c', 'a')",
    "'; DROP TABLE car; --'",
    "'%s%n'",
    "'wheels'",
    "'care'",
    "'shop'",
    "'mail'",
    "'offers'",
};
static const char *const numbers[] = {
    "0",
    "1",
    "-1",
    "2",
    "9",
    "99",
    "1780315200",
    "7258118400",
    "2147483648",
    "-2147483648",
    "9223372036854775807",
    "-9223372036854775808",
};

static void break_one(struct books *books, GRand *chance)
{
    guint t = (guint)g_rand_int_range(chance, 0, G_N_ELEMENTS(targets));
    const char *value = targets[t].text
                            ? texts[g_rand_int_range(chance, 0, G_N_ELEMENTS(texts))]
                            : numbers[g_rand_int_range(chance, 0, G_N_ELEMENTS(numbers))];
    g_autofree char *sql =
        g_strdup_printf("UPDATE %s SET \"%s\" = %s WHERE id = %d", targets[t].table,
                        targets[t].column, value, g_rand_int_range(chance, 1, 4));
    /* A key that is taken refuses it, as it would any program. */
    sqlite3_exec(books->other, sql, NULL, NULL, NULL);
}

/* Rows of the table that are read, and lines that leave one out. */
static guint told_of(const struct bl_facts *facts, const char *table)
{
    g_autofree char *begin = g_strdup_printf("%s ", table);
    g_autofree char *text = facts_text(facts);
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    guint count = 0;
    for (guint i = 0; lines[i]; i++) {
        const char *line = lines[i];
        if (g_str_has_prefix(line, "skipped ")) {
            line += strlen("skipped ");
        } else if (line[0] == ' ') {
            line++;
        }
        count += g_str_has_prefix(line, begin) ? 1 : 0;
    }
    return count;
}

static void assert_all_told(struct books *books, const struct bl_facts *facts)
{
    static const struct {
        const char *table, *rows;
    } counts[] = {
        {"car", "SELECT count(*) FROM car WHERE customer = 1"},
        {"mileage", "SELECT count(*) FROM mileage"},
        {"job", "SELECT count(*) FROM job"},
        {"treatment", "SELECT count(*) FROM treatment"},
        {"event", "SELECT count(*) FROM event"},
    };
    for (guint i = 0; i < G_N_ELEMENTS(counts); i++) {
        if (told_of(facts, counts[i].table) != (guint)books_number(books, counts[i].rows)) {
            g_autofree char *text = facts_text(facts);
            fail_msg("not every row of %s is told:\n%s", counts[i].table, text);
        }
    }
}

static void test_every_row_is_read_or_named_whatever_is_in_it(void **state)
{
    guint32 seed = g_random_int();
    g_autoptr(GRand) chance = g_rand_new_with_seed(seed);
    (void)state;
    print_message("seed %u\n", seed);
    for (int round = 0; round < 30; round++) {
        struct books books;
        open_plain(&books);
        for (int step = 0; step < 15; step++) {
            struct bl_facts facts;
            break_one(&books, chance);
            facts_read(&books, 1, &facts);
            assert_all_told(&books, &facts);
            bl_facts_clear(&facts);
        }
        books_close(&books);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_broken_row_is_left_out_and_named),
        cmocka_unit_test(test_rows_of_nobody_are_named_by_the_check),
        cmocka_unit_test(test_a_table_that_is_gone_is_an_error_and_not_an_empty_list),
        cmocka_unit_test(test_every_list_of_a_lost_table_is_an_error),
        cmocka_unit_test(test_every_row_is_read_or_named_whatever_is_in_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
