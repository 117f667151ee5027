/* Letters: what a customer reads, in each kind, channel and language. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "beadline/compose.h"
#include "beadline/text.h"
#include "realistic.h"
#include "template_room.h"

#define NOON "2026-03-12 16:00" /* twenty minutes after the estate was finished */

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

static void speak(struct world *world, const char *language)
{
    char **mine = &world->one.driveway.facts.customer.language;
    g_free(*mine);
    *mine = g_strdup(language);
}

/* The letter of one due; it must be composed. */
static struct bl_letter letter_of(struct world *world, enum bl_channel channel,
                                  const struct bl_due *due, const char *now)
{
    const struct bl_due *const dues[] = {due, NULL};
    struct bl_material material =
        realistic_material(&world->one, due->kind, channel, dues, now);
    struct bl_letter letter;
    g_autoptr(GError) error = NULL;
    if (!bl_compose(world->templates, &material, &letter, &error)) {
        fail_msg("%s", error->message);
    }
    return letter;
}

static struct bl_due handover_of_estate(const struct world *world)
{
    return realistic_due(&world->one, BL_HANDOVER, world->one.estate, world->one.estate_job);
}

/* Composing must be refused, with this code and this in the text. */
static void expect_refusal(struct world *world, const struct bl_templates *templates,
                           const struct bl_due *due, enum bl_error_code code, const char *text)
{
    const struct bl_due *const dues[] = {due, NULL};
    struct bl_material material =
        realistic_material(&world->one, due->kind, BL_SMS, dues, NOON);
    struct bl_letter letter;
    g_autoptr(GError) error = NULL;
    assert_false(bl_compose(templates, &material, &letter, &error));
    assert_null(letter.text);
    assert_int_equal(error->code, code);
    if (!strstr(error->message, text)) {
        fail_msg("%s", error->message);
    }
}

static void a_handover_by_sms_of_a_full_job_says_what_waits(void **state)
{
    struct world *world = *state;
    struct bl_due due = handover_of_estate(world);
    struct bl_letter letter = letter_of(world, BL_SMS, &due, NOON);
    assert_string_equal(
        letter.text,
        "Bright Panel: your blue estate is done.\n"
        "Parked until 17:00 on Thu 12 Mar. Dry until 16:00 on Fri 13 Mar. Wipers off until "
        "4:00 on Fri 13 Mar. Water-only rinse from Fri 20 Mar. Wash from Fri 3 Apr.\n"
        "Bird mess, bugs, fuel before then: soak, lift, don't rub; or ring me: +447700900100.\n"
        "Drive only with a clear windscreen, wet and dry. Try the brakes gently first. No "
        "ammonia on glass. Dates are estimates; the label comes first.");
    assert_null(letter.subject);
    assert_null(letter.html);
    bl_letter_clear(&letter);
}

static void a_short_handover_by_sms_says_what_is_on(void **state)
{
    struct world *world = *state;
    struct bl_due due =
        realistic_due(&world->one, BL_HANDOVER, world->one.small, world->one.small_job);
    struct bl_letter letter = letter_of(world, BL_SMS, &due, "2026-03-12 18:00");
    assert_non_null(strstr(letter.text, "your car XY34 ZZZ is done. On it: "));
    bl_letter_clear(&letter);
}

static void a_wash_message_by_sms_says_that_it_is_safe_and_how(void **state)
{
    struct world *world = *state;
    struct bl_due due =
        realistic_due(&world->one, BL_WASH, world->one.estate, world->one.estate_job);
    struct bl_letter letter = letter_of(world, BL_SMS, &due, "2026-04-03 09:00");
    assert_string_equal(
        letter.text, "Bright Panel: your blue estate is safe to wash now. Two buckets. Soft "
                     "mitt. Mild shampoo. No brushes. No strong cleaners. Soft, clean towel. "
                     "Questions? Ring me: +447700900100.");
    bl_letter_clear(&letter);
}

static void a_top_up_of_the_shop_asks_for_a_ring(void **state)
{
    struct world *world = *state;
    speak(world, "de");
    struct bl_due due = realistic_top_up(&world->one, world->one.estate, world->one.coating,
                                         "2026-03-20", "2026-08-01");
    struct bl_letter letter = letter_of(world, BL_SMS, &due, "2026-03-01 10:00");
    assert_string_equal(letter.text,
                        "Bright Panel: Zeit zum Auffrischen für Ihr Auto (blue estate). "
                        "Drei-Jahres-Beschichtung (Lack): zwischen März und August "
                        "erneuern.\n"
                        "Rufen Sie mich an unter +447700900100, dann finden wir einen Tag. "
                        "Termine sind Schätzungen, keine Garantie. Keine Erinnerungen mehr? "
                        "Ein Anruf genügt.");
    bl_letter_clear(&letter);
}

