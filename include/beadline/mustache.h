/*
 * Mustache: the open specification's required modules (comments, delimiters, interpolation,
 * inverted, partials, sections), and a strict check that every name is known.
 *
 * Logic-less and without access to anything but the values it is given.
 */
#ifndef BEADLINE_MUSTACHE_H
#define BEADLINE_MUSTACHE_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/cleanup.h"

/* A value: text, yes/no, list or map. An empty text counts as no: {{#note}} leaves out what is
 * not there. */
struct bl_value;

struct bl_value *bl_value_text(const char *text); /* NULL: the empty text */
struct bl_value *bl_value_bool(bool yes);
struct bl_value *bl_value_list(void);
struct bl_value *bl_value_map(void);
void bl_value_free(struct bl_value *value);
BL_DEFINE_AUTO(bl_value);

/* Both take ownership of item. */
void bl_value_append(struct bl_value *list, struct bl_value *item);
void bl_value_set(struct bl_value *map, const char *name, struct bl_value *item);

/* How {{x}} is escaped where the result is used. {{{x}}} and {{&x}} are unescaped only in
 * BL_PLAIN and BL_HTML; everywhere else they are escaped as {{x}}. */
enum bl_escape {
    BL_PLAIN,  /* text: as it is */
    BL_HTML,   /* & " < > ' as the specification's tests want */
    BL_JSON,   /* inside a JSON string */
    BL_FORM,   /* percent-encoded (RFC 3986 unreserved kept) */
    BL_HEADER, /* one line: CR, LF and other controls become a space */
};

struct bl_mustache;

/* Parses. Error: BL_ERROR_INPUT, "line N: ...". Sections stand at most 32 deep in each other.
 */
struct bl_mustache *bl_mustache_parse(const char *text, GError **error);
void bl_mustache_free(struct bl_mustache *template);
BL_DEFINE_AUTO(bl_mustache);

/* Partials by name (char * -> struct bl_mustache *), not owned; may be NULL. As the
 * specification wants, an unknown name or partial leaves nothing: bl_mustache_check is what
 * refuses it. Sections and partials together are capped at 32 deep, the text at 1 MiB
 * (BL_ERROR_INPUT). Caller frees the text. */
char *bl_mustache_render(const struct bl_mustache *template, const struct bl_value *values,
                         GHashTable *partials, enum bl_escape escape, GError **error);

/* Adds each name or partial the template (and its partials) uses that `known` or `partials`
 * does not have, once a line, as a fault of the file at its line, with the nearest known name;
 * and each {{name}} that is a list, a map or yes/no, which has no text to show. known has one
 * example of each map and list; whether it is empty or no does not matter. A fault inside a
 * partial stands at the first line that uses the partial, and names the partial's own; told (a
 * set of owned texts, may be NULL) keeps it from being said again by the next template. */
struct bl_faults;
void bl_mustache_check(const struct bl_mustache *template, const struct bl_value *known,
                       GHashTable *partials, GHashTable *told, const char *file,
                       struct bl_faults *faults);

/* Whether a tag of the template itself (not of its partials) uses the name or a part of it. */
bool bl_mustache_uses(const struct bl_mustache *template, const char *name);

#endif
