/*
 * The renderer: a template and one message's values become the text that leaves. It trusts
 * neither: partials may call each other for ever and lists may multiply, so depth, steps and
 * length have a cap, and reaching one is an error instead of a letter.
 */
#include "mustache_tree.h"

#include "beadline/error.h"

#define OUTPUT_MAX ((gsize)1024 * 1024) /* bytes */
#define STEPS_MAX  1000000              /* nodes and rounds of sections */

struct renderer {
    GHashTable *partials;
    enum bl_escape escape;
    GPtrArray *scopes; /* const struct bl_value, not owned */
    GString *out;
    int depth, steps;
    GError **error;
};

static bool render_nodes(struct renderer *renderer, const GPtrArray *nodes, const char *indent);

static bool fail(struct renderer *renderer, const struct node *node, const char *what)
{
    g_set_error(renderer->error, BL_ERROR, BL_ERROR_INPUT, "line %d: %s", node->line, what);
    return false;
}

/* Whether one more step may be taken. */
static bool step(struct renderer *renderer, const struct node *node)
{
    if (++renderer->steps > STEPS_MAX) {
        return fail(renderer, node,
                    "the template repeats without end: look for a partial that "
                    "calls itself");
    }
    if (renderer->out->len > OUTPUT_MAX) {
        return fail(renderer, node,
                    "the result is longer than 1 MiB: look for a partial that "
                    "calls itself");
    }
    return true;
}

/* One level further down, with one more scope (NULL for none). */
static bool render_below(struct renderer *renderer, const struct node *node,
                         const GPtrArray *nodes, const struct bl_value *scope,
                         const char *indent)
{
    if (renderer->depth == BL_MUSTACHE_DEPTH) {
        return fail(renderer, node,
                    "sections and partials stand more than 32 deep in each "
                    "other: look for a partial that calls itself");
    }
    guint scopes = renderer->scopes->len;
    if (scope) {
        g_ptr_array_add(renderer->scopes, (gpointer)scope);
    }
    renderer->depth++;
    bool done = render_nodes(renderer, nodes, indent);
    renderer->depth--;
    g_ptr_array_set_size(renderer->scopes, (gint)scopes);
    return done;
}

static bool render_text(struct renderer *renderer, const struct node *node, const char *indent)
{
    (void)indent;
    g_string_append(renderer->out, node->text);
    return true;
}

static bool render_line(struct renderer *renderer, const struct node *node, const char *indent)
{
    (void)node;
    g_string_append(renderer->out, indent);
    return true;
}

/* A list or a map has no text: nothing is shown, and the strict check has said so at load. */
static const char *shown_text(const struct bl_value *value)
{
    if (!value) {
        return "";
    }
    switch (value->kind) {
    case VALUE_TEXT:
        return value->text;
    case VALUE_BOOL:
        return value->yes ? "true" : "false";
    case VALUE_LIST:
    case VALUE_MAP:
        return "";
    }
    g_assert_not_reached();
}

static bool render_value(struct renderer *renderer, const struct node *node, const char *indent)
{
    (void)indent;
    bool raw = node->raw && (renderer->escape == BL_PLAIN || renderer->escape == BL_HTML);
    const char *text = shown_text(bl_value_find(renderer->scopes, node->path));
    g_autofree char *escaped = bl_escape_text(text, raw ? BL_PLAIN : renderer->escape);
    g_string_append(renderer->out, escaped);
    return true;
}

static bool render_list(struct renderer *renderer, const struct node *node,
                        const struct bl_value *list, const char *indent)
{
    for (guint i = 0; i < list->items->len; i++) {
        const struct bl_value *item = g_ptr_array_index(list->items, i);
        if (!step(renderer, node) ||
            !render_below(renderer, node, node->children, item, indent)) {
            return false;
        }
    }
    return true;
}

static bool render_section(struct renderer *renderer, const struct node *node,
                           const char *indent)
{
    const struct bl_value *value = bl_value_find(renderer->scopes, node->path);
    if (!bl_value_truthy(value)) {
        return true;
    }
    return value->kind == VALUE_LIST
               ? render_list(renderer, node, value, indent)
               : render_below(renderer, node, node->children, value, indent);
}

static bool render_inverted(struct renderer *renderer, const struct node *node,
                            const char *indent)
{
    return bl_value_truthy(bl_value_find(renderer->scopes, node->path)) ||
           render_below(renderer, node, node->children, NULL, indent);
}

/* A standalone partial adds its blanks to each of its lines, within those it stands under; one
 * in the middle of a line has none. */
static bool render_partial(struct renderer *renderer, const struct node *node,
                           const char *indent)
{
    const struct bl_mustache *partial =
        renderer->partials ? g_hash_table_lookup(renderer->partials, node->text) : NULL;
    if (!partial) {
        return true;
    }
    g_autofree char *inner =
        node->indent ? g_strconcat(indent, node->indent, NULL) : g_strdup("");
    return render_below(renderer, node, partial->nodes, NULL, inner);
}

static bool render_nodes(struct renderer *renderer, const GPtrArray *nodes, const char *indent)
{
    static bool (*const renders[])(struct renderer *, const struct node *, const char *) = {
        [NODE_TEXT] = render_text,         [NODE_LINE] = render_line,
        [NODE_VALUE] = render_value,       [NODE_SECTION] = render_section,
        [NODE_INVERTED] = render_inverted, [NODE_PARTIAL] = render_partial,
    };
    for (guint i = 0; i < nodes->len; i++) {
        const struct node *node = g_ptr_array_index(nodes, i);
        if (!renders[node->kind](renderer, node, indent) || !step(renderer, node)) {
            return false;
        }
    }
    return true;
}

char *bl_mustache_render(const struct bl_mustache *template, const struct bl_value *values,
                         GHashTable *partials, enum bl_escape escape, GError **error)
{
    g_autoptr(GPtrArray) scopes = g_ptr_array_new();
    g_autoptr(GString) out = g_string_new(NULL);
    struct renderer renderer = {
        .partials = partials,
        .escape = escape,
        .scopes = scopes,
        .out = out,
        .error = error,
    };
    if (values) {
        g_ptr_array_add(scopes, (gpointer)values);
    }
    if (!render_nodes(&renderer, template->nodes, "")) {
        return NULL;
    }
    return g_string_free(g_steal_pointer(&out), FALSE);
}
