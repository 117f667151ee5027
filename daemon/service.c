/*
 * Opening, closing and reloading what the loop works with.
 */
#include "service.h"

#include <errno.h>
#include <signal.h>
#include <sys/signalfd.h>
#include <sys/timerfd.h>
#include <unistd.h>

#include "beadline/log.h"

static void print_faults(const struct bl_faults *faults, enum bl_log_priority priority)
{
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        bl_log(priority, "%s", bl_faults_line(faults, i));
    }
}

static void drop_pass(struct service *service)
{
    g_clear_pointer(&service->pass, bl_pass_free);
    g_clear_pointer(&service->sender, bl_sender_free);
}

static bool make_pass(struct service *service, struct bl_world *world, GError **error)
{
    struct bl_sender *sender = bl_sender_new(world->settings->gateways, error);
    if (!sender) {
        return false;
    }
    drop_pass(service);
    service->sender = sender;
    service->carrier = bl_sender_carrier(sender);
    const struct bl_pass_setup setup = {
        .store = service->store,
        .world = world,
        .clock = service->clock,
        .chance = bl_chance_machine(),
        .carrier = &service->carrier,
        .rehearsed = service->options->now != NULL,
    };
    service->pass = bl_pass_new(&setup);
    return true;
}

static bool adopt(struct service *service, GError **error)
{
    if (!bl_store_begin(service->store, 5000, error)) {
        return false;
    }
    if (bl_pass_adopt(service->pass, true, error) && bl_store_commit(service->store, error)) {
        return true;
    }
    bl_store_rollback(service->store);
    return false;
}

/* SIGHUP: the new settings when they are right, else the old ones go on. */
void service_reload(struct service *service)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    struct bl_world *world = bl_world_load(service->options->settings_file, faults);
    GError *error = NULL;
    service->reloading = false;
    bl_pass_hold(service->pass, false);
    if (!world) {
        print_faults(faults, BL_LOG_ERROR);
        bl_log(BL_LOG_WARNING, "the settings are wrong: the old ones stay in force");
        return;
    }
    if (g_strcmp0(world->settings->database, service->world->settings->database) != 0) {
        bl_log(BL_LOG_WARNING, "another database is named: that takes a restart");
        bl_world_free(world);
        return;
    }
    if (!make_pass(service, world, &error)) {
        bl_log(BL_LOG_ERROR, "the old settings stay in force: %s", error->message);
        g_error_free(error);
        bl_world_free(world);
        return;
    }
    bl_world_free(service->world);
    service->world = world;
    if (!adopt(service, &error)) {
        bl_log(BL_LOG_ERROR, "the catalogue could not be stored: %s", error->message);
        g_error_free(error);
    }
    service->walk = true;
    bl_log(BL_LOG_NOTICE, "settings, catalogue and templates read again");
}

static bool folders_only(const GArray *gateways)
{
    for (guint i = 0; i < gateways->len; i++) {
        if (g_array_index(gateways, struct bl_gateway, i).kind != BL_GATEWAY_FOLDER) {
            return false;
        }
    }
    return true;
}

static bool set_clock(struct service *service, GError **error)
{
    const struct bl_settings *settings = service->world->settings;
    service->clock = bl_clock_machine();
    if (!service->options->now) {
        return true;
    }
    if (!folders_only(settings->gateways)) {
        g_set_error(
            error, BL_ERROR, BL_ERROR_REFUSED,
            "--now is for folder gateways only: a false time must not reach a customer");
        return false;
    }
    int64_t real_now = service->clock.now(service->clock.context);
    if (!bl_at_parse(settings->shop.zone, service->options->now, real_now, &service->false_now,
                     error)) {
        return false;
    }
    service->clock = bl_clock_false(&service->false_now);
    return true;
}

static bool open_signals(struct service *service, GError **error)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGHUP);
    signal(SIGPIPE, SIG_IGN);
    sigprocmask(SIG_BLOCK, &set, NULL);
    service->signals = signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
    service->timer = timerfd_create(CLOCK_REALTIME, TFD_NONBLOCK | TFD_CLOEXEC);
    if (service->signals < 0 || service->timer < 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "signals or timer: %s",
                    g_strerror(errno));
        return false;
    }
    return true;
}

static bool load_world(struct service *service)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    service->world = bl_world_load(service->options->settings_file, faults);
    print_faults(faults, BL_LOG_ERROR);
    return service->world != NULL;
}

/* A signal to read the settings again means nothing yet: they have just been read. */
static bool told_to_end(struct service *service)
{
    struct signalfd_siginfo info;
    while (read(service->signals, &info, sizeof info) == (ssize_t)sizeof info) {
        service->ending = service->ending || info.ssi_signo != SIGHUP;
    }
    return service->ending;
}

static bool begin(struct service *service, GError **error)
{
    return adopt(service, error) && bl_pass_recover(service->pass, error);
}

/* Another program may hold the database for longer than one wait: that is no reason to end. */
static bool begin_patiently(struct service *service, GError **error)
{
    GError *why = NULL;
    bool said = false;
    while (!begin(service, &why)) {
        if (!g_error_matches(why, BL_ERROR, BL_ERROR_BUSY)) {
            g_propagate_error(error, why);
            return false;
        }
        if (!said) {
            bl_log(BL_LOG_WARNING, "waiting to begin: %s", why->message);
        }
        said = true;
        g_clear_error(&why);
        if (told_to_end(service)) {
            return false;
        }
    }
    return true;
}

bool service_open(struct service *service, GError **error)
{
    if (!open_signals(service, error) || !load_world(service)) {
        return false;
    }
    const char *database = service->world->settings->database;
    service->store = bl_store_open(database, error);
    return service->store && bl_store_lock(service->store, error) &&
           set_clock(service, error) && watch_open(&service->watch, database, error) &&
           make_pass(service, service->world, error) && begin_patiently(service, error);
}

void service_close(struct service *service)
{
    drop_pass(service);
    watch_close(&service->watch);
    if (service->signals >= 0) {
        close(service->signals);
    }
    if (service->timer >= 0) {
        close(service->timer);
    }
    bl_store_close(service->store);
    bl_world_free(service->world);
}