static void a_top_up_of_the_customer_tells_how_and_warns(void **state)
{
    struct world *world = *state;
    struct bl_due due = realistic_top_up(&world->one, world->one.estate, world->one.wheel_spray,
                                         "2026-04-02", "2026-04-20");
    struct bl_letter letter = letter_of(world, BL_SMS, &due, "2026-03-29 10:00");
    assert_string_equal(
        letter.text,
        "Bright Panel: Time for you to top up your blue estate: Wheel spray (wheels) wears "
        "out between 2 Apr and 20 Apr. Wash the wheels, let them dry and cool. Spray a little "
        "onto a cloth, spread it thin and buff dry.\n"
        "The label comes first. Wear gloves. Cold panels, out of the sun. Never mix products. "
        "Keep it off discs and pads. Keep it off the tread. Then try the brakes gently.\n"
        "Dates are estimates, not a guarantee. No more reminders? Ring me on +447700900100.");
    bl_letter_clear(&letter);
}

static struct bl_due due_of(const struct world *world, enum bl_kind kind)
{
    const struct realistic *one = &world->one;
    return kind == BL_TOP_UP ? realistic_top_up(one, one->estate, one->wheel_spray,
                                                "2026-04-02", "2026-04-20")
                             : realistic_due(one, kind, one->estate, one->estate_job);
}

static void check_reads_well(const char *text)
{
    assert_null(strstr(text, "{{"));
    assert_null(strstr(text, "}}"));
    assert_null(strstr(text, "(null)"));
    assert_non_null(strstr(text, "blue estate"));
    assert_non_null(strstr(text, "Bright Panel"));
}

static void every_text_starts_with_the_shop_and_names_the_car(void **state)
{
    struct world *world = *state;
    static const enum bl_kind kinds[] = {BL_HANDOVER, BL_WASH, BL_TOP_UP};
    static const char *const languages[] = {"en", "de"};
    static const int most_parts[][2] = {{3, 4}, {3, 3}, {3, 4}};
    for (guint i = 0; i < G_N_ELEMENTS(kinds) * G_N_ELEMENTS(languages); i++) {
        speak(world, languages[i % G_N_ELEMENTS(languages)]);
        struct bl_due due = due_of(world, kinds[i / G_N_ELEMENTS(languages)]);
        struct bl_letter sms = letter_of(world, BL_SMS, &due, NOON);
        struct bl_letter mail = letter_of(world, BL_MAIL, &due, NOON);
        struct bl_letter hand = letter_of(world, BL_BY_HAND, &due, NOON);
        check_reads_well(sms.text);
        check_reads_well(mail.text);
        check_reads_well(mail.html);
        assert_true(g_str_has_prefix(sms.text, "Bright Panel: "));
        assert_true(g_str_has_prefix(mail.subject, "Bright Panel: "));
        assert_true(g_str_has_prefix(mail.text, "Bright Panel\n"));
        assert_false(sms.size.ucs2);
        assert_in_range(sms.size.parts, 1, most_parts[i / 2][i % 2]);
        assert_null(strstr(sms.text, ".."));
        assert_string_equal(hand.text, mail.text);
        assert_null(hand.html);
        assert_null(strchr(mail.subject, '\n'));
        bl_letter_clear(&sms);
        bl_letter_clear(&mail);
        bl_letter_clear(&hand);
    }
}

static void a_mailed_handover_carries_every_caution(void **state)
{
    struct world *world = *state;
    static const char *const cautions[] = {
        "safety data sheet come first",
        "Wear gloves",
        "cold panels, out of the sun",
        "Never mix products",
        "off the windscreen: they smear, and dazzle at night",
        "off brake discs and pads",
        "off the tread",
        "off the pedals and the steering wheel",
        "try the brakes gently before you join",
        "clear of haze, wet and dry",
        "No ammonia",
        "Nothing abrasive",
        "Leave acids and fallout removers to me",
        "Dates are estimates from label values, weather and driving, not a guarantee",
        "The label and local rules come first"};
    struct bl_due due =
        realistic_due(&world->one, BL_HANDOVER, world->one.small, world->one.small_job);
    struct bl_letter letter = letter_of(world, BL_MAIL, &due, "2026-03-12 18:00");
    for (guint i = 0; i < G_N_ELEMENTS(cautions); i++) {
        if (!strstr(letter.html, cautions[i])) {
            fail_msg("missing: %s", cautions[i]);
        }
    }
    bl_letter_clear(&letter);
}

