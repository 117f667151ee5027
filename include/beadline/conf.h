/*
 * Reading the files an owner writes (libconfig syntax): settings and catalogue both stand on
 * this page, and no other room does.
 *
 * A file is text first: UTF-8, at most 1 MiB with all it includes, no NUL; a byte order mark
 * and CRLF line ends are accepted and dropped, since editors leave them behind. `@include
 * "name"` alone on its line takes in another file, relative to the one it stands in. [ ] and (
 * ) are both lists, of any mixture. Then it is parsed, and a table of fields says what may
 * stand in it; one walk reads the values, fills in the defaults and collects every fault as
 * "file:line: text", the included file named.
 */
#ifndef BEADLINE_CONF_H
#define BEADLINE_CONF_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/cleanup.h"
#include "beadline/error.h"
#include "beadline/option.h"

struct config_setting_t; /* of libconfig */

/* A file, read and parsed. */
struct bl_conf;

/* The parsed file, or NULL with at least one fault. faults must outlive what is returned. */
struct bl_conf *bl_conf_read(const char *file, struct bl_faults *faults);

/* The same of a text at hand; file is what its faults name and what @include is relative to.
 * file NULL: a text of no file (a stored rule), which may include nothing. */
struct bl_conf *bl_conf_parse(const char *text, gsize length, const char *file,
                              struct bl_faults *faults);
void bl_conf_free(struct bl_conf *conf);
BL_DEFINE_AUTO(bl_conf);

/* The name it was read by; NULL for a text of no file. */
const char *bl_conf_file(const struct bl_conf *conf);

/* The outermost group. */
struct config_setting_t *bl_conf_root(const struct bl_conf *conf);

/* The setting of that path ("shop.phone"), or NULL. */
struct config_setting_t *bl_conf_at(const struct bl_conf *conf, const char *path);

/* Adds a fault at the setting's place (its file, when setting is NULL). */
void bl_conf_fault(const struct bl_conf *conf, const struct config_setting_t *setting,
                   const char *format, ...) G_GNUC_PRINTF(3, 4);

struct bl_field;

/* How a value of one type is read into its place. Error: BL_ERROR_INPUT, what was expected. */
typedef bool bl_field_read(const struct bl_field *field, const struct config_setting_t *value,
                           void *target, GError **error);

/* A row of a table. Rows are in the order they are explained; "a.b" is b in group a, "a[].b" is
 * b in each group of the list a. A row without a help text is for a name that is understood
 * only to be refused: it is never offered. */
struct bl_field {
    struct bl_option_help help;
    bl_field_read *read;    /* NULL: a list of groups, read by its own code */
    bl_field_read *element; /* of a list whose every faulty element is named: reads one into
                             * two words that own nothing; NULL: the first fault is enough */
    double lo, hi; /* numbers: the range; texts: hi is the most characters, 0 the usual */
    const char *const *(*words)(void); /* of a word: in the order of its enum */
    const char *basis;                 /* catalogue: the value group its basis is named by */
    guint count;                       /* of an array of numbers */
    guint only;                        /* kinds of element it is for, as bits; 0 all */
    gsize offset;                      /* of the target in the struct that is filled */
};

/* One filling of a struct from a group. */
struct bl_fill {
    const struct bl_field *fields;
    guint count;
    const char *subject; /* before each fault: "product \"wax\": ", or "" */
    guint kind;          /* the bit of this element's kind, for fields that have `only`; 0 when
                          * it is not known: none of those is then missed or refused */
    void *base;          /* the struct */
    bool *seen;          /* by field: it stands in the file */
};

/* Fills base from the members of group, whose fields are those of the table below prefix ("",
 * "gateways[]."); unknown names, wrong values and missing needed ones are faults; what is left
 * out gets its default. group may be NULL: all defaults. */
void bl_conf_fill(const struct bl_conf *conf, const struct config_setting_t *group,
                  const char *prefix, const struct bl_fill *fill);

/* The types every table may use, and the target of each. */
bl_field_read bl_field_text;    /* char *: a line of text */
bl_field_read bl_field_note;    /* char *: line feeds allowed */
bl_field_read bl_field_word;    /* enum or int: one of the words */
bl_field_read bl_field_choice;  /* char *: one of the words */
bl_field_read bl_field_flag;    /* bool: one of two words, the second is true */
bl_field_read bl_field_yes;     /* bool */
bl_field_read bl_field_whole;   /* int */
bl_field_read bl_field_number;  /* double */
bl_field_read bl_field_numbers; /* double[count] */
bl_field_read bl_field_span;    /* double[2], the second not below the first */
bl_field_read bl_field_texts;   /* char **: a list of texts */

/* Sets error to "TYPE wanted (RANGE), not KIND"; false. */
bool bl_field_refuse(const struct bl_field *field, const struct config_setting_t *value,
                     GError **error);

/* The text of a value that is one, else NULL. Owned by the file. */
const char *bl_field_string(const struct config_setting_t *value);

/* "; did you mean "NAME"?" for the nearest of the names, or "". Caller frees. */
char *bl_field_nearest(const char *word, const char *const *names);

/* The text cut to what a fault line can carry. Caller frees. */
char *bl_field_shown(const char *text);

#endif
