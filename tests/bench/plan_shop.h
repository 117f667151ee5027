/*
 * What the programs that measure planning share: the connection set as the store sets its own,
 * figures of the process, and numbers that look random and are the same every time.
 */
#ifndef BEADLINE_TESTS_PLAN_SHOP_H
#define BEADLINE_TESTS_PLAN_SHOP_H

#include <glib.h>
#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/world.h"

#define TREATMENTS_A_CAR 3

/* Ends the program, saying why, unless it is well. */
void plan_must(bool well, const char *what, GError *const *error);

/* The settings file's shop; ends the program when it has a fault. */
struct bl_world *plan_world(const char *settings);

/* A connection of another program, set for durability as the store sets its own. */
sqlite3 *plan_connect(const char *path);
void plan_exec(sqlite3 *db, const char *sql);
sqlite3_stmt *plan_prepare(sqlite3 *db, const char *sql);
void plan_step(sqlite3_stmt *statement); /* to its end, and reset */
int64_t plan_number(sqlite3 *db, const char *sql);

/* SplitMix64. */
uint64_t plan_random(uint64_t *state);
double plan_share(uint64_t *state); /* 0 up to 1 */

double plan_cpu_s(void); /* of this process, since it began */

struct plan_figures {
    double wall_s, cpu_s;
    long dirty_kib, pss_kib; /* the most seen: private dirty memory, and the proportional set */
};

/* Begins to measure; looks at the memory now; and tells what was seen since the beginning. */
void plan_begin(struct plan_figures *figures);
void plan_look(struct plan_figures *figures);
void plan_end(struct plan_figures *figures);

#endif
