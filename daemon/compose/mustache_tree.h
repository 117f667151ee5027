/*
 * What a parsed template and a value look like inside: shared by the parser, the renderer and
 * the strict check, and by nobody else.
 */
#ifndef COMPOSE_MUSTACHE_TREE_H
#define COMPOSE_MUSTACHE_TREE_H

#include "beadline/mustache.h"

/* Sections and partials inside each other, counted together. */
#define BL_MUSTACHE_DEPTH 32

enum value_kind { VALUE_TEXT, VALUE_BOOL, VALUE_LIST, VALUE_MAP };

struct bl_value {
    enum value_kind kind;
    bool yes;
    char *text;
    GPtrArray *items;   /* struct bl_value, owned */
    GHashTable *fields; /* char * -> struct bl_value *, both owned */
};

enum node_kind {
    NODE_TEXT,
    NODE_LINE, /* a line of the template begins: the indent of a standalone partial goes here */
    NODE_VALUE,
    NODE_SECTION,
    NODE_INVERTED,
    NODE_PARTIAL,
};

struct node {
    enum node_kind kind;
    int line;
    bool raw;            /* value: {{{x}}} or {{&x}} */
    char *text;          /* the text; the name as written; the partial's name */
    char **path;         /* the dotted name in its parts; empty for "." */
    char *indent;        /* partial: the blanks before a standalone one, else NULL */
    GPtrArray *children; /* sections: struct node, owned */
};

struct bl_mustache {
    GPtrArray *nodes; /* struct node, owned */
};

/* The values in whose light a name is read, outermost first (const struct bl_value *). The
 * first part of a dotted name is sought from the innermost outwards, the others only below what
 * was found. NULL when there is none. */
const struct bl_value *bl_value_find(const GPtrArray *scopes, char *const *path);

/* False: no, an empty text, an empty list. */
bool bl_value_truthy(const struct bl_value *value);

/* The text as `escape` wants it where it will stand. Caller frees. */
char *bl_escape_text(const char *text, enum bl_escape escape);

#endif
