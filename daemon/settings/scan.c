/* Walks a file's text once, between reading and parsing, with just enough of the grammar to
 * tell texts, comments, numbers and @include apart. It catches what the parser would pass over
 * in silence: a comment never closed (half a file), a number too big for its place, a NUL
 * written as an escape. */
#include "scan.h"

#include <string.h>

#define MOST_SETTINGS 10000 /* the parser's time grows with the square */
#define MOST_NESTED   8
#define MOST_FILES    64
#define MOST_OPEN     64

struct bracket {
    char mark;
    int line;
};

struct scan {
    struct source *source;
    const char *file;
    const char *at, *end;
    int line;
    bool fresh; /* nothing but blanks on this line so far */
    struct bracket open[MOST_OPEN];
    guint opened;
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

static bool scan_text(struct scan *scan)
{
    int opened = scan->line;
    const char *p = scan->at + 1;
    while (p < scan->end && *p != '"') {
        if (p[0] == '\\' && p + 3 < scan->end && strncmp(p + 1, "x00", 3) == 0) {
            return fault(scan, opened, "a text holds a NUL, \"\\x00\": leave it out");
        }
        p += p[0] == '\\' && p + 1 < scan->end ? 2 : 1;
    }
    if (p >= scan->end) {
        return fault(scan, opened,
                     "a text begins here and its closing quote is missing: is the file whole?");
    }
    copy(scan, (gsize)(p + 1 - scan->at));
    return true;
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

/* The parser lets a number too big for 32 bits wrap around. */
static bool scan_number(struct scan *scan)
{
    gsize n = strspn(scan->at, "0123456789+-.abcdefxABCDEFXL");
    g_autofree char *word = g_strndup(scan->at, n);
    bool hex = strpbrk(word, "xX") != NULL;
    if (hex || !strpbrk(word, ".eE")) {
        char *rest = NULL;
        gint64 value = g_ascii_strtoll(word, &rest, hex ? 16 : 10);
        if (value > G_MAXINT32 || value < -G_MAXINT32) {
            bl_faults_add(scan->source->faults, scan->file, scan->line,
                          "the number %.40s is too big for anything here", word);
            return false;
        }
    }
    copy(scan, n);
    return true;
}

static bool scan_include(struct scan *scan)
{
    if (scan->source->alone) {
        return fault(scan, scan->line, "a stored text includes nothing");
    }
    const char *p = scan->at + strlen("@include");
    p += strspn(p, " \t");
    gsize n = *p == '"' ? strcspn(p + 1, "\"\n") : 0;
    if (n == 0 || p[n + 1] != '"') {
        return fault(scan, scan->line,
                     "@include wants a file's name in quotes: @include \"gateways.conf\"");
    }
    g_autofree char *name = g_strndup(p + 1, n);
    const char *rest = p + n + 2;
    rest += strspn(rest, " \t;");
    if (*rest != '\0' && *rest != '\n' && *rest != '#' && strncmp(rest, "//", 2) != 0) {
        return fault(scan, scan->line, "@include stands alone on its line");
    }
    scan->at = rest;
    g_autofree char *folder = g_path_get_dirname(scan->file);
    g_autofree char *file = g_path_is_absolute(name) || strcmp(folder, ".") == 0
                                ? g_strdup(name)
                                : g_build_filename(folder, name, NULL);
    /* The included file begins on a line of its own, and so does what is left of this one. */
    g_string_append_c(scan->source->text, '\n');
    if (!source_read(scan->source, file)) {
        bl_faults_add(scan->source->faults, scan->file, scan->line, "it is included here");
        return false;
    }
    begin_line(scan);
    return true;
}

static bool begins(const struct scan *scan, const char *word)
{
    return strncmp(scan->at, word, strlen(word)) == 0;
}

static bool is_name(char c)
{
    return g_ascii_isalnum(c) || c == '_' || c == '-' || c == '*';
}

static bool scan_name(struct scan *scan)
{
    gsize n = 0;
    while (is_name(scan->at[n])) {
        n++;
    }
    copy(scan, n);
    return true;
}

/* Whether the bracket at hand fits those open. The parser takes [ ] for lists of one type only,
 * and people write [219, 365.25]; so it is given ( ) for both. */
static bool scan_bracket(struct scan *scan)
{
    static const char opening[] = "{[(", closing[] = "}])";
    char mark = *scan->at;
    if (strchr(opening, mark)) {
        if (scan->opened == MOST_OPEN) {
            return fault(scan, scan->line, "brackets stand too deep inside each other");
        }
        scan->open[scan->opened++] = (struct bracket){mark, scan->line};
    } else if (scan->opened == 0) {
        return fault(scan, scan->line, "a bracket is closed here that was not opened");
    } else {
        const struct bracket *last = &scan->open[--scan->opened];
        if (strchr(opening, last->mark) - opening != strchr(closing, mark) - closing) {
            bl_faults_add(scan->source->faults, scan->file, scan->line,
                          "\"%c\" is closed by \"%c\" here; it was opened in line %d",
                          last->mark, mark, last->line);
            return false;
        }
    }
    copy(scan, 1);
    char *written = &scan->source->text->str[scan->source->text->len - 1];
    *written = mark == '[' ? '(' : mark == ']' ? ')' : mark;
    return true;
}

static bool scan_mark(struct scan *scan)
{
    if (strchr("{}[]()", *scan->at)) {
        return scan_bracket(scan);
    }
    if (*scan->at == '=' || *scan->at == ':') {
        if (++scan->source->settings > MOST_SETTINGS) {
            return fault(scan, scan->line,
                         "more than 10000 settings: this is not a file written by hand");
        }
    }
    copy(scan, 1);
    return true;
}

static bool scan_next(struct scan *scan)
{
    char c = *scan->at;
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
    struct scan scan = {
        .source = source, .file = file, .at = text, .end = text + length, .line = 1};
    begin_line(&scan);
    while (scan.at < scan.end) {
        if (!scan_next(&scan)) {
            return false;
        }
    }
    if (scan.opened > 0) {
        return fault(&scan, scan.open[scan.opened - 1].line,
                     "a bracket is opened here and never closed: is the file whole?");
    }
    if (source->text->len > 0 && source->text->str[source->text->len - 1] != '\n') {
        g_string_append_c(source->text, '\n');
    } else if (source->places->len > 0) {
        g_array_set_size(source->places, source->places->len - 1);
    }
    source->depth--;
    return true;
}
