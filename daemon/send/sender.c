/*
 * The sender: takes parcels for any gateway, carries all of them at once over one curl_multi,
 * and hands back one outcome for each.
 */
#include "beadline/text.h"
#include "send_inside.h"

#define FOLDER_ROOM 32 /* files a round: as many outcomes as one commit stores */

struct finished {
    struct bl_outcome outcome;
    struct leftover leftover;
};

struct lane *send_lane(struct bl_sender *sender, guint gateway)
{
    return &g_array_index(sender->lanes, struct lane, gateway);
}

int64_t send_ms(const struct bl_sender *sender)
{
    return sender->clock.boottime(sender->clock.context);
}

static void clear_lane(struct lane *lane)
{
    send_secret_free(lane->secret);
}

static bool add_lane(struct bl_sender *sender, const struct bl_gateway *gateway, GError **error)
{
    struct lane lane = {.gateway = gateway};
    if (!send_check_gateway(gateway, error)) {
        return false;
    }
    if (gateway->secret_file && gateway->kind != BL_GATEWAY_FOLDER) {
        lane.secret = send_secret_read(gateway->secret_file, error);
        if (!lane.secret) {
            return false;
        }
    }
    g_array_append_val(sender->lanes, lane);
    return true;
}

static struct bl_sender *make(void)
{
    struct bl_sender *sender = g_new0(struct bl_sender, 1);
    g_assert(curl_global_init(CURL_GLOBAL_DEFAULT) == CURLE_OK);
    sender->clock = bl_clock_machine();
    sender->multi = curl_multi_init();
    sender->lanes = g_array_new(FALSE, TRUE, sizeof(struct lane));
    g_array_set_clear_func(sender->lanes, (GDestroyNotify)clear_lane);
    g_queue_init(&sender->finished);
    sender->leftovers = g_array_new(FALSE, TRUE, sizeof(struct leftover));
    sender->lines = g_ptr_array_new();
    sender->exchanges = g_ptr_array_new();
    return sender;
}

/* As many HTTP connections are kept as may be in use: otherwise each ends with its request. */
static void keep_connections(struct bl_sender *sender)
{
    long most = 0;
    for (guint i = 0; i < sender->lanes->len; i++) {
        const struct bl_gateway *gateway = send_lane(sender, i)->gateway;
        most += gateway->kind == BL_GATEWAY_HTTP ? gateway->connections : 0;
    }
    curl_multi_setopt(sender->multi, CURLMOPT_MAXCONNECTS, MAX(most, 1L));
    curl_multi_setopt(sender->multi, CURLMOPT_PIPELINING, (long)CURLPIPE_NOTHING);
}

struct bl_sender *bl_sender_new(const GArray *gateways, GError **error)
{
    BL_AUTO(bl_sender) *sender = make();
    for (guint i = 0; i < gateways->len; i++) {
        if (!add_lane(sender, &g_array_index(gateways, struct bl_gateway, i), error)) {
            return NULL;
        }
    }
    keep_connections(sender);
    return g_steal_pointer(&sender);
}

static void finished_free(struct finished *finished)
{
    bl_outcome_clear(&finished->outcome);
    g_free(finished);
}

void bl_sender_free(struct bl_sender *sender)
{
    if (!sender) {
        return;
    }
    send_settle(sender);
    send_smtp_stop(sender);
    send_http_stop(sender);
    g_queue_clear_full(&sender->finished, (GDestroyNotify)finished_free);
    g_array_unref(sender->leftovers);
    g_ptr_array_unref(sender->lines);
    g_ptr_array_unref(sender->exchanges);
    curl_multi_cleanup(sender->multi);
    g_array_unref(sender->lanes);
    g_free(sender);
    curl_global_cleanup();
}

void send_finish(struct bl_sender *sender, struct flight *flight, struct bl_outcome *outcome,
                 struct leftover leftover)
{
    struct finished *finished = g_new0(struct finished, 1);
    finished->outcome = *outcome;
    finished->outcome.id = flight->parcel.id;
    finished->outcome.gateway = flight->gateway;
    finished->leftover = leftover;
    g_queue_push_tail(&sender->finished, finished);
    bl_parcel_clear(&flight->parcel);
}

void send_finish_unstarted(struct bl_sender *sender, struct flight *flight,
                           enum bl_verdict verdict, const char *why)
{
    struct bl_outcome outcome = {
        .verdict = verdict,
        .failure = verdict == BL_REFUSED ? BL_FAILURE_MESSAGE : BL_FAILURE_NETWORK,
        .answer = send_answer(why, strlen(why)),
    };
    send_finish(sender, flight, &outcome, (struct leftover){0});
}

void send_settle(struct bl_sender *sender)
{
    for (guint i = 0; i < sender->leftovers->len; i++) {
        const struct leftover *leftover = &g_array_index(sender->leftovers, struct leftover, i);
        leftover->settle(leftover->thing);
    }
    g_array_set_size(sender->leftovers, 0);
}

static guint room(void *self, guint gateway)
{
    const struct lane *lane = send_lane(self, gateway);
    guint most = lane->gateway->kind == BL_GATEWAY_FOLDER
                     ? FOLDER_ROOM
                     : (guint)CLAMP(lane->gateway->connections, 1, 32);
    return most > lane->flying ? most - lane->flying : 0;
}

static void start(void *self, guint gateway, struct bl_parcel *parcel, int64_t now)
{
    static void (*const starts[])(struct bl_sender *, struct flight *) = {
        [BL_GATEWAY_FOLDER] = send_folder_start,
        [BL_GATEWAY_SMTP] = send_smtp_start,
        [BL_GATEWAY_HTTP] = send_http_start,
    };
    struct bl_sender *sender = self;
    struct lane *lane = send_lane(sender, gateway);
    struct flight flight = {.parcel = *parcel, .gateway = gateway, .now = now};
    g_autoptr(GError) error = NULL;
    *parcel = (struct bl_parcel){0};
    send_settle(sender);
    lane->flying++;
    if (!send_check_parcel(lane->gateway, &flight.parcel, &error)) {
        send_finish_unstarted(sender, &flight, BL_REFUSED, error->message);
        return;
    }
    starts[lane->gateway->kind](sender, &flight);
}

static bool take(void *self, struct bl_outcome *outcome)
{
    struct bl_sender *sender = self;
    struct finished *finished = g_queue_pop_head(&sender->finished);
    if (!finished) {
        return false;
    }
    *outcome = finished->outcome;
    send_lane(sender, outcome->gateway)->flying--;
    if (finished->leftover.settle) {
        g_array_append_val(sender->leftovers, finished->leftover);
    }
    g_free(finished);
    return true;
}

static guint flying(void *self)
{
    struct bl_sender *sender = self;
    guint count = 0;
    for (guint i = 0; i < sender->lanes->len; i++) {
        count += send_lane(sender, i)->flying;
    }
    return count;
}

static const char *secret(void *self, guint gateway)
{
    return send_lane(self, gateway)->secret;
}

struct bl_carrier bl_sender_carrier(struct bl_sender *sender)
{
    return (struct bl_carrier){.room = room,
                               .start = start,
                               .take = take,
                               .flying = flying,
                               .secret = secret,
                               .self = sender};
}
