/*
 * The strict check: before a template may send anything, every name it and its partials use is
 * sought in an example of the values it will be given. What the renderer would pass over in
 * silence (a misspelt name, a list shown as if it were text) is a fault of the file here.
 */
#include "mustache_tree.h"

#include <string.h>

#include "beadline/error.h"
#include "beadline/text.h"

#define STEPS_MAX 100000 /* tags looked at, each as often as a partial brings it */

struct checker {
    GHashTable *partials;
    const char *file;
    struct bl_faults *faults;
    GPtrArray *scopes;   /* const struct bl_value, not owned */
    GHashTable *said;    /* char *, owned: faults already reported */
    GHashTable *told;    /* the same of faults inside partials; the caller's */
    const char *partial; /* the partial we are in; NULL in the template itself */
    int line;            /* of the template's tag that brought us here */
    int depth, steps;
};

static void check_nodes(struct checker *checker, const GPtrArray *nodes);

static void say(struct checker *checker, const struct node *node, const char *format, ...)
    G_GNUC_PRINTF(3, 4);

/* Reports once a line; a fault inside a partial at the first line that uses the partial. */
static void say(struct checker *checker, const struct node *node, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *text = g_strdup_vprintf(format, args);
    va_end(args);
    if (!checker->partial) {
        if (g_hash_table_add(checker->said, g_strdup_printf("%d:%s", node->line, text))) {
            bl_faults_add(checker->faults, checker->file, node->line, "%s", text);
        }
        return;
    }
    g_autofree char *inside =
        g_strdup_printf("in partial \"%s\", line %d: %s", checker->partial, node->line, text);
    if (g_hash_table_add(checker->told, g_strdup(inside))) {
        bl_faults_add(checker->faults, checker->file, checker->line, "%s", inside);
    }
}

static void add_names(GPtrArray *names, GHashTable *table)
{
    GHashTableIter iter;
    gpointer name;
    g_hash_table_iter_init(&iter, table);
    while (g_hash_table_iter_next(&iter, &name, NULL)) {
        g_ptr_array_add(names, name);
    }
}

