/* The order of an owner's text, checked token by token before the parser sees it: the parser
 * says no more than "syntax error", and loses memory when it does. */
#ifndef BEADLINE_SETTINGS_GRAMMAR_H
#define BEADLINE_SETTINGS_GRAMMAR_H

#include <glib.h>
#include <stdbool.h>

#define GRAMMAR_DEEPEST 64
#define GRAMMAR_MOST    500 /* settings in a group: the parser's time grows with the square */

enum token {
    TOKEN_NAME,
    TOKEN_TEXT,
    TOKEN_NUMBER,
    TOKEN_OPEN,
    TOKEN_CLOSE,
    TOKEN_ASSIGN,
    TOKEN_COMMA,
    TOKEN_SEMICOLON,
    TOKEN_OTHER
};

enum want { WANT_NAME, WANT_ASSIGN, WANT_VALUE, WANT_ELEMENT, AFTER_SETTING, AFTER_ELEMENT };

struct grammar_bracket {
    char mark;
    int line;
    guint settings; /* in a group so far */
};

/* All zero at the beginning. */
struct grammar {
    enum want want;
    bool goes_on;   /* the last token was a text, and another may follow to lengthen it */
    guint settings; /* outermost so far */
    struct grammar_bracket open[GRAMMAR_DEEPEST];
    guint opened;
};

/* Takes the next token, word its letters; NULL, or what is wrong with it. Caller frees. */
char *grammar_take(struct grammar *grammar, enum token token, const char *word, int line);

#endif
