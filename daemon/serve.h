/*
 * Serving: the loop around the pass. One poll waits for everything there is: transfers, other
 * writers, the clock, signals.
 */
#ifndef BEADLINE_SERVE_H
#define BEADLINE_SERVE_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

struct serve_options {
    const char *settings_file;
    bool until_idle; /* do all that is due now, then return */
    const char *now; /* NULL, or the clock stands at this time, as typed in the shop's zone;
                      * only with until_idle and folder gateways */
};

/* Serves until a signal says stop, or until idle. Faults of the settings are printed. The
 * result is the process's exit status: 0 done, 1 something outside failed or a file is wrong.
 */
int serve(const struct serve_options *options);

#endif
