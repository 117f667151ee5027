/* How a lesson is told. Days are the label's: at the reference distance, without care. */
#include <math.h>
#include <stdio.h>

#include "beadline/text.h"
#include "json.h"
#include "learn.h"
#include "report.h"
#include "say.h"

/* "34 days", the unit chosen as for a span. Caller frees. */
static char *say_days(double days)
{
    const double span[2] = {days, days};
    return say_life(span);
}

/* Of so wide an interval nothing is said. */
static bool is_anything(const double between[2])
{
    return !(between[1] < 100 * between[0]);
}

/* "30 to 39 days". Caller frees. */
static char *say_between(const double between[2])
{
    return is_anything(between) ? g_strdup("anything") : say_life(between);
}

const double *learn_label(const struct learning *learning)
{
    return learning->adopted ? learning->adopted->label_days : learning->rule->wear.life_days;
}

static char *too_few(const struct learning *learning)
{
    guint seen = learning->lesson.observed;
    guint more = BL_LEARN_LEAST - seen;
    return g_strdup_printf(
        "%u of the %d treatments it takes %s been looked at: look at %u more, and write each "
        "down: beadline add event CAR inspection --surface %s --finding beading (or gone)",
        seen, BL_LEARN_LEAST, seen == 1 ? "has" : "have", more,
        bl_surface_name(learning->rule->surface));
}

char *learn_missing(const struct learning *learning)
{
    const struct bl_lesson *lesson = &learning->lesson;
    if (lesson->learned) {
        return NULL;
    }
    if (lesson->observed < BL_LEARN_LEAST) {
        return too_few(learning);
    }
    g_autofree char *alive = say_days(lesson->latest_alive);
    g_autofree char *over = say_days(lesson->soonest_over);
    switch (lesson->found) {
    case BL_WEIBULL_ALL_ALIVE:
        return g_strdup_printf("all were alive when last seen, the latest after %s of wear: it "
                               "lasts longer, but nobody has seen how long; look at older ones",
                               alive);
    case BL_WEIBULL_ALL_DEAD:
        return g_strdup_printf("all were over when first looked at, the soonest after %s of "
                               "wear: look at younger ones",
                               over);
    case BL_WEIBULL_ONE_LIFE:
        return g_strdup_printf("none was alive later than another was over (alive until %s of "
                               "wear, over from %s): any life between fits; look at more of "
                               "that age",
                               alive, over);
    case BL_WEIBULL_BACKWARDS:
        return g_strdup("those seen over were no older than those seen alive, as if age did "
                        "them good: look at more, or at what was written down");
    case BL_WEIBULL_FITTED:
    case BL_WEIBULL_NOTHING:
    case BL_WEIBULL_ODD:
    case BL_WEIBULL_FOUNDS:
        break;
    }
    return g_strdup("what was seen lies too far apart to reckon with: look at what was written "
                    "down");
}

char *learn_basis(const struct learning *learning)
{
    const struct bl_lesson *lesson = &learning->lesson;
    g_autofree char *median = say_days(lesson->median);
    g_autofree char *between = say_between(lesson->between);
    return g_strdup_printf(
        "%u looked at: %u alive, %u over; half last %s or longer (80 %%: %s)", lesson->observed,
        lesson->alive, lesson->over, median, between);
}

/* Where the median lies beside the label, in words. */
static const char *beside(double median, const double label[2])
{
    return median < label[0]   ? "less than the label says"
           : median > label[1] ? "more than the label says"
                               : "as the label says";
}

static void print_seen(const struct bl_lesson *lesson)
{
    g_autofree char *alive = say_days(lesson->latest_alive);
    g_autofree char *over = say_days(lesson->soonest_over);
    if (lesson->observed == 0) {
        return;
    }
    report_line("Seen",
                "%u: %u still alive when last seen, %u over by the time somebody looked",
                lesson->observed, lesson->alive, lesson->over);
    report_line("Latest alive", "%s", alive);
    report_line("Soonest over", "%s", over);
}

bool learn_adopted(const struct learning *learning)
{
    const double *life = learning->rule->wear.life_days;
    const double *proposed = learning->lesson.life_days;
    return learning->adopted && life[0] == proposed[0] && life[1] == proposed[1];
}

static void print_lesson(const struct learning *learning, GPtrArray *remarks)
{
    const struct bl_lesson *lesson = &learning->lesson;
    const char *product = learning->rule->product;
    g_autofree char *median = say_days(lesson->median);
    g_autofree char *between = say_between(lesson->between);
    g_autofree char *life = say_life(lesson->life_days);
    report_line("Half last", "%s or longer, %s (80 %%: %s)", median,
                beside(lesson->median, learn_label(learning)), between);
    if (!lesson->usable) {
        report_remark(remarks, "a rule's life is 0.25 to 36525 days, so nothing is proposed");
        return;
    }
    report_line("Proposed", "%s: a quarter are over sooner, a quarter last longer", life);
    if (!learn_adopted(learning)) {
        report_remark(remarks, "%s stands until you say: beadline learn %s --adopt",
                      learning->adopted ? "what you adopted before" : "the label's life",
                      product);
    }
    if (!(lesson->between[1] < 2 * lesson->between[0])) {
        report_remark(remarks,
                      "that is still a guess: the more you look at, the closer it gets");
    }
}

static void print_adopted(const struct context *context, const struct learning *learning)
{
    g_autofree char *life = say_life(learning->rule->wear.life_days);
    g_autofree char *date = say_date(context, learning->adopted->date);
    report_line("Adopted", "%s, on %s: %s", life, date, learning->adopted->basis);
}

