/* Letters about care, the mileage and look-overs, and a question that rides along. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "beadline/compose.h"
#include "realistic.h"

#define NOON "2026-06-12 12:00"

struct world {
    struct bl_templates *templates;
    struct realistic one;
};

static int open_world(void **state)
{
    struct world *world = g_new0(struct world, 1);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    world->templates = bl_templates_load(BL_SOURCE_DIR "/templates", faults);
    realistic_open(&world->one);
    *state = world;
    return world->templates ? 0 : 1;
}

static int close_world(void **state)
{
    struct world *world = *state;
    realistic_close(&world->one);
    bl_templates_free(world->templates);
    g_free(world);
    return 0;
}

/* The letter of the dues in a language; it must be composed. */
static struct bl_letter letter_of(struct world *world, const char *language,
                                  enum bl_channel channel, const struct bl_due *const *dues)
{
    char **mine = &world->one.driveway.facts.customer.language;
    g_free(*mine);
    *mine = g_strdup(language);
    struct bl_material material =
        realistic_material(&world->one, dues[0]->kind, channel, dues, NOON);
    struct bl_letter letter;
    g_autoptr(GError) error = NULL;
    if (!bl_compose(world->templates, &material, &letter, &error)) {
        fail_msg("%s", error->message);
    }
    return letter;
}

/* A due of the estate's first treatment (its coating), or of the whole car. */
static struct bl_due due_of(const struct world *world, enum bl_kind kind)
{
    struct bl_due due = realistic_due(&world->one, kind, world->one.estate, 0);
    due.subject = due.treatment = world->one.coating;
    return due;
}

static void assert_says(const char *text, const char *part)
{
    if (!strstr(text, part)) {
        fail_msg("\"%s\" is not in: %s", part, text);
    }
}

static void assert_silent(const char *text, const char *part)
{
    if (strstr(text, part)) {
        fail_msg("\"%s\" is in: %s", part, text);
    }
}

static void care_is_told_with_how_and_its_cautions(void **state)
{
    struct world *world = *state;
    struct bl_due care = due_of(world, BL_CARE);
    const struct bl_due *const dues[] = {&care, NULL};
    struct bl_letter sms = letter_of(world, "en", BL_SMS, dues);
    assert_says(sms.text, "time for a little care on your blue estate");
    assert_says(sms.text, "Topper, if you have one: after a wash");
    assert_says(sms.text, "Keep it off the windscreen.");
    assert_says(sms.text, "Keep it off discs and pads.");
    assert_says(sms.text, "Wear gloves.");
    assert_says(sms.text, "No more reminders?");
    assert_silent(sms.text, "mileage");
    assert_true(sms.size.parts <= 5);
    bl_letter_clear(&sms);
    struct bl_letter mail = letter_of(world, "en", BL_MAIL, dues);
    assert_says(mail.subject, "a little care for your blue estate");
    assert_says(mail.text, "- Three-year coating (paint)");
    assert_says(mail.text, "its label and safety data sheet");
    assert_says(mail.html, "<li>Three-year coating (paint)</li>");
    bl_letter_clear(&mail);
    struct bl_letter german = letter_of(world, "de", BL_SMS, dues);
    assert_says(german.text, "Zeit für etwas Pflege");
    assert_says(german.text, "Nicht auf die Frontscheibe.");
    bl_letter_clear(&german);
}

/* Two cars, one bottle: its way is told once. */
static void one_bottle_is_explained_once(void **state)
{
    struct world *world = *state;
    struct bl_due estate = due_of(world, BL_CARE);
    struct bl_due small = estate;
    small.car = world->one.small;
    small.subject = small.treatment = world->one.small_wax;
    const struct bl_due *const dues[] = {&estate, &small, NULL};
    struct bl_letter mail = letter_of(world, "en", BL_MAIL, dues);
    assert_says(mail.text, "On your blue estate:");
    assert_says(mail.text, "On your car XY34 ZZZ:");
    assert_null(strstr(strstr(mail.text, "one: after a wash") + 1, "one: after a wash"));
    bl_letter_clear(&mail);
}

