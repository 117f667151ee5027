/*
 * How far the age at which a share of lives is over may be from the best fit's: out to where
 * the likelihood has fallen by z^2/2, the spread of lives set anew at each age as best it can
 * be.
 *
 * An age t fixes a = b y - w, w = ln(-ln(1 - share)): a line in (a, b), along which the
 * likelihood is concave as it is everywhere; and what it comes to falls from the best age
 * towards either side, so that both ends are found by halving.
 */
#include <math.h>
#include <stdbool.h>

#include "weibull_inside.h"

#define CLOSE      1e-7 /* of a step: nearer than anybody reads an interval */
#define DOUBLINGS  16   /* of the first guess: past them there is no bound */
#define SMALLEST_B 1e-9 /* as good as 0: lives of every length */
#define LARGEST_B  1e9  /* as good as infinite: one life for all */

struct search {
    struct weibull_view view;
    double w;
    double b;    /* of the best fit */
    double goal; /* what the log-likelihood may fall to */
};

/* The slope along the line of the age y at b; *value receives the log-likelihood. */
static double slope(const struct search *search, double y, double b, double *value)
{
    struct weibull_sum sum;
    weibull_reckon(&search->view, b * y - search->w, b, &sum);
    *value = sum.value;
    return sum.g[0] * y + sum.g[1];
}

static bool rises(const struct search *search, double y, double b)
{
    double value;
    return slope(search, y, b, &value) > 0 && isfinite(value);
}

/* The best there is at the age y. */
static double best_at(const struct search *search, double y)
{
    double low = SMALLEST_B;
    double high = search->b;
    while (high < LARGEST_B && rises(search, y, high)) {
        low = high;
        high *= 2;
    }
    while (high > low * (1 + CLOSE)) {
        double middle = sqrt(low * high);
        *(rises(search, y, middle) ? &low : &high) = middle;
    }
    double value;
    slope(search, y, low, &value);
    return value;
}

/* The age on that side of the best at which the goal is met; infinite: nowhere. */
static double reach(const struct search *search, double best, double step)
{
    double inside = best;
    double outside = best + step;
    for (guint i = 0; best_at(search, outside) >= search->goal; i++) {
        if (i == DOUBLINGS) {
            return copysign((double)INFINITY, step);
        }
        inside = outside;
        step *= 2;
        outside += step;
    }
    while (fabs(outside - inside) > CLOSE * fabs(step)) {
        double middle = (inside + outside) / 2;
        *(best_at(search, middle) >= search->goal ? &inside : &outside) = middle;
    }
    return inside;
}

void bl_weibull_interval(const struct bl_censored *lives, guint count,
                         const struct bl_weibull *fit, double share, double z, double *lo,
                         double *hi)
{
    struct search search = {.w = log(-log1p(-share)), .goal = fit->log_likelihood - z * z / 2};
    weibull_look(&search.view, lives, count);
    double middle = search.view.middle;
    double spread = search.view.spread;
    double sigma = exp(fit->ln_sigma);
    search.b = spread / sigma;
    double best = (fit->ln_scale + sigma * search.w - middle) / spread;
    double step = z / search.b / sqrt(count);
    *lo = exp(middle + spread * reach(&search, best, -step));
    *hi = exp(middle + spread * reach(&search, best, step));
}