static void print_renewed(const struct bl_lesson *lesson, GPtrArray *remarks)
{
    static const char say[] = "put on again without a look: a finding on the day says whether";
    if (lesson->renewed == 1) {
        report_remark(remarks, "%s over was %s it was",
                      lesson->over == 1 ? "the one" : "one of those", say);
    } else {
        report_remark(remarks, "%u of those over were %s they were", lesson->renewed, say);
    }
}

void learn_print(const struct context *context, const struct learning *learning)
{
    const struct bl_rule *rule = learning->rule;
    g_autoptr(GPtrArray) remarks = report_remarks();
    g_autofree char *label = say_life(learn_label(learning));
    g_autofree char *distance = say_distance(context, rule->wear.km_a_year);
    g_autofree char *missing = learn_missing(learning);
    g_autofree char *title =
        bl_text_printable(bl_rule_title(rule, context->world->settings->shop.language));
    printf("%s (%s)\n", title, rule->product);
    report_line("Label", "%s at %s a year, without care", label, distance);
    if (learning->adopted) {
        print_adopted(context, learning);
    }
    print_seen(&learning->lesson);
    if (missing) {
        report_line("Not yet", "%s", missing);
        report_remark(remarks, learning->adopted ? "what you adopted stands"
                                                 : "the label's life stands");
    } else {
        print_lesson(learning, remarks);
    }
    if (learning->lesson.renewed > 0) {
        print_renewed(&learning->lesson, remarks);
    }
    report_print(remarks);
}

const char *const learn_titles[] = {"product",   "label", ">seen",    ">alive", ">over",
                                    "half last", "80 %",  "proposed", NULL};

void learn_row(const struct learning *learning, struct table *table)
{
    const struct bl_lesson *lesson = &learning->lesson;
    bool learned = lesson->learned;
    g_autofree char *label = say_life(learn_label(learning));
    g_autofree char *seen = g_strdup_printf("%u", lesson->observed);
    g_autofree char *alive = g_strdup_printf("%u", lesson->alive);
    g_autofree char *over = g_strdup_printf("%u", lesson->over);
    g_autofree char *median = learned ? say_days(lesson->median) : NULL;
    g_autofree char *between = learned ? say_between(lesson->between) : NULL;
    g_autofree char *life =
        lesson->usable ? say_life(lesson->life_days) : g_strdup("nothing yet");
    const char *const cells[] = {
        learning->rule->product, label, seen, alive, over, median, between, life};
    table_row(table, cells);
}

static const char *const verdicts[BL_WEIBULL_FOUNDS] = {
    [BL_WEIBULL_FITTED] = "fitted",       [BL_WEIBULL_NOTHING] = "nothing seen",
    [BL_WEIBULL_ALL_ALIVE] = "all alive", [BL_WEIBULL_ALL_DEAD] = "all over",
    [BL_WEIBULL_ONE_LIFE] = "one life",   [BL_WEIBULL_BACKWARDS] = "backwards",
    [BL_WEIBULL_ODD] = "out of range",
};

static void json_fit(struct json *json, const struct bl_lesson *lesson)
{
    static const double none[2] = {(double)NAN, (double)NAN};
    bool learned = lesson->learned;
    const double between[2] = {lesson->between[0], lesson->between[1]};
    json_number(json, "median_days", learned ? lesson->median : (double)NAN);
    json_pair(json, "median_80_days", learned ? between : none);
    json_number(json, "scale_days", learned ? bl_weibull_scale(&lesson->fit) : (double)NAN);
    json_number(json, "shape", learned ? bl_weibull_shape(&lesson->fit) : (double)NAN);
    json_number(json, "log_likelihood", learned ? lesson->fit.log_likelihood : (double)NAN);
    json_pair(json, "proposed_days", lesson->usable ? lesson->life_days : none);
}

void learn_json(const struct context *context, const struct learning *learning,
                const char *adopted_in)
{
    static const double none[2] = {(double)NAN, (double)NAN};
    const struct bl_lesson *lesson = &learning->lesson;
    g_assert(lesson->found < BL_WEIBULL_FOUNDS);
    const struct bl_learned *adopted = learning->adopted;
    g_autofree char *missing = learn_missing(learning);
    struct json json;
    json_begin(&json);
    json_text(&json, "product", learning->rule->product);
    json_text(&json, "title",
              bl_rule_title(learning->rule, context->world->settings->shop.language));
    json_pair(&json, "label_days", learn_label(learning));
    json_number(&json, "km_a_year", learning->rule->wear.km_a_year);
    json_pair(&json, "adopted_days", adopted ? learning->rule->wear.life_days : none);
    json_date(&json, "adopted_on", adopted ? adopted->date : BL_NO_DATE);
    json_whole(&json, "observations", lesson->observed);
    json_whole(&json, "alive", lesson->alive);
    json_whole(&json, "over", lesson->over);
    json_whole(&json, "inspections", lesson->looks);
    json_whole(&json, "put_on_again", lesson->renewed);
    json_number(&json, "latest_alive_days",
                lesson->latest_alive > 0 ? lesson->latest_alive : (double)NAN);
    json_number(&json, "soonest_over_days", lesson->soonest_over);
    json_text(&json, "verdict", verdicts[lesson->found]);
    json_yes(&json, "learned", lesson->learned);
    json_text(&json, "missing", missing);
    json_fit(&json, lesson);
    json_text(&json, "adopted_in", adopted_in);
    json_end(&json);
}
