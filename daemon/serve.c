/*
 * The loop. It sleeps in one poll over the transfers, the database's folder, the clock and the
 * signals; whatever wakes it, it walks one pass and works out how long it may sleep again. With
 * nothing ahead it sleeps without end.
 */
#include "serve.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/signalfd.h>
#include <sys/timerfd.h>
#include <unistd.h>

#include "beadline/log.h"
#include "beadline/pass.h"
#include "notify.h"
#include "service.h"

#define END_MS     8000                /* how long transfers may finish after SIGTERM */
#define FAR_AHEAD  INT64_C(7258118400) /* 2200: armed only to hear of a changed clock */
#define BUSY_FIRST 50                  /* ms between tries while somebody writes */
#define BUSY_LAST  1000

static int64_t boottime(const struct service *service)
{
    struct bl_clock machine = bl_clock_machine();
    (void)service;
    return machine.boottime(machine.context);
}

static void arm(struct service *service)
{
    bool by_time = !service->options->now && !service->ending;
    int64_t at = by_time ? MIN(service->wake, FAR_AHEAD) : FAR_AHEAD;
    const struct itimerspec when = {.it_value.tv_sec = (time_t)MAX(at, 1)};
    timerfd_settime(service->timer, TFD_TIMER_ABSTIME | TFD_TIMER_CANCEL_ON_SET, &when, NULL);
}

static int shorter(int a, int b)
{
    if (a < 0 || b < 0) {
        return MAX(a, b);
    }
    return MIN(a, b);
}

static int timeout_ms(const struct service *service)
{
    int timeout = notify_watchdog_ms();
    if (service->walk && service->busy_ms == 0) {
        return 0;
    }
    timeout = shorter(timeout, bl_pass_hurry_ms(service->pass));
    if (service->busy_ms > 0) {
        timeout = shorter(timeout, service->busy_ms);
    }
    if (service->ending) {
        timeout = shorter(timeout, (int)MAX(service->end_by - boottime(service), 0));
    }
    return timeout;
}

static void read_signals(struct service *service)
{
    struct signalfd_siginfo info;
    while (read(service->signals, &info, sizeof info) == (ssize_t)sizeof info) {
        if (info.ssi_signo == SIGHUP) {
            service->reloading = !service->ending;
        } else if (!service->ending) {
            service->ending = true;
            service->end_by = boottime(service) + END_MS;
            notify_state("STOPPING=1");
        }
        bl_pass_hold(service->pass, true);
    }
}

static void read_timer(struct service *service)
{
    uint64_t times;
    ssize_t got = read(service->timer, &times, sizeof times);
    bool changed = got < 0 && errno == ECANCELED; /* somebody set the clock */
    service->walk = service->walk || got > 0 || changed;
}

static bool wait_for_news(struct service *service, GError **error)
{
    struct pollfd fds[] = {
        {.fd = service->watch.fd, .events = POLLIN},
        {.fd = service->signals, .events = POLLIN},
        {.fd = service->timer, .events = POLLIN},
    };
    arm(service);
    if (!bl_sender_poll(service->sender, fds, G_N_ELEMENTS(fds), timeout_ms(service), error)) {
        return false;
    }
    if (fds[0].revents && watch_read(&service->watch)) {
        service->written = true;
    }
    if (fds[1].revents) {
        read_signals(service);
    }
    if (fds[2].revents) {
        read_timer(service);
    }
    service->walk = service->walk || bl_pass_ripe(service->pass);
    return true;
}

/* Somebody else is writing: no error, only a later try. */
static bool later_if_busy(struct service *service, GError **error)
{
    if (!g_error_matches(*error, BL_ERROR, BL_ERROR_BUSY)) {
        return false;
    }
    g_clear_error(error);
    service->busy_ms = CLAMP(service->busy_ms * 2, BUSY_FIRST, BUSY_LAST);
    return true;
}

/* Was it another writer, or the echo of our own commit? */
static bool hear_writer(struct service *service, GError **error)
{
    bool changed = false;
    if (!bl_pass_changed(service->pass, &changed, error)) {
        return later_if_busy(service, error);
    }
    service->busy_ms = 0;
    service->written = false;
    service->walk = service->walk || changed;
    return true;
}

static void tell_trust(struct service *service)
{
    const char *why = NULL;
    bool trusted = bl_pass_trusted(service->pass, &why);
    if (!trusted && !service->doubted) {
        bl_log(BL_LOG_WARNING, "nothing is sent: %s", why);
    } else if (trusted && service->doubted) {
        bl_log(BL_LOG_NOTICE, "the clock is trusted again");
    }
    service->doubted = !trusted;
}

static bool walk(struct service *service, GError **error)
{
    tell_trust(service);
    if (!bl_pass_run(service->pass, &service->wake, error)) {
        return later_if_busy(service, error);
    }
    service->busy_ms = 0;
    service->walk = service->wake <= service->clock.now(service->clock.context);
    return true;
}

/* Nothing in flight, nothing waiting, nothing more due now. */
static bool idle(const struct service *service)
{
    return !service->walk && !service->written && bl_pass_open(service->pass) == 0;
}

static bool over(struct service *service)
{
    if (service->ending) {
        return bl_pass_open(service->pass) == 0 || boottime(service) >= service->end_by;
    }
    return service->options->until_idle && idle(service);
}

static bool step(struct service *service, GError **error)
{
    if (service->reloading && bl_pass_open(service->pass) == 0) {
        service_reload(service);
    }
    if (service->written && !hear_writer(service, error)) {
        return false;
    }
    if (service->walk && !service->ending && !walk(service, error)) {
        return false;
    }
    if (service->ending && !bl_pass_settle(service->pass, error)) {
        return later_if_busy(service, error);
    }
    return true;
}

/* Not at every turn: a service manager that is slow to listen must not slow the loop down. */
static void feed_watchdog(struct service *service)
{
    int64_t half = notify_watchdog_ms();
    int64_t now = boottime(service);
    if (half > 0 && now - service->fed_at >= half / 2) {
        notify_state("WATCHDOG=1");
        service->fed_at = now;
    }
}

static bool loop(struct service *service, GError **error)
{
    notify_state("READY=1");
    service->walk = true;
    while (step(service, error)) {
        feed_watchdog(service);
        if (over(service)) {
            return true;
        }
        if (!wait_for_news(service, error)) {
            return false;
        }
    }
    return false;
}

/* With --until-idle a doubted clock is a failure: nothing was done, and nobody waits for
 * better. */
static int status_of(const struct service *service)
{
    return service->options->until_idle && service->doubted ? 1 : 0;
}

int serve(const struct serve_options *options)
{
    struct service service = {
        .options = options, .signals = -1, .timer = -1, .watch = {.fd = -1}};
    GError *error = NULL;
    int status = 1;

    if (service_open(&service, &error) && loop(&service, &error)) {
        status = status_of(&service);
    } else if (error) {
        bl_log(BL_LOG_ERROR, "ended: %s", error->message);
        g_error_free(error);
    } else if (service.ending) {
        status = 0; /* told to end before it had begun */
    }
    service_close(&service);
    return status;
}