static void the_mileage_is_asked_for_with_a_way_to_answer(void **state)
{
    struct world *world = *state;
    struct bl_due due = due_of(world, BL_MILEAGE);
    const struct bl_due *const dues[] = {&due, NULL};
    const char *phone = world->one.driveway.shop.phone;
    struct bl_letter sms = letter_of(world, "en", BL_SMS, dues);
    assert_says(sms.text, "what mileage is your blue estate on now?");
    assert_says(sms.text, phone);
    assert_silent(sms.text, "reply"); /* replies are not heard */
    bl_letter_clear(&sms);
    struct bl_letter german = letter_of(world, "de", BL_MAIL, dues);
    assert_says(german.subject, "Kilometerstand");
    assert_says(german.text, "wie ist der Kilometerstand?");
    assert_says(german.html, phone);
    bl_letter_clear(&german);
}

static void a_look_over_names_what_is_looked_at(void **state)
{
    struct world *world = *state;
    struct bl_due due = due_of(world, BL_LOOK_OVER);
    const struct bl_due *const dues[] = {&due, NULL};
    struct bl_letter sms = letter_of(world, "en", BL_SMS, dues);
    assert_says(sms.text, "the look-over of your blue estate is due");
    assert_says(sms.text, "Three-year coating.");
    assert_says(sms.text, "we'll find a day");
    bl_letter_clear(&sms);
    struct bl_letter german = letter_of(world, "de", BL_MAIL, dues);
    assert_says(german.text, "- Drei-Jahres-Beschichtung (Lack)");
    bl_letter_clear(&german);
}

static void the_mileage_rides_on_a_letter_about_something_else(void **state)
{
    static const enum bl_kind hosts[] = {BL_WASH, BL_CARE, BL_LOOK_OVER, BL_TOP_UP};
    struct world *world = *state;
    for (guint i = 0; i < G_N_ELEMENTS(hosts); i++) {
        struct bl_due host = due_of(world, hosts[i]);
        struct bl_due rider = due_of(world, BL_MILEAGE);
        const struct bl_due *const dues[] = {&host, &rider, NULL};
        host.from = host.best_by = rider.from;
        host.job = world->one.estate_job;
        for (int channel = BL_SMS; channel <= BL_MAIL; channel++) {
            struct bl_letter letter = letter_of(world, "en", (enum bl_channel)channel, dues);
            assert_says(letter.text, "One more thing: what mileage is it on?");
            bl_letter_clear(&letter);
            letter = letter_of(world, "de", (enum bl_channel)channel, dues);
            assert_says(letter.text, "Noch etwas: Wie ist der Kilometerstand?");
            bl_letter_clear(&letter);
        }
    }
}

static void weather_outside_the_label_is_told_with_the_handover(void **state)
{
    struct world *world = *state;
    struct bl_due due =
        realistic_due(&world->one, BL_HANDOVER, world->one.estate, world->one.estate_job);
    const struct bl_due *const dues[] = {&due, NULL};
    struct bl_car *estate = driveway_find(&world->one.driveway, world->one.estate);
    struct bl_rule *rule =
        (struct bl_rule *)g_array_index(estate->treatments, struct bl_treatment, 0).rule;
    rule->cure.apply_c[0] = 5;
    rule->cure.apply_c[1] = 30;
    for (int channel = BL_SMS; channel <= BL_MAIL; channel++) {
        g_array_index(estate->jobs, struct bl_job, 0).temp_c = 12;
        struct bl_letter fair = letter_of(world, "en", (enum bl_channel)channel, dues);
        assert_silent(fair.text, "weather was not");
        bl_letter_clear(&fair);
        g_array_index(estate->jobs, struct bl_job, 0).temp_c = 3;
        struct bl_letter cold = letter_of(world, "en", (enum bl_channel)channel, dues);
        assert_says(cold.text, "The weather was not what the label asks for");
        bl_letter_clear(&cold);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(care_is_told_with_how_and_its_cautions),
        cmocka_unit_test(one_bottle_is_explained_once),
        cmocka_unit_test(the_mileage_is_asked_for_with_a_way_to_answer),
        cmocka_unit_test(a_look_over_names_what_is_looked_at),
        cmocka_unit_test(the_mileage_rides_on_a_letter_about_something_else),
        cmocka_unit_test(weather_outside_the_label_is_told_with_the_handover),
    };
    return cmocka_run_group_tests(tests, open_world, close_world);
}
