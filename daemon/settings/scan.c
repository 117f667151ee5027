/* Walks a file's text once, between reading and parsing: takes it apart into tokens, has their
 * order checked, and takes in what is included. It catches what the parser would pass over in
 * silence: a comment never closed (half a file), a number too big for its place, a NUL written
 * as an escape, a last value cut short. */
#include "scan.h"

#include <string.h>

#define MOST_NESTED 8
#define MOST_FILES  64

struct scan {
    struct source *source;
    const char *file;
    const char *at, *end;
    int line;
    bool fresh;    /* nothing but blanks on this line so far */
    char last;     /* the last token's last letter */
    int last_line; /* and its line */
};

static bool fault(struct scan *scan, int line, const char *text)
{
    bl_faults_add(scan->source->faults, scan->file, line, "%s", text);
    return false;
}

static void begin_line(struct scan *scan)
{
    struct source_place place = {scan->file, scan->line, scan->source->text->len};
    g_array_append_val(scan->source->places, place);
    scan->fresh = true;
}

/* Every line of the whole has its place, and there is no place without a line. */
static void end_line(struct scan *scan)
{
    GString *text = scan->source->text;
    if (text->len > 0 && text->str[text->len - 1] != '\n') {
        g_string_append_c(text, '\n');
    } else {
        g_array_set_size(scan->source->places, scan->source->places->len - 1);
    }
}

/* The next n letters go into the whole as they are. */
static void copy(struct scan *scan, gsize n)
{
    for (gsize i = 0; i < n; i++) {
        char c = *scan->at++;
        g_string_append_c(scan->source->text, c);
        if (c == '\n') {
            scan->line++;
            begin_line(scan);
        } else if (c != ' ' && c != '\t') {
            scan->fresh = false;
        }
    }
}

/* The next n letters are a token. */
static bool take(struct scan *scan, enum token token, gsize n)
{
    g_autofree char *word = g_strndup(scan->at, n);
    g_autofree char *wrong = grammar_take(&scan->source->grammar, token, word, scan->line);
    if (wrong) {
        return fault(scan, scan->line, wrong);
    }
    scan->last = word[n - 1];
    copy(scan, n);
    scan->last_line = scan->line;
    return true;
}

static bool scan_text(struct scan *scan)
{
    const char *p = scan->at + 1;
    while (p < scan->end && *p != '"') {
        if (p[0] == '\\' && strncmp(p + 1, "x00", 3) == 0) {
            return fault(scan, scan->line, "a text holds a NUL, \"\\x00\": leave it out");
        }
        p += p[0] == '\\' && p + 1 < scan->end ? 2 : 1;
    }
    if (p >= scan->end) {
        return fault(scan, scan->line,
                     "a text begins here and its closing quote is missing: is the file whole?");
    }
    return take(scan, TOKEN_TEXT, (gsize)(p + 1 - scan->at));
}

static bool scan_block_comment(struct scan *scan)
{
    const char *close = strstr(scan->at + 2, "*/");
    if (!close) {
        return fault(scan, scan->line,
                     "a comment begins here and its \"*/\" is missing: is the file whole?");
    }
    copy(scan, (gsize)(close + 2 - scan->at));
    return true;
}

static bool scan_line_comment(struct scan *scan)
{
    copy(scan, strcspn(scan->at, "\n"));
    return true;
}

/* Whether word is one number as the parser knows them, of any size. */
static bool is_number(const char *word)
{
    const char *digits = word + strspn(word, "+-");
    if (digits - word > 1) {
        return false;
    }
    if (g_ascii_strncasecmp(digits, "0x", 2) == 0) {
        gsize n = strspn(digits + 2, "0123456789abcdefABCDEF");
        return digits == word && n > 0 && digits[2 + n] == '\0';
    }
    char *rest = NULL;
    g_ascii_strtod(word, &rest);
    return rest != word && *rest == '\0';
}

static bool scan_number(struct scan *scan)
{
    gsize n = strspn(scan->at, "0123456789+-.abcdefxABCDEFX");
    g_autofree char *word = g_strndup(scan->at, n);
    bool hex = strpbrk(word, "xX") != NULL;
    if (!is_number(word)) {
        bl_faults_add(scan->source->faults, scan->file, scan->line, "%.40s is no number", word);
        return false;
    }
    /* The parser lets a number too big for 32 bits wrap around. */
    gint64 value =
        hex || !strpbrk(word, ".eE") ? g_ascii_strtoll(word, NULL, hex ? 16 : 10) : 0;
    if (value > G_MAXINT32 || value < -G_MAXINT32) {
        bl_faults_add(scan->source->faults, scan->file, scan->line,
                      "the number %.40s is too big for anything here", word);
        return false;
    }
    return take(scan, TOKEN_NUMBER, n);
}

