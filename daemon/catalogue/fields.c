/* The tables of what may stand in a product and in a package: names, ranges, defaults, and the
 * value group each number's basis is named by. Reading the owner's files, reading a stored rule
 * and writing one all go by the product's table, so a stored rule and a written one are one
 * language. A range here may be widened but never narrowed: old versions must stay readable. */
#include <stddef.h>

#include "draft.h"

#define FIELD(path_, type_, range_, initial_, help_)                                           \
    .help = {path_, type_, range_, initial_, help_}
#define WORD(path_, range_, words_, help_)                                                     \
    FIELD(path_, "word", range_, "", help_), .read = bl_field_word, .words = words_
#define NUMBER(path_, least, most, initial_, help_)                                            \
    FIELD(path_, "number", #least " to " #most, initial_, help_), .read = bl_field_number,     \
                                                                  .lo = (least), .hi = (most)
#define WHOLE(path_, least, most, initial_, help_)                                             \
    FIELD(path_, "whole number", #least " to " #most, initial_, help_),                        \
        .read = bl_field_whole, .lo = (least), .hi = (most)
#define SPAN(path_, least, most, initial_, help_)                                              \
    FIELD(path_, "list of two numbers", #least " to " #most, initial_, help_),                 \
        .read = bl_field_span, .lo = (least), .hi = (most), .count = 2
#define YES(path_, help_)                                                                      \
    FIELD(path_, "yes or no", "true or false", "false", help_), .read = bl_field_yes
#define TEXTS(path_, help_)                                                                    \
    FIELD(path_, "list of texts", "", "[]", help_), .read = bl_field_texts
#define IN(member)          .offset = offsetof(struct bl_rule, member)
#define IN_EXPOSURE(member) .offset = offsetof(struct bl_exposure, member)
#define BASIS(group_)       .basis = group_
#define BASIS_TEXT(name_)                                                                      \
    {                                                                                          \
        FIELD("basis." name_, "text", "", "none", "where these values come from"),             \
            .read = value_basis                                                                \
    }

/* A basis is said for those who read the file; nothing is computed from it. */
static bool value_basis(const struct bl_field *field, const struct config_setting_t *value,
                        void *target, GError **error)
{
    (void)target;
    g_autofree char *text = NULL;
    return bl_field_text(field, value, &text, error);
}

static const struct bl_field product[] = {
    {FIELD("title", "text or group", "\"...\" or { en = \"...\"; de = \"...\"; }", "",
           "what the customer reads"),
     .read = value_titles, IN(titles)},
    {WORD("surface", "paint, windscreen, glass, wheels, tyres, trim, leather, fabric, soft top",
          bl_surface_words, "what it goes on"),
     IN(surface)},
    {WORD("role", "base, film, topper, dressing", bl_role_words,
          "where it sits on the surface"),
     IN(role)},
    {WORD("again", "shop, next booking, customer", bl_again_words, "who puts it on again"),
     IN(again)},

    {NUMBER("cure.drive_h", 0, 8784, "0", "hours the car stays parked"), BASIS("cure"),
     IN(cure.drive_h)},
    {NUMBER("cure.dry_h", 0, 8784, "0", "hours it is kept dry"), BASIS("cure"), IN(cure.dry_h)},
    {NUMBER("cure.rinse_days", 0, 366, "none", "days until plain water may rinse it"),
     BASIS("cure"), IN(cure.rinse_days)},
    {SPAN("cure.wash_days", 0, 366, "[0, 0]", "days without a wash"), BASIS("cure"),
     IN(cure.wash_days)},
    {NUMBER("cure.wiper_h", 0, 8784, "0", "hours without wipers"), BASIS("cure"),
     IN(cure.wiper_h)},
    {NUMBER("cure.reference_c", -20, 50, "10", "the temperature those days hold at, degrees C"),
     BASIS("cure"), IN(cure.reference_c)},
    {NUMBER("cure.ea_ev", 0.01, 3, "0.531", "activation energy, eV"), BASIS("cure"),
     IN(cure.ea_ev)},
    {NUMBER("cure.stall_c", -30, 50, "none", "below this it does not cure, degrees C"),
     BASIS("cure"), IN(cure.stall_c)},
    {NUMBER("cure.longest_days", 0, 1464, "none",
            "however cold, no longer than so many days (left out: half as much again)"),
     BASIS("cure"), IN(cure.longest_days)},
    {SPAN("cure.apply_c", -30, 80, "none", "temperatures it may be put on at, degrees C"),
     BASIS("cure"), IN(cure.apply_c)},
    {SPAN("cure.apply_rh", 0, 100, "none", "relative humidity it may be put on at, percent"),
     BASIS("cure"), IN(cure.apply_rh)},

    {SPAN("wear.life_days", 0.25, 36525, "none", "days it lasts without care, shortest first"),
     BASIS("life"), IN(wear.life_days)},
    {NUMBER("wear.share", 0, 1, "0", "the share of its wear that comes from driving"),
     BASIS("share"), IN(wear.share)},
    {NUMBER("wear.km_a_year", 100, 500000, "12000",
            "the distance those days hold at, km a year"),
     BASIS("life"), IN(wear.km_a_year)},
    {SPAN("wear.limits", 0.01, 100, "[0.6, 2.0]", "how slow and how fast wear may run"),
     BASIS("limits"), IN(wear.limits)},
    {NUMBER("wear.max_km", 1, 5000000, "none", "over after so many km, whatever the days"),
     BASIS("max_km"), IN(wear.max_km)},
    {NUMBER("wear.lead_days", 0, 366, "none", "offered so long before its end"),
     BASIS("lead_days"), IN(wear.lead_days)},

    {FIELD("care.what", "text", "", "none", "the care, by its key in the language's words"),
     .read = bl_field_text, BASIS("care"), IN(care.what)},
    {NUMBER("care.interval_days", 0.25, 3660, "none", "days from one care to the next"),
     BASIS("care"), IN(care.interval_days)},
    {NUMBER("care.grace_days", 0, 3660, "0", "days it may come late"), BASIS("care"),
     IN(care.grace_days)},
    {NUMBER("care.extends", 1, 100, "1", "how many times as long it lasts when kept up"),
     BASIS("care"), IN(care.extends)},
    {YES("care.on_calendar", "true when those days are the calendar's, not use"), BASIS("care"),
     IN(care.on_calendar)},
    {YES("care.by_customer", "true when the customer does it"), BASIS("care"),
     IN(care.by_customer)},

    {WHOLE("look_over_months", 0, 120, "0", "months between two look-overs; 0 none"),
     BASIS("look_over"), IN(look_over_months)},
    {FIELD("exposures", "list of groups", "", "none", "what makes it wear faster or slower"),
     BASIS("exposures")},
    {FIELD("exposures[].name", "word",
           "stored outdoors, brush wash, strong pre-wash, winter salt, strong sun, sea air, "
           "hard water, gravel roads",
           "", "the condition"),
     .read = bl_field_choice, .words = bl_rule_exposures, IN_EXPOSURE(name)},
    {NUMBER("exposures[].factor", 0.01, 100, "", "how many times as fast it wears then"),
     IN_EXPOSURE(factor)},
    {FIELD(
         "stripped_by", "list of words",
         "wheel cleaner, strong pre-wash, brush wash, clay, polish, solvent, fallout remover, "
         "degreaser, steam",
         "[]", "what takes it off at once"),
     .read = value_strippers, .words = bl_rule_strippers, BASIS("stripped_by"),
     IN(stripped_by)},
    {TEXTS("cautions", "what the customer is warned of, by keys in the language's words"),
     IN(cautions)},
    {TEXTS("wash", "how it is washed, by keys in the language's words"), IN(wash)},

    BASIS_TEXT("cure"),
    BASIS_TEXT("life"),
    BASIS_TEXT("share"),
    BASIS_TEXT("limits"),
    BASIS_TEXT("max_km"),
    BASIS_TEXT("lead_days"),
    BASIS_TEXT("care"),
    BASIS_TEXT("look_over"),
    BASIS_TEXT("exposures"),
    BASIS_TEXT("stripped_by"),
};

#define OF(member)   .offset = offsetof(struct bl_package, member)
#define ITEM(member) .offset = offsetof(struct bl_package_item, member)

static const struct bl_field package[] = {
    {FIELD("title", "text", "", "", "what you call it"), .read = bl_field_text, OF(title)},
    {FIELD("items", "list", "( \"product\", { product = \"...\"; coats = 2; } )", "none",
           "the treatments")},
    {FIELD("items[].product", "text", "", "", "the product's key"), .read = bl_field_text,
     ITEM(product)},
    {FIELD("items[].surface", "word",
           "paint, windscreen, glass, wheels, tyres, trim, leather, fabric, soft top", "none",
           "another surface than the product's"),
     .read = bl_field_word, .words = bl_surface_words, ITEM(surface)},
    {FIELD("items[].part", "text", "", "none", "only a part of the surface"),
     .read = bl_field_text, ITEM(part)},
    {WHOLE("items[].coats", 1, 9, "1", "how many coats"), ITEM(coats)},
};

const struct bl_field *product_fields(guint *count)
{
    *count = G_N_ELEMENTS(product);
    return product;
}

const struct bl_field *package_fields(guint *count)
{
    *count = G_N_ELEMENTS(package);
    return package;
}
