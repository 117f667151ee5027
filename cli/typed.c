/* Between what was typed and what is meant. */
#include "typed.h"

#include <string.h>

#include "beadline/text.h"
#include "say.h"

bool typed_at(const struct context *context, const char *what, const char *text, int64_t *at,
              GError **error)
{
    const struct bl_zone *zone = context->world->settings->shop.zone;
    *at = context->now;
    if (text && !bl_at_parse(zone, text, context->now, at, error)) {
        return false;
    }
    if (*at <= context->now + BL_DAY) {
        return true;
    }
    g_autofree char *when = say_at(context, *at);
    g_autofree char *now = say_at(context, context->now);
    g_set_error(
        error, BL_ERROR, BL_ERROR_REFUSED,
        "\"%s\" (%s) is more than a day ahead of now (%s): %s %s is written down when it "
        "has happened; look at the date, or at this machine's clock",
        text, when, now, strchr("aeiou", what[0]) ? "an" : "a", what);
    return false;
}

bool typed_date(const struct context *context, const char *text, int32_t *date, GError **error)
{
    const struct bl_zone *zone = context->world->settings->shop.zone;
    int64_t at = 0;
    if (!bl_at_parse(zone, text, context->now, &at, error)) {
        return false;
    }
    *date = bl_zone_date(zone, at);
    return true;
}

const char *typed_word(const char *what, const char *text, const char *const *words,
                       GError **error)
{
    g_autofree char *folded = bl_text_fold(text);
    for (guint i = 0; words[i]; i++) {
        g_autofree char *word = bl_text_fold(words[i]);
        if (strcmp(folded, word) == 0) {
            return words[i];
        }
    }
    g_autofree char *shown = bl_text_shown(text);
    const char *near = bl_text_nearest(folded, words);
    g_autofree char *all = g_strjoinv(", ", (char **)words);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "\"%s\" is no %s: %s%s%s", shown, what,
                near ? "did you mean \"" : "one of ", near ? near : all, near ? "\"?" : "");
    return NULL;
}

bool typed_yes(const char *what, const char *text, bool *yes, GError **error)
{
    static const char *const words[] = {"yes", "no", NULL};
    g_autofree char *answer = g_strdup_printf("answer to \"%s\"", what);
    const char *word = typed_word(answer, text, words, error);
    *yes = word == words[0];
    return word != NULL;
}

bool typed_number(const char *what, const char *text, const char *unit, double *value,
                  GError **error)
{
    g_autofree char *trimmed = g_strdelimit(g_strstrip(g_strdup(text)), ",", '.');
    char *rest = NULL;
    double number = g_ascii_strtod(trimmed, &rest);
    gsize digits = strspn(trimmed, "+-.0123456789");
    bool plain = digits > 0 && rest == trimmed + digits;
    while (g_str_has_prefix(rest, " ") || g_str_has_prefix(rest, "°")) {
        rest = g_utf8_next_char(rest);
    }
    if (plain && (*rest == '\0' || g_ascii_strcasecmp(rest, unit) == 0)) {
        *value = number;
        return true;
    }
    g_autofree char *shown = bl_text_shown(text);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "%s \"%s\" is not a number: write it like 14%s", what, shown, unit);
    return false;
}

bool typed_temp(const char *text, double *temp_c, GError **error)
{
    if (g_str_has_suffix(text, "F") || g_str_has_suffix(text, "f")) {
        double fahrenheit = 0;
        bool done = typed_number("temperature", text, "F", &fahrenheit, error);
        *temp_c = (fahrenheit - 32) / 1.8;
        return done;
    }
    return typed_number("temperature", text, "C", temp_c, error);
}

bool typed_none(const char *text)
{
    return g_ascii_strcasecmp(text, "none") == 0;
}

void typed_text(char **target, const char *text)
{
    if (!text) {
        return;
    }
    g_free(*target);
    *target = g_strstrip(g_strdup(text));
    if (!**target || typed_none(*target)) {
        g_clear_pointer(target, g_free);
    }
}
