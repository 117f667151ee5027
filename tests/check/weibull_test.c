/*
 * The Weibull fit against published figures, and what must hold of any fit. Where a figure was
 * computed by R's survreg instead of printed in the source, it says so.
 */
#include <glib.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/weibull.h"

#define ENDLESS ((double)INFINITY)

/* NIST/SEMATECH e-Handbook 8.4.1.3 (data of 8.2.2.1): ten failures, ten units that had run for
 * 500 hours. */
static const struct bl_censored nist[] = {
    {54, 54, 1},   {187, 187, 1}, {216, 216, 1},      {240, 240, 1},
    {244, 244, 1}, {335, 335, 1}, {361, 361, 1},      {373, 373, 1},
    {375, 375, 1}, {386, 386, 1}, {500, ENDLESS, 10},
};

/* The same units looked at every 100 hours only. */
static const struct bl_censored nist_looked_at[] = {
    {0, 100, 1}, {100, 200, 1}, {200, 300, 3}, {300, 400, 5}, {500, ENDLESS, 10},
};

/* Part cracking, months: Nelson, Applied Life Data Analysis, 1982, p. 415. */
static const struct bl_censored cracks[] = {
    {0, 6.12, 5},       {6.12, 19.92, 16},  {19.92, 29.64, 12},
    {29.64, 35.40, 18}, {35.40, 39.72, 18}, {39.72, 45.24, 2},
    {45.24, 52.32, 6},  {52.32, 63.48, 17}, {63.48, ENDLESS, 73},
};

static void near(double got, double want, double relative)
{
    if (!(fabs(got - want) <= relative * fabs(want))) {
        fail_msg("%.10g is not %.10g", got, want);
    }
}

static struct bl_weibull fitted(const struct bl_censored *lives, guint count)
{
    struct bl_weibull fit;
    assert_int_equal(bl_weibull_fit(lives, count, &fit), BL_WEIBULL_FITTED);
    return fit;
}

static void the_handbooks_ten_failures_have_the_handbooks_life(void **state)
{
    (void)state;
    struct bl_weibull fit = fitted(nist, G_N_ELEMENTS(nist));
    double shape = bl_weibull_shape(&fit);
    double scale = bl_weibull_scale(&fit);
    double mean = scale * tgamma(1 + 1 / shape);
    double variance = scale * scale * tgamma(1 + 2 / shape) - mean * mean;
    near(scale, 606.5280, 1e-6);
    near(shape, 1.7208, 1e-5);
    near(fit.log_likelihood, -75.135, 1e-5);
    near(2 * 2 - 2 * fit.log_likelihood, 154.27, 1e-5); /* AIC */
    near(mean, 540.737, 2e-6);
    near(sqrt(variance), 323.806, 2e-6);
    near(bl_weibull_quantile(&fit, 0.5), 490.1738, 1e-6); /* this and below by R */
    near(sqrt(fit.covariance[0][0]), 0.205944, 1e-5);
    near(sqrt(fit.covariance[1][1]), 0.291813, 1e-5);
}

static void the_same_failures_seen_every_hundred_hours_have_nearly_that_life(void **state)
{
    (void)state;
    struct bl_weibull fit = fitted(nist_looked_at, G_N_ELEMENTS(nist_looked_at));
    near(bl_weibull_scale(&fit), 608.866283, 1e-8); /* by R */
    near(bl_weibull_shape(&fit), 1.670459, 1e-6);
    near(fit.log_likelihood, -29.266534, 1e-7);
}

static void nelsons_cracking_parts_have_the_published_life(void **state)
{
    (void)state;
    struct bl_weibull fit = fitted(cracks, G_N_ELEMENTS(cracks));
    near(bl_weibull_scale(&fit), 71.690406, 1e-8); /* by R, and printed as 71.6904 */
    near(bl_weibull_shape(&fit), 1.485367, 1e-6);
    near(fit.log_likelihood, -309.668409, 1e-8);
    near(sqrt(fit.covariance[0][0]), 0.074396, 1e-4);
    near(sqrt(fit.covariance[1][1]), 0.098656, 1e-4);
}

