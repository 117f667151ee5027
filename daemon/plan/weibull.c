/*
 * Fitting a Weibull life to lives that were only looked at now and then: first whether there is
 * a best one at all, then Newton's method to it on the concave log-likelihood.
 *
 * There is none when the likelihood keeps rising in some direction. In (a, b) the directions
 * are: a alone (all alive, or all over); b together with one age c at which every life could
 * have ended (one life explains all); and for lives that were each looked at once also b
 * falling to 0. There the best b is above 0 just when the derivative at b = 0 is, and that has
 * the sign of mean ln(age seen over) - mean ln(age seen alive).
 */
#include "beadline/weibull.h"

#include <math.h>
#include <stdbool.h>

#include "weibull_inside.h"

#define MOST_STEPS   200
#define MOST_HALVES  60
#define LEVEL        1e-9 /* of ln(age): no later, but for rounding */
#define CLOSE_ENOUGH 1e-9 /* expected gain: one more step is exact to the last digits */

/* What was seen of all lives together. */
struct seen {
    double latest_alive, soonest_over; /* ages; 0 and infinite: none */
    double alive, over;                /* weights of lives looked at once */
    double alive_ln, over_ln;          /* and their weighted sums of ln(age) */
    bool closer;                       /* some life has both ends */
};

static bool in_range(const struct bl_censored *life)
{
    return life->lo >= 0 && life->hi > 0 && life->lo <= life->hi && isfinite(life->lo) &&
           life->weight > 0 && isfinite(life->weight);
}

static void see(struct seen *seen, const struct bl_censored *life)
{
    bool over = isfinite(life->hi);
    seen->latest_alive = fmax(seen->latest_alive, life->lo);
    seen->soonest_over = fmin(seen->soonest_over, life->hi);
    if (life->lo > 0 && over) {
        seen->closer = true;
    } else if (life->lo > 0) {
        seen->alive += life->weight;
        seen->alive_ln += life->weight * log(life->lo);
    } else if (over) {
        seen->over += life->weight;
        seen->over_ln += life->weight * log(life->hi);
    }
}

static enum bl_weibull_found judge(const struct bl_censored *lives, guint count)
{
    struct seen seen = {.soonest_over = (double)INFINITY};
    for (guint i = 0; i < count; i++) {
        if (!in_range(&lives[i])) {
            return BL_WEIBULL_ODD;
        }
        see(&seen, &lives[i]);
    }
    bool any_over = isfinite(seen.soonest_over);
    if (!any_over) {
        return seen.latest_alive > 0 ? BL_WEIBULL_ALL_ALIVE : BL_WEIBULL_NOTHING;
    }
    if (seen.latest_alive <= 0) {
        return BL_WEIBULL_ALL_DEAD;
    }
    if (seen.latest_alive <= seen.soonest_over) {
        return BL_WEIBULL_ONE_LIFE;
    }
    bool backwards =
        !seen.closer && seen.over_ln / seen.over < seen.alive_ln / seen.alive + LEVEL;
    return backwards ? BL_WEIBULL_BACKWARDS : BL_WEIBULL_FITTED;
}

/* Newton's step: the solution of h d = -g. The likelihood is concave; the hair on the diagonal
 * keeps it so where rounding does not. */
static void newton(const struct weibull_sum *sum, double d[2])
{
    double hair = 1e-12 * (sum->h[0] + sum->h[2]);
    double aa = sum->h[0] + hair;
    double bb = sum->h[2] + hair;
    double determinant = aa * bb - sum->h[1] * sum->h[1];
    d[0] = (sum->h[1] * sum->g[1] - bb * sum->g[0]) / determinant;
    d[1] = (sum->h[1] * sum->g[0] - aa * sum->g[1]) / determinant;
    if (!(determinant > 0) || !(d[0] * sum->g[0] + d[1] * sum->g[1] > 0)) {
        d[0] = -sum->g[0] / aa;
        d[1] = -sum->g[1] / bb;
    }
}

