/*
 * The parser: a template's text becomes a tree of nodes once, at load. What only the layout of
 * the template decides is settled here: which tags stand alone on their line and take it with
 * them, and where its lines begin.
 */
#include "mustache_tree.h"

#include <string.h>

#include "beadline/error.h"

#define DELIMITER_MAX 16 /* bytes */

struct parser {
    const char *start; /* of the whole text */
    const char *at;
    int line;
    bool line_open; /* the current line has its NODE_LINE, or needs none */
    char open[DELIMITER_MAX], close[DELIMITER_MAX];
    GPtrArray *stack; /* open sections: struct node, not owned */
    GPtrArray *root;  /* not owned */
};

/* One tag as it stands in the text. */
struct tag {
    char sigil;        /* 0 for a plain {{name}} */
    char *content;     /* trimmed */
    const char *begin; /* at the opening delimiter */
    const char *end;   /* where the text goes on: behind the closing one, or, when standalone,
                        * where the next line begins */
    char *indent;      /* the blanks before a standalone tag; NULL: it is not alone */
};

static void free_node(gpointer data)
{
    struct node *node = data;
    g_free(node->text);
    g_free(node->indent);
    g_strfreev(node->path);
    g_clear_pointer(&node->children, g_ptr_array_unref);
    g_free(node);
}

static bool fail(const struct parser *parser, GError **error, const char *format, ...)
    G_GNUC_PRINTF(3, 4);

static bool fail(const struct parser *parser, GError **error, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *text = g_strdup_vprintf(format, args);
    va_end(args);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "line %d: %s", parser->line, text);
    return false;
}

static struct node *add_node(struct parser *parser, enum node_kind kind)
{
    struct node *node = g_new0(struct node, 1);
    node->kind = kind;
    node->line = parser->line;
    struct node *section =
        parser->stack->len ? g_ptr_array_index(parser->stack, parser->stack->len - 1) : NULL;
    g_ptr_array_add(section ? section->children : parser->root, node);
    return node;
}

/* The line under way has something to show. */
static void open_line(struct parser *parser)
{
    if (!parser->line_open) {
        add_node(parser, NODE_LINE);
        parser->line_open = true;
    }
}

/* Adds the text from parser->at to end, line by line. */
static void add_text(struct parser *parser, const char *end)
{
    while (parser->at < end) {
        const char *feed = memchr(parser->at, '\n', (size_t)(end - parser->at));
        const char *stop = feed ? feed + 1 : end;
        open_line(parser);
        add_node(parser, NODE_TEXT)->text = g_strndup(parser->at, (gsize)(stop - parser->at));
        parser->at = stop;
        if (feed) {
            parser->line++;
            parser->line_open = false;
        }
    }
}

static bool blank(char c)
{
    return c == ' ' || c == '\t';
}

/* Where the blanks before p, on its line, begin; NULL when something else stands there. */
static const char *line_begin(const struct parser *parser, const char *p)
{
    while (p > parser->start && blank(p[-1])) {
        p--;
    }
    return p == parser->start || p[-1] == '\n' ? p : NULL;
}

/* Where the next line begins when only blanks follow p on its line; else NULL. */
static const char *line_end(const char *p)
{
    while (blank(*p)) {
        p++;
    }
    if (p[0] == '\r' && p[1] == '\n') {
        p++;
    }
    if (*p == '\n') {
        return p + 1;
    }
    return *p == '\0' ? p : NULL;
}

/* A value is shown where it stands, even on a line of its own. */
static bool may_stand_alone(char sigil)
{
    return sigil != '\0' && sigil != '&' && sigil != '{';
}

/* Reads the tag at tag->begin up to its closing delimiter. The caller frees its texts. */
static bool read_tag(struct parser *parser, struct tag *tag, GError **error)
{
    const char *p = tag->begin + strlen(parser->open);
    tag->sigil = *p && strchr("!=#^/>&{", *p) ? *p++ : '\0';
    /* {{{ closes with }}} and {{= with =}}. */
    const char *before = tag->sigil == '{' ? "}" : tag->sigil == '=' ? "=" : "";
    g_autofree char *closing = g_strconcat(before, parser->close, NULL);
    const char *stop = strstr(p, closing);
    if (!stop) {
        return fail(parser, error, "the tag \"%s\" is not closed: write \"%s\" behind it",
                    parser->open, closing);
    }
    tag->content = g_strstrip(g_strndup(p, (gsize)(stop - p)));
    tag->end = stop + strlen(closing);
    const char *line = line_begin(parser, tag->begin);
    const char *next = line_end(tag->end);
    if (may_stand_alone(tag->sigil) && line && next) {
        tag->indent = g_strndup(line, (gsize)(tag->begin - line));
        tag->end = next;
    }
    return true;
}

static bool bad_name(const char *name)
{
    return !*name || strpbrk(name, " \t\r\n") != NULL;
}

static bool set_path(struct parser *parser, struct node *node, const char *name, GError **error)
{
    node->text = g_strdup(name);
    node->path = g_strcmp0(name, ".") == 0 ? g_new0(char *, 1) : g_strsplit(name, ".", -1);
    if (bad_name(name)) {
        return fail(parser, error, "\"%s\" is no name: write one word, as in {{name}}", name);
    }
    for (char **part = node->path; *part; part++) {
        if (!**part) {
            return fail(parser, error, "\"%s\" has an empty part: write it as a.b", name);
        }
    }
    return true;
}

static bool take_value(struct parser *parser, const struct tag *tag, GError **error)
{
    struct node *node = add_node(parser, NODE_VALUE);
    node->raw = tag->sigil != '\0';
    return set_path(parser, node, tag->content, error);
}

