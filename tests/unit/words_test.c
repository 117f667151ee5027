/* The stored words: each family both ways, and the spellings themselves, which files hold. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "beadline/words.h"

/* A family seen alike: its names and readers through int. */
#define FAMILY(family)                                                                         \
    static const char *family##_name(int value)                                                \
    {                                                                                          \
        return bl_##family##_name((enum bl_##family)value);                                    \
    }                                                                                          \
    static int family##_of(const char *word)                                                   \
    {                                                                                          \
        enum bl_##family value = (enum bl_##family)0;                                          \
        return bl_##family##_of(word, &value) ? (int)value : -1;                               \
    }

FAMILY(surface)
FAMILY(role)
FAMILY(again)
FAMILY(kind)
FAMILY(class)
FAMILY(channel)
FAMILY(state)
FAMILY(wish)
FAMILY(happening)
FAMILY(finding)

static const struct {
    const char *spellings; /* in the order of the enum; what released databases hold */
    int count;
    const char *(*name)(int value);
    int (*of)(const char *word);
    const char *const *(*words)(void); /* NULL: the family gives no list */
} families[] = {
    {"paint,windscreen,glass,wheels,tyres,trim,leather,fabric,soft top", BL_SURFACES,
     surface_name, surface_of, bl_surface_words},
    {"base,film,topper,dressing", BL_ROLES, role_name, role_of, bl_role_words},
    {"shop,next booking,customer", BL_AGAINS, again_name, again_of, bl_again_words},
    {"handover,wash,care,mileage,top-up,look-over,booking", BL_KINDS, kind_name, kind_of, NULL},
    {"service,tips,offers", BL_CLASSES, class_name, class_of, bl_class_words},
    {"sms,mail,by hand", BL_CHANNELS, channel_name, channel_of, bl_channel_words},
    {"planned,paused,claimed,sent,delivered,failed,unsure,lapsed,withdrawn", BL_STATES,
     state_name, state_of, NULL},
    {"normal,often,seldom,never", BL_WISHES, wish_name, wish_of, bl_wish_words},
    {"care,harsh wash,stripped,polished,part replaced,resprayed,wet too early,etched,wheels off,"
     "cured indoors,inspection",
     BL_HAPPENINGS, happening_name, happening_of, bl_happening_words},
    {"beading,came back after decontamination,gone", BL_FINDINGS, finding_name, finding_of,
     bl_finding_words},
};

static void every_word_has_the_spelling_that_files_hold(void **state)
{
    (void)state;
    for (size_t f = 0; f < G_N_ELEMENTS(families); f++) {
        g_auto(GStrv) words = g_strsplit(families[f].spellings, ",", 0);
        assert_int_equal((int)g_strv_length(words), families[f].count);
        for (int i = 0; i < families[f].count; i++) {
            assert_string_equal(families[f].name(i), words[i]);
            assert_int_equal(families[f].of(words[i]), i);
        }
    }
}

static void every_list_holds_its_whole_family_in_order(void **state)
{
    (void)state;
    for (size_t f = 0; f < G_N_ELEMENTS(families); f++) {
        if (!families[f].words) {
            continue;
        }
        g_autofree char *joined = g_strjoinv(",", (char **)families[f].words());
        assert_string_equal(joined, families[f].spellings);
    }
}

static void a_word_of_another_case_or_family_is_unknown(void **state)
{
    (void)state;
    static const char *const strangers[] = {"",      "Paint",  "paint ", "soft-top", "SMS",
                                            "email", "top up", "sent?",  NULL};
    for (size_t f = 0; f < G_N_ELEMENTS(families); f++) {
        for (int i = 0; strangers[i]; i++) {
            assert_int_equal(families[f].of(strangers[i]), -1);
        }
        assert_int_equal(families[f].of(NULL), -1);
    }
    enum bl_surface surface = BL_TRIM;
    assert_false(bl_surface_of("polished", &surface));
    assert_int_equal(surface, BL_TRIM);
}

static void only_messages_about_done_or_booked_work_are_service(void **state)
{
    (void)state;
    static const enum bl_class expected[BL_KINDS] = {BL_SERVICE, BL_SERVICE, BL_TIPS,   BL_TIPS,
                                                     BL_OFFERS,  BL_OFFERS,  BL_SERVICE};
    for (int kind = 0; kind < BL_KINDS; kind++) {
        assert_int_equal(bl_kind_class((enum bl_kind)kind), expected[kind]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_word_has_the_spelling_that_files_hold),
        cmocka_unit_test(every_list_holds_its_whole_family_in_order),
        cmocka_unit_test(a_word_of_another_case_or_family_is_unknown),
        cmocka_unit_test(only_messages_about_done_or_booked_work_are_service),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
