/* What is still on the car: strips, polishes, new parts and paint, and newer treatments. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "garage.h"

#define START INT64_C(1772442000)
#define LATER (START + 3000 * BL_DAY)

struct scene {
    struct garage garage;
    struct bl_car *car;
};

static void set_up(struct scene *scene)
{
    garage_init(&scene->garage, "Europe/London");
    scene->car = garage_add_car(&scene->garage);
    garage_job(scene->car, 1, START);
    garage_job(scene->car, 2, START + 100 * BL_DAY);
}

/* A treatment of job 1 or 2 (at its time); returns its id. */
static int64_t put_on(struct scene *scene, int64_t job, enum bl_surface surface,
                      enum bl_role role, const char *part)
{
    struct bl_rule *rule = garage_rule(&scene->garage, "product");
    int64_t id = scene->car->treatments->len + 1;
    rule->surface = surface;
    rule->role = role;
    rule->stripped_by = g_strsplit("wheel cleaner\nstrong pre-wash", "\n", 0);
    struct bl_treatment *treatment =
        garage_treat(scene->car, id, job, rule, START + (job - 1) * 100 * BL_DAY);
    g_free(treatment->part);
    treatment->part = g_strdup(part);
    return id;
}

static const char *ended_by(const struct scene *scene, int64_t id, int64_t *at)
{
    const struct bl_treatment *treatment =
        &g_array_index(scene->car->treatments, struct bl_treatment, (guint)id - 1);
    struct bl_life life;
    bl_wear_life(scene->car, treatment, &scene->garage.shop, LATER, &life);
    if (at) {
        *at = life.ended_at;
    }
    assert_int_equal(life.ended_by == NULL, life.ended_at == BL_NEVER);
    return life.ended_by;
}

static struct bl_event *happen(struct scene *scene, enum bl_happening happening, int surface,
                               const char *part, const char *with)
{
    struct bl_event *event = garage_event(scene->car, scene->car->events->len + 1,
                                          START + 50 * BL_DAY, happening, surface);
    event->part = g_strdup(part);
    event->with = g_strdup(with);
    return event;
}

static void a_new_treatment_of_the_same_place_and_role_supersedes(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t old = put_on(&scene, 1, BL_WHEELS, BL_BASE, "");
    int64_t other = put_on(&scene, 1, BL_TRIM, BL_BASE, "");
    int64_t new = put_on(&scene, 2, BL_WHEELS, BL_BASE, "");
    int64_t at = 0;
    assert_string_equal(ended_by(&scene, old, &at), "superseded");
    assert_int_equal(at, START + 100 * BL_DAY);
    assert_null(ended_by(&scene, other, NULL));
    assert_null(ended_by(&scene, new, NULL));
    garage_clear(&scene.garage);
}

static void a_part_never_supersedes_the_whole_but_the_whole_its_parts(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t whole = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    int64_t bonnet = put_on(&scene, 1, BL_PAINT, BL_BASE, "bonnet");
    int64_t roof = put_on(&scene, 1, BL_PAINT, BL_BASE, "roof");
    put_on(&scene, 2, BL_PAINT, BL_BASE, "Bonnet");
    assert_null(ended_by(&scene, whole, NULL));
    assert_string_equal(ended_by(&scene, bonnet, NULL), "superseded");
    assert_null(ended_by(&scene, roof, NULL));
    put_on(&scene, 2, BL_PAINT, BL_BASE, "");
    assert_string_equal(ended_by(&scene, whole, NULL), "superseded");
    assert_string_equal(ended_by(&scene, roof, NULL), "superseded");
    garage_clear(&scene.garage);
}

