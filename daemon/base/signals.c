/* Signals held back for a short while; the thread's mask says which. */
#include "beadline/signals.h"

#include <glib.h>

void bl_signals_hold(sigset_t *before)
{
    static const int ending[] = {SIGHUP, SIGINT, SIGQUIT, SIGPIPE, SIGTERM};
    sigset_t set;
    sigemptyset(&set);
    for (gsize i = 0; i < G_N_ELEMENTS(ending); i++) {
        sigaddset(&set, ending[i]);
    }
    pthread_sigmask(SIG_BLOCK, &set, before);
}

void bl_signals_release(const sigset_t *before)
{
    pthread_sigmask(SIG_SETMASK, before, NULL);
}