static bool take_section(struct parser *parser, const struct tag *tag, GError **error)
{
    if (parser->stack->len == BL_MUSTACHE_DEPTH) {
        return fail(parser, error, "sections stand more than %d deep in each other",
                    BL_MUSTACHE_DEPTH);
    }
    struct node *node = add_node(parser, tag->sigil == '#' ? NODE_SECTION : NODE_INVERTED);
    node->children = g_ptr_array_new_with_free_func(free_node);
    g_ptr_array_add(parser->stack, node);
    return set_path(parser, node, tag->content, error);
}

static bool take_end(struct parser *parser, const struct tag *tag, GError **error)
{
    if (parser->stack->len == 0) {
        return fail(parser, error, "\"{{/%s}}\" closes a section that was not opened",
                    tag->content);
    }
    const struct node *section = g_ptr_array_index(parser->stack, parser->stack->len - 1);
    if (g_strcmp0(section->text, tag->content) != 0) {
        return fail(parser, error,
                    "\"{{/%s}}\" stands where \"{{/%s}}\" is expected (opened on line %d)",
                    tag->content, section->text, section->line);
    }
    g_ptr_array_set_size(parser->stack, (gint)parser->stack->len - 1);
    return true;
}

static bool take_partial(struct parser *parser, const struct tag *tag, GError **error)
{
    if (bad_name(tag->content)) {
        return fail(parser, error, "\"%s\" is no partial's name: write one word", tag->content);
    }
    struct node *node = add_node(parser, NODE_PARTIAL);
    node->text = g_strdup(tag->content);
    node->indent = g_strdup(tag->indent);
    return true;
}

static bool take_delimiters(struct parser *parser, const struct tag *tag, GError **error)
{
    const char *open = tag->content;
    size_t open_len = strcspn(open, " \t\r\n");
    const char *close = open + open_len + strspn(open + open_len, " \t\r\n");
    size_t close_len = strlen(close);
    if (open_len == 0 || close_len == 0 || bad_name(close) || strchr(open, '=')) {
        return fail(parser, error,
                    "\"%s\" are no delimiters: write two words, as in {{=<%% %%>=}}",
                    tag->content);
    }
    if (open_len >= DELIMITER_MAX || close_len >= DELIMITER_MAX) {
        return fail(parser, error, "\"%s\" has a delimiter longer than %d characters",
                    tag->content, DELIMITER_MAX - 1);
    }
    memcpy(parser->open, open, open_len);
    parser->open[open_len] = '\0';
    memcpy(parser->close, close, close_len + 1);
    return true;
}

static bool take_comment(struct parser *parser, const struct tag *tag, GError **error)
{
    (void)parser, (void)tag, (void)error;
    return true;
}

static bool take_tag(struct parser *parser, const struct tag *tag, GError **error)
{
    static const struct {
        char sigil;
        bool (*take)(struct parser *, const struct tag *, GError **);
    } kinds[] = {
        {'\0', take_value},  {'{', take_value},      {'&', take_value},
        {'#', take_section}, {'^', take_section},    {'/', take_end},
        {'>', take_partial}, {'=', take_delimiters}, {'!', take_comment},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(kinds); i++) {
        if (kinds[i].sigil == tag->sigil) {
            return kinds[i].take(parser, tag, error);
        }
    }
    g_assert_not_reached();
}

/* A tag that shares its line with something opens the line; a standalone one takes it away. */
static bool place_tag(struct parser *parser, const struct tag *tag, GError **error)
{
    if (!tag->indent) {
        add_text(parser, tag->begin);
        open_line(parser);
    }
    if (!take_tag(parser, tag, error)) {
        return false;
    }
    parser->at = tag->end;
    parser->line_open = !tag->indent;
    for (const char *p = tag->begin; p < tag->end; p++) {
        parser->line += *p == '\n';
    }
    return true;
}

/* Adds the text before the next tag, which opens at `open`, and the tag. The blanks before a
 * standalone tag go with it. */
static bool parse_tag(struct parser *parser, const char *open, GError **error)
{
    const char *blanks = line_begin(parser, open);
    add_text(parser, blanks ? blanks : open);
    struct tag tag = {.begin = open, .end = open};
    bool placed = read_tag(parser, &tag, error) && place_tag(parser, &tag, error);
    g_free(tag.content);
    g_free(tag.indent);
    return placed;
}

static bool parse(struct parser *parser, GError **error)
{
    const char *open;
    while ((open = strstr(parser->at, parser->open)) != NULL) {
        if (!parse_tag(parser, open, error)) {
            return false;
        }
    }
    add_text(parser, parser->at + strlen(parser->at));
    if (parser->stack->len == 0) {
        return true;
    }
    const struct node *section = g_ptr_array_index(parser->stack, parser->stack->len - 1);
    parser->line = section->line;
    return fail(parser, error, "the section \"%s\" is not closed: write {{/%s}}", section->text,
                section->text);
}

struct bl_mustache *bl_mustache_parse(const char *text, GError **error)
{
    g_autoptr(GPtrArray) nodes = g_ptr_array_new_with_free_func(free_node);
    g_autoptr(GPtrArray) stack = g_ptr_array_new();
    struct parser parser = {
        .start = text,
        .at = text,
        .line = 1,
        .open = "{{",
        .close = "}}",
        .stack = stack,
        .root = nodes,
    };
    if (!parse(&parser, error)) {
        return NULL;
    }
    struct bl_mustache *template = g_new0(struct bl_mustache, 1);
    template->nodes = g_steal_pointer(&nodes);
    return template;
}

void bl_mustache_free(struct bl_mustache *template)
{
    if (!template) {
        return;
    }
    g_ptr_array_unref(template->nodes);
    g_free(template);
}
