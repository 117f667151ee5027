/*
 * plan_ours SETTINGS DATABASE NOW (whole | chunks | again | changes CARS): planning by the
 * daemon's own pass, measured.
 *
 * whole and chunks: the shop's first planning, every customer touched by the adoption of its
 * catalogue; in one transaction, or as the daemon does it, one for each 500 customers. again: a
 * pass that finds nothing changed, with every statement it runs counted by the table it reads.
 * changes: another program writes that a job was done on a car, one car after the other; each
 * is planned again and committed, and its message looked for from that program's side.
 */
#include <stdio.h>
#include <string.h>

#include "../../daemon/store/sql.h"
#include "beadline/pass.h"
#include "plan_shop.h"

#define AT_ONCE    500 /* customers in one transaction of the daemon */
#define CHANGES    201 /* cars changed, one after the other */
#define LOOK_EVERY 8   /* so many of those between two looks at the memory */

struct ours {
    struct bl_world *world;
    struct bl_store *store;
    struct bl_pass *pass;
    int64_t now;
};

static void open_ours(struct ours *ours, char **argv)
{
    GError *error = NULL;
    ours->now = g_ascii_strtoll(argv[3], NULL, 10);
    ours->world = plan_world(argv[1]);
    ours->store = bl_store_open(argv[2], &error);
    plan_must(ours->store != NULL, "open", &error);
    const struct bl_pass_setup setup = {.store = ours->store,
                                        .world = ours->world,
                                        .clock = bl_clock_false(&ours->now),
                                        .chance = bl_chance_machine()};
    ours->pass = bl_pass_new(&setup);
    plan_must(bl_store_begin(ours->store, 0, &error) &&
                  bl_pass_adopt(ours->pass, true, &error) &&
                  bl_store_commit(ours->store, &error),
              "adopt", &error);
}

static void close_ours(struct ours *ours)
{
    bl_pass_free(ours->pass);
    bl_store_close(ours->store);
    bl_world_free(ours->world);
}

static void begin(struct ours *ours)
{
    GError *error = NULL;
    plan_must(bl_store_begin(ours->store, 0, &error), "begin", &error);
}

static void commit(struct ours *ours)
{
    GError *error = NULL;
    plan_must(bl_store_commit(ours->store, &error), "commit", &error);
}

static bool plan(struct ours *ours)
{
    GError *error = NULL;
    bool more = false;
    plan_must(bl_pass_plan(ours->pass, ours->now, AT_ONCE, &more, &error), "plan", &error);
    return more;
}

static void plan_everyone(struct ours *ours, bool chunks)
{
    struct plan_figures figures;
    plan_begin(&figures);
    begin(ours);
    for (int i = 1; plan(ours); i++) {
        if (chunks) {
            commit(ours);
            begin(ours);
        }
        if (i % LOOK_EVERY == 0) {
            plan_look(&figures);
        }
    }
    commit(ours);
    plan_end(&figures);
    printf("wall %.3f cpu %.3f dirty_kib %ld pss_kib %ld\n", figures.wall_s, figures.cpu_s,
           figures.dirty_kib, figures.pss_kib);
}

struct counts {
    int statements, rows, of_cars;
};

static int count(unsigned type, void *context, void *statement, void *text)
{
    static const char *const tables[] = {"customer ", "consent",   "car ", "mileage",
                                         "job",       "treatment", "event"};
    struct counts *counts = context;
    const char *sql = sqlite3_sql(statement);
    (void)text;
    if (type == SQLITE_TRACE_ROW) {
        counts->rows++;
        return 0;
    }
    counts->statements++;
    for (gsize i = 0; i < G_N_ELEMENTS(tables); i++) {
        g_autofree char *from = g_strconcat("FROM ", tables[i], NULL);
        if (strstr(sql, from)) {
            counts->of_cars++;
            break;
        }
    }
    return 0;
}

static void plan_again(struct ours *ours)
{
    struct counts counts = {0};
    struct plan_figures figures;
    int hits = 0;
    int misses = 0;
    int highest = 0;
    sqlite3_trace_v2(ours->store->db, SQLITE_TRACE_STMT | SQLITE_TRACE_ROW, count, &counts);
    sqlite3_db_status(ours->store->db, SQLITE_DBSTATUS_CACHE_MISS, &misses, &highest, 1);
    sqlite3_db_status(ours->store->db, SQLITE_DBSTATUS_CACHE_HIT, &hits, &highest, 1);
    plan_begin(&figures);
    begin(ours);
    plan(ours);
    commit(ours);
    plan_end(&figures);
    sqlite3_db_status(ours->store->db, SQLITE_DBSTATUS_CACHE_MISS, &misses, &highest, 0);
    sqlite3_db_status(ours->store->db, SQLITE_DBSTATUS_CACHE_HIT, &hits, &highest, 0);
    printf("cpu_ms %.3f statements %d rows %d of_cars %d pages %d\n", figures.cpu_s * 1e3,
           counts.statements, counts.rows, counts.of_cars, hits + misses);
}