static void what_is_past_is_not_told(void **state)
{
    struct world *world = *state;
    static const struct {
        const char *now, *gone, *left;
    } moments[] = {
        {"2026-03-12 16:40", "parked", "dry until"},
        {"2026-03-13 04:00", "wipers", "dry until"},
        {"2026-03-13 15:40", "dry until", "Rinse it"},
        {"2026-03-19 15:40", "Rinse it", "Wash it from"},
        {"2026-04-03 00:00", "Wash it from", "nothing to wait for"},
    };
    struct bl_due due = handover_of_estate(world);
    for (guint i = 0; i < G_N_ELEMENTS(moments); i++) {
        struct bl_letter letter = letter_of(world, BL_BY_HAND, &due, moments[i].now);
        if (strstr(letter.text, moments[i].gone) || !strstr(letter.text, moments[i].left)) {
            fail_msg("%s: %s", moments[i].now, letter.text);
        }
        bl_letter_clear(&letter);
    }
}

static void the_wash_date_told_never_comes_before_the_cure_ends(void **state)
{
    struct world *world = *state;
    guint32 seed = g_random_int();
    print_message("seed %u\n", seed);
    g_autoptr(GRand) chance = g_rand_new_with_seed(seed);
    struct bl_car *car = driveway_find(&world->one.driveway, world->one.estate);
    struct bl_job *job = &g_array_index(car->jobs, struct bl_job, 0);
    struct bl_treatment *coating = &g_array_index(car->treatments, struct bl_treatment, 0);
    const struct bl_zone *zone = world->one.driveway.shop.zone;
    struct bl_due due = handover_of_estate(world);
    const struct bl_due *const dues[] = {&due, NULL};
    for (int i = 0; i < 400; i++) {
        job->at = 1767225600 + (int64_t)(g_rand_double(chance) * 365 * (double)BL_DAY);
        coating->last_coat_at = job->at;
        struct bl_material material =
            realistic_material(&world->one, BL_HANDOVER, BL_BY_HAND, dues, NOON);
        material.now = job->at + 60;
        struct bl_letter letter;
        assert_true(bl_compose(world->templates, &material, &letter, NULL));
        int32_t date = bl_zone_date(zone, bl_cure_end(coating, job, material.shop) - 1) + 1;
        g_autofree char *told = bl_compose_date(world->templates, "en", date, true);
        g_autofree char *line = g_strdup_printf("- Wash it from %s.\n", told);
        assert_non_null(strstr(letter.text, line));
        bl_letter_clear(&letter);
    }
}

static void the_day_told_is_the_cures_own_though_the_message_waits(void **state)
{
    struct world *world = *state;
    struct bl_due due = handover_of_estate(world);
    const struct bl_due *const dues[] = {&due, NULL};
    struct bl_material material =
        realistic_material(&world->one, BL_HANDOVER, BL_BY_HAND, dues, NOON);
    struct bl_due wash =
        realistic_due(&world->one, BL_WASH, world->one.estate, world->one.estate_job);
    wash.from = driveway_at(&world->one.driveway, "2026-04-09");
    struct bl_plan plan = {.dues = g_array_new(FALSE, FALSE, sizeof wash)};
    g_array_append_val(plan.dues, wash);
    material.plan = &plan;
    struct bl_letter letter;
    assert_true(bl_compose(world->templates, &material, &letter, NULL));
    assert_non_null(strstr(letter.text, "Wash it from Friday 3 April."));
    bl_letter_clear(&letter);
    g_array_unref(plan.dues);
}

static void a_replacing_handover_says_that_the_date_changed(void **state)
{
    struct world *world = *state;
    struct bl_due due = handover_of_estate(world);
    due.ordinal = 1;
    struct bl_letter letter = letter_of(world, BL_BY_HAND, &due, NOON);
    assert_non_null(strstr(letter.text, "This date replaces the one I gave you\n  before."));
    bl_letter_clear(&letter);
}

