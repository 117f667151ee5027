/* Plans made by hand, for the tests of the ledger. */
#ifndef BEADLINE_TESTS_PLAN_MAKER_H
#define BEADLINE_TESTS_PLAN_MAKER_H

#include "beadline/plan.h"

struct bl_plan *plan_maker_new(void);

/* Adds a top-up due of the treatment, open until not_after; its index. */
guint plan_maker_due(struct bl_plan *plan, int64_t treatment, int64_t not_after);

/* Adds an SMS to +447700900001 about dues first..last, at send_at until the earliest window. */
struct bl_intent *plan_maker_intent(struct bl_plan *plan, int64_t send_at, guint first,
                                    guint last);

/* A plan of one message at send_at about the treatments first..last, until not_after. */
struct bl_plan *plan_maker_one(int64_t first, int64_t last, int64_t send_at, int64_t not_after);

#endif
