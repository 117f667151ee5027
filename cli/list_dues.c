/* beadline list dues: open ones first, by when they begin. */
#include <stdio.h>

#include "beadline/letterbook.h"
#include "dues.h"
#include "list.h"
#include "say.h"

static const char usage[] =
    "list dues [CUSTOMER]\n"
    "What wants doing, between which dates; \"held\" says why no message goes for it. Ended ones\n"
    "stand last, each with its end.";

static bool show_one(struct context *context, const struct bl_due_row *row, struct table *table,
                     GError **error)
{
    if (!context->json) {
        return dues_row(context, row, table, error);
    }
    g_autofree char *object = dues_object(context, row, error);
    if (object) {
        puts(object);
    }
    return object != NULL;
}

static bool show_all(struct context *context, const char *name, GError **error)
{
    int64_t customer = 0;
    if (name && !say_find_customer(context, name, &customer, error)) {
        return false;
    }
    g_autoptr(GArray) rows = bl_due_list(context->store, customer, error);
    BL_AUTO(table) *table = table_new(dues_titles);
    for (guint i = 0; rows && i < rows->len; i++) {
        if (!show_one(context, &g_array_index(rows, struct bl_due_row, i), table, error)) {
            return false;
        }
    }
    if (!rows || context->json) {
        return rows != NULL;
    }
    if (table_empty(table)) {
        puts("Nothing is due.");
    } else {
        table_print(table, 0);
    }
    return true;
}

int list_dues(struct context *context, int argc, char **argv)
{
    GError *error = NULL;
    if (!context_parse(context, NULL, usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 2) {
        return context_misused("name at most one customer", usage);
    }
    if (!context_look(context, &error)) {
        return context_fail(error);
    }
    if (!show_all(context, argc == 2 ? argv[1] : NULL, &error)) {
        bl_store_rollback(context->store);
        return context_fail(error);
    }
    return context_shown(context, &error) ? DONE : context_fail(error);
}