/* The parts in days, as R's package survival ships them ("cracks"); figures by its survreg. */
static void the_cracking_parts_in_days_have_the_quantiles_r_finds(void **state)
{
    (void)state;
    static const double days[] = {186, 606, 902, 1077, 1209, 1377, 1592, 1932};
    struct bl_censored lives[G_N_ELEMENTS(cracks)];
    for (guint i = 0; i < G_N_ELEMENTS(cracks); i++) {
        lives[i] =
            (struct bl_censored){i > 0 ? days[i - 1] : 0,
                                 i < G_N_ELEMENTS(days) ? days[i] : ENDLESS, cracks[i].weight};
    }
    struct bl_weibull fit = fitted(lives, G_N_ELEMENTS(lives));
    near(bl_weibull_scale(&fit), 2182.004140, 1e-8);
    near(bl_weibull_shape(&fit), 1.484768, 1e-6);
    near(fit.log_likelihood, -309.631181, 1e-8);
    near(bl_weibull_quantile(&fit, 0.1), 479.317, 2e-6);
    near(bl_weibull_quantile(&fit, 0.5), 1704.710, 1e-6);
    near(bl_weibull_quantile(&fit, 0.9), 3826.573, 1e-6);
}

static void the_medians_interval_is_the_one_r_finds(void **state)
{
    (void)state;
    struct bl_weibull units = fitted(nist, G_N_ELEMENTS(nist));
    struct bl_weibull parts = fitted(cracks, G_N_ELEMENTS(cracks));
    double lo;
    double hi;
    bl_weibull_interval(&units, 0.5, BL_WEIBULL_Z_80, &lo, &hi);
    near(lo, 386.0491207, 1e-6);
    near(hi, 622.3828082, 1e-6);
    bl_weibull_interval(&parts, 0.5, BL_WEIBULL_Z_80, &lo, &hi);
    near(lo, 51.2397016, 1e-6);
    near(hi, 61.2339139, 1e-6);
}

struct verdict {
    struct bl_censored lives[4];
    enum bl_weibull_found found;
};

static void no_life_is_made_up_where_the_likelihood_has_no_maximum(void **state)
{
    (void)state;
    static const struct verdict verdicts[] = {
        {{{0}}, BL_WEIBULL_NOTHING},
        {{{0, ENDLESS, 1}, {0, ENDLESS, 2}}, BL_WEIBULL_NOTHING},
        {{{10, ENDLESS, 3}, {20, ENDLESS, 1}}, BL_WEIBULL_ALL_ALIVE},
        {{{0, 10, 1}, {0, 20, 1}}, BL_WEIBULL_ALL_DEAD},
        {{{10, 20, 5}, {10, 20, 1}}, BL_WEIBULL_ONE_LIFE},     /* one look */
        {{{10, ENDLESS, 5}, {0, 20, 1}}, BL_WEIBULL_ONE_LIFE}, /* parted */
        {{{20, ENDLESS, 5}, {0, 20, 1}}, BL_WEIBULL_ONE_LIFE}, /* and touching */
        {{{15, 15, 1}, {15, 15, 1}, {10, ENDLESS, 1}}, BL_WEIBULL_ONE_LIFE},
        {{{0, 10, 1}, {20, ENDLESS, 1}}, BL_WEIBULL_BACKWARDS},
        {{{0, 10, 1}, {5, ENDLESS, 1}, {20, ENDLESS, 1}}, BL_WEIBULL_BACKWARDS}, /* level */
        {{{0, 11, 1}, {5, ENDLESS, 1}, {20, ENDLESS, 1}}, BL_WEIBULL_FITTED},
        {{{0, 10, 1}, {20, ENDLESS, 1}, {5, 30, 1}}, BL_WEIBULL_FITTED},
        {{{20, 10, 1}}, BL_WEIBULL_ODD},
        {{{-1, 10, 1}}, BL_WEIBULL_ODD},
        {{{0, 0, 1}, {1, 2, 1}}, BL_WEIBULL_ODD},
        {{{(double)NAN, 10, 1}}, BL_WEIBULL_ODD},
        {{{5, (double)NAN, 1}}, BL_WEIBULL_ODD},
        {{{ENDLESS, ENDLESS, 1}}, BL_WEIBULL_ODD},
        {{{5, 10, -1}}, BL_WEIBULL_ODD},
        {{{5, 10, ENDLESS}}, BL_WEIBULL_ODD},
    };
    for (guint i = 0; i < G_N_ELEMENTS(verdicts); i++) {
        struct bl_weibull fit;
        guint count = 0;
        while (count < 4 && verdicts[i].lives[count].weight != 0) {
            count++;
        }
        enum bl_weibull_found found = bl_weibull_fit(verdicts[i].lives, count, &fit);
        if (found != verdicts[i].found) {
            fail_msg("verdict %u is %d, not %d", i, (int)found, (int)verdicts[i].found);
        }
    }
}

