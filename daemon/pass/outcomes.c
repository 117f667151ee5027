/*
 * Outcomes: what the carrier reports is gathered for a moment and stored together, because a
 * commit costs more than a message. The group never waits long, and the connection is not
 * touched before its outcome is stored.
 */
#include "beadline/letterbook.h"
#include "beadline/log.h"
#include "pass_inside.h"

#define GROUP_MS   100
#define GROUP_SIZE 32

static int64_t retry_date(struct bl_pass *pass, int attempt, int64_t retry_after, int64_t now)
{
    const struct bl_settings *settings = pass->with.world->settings;
    const struct bl_chance chance = pass->with.chance;
    return bl_retry_at(now, attempt, settings->retry_first_s, settings->retry_longest_s,
                       retry_after, chance.next(chance.context));
}

/* A gateway that fails is rested, longer each round; a good answer ends the rest. Transfers
 * that were in flight together are one round. */
static void note_health(struct bl_pass *pass, const struct bl_outcome *outcome, int64_t now)
{
    struct health *health = pass_health(pass, outcome->gateway);
    health->well =
        outcome->failure == BL_FAILURE_NONE || outcome->failure == BL_FAILURE_MESSAGE;
    if (health->well) {
        health->failures = 0;
        health->until = 0;
    } else if (now >= health->until) {
        health->failures++;
        health->until = retry_date(pass, health->failures, outcome->retry_after, now);
    }
}

static void log_outcome(const struct bl_pass *pass, const struct bl_outcome *outcome)
{
    static const char *const words[] = {
        [BL_ACCEPTED] = "sent",
        [BL_LATER] = "not taken, tried again later",
        [BL_REFUSED] = "refused",
        [BL_UNKNOWN] = "unsure whether it was taken",
    };
    const GArray *gateways = pass->with.world->settings->gateways;
    pass_log(pass, outcome->verdict == BL_ACCEPTED ? BL_LOG_INFO : BL_LOG_WARNING,
             "message %" G_GINT64_FORMAT " through %s: %s", outcome->id,
             g_array_index(gateways, struct bl_gateway, outcome->gateway).name,
             words[outcome->verdict]);
}

static bool store_one(struct bl_pass *pass, const struct bl_outcome *outcome, int64_t now,
                      GError **error)
{
    struct bl_message_row row = {0};
    const GArray *gateways = pass->with.world->settings->gateways;
    const struct bl_gateway *gateway =
        &g_array_index(gateways, struct bl_gateway, outcome->gateway);
    int attempt = 1;
    if (outcome->verdict == BL_LATER) {
        if (!bl_message_get(pass->with.store, outcome->id, &row, error)) {
            return false;
        }
        attempt = MAX(row.attempts, 1);
        bl_message_row_clear(&row);
    }
    int64_t retry_at = retry_date(pass, attempt, outcome->retry_after, now);
    int64_t open_at = bl_hours_next(&pass->with.world->settings->shop, retry_at);
    bool resend = gateway->unsure == BL_UNSURE_RESEND;
    if (!bl_store_outcome(pass->with.store, outcome, now, open_at, resend, error)) {
        return false;
    }
    if (resend && outcome->verdict == BL_UNKNOWN) {
        pass_log(pass, BL_LOG_NOTICE,
                 "message %" G_GINT64_FORMAT " goes again under the same key", outcome->id);
    }
    note_health(pass, outcome, now);
    return true;
}

void pass_take(struct bl_pass *pass)
{
    const struct bl_carrier *carrier = pass->with.carrier;
    struct bl_outcome outcome = {0};
    while (carrier && carrier->take(carrier->self, &outcome)) {
        if (pass->waiting->len == 0) {
            pass->waiting_since = pass->with.clock.boottime(pass->with.clock.context);
        }
        pass_health(pass, outcome.gateway)->flying--;
        g_array_append_val(pass->waiting, outcome);
        outcome = (struct bl_outcome){0};
    }
}

bool pass_store_waiting(struct bl_pass *pass, int64_t now, GError **error)
{
    for (guint i = 0; i < pass->waiting->len; i++) {
        if (!store_one(pass, &g_array_index(pass->waiting, struct bl_outcome, i), now, error)) {
            return false;
        }
    }
    return true;
}

/* After the commit: the group is history. */
void pass_forget_waiting(struct bl_pass *pass)
{
    for (guint i = 0; i < pass->waiting->len; i++) {
        log_outcome(pass, &g_array_index(pass->waiting, struct bl_outcome, i));
    }
    g_array_set_size(pass->waiting, 0);
}

int bl_pass_hurry_ms(const struct bl_pass *pass)
{
    if (pass->waiting->len == 0) {
        return -1;
    }
    int64_t waited = pass->with.clock.boottime(pass->with.clock.context) - pass->waiting_since;
    return (int)CLAMP(GROUP_MS - waited, 0, GROUP_MS);
}

bool bl_pass_ripe(struct bl_pass *pass)
{
    pass_take(pass);
    guint waiting = pass->waiting->len;
    guint half = MAX(1, bl_pass_open(pass) / 2);
    return waiting > 0 && (waiting >= MIN(GROUP_SIZE, half) || bl_pass_hurry_ms(pass) == 0);
}
