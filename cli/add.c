/* beadline add: which kind of thing is new. */
#include <stdio.h>
#include <string.h>

#include "command.h"

static const struct command kinds[] = {
    {"customer", "add customer NAME ...", "a person, how they are reached, what they agreed to",
     command_add_customer},
    {"car", "add car CUSTOMER PLATE ...", "a car and whose it is", command_add_car},
    {"job", "add job CAR [PRODUCT|PACKAGE]...", "finished work, in one breath",
     command_add_job},
    {"mileage", "add mileage CAR DISTANCE", "a reading between jobs", command_add_mileage},
    {"event", "add event CAR HAPPENING ...", "what happened to a car between jobs",
     command_add_event},
    {0},
};

int command_add(struct context *context, int argc, char **argv)
{
    if (argc < 2) {
        return context_misused("say what to add", "add customer|car|job|mileage|event ...");
    }
    if (strcmp(argv[1], "--help") == 0) {
        command_help(kinds);
        return DONE;
    }
    return command_run(kinds, "add ", context, argc - 1, argv + 1);
}