/* Lives of a known law, seen in every manner. */
static guint random_lives(GRand *chance, struct bl_censored *lives)
{
    guint count = (guint)g_rand_int_range(chance, 5, 40);
    double scale = exp(g_rand_double_range(chance, 0, 8));
    double sigma = g_rand_double_range(chance, 0.1, 2);
    for (guint i = 0; i < count; i++) {
        double life = scale * pow(-log(1 - g_rand_double(chance)), sigma);
        double first = scale * g_rand_double_range(chance, 0.1, 2);
        double second = first * g_rand_double_range(chance, 1.01, 3);
        lives[i] = (struct bl_censored){0, first, 1 + g_rand_int_range(chance, 0, 3)};
        if (life > second) {
            lives[i].lo = second;
            lives[i].hi = ENDLESS;
        } else if (life > first) {
            lives[i].lo = g_rand_boolean(chance) ? life : first;
            lives[i].hi = lives[i].lo < life ? second : life;
        }
    }
    return count;
}

static uint32_t seed(void)
{
    const char *given = g_getenv("BL_SEED");
    uint32_t value = given ? (uint32_t)g_ascii_strtoull(given, NULL, 10) : 20270114;
    print_message("BL_SEED=%u\n", value);
    return value;
}

/* The unit of time, the order of the lives and how equal ones are written change nothing. */
static void a_life_does_not_depend_on_unit_order_or_writing(void **state)
{
    (void)state;
    GRand *chance = g_rand_new_with_seed(seed());
    guint met = 0;
    for (guint n = 0; n < 1000; n++) {
        struct bl_censored lives[40];
        struct bl_censored other[160];
        struct bl_weibull fit;
        struct bl_weibull again;
        guint count = random_lives(chance, lives);
        guint written = 0;
        double unit = exp(g_rand_double_range(chance, -12, 12));
        for (guint i = count; i-- > 0;) {
            for (double w = lives[i].weight; w > 0; w--) {
                other[written++] =
                    (struct bl_censored){lives[i].lo * unit, lives[i].hi * unit, 1};
            }
        }
        enum bl_weibull_found found = bl_weibull_fit(lives, count, &fit);
        assert_int_equal(bl_weibull_fit(other, written, &again), found);
        if (found == BL_WEIBULL_FITTED) {
            met++;
            near(exp(again.ln_scale - fit.ln_scale), unit, 1e-6 * fmax(1, exp(fit.ln_sigma)));
            near(exp(again.ln_sigma), exp(fit.ln_sigma), 1e-6);
        }
    }
    assert_true(met > 900);
    g_rand_free(chance);
}

static void a_life_seen_alive_for_longer_lengthens_the_median(void **state)
{
    (void)state;
    struct bl_censored lives[G_N_ELEMENTS(nist)];
    double before = 0;
    memcpy(lives, nist, sizeof nist);
    for (double seen = 390; seen < 900; seen += 30) {
        lives[G_N_ELEMENTS(nist) - 1].lo = seen;
        struct bl_weibull fit = fitted(lives, G_N_ELEMENTS(lives));
        double median = bl_weibull_quantile(&fit, 0.5);
        assert_true(median > before);
        before = median;
    }
}

static void a_thousand_lives_of_a_law_give_that_law_back(void **state)
{
    (void)state;
    GRand *chance = g_rand_new_with_seed(seed());
    struct bl_censored lives[1000];
    for (guint i = 0; i < G_N_ELEMENTS(lives); i++) {
        double life = 40 * pow(-log(1 - g_rand_double(chance)), 1 / 2.5);
        double look = g_rand_double_range(chance, 5, 80);
        lives[i] = life > look ? (struct bl_censored){look, ENDLESS, 1}
                               : (struct bl_censored){0, look, 1};
    }
    struct bl_weibull fit = fitted(lives, G_N_ELEMENTS(lives));
    double off = fabs(fit.ln_scale - log(40.0)) / sqrt(fit.covariance[0][0]);
    double bent = fabs(fit.ln_sigma + log(2.5)) / sqrt(fit.covariance[1][1]);
    assert_true(off < 4 && bent < 4); /* standard errors */
    g_rand_free(chance);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_handbooks_ten_failures_have_the_handbooks_life),
        cmocka_unit_test(the_same_failures_seen_every_hundred_hours_have_nearly_that_life),
        cmocka_unit_test(nelsons_cracking_parts_have_the_published_life),
        cmocka_unit_test(the_cracking_parts_in_days_have_the_quantiles_r_finds),
        cmocka_unit_test(the_medians_interval_is_the_one_r_finds),
        cmocka_unit_test(no_life_is_made_up_where_the_likelihood_has_no_maximum),
        cmocka_unit_test(a_life_does_not_depend_on_unit_order_or_writing),
        cmocka_unit_test(a_life_seen_alive_for_longer_lengthens_the_median),
        cmocka_unit_test(a_thousand_lives_of_a_law_give_that_law_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
