/*
 * One language's folder, loaded: its words, the forms of each kind of message, and the sheet.
 * Inside this room only.
 */
#ifndef BEADLINE_COMPOSE_FOLDER_H
#define BEADLINE_COMPOSE_FOLDER_H

#include <glib.h>

#include "beadline/cleanup.h"
#include "beadline/compose.h"
#include "beadline/mustache.h"
#include "language.h"

#define BL_TEMPLATE_MAX ((gsize)256 * 1024) /* bytes of a file */

enum bl_form { BL_FORM_SMS, BL_FORM_SUBJECT, BL_FORM_TEXT, BL_FORM_HTML, BL_FORMS };

struct bl_folder {
    char *path;
    struct bl_language *language;
    struct bl_mustache *forms[BL_KINDS][BL_FORMS];
    struct bl_mustache *sheet;
    GHashTable *partials; /* name -> struct bl_mustache * */
};

/* Loads the folder at path, strictly; name is the language's. NULL when there was a fault. */
struct bl_folder *bl_folder_load(const char *path, const char *name, struct bl_faults *faults);
void bl_folder_free(struct bl_folder *folder);
BL_DEFINE_AUTO(bl_folder);

/* The folder of the language, else of the shop's. NULL: neither is there (BL_ERROR_MISSING). */
const struct bl_folder *bl_templates_folder(const struct bl_templates *templates,
                                            const char *language, const struct bl_shop *shop,
                                            GError **error);

#endif
