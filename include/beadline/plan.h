/*
 * Planning: (facts, shop, now) in, dues and messages out. Pure: the same facts and the
 * same now give the same plan, in whatever order the facts come.
 *
 * Sources of the formulas: cure, Arrhenius (1889) as in NIST/SEMATECH e-Handbook 8.1.5.1; wear,
 * linear accumulation (Palmgren 1924, Miner 1945) on a combined scale of time and distance
 * (Kordonsky and Gertsbakh 1997).
 */
#ifndef BEADLINE_PLAN_H
#define BEADLINE_PLAN_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/cleanup.h"
#include "beadline/cure.h"
#include "beadline/facts.h"
#include "beadline/shop.h"
#include "beadline/wear.h"

/* Whose lead a top-up has: the shop's, a quarter of a short life, the rule's own. */
enum bl_lead { BL_LEAD_SHOP, BL_LEAD_QUARTER, BL_LEAD_RULE };

/* What a window waits for: until the car may be washed; until the customer was not told of the
 * surface lately. */
enum bl_wait { BL_WAIT_NONE, BL_WAIT_WASH, BL_WAIT_TOLD };

/* "This wants doing between these dates", with the numbers behind it. Its key (kind, subject,
 * ordinal) survives moving dates. A day is 86 400 s, a date its beginning in the shop's zone; a
 * treatment that has ended has no due of its own.
 *
 * Handover: one a job that put something on or sets a wash date of its own; it carries the
 * car's one wash date, and its ordinal is 1 when that is later than a date still ahead that the
 * customer was told with a job entered before, else 0. From when the job was entered until two
 * days after it, or the end of the cures known then.
 *
 * Wash: one a car, by the job that binds the date (the earliest of equals, of the present
 * owner's); a later job that moves it has its own instead, and one finished on or after the
 * date ends the matter. From the date for 14 days.
 *
 * Care, of a treatment whose rule says that the customer does it: the k-th is due k intervals
 * after the last upkeep instant and passes half an interval later, both as the rule counts (use
 * or calendar); the one due is the first that has not passed. None is due after `likely`.
 * Ordinal: 1000 x the id of the care that opened the stretch (0: the application) + k, so a key
 * never comes again.
 *
 * Look-over, of a treatment: the n-th (its ordinal) is due n x look_over_months after the
 * civil day of the last coat, for 60 days, gathered within 30; the first that has not passed.
 * None is due after `likely`.
 *
 * Mileage, by the car's newest reading: when half or one and a half times the forecast would
 * move `likely` of the car's earliest top-up by over a fifth of the stretch from the reading to
 * that top-up's `from`. From halfway, best by three quarters of the way. Only for what lasts
 * over half a year by its label's mean life, is not put on at the next booking, and was not
 * offered yet; the habit of care stays as it is. After two in a year it is held. It rides on a
 * wash, care, top-up or look-over message that goes between `from` and best_by, or in the rest
 * of its window when it finds no day of its own.
 *
 * Top-up, of a treatment: from early - lead, best by likely - lead, until late + 30 days; the
 * lead is the rule's, else the shop's but at most a quarter of (early - last coat). Ordinal 0;
 * and 2, a second offer beside it, when the first was sent and early has since moved later by
 * over max(lead, that quarter). What the customer renews himself begins care_days after he was
 * last told of another treatment of the surface; held when its window is over by then.
 *
 * Top-up and look-over of a car whose offers are held after a complaint are held.
 *
 * Care, look-over and top-up never begin before the car's wash date; a care or look-over that
 * would pass before it gives way to the next. Of top-ups with one `from`, the mileage is asked
 * for that of the first put on. What would end over 200 years off has no top-up. */
struct bl_due {
    enum bl_kind kind;
    int64_t subject;
    int ordinal;
    int64_t car, job, treatment, rule_id; /* 0 where the kind has none */
    int64_t from, best_by, not_after;
    int64_t extended_from; /* a window without any sending hour is extended to the end of the
                            * next sending day: its own not_after; else BL_NEVER */
    int64_t early, likely, late; /* top-up: the protection's end; else BL_NEVER */
    double km_a_day;             /* top-up: the forecast it stands on; else NaN */
    double speed;                /* top-up: mean speed of use since application; else NaN */
    char *held;                  /* why no message goes, or NULL */
    bool by_distance;            /* max_km came first */

    /* How its window came about, for whoever asks. */
    int64_t since;        /* care: the last upkeep instant; look-over: the day of the last coat;
                           * mileage: the reading; handover: when the job was finished; else
                           * BL_NEVER */
    int64_t lead;         /* top-up: seconds; else 0 */
    enum bl_lead lead_by; /* whose lead that is */
    int64_t own_from;     /* `from` before it had to wait */
    enum bl_wait waits;   /* what for */
    int64_t asks_for;     /* mileage: the treatment whose top-up is in doubt; else 0 */
};

/* One text or mail about one or more dues, before it has a key. */
struct bl_intent {
    enum bl_kind kind;
    enum bl_channel channel;
    char *address;     /* NULL by hand */
    int64_t from;      /* the latest of its dues' */
    int64_t send_at;   /* inside the sending hours and not before now; of a lapse not_after */
    int64_t not_after; /* the earliest of its dues' */
    char *lapse;       /* not NULL: why no message can go before the window ends */
    bool too_late;     /* of a lapse: the last sending hour is over and nothing else is known;
                        * what was in the way before is the truer reason */
    int64_t ideal; /* when it would go by its windows and its kind alone; of a lapse BL_NEVER */
    char *waited;  /* what was in the way from then until send_at, or NULL */
    GArray *dues;  /* guint: indexes into plan->dues, ascending */
};

/* A treatment that has ended, for whoever asks where its due went. */
struct bl_over {
    int64_t treatment;
    const char *by; /* "stripped", "superseded"; static text */
};

struct bl_plan {
    GArray *dues;       /* struct bl_due, sorted by (kind, subject, ordinal) */
    GArray *intents;    /* struct bl_intent, sorted by (send_at, kind) */
    GArray *over;       /* struct bl_over, in no order */
    GPtrArray *skipped; /* char *: facts left out (the facts' own too), with reasons, sorted */
    int64_t replan_at;  /* the next instant at which time alone changes the plan; BL_NEVER */
};

/* Dues that are held, have passed their window, have their end or ride on a message that began
 * have no intent, but stay in the plan: composing wants their numbers. Between now and
 * replan_at the same facts give the same dues, and the same intents of what is not yet due.
 * replan_at is later than now; what was to go and did not moves at the end of its sending day.
 */
struct bl_plan *bl_plan_make(const struct bl_facts *facts, const struct bl_shop *shop,
                             int64_t now);
void bl_plan_free(struct bl_plan *plan);
BL_DEFINE_AUTO(bl_plan);

/* The due of that key, or NULL. Owned by the plan. */
const struct bl_due *bl_plan_due(const struct bl_plan *plan, enum bl_kind kind, int64_t subject,
                                 int ordinal);

#endif
