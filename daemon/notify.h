/*
 * Telling the service manager: one datagram of "NAME=value" lines to the socket named in
 * NOTIFY_SOCKET (the sd_notify protocol). Without that variable nothing is sent.
 */
#ifndef BEADLINE_NOTIFY_H
#define BEADLINE_NOTIFY_H

#include <stdint.h>

/* Sends state, for example "READY=1". A failure is ignored: nobody needs us to be heard. */
void notify_state(const char *state);

/* How often, in ms, the manager wants a sign of life (half of WATCHDOG_USEC, when WATCHDOG_PID
 * is ours or unset); -1 when it does not. */
int notify_watchdog_ms(void);

#endif
