/*
 * plan_bare DATABASE NOW DUES MESSAGES LINKS [--bare-tables]: what planning is held against.
 *
 * A loop as one would write it in C without a plan: it reads all that planning reads of every
 * customer (person, consents, car, owner's date, readings, job, treatments, events), one
 * statement a table in the order of customers, merged as it goes; and in the same transaction
 * inserts so many dues, messages and links, spread evenly over the customers, and one instant
 * of planning again each. It computes nothing: instants and texts are of the lengths the pass
 * writes, message keys are random as the pass's are.
 *
 * It writes into the same tables: the same constraints, foreign keys, indexes and triggers. So
 * both pay for what the schema asks: a look for a due of that key and a message of that number
 * or key before each insert, three looks a link, seven indexes a due and up to five a message.
 * With --bare-tables triggers and foreign keys are off, for comparison only.
 *
 * The connection is set as the store's: page cache of 8 MiB, WAL,
 * synchronous=FULL, secure_delete.
 */
#include <stdio.h>
#include <string.h>

#include "beadline/clock.h"
#include "plan_shop.h"

#define KINDS 4

static const char *const reads[] = {
    "SELECT id, name, phone, mail, language, route, wish FROM customer ORDER BY id",
    "SELECT customer, id, class, given, at FROM consent ORDER BY customer",
    "SELECT customer, id, plate, name, km_a_year, exposures, gone_at,"
    " offers_held_at FROM car ORDER BY customer",
    "SELECT customer, car, since FROM car_owner ORDER BY customer, car",
    "SELECT car, id, at, km, instrument FROM mileage ORDER BY car, at",
    "SELECT customer, id, car, finished_at, temp_c, humidity, wash_from, cured_indoors,"
    " entered_at, redo_of FROM job ORDER BY customer",
    "SELECT job, id, rule, surface, part, coats, last_coat_at, again FROM treatment ORDER BY job",
    "SELECT car, id, at, happening, treatment, surface, part, \"with\", finding,"
    " temp_c, hours FROM event"
    " ORDER BY car, at",
};

struct bare {
    sqlite3 *db;
    sqlite3_stmt *reads[G_N_ELEMENTS(reads)];
    bool rows[G_N_ELEMENTS(reads)]; /* one is at hand */
    sqlite3_stmt *due, *message, *link, *replan;
    uint64_t random;
    int64_t now, customers, customer;
    int64_t seen; /* so that no column is read for nothing */
};

/* Every column of the row, as a program that wants them reads them. */
static void take_row(struct bare *bare, sqlite3_stmt *statement)
{
    for (int i = 0; i < sqlite3_column_count(statement); i++) {
        if (sqlite3_column_type(statement, i) == SQLITE_TEXT) {
            bare->seen += *sqlite3_column_text(statement, i);
        } else if (sqlite3_column_type(statement, i) == SQLITE_FLOAT) {
            bare->seen += (int64_t)sqlite3_column_double(statement, i);
        } else {
            bare->seen += sqlite3_column_int64(statement, i);
        }
    }
}

/* The rows of the table that are the customer's; his car and job have his number. */
static void read_until(struct bare *bare, guint table, int64_t customer)
{
    sqlite3_stmt *statement = bare->reads[table];
    while (bare->rows[table] && sqlite3_column_int64(statement, 0) <= customer) {
        take_row(bare, statement);
        bare->rows[table] = sqlite3_step(statement) == SQLITE_ROW;
    }
}

/* How many of `all` are the customer's, spread evenly; number receives how many came before. */
static int64_t share_of(const struct bare *bare, int64_t all, int64_t *number)
{
    *number = all * (bare->customer - 1) / bare->customers;
    return all * bare->customer / bare->customers - *number;
}

/* Any second of the next 400 days, as dates of a plan are. */
static int64_t some_instant(struct bare *bare)
{
    return bare->now + (int64_t)(plan_random(&bare->random) % (400 * UINT64_C(86400)));
}

static void add_due(struct bare *bare, int64_t n)
{
    static const char *const kinds[KINDS] = {"care", "handover", "top-up", "wash"};
    char numbers[256];
    int64_t from = some_instant(bare);
    int length = snprintf(numbers, sizeof numbers,
                          "{\"early\":%" G_GINT64_FORMAT ",\"likely\":%" G_GINT64_FORMAT
                          ",\"late\":%" G_GINT64_FORMAT
                          ",\"extended_from\":null,\"km_a_day\":38.123456789012345,"
                          "\"speed\":1.1234567890123456,\"by_distance\":false}",
                          from, from + 86400, from + 172800);
    sqlite3_bind_text(bare->due, 1, kinds[n % KINDS], -1, SQLITE_STATIC);
    sqlite3_bind_int64(bare->due, 2, n / KINDS + 1);
    sqlite3_bind_int64(bare->due, 3, 0);
    sqlite3_bind_int64(bare->due, 4, bare->customer);
    sqlite3_bind_int64(bare->due, 5, bare->customer);
    sqlite3_bind_int64(bare->due, 6, bare->customer);
    sqlite3_bind_int64(bare->due, 7,
                       (bare->customer - 1) * TREATMENTS_A_CAR + 1 + n % TREATMENTS_A_CAR);
    sqlite3_bind_int64(bare->due, 8, 1 + n % 5);
    sqlite3_bind_int64(bare->due, 9, from);
    sqlite3_bind_int64(bare->due, 10, from + 86400);
    sqlite3_bind_int64(bare->due, 11, from + 172800);
    sqlite3_bind_text(bare->due, 12, numbers, length, SQLITE_STATIC);
    plan_step(bare->due);
}