static void two_cars_in_one_message_are_each_named(void **state)
{
    struct world *world = *state;
    struct bl_due first =
        realistic_due(&world->one, BL_WASH, world->one.estate, world->one.estate_job);
    struct bl_due second =
        realistic_due(&world->one, BL_WASH, world->one.small, world->one.small_job);
    const struct bl_due *const dues[] = {&first, &second, NULL};
    struct bl_material material =
        realistic_material(&world->one, BL_WASH, BL_SMS, dues, "2026-04-03 09:00");
    struct bl_letter letter;
    assert_true(bl_compose(world->templates, &material, &letter, NULL));
    assert_true(g_str_has_prefix(letter.text, "Bright Panel: your blue estate and your car "
                                              "XY34 ZZZ are safe to wash now."));
    bl_letter_clear(&letter);
    speak(world, "de");
    assert_true(bl_compose(world->templates, &material, &letter, NULL));
    assert_true(g_str_has_prefix(
        letter.text, "Bright Panel: Ihre Autos (blue estate, XY34 ZZZ) dürfen jetzt "
                     "gewaschen werden."));
    bl_letter_clear(&letter);
}

static void when_a_protection_ends_is_told_as_people_do(void **state)
{
    struct world *world = *state;
    static const struct {
        const char *early, *late, *english, *german;
    } spans[] = {
        {"2026-04-02", "2026-04-20", "between 2 Apr and 20 Apr",
         "zwischen dem 2. Apr. und dem 20. Apr."},
        {"2026-04-02", "2026-04-02 23:00", "around 2 Apr", "etwa am 2. Apr."},
        {"2026-04-02", "2026-09-20", "between April and September",
         "zwischen April und September"},
        {"2026-01-02", "2026-04-02", "by about 2 Apr", "bis etwa zum 2. Apr."},
        {"2026-01-02", "2026-09-02", "by about September", "bis etwa September"},
        {"2026-01-02", "2026-02-02", "about now", "Lack): jetzt erneuern"},
        {"2026-11-20", "2027-03-02", "between November and March 2027",
         "zwischen November und März 2027"},
        {"2027-03-02", "2027-03-20", "around March 2027", "etwa im März 2027"},
    };
    for (guint i = 0; i < G_N_ELEMENTS(spans); i++) {
        struct bl_due due = realistic_top_up(
            &world->one, world->one.small, world->one.small_wax, spans[i].early, spans[i].late);
        for (int german = 0; german < 2; german++) {
            speak(world, german ? "de" : "en");
            struct bl_letter letter = letter_of(world, BL_SMS, &due, "2026-03-12 12:00");
            if (!strstr(letter.text, german ? spans[i].german : spans[i].english)) {
                fail_msg("%s", letter.text);
            }
            bl_letter_clear(&letter);
        }
    }
}

static void set_car_name(struct world *world, const char *name)
{
    struct bl_car *car = driveway_find(&world->one.driveway, world->one.estate);
    g_free(car->name);
    car->name = g_strdup(name);
}

static void a_name_cannot_become_markup_or_a_template(void **state)
{
    struct world *world = *state;
    set_car_name(world, "<b>\"Bertie\"</b> & {{phone}}");
    struct bl_due due = handover_of_estate(world);
    struct bl_letter letter = letter_of(world, BL_MAIL, &due, NOON);
    assert_non_null(strstr(letter.text, "<b>\"Bertie\"</b> & {{phone}}"));
    assert_null(strstr(letter.html, "<b>"));
    assert_non_null(
        strstr(letter.html, "&lt;b&gt;&quot;Bertie&quot;&lt;/b&gt; &amp; {{phone}}"));
    bl_letter_clear(&letter);
}

static void typographic_quotes_do_not_make_an_sms_dear(void **state)
{
    struct world *world = *state;
    set_car_name(world, "“blue” estate – Ada’s");
    struct bl_due due = handover_of_estate(world);
    struct bl_letter letter = letter_of(world, BL_SMS, &due, NOON);
    assert_non_null(strstr(letter.text, "\"blue\" estate - Ada's"));
    assert_false(letter.size.ucs2);
    bl_letter_clear(&letter);
}

static void a_long_sms_leaves_out_the_list(void **state)
{
    struct world *world = *state;
    g_autofree char *name = g_strnfill(180, 'x');
    set_car_name(world, name);
    struct bl_due due = handover_of_estate(world);
    struct bl_letter letter = letter_of(world, BL_SMS, &due, NOON);
    assert_null(strstr(letter.text, "On it:"));
    assert_non_null(strstr(letter.text, "Wash from Fri 3 Apr."));
    assert_in_range(letter.size.parts, 1, 5);
    bl_letter_clear(&letter);
}

