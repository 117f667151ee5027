/*
 * plan_bare DATABASE NOW DUES MESSAGES LINKS [--several|--bare-tables]: what planning is held
 * against.
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
 * It inserts a row a statement, as loops do. For comparison only: with --several up to 8 rows a
 * statement, as the store does; with --bare-tables triggers and foreign keys are off.
 *
 * The connection is set as the store's: page cache of 8 MiB, WAL,
 * synchronous=FULL, secure_delete.
 */
#include <stdio.h>

#include "beadline/clock.h"
#include "plan_shop.h"

#define KINDS     4
#define TABLES    3 /* dues, messages, links */
#define MOST_ROWS 8
#define TEXT_SIZE 256

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
    sqlite3_stmt *writes[TABLES][MOST_ROWS], *replan;
    int at_once; /* rows a statement inserts at most */
    char texts[MOST_ROWS][TEXT_SIZE], keys[MOST_ROWS][33];
    uint64_t random;
    int64_t now, customers, customer;
    int64_t message, last_message,
        link;     /* the customer's first message, last one, first link */
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

static void bind_text(sqlite3_stmt *statement, int place, const char *text)
{
    sqlite3_bind_text(statement, place, text, -1, SQLITE_STATIC);
}

/* Due number n as a row of the statement, its first value at that place. */
static void bind_due(struct bare *bare, sqlite3_stmt *statement, int row, int place, int64_t n)
{
    static const char *const kinds[KINDS] = {"care", "handover", "top-up", "wash"};
    int64_t from = some_instant(bare);
    const int64_t numbers[] = {
        n / KINDS + 1,  0,
        bare->customer, bare->customer,
        bare->customer, (bare->customer - 1) * TREATMENTS_A_CAR + 1 + n % TREATMENTS_A_CAR,
        1 + n % 5,      from,
        from + 86400,   from + 172800,
    };
    g_snprintf(bare->texts[row], TEXT_SIZE,
               "{\"early\":%" G_GINT64_FORMAT ",\"likely\":%" G_GINT64_FORMAT
               ",\"late\":%" G_GINT64_FORMAT
               ",\"extended_from\":null,\"km_a_day\":38.123456789012345,"
               "\"speed\":1.1234567890123456,\"by_distance\":false}",
               from, from + 86400, from + 172800);
    bind_text(statement, place, kinds[n % KINDS]);
    for (int i = 0; i < (int)G_N_ELEMENTS(numbers); i++) {
        sqlite3_bind_int64(statement, place + 1 + i, numbers[i]);
    }
    bind_text(statement, place + 11, bare->texts[row]);
}

static void bind_message(struct bare *bare, sqlite3_stmt *statement, int row, int place,
                         int64_t n)
{
    int64_t at = some_instant(bare);
    bl_chance_key(bl_chance_machine(), bare->keys[row]);
    g_snprintf(bare->texts[row], TEXT_SIZE, "customer%" G_GINT64_FORMAT "@example.com",
               bare->customer);
    sqlite3_bind_int64(statement, place, bare->customer);
    bind_text(statement, place + 1, bare->keys[row]);
    bind_text(statement, place + 2, "top-up");
    bind_text(statement, place + 3, "offers");
    bind_text(statement, place + 4, n % 3 ? "sms" : "mail");
    bind_text(statement, place + 5, bare->texts[row]);
    sqlite3_bind_int64(statement, place + 6, at);
    sqlite3_bind_int64(statement, place + 7, at + 3600);
    sqlite3_bind_int64(statement, place + 8, at + 172800);
    sqlite3_bind_int64(statement, place + 9, bare->now);
}

/* Link number n, from the due of that number to one of the customer's messages. */
static void bind_link(struct bare *bare, sqlite3_stmt *statement, int row, int place, int64_t n)
{
    (void)row;
    sqlite3_bind_int64(statement, place,
                       MIN(bare->message + n - bare->link + 1, bare->last_message));
    sqlite3_bind_int64(statement, place + 1, n + 1);
}

