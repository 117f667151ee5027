/*
 * A customer's time lived through, for tests of what comes when over months and years.
 */
#ifndef BEADLINE_TESTS_GARAGE_LIVE_H
#define BEADLINE_TESTS_GARAGE_LIVE_H

#include "garage.h"

/* Called for each message as it goes, after its dues have ended. */
typedef void garage_seen_fn(const struct bl_plan *plan, const struct bl_intent *intent,
                            void *context);

/* From now to until: plans, sends each message at its instant, and plans again at each instant
 * at which time alone changes the plan. Told and ended of the facts grow with it. */
void garage_live(struct garage *garage, int64_t now, int64_t until, garage_seen_fn *seen,
                 void *context);

#endif
