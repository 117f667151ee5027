/*
 * One option of a file the owner writes, as its table has it: for help texts and for the test
 * of the commented example. Plain data.
 */
#ifndef BEADLINE_OPTION_H
#define BEADLINE_OPTION_H

struct bl_option_help {
    const char *path;    /* "hours.monday", "gateways[].port" */
    const char *type;    /* "text", "whole number", "number", "yes or no", "list", ... */
    const char *range;   /* "1 to 32", or "" */
    const char *initial; /* default as it would be written, "none" when it may be left out and
                          * has no default, or "" when it must be given */
    const char *help;    /* one line */
};

#endif
