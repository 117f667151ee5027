/*
 * Lists: one command, a table of what can be listed, and the two files that list it: list.c the
 * owner's records, list_catalogue.c his products.
 */
#ifndef BEADLINE_CLI_LIST_H
#define BEADLINE_CLI_LIST_H

#include "context.h"

int list_products(struct context *context, int argc, char **argv);
int list_packages(struct context *context, int argc, char **argv);
int list_customers(struct context *context, int argc, char **argv);
int list_cars(struct context *context, int argc, char **argv);
int list_jobs(struct context *context, int argc, char **argv);
int list_dues(struct context *context, int argc, char **argv);

#endif
