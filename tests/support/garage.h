/*
 * A customer with cars, for tests of planning: facts, a shop and rules of one's own, each with
 * ordinary values that a test changes where it matters.
 */
#ifndef BEADLINE_TESTS_GARAGE_H
#define BEADLINE_TESTS_GARAGE_H

#include "beadline/civil.h"
#include "beadline/facts.h"
#include "beadline/plan.h"
#include "beadline/rule.h"
#include "beadline/shop.h"

struct garage {
    struct bl_facts facts;
    struct bl_shop shop;
    GPtrArray *rules; /* struct bl_rule *, owned */
};

/* Customer 1 with a number, a mail address and every consent; sending hours Monday to Saturday
 * 09:00 to 19:00, lead 21 days, 12 000 km a year. */
void garage_init(struct garage *garage, const char *zone);
void garage_clear(struct garage *garage);

/* A paint base: cured after 14 to 21 days, life 700 to 1100 days at 12 000 km a year, share of
 * driving 0, done again by the shop. */
struct bl_rule *garage_rule(struct garage *garage, const char *product);

/* Car number i (0 the first), and a new one, whose id is its number + 1. */
struct bl_car *garage_car(struct garage *garage, guint i);
struct bl_car *garage_add_car(struct garage *garage);

/* A job of customer 1, entered when it was finished. Valid until the next one. */
struct bl_job *garage_job(struct bl_car *car, int64_t id, int64_t at);
struct bl_treatment *garage_treat(struct bl_car *car, int64_t id, int64_t job,
                                  const struct bl_rule *rule, int64_t at);
void garage_read(struct bl_car *car, int64_t id, int64_t at, double km);
struct bl_event *garage_event(struct bl_car *car, int64_t id, int64_t at,
                              enum bl_happening happening, int surface);
void garage_told(struct garage *garage, int64_t at, enum bl_kind kind);
void garage_ended(struct garage *garage, enum bl_kind kind, int64_t subject, int ordinal);

/* "2026-03-02 10:00" in the shop's zone. */
int64_t garage_at(const struct garage *garage, const char *text);

struct bl_plan *garage_plan(const struct garage *garage, int64_t now);

/* The intent that carries the due (lapses too), or NULL. */
const struct bl_intent *garage_intent(const struct bl_plan *plan, enum bl_kind kind,
                                      int64_t subject, int ordinal);

/* Everything a plan says, as text: what two equal plans share. Caller frees. */
char *garage_print(const struct bl_plan *plan);

/* The intents that go later than at, the same way. Caller frees. */
char *garage_print_after(const struct bl_plan *plan, int64_t at);

/* A seed for a random test: BL_SEED, else fixed; printed. */
uint32_t garage_seed(const char *test);

#endif
