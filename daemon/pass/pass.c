/*
 * The pass itself: one transaction that brings plan, outcomes and claims up to date, then the
 * transfers it has claimed. What could not be stored is tried again; nothing is started that is
 * not committed.
 */
#include "beadline/log.h"
#include "pass_inside.h"

#define PLAN_AT_ONCE 500 /* customers planned in one transaction */
#define UNTRUSTED_S  60  /* how soon to look at an untrusted clock again */

static void ready_clear(gpointer data)
{
    bl_parcel_clear(&((struct ready *)data)->parcel);
}

static GArray *healths_of(const GArray *gateways)
{
    GArray *healths = g_array_new(FALSE, TRUE, sizeof(struct health));
    for (guint i = 0; i < gateways->len; i++) {
        const struct health health = {.well =
                                          !g_array_index(gateways, struct bl_gateway, i).user};
        g_array_append_val(healths, health);
    }
    return healths;
}

struct bl_pass *bl_pass_new(const struct bl_pass_setup *setup)
{
    struct bl_pass *pass = g_new0(struct bl_pass, 1);
    pass->with = *setup;
    pass_book_init(pass);
    pass->healths = healths_of(setup->world->settings->gateways);
    pass->waiting = g_array_new(FALSE, TRUE, sizeof(struct bl_outcome));
    g_array_set_clear_func(pass->waiting, (GDestroyNotify)bl_outcome_clear);
    return pass;
}

void bl_pass_free(struct bl_pass *pass)
{
    if (!pass) {
        return;
    }
    pass_book_clear(pass);
    g_array_free(pass->healths, TRUE);
    g_array_free(pass->waiting, TRUE);
    g_free(pass);
}

bool bl_pass_adopt(struct bl_pass *pass, bool keeper, GError **error)
{
    g_autofree char *digest = NULL;
    g_autofree char *kept = NULL;
    if (!pass_book_adopt(pass, pass_now(pass), &digest, error)) {
        return false;
    }
    if (!keeper) {
        return true;
    }
    if (!bl_store_kept(pass->with.store, "fingerprint", &kept, error)) {
        return false;
    }
    if (g_strcmp0(kept, digest) == 0) {
        return true;
    }
    return bl_store_touch_all(pass->with.store, error) &&
           bl_store_keep(pass->with.store, "fingerprint", digest, error);
}

static bool plan_one(struct bl_pass *pass, int64_t customer, int64_t now, GError **error)
{
    struct bl_facts facts;
    BL_AUTO(bl_plan) *plan = NULL;
    bl_facts_init(&facts);
    bool done = bl_pass_look(pass, customer, now, &facts, &plan, error) &&
                bl_store_apply(pass->with.store, customer, plan, now, pass->with.chance, error);
    bl_facts_clear(&facts);
    return done;
}

bool bl_pass_plan(struct bl_pass *pass, int64_t now, guint limit, bool *more, GError **error)
{
    g_autoptr(GArray) customers = g_array_new(FALSE, FALSE, sizeof(int64_t));
    if (!bl_store_drain(pass->with.store, now, limit, customers, error)) {
        return false;
    }
    for (guint i = 0; i < customers->len; i++) {
        if (!plan_one(pass, g_array_index(customers, int64_t, i), now, error)) {
            return false;
        }
    }
    *more = customers->len >= limit;
    return true;
}

static const struct bl_gateway *gateway_named(const struct bl_pass *pass, const char *name)
{
    const GArray *gateways = pass->with.world->settings->gateways;
    for (guint i = 0; i < gateways->len; i++) {
        const struct bl_gateway *gateway = &g_array_index(gateways, struct bl_gateway, i);
        if (g_strcmp0(gateway->name, name) == 0) {
            return gateway;
        }
    }
    return NULL;
}

/* A message left claimed by a daemon that ended: the gateway's policy says what becomes of it.
 */
static bool recover_one(struct bl_pass *pass, const struct bl_left *left, GError **error)
{
    const struct bl_gateway *gateway = gateway_named(pass, left->gateway);
    bool resend = gateway && gateway->unsure == BL_UNSURE_RESEND;
    pass_log(pass, BL_LOG_WARNING,
             "message %" G_GINT64_FORMAT " was on the wire when the daemon ended: %s",
             left->message,
             resend ? "it goes again under the same key" : "it waits for your word (settle)");
    return !resend || bl_message_change(pass->with.store, left->message, BL_PLANNED,
                                        "sent again under the same key after an unsure outcome",
                                        pass_now(pass), error);
}

static void left_clear(gpointer data)
{
    g_free(((struct bl_left *)data)->gateway);
}

static bool recover_all(struct bl_pass *pass, GError **error)
{
    g_autoptr(GArray) left = g_array_new(FALSE, TRUE, sizeof(struct bl_left));
    g_array_set_clear_func(left, left_clear);
    if (!bl_store_recover(pass->with.store, pass_now(pass), left, error)) {
        return false;
    }
    for (guint i = 0; i < left->len; i++) {
        if (!recover_one(pass, &g_array_index(left, struct bl_left, i), error)) {
            return false;
        }
    }
    return true;
}

/* Ends the transaction one way or the other. */
static bool conclude(struct bl_pass *pass, bool done, GError **error)
{
    if (done && bl_store_commit(pass->with.store, error)) {
        return true;
    }
    bl_store_rollback(pass->with.store);
    return false;
}

