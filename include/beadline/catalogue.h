/*
 * The catalogue: products with their rules, and packages of treatments, read from the owner's
 * files (libconfig) and, for a version kept by the store, from a text.
 */
#ifndef BEADLINE_CATALOGUE_H
#define BEADLINE_CATALOGUE_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/cleanup.h"
#include "beadline/error.h"
#include "beadline/rule.h"

/* One treatment of a package. A package may have none: a wash without treatments. */
struct bl_package_item {
    char *product;
    enum bl_surface surface; /* the product's own unless the package says otherwise */
    char *part;              /* "" the whole surface */
    int coats;
};

struct bl_package {
    char *key;
    char *title;
    GArray *items; /* struct bl_package_item */
};

struct bl_catalogue;

/* Reads every "*.conf" in directory in the order of names. All faults are collected; NULL when
 * there was one. */
struct bl_catalogue *bl_catalogue_load(const char *directory, struct bl_faults *faults);

/* The same of one file's text at hand. */
struct bl_catalogue *bl_catalogue_parse(const char *text, gsize length, const char *file,
                                        struct bl_faults *faults);
void bl_catalogue_free(struct bl_catalogue *catalogue);
BL_DEFINE_AUTO(bl_catalogue);

/* By key; NULL when there is none. Owned by the catalogue. */
const struct bl_rule *bl_catalogue_rule(const struct bl_catalogue *catalogue,
                                        const char *product);
const struct bl_package *bl_catalogue_package(const struct bl_catalogue *catalogue,
                                              const char *key);

/* Keys in the order of names, NULL-terminated, owned by the catalogue. */
const char *const *bl_catalogue_products(const struct bl_catalogue *catalogue);
const char *const *bl_catalogue_packages(const struct bl_catalogue *catalogue);

/* The rule as the text the store keeps for a version: canonical, so the same rule gives the
 * same text. In a pair of numbers both are finite or neither is written. Caller frees. */
char *bl_rule_write(const struct bl_rule *rule);

/* The rule of such a text. Error: BL_ERROR_DAMAGED. */
struct bl_rule *bl_rule_read(const char *text, GError **error);

/* The package as a text, for the same purpose. Caller frees. */
char *bl_package_write(const struct bl_package *package);

#endif