/* The best (a, b), with the sum there; false when no step leads on. */
static bool climb(const struct weibull_view *view, double at[2], struct weibull_sum *sum)
{
    weibull_reckon(view, at[0], at[1], sum);
    for (guint step = 0; step < MOST_STEPS && isfinite(sum->value); step++) {
        double d[2];
        double part = 1;
        newton(sum, d);
        double gain = d[0] * sum->g[0] + d[1] * sum->g[1];
        bool last = gain < CLOSE_ENOUGH * fmax(1, fabs(sum->value) / 1000);
        struct weibull_sum next;
        for (guint half = 0; half < MOST_HALVES; half++) {
            weibull_reckon(view, at[0] + part * d[0], at[1] + part * d[1], &next);
            if (last || next.value >= sum->value + part * gain / 4) {
                break;
            }
            part /= 2;
        }
        at[0] += part * d[0];
        at[1] += part * d[1];
        *sum = next;
        if (last) {
            return isfinite(sum->value) && at[1] > 0;
        }
    }
    return false;
}

/* From (a, b) on the view's scale: ln_scale = middle + spread a/b, ln_sigma = ln(spread/b); the
 * covariance goes with their derivatives. */
static void tell(const struct weibull_view *view, const double at[2],
                 const struct weibull_sum *sum, struct bl_weibull *fit)
{
    double sigma = view->spread / at[1];
    double determinant = sum->h[0] * sum->h[2] - sum->h[1] * sum->h[1];
    double aa = -sum->h[2] / determinant;
    double ab = sum->h[1] / determinant;
    double bb = -sum->h[0] / determinant;
    double by_a = sigma;
    double by_b = -sigma * at[0] / at[1];
    *fit = (struct bl_weibull){
        .ln_scale = view->middle + sigma * at[0],
        .ln_sigma = log(sigma),
        .log_likelihood = sum->value,
    };
    fit->covariance[0][0] = by_a * by_a * aa + 2 * by_a * by_b * ab + by_b * by_b * bb;
    fit->covariance[0][1] = -(by_a * ab + by_b * bb) / at[1];
    fit->covariance[1][0] = fit->covariance[0][1];
    fit->covariance[1][1] = bb / (at[1] * at[1]);
}

enum bl_weibull_found bl_weibull_fit(const struct bl_censored *lives, guint count,
                                     struct bl_weibull *fit)
{
    enum bl_weibull_found found = judge(lives, count);
    struct weibull_view view;
    struct weibull_sum sum;
    double at[2] = {0, 1};
    if (found != BL_WEIBULL_FITTED) {
        return found;
    }
    weibull_look(&view, lives, count);
    if (!(view.spread > 0) || !climb(&view, at, &sum)) {
        return BL_WEIBULL_ODD;
    }
    tell(&view, at, &sum, fit);
    return BL_WEIBULL_FITTED;
}

double bl_weibull_scale(const struct bl_weibull *fit)
{
    return exp(fit->ln_scale);
}

double bl_weibull_shape(const struct bl_weibull *fit)
{
    return exp(-fit->ln_sigma);
}

double bl_weibull_quantile(const struct bl_weibull *fit, double share)
{
    return exp(fit->ln_scale + exp(fit->ln_sigma) * log(-log1p(-share)));
}

void bl_weibull_interval(const struct bl_weibull *fit, double share, double z, double *lo,
                         double *hi)
{
    double by_ln_sigma = exp(fit->ln_sigma) * log(-log1p(-share));
    double variance = fit->covariance[0][0] + 2 * by_ln_sigma * fit->covariance[0][1] +
                      by_ln_sigma * by_ln_sigma * fit->covariance[1][1];
    double factor = exp(z * sqrt(fmax(variance, 0)));
    double t = bl_weibull_quantile(fit, share);
    *lo = t / factor;
    *hi = t * factor;
}
