/*
 * The log-likelihood of a Weibull life, life by life, with its derivatives.
 *
 * With z = (ln t - ln scale)/sigma and u = exp(z): ln S = -u, and of a life that ended between
 * two looks ln(exp(-u1) - exp(-u2)) = -u1 + ln(1 - exp(-(u2 - u1))), which keeps its digits
 * when the two are close or far out.
 */
#include <math.h>
#include <stdbool.h>

#include "weibull_inside.h"

/* One end of one life: its place, and the first and second derivatives there. */
struct end {
    double y, p, h;
};

static void add_end(struct weibull_sum *sum, double weight, const struct end *end)
{
    sum->g[0] -= weight * end->p;
    sum->g[1] += weight * end->p * end->y;
    sum->h[0] += weight * end->h;
    sum->h[1] -= weight * end->h * end->y;
    sum->h[2] += weight * end->h * end->y * end->y;
}

static double place(const struct weibull_view *view, double t)
{
    return (log(t) - view->middle) / view->spread;
}

static void add_exact(const struct weibull_view *view, const struct bl_censored *life, double a,
                      double b, struct weibull_sum *sum)
{
    struct end end = {.y = place(view, life->hi)};
    double z = b * end.y - a;
    double u = exp(z);
    end.p = 1 - u;
    end.h = -u;
    add_end(sum, life->weight, &end);
    sum->value += life->weight * (log(b / view->spread) - log(life->hi) + z - u);
    sum->g[1] += life->weight / b;
    sum->h[2] -= life->weight / (b * b);
}

static void add_alive(const struct weibull_view *view, const struct bl_censored *life, double a,
                      double b, struct weibull_sum *sum)
{
    struct end end = {.y = place(view, life->lo)};
    double u = exp(b * end.y - a);
    end.p = -u;
    end.h = -u;
    add_end(sum, life->weight, &end);
    sum->value -= life->weight * u;
}

#define FAR 700.0 /* past it exp(-u) is nothing */

/* Over at the first look: p = u/(exp(u) - 1), h = p (1 - u - p), which is -u/2 where u is so
 * small that the difference is lost. */
static void add_over(const struct weibull_view *view, const struct bl_censored *life, double a,
                     double b, struct weibull_sum *sum)
{
    struct end end = {.y = place(view, life->hi)};
    double u = exp(b * end.y - a);
    end.p = u > FAR ? 0 : u > 0 ? u / expm1(u) : 1;
    end.h = u > FAR ? 0 : u < 1e-6 ? -u / 2 : end.p * (1 - u - end.p);
    add_end(sum, life->weight, &end);
    sum->value += life->weight * log(-expm1(-u));
}

static void add_between(const struct weibull_view *view, const struct bl_censored *life,
                        double a, double b, struct weibull_sum *sum)
{
    struct end from = {.y = place(view, life->lo)};
    struct end to = {.y = place(view, life->hi)};
    double u1 = exp(b * from.y - a);
    double d = u1 * expm1(b * (to.y - from.y));
    double u2 = u1 + d;
    from.p = u1 / expm1(-d);
    from.h = from.p * (1 - u1 - from.p);
    to.p = d > FAR ? 0 : u2 / expm1(d);
    to.h = d > FAR ? 0 : to.p * (1 - u2 - to.p);
    double cross = -from.p * to.p * life->weight;
    add_end(sum, life->weight, &from);
    add_end(sum, life->weight, &to);
    sum->h[0] += 2 * cross;
    sum->h[1] -= cross * (from.y + to.y);
    sum->h[2] += 2 * cross * from.y * to.y;
    sum->value += life->weight * (log(-expm1(-d)) - u1);
}

static void add_life(const struct weibull_view *view, const struct bl_censored *life, double a,
                     double b, struct weibull_sum *sum)
{
    bool seen_alive = life->lo > 0;
    bool seen_over = isfinite(life->hi);
    if (seen_alive && seen_over) {
        (life->lo < life->hi ? add_between : add_exact)(view, life, a, b, sum);
    } else if (seen_alive) {
        add_alive(view, life, a, b, sum);
    } else if (seen_over) {
        add_over(view, life, a, b, sum);
    }
}

void weibull_reckon(const struct weibull_view *view, double a, double b,
                    struct weibull_sum *sum)
{
    *sum = (struct weibull_sum){0};
    for (guint i = 0; i < view->count; i++) {
        add_life(view, &view->lives[i], a, b, sum);
    }
    if (!isfinite(sum->value)) {
        sum->value = (double)-INFINITY;
    }
}

/* Mean and standard deviation of ln t over all ends that are known. */
void weibull_look(struct weibull_view *view, const struct bl_censored *lives, guint count)
{
    double n = 0;
    double sum = 0;
    double squares = 0;
    *view = (struct weibull_view){lives, count, 0, 1};
    for (guint pass = 0; pass < 2; pass++) {
        for (guint i = 0; i < 2 * count; i++) {
            double t = i % 2 ? lives[i / 2].hi : lives[i / 2].lo;
            if (t > 0 && isfinite(t)) {
                double away = log(t) - view->middle;
                n += pass == 0;
                sum += pass == 0 ? away : 0;
                squares += pass == 1 ? away * away : 0;
            }
        }
        view->middle = sum / n;
    }
    view->spread = sqrt(squares / n);
}