static void add_message(struct bare *bare, int64_t n)
{
    char key[33];
    char address[40];
    int64_t at = some_instant(bare);
    bl_chance_key(bl_chance_machine(), key);
    snprintf(address, sizeof address, "customer%" G_GINT64_FORMAT "@example.com",
             bare->customer);
    sqlite3_bind_int64(bare->message, 1, bare->customer);
    sqlite3_bind_text(bare->message, 2, key, 32, SQLITE_STATIC);
    sqlite3_bind_text(bare->message, 3, "top-up", -1, SQLITE_STATIC);
    sqlite3_bind_text(bare->message, 4, "offers", -1, SQLITE_STATIC);
    sqlite3_bind_text(bare->message, 5, n % 3 ? "sms" : "mail", -1, SQLITE_STATIC);
    sqlite3_bind_text(bare->message, 6, address, -1, SQLITE_STATIC);
    sqlite3_bind_int64(bare->message, 7, at);
    sqlite3_bind_int64(bare->message, 8, at + 3600);
    sqlite3_bind_int64(bare->message, 9, at + 172800);
    sqlite3_bind_int64(bare->message, 10, bare->now);
    plan_step(bare->message);
}

/* The customer's dues, his messages, and the links from his dues to them. */
static void write_customer(struct bare *bare, const int64_t totals[3])
{
    int64_t due;
    int64_t message;
    int64_t link;
    int64_t dues = share_of(bare, totals[0], &due);
    int64_t messages = share_of(bare, totals[1], &message);
    int64_t links = share_of(bare, totals[2], &link);
    for (int64_t i = 0; i < dues; i++) {
        add_due(bare, due + i);
    }
    for (int64_t i = 0; i < messages; i++) {
        add_message(bare, message + i);
    }
    for (int64_t i = 0; i < links; i++) {
        sqlite3_bind_int64(bare->link, 1, MIN(message + i + 1, message + MAX(messages, 1)));
        sqlite3_bind_int64(bare->link, 2, link + i + 1);
        plan_step(bare->link);
    }
    sqlite3_bind_int64(bare->replan, 1, bare->customer);
    sqlite3_bind_int64(bare->replan, 2, some_instant(bare));
    plan_step(bare->replan);
}

static void prepare(struct bare *bare)
{
    for (guint i = 0; i < G_N_ELEMENTS(reads); i++) {
        bare->reads[i] = plan_prepare(bare->db, reads[i]);
    }
    bare->due = plan_prepare(
        bare->db,
        "INSERT INTO due (kind, subject, ordinal, customer, car, job, treatment, rule,"
        " from_at, best_by, not_after, numbers)"
        " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)");
    bare->message = plan_prepare(
        bare->db, "INSERT INTO message (customer, key, kind, class, channel, address, from_at,"
                  " send_at, not_after, made_at)"
                  " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)");
    bare->link =
        plan_prepare(bare->db, "INSERT INTO message_due (message, due) VALUES (?1, ?2)");
    bare->replan = plan_prepare(bare->db, "INSERT INTO replan (customer, at) VALUES (?1, ?2)");
}

static void walk(struct bare *bare, const int64_t totals[3])
{
    bare->customers = plan_number(bare->db, "SELECT max(id) FROM customer");
    plan_exec(bare->db, "BEGIN IMMEDIATE");
    for (guint i = 0; i < G_N_ELEMENTS(reads); i++) {
        bare->rows[i] = sqlite3_step(bare->reads[i]) == SQLITE_ROW;
    }
    for (bare->customer = 1; bare->customer <= bare->customers; bare->customer++) {
        for (guint i = 0; i < G_N_ELEMENTS(reads); i++) {
            read_until(bare, i, bare->customer);
        }
        write_customer(bare, totals);
    }
    for (guint i = 0; i < G_N_ELEMENTS(reads); i++) {
        sqlite3_finalize(bare->reads[i]);
    }
    plan_exec(bare->db, "COMMIT");
}

int main(int argc, char **argv)
{
    if (argc < 6) {
        fprintf(stderr, "plan_bare DATABASE NOW DUES MESSAGES LINKS [--bare-tables]\n");
        return 2;
    }
    struct bare bare = {.now = g_ascii_strtoll(argv[2], NULL, 10)};
    struct plan_figures figures;
    int64_t totals[3];
    for (int i = 0; i < 3; i++) {
        totals[i] = g_ascii_strtoll(argv[3 + i], NULL, 10);
    }
    bare.db = plan_connect(argv[1]);
    if (argc > 6) {
        sqlite3_db_config(bare.db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
        plan_exec(bare.db, "PRAGMA foreign_keys = OFF");
    }
    prepare(&bare);
    plan_begin(&figures);
    walk(&bare, totals);
    plan_end(&figures);
    printf("wall %.3f cpu %.3f seen %" G_GINT64_FORMAT "\n", figures.wall_s, figures.cpu_s,
           bare.seen);
    sqlite3_finalize(bare.due);
    sqlite3_finalize(bare.message);
    sqlite3_finalize(bare.link);
    sqlite3_finalize(bare.replan);
    return sqlite3_close(bare.db) == SQLITE_OK ? 0 : 1;
}