bool bl_pass_recover(struct bl_pass *pass, GError **error)
{
    return bl_store_begin(pass->with.store, 5000, error) &&
           conclude(pass, recover_all(pass, error), error);
}

bool bl_pass_settle(struct bl_pass *pass, GError **error)
{
    pass_take(pass);
    if (pass->waiting->len == 0) {
        return true;
    }
    if (!bl_store_begin(pass->with.store, 5000, error) ||
        !conclude(pass, pass_store_waiting(pass, pass_now(pass), error), error)) {
        return false;
    }
    pass_forget_waiting(pass);
    return true;
}

bool bl_pass_changed(struct bl_pass *pass, bool *changed, GError **error)
{
    int64_t version = 0;
    if (!bl_store_begin(pass->with.store, 0, error)) {
        return false;
    }
    bool done = bl_store_version(pass->with.store, &version, error);
    bl_store_rollback(pass->with.store);
    *changed = version != pass->version;
    return done;
}

guint bl_pass_open(const struct bl_pass *pass)
{
    const struct bl_carrier *carrier = pass->with.carrier;
    return (carrier ? carrier->flying(carrier->self) : 0) + pass->waiting->len;
}

void bl_pass_hold(struct bl_pass *pass, bool hold)
{
    pass->holding = hold;
}

/* All that happens inside the one transaction while the clock is trusted. */
static bool bring_up_to_date(struct bl_pass *pass, int64_t now, bool *more, GArray *parcels,
                             GError **error)
{
    guint lapsed = 0;
    if (!pass_store_waiting(pass, now, error) ||
        !bl_pass_plan(pass, now, PLAN_AT_ONCE, more, error) ||
        !bl_store_lapse(pass->with.store, now, &lapsed, error) ||
        !pass_claim(pass, now, more, parcels, error) ||
        !pass_leave_mark(pass, now, parcels->len > 0 || pass->waiting->len > 0, error)) {
        return false;
    }
    if (lapsed > 0) {
        pass_log(pass, BL_LOG_NOTICE, "%u messages or dues passed their window unsent", lapsed);
    }
    return bl_store_version(pass->with.store, &pass->version, error);
}

/* The earliest end of what holds claims back now: the hours that are closed, the rest of a
 * gateway that failed; BL_NEVER when nothing does. */
static int64_t held_until(const struct bl_pass *pass, int64_t now)
{
    const struct bl_shop *shop = &pass->with.world->settings->shop;
    int64_t until = bl_hours_open(shop, now) ? BL_NEVER : bl_hours_next(shop, now);
    for (guint i = 0; i < pass->healths->len; i++) {
        int64_t rested = pass_health(pass, i)->until;
        if (rested > now) {
            until = MIN(until, rested);
        }
    }
    return until;
}

static void claim_clear(gpointer claim)
{
    bl_claim_clear(claim);
}

/* Whether any message could go already at now. */
static bool anything_waits(struct bl_pass *pass, int64_t now, bool *waits, GError **error)
{
    static const enum bl_channel channels[] = {BL_SMS, BL_MAIL};
    g_autoptr(GArray) claims = g_array_new(FALSE, TRUE, sizeof(struct bl_claim));
    g_array_set_clear_func(claims, claim_clear);
    for (gsize i = 0; i < G_N_ELEMENTS(channels); i++) {
        if (!bl_store_candidates(pass->with.store, channels[i], now, 1, claims, error)) {
            return false;
        }
    }
    *waits = claims->len > 0;
    return true;
}

/* When to look again. What may go already and did not waits for the hours to open, for a
 * gateway's rest to end, or for a transfer to end, which wakes the loop by itself. */
static bool next_wake(struct bl_pass *pass, int64_t now, bool more, int64_t *wake,
                      GError **error)
{
    int64_t until = held_until(pass, now);
    bool waits = false;
    if (!bl_store_wake(pass->with.store, now, wake, error)) {
        return false;
    }
    if (more) {
        *wake = now;
    }
    if (until < *wake) {
        if (!anything_waits(pass, now, &waits, error)) {
            return false;
        }
        *wake = waits ? until : *wake;
    }
    return true;
}

static bool run_untrusted(struct bl_pass *pass, int64_t now, int64_t *wake, GError **error)
{
    *wake = now + UNTRUSTED_S;
    return bl_pass_settle(pass, error);
}

bool bl_pass_run(struct bl_pass *pass, int64_t *wake, GError **error)
{
    int64_t now = pass_now(pass);
    bool more = false;
    pass_take(pass);
    if (!bl_pass_trusted(pass, NULL)) {
        return run_untrusted(pass, now, wake, error);
    }
    g_autoptr(GArray) parcels = g_array_new(FALSE, TRUE, sizeof(struct ready));
    if (!bl_store_begin(pass->with.store, 0, error)) {
        return false;
    }
    if (!conclude(pass, bring_up_to_date(pass, now, &more, parcels, error), error)) {
        for (guint i = 0; i < parcels->len; i++) {
            ready_clear(&g_array_index(parcels, struct ready, i));
        }
        return false;
    }
    pass_forget_waiting(pass);
    pass_start(pass, now, parcels);
    return next_wake(pass, now, more, wake, error);
}
