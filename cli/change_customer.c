/* beadline change customer. */
#include <stdio.h>

#include "beadline/lookup.h"
#include "command.h"
#include "person.h"
#include "report.h"
#include "say.h"

static const char usage[] =
    "change customer CUSTOMER [--phone NUMBER] [--tips yes|no --how TEXT] ...\n"
    "Only what is said changes; \"none\" takes something away (--mail none).\n"
    "\n"
    "A consent is never overwritten: each yes and no is kept with when and how it was given, and\n"
    "the newest counts. --service no stops handovers and \"safe to wash\" too. For STOP, use\n"
    "beadline silence: it holds for the address, whoever else has it.\n"
    "\n"
    "  beadline change customer ada --offers yes --how \"by phone\" --words \"yes, please remind me\"";

static bool said_anything(const struct person *person)
{
    return person->name || person->phone || person->mail || person->route || person->language ||
           person->wish || person->note || person_answered(person);
}

/* Who had no address before gets the route of the one he has now. */
static void follow_route(const struct person *person, bool had_none,
                         struct bl_customer_row *row)
{
    if (had_none && !person->route && (row->phone || row->mail)) {
        row->route = row->phone ? BL_SMS : BL_MAIL;
    }
}

static bool write_change(struct context *context, const struct person *person, const char *name,
                         struct bl_customer_row *row, GError **error)
{
    int64_t id = 0;
    if (!say_find_customer(context, name, &id, error) ||
        !bl_customer_get(context->store, id, row, error)) {
        return false;
    }
    bool had_none = !row->phone && !row->mail;
    if (!person_apply(context, person, row, error)) {
        return false;
    }
    follow_route(person, had_none, row);
    return bl_customer_change(context->store, row, error) &&
           person_consent(context, person, id, error);
}

static int change(struct context *context, const struct person *person, const char *name)
{
    struct bl_customer_row row = {0};
    g_autoptr(GPtrArray) remarks = report_remarks();
    GError *error = NULL;
    bool done = person_check(person, &error) && context_write(context, &error);
    if (done && !(write_change(context, person, name, &row, &error) &&
                  person_remarks(context, &row, remarks, &error))) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    if (done) {
        person_print(context, &row, remarks);
    }
    bl_customer_row_clear(&row);
    return done ? DONE : context_fail(error);
}

int command_change_customer(struct context *context, int argc, char **argv)
{
    struct person person = {0};
    const GOptionEntry entries[] = {
        {"name", 0, 0, G_OPTION_ARG_STRING, &person.name, "Another name", "NAME"},
        PERSON_ENTRIES(person),
        {"service", 0, 0, G_OPTION_ARG_STRING, &person.answers[BL_SERVICE],
         "May service messages be sent?", "yes|no"},
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2) {
        status = context_misused("name one customer", usage);
    } else if (!said_anything(&person)) {
        status = context_misused("say what is different now", usage);
    } else {
        status = change(context, &person, argv[1]);
    }
    person_clear(&person);
    return status;
}