static void a_new_base_ends_the_topper_above_it_and_film_stays(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t film = put_on(&scene, 1, BL_PAINT, BL_FILM, "");
    int64_t base = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    int64_t topper = put_on(&scene, 1, BL_PAINT, BL_TOPPER, "");
    assert_null(ended_by(&scene, base, NULL));
    assert_null(ended_by(&scene, topper, NULL)); /* layers of one job belong together */
    put_on(&scene, 2, BL_PAINT, BL_BASE, "");
    assert_null(ended_by(&scene, film, NULL));
    assert_string_equal(ended_by(&scene, base, NULL), "superseded");
    assert_string_equal(ended_by(&scene, topper, NULL), "under a new base");
    garage_clear(&scene.garage);
}

static void a_new_topper_leaves_the_base_under_it(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t base = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    int64_t topper = put_on(&scene, 1, BL_PAINT, BL_TOPPER, "");
    put_on(&scene, 2, BL_PAINT, BL_TOPPER, "");
    assert_null(ended_by(&scene, base, NULL));
    assert_string_equal(ended_by(&scene, topper, NULL), "superseded");
    garage_clear(&scene.garage);
}

static void polishing_takes_base_and_topper_off_the_paint(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t film = put_on(&scene, 1, BL_PAINT, BL_FILM, "");
    int64_t base = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    int64_t topper = put_on(&scene, 1, BL_PAINT, BL_TOPPER, "");
    int64_t wheels = put_on(&scene, 1, BL_WHEELS, BL_BASE, "");
    int64_t later = put_on(&scene, 2, BL_PAINT, BL_BASE, "");
    int64_t at = 0;
    happen(&scene, BL_EV_POLISHED, -1, NULL, NULL);
    assert_string_equal(ended_by(&scene, base, &at), "polished");
    assert_int_equal(at, START + 50 * BL_DAY);
    assert_string_equal(ended_by(&scene, topper, NULL), "polished");
    assert_null(ended_by(&scene, film, NULL));
    assert_null(ended_by(&scene, wheels, NULL));
    assert_null(ended_by(&scene, later, NULL));
    garage_clear(&scene.garage);
}

static void polished_before_coating_at_the_same_minute_takes_nothing(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t base = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    happen(&scene, BL_EV_POLISHED, BL_PAINT, NULL, NULL)->at = START;
    assert_null(ended_by(&scene, base, NULL));
    garage_clear(&scene.garage);
}

static void a_stripper_takes_what_its_rules_say_it_takes(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t wheels = put_on(&scene, 1, BL_WHEELS, BL_BASE, "");
    int64_t tough = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    struct bl_rule *rule = g_ptr_array_index(scene.garage.rules, 1);
    g_clear_pointer(&rule->stripped_by, g_strfreev);
    struct bl_event *event = happen(&scene, BL_EV_STRIPPED, -1, NULL, "Wheel Cleaner");
    assert_string_equal(ended_by(&scene, wheels, NULL), "stripped");
    assert_null(ended_by(&scene, tough, NULL));
    g_free(event->with);
    event->with = g_strdup("mild shampoo");
    assert_null(ended_by(&scene, wheels, NULL));
    g_clear_pointer(&event->with, g_free); /* the car was stripped, whatever did it */
    assert_string_equal(ended_by(&scene, wheels, NULL), "stripped");
    assert_string_equal(ended_by(&scene, tough, NULL), "stripped");
    garage_clear(&scene.garage);
}

static void a_stripped_place_is_bare_whatever_did_it(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t bonnet = put_on(&scene, 1, BL_PAINT, BL_BASE, "bonnet");
    int64_t whole = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    int64_t wheels = put_on(&scene, 1, BL_WHEELS, BL_BASE, "");
    happen(&scene, BL_EV_STRIPPED, BL_PAINT, "bonnet", "an unknown thing");
    assert_string_equal(ended_by(&scene, bonnet, NULL), "stripped");
    assert_null(ended_by(&scene, whole, NULL));
    happen(&scene, BL_EV_STRIPPED, BL_PAINT, NULL, "an unknown thing");
    assert_string_equal(ended_by(&scene, whole, NULL), "stripped");
    assert_null(ended_by(&scene, wheels, NULL));
    garage_clear(&scene.garage);
}

