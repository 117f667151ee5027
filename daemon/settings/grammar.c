/* Which token may follow which: settings are NAME = VALUE; values are texts, numbers, true,
 * false, { settings } and lists of values. Fed by the scan. */
#include "grammar.h"

#include <string.h>

#include "beadline/conf.h"

static const char opening[] = "{[(", closing[] = "}])";

static bool in_list(const struct grammar *grammar)
{
    return grammar->opened > 0 && grammar->open[grammar->opened - 1].mark != '{';
}

static void value_ends(struct grammar *grammar)
{
    grammar->want = in_list(grammar) ? AFTER_ELEMENT : AFTER_SETTING;
}

static char *refuse(const struct grammar *grammar, const char *word)
{
    static const char *const wanted[] = {
        [WANT_NAME] = "a setting's name is wanted here",
        [WANT_ASSIGN] = "\"=\" is wanted after a name",
        [WANT_VALUE] = "a value is wanted here",
        [WANT_ELEMENT] = "a value or a closing bracket is wanted here",
        [AFTER_SETTING] = "\";\" is wanted after a value",
        [AFTER_ELEMENT] = "\",\" or a closing bracket is wanted after a value",
    };
    g_autofree char *shown = bl_field_shown(word);
    return g_strdup_printf("%s, not %s", wanted[grammar->want], shown);
}

static char *open_bracket(struct grammar *grammar, char mark, int line)
{
    if (grammar->opened == GRAMMAR_DEEPEST) {
        return g_strdup("brackets stand too deep inside each other");
    }
    grammar->open[grammar->opened++] = (struct grammar_bracket){mark, line, 0};
    grammar->want = mark == '{' ? WANT_NAME : WANT_ELEMENT;
    return NULL;
}

static char *close_bracket(struct grammar *grammar, const char *word)
{
    if (grammar->opened == 0) {
        return g_strdup("a bracket is closed here that was not opened");
    }
    const struct grammar_bracket *last = &grammar->open[grammar->opened - 1];
    if (strchr(opening, last->mark) - opening != strchr(closing, *word) - closing) {
        return g_strdup_printf("\"%c\" is closed by \"%c\" here; it was opened in line %d",
                               last->mark, *word, last->line);
    }
    if (grammar->want == WANT_ASSIGN || grammar->want == WANT_VALUE) {
        return refuse(grammar, word);
    }
    grammar->opened--;
    value_ends(grammar);
    return NULL;
}

static char *take_value(struct grammar *grammar, enum token token, const char *word, int line)
{
    if (token == TOKEN_OPEN) {
        return open_bracket(grammar, *word, line);
    }
    bool truth =
        g_ascii_strcasecmp(word, "true") == 0 || g_ascii_strcasecmp(word, "false") == 0;
    if (token == TOKEN_NAME && !truth) {
        g_autofree char *shown = bl_field_shown(word);
        return g_strdup_printf("%s is no value: texts stand in quotes, and yes and no are true "
                               "and false",
                               shown);
    }
    if (token != TOKEN_TEXT && token != TOKEN_NUMBER && token != TOKEN_NAME) {
        return refuse(grammar, word);
    }
    value_ends(grammar);
    return NULL;
}

/* A name, where one may stand. */
static char *take_name(struct grammar *grammar, enum token token, const char *word)
{
    bool truth =
        g_ascii_strcasecmp(word, "true") == 0 || g_ascii_strcasecmp(word, "false") == 0;
    if (token != TOKEN_NAME || truth) {
        return refuse(grammar, word);
    }
    guint *settings =
        grammar->opened > 0 ? &grammar->open[grammar->opened - 1].settings : &grammar->settings;
    if (++*settings > GRAMMAR_MOST) {
        return g_strdup_printf(
            "more than %d settings in one group: this is not written by hand", GRAMMAR_MOST);
    }
    grammar->want = WANT_ASSIGN;
    return NULL;
}

static char *take(struct grammar *grammar, enum token token, const char *word, int line)
{
    switch (grammar->want) {
    case WANT_NAME:
        return take_name(grammar, token, word);
    case WANT_ASSIGN:
        if (token != TOKEN_ASSIGN) {
            return refuse(grammar, word);
        }
        grammar->want = WANT_VALUE;
        return NULL;
    case WANT_VALUE:
    case WANT_ELEMENT:
        return take_value(grammar, token, word, line);
    case AFTER_SETTING:
        if (token != TOKEN_SEMICOLON && token != TOKEN_COMMA) {
            return take_name(grammar, token, word);
        }
        grammar->want = WANT_NAME;
        return NULL;
    case AFTER_ELEMENT:
        if (token != TOKEN_COMMA) {
            return refuse(grammar, word);
        }
        grammar->want = WANT_VALUE;
        return NULL;
    }
    g_assert_not_reached();
}

char *grammar_take(struct grammar *grammar, enum token token, const char *word, int line)
{
    bool after = grammar->want == AFTER_SETTING || grammar->want == AFTER_ELEMENT;
    if (token == TOKEN_TEXT && grammar->goes_on && after) {
        return NULL;
    }
    grammar->goes_on = token == TOKEN_TEXT;
    return token == TOKEN_CLOSE ? close_bracket(grammar, word)
                                : take(grammar, token, word, line);
}
