/*
 * Signals that would end the program wait while there is something that must not be left lying
 * about: a file that is about to lose its name, or to get its own.
 */
#ifndef BEADLINE_SIGNALS_H
#define BEADLINE_SIGNALS_H

#include <signal.h>

/* Holds SIGHUP, SIGINT, SIGQUIT, SIGPIPE and SIGTERM back in this thread; before receives what
 * bl_signals_release brings back. What came meanwhile is delivered then. */
void bl_signals_hold(sigset_t *before);
void bl_signals_release(const sigset_t *before);

#endif