static void an_event_of_one_treatment_is_of_no_other(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t first = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    int64_t second = put_on(&scene, 1, BL_PAINT, BL_TOPPER, "");
    happen(&scene, BL_EV_STRIPPED, -1, NULL, NULL)->treatment = second;
    assert_null(ended_by(&scene, first, NULL));
    assert_string_equal(ended_by(&scene, second, NULL), "stripped");
    garage_clear(&scene.garage);
}

static void new_parts_and_fresh_paint_end_what_was_on_them(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t film = put_on(&scene, 1, BL_PAINT, BL_FILM, "bonnet");
    int64_t whole = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    int64_t screen = put_on(&scene, 1, BL_WINDSCREEN, BL_BASE, "");
    happen(&scene, BL_EV_PART_REPLACED, -1, "bonnet", NULL);
    assert_string_equal(ended_by(&scene, film, NULL), "part replaced");
    assert_null(ended_by(&scene, whole, NULL));
    happen(&scene, BL_EV_PART_REPLACED, BL_WINDSCREEN, NULL, NULL);
    assert_string_equal(ended_by(&scene, screen, NULL), "part replaced");
    happen(&scene, BL_EV_RESPRAYED, -1, NULL, NULL);
    assert_string_equal(ended_by(&scene, whole, NULL), "resprayed");
    garage_clear(&scene.garage);
}

static void other_happenings_end_nothing(void **state)
{
    (void)state;
    static const enum bl_happening harmless[] = {
        BL_EV_CARE,       BL_EV_HARSH_WASH, BL_EV_WET_EARLY,    BL_EV_ETCHED,
        BL_EV_WHEELS_OFF, BL_EV_INSPECTION, BL_EV_CURED_INDOORS};
    struct scene scene;
    set_up(&scene);
    int64_t base = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    for (guint i = 0; i < G_N_ELEMENTS(harmless); i++) {
        happen(&scene, harmless[i], BL_PAINT, NULL, NULL);
    }
    assert_null(ended_by(&scene, base, NULL));
    garage_clear(&scene.garage);
}

static void a_protection_that_ended_asks_for_no_top_up(void **state)
{
    (void)state;
    struct scene scene;
    set_up(&scene);
    int64_t base = put_on(&scene, 1, BL_PAINT, BL_BASE, "");
    int64_t wheels = put_on(&scene, 1, BL_WHEELS, BL_BASE, "");
    happen(&scene, BL_EV_POLISHED, BL_PAINT, NULL, NULL);
    BL_AUTO(bl_plan) *plan = garage_plan(&scene.garage, START + 60 * BL_DAY);
    assert_null(bl_plan_due(plan, BL_TOP_UP, base, 0));
    assert_non_null(bl_plan_due(plan, BL_TOP_UP, wheels, 0));
    garage_clear(&scene.garage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_new_treatment_of_the_same_place_and_role_supersedes),
        cmocka_unit_test(a_part_never_supersedes_the_whole_but_the_whole_its_parts),
        cmocka_unit_test(a_new_base_ends_the_topper_above_it_and_film_stays),
        cmocka_unit_test(a_new_topper_leaves_the_base_under_it),
        cmocka_unit_test(polishing_takes_base_and_topper_off_the_paint),
        cmocka_unit_test(polished_before_coating_at_the_same_minute_takes_nothing),
        cmocka_unit_test(a_stripper_takes_what_its_rules_say_it_takes),
        cmocka_unit_test(a_stripped_place_is_bare_whatever_did_it),
        cmocka_unit_test(an_event_of_one_treatment_is_of_no_other),
        cmocka_unit_test(new_parts_and_fresh_paint_end_what_was_on_them),
        cmocka_unit_test(other_happenings_end_nothing),
        cmocka_unit_test(a_protection_that_ended_asks_for_no_top_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
