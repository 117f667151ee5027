/* The walk of wear, shared by what ends a protection and what explains it. */
#ifndef BEADLINE_PLAN_WEAR_H
#define BEADLINE_PLAN_WEAR_H

#include "internal.h"

/* One of early, likely, late on its way. */
struct wear_goal {
    double asked;   /* W to reach; infinite: only walked through */
    bool kept_open; /* the open stretch counts as kept up */
    double wear;    /* W so far */
    bool kept;      /* kept up just now */
    double in;      /* days from here to its end, if nothing changed */
    bool by_km;     /* and distance ends it */
    bool reached;
    double at, used; /* days after the last coat, and V, when it was reached */
};

/* From the last coat on; days are real, not instants, so nothing is lost at a crossing. */
struct wear_walk {
    const struct bl_treatment *treatment;
    const struct upkeep *upkeep;
    bool cared_for;      /* upkeep makes a difference at all */
    bool endless;        /* max_km ends nothing: it is only walked through */
    double at, used, km; /* so far */
    guint cares;         /* how many are behind */
    double since;        /* where the upkeep stretch began, */
    double since_used;   /* and V there */
    GArray *stretches;   /* struct bl_stretch, or NULL */
    struct wear_goal goals[BL_ENDS];
};

void wear_walk_begin(struct wear_walk *walk, const struct wear_case *wear, bool habit);

/* Walks until all goals are reached, or so many days after the last coat. */
void wear_walk_to(struct wear_walk *walk, const struct wear_use *use, double until);

bool wear_has_life(const struct bl_rule *rule);

/* wear_life, and what of the story the walk itself knows: its stretches and by_distance. story
 * may be NULL. */
void wear_life_told(const struct wear_case *wear, struct bl_life *life,
                    struct bl_wear_story *story);

#endif
