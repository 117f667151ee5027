/*
 * The lesson: from what was seen of a product's treatments to the life its rule could have.
 */
#include "beadline/learn.h"

#include <math.h>

/* What a rule's life may be, and how fine it is written: to the day, or to the tenth of one. */
#define SHORTEST 0.25
#define LONGEST  36525.0
#define COARSE   10.0

static double written(double days)
{
    return days < COARSE ? round(days * 10) / 10 : round(days);
}

static void count(const struct bl_observed *seen, struct bl_lesson *lesson)
{
    lesson->observed++;
    *(isfinite(seen->over) ? &lesson->over : &lesson->alive) += 1;
    lesson->looks += seen->looks;
    lesson->renewed += seen->renewed;
    lesson->latest_alive = fmax(lesson->latest_alive, seen->alive);
    lesson->soonest_over = fmin(lesson->soonest_over, seen->over);
}

static void propose(struct bl_lesson *lesson)
{
    bl_weibull_interval(&lesson->fit, 0.5, BL_WEIBULL_Z_80, &lesson->between[0],
                        &lesson->between[1]);
    lesson->median = bl_weibull_quantile(&lesson->fit, 0.5);
    lesson->life_days[0] = written(bl_weibull_quantile(&lesson->fit, 0.25));
    lesson->life_days[1] = written(bl_weibull_quantile(&lesson->fit, 0.75));
    lesson->usable = lesson->life_days[0] >= SHORTEST && lesson->life_days[1] <= LONGEST;
}

void bl_learn_draw(const GArray *observed, struct bl_lesson *lesson)
{
    *lesson = (struct bl_lesson){.soonest_over = (double)INFINITY};
    g_autoptr(GArray) lives = g_array_new(FALSE, FALSE, sizeof(struct bl_censored));
    for (guint i = 0; i < observed->len; i++) {
        const struct bl_observed *seen = &g_array_index(observed, struct bl_observed, i);
        struct bl_censored life = {seen->alive, seen->over, 1};
        g_array_append_val(lives, life);
        count(seen, lesson);
    }
    lesson->found = bl_weibull_fit((const struct bl_censored *)(gconstpointer)lives->data,
                                   lives->len, &lesson->fit);
    lesson->learned = lesson->found == BL_WEIBULL_FITTED && lesson->observed >= BL_LEARN_LEAST;
    if (lesson->learned) {
        propose(lesson);
    }
}