/* The file an @include names, with what is left of its line in *rest; NULL and a fault. */
static char *included(struct scan *scan, const char **rest)
{
    const char *p = scan->at + strlen("@include");
    p += strspn(p, " \t");
    gsize n = *p == '"' ? strcspn(p + 1, "\"\n") : 0;
    if (n == 0 || p[n + 1] != '"') {
        fault(scan, scan->line,
              "@include wants a file's name in quotes: @include \"gateways.conf\"");
        return NULL;
    }
    *rest = p + n + 2 + strspn(p + n + 2, " \t;");
    if (**rest != '\0' && **rest != '\n' && **rest != '#' && strncmp(*rest, "//", 2) != 0) {
        fault(scan, scan->line, "@include stands alone on its line");
        return NULL;
    }
    g_autofree char *name = g_strndup(p + 1, n);
    g_autofree char *folder = g_path_get_dirname(scan->file);
    bool plain = g_path_is_absolute(name) || strcmp(folder, ".") == 0;
    return plain ? g_strdup(name) : g_build_filename(folder, name, NULL);
}

static bool scan_include(struct scan *scan)
{
    if (scan->source->alone) {
        return fault(scan, scan->line, "a stored text includes nothing");
    }
    const char *rest = NULL;
    g_autofree char *file = included(scan, &rest);
    if (!file) {
        return false;
    }
    /* The included file begins on a line of its own, and so does what is left of this one. */
    g_string_append_c(scan->source->text, '\n');
    if (!source_read(scan->source, file)) {
        return fault(scan, scan->line, "it is included here");
    }
    scan->at = rest;
    begin_line(scan);
    return true;
}

static bool begins(const struct scan *scan, const char *word)
{
    return strncmp(scan->at, word, strlen(word)) == 0;
}

static bool is_letter(char c)
{
    return g_ascii_isalnum(c) || c == '_' || c == '-' || c == '*';
}

static bool scan_name(struct scan *scan)
{
    gsize n = 0;
    while (is_letter(scan->at[n])) {
        n++;
    }
    return take(scan, TOKEN_NAME, n);
}

/* The parser takes [ ] for lists of one type only, and people write [219, 365.25]; so it is
 * given ( ) for both. */
static bool scan_bracket(struct scan *scan, enum token token)
{
    if (!take(scan, token, 1)) {
        return false;
    }
    char *mark = &scan->source->text->str[scan->source->text->len - 1];
    *mark = *mark == '[' ? '(' : *mark == ']' ? ')' : *mark;
    return true;
}

static bool scan_mark(struct scan *scan)
{
    switch (*scan->at) {
    case '{':
    case '[':
    case '(':
        return scan_bracket(scan, TOKEN_OPEN);
    case '}':
    case ']':
    case ')':
        return scan_bracket(scan, TOKEN_CLOSE);
    case '=':
    case ':':
        return take(scan, TOKEN_ASSIGN, 1);
    case ',':
        return take(scan, TOKEN_COMMA, 1);
    case ';':
        return take(scan, TOKEN_SEMICOLON, 1);
    default:
        return take(scan, TOKEN_OTHER, (gsize)(g_utf8_next_char(scan->at) - scan->at));
    }
}

static bool scan_next(struct scan *scan)
{
    char c = *scan->at;
    if (c == ' ' || c == '\t' || c == '\n') {
        copy(scan, 1);
        return true;
    }
    if (scan->fresh && begins(scan, "@include")) {
        return scan_include(scan);
    }
    if (c == '"') {
        return scan_text(scan);
    }
    if (c == '#' || begins(scan, "//")) {
        return scan_line_comment(scan);
    }
    if (begins(scan, "/*")) {
        return scan_block_comment(scan);
    }
    if (g_ascii_isdigit(c) || c == '+' || c == '-' || c == '.') {
        return scan_number(scan);
    }
    return g_ascii_isalpha(c) || c == '*' ? scan_name(scan) : scan_mark(scan);
}

/* A file cut short may still parse: "care_days = 42;" cut after the 4. So the last token of
 * each file must be one that ends something, and every bracket closed that it opened. */
static bool is_whole(struct scan *scan, guint opened)
{
    const struct grammar *grammar = &scan->source->grammar;
    if (grammar->opened > opened) {
        return fault(scan, grammar->open[grammar->opened - 1].line,
                     "a bracket is opened here and never closed: is the file whole?");
    }
    if (scan->last && !strchr(";,}])", scan->last)) {
        return fault(scan, scan->last_line,
                     "the last setting has no \";\" after it: is the file whole?");
    }
    return true;
}

bool scan_file(struct source *source, const char *file, const char *text, gsize length)
{
    if (source->depth >= MOST_NESTED || source->files->len > MOST_FILES) {
        bl_faults_add(source->faults, file, 0,
                      "files are included more than %d deep, or more than %d of them: does one "
                      "include itself?",
                      MOST_NESTED, MOST_FILES);
        return false;
    }
    source->depth++;
    guint opened = source->grammar.opened;
    struct scan scan = {
        .source = source, .file = file, .at = text, .end = text + length, .line = 1};
    begin_line(&scan);
    while (scan.at < scan.end) {
        if (!scan_next(&scan)) {
            return false;
        }
    }
    if (!is_whole(&scan, opened)) {
        return false;
    }
    end_line(&scan);
    source->depth--;
    return true;
}