static gint compare_names(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* The nearest of the names, in an order that does not hang on the hash; NULL for none. */
static const char *nearest(GPtrArray *names, const char *word)
{
    g_ptr_array_sort(names, compare_names);
    g_ptr_array_add(names, NULL);
    return bl_text_nearest(word, (const char *const *)names->pdata);
}

static void say_unknown(struct checker *checker, const struct node *node, const char *what,
                        const char *suggestion)
{
    if (suggestion) {
        say(checker, node, "unknown %s \"%s\": did you mean \"%s\"?", what, node->text,
            suggestion);
    } else {
        say(checker, node, "unknown %s \"%s\": remove it or correct it", what, node->text);
    }
}

/* The dotted name with its first wrong part put right, or NULL when nothing is near. */
static char *corrected(const struct checker *checker, const struct node *node)
{
    g_autofree char **head = g_new0(char *, g_strv_length(node->path) + 1);
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    guint wrong = 0;
    const struct bl_value *found = NULL;
    for (head[0] = node->path[0]; (found = bl_value_find(checker->scopes, head)) != NULL;) {
        if (found->kind != VALUE_MAP) {
            return NULL;
        }
        g_ptr_array_set_size(names, 0);
        add_names(names, found->fields);
        wrong++;
        head[wrong] = node->path[wrong];
    }
    for (guint i = 0; wrong == 0 && i < checker->scopes->len; i++) {
        const struct bl_value *scope = g_ptr_array_index(checker->scopes, i);
        if (scope->kind == VALUE_MAP) {
            add_names(names, scope->fields);
        }
    }
    const char *name = nearest(names, node->path[wrong]);
    if (!name) {
        return NULL;
    }
    g_autofree char **whole =
        g_memdup2(node->path, (g_strv_length(node->path) + 1) * sizeof *node->path);
    whole[wrong] = (char *)name;
    return g_strjoinv(".", whole);
}

/* The example of a name, which is said to be unknown when there is none. */
static const struct bl_value *known(struct checker *checker, const struct node *node)
{
    const struct bl_value *value = bl_value_find(checker->scopes, node->path);
    if (!value) {
        g_autofree char *suggestion = node->path[0] ? corrected(checker, node) : NULL;
        say_unknown(checker, node, "name", suggestion);
    }
    return value;
}

static void check_below(struct checker *checker, const struct node *node,
                        const GPtrArray *nodes, const struct bl_value *scope)
{
    if (checker->depth == BL_MUSTACHE_DEPTH) {
        say(checker, node,
            "sections and partials stand more than %d deep in each other: look "
            "for a partial that calls itself",
            BL_MUSTACHE_DEPTH);
        return;
    }
    guint scopes = checker->scopes->len;
    if (scope) {
        g_ptr_array_add(checker->scopes, (gpointer)scope);
    }
    checker->depth++;
    check_nodes(checker, nodes);
    checker->depth--;
    g_ptr_array_set_size(checker->scopes, (gint)scopes);
}

static void check_nothing(struct checker *checker, const struct node *node)
{
    (void)checker, (void)node;
}

static void check_value(struct checker *checker, const struct node *node)
{
    static const char *const kinds[] = {
        [VALUE_BOOL] = "yes or no",
        [VALUE_LIST] = "a list",
        [VALUE_MAP] = "a group of names",
    };
    const struct bl_value *value = known(checker, node);
    if (value && value->kind != VALUE_TEXT) {
        say(checker, node, "\"%s\" is %s, not a text: open it with {{#%s}} ... {{/%s}}",
            node->text, kinds[value->kind], node->text, node->text);
    }
}

/* An unknown section is looked into all the same: its other names may be wrong as well. */
static void check_section(struct checker *checker, const struct node *node)
{
    const struct bl_value *value = known(checker, node);
    if (value && value->kind == VALUE_LIST) {
        value = value->items->len ? g_ptr_array_index(value->items, 0) : NULL;
    }
    check_below(checker, node, node->children, value);
}

static void check_inverted(struct checker *checker, const struct node *node)
{
    known(checker, node);
    check_below(checker, node, node->children, NULL);
}

/* Said at its first use only: a file that is missing is one fault, however many look for it. */
static void say_unknown_partial(struct checker *checker, const struct node *node)
{
    if (!g_hash_table_add(checker->told, g_strconcat(">", node->text, NULL))) {
        return;
    }
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    if (checker->partials) {
        add_names(names, checker->partials);
    }
    say_unknown(checker, node, "partial", nearest(names, node->text));
}

static void check_partial(struct checker *checker, const struct node *node)
{
    const struct bl_mustache *partial =
        checker->partials ? g_hash_table_lookup(checker->partials, node->text) : NULL;
    if (!partial) {
        say_unknown_partial(checker, node);
        return;
    }
    const char *outer = checker->partial;
    if (!outer) {
        checker->line = node->line;
    }
    checker->partial = node->text;
    check_below(checker, node, partial->nodes, NULL);
    checker->partial = outer;
}

static void check_nodes(struct checker *checker, const GPtrArray *nodes)
{
    static void (*const checks[])(struct checker *, const struct node *) = {
        [NODE_TEXT] = check_nothing,      [NODE_LINE] = check_nothing,
        [NODE_VALUE] = check_value,       [NODE_SECTION] = check_section,
        [NODE_INVERTED] = check_inverted, [NODE_PARTIAL] = check_partial,
    };
    for (guint i = 0; i < nodes->len && checker->steps < STEPS_MAX; i++) {
        const struct node *node = g_ptr_array_index(nodes, i);
        checks[node->kind](checker, node);
        if (++checker->steps == STEPS_MAX) {
            say(checker, node,
                "the partials multiply without end: look for one that calls "
                "itself twice");
        }
    }
}

void bl_mustache_check(const struct bl_mustache *template, const struct bl_value *known_values,
                       GHashTable *partials, GHashTable *told, const char *file,
                       struct bl_faults *faults)
{
    g_autoptr(GPtrArray) scopes = g_ptr_array_new();
    g_autoptr(GHashTable) said = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    struct checker checker = {
        .partials = partials,
        .file = file,
        .faults = faults,
        .scopes = scopes,
        .said = said,
        .told = told ? told : said,
    };
    g_ptr_array_add(scopes, (gpointer)known_values);
    check_nodes(&checker, template->nodes);
}

static bool uses(const GPtrArray *nodes, const char *name)
{
    for (guint i = 0; i < nodes->len; i++) {
        const struct node *node = g_ptr_array_index(nodes, i);
        if (node->path && g_strcmp0(node->path[0], name) == 0) {
            return true;
        }
        if (node->children && uses(node->children, name)) {
            return true;
        }
    }
    return false;
}

bool bl_mustache_uses(const struct bl_mustache *template, const char *name)
{
    return uses(template->nodes, name);
}
