/*
 * plan_fill SETTINGS DATABASE CARS NOW: a shop of so many cars, each with a customer of its
 * own, one job of three treatments within the last 400 days, a reading then and one before, and
 * here and there a care. Products come from the catalogue, in the shares of a shop that coats
 * some and waxes many. Everything is the same each time.
 *
 * The shop is as one that a new catalogue has been given to: nobody is touched yet.
 */
#include <stdio.h>
#include <stdlib.h>

#include "beadline/pass.h"
#include "plan_shop.h"

#define DAY_S 86400

struct fill {
    sqlite3 *db;
    sqlite3_stmt *customer, *consent, *car, *owner, *plate, *mileage, *job, *treatment, *event;
    uint64_t random;
    int64_t now;
};

/* What goes on a car: a product of each row, by its share. */
static const struct {
    const char *product, *surface;
    double up_to; /* of a number between 0 and 1 */
} goods[TREATMENTS_A_CAR][5] = {
    {{"coating-1y", "paint", 0.2},
     {"coating-3y", "paint", 0.45},
     {"coating-5y", "paint", 0.55},
     {"spray-sealant", "paint", 0.8},
     {"wax", "paint", 1}},
    {{"wheel-spray", "wheels", 0.6}, {"wheel-coating", "wheels", 1}},
    {{"windscreen-coating", "windscreen", 0.4},
     {"glass-coating", "glass", 0.5},
     {"tyre-dressing", "tyres", 0.7},
     {"trim-coating", "trim", 0.8},
     {"leather-coating", "leather", 1}},
};

static void bind(sqlite3_stmt *statement, int first, const int64_t *numbers, int count)
{
    for (int i = 0; i < count; i++) {
        sqlite3_bind_int64(statement, first + i, numbers[i]);
    }
}

#define BIND(statement, first, ...)                                                            \
    bind(statement, first, (const int64_t[]){__VA_ARGS__},                                     \
         sizeof((const int64_t[]){__VA_ARGS__}) / sizeof(int64_t))

static void text(sqlite3_stmt *statement, int place, const char *words)
{
    if (words) {
        sqlite3_bind_text(statement, place, words, -1, SQLITE_TRANSIENT);
    } else {
        sqlite3_bind_null(statement, place);
    }
}

/* Two in three take texts. The numbers are those Ofcom keeps for fiction, so they come again
 * and again; a mail address is one customer's own. */
static void add_customer(struct fill *fill, int64_t id, int64_t at)
{
    char name[40];
    char phone[24];
    char mail[40];
    double route = plan_share(&fill->random);
    snprintf(name, sizeof name, "Customer %" G_GINT64_FORMAT, id);
    snprintf(phone, sizeof phone, "+447700900%03" G_GINT64_FORMAT, id % 1000);
    snprintf(mail, sizeof mail, "customer%" G_GINT64_FORMAT "@example.com", id);
    BIND(fill->customer, 1, id);
    text(fill->customer, 2, name);
    text(fill->customer, 3, route < 0.9 ? phone : NULL);
    text(fill->customer, 4, route > 0.5 ? mail : NULL);
    text(fill->customer, 5, route < 0.67 ? "sms" : "mail");
    BIND(fill->customer, 6, at);
    plan_step(fill->customer);
    BIND(fill->consent, 1, id, plan_share(&fill->random) < 0.8, at);
    text(fill->consent, 4, "tips");
    plan_step(fill->consent);
    BIND(fill->consent, 2, plan_share(&fill->random) < 0.7);
    text(fill->consent, 4, "offers");
    plan_step(fill->consent);
}

static void add_car(struct fill *fill, int64_t id, int64_t at)
{
    char plate[24];
    snprintf(plate, sizeof plate, "BD%06" G_GINT64_FORMAT "EX", id);
    BIND(fill->car, 1, id, id, at);
    text(fill->car, 4, plate);
    text(fill->car, 5, plan_share(&fill->random) < 0.3 ? "stored outdoors" : "");
    plan_step(fill->car);
    BIND(fill->owner, 1, id, id, at);
    plan_step(fill->owner);
    BIND(fill->plate, 1, id, at);
    text(fill->plate, 3, plate);
    plan_step(fill->plate);
}

static void add_reading(struct fill *fill, int64_t car, int64_t at, double km)
{
    BIND(fill->mileage, 1, car, at);
    sqlite3_bind_double(fill->mileage, 3, km);
    plan_step(fill->mileage);
}

static void add_treatment(struct fill *fill, int64_t car, int row, int64_t at)
{
    double drawn = plan_share(&fill->random);
    int i = 0;
    while (goods[row][i].up_to < drawn) {
        i++;
    }
    BIND(fill->treatment, 1, (car - 1) * TREATMENTS_A_CAR + row + 1, car, at);
    text(fill->treatment, 4, goods[row][i].product);
    text(fill->treatment, 5, goods[row][i].surface);
    plan_step(fill->treatment);
}

