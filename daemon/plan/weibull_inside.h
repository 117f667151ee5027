/* The log-likelihood of some lives, for what finds its maximum.
 */
#ifndef BEADLINE_PLAN_WEIBULL_H
#define BEADLINE_PLAN_WEIBULL_H

#include "beadline/weibull.h"

/* Lives seen on a logarithmic scale of their own, y = (ln t - middle)/spread, where they lie
 * around 0 at distances around 1 whatever their unit. */
struct weibull_view {
    const struct bl_censored *lives;
    guint count;
    double middle, spread;
};

/* Value, gradient and second derivatives in (a, b), z = b y - a. */
struct weibull_sum {
    double value;
    double g[2];
    double h[3]; /* aa, ab, bb */
};

/* The view of lives that have different ends among them. */
void weibull_look(struct weibull_view *view, const struct bl_censored *lives, guint count);

/* The value is -INFINITY, and the rest means nothing, where no such life is possible or the
 * figures leave the range of numbers. */
void weibull_reckon(const struct weibull_view *view, double a, double b,
                    struct weibull_sum *sum);

#endif
