/* beadline change: which kind of thing is different now. */
#include <string.h>

#include "command.h"

static const struct command kinds[] = {
    {"customer", "change customer CUSTOMER ...", "address, consent, wish, name",
     command_change_customer},
    {"car", "change car CAR ...", "plate, owner, name, habits, gone", command_change_car},
    {"job", "change job N ...", "time, mileage, weather, note of a job", command_change_job},
    {"treatment", "change treatment N ...", "product, place, coats of what was put on",
     command_change_treatment},
    {"mileage", "change mileage N [DISTANCE] ...", "a reading", command_change_mileage},
    {"event", "change event N ...", "what happened between jobs", command_change_event},
    {0},
};

int command_change(struct context *context, int argc, char **argv)
{
    if (argc < 2) {
        return context_misused("say what to change",
                               "change customer|car|job|treatment|mileage|event NAME ...");
    }
    if (strcmp(argv[1], "--help") == 0) {
        command_help(kinds);
        return DONE;
    }
    return command_run(kinds, "change ", context, argc - 1, argv + 1);
}
