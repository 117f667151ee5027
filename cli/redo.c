/*
 * beadline redo: after a complaint, the work of an earlier job is made good. It is a job like
 * any other with its own dates, but free of charge, nothing is learned from it, and the car is
 * offered nothing until the owner says so.
 */
#include "breath.h"
#include "command.h"
#include "say.h"

static const char usage[] =
    "redo JOB [PRODUCT|PACKAGE]... [--at TIME] [--mileage N] [--temp C] [--dry]\n"
    "Writes down that an earlier job was made good after a complaint, with what went on again;\n"
    "all that the job had put on when nothing is named. It is free of charge, nothing is learned\n"
    "from it, and nothing is offered for the car until you lift that:\n"
    "change car CAR --offers yes. Words are those of add job.\n"
    "\n"
    "  beadline redo 12 --at 11:20 --temp 16\n"
    "  beadline redo 12 wheel-spray --note \"had streaks\"";

int command_redo(struct context *context, int argc, char **argv)
{
    struct breath breath = {0};
    GError *error = NULL;
    const GOptionEntry entries[] = {BREATH_ENTRIES(breath), {0}};
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc < 2) {
        status = context_misused("name the job that is made good", usage);
    } else if (!say_read_id(argv[1], "job", &breath.redo_of, &error)) {
        status = context_fail(error);
    } else {
        status = breath_run(context, &breath, NULL, argv + 2);
    }
    breath_clear(&breath);
    return status;
}