static void an_sms_over_ten_parts_is_refused(void **state)
{
    struct world *world = *state;
    GString *name = g_string_new(NULL);
    for (int i = 0; i < 600; i++) {
        g_string_append(name, "ő");
    }
    set_car_name(world, name->str);
    g_string_free(name, TRUE);
    struct bl_due due = handover_of_estate(world);
    expect_refusal(world, world->templates, &due, BL_ERROR_REFUSED, "SMS parts, more than 10");
}

static void an_empty_text_is_refused(void **state)
{
    struct world *world = *state;
    struct template_room room;
    template_room_open(&room, BL_SOURCE_DIR "/templates/en");
    template_room_write(&room, "en/handover.sms", "{{#many}}{{shop}}{{/many}} \n--\n", -1);
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_templates) *templates = bl_templates_load(room.dir, faults);
    template_room_close(&room);
    struct bl_due due = handover_of_estate(world);
    expect_refusal(world, templates, &due, BL_ERROR_REFUSED, "is empty");
}

static void what_is_no_longer_true_is_refused(void **state)
{
    struct world *world = *state;
    struct bl_due due = handover_of_estate(world);
    due.car = 99;
    expect_refusal(world, world->templates, &due, BL_ERROR_REFUSED, "true any more");
    due = handover_of_estate(world);
    due.job = 99;
    expect_refusal(world, world->templates, &due, BL_ERROR_REFUSED, "true any more");
    due = realistic_top_up(&world->one, world->one.estate, 9999, "2026-04-02", "2026-04-20");
    expect_refusal(world, world->templates, &due, BL_ERROR_REFUSED, "true any more");
}

static void an_unknown_language_is_that_of_the_shop(void **state)
{
    struct world *world = *state;
    struct bl_due due = handover_of_estate(world);
    speak(world, "fr");
    struct bl_letter letter = letter_of(world, BL_SMS, &due, NOON);
    assert_non_null(strstr(letter.text, "is done."));
    bl_letter_clear(&letter);
    g_free(world->one.driveway.shop.language);
    world->one.driveway.shop.language = g_strdup("xx");
    expect_refusal(world, world->templates, &due, BL_ERROR_MISSING, "\"xx\"");
}

static void an_unreadable_rule_is_passed_over(void **state)
{
    struct world *world = *state;
    struct bl_car *car = driveway_find(&world->one.driveway, world->one.small);
    g_array_index(car->treatments, struct bl_treatment, 0).rule = NULL;
    struct bl_due due =
        realistic_due(&world->one, BL_HANDOVER, world->one.small, world->one.small_job);
    struct bl_letter letter = letter_of(world, BL_SMS, &due, "2026-03-12 18:00");
    assert_null(strstr(letter.text, "On it"));
    assert_non_null(strstr(letter.text, "You can wash it when you like."));
    bl_letter_clear(&letter);
}

static void check_page(const char *sheet)
{
    g_auto(GStrv) lines = g_strsplit(sheet, "\n", -1);
    assert_in_range(g_strv_length(lines) - 1, 1, 66);
    for (char **line = lines; *line; line++) {
        assert_in_range(bl_text_width(*line), 0, 78);
    }
}

static char *sheet_of(struct world *world)
{
    struct driveway *driveway = &world->one.driveway;
    g_autoptr(GError) error = NULL;
    char *sheet = bl_compose_sheet(world->templates, &driveway->shop, &driveway->facts, NULL,
                                   world->one.estate_job, driveway_at(driveway, NOON), &error);
    if (!sheet) {
        fail_msg("%s", error->message);
    }
    check_page(sheet);
    return sheet;
}

static void the_sheet_is_one_page_with_a_leaving_tick_list(void **state)
{
    struct world *world = *state;
    g_autofree char *english = sheet_of(world);
    speak(world, "de");
    g_autofree char *german = sheet_of(world);
    static const char *const parts[] = {"AFTER-CARE: blue estate (AB12 CDE)",
                                        "Finished on Thursday 12 March",
                                        "- Wash it from Friday 3 April.",
                                        "[ ] Windscreen",
                                        "[ ] Brake discs",
                                        "[ ] Tyre tread",
                                        "[ ] Pedals",
                                        "About every 13 weeks."};
    for (guint i = 0; i < G_N_ELEMENTS(parts); i++) {
        assert_non_null(strstr(english, parts[i]));
    }
    assert_non_null(strstr(german, "- Waschen ab Freitag, 3. April."));
    assert_non_null(strstr(german, "[ ] Frontscheibe"));
}

