/*
 * Renders templates for a script. One command a line, texts in hexadecimal; after "go" the case
 * is rendered, answered in one line ("ok HEX" or "error TEXT") and forgotten:
 *
 *   template HEX             partial NAME-HEX TEXT-HEX          escape
 * plain|html|json|form|header the values, depth first: text HEX, yes, no, list ... end, map
 * (name HEX, value) ... end check                    (answers "faults N" before the result) go
 */
#include <stdio.h>
#include <string.h>

#include "beadline/error.h"
#include "beadline/mustache.h"

struct state {
    struct bl_mustache *template;
    struct bl_value *root;
    GPtrArray *open;  /* struct bl_value, not owned: lists and maps being filled */
    GPtrArray *names; /* char *, owned: the pending name of each open map */
    GHashTable *partials;
    enum bl_escape escape;
    bool check;
    GError *error;
};

static char *unhex(const char *hex)
{
    GString *out = g_string_new(NULL);
    for (; g_ascii_isxdigit(hex[0]) && g_ascii_isxdigit(hex[1]); hex += 2) {
        g_string_append_c(
            out, (char)(g_ascii_xdigit_value(hex[0]) * 16 + g_ascii_xdigit_value(hex[1])));
    }
    return g_string_free(out, FALSE);
}

static void free_template(gpointer template)
{
    bl_mustache_free(template);
}

static void start(struct state *state)
{
    *state = (struct state){
        .open = g_ptr_array_new(),
        .names = g_ptr_array_new_with_free_func(g_free),
        .partials = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, free_template),
        .escape = BL_HTML,
    };
}

static void finish(struct state *state)
{
    bl_mustache_free(state->template);
    bl_value_free(state->root);
    g_ptr_array_unref(state->open);
    g_ptr_array_unref(state->names);
    g_hash_table_unref(state->partials);
    g_clear_error(&state->error);
}

static struct bl_mustache *parse(struct state *state, const char *hex)
{
    g_autofree char *text = unhex(hex);
    return bl_mustache_parse(text, state->error ? NULL : &state->error);
}

/* The open map's name for the value that comes; NULL in a list. */
static char **pending(struct state *state)
{
    return (char **)&g_ptr_array_index(state->names, state->names->len - 1);
}

static void place(struct state *state, struct bl_value *value, bool fill)
{
    if (state->open->len == 0) {
        state->root = value;
    } else {
        struct bl_value *parent = g_ptr_array_index(state->open, state->open->len - 1);
        char **name = pending(state);
        if (*name) {
            bl_value_set(parent, *name, value);
            g_clear_pointer(name, g_free);
        } else {
            bl_value_append(parent, value);
        }
    }
    if (fill) {
        g_ptr_array_add(state->open, value);
        g_ptr_array_add(state->names, NULL);
    }
}

static void read_value(struct state *state, char **words)
{
    if (strcmp(words[0], "text") == 0) {
        g_autofree char *text = unhex(words[1]);
        place(state, bl_value_text(text), false);
    } else if (strcmp(words[0], "yes") == 0 || strcmp(words[0], "no") == 0) {
        place(state, bl_value_bool(words[0][0] == 'y'), false);
    } else if (strcmp(words[0], "list") == 0) {
        place(state, bl_value_list(), true);
    } else if (strcmp(words[0], "map") == 0) {
        place(state, bl_value_map(), true);
    } else if (strcmp(words[0], "name") == 0) {
        *pending(state) = unhex(words[1]);
    } else if (strcmp(words[0], "end") == 0) {
        g_ptr_array_set_size(state->open, (gint)state->open->len - 1);
        g_ptr_array_set_size(state->names, (gint)state->names->len - 1);
    } else {
        g_error("unknown command \"%s\"", words[0]);
    }
}

static enum bl_escape escape_named(const char *name)
{
    static const char *const names[] = {
        [BL_PLAIN] = "plain", [BL_HTML] = "html",     [BL_JSON] = "json",
        [BL_FORM] = "form",   [BL_HEADER] = "header",
    };
    for (guint i = 0; i < G_N_ELEMENTS(names); i++) {
        if (strcmp(names[i], name) == 0) {
            return (enum bl_escape)i;
        }
    }
    g_error("unknown escape \"%s\"", name);
}

static void answer(struct state *state)
{
    if (state->check && state->template) {
        BL_AUTO(bl_faults) *faults = bl_faults_new();
        bl_mustache_check(state->template, state->root, state->partials, NULL, "case", faults);
        printf("faults %u\n", bl_faults_count(faults));
    }
    g_autofree char *text = NULL;
    if (!state->error) {
        text = bl_mustache_render(state->template, state->root, state->partials, state->escape,
                                  &state->error);
    }
    if (text) {
        printf("ok ");
        for (const char *p = text; *p; p++) {
            printf("%02x", (unsigned char)*p);
        }
        printf("\n");
    } else {
        printf("error %s\n", state->error->message);
    }
}

/* False after "go". */
static bool command(struct state *state, char *line)
{
    line[strcspn(line, "\n")] = '\0';
    g_auto(GStrv) words = g_strsplit(line, " ", 3);
    if (strcmp(words[0], "go") == 0) {
        answer(state);
        return false;
    }
    if (strcmp(words[0], "template") == 0) {
        state->template = parse(state, words[1]);
    } else if (strcmp(words[0], "partial") == 0) {
        struct bl_mustache *partial = parse(state, words[2]);
        if (partial) {
            g_hash_table_insert(state->partials, unhex(words[1]), partial);
        }
    } else if (strcmp(words[0], "escape") == 0) {
        state->escape = escape_named(words[1]);
    } else if (strcmp(words[0], "check") == 0) {
        state->check = true;
    } else {
        read_value(state, words);
    }
    return true;
}

int main(void)
{
    char *line = NULL;
    size_t size = 0;
    struct state state;
    start(&state);
    while (getline(&line, &size, stdin) > 0) {
        if (!command(&state, line)) {
            finish(&state);
            start(&state);
        }
    }
    finish(&state);
    free(line);
    return 0;
}
