/*
 * Fits lives for a script. In: "lo hi weight" a line ("inf" for no end), a blank line ends a
 * set. Out, a line a set: the verdict's number, and for a fit (0) ln_scale ln_sigma
 * log_likelihood v11 v12 v22 t10 t50 t90 and the interval of 80 % of t50.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "beadline/weibull.h"

static void answer(const GArray *lives)
{
    struct bl_weibull fit;
    double lo;
    double hi;
    const struct bl_censored *first = &g_array_index(lives, struct bl_censored, 0);
    enum bl_weibull_found found = bl_weibull_fit(first, lives->len, &fit);
    printf("%d", (int)found);
    if (found == BL_WEIBULL_FITTED) {
        bl_weibull_interval(&fit, 0.5, BL_WEIBULL_Z_80, &lo, &hi);
        printf(" %.15g %.15g %.15g %.15g %.15g %.15g %.15g %.15g %.15g %.15g %.15g",
               fit.ln_scale, fit.ln_sigma, fit.log_likelihood, fit.covariance[0][0],
               fit.covariance[0][1], fit.covariance[1][1], bl_weibull_quantile(&fit, 0.1),
               bl_weibull_quantile(&fit, 0.5), bl_weibull_quantile(&fit, 0.9), lo, hi);
    }
    printf("\n");
}

int main(void)
{
    g_autoptr(GArray) lives = g_array_new(FALSE, FALSE, sizeof(struct bl_censored));
    char *line = NULL;
    size_t size = 0;
    while (getline(&line, &size, stdin) > 0) {
        char *rest = line;
        struct bl_censored life = {.lo = strtod(rest, &rest)};
        if (*line == '\n') {
            answer(lives);
            g_array_set_size(lives, 0);
            continue;
        }
        life.hi = strtod(rest, &rest);
        life.weight = strtod(rest, &rest);
        g_array_append_val(lives, life);
    }
    free(line);
    return 0;
}