static void a_job_of_many_treatments_still_fits_the_page(void **state)
{
    struct world *world = *state;
    for (int i = 0; i < 30; i++) {
        g_autofree char *title = g_strdup_printf("Protection number %d of a long list", i);
        struct bl_rule *rule = driveway_rule(&world->one.driveway, title, BL_TRIM, BL_BASE);
        driveway_put(&world->one.driveway, world->one.estate_job, rule);
    }
    g_autofree char *sheet = sheet_of(world);
    assert_non_null(strstr(sheet, "Protection number 29 of a long list"));
    assert_non_null(strstr(sheet, "[ ] Pedals"));
}

static void a_word_longer_than_a_line_is_broken(void **state)
{
    struct world *world = *state;
    g_autofree char *name = g_strnfill(200, 'W');
    set_car_name(world, name);
    g_autofree char *ascii = sheet_of(world);
    GString *wide = g_string_new(NULL);
    for (int i = 0; i < 200; i++) {
        g_string_append(wide, "車");
    }
    set_car_name(world, wide->str);
    g_string_free(wide, TRUE);
    g_autofree char *japanese = sheet_of(world);
    assert_non_null(strstr(ascii, "WWW"));
    assert_non_null(strstr(japanese, "車車車"));
}

static void a_sheet_of_no_job_or_without_end_is_refused(void **state)
{
    struct world *world = *state;
    struct driveway *driveway = &world->one.driveway;
    g_autoptr(GError) error = NULL;
    int64_t now = driveway_at(driveway, NOON);
    assert_null(bl_compose_sheet(world->templates, &driveway->shop, &driveway->facts, NULL, 99,
                                 now, &error));
    assert_int_equal(error->code, BL_ERROR_MISSING);
    g_clear_error(&error);
    g_autofree char *name = g_strnfill(9000, 'W');
    set_car_name(world, name);
    assert_null(bl_compose_sheet(world->templates, &driveway->shop, &driveway->facts, NULL,
                                 world->one.estate_job, now, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    g_clear_error(&error);
    g_free(driveway->shop.language);
    driveway->shop.language = g_strdup("xx");
    assert_null(bl_compose_sheet(world->templates, &driveway->shop, &driveway->facts, NULL,
                                 world->one.estate_job, now, &error));
    assert_int_equal(error->code, BL_ERROR_MISSING);
}

#define WITH_WORLD(test) cmocka_unit_test_setup_teardown(test, open_world, close_world)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_WORLD(a_handover_by_sms_of_a_full_job_says_what_waits),
        WITH_WORLD(a_short_handover_by_sms_says_what_is_on),
        WITH_WORLD(a_wash_message_by_sms_says_that_it_is_safe_and_how),
        WITH_WORLD(a_top_up_of_the_shop_asks_for_a_ring),
        WITH_WORLD(a_top_up_of_the_customer_tells_how_and_warns),
        WITH_WORLD(every_text_starts_with_the_shop_and_names_the_car),
        WITH_WORLD(a_mailed_handover_carries_every_caution),
        WITH_WORLD(what_is_past_is_not_told),
        WITH_WORLD(the_wash_date_told_never_comes_before_the_cure_ends),
        WITH_WORLD(the_day_told_is_the_cures_own_though_the_message_waits),
        WITH_WORLD(a_replacing_handover_says_that_the_date_changed),
        WITH_WORLD(two_cars_in_one_message_are_each_named),
        WITH_WORLD(when_a_protection_ends_is_told_as_people_do),
        WITH_WORLD(a_name_cannot_become_markup_or_a_template),
        WITH_WORLD(typographic_quotes_do_not_make_an_sms_dear),
        WITH_WORLD(a_long_sms_leaves_out_the_list),
        WITH_WORLD(an_sms_over_ten_parts_is_refused),
        WITH_WORLD(an_empty_text_is_refused),
        WITH_WORLD(what_is_no_longer_true_is_refused),
        WITH_WORLD(an_unknown_language_is_that_of_the_shop),
        WITH_WORLD(an_unreadable_rule_is_passed_over),
        WITH_WORLD(the_sheet_is_one_page_with_a_leaving_tick_list),
        WITH_WORLD(a_job_of_many_treatments_still_fits_the_page),
        WITH_WORLD(a_word_longer_than_a_line_is_broken),
        WITH_WORLD(a_sheet_of_no_job_or_without_end_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
