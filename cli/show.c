/* beadline show: what is meant, and by which file it is shown. */
#include "show.h"

#include <stdio.h>
#include <string.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "command.h"
#include "say.h"

static const char usage[] =
    "show [customer|car|job|message] NAME\n"
    "All about one of them. A number alone (12, #12) is a message, or the car that bears it as\n"
    "its plate; a word alone is the customer of that name, else the car. The kind in front says\n"
    "which is meant.\n"
    "\n"
    "  beadline show ada\n"
    "  beadline show car \"AB12 CDE\"     beadline show job 7     beadline show customer '#3'";

static bool find_job(struct context *context, const char *name, int64_t *id, GError **error)
{
    (void)context;
    return say_read_id(name, "job", id, error);
}

static bool find_message(struct context *context, const char *name, int64_t *id, GError **error)
{
    (void)context;
    return say_read_id(name, "message", id, error);
}

static const struct kind {
    const char *name;
    bool (*find)(struct context *context, const char *name, int64_t *id, GError **error);
    bool (*show)(struct context *context, int64_t id, GError **error);
} kinds[] = {
    {"customer", say_find_customer, show_customer},
    {"car", say_find_car, show_car},
    {"job", find_job, show_job},
    {"message", find_message, show_message},
};

enum { CUSTOMER, CAR, JOB, MESSAGE };

static const struct kind *kind_named(const char *name)
{
    for (gsize i = 0; i < G_N_ELEMENTS(kinds); i++) {
        if (strcmp(kinds[i].name, name) == 0) {
            return &kinds[i];
        }
    }
    return NULL;
}

/* Whether a customer is found by it, one or several. */
static bool is_person(struct context *context, const char *name)
{
    int64_t id = 0;
    g_autoptr(GError) error = NULL;
    return say_find_customer(context, name, &id, &error) ||
           !g_error_matches(error, BL_ERROR, BL_ERROR_MISSING);
}

static const struct kind *kind_meant(struct context *context, const char *name)
{
    int64_t id = 0;
    if (say_read_id(name, "message", &id, NULL)) {
        return say_is_plate(context, name) ? &kinds[CAR] : &kinds[MESSAGE];
    }
    return is_person(context, name) ? &kinds[CUSTOMER] : &kinds[CAR];
}

static bool refuse_nothing(const char *name, GError **error)
{
    g_autofree char *shown = bl_text_shown(name);
    g_set_error(
        error, BL_ERROR, BL_ERROR_MISSING,
        "no customer and no car \"%s\": \"beadline list customers\" and \"list cars\" show "
        "them",
        shown);
    return false;
}

static bool show(struct context *context, const struct kind *kind, const char *name,
                 GError **error)
{
    int64_t id = 0;
    if (!context_look(context, error)) {
        return false;
    }
    const struct kind *meant = kind ? kind : kind_meant(context, name);
    bool done = meant->find(context, name, &id, error) && meant->show(context, id, error);
    if (!done && !kind && id == 0 && g_error_matches(*error, BL_ERROR, BL_ERROR_MISSING)) {
        g_clear_error(error);
        refuse_nothing(name, error);
    }
    if (!done) {
        bl_store_rollback(context->store);
        return false;
    }
    return context_shown(context, error);
}

int command_show(struct context *context, int argc, char **argv)
{
    GError *error = NULL;
    if (!context_parse(context, NULL, usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    const struct kind *kind = argc == 3 ? kind_named(argv[1]) : NULL;
    if (argc == 3 && !kind) {
        return context_misused("the kind is customer, car, job or message (a name with a space "
                               "stands in quotes)",
                               usage);
    }
    if (argc < 2 || argc > 3) {
        return context_misused("name one customer, car, job or message", usage);
    }
    return show(context, kind, argv[argc - 1], &error) ? DONE : context_fail(error);
}
