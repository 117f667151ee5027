/* From what is said of an event to its row. */
#include "happened.h"

#include <math.h>
#include <string.h>

#include "beadline/text.h"
#include "say.h"
#include "typed.h"

void happened_clear(struct happened *typed)
{
    g_free(typed->at);
    g_free(typed->surface);
    g_free(typed->part);
    g_free(typed->treatment);
    g_free(typed->with);
    g_free(typed->finding);
    g_free(typed->temp);
    g_free(typed->hours);
    g_free(typed->note);
}

static bool apply_happening(const char *typed, struct bl_event_row *row, GError **error)
{
    const char *word =
        typed ? typed_word("happening", typed, bl_happening_words(), error) : NULL;
    return !typed || (word && bl_happening_of(word, &row->happening));
}

static bool apply_surface(const char *typed, struct bl_event_row *row, GError **error)
{
    enum bl_surface surface = BL_PAINT;
    if (!typed || typed_none(typed)) {
        row->surface = typed ? -1 : row->surface;
        return true;
    }
    const char *word = typed_word("surface", typed, bl_surface_words(), error);
    if (!word || !bl_surface_of(word, &surface)) {
        return false;
    }
    row->surface = (int)surface;
    return true;
}

static void apply_part(const char *typed, struct bl_event_row *row)
{
    if (typed) {
        g_free(row->part);
        row->part = typed_none(typed) ? NULL : bl_text_fold(typed);
    }
}

static bool apply_treatment(const char *typed, struct bl_event_row *row, GError **error)
{
    if (typed && typed_none(typed)) {
        row->treatment = 0;
        return true;
    }
    return !typed || say_read_id(typed, "treatment", &row->treatment, error);
}

static bool apply_finding(const char *typed, struct bl_event_row *row, GError **error)
{
    if (typed) {
        bool none = typed_none(typed);
        const char *word =
            none ? NULL : typed_word("finding", typed, bl_finding_words(), error);
        if (!none && !word) {
            return false;
        }
        g_free(row->finding);
        row->finding = g_strdup(word);
    }
    if (!row->finding || row->happening == BL_EV_INSPECTION) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                "a finding is an inspection's: write \"inspection\" for \"%s\", or keep it as "
                "a --note",
                bl_happening_name(row->happening));
    return false;
}

static bool refuse(const char *text, GError **error)
{
    g_set_error_literal(error, BL_ERROR, BL_ERROR_INPUT, text);
    return false;
}

/* Hours at a temperature, or a lamp, and both are a cure's. */
static bool apply_cure(const struct happened *typed, struct bl_event_row *row, GError **error)
{
    if (typed->lamp) {
        row->temp_c = row->hours = (double)NAN;
    }
    if ((typed->temp && !typed_temp(typed->temp, &row->temp_c, error)) ||
        (typed->hours && !typed_number("hours", typed->hours, "h", &row->hours, error))) {
        return false;
    }
    bool said = typed->lamp || typed->temp || typed->hours;
    bool warm = !isnan(row->temp_c);
    bool long_enough = !isnan(row->hours) && row->hours != 0;
    if (row->happening != BL_EV_CURED_INDOORS) {
        return said ? refuse("--temp, --hours and --lamp are of a cure: write "
                             "\"cured-indoors\", or keep it as a --note",
                             error)
                    : true;
    }
    if (typed->lamp && (typed->temp || typed->hours)) {
        return refuse(
            "a --lamp ends the cure at once: leave --temp and --hours out, or the lamp", error);
    }
    if (warm != long_enough || (row->id == 0 && !said)) {
        return refuse("say how it cured indoors: --temp and --hours, or --lamp", error);
    }
    return true;
}

/* "A part" without a word on which takes nothing off, and every look would report it. */
static bool names_replaced(const struct bl_event_row *row, GError **error)
{
    bool named = row->surface >= 0 || row->treatment != 0 || (row->part && *row->part);
    return row->happening != BL_EV_PART_REPLACED || named ||
           refuse("say which part was replaced: --surface paint --part bonnet, or "
                  "--surface windscreen",
                  error);
}

bool happened_apply(const struct context *context, const struct happened *typed,
                    const char *happening, struct bl_event_row *row, GError **error)
{
    apply_part(typed->part, row);
    typed_text(&row->with, typed->with);
    typed_text(&row->note, typed->note);
    return (!(typed->at || row->id == 0) ||
            typed_at(context, "event", typed->at, &row->at, error)) &&
           apply_happening(happening, row, error) &&
           apply_surface(typed->surface, row, error) &&
           apply_treatment(typed->treatment, row, error) &&
           apply_finding(typed->finding, row, error) && apply_cure(typed, row, error) &&
           names_replaced(row, error);
}

char *happened_place(const struct bl_event_row *row)
{
    return row->surface < 0 ? g_strdup(row->part ? row->part : "")
                            : look_place((enum bl_surface)row->surface, row->part);
}
