/*
 * The service: everything the loop holds open, from the settings to the watch over the
 * database's folder, how it is opened and closed, and how the settings are changed under way.
 */
#ifndef BEADLINE_SERVICE_H
#define BEADLINE_SERVICE_H

#include "beadline/pass.h"
#include "serve.h"
#include "watch.h"

struct service {
    const struct serve_options *options;
    struct bl_world *world;
    struct bl_store *store;
    struct bl_sender *sender;
    struct bl_carrier carrier;
    struct bl_pass *pass;
    struct bl_clock clock;
    int64_t false_now;
    struct watch watch;
    int signals, timer;
    int64_t wake; /* when the pass wants to run again */
    bool walk;    /* a pass is wanted now */
    bool written; /* somebody may have written */
    int busy_ms;  /* 0, or the wait before the next try */
    bool ending, reloading, doubted;
    int64_t end_by; /* boot time in ms */
    int64_t fed_at; /* when the watchdog was last fed, boot time in ms */
};

/* Opens all of it, takes the lock and recovers what an earlier daemon left; another program
 * that holds the database is waited out. Error stays NULL when the settings are wrong (each
 * fault is logged) and when a signal said stop meanwhile (ending is set). */
bool service_open(struct service *service, GError **error);
void service_close(struct service *service);

/* Reads settings, catalogue and templates again; the old ones go on when the new are wrong.
 * Only with nothing in flight. */
void service_reload(struct service *service);

#endif
