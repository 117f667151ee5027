/*
 * Escaping by place of use: the last step before a value of somebody else's making becomes part
 * of a mail, a request's body, an address or a header.
 */
#include "mustache_tree.h"

#include <string.h>

#include "beadline/text.h"

static char *escape_plain(const char *text)
{
    return g_strdup(text);
}

static const char *html_entity(char c)
{
    static const struct {
        char c;
        const char *entity;
    } entities[] = {
        {'&', "&amp;"}, {'"', "&quot;"}, {'<', "&lt;"}, {'>', "&gt;"}, {'\'', "&#39;"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(entities); i++) {
        if (entities[i].c == c) {
            return entities[i].entity;
        }
    }
    return NULL;
}

static char *escape_html(const char *text)
{
    GString *out = g_string_sized_new(strlen(text) + 16);
    for (; *text; text++) {
        const char *entity = html_entity(*text);
        if (entity) {
            g_string_append(out, entity);
        } else {
            g_string_append_c(out, *text);
        }
    }
    return g_string_free(out, FALSE);
}

static char *escape_form(const char *text)
{
    return g_uri_escape_string(text, NULL, FALSE);
}

/* The line and paragraph separators are no controls, but some readers break lines at them. */
static bool breaks_line(gunichar c)
{
    return g_unichar_iscntrl(c) || c == 0x2028 || c == 0x2029;
}

static char *escape_header(const char *text)
{
    g_autofree char *valid = g_utf8_make_valid(text, -1);
    GString *out = g_string_sized_new(strlen(valid));
    for (const char *p = valid; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        g_string_append_unichar(out, breaks_line(c) ? ' ' : c);
    }
    return g_string_free(out, FALSE);
}

char *bl_escape_text(const char *text, enum bl_escape escape)
{
    static char *(*const escapes[])(const char *) = {
        [BL_PLAIN] = escape_plain, [BL_HTML] = escape_html,     [BL_JSON] = bl_text_json,
        [BL_FORM] = escape_form,   [BL_HEADER] = escape_header,
    };
    return escapes[escape](text);
}