static void add_history(struct fill *fill, int64_t car)
{
    int64_t ago = (int64_t)(plan_share(&fill->random) * 400 * DAY_S);
    int64_t at = fill->now - 3600 - ago;
    double km = 5000 + plan_share(&fill->random) * 90000;
    double km_a_day = 10 + plan_share(&fill->random) * 60;
    int64_t between = DAY_S * (30 + (int64_t)(plan_share(&fill->random) * 300));
    add_customer(fill, car, at - between);
    add_car(fill, car, at - between);
    add_reading(fill, car, at - between, km);
    add_reading(fill, car, at, km + km_a_day * (double)(between / DAY_S));
    BIND(fill->job, 1, car, car, at, at + 600);
    sqlite3_bind_double(fill->job, 5, 4 + plan_share(&fill->random) * 20);
    plan_step(fill->job);
    for (int row = 0; row < TREATMENTS_A_CAR; row++) {
        add_treatment(fill, car, row, at - 1800 * (3 - row));
    }
    if (car % 5 == 0 && ago > 60 * DAY_S) {
        BIND(fill->event, 1, car, at + 50 * DAY_S, (car - 1) * TREATMENTS_A_CAR + 1);
        plan_step(fill->event);
    }
}

static void prepare(struct fill *fill)
{
    fill->customer =
        plan_prepare(fill->db, "INSERT INTO customer (id, name, phone, mail, route, added_at)"
                               " VALUES (?1, ?2, ?3, ?4, ?5, ?6)");
    fill->consent =
        plan_prepare(fill->db, "INSERT INTO consent (customer, class, given, at, how, words)"
                               " VALUES (?1, ?4, ?2, ?3, 'asked on the driveway', '')");
    fill->car =
        plan_prepare(fill->db, "INSERT INTO car (id, customer, plate, plate_key, exposures,"
                               " added_at) VALUES (?1, ?2, ?4, ?4, ?5, ?3)");
    fill->owner = plan_prepare(
        fill->db, "INSERT INTO car_owner (car, customer, since) VALUES (?1, ?2, ?3)");
    fill->plate = plan_prepare(fill->db, "INSERT INTO car_plate (car, plate, plate_key, since)"
                                         " VALUES (?1, ?3, ?3, ?2)");
    fill->mileage =
        plan_prepare(fill->db, "INSERT INTO mileage (car, at, km) VALUES (?1, ?2, ?3)");
    fill->job =
        plan_prepare(fill->db, "INSERT INTO job (id, car, customer, finished_at, temp_c,"
                               " entered_at) VALUES (?1, ?1, ?2, ?3, ?5, ?4)");
    fill->treatment = plan_prepare(
        fill->db, "INSERT INTO treatment (id, job, rule, surface, last_coat_at) VALUES (?1, ?2,"
                  " (SELECT id FROM rule_version WHERE product = ?4), ?5, ?3)");
    fill->event = plan_prepare(fill->db, "INSERT INTO event (car, at, happening, treatment)"
                                         " VALUES (?1, ?2, 'care', ?3)");
}

/* The database with the catalogue's rules in it. */
static void create(const char *settings, const char *path, int64_t *now)
{
    GError *error = NULL;
    BL_AUTO(bl_world) *world = plan_world(settings);
    BL_AUTO(bl_store) *store = bl_store_create(path, &error);
    plan_must(store != NULL, "create", &error);
    const struct bl_pass_setup setup = {.store = store,
                                        .world = world,
                                        .clock = bl_clock_false(now),
                                        .chance = bl_chance_machine()};
    BL_AUTO(bl_pass) *pass = bl_pass_new(&setup);
    plan_must(bl_store_begin(store, 0, &error) && bl_pass_adopt(pass, false, &error) &&
                  bl_store_commit(store, &error),
              "adopt", &error);
}

int main(int argc, char **argv)
{
    if (argc != 5) {
        fprintf(stderr, "plan_fill SETTINGS DATABASE CARS NOW\n");
        return 2;
    }
    int64_t cars = g_ascii_strtoll(argv[3], NULL, 10);
    struct fill fill = {.random = 1, .now = g_ascii_strtoll(argv[4], NULL, 10)};
    create(argv[1], argv[2], &fill.now);
    fill.db = plan_connect(argv[2]);
    sqlite3_db_config(fill.db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
    plan_exec(fill.db,
              "PRAGMA cache_size = -200000; PRAGMA synchronous = OFF; BEGIN IMMEDIATE");
    prepare(&fill);
    for (int64_t car = 1; car <= cars; car++) {
        add_history(&fill, car);
    }
    plan_exec(fill.db, "COMMIT; PRAGMA wal_checkpoint(TRUNCATE)");
    sqlite3_stmt *open;
    while ((open = sqlite3_next_stmt(fill.db, NULL))) {
        sqlite3_finalize(open);
    }
    return sqlite3_close(fill.db) == SQLITE_OK ? 0 : 1;
}
