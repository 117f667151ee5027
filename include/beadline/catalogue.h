/*
 * The catalogue: products with their rules, packages of treatments, and the lives learned of
 * products, read from the owner's files (libconfig) and, for a version kept by the store, from
 * a text.
 */
#ifndef BEADLINE_CATALOGUE_H
#define BEADLINE_CATALOGUE_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

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

/* A life learned from what was seen, adopted by the owner: it stands in place of the one the
 * product's own group says. Adopted ones are kept in a file of their own, BL_LEARNED_FILE in
 * the catalogue's folder; that file has nothing else in it, for it is written anew with each.
 */
struct bl_learned {
    char *product;
    double life_days[2];
    double label_days[2]; /* what the product's group says; NaN in one not yet adopted */
    int32_t date;         /* the day it was adopted */
    char *basis;          /* what it was learned from, in words */
    char *file;           /* where it stands, without its folder */
};

#define BL_LEARNED_FILE "learned.conf"

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

/* The life learned of the product, or NULL: its rule has the label's. Owned by the catalogue.
 */
const struct bl_learned *bl_catalogue_learned(const struct bl_catalogue *catalogue,
                                              const char *product);

/* The whole text of BL_LEARNED_FILE with one more life in it, or another one. Caller frees. */
char *bl_catalogue_learn(const struct bl_catalogue *catalogue, const struct bl_learned *life);

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
