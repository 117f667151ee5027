/* beadline change car. */
#include <math.h>
#include <string.h>

#include "beadline/lookup.h"
#include "command.h"
#include "follows.h"
#include "report.h"
#include "say.h"
#include "typed.h"
#include "vehicle.h"

static const char usage[] =
    "change car CAR [--plate PLATE] [--owner CUSTOMER] [--gone sold|scrapped|no]\n"
    "[--offers yes|no] ...\n"
    "Only what is said changes; \"none\" takes something away (--place none).\n"
    "\n"
    "Old plates and owners are kept and still find the car. A new owner starts with no consent:\n"
    "what the last one agreed to is theirs alone. A car that is gone gets no more messages;\n"
    "--gone no brings it back. After a complaint (redo) nothing is offered for a car until\n"
    "--offers yes lifts that; --offers no holds them without one.\n"
    "\n"
    "  beadline change car \"AB12 CDE\" --plate \"DE34 FGH\"\n"
    "  beadline change car \"blue estate\" --gone sold";

struct change {
    struct vehicle vehicle;
    char *owner, *gone, *offers;
    struct follows follows;
};

static bool apply_gone(const struct context *context, const char *typed, struct bl_car_row *row,
                       GError **error)
{
    static const char *const words[] = {"sold", "scrapped", "no", NULL};
    const char *word = typed ? typed_word("way a car goes", typed, words, error) : "";
    if (!word || !*word) {
        return word != NULL;
    }
    bool here = strcmp(word, "no") == 0;
    g_free(row->gone_how);
    row->gone_how = here ? NULL : g_strdup(word);
    row->gone_at = here ? BL_NEVER : context->now;
    return true;
}

static bool apply_offers(const struct context *context, const char *typed,
                         struct bl_car_row *row, GError **error)
{
    bool yes = true;
    if (!typed) {
        return true;
    }
    if (!typed_yes("--offers", typed, &yes, error)) {
        return false;
    }
    row->offers_held_at = yes ? 0 : row->offers_held_at ? row->offers_held_at : context->now;
    return true;
}

/* A place belongs to a customer: it does not go along to another. */
static bool apply_owner(struct context *context, const char *typed, struct bl_car_row *row,
                        GError **error)
{
    int64_t before = row->customer;
    if (!typed) {
        return true;
    }
    if (!say_find_customer(context, typed, &row->customer, error)) {
        return false;
    }
    if (row->customer != before) {
        row->place = 0;
        row->offers_held_at = 0; /* the last one's complaint was his */
    }
    return true;
}

static bool write_change(struct context *context, struct change *change, const char *name,
                         struct bl_car_row *row, GError **error)
{
    int64_t id = 0;
    return say_find_car(context, name, &id, error) &&
           bl_car_get(context->store, id, row, error) &&
           follows_begin(context, id, &change->follows, error) &&
           apply_owner(context, change->owner, row, error) &&
           apply_gone(context, change->gone, row, error) &&
           apply_offers(context, change->offers, row, error) &&
           vehicle_apply(context, &change->vehicle, row, error) &&
           bl_car_change(context->store, row, context->now, error) &&
           follows_end(context, &change->follows, error);
}

static void remark(const struct change *change, const struct bl_car_row *row,
                   const struct bl_customer_row *owner, GPtrArray *remarks)
{
    if (change->owner) {
        report_remark(remarks,
                      "%s hears of this car only by what they agreed to themselves; the last "
                      "owner's unsent messages about it are withdrawn",
                      owner->name);
    }
    if (change->gone && strcmp(change->gone, "no") != 0) {
        report_remark(remarks, "no more messages go about this car");
    }
    if (row->offers_held_at) {
        report_remark(
            remarks,
            "nothing is offered for this car: \"beadline change car #%" G_GINT64_FORMAT
            " --offers yes\" lifts that",
            row->id);
    }
    follows_remark(&change->follows, remarks);
}

static int run(struct context *context, struct change *change, const char *name)
{
    struct bl_car_row row = {0};
    struct bl_customer_row owner = {0};
    g_autoptr(GPtrArray) remarks = report_remarks();
    GError *error = NULL;
    bool done = context_write(context, &error);
    if (done && !(write_change(context, change, name, &row, &error) &&
                  bl_customer_get(context->store, row.customer, &owner, &error))) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    if (done) {
        remark(change, &row, &owner, remarks);
        const struct vehicle_answer answer = {&row, owner.name, (double)NAN, &change->follows,
                                              remarks};
        vehicle_print(context, &answer);
    }
    bl_car_row_clear(&row);
    bl_customer_row_clear(&owner);
    return done ? DONE : context_fail(error);
}

static bool said_anything(const struct change *change)
{
    const struct vehicle *vehicle = &change->vehicle;
    return change->owner || change->gone || change->offers || vehicle->plate || vehicle->name ||
           vehicle->size || vehicle->distance || vehicle->exposed || vehicle->place ||
           vehicle->place_address || vehicle->place_note || vehicle->note;
}

int command_change_car(struct context *context, int argc, char **argv)
{
    struct change change = {0};
    const GOptionEntry entries[] = {
        {"plate", 0, 0, G_OPTION_ARG_STRING, &change.vehicle.plate, "Its new plate", "PLATE"},
        {"owner", 0, 0, G_OPTION_ARG_STRING, &change.owner, "Whose it is now", "CUSTOMER"},
        {"gone", 0, 0, G_OPTION_ARG_STRING, &change.gone, "sold, scrapped, or no", "HOW"},
        {"offers", 0, 0, G_OPTION_ARG_STRING, &change.offers,
         "Whether anything is offered for it; no after a complaint", "yes|no"},
        VEHICLE_ENTRIES(change.vehicle),
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2) {
        status = context_misused("name one car", usage);
    } else if (!said_anything(&change)) {
        status = context_misused("say what is different now", usage);
    } else {
        status = run(context, &change, argv[1]);
    }
    vehicle_clear(&change.vehicle);
    g_free(change.owner);
    g_free(change.gone);
    g_free(change.offers);
    follows_clear(&change.follows);
    return status;
}
