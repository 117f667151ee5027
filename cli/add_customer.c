/* beadline add customer. */
#include <stdio.h>

#include "beadline/lookup.h"
#include "command.h"
#include "person.h"
#include "report.h"
#include "say.h"

static const char usage[] =
    "add customer NAME [--phone NUMBER] [--mail ADDRESS] [--tips yes --offers yes --how TEXT]\n"
    "A number is taken as people write it where you are (07700 900123) and stored in full\n"
    "(+447700900123). Without a number and an address the customer is told by hand: what\n"
    "concerns them stands on your ring list.\n"
    "\n"
    "Service messages (handover, safe to wash) go to every customer. Tips and offers go only to\n"
    "those who said yes; --how keeps the proof (\"asked on the driveway\"), --words what was said.\n"
    "\n"
    "  beadline add customer \"Ada Example\" --phone \"07700 900123\" --tips yes --offers yes \\\n"
    "      --how \"asked on the driveway\"";

static enum bl_channel first_route(const struct bl_customer_row *row)
{
    if (row->phone) {
        return BL_SMS;
    }
    return row->mail ? BL_MAIL : BL_BY_HAND;
}

static void print(const struct context *context, const struct person *person,
                  const struct bl_customer_row *row, const GPtrArray *remarks)
{
    person_print(context, row, remarks);
    if (!context->json && !person_answered(person)) {
        printf(
            "Only service messages will go. When they agree to more: beadline change customer "
            "#%" G_GINT64_FORMAT " --tips yes --offers yes --how TEXT\n",
            row->id);
    }
}

static bool write_customer(struct context *context, const struct person *person,
                           struct bl_customer_row *row, GPtrArray *remarks, GError **error)
{
    row->added_at = context->now;
    if (!person_apply(context, person, row, error)) {
        return false;
    }
    if (!person->route) {
        row->route = first_route(row);
    }
    return bl_customer_add(context->store, row, &row->id, error) &&
           person_consent(context, person, row->id, error) &&
           person_remarks(context, row, remarks, error);
}

static int add(struct context *context, const struct person *person)
{
    struct bl_customer_row row = {0};
    g_autoptr(GPtrArray) remarks = report_remarks();
    GError *error = NULL;
    bool done = person_check(person, &error) && context_write(context, &error);
    if (done && !write_customer(context, person, &row, remarks, &error)) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    if (done) {
        print(context, person, &row, remarks);
    }
    bl_customer_row_clear(&row);
    return done ? DONE : context_fail(error);
}

int command_add_customer(struct context *context, int argc, char **argv)
{
    struct person person = {0};
    const GOptionEntry entries[] = {PERSON_ENTRIES(person), {0}};
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2) {
        status = context_misused("name one customer (in quotes when it has a space)", usage);
    } else {
        person.name = g_strdup(argv[1]);
        status = add(context, &person);
    }
    person_clear(&person);
    return status;
}
