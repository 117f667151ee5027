/* What the programs that measure planning share. */
#include "plan_shop.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

void plan_must(bool well, const char *what, GError *const *error)
{
    if (!well) {
        fprintf(stderr, "%s: %s\n", what, error && *error ? (*error)->message : "failed");
        exit(1);
    }
}

struct bl_world *plan_world(const char *settings)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    struct bl_world *world = bl_world_load(settings, faults);
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        fprintf(stderr, "%s\n", bl_faults_line(faults, i));
    }
    plan_must(world != NULL, settings, NULL);
    return world;
}

static void must(sqlite3 *db, bool well, const char *sql)
{
    if (!well) {
        fprintf(stderr, "%s: %s\n", sql, sqlite3_errmsg(db));
        exit(1);
    }
}

sqlite3 *plan_connect(const char *path)
{
    sqlite3 *db = NULL;
    must(db, sqlite3_open(path, &db) == SQLITE_OK, path);
    plan_exec(db, "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;"
                  "PRAGMA temp_store = MEMORY; PRAGMA cell_size_check = ON;"
                  "PRAGMA secure_delete = ON; PRAGMA journal_size_limit = 4194304;"
                  "PRAGMA cache_size = -8192");
    return db;
}

void plan_exec(sqlite3 *db, const char *sql)
{
    must(db, sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK, sql);
}

sqlite3_stmt *plan_prepare(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    must(db, sqlite3_prepare_v2(db, sql, -1, &statement, NULL) == SQLITE_OK, sql);
    return statement;
}

void plan_step(sqlite3_stmt *statement)
{
    must(sqlite3_db_handle(statement), sqlite3_step(statement) == SQLITE_DONE,
         sqlite3_sql(statement));
    sqlite3_reset(statement);
}

int64_t plan_number(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *statement = plan_prepare(db, sql);
    must(db, sqlite3_step(statement) == SQLITE_ROW, sql);
    int64_t number = sqlite3_column_int64(statement, 0);
    sqlite3_finalize(statement);
    return number;
}

uint64_t plan_random(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

double plan_share(uint64_t *state)
{
    return (double)(plan_random(state) >> 11) / 9007199254740992.0;
}

static double seconds(clockid_t clock)
{
    struct timespec now;
    clock_gettime(clock, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

double plan_cpu_s(void)
{
    return seconds(CLOCK_PROCESS_CPUTIME_ID);
}

void plan_begin(struct plan_figures *figures)
{
    *figures =
        (struct plan_figures){.wall_s = -seconds(CLOCK_MONOTONIC), .cpu_s = -plan_cpu_s()};
}

void plan_look(struct plan_figures *figures)
{
    char line[256];
    long kib = 0;
    FILE *file = fopen("/proc/self/smaps_rollup", "r");
    while (file && fgets(line, sizeof line, file)) {
        if (sscanf(line, "Private_Dirty: %ld", &kib) == 1) {
            figures->dirty_kib = MAX(figures->dirty_kib, kib);
        } else if (sscanf(line, "Pss: %ld", &kib) == 1) {
            figures->pss_kib = MAX(figures->pss_kib, kib);
        }
    }
    if (file) {
        fclose(file);
    }
}

void plan_end(struct plan_figures *figures)
{
    figures->wall_s += seconds(CLOCK_MONOTONIC);
    figures->cpu_s += plan_cpu_s();
    plan_look(figures);
}