/* What goes into a table: its columns, and how a row of it is bound. */
static const struct goods {
    const char *into, *row;
    int columns;
    void (*bind)(struct bare *bare, sqlite3_stmt *statement, int row, int place, int64_t n);
} goods[TABLES] = {
    {"due (kind, subject, ordinal, customer, car, job, treatment, rule, from_at, best_by,"
     " not_after, numbers)",
     "(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", 12, bind_due},
    {"message (customer, key, kind, class, channel, address, from_at, send_at, not_after,"
     " made_at)",
     "(?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", 10, bind_message},
    {"message_due (message, due)", "(?, ?)", 2, bind_link},
};

/* Rows first .. first + count of the table. */
static void write_rows(struct bare *bare, int table, int64_t first, int64_t count)
{
    for (int64_t done = 0; done < count; done += bare->at_once) {
        int rows = (int)MIN(count - done, bare->at_once);
        sqlite3_stmt *statement = bare->writes[table][rows - 1];
        for (int row = 0; row < rows; row++) {
            goods[table].bind(bare, statement, row, 1 + row * goods[table].columns,
                              first + done + row);
        }
        plan_step(statement);
    }
}

/* The customer's dues, his messages, and the links from his dues to them. */
static void write_customer(struct bare *bare, const int64_t totals[TABLES])
{
    int64_t due;
    int64_t dues = share_of(bare, totals[0], &due);
    int64_t messages = share_of(bare, totals[1], &bare->message);
    int64_t links = share_of(bare, totals[2], &bare->link);
    bare->last_message = bare->message + MAX(messages, 1);
    write_rows(bare, 0, due, dues);
    write_rows(bare, 1, bare->message, messages);
    write_rows(bare, 2, bare->link, links);
    sqlite3_bind_int64(bare->replan, 1, bare->customer);
    sqlite3_bind_int64(bare->replan, 2, some_instant(bare));
    plan_step(bare->replan);
}

static void prepare(struct bare *bare)
{
    for (guint i = 0; i < G_N_ELEMENTS(reads); i++) {
        bare->reads[i] = plan_prepare(bare->db, reads[i]);
    }
    for (int table = 0; table < TABLES; table++) {
        g_autoptr(GString) sql = g_string_new(NULL);
        g_string_printf(sql, "INSERT INTO %s VALUES %s", goods[table].into, goods[table].row);
        for (int rows = 1; rows <= bare->at_once; rows++) {
            bare->writes[table][rows - 1] = plan_prepare(bare->db, sql->str);
            g_string_append_printf(sql, ", %s", goods[table].row);
        }
    }
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
        sqlite3_reset(bare->reads[i]);
    }
    plan_exec(bare->db, "COMMIT");
}

int main(int argc, char **argv)
{
    if (argc < 6) {
        fprintf(stderr,
                "plan_bare DATABASE NOW DUES MESSAGES LINKS [--several|--bare-tables]\n");
        return 2;
    }
    const char *option = argc > 6 ? argv[6] : "";
    struct bare bare = {.now = g_ascii_strtoll(argv[2], NULL, 10),
                        .at_once = g_str_equal(option, "--several") ? MOST_ROWS : 1};
    struct plan_figures figures;
    int64_t totals[TABLES];
    for (int i = 0; i < TABLES; i++) {
        totals[i] = g_ascii_strtoll(argv[3 + i], NULL, 10);
    }
    bare.db = plan_connect(argv[1]);
    if (g_str_equal(option, "--bare-tables")) {
        sqlite3_db_config(bare.db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
        plan_exec(bare.db, "PRAGMA foreign_keys = OFF");
    }
    prepare(&bare);
    plan_begin(&figures);
    walk(&bare, totals);
    plan_end(&figures);
    printf("wall %.3f cpu %.3f seen %" G_GINT64_FORMAT "\n", figures.wall_s, figures.cpu_s,
           bare.seen);
    sqlite3_stmt *open;
    while ((open = sqlite3_next_stmt(bare.db, NULL))) {
        sqlite3_finalize(open);
    }
    return sqlite3_close(bare.db) == SQLITE_OK ? 0 : 1;
}
