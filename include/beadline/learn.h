/*
 * Learning: what the owner saw of the protections he put on, and the life that explains it.
 *
 * An inspection says whether a protection was alive or over at a point of its own scale of wear
 * (wear.h); so does putting the product on again. What was seen of one treatment is one
 * observation, alive at so many days of wear and over at so many, and those of all cars
 * together have a Weibull life (weibull.h). Days are the label's: at the reference distance,
 * without care. A past that is looked back on from an instant counts as if a care had closed it
 * then: kept up for the interval and its grace after each care, bare after.
 *
 * What speaks. "Beading" and "came back after decontamination": alive then. "Gone": over by
 * then, unless it was seen alive later. The same product put on again: over by then if nobody
 * looked that day and either its top-ups are bookings of their own, or it was due by its rule;
 * what is freshened up on every visit says nothing. Nor does being stripped, polished off or
 * covered by another product: nobody knows whether it was alive then, so it stays with the last
 * look, and without one there is no observation. A finding speaks of everything its event
 * names; without a treatment's number, and with several layers on one place, "gone" speaks of
 * all but film, and "alive" of none, since any of them may be what beads. On the day of a job
 * it speaks of what was there before it. What was made good after a complaint, and what makes
 * it good, is not learned from.
 */
#ifndef BEADLINE_LEARN_H
#define BEADLINE_LEARN_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/facts.h"
#include "beadline/shop.h"
#include "beadline/weibull.h"

/* One treatment as it was seen. At least one of the ends is known, and alive < over. */
struct bl_observed {
    const struct bl_rule *rule; /* borrowed */
    int64_t car, treatment;
    double alive; /* days of wear at which it was last seen alive; 0: never */
    double over;  /* at which it was first seen over after that; infinite: never */
    guint looks;  /* inspections that said so */
    bool renewed; /* over because it was put on again and nobody had looked */
};

/* Appends (struct bl_observed) what was seen by `now` of the car's treatments whose product has
 * a life; product NULL: of all. */
void bl_learn_observe(const struct bl_car *car, const struct bl_shop *shop, int64_t now,
                      const char *product, GArray *observed);

/* So few observations say nothing. */
#define BL_LEARN_LEAST 5

/* What is learned of one product. */
struct bl_lesson {
    guint observed, alive, over, looks, renewed; /* treatments; alive: never seen over */
    double latest_alive, soonest_over;           /* days of wear; 0 and infinite: none */
    enum bl_weibull_found found; /* BL_WEIBULL_FITTED also wants BL_LEARN_LEAST */
    bool learned;                /* there is a life: what follows is filled */
    struct bl_weibull fit;
    double median;       /* days: half of them last longer */
    double between[2];   /* its 80 % interval */
    double life_days[2]; /* proposed: a quarter is over before, a quarter lasts longer */
    bool usable;         /* life_days is what a rule may say */
};

/* The lesson of these observations (struct bl_observed of one product). */
void bl_learn_draw(const GArray *observed, struct bl_lesson *lesson);

#endif
