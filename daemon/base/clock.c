/*
 * The one place that asks the machine for the time. Everything else is handed a bl_clock, so
 * that a rehearsal or a simulation runs the same code under another clock.
 */
#include "beadline/clock.h"

#include <glib.h>
#include <sys/timex.h>
#include <time.h>

static struct timespec read_clock(clockid_t id)
{
    struct timespec ts = {0};
    int failed = clock_gettime(id, &ts);
    g_assert(!failed);
    return ts;
}

static int64_t machine_now(void *context)
{
    (void)context;
    return read_clock(CLOCK_REALTIME).tv_sec;
}

static int64_t machine_boottime(void *context)
{
    (void)context;
    struct timespec ts = read_clock(CLOCK_BOOTTIME);
    return (int64_t)ts.tv_sec * 1000 + ts.tv_nsec / 1000000;
}

/* A refusal (a sandbox without adjtimex) counts as not synchronised: nothing is sent on a
 * guess.
 */
static bool machine_synchronised(void *context)
{
    (void)context;
    struct timex state = {0};
    int verdict = adjtimex(&state);
    return verdict >= 0 && verdict != TIME_ERROR && !(state.status & STA_UNSYNC);
}

struct bl_clock bl_clock_machine(void)
{
    return (struct bl_clock){machine_now, machine_boottime, machine_synchronised, NULL};
}

static int64_t false_now(void *context)
{
    const int64_t *at = context;
    return *at;
}

static int64_t false_boottime(void *context)
{
    const int64_t *at = context;
    return *at * 1000;
}

static bool false_synchronised(void *context)
{
    (void)context;
    return true;
}

struct bl_clock bl_clock_false(int64_t *at)
{
    return (struct bl_clock){false_now, false_boottime, false_synchronised, at};
}
