/*
 * A shop, a customer, and cars with what went on them, for tests of letters: plain facts made
 * by hand, without a database. Times are local times of Europe/London.
 */
#ifndef BL_TESTS_DRIVEWAY_H
#define BL_TESTS_DRIVEWAY_H

#include <glib.h>
#include <stdint.h>

#include "beadline/facts.h"
#include "beadline/plan.h"
#include "beadline/rule.h"
#include "beadline/shop.h"

struct driveway {
    struct bl_shop shop;
    struct bl_facts facts;
    GPtrArray *rules; /* struct bl_rule, owned */
    int64_t last_id;  /* of jobs, treatments, readings */
};

/* A shop of one person and a customer with a mobile, a mailbox and all consents. */
void driveway_open(struct driveway *driveway);
void driveway_close(struct driveway *driveway);

/* "2026-03-12 15:40" in the shop's zone. */
int64_t driveway_at(const struct driveway *driveway, const char *local);

/* A rule that does not cure, has no life and asks for nothing; titled in English. Owned by the
 * driveway; fill in the rest. */
struct bl_rule *driveway_rule(struct driveway *driveway, const char *title,
                              enum bl_surface surface, enum bl_role role);
void driveway_title(struct bl_rule *rule, const char *language, const char *title);

/* A list as rules hold them; words ended by NULL. */
char **driveway_words(const char *first, ...) G_GNUC_NULL_TERMINATED;

/* A car of the customer's, its id; name may be NULL. */
int64_t driveway_car(struct driveway *driveway, const char *plate, const char *name);
struct bl_car *driveway_find(struct driveway *driveway, int64_t car);

/* A job finished then, its id; and a treatment of it, its id. */
int64_t driveway_job(struct driveway *driveway, int64_t car, const char *finished);
int64_t driveway_put(struct driveway *driveway, int64_t job, const struct bl_rule *rule);

#endif