static int64_t added(sqlite3_stmt *statement, sqlite3 *db)
{
    plan_step(statement);
    return sqlite3_last_insert_rowid(db);
}

struct other {
    sqlite3 *db;
    sqlite3_stmt *job, *treatment, *queue;
};

static void open_other(struct other *other, const char *path)
{
    other->db = plan_connect(path);
    other->job = plan_prepare(other->db, "INSERT INTO job (car, customer, finished_at, temp_c,"
                                         " entered_at) VALUES (?1, ?1, ?2, 12, ?2)");
    other->treatment =
        plan_prepare(other->db, "INSERT INTO treatment (job, rule, surface, last_coat_at)"
                                " SELECT ?1, max(id), 'paint', ?2 FROM rule_version"
                                " WHERE product = 'coating-3y'");
    other->queue = plan_prepare(other->db, "SELECT count(*) FROM message m"
                                           " JOIN message_due l ON l.message = m.id"
                                           " JOIN due d ON d.id = l.due WHERE m.customer = ?1"
                                           " AND m.state = 'planned' AND d.kind = 'handover'"
                                           " AND d.subject = ?2");
}

static void close_other(struct other *other)
{
    sqlite3_finalize(other->job);
    sqlite3_finalize(other->treatment);
    sqlite3_finalize(other->queue);
    sqlite3_close(other->db);
}

/* The other program: a job was finished a minute ago. Its number. */
static int64_t work_on(struct other *other, int64_t car, int64_t now)
{
    plan_exec(other->db, "BEGIN IMMEDIATE");
    sqlite3_bind_int64(other->job, 1, car);
    sqlite3_bind_int64(other->job, 2, now - 60);
    int64_t job = added(other->job, other->db);
    sqlite3_bind_int64(other->treatment, 1, job);
    sqlite3_bind_int64(other->treatment, 2, now - 120);
    plan_step(other->treatment);
    plan_exec(other->db, "COMMIT");
    return job;
}

/* Whether the other program sees the message about the job in the queue. */
static bool is_queued(struct other *other, int64_t customer, int64_t job)
{
    sqlite3_bind_int64(other->queue, 1, customer);
    sqlite3_bind_int64(other->queue, 2, job);
    bool queued =
        sqlite3_step(other->queue) == SQLITE_ROW && sqlite3_column_int64(other->queue, 0) == 1;
    sqlite3_reset(other->queue);
    return queued;
}

static int by_size(gconstpointer a, gconstpointer b)
{
    double one = *(const double *)a;
    double other = *(const double *)b;
    return (one > other) - (one < other);
}

/* Called by SQLite when the log holds what was committed and everybody may read it; what the
 * store then does by itself, copying a long log back into the database, is done here. */
static int visible(void *context, sqlite3 *db, const char *name, int pages)
{
    *(double *)context = plan_cpu_s();
    return pages < 1000 ? SQLITE_OK : sqlite3_wal_checkpoint(db, name);
}

static void tell(const char *name, GArray *took)
{
    double first = g_array_index(took, double, 0);
    g_array_sort(took, by_size);
    printf("%s_first_ms %.3f %s_median_ms %.3f %s_worst_ms %.3f ", name, first * 1e3, name,
           g_array_index(took, double, took->len / 2) * 1e3, name,
           g_array_index(took, double, took->len - 1) * 1e3);
}

static void change_cars(struct ours *ours, const char *path, int64_t cars)
{
    g_autoptr(GArray) seen = g_array_new(FALSE, FALSE, sizeof(double));
    g_autoptr(GArray) all = g_array_new(FALSE, FALSE, sizeof(double));
    struct other other;
    double seen_at = 0;
    open_other(&other, path);
    sqlite3_wal_hook(ours->store->db, visible, &seen_at);
    for (int64_t i = 0; i < CHANGES; i++) {
        struct plan_figures figures;
        int64_t car = 1 + i * (cars / CHANGES);
        int64_t job = work_on(&other, car, ours->now);
        plan_must(!is_queued(&other, car, job), "queued before it was planned", NULL);
        double began = plan_cpu_s();
        plan_begin(&figures);
        begin(ours);
        plan(ours);
        commit(ours);
        plan_end(&figures);
        plan_must(is_queued(&other, car, job), "a car that changed", NULL);
        double took = seen_at - began;
        g_array_append_val(seen, took);
        g_array_append_val(all, figures.cpu_s);
    }
    tell("seen", seen);
    tell("all", all);
    printf("\n");
    close_other(&other);
}

int main(int argc, char **argv)
{
    if (argc < 5) {
        fprintf(stderr, "plan_ours SETTINGS DATABASE NOW (whole|chunks|again|changes CARS)\n");
        return 2;
    }
    struct ours ours;
    open_ours(&ours, argv);
    if (g_str_equal(argv[4], "again")) {
        plan_again(&ours);
    } else if (g_str_equal(argv[4], "changes") && argc == 6) {
        change_cars(&ours, argv[2], g_ascii_strtoll(argv[5], NULL, 10));
    } else {
        plan_everyone(&ours, g_str_equal(argv[4], "chunks"));
    }
    close_ours(&ours);
    return 0;
}
