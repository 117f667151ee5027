/* The catalogue while it is being read, and the tables it is read by. */
#ifndef BEADLINE_CATALOGUE_DRAFT_H
#define BEADLINE_CATALOGUE_DRAFT_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/catalogue.h"
#include "beadline/conf.h"

/* The fields of a product, below "" a struct bl_rule and below "exposures[]." a struct
 * bl_exposure. Fields with a basis want "basis.NAME" beside them. */
const struct bl_field *product_fields(guint *count);

/* The fields of a package, below "" a struct bl_package and below "items[]." a struct
 * bl_package_item, whose surface is BL_SURFACES when it was not said. */
const struct bl_field *package_fields(guint *count);

/* Types of the catalogue alone; what each fills. */
bl_field_read value_titles;    /* GHashTable * of char * */
bl_field_read value_strippers; /* char **, sorted */

/* Appends a text as a file has it, in quotes. */
void write_quoted(GString *out, const char *text);

/* A rule with nothing said: what has no default is NaN, or infinite, or empty. */
struct bl_rule *product_new(const char *key);

/* How a rule is filled from a product's group; subject stands before its faults. */
struct bl_fill product_fill(struct bl_rule *rule, const char *subject);

/* Reads a product's group into the rule of the fill, and its exposures. */
void product_read(const struct bl_conf *conf, struct config_setting_t *group,
                  const struct bl_fill *fill);

/* Faults of a read product's parts against each other, and a missing basis. */
void product_check(const struct bl_conf *conf, struct config_setting_t *group,
                   const struct bl_fill *fill);

/* Reads a package's group; rules is key -> rule, NULL when not all could be read. */
struct bl_package *package_read(const struct bl_conf *conf, struct config_setting_t *group,
                                GHashTable *rules);
void package_free(struct bl_package *package);

/* Reads a learned life's group and puts it into the product's rule; rules as above. */
struct bl_learned *learned_read(const struct bl_conf *conf, struct config_setting_t *group,
                                GHashTable *rules);
void learned_free(struct bl_learned *learned);

/* The text of a file with these lives (struct bl_learned), in their order. Caller frees. */
char *learned_write(const GList *lives);

/* A fault that there is no such product, with the nearest one; nothing when rules is NULL. */
void product_missing(const struct bl_conf *conf, const struct config_setting_t *place,
                     const char *subject, const char *product, GHashTable *rules);

#endif
