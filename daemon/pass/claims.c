/*
 * Claims: what may go now is composed, marked claimed, and - only after that is committed -
 * handed to the carrier. Between the commit and the start silence is looked at once more, when
 * somebody has written to the database since.
 */
#include <string.h>

#include "beadline/letterbook.h"
#include "beadline/log.h"
#include "pass_inside.h"

/* The beginning of the civil day of now. */
static int64_t day_begin(const struct bl_shop *shop, int64_t now)
{
    return bl_zone_instant(shop->zone, bl_zone_date(shop->zone, now), 0);
}

static int64_t next_day_open(const struct bl_shop *shop, int64_t now)
{
    int32_t tomorrow = bl_zone_date(shop->zone, now) + 1;
    return bl_hours_next(shop, bl_zone_instant(shop->zone, tomorrow, 0));
}

/* Whether the address has had its messages of today; then the message is moved to the next day.
 */
static bool day_is_full(struct bl_pass *pass, const struct bl_claim *claim, int64_t now,
                        bool *full, GError **error)
{
    const struct bl_shop *shop = &pass->with.world->settings->shop;
    int told = 0;
    if (!bl_store_told_since(pass->with.store, claim->address, day_begin(shop, now), &told,
                             error)) {
        return false;
    }
    *full = told >= shop->restraint.messages_a_day;
    return !*full || bl_store_move(pass->with.store, claim->message, next_day_open(shop, now),
                                   "another message went to this address that day", error);
}

static bool pack_mail(struct bl_pass *pass, const struct bl_claim *claim, const char *to_name,
                      const struct bl_letter *letter, int64_t now, struct bl_parcel *parcel,
                      GError **error)
{
    parcel->body = bl_compose_mail(&pass->with.world->settings->shop, letter, to_name,
                                   claim->address, claim->key, now, error);
    parcel->suffix = g_strdup(".eml");
    return parcel->body != NULL;
}

static bool pack_request(struct bl_pass *pass, const struct ready *ready,
                         const struct bl_gateway *gateway, const struct bl_letter *letter,
                         struct bl_parcel *parcel, GError **error)
{
    struct bl_request request = {0};
    const struct bl_carrier *carrier = pass->with.carrier;
    const char *secret = carrier->secret(carrier->self, ready->gateway);
    if (!bl_compose_request(gateway, parcel->to, letter->text, parcel->key,
                            pass->with.world->settings->shop.name, secret, &request, error)) {
        return false;
    }
    parcel->url = g_steal_pointer(&request.url);
    parcel->headers = g_steal_pointer(&request.headers);
    if (request.body) {
        gsize length = strlen(request.body);
        parcel->body = g_bytes_new_take(g_steal_pointer(&request.body), length);
    }
    bl_request_clear(&request);
    return true;
}

/* A text in a folder is a small file of its own: who it is for, then what it says. */
static void pack_text(const struct bl_letter *letter, struct bl_parcel *parcel)
{
    char *content = g_strdup_printf("To: %s\n\n%s\n", parcel->to, letter->text);
    parcel->body = g_bytes_new_take(content, strlen(content));
    parcel->suffix = g_strdup(".txt");
}

static bool pack(struct bl_pass *pass, const struct bl_claim *claim, const char *to_name,
                 const struct bl_letter *letter, int64_t now, struct ready *ready,
                 GError **error)
{
    struct bl_parcel *parcel = &ready->parcel;
    const struct bl_gateway *gateway = pass_gateway(pass, claim->channel, &ready->gateway);
    parcel->id = claim->message;
    parcel->to = g_strdup(claim->address);
    parcel->key = g_strdup(claim->key);
    if (gateway->kind == BL_GATEWAY_HTTP) {
        return pack_request(pass, ready, gateway, letter, parcel, error);
    }
    if (claim->channel == BL_MAIL) {
        return pack_mail(pass, claim, to_name, letter, now, parcel, error);
    }
    pack_text(letter, parcel);
    return true;
}

/* What may already have left once leaves again as it was; everything else is composed now. */
static bool letter_for(struct bl_pass *pass, const struct bl_claim *claim, int64_t now,
                       struct bl_letter *letter, char **to_name, GError **error)
{
    struct bl_message_row row = {0};
    bool done = false;
    if (claim->attempts > 0) {
        if (!bl_message_get(pass->with.store, claim->message, &row, error)) {
            return false;
        }
        if (row.text) {
            letter->subject = g_steal_pointer(&row.subject);
            letter->text = g_steal_pointer(&row.text);
            letter->html = g_steal_pointer(&row.html);
            *to_name = g_strdup(row.customer_name);
            done = true;
        }
        bl_message_row_clear(&row);
    }
    return done || pass_letter(pass, claim, now, letter, to_name, error);
}

static bool compose_and_pack(struct bl_pass *pass, const struct bl_claim *claim, int64_t now,
                             struct bl_letter *letter, struct ready *ready, GError **error)
{
    g_autofree char *to_name = NULL;
    return letter_for(pass, claim, now, letter, &to_name, error) &&
           pack(pass, claim, to_name, letter, now, ready, error);
}

/* A message that cannot be composed says why and is over; the others go on. */
static bool give_up(struct bl_pass *pass, const struct bl_claim *claim, int64_t now,
                    GError *why, GError **error)
{
    if (!g_error_matches(why, BL_ERROR, BL_ERROR_REFUSED)) {
        g_propagate_error(error, why);
        return false;
    }
    bool done = bl_message_change(pass->with.store, claim->message, BL_WITHDRAWN, why->message,
                                  now, error);
    g_error_free(why);
    return done;
}

static bool claim_one(struct bl_pass *pass, const struct bl_claim *claim, int64_t now,
                      GArray *parcels, GError **error)
{
    bool full = false;
    struct bl_letter letter = {0};
    struct ready ready = {0};
    GError *why = NULL;
    if (!day_is_full(pass, claim, now, &full, error)) {
        return false;
    }
    if (full) {
        return true;
    }
    bool done;
    if (!compose_and_pack(pass, claim, now, &letter, &ready, &why)) {
        bl_parcel_clear(&ready.parcel);
        done = give_up(pass, claim, now, why, error);
    } else {
        const GArray *gateways = pass->with.world->settings->gateways;
        struct bl_leaving leaving = {
            .gateway = g_array_index(gateways, struct bl_gateway, ready.gateway).name,
            .text = letter.text,
            .subject = letter.subject,
            .html = letter.html,
        };
        done = bl_store_claim(pass->with.store, claim->message, &leaving, now, error);
        g_array_append_val(parcels, ready);
    }
    bl_letter_clear(&letter);
    return done;
}

static guint claimed_for(const GArray *parcels, guint gateway)
{
    guint count = 0;
    for (guint i = 0; i < parcels->len; i++) {
        count += g_array_index(parcels, struct ready, i).gateway == gateway;
    }
    return count;
}

/* How many more may start through the gateway, those claimed in this pass counted. */
static guint room_left(const struct bl_pass *pass, guint gateway, const GArray *parcels)
{
    const struct bl_carrier *carrier = pass->with.carrier;
    const struct health *health = pass_health(pass, gateway);
    guint claimed = claimed_for(parcels, gateway);
    if (!health->well) {
        return health->flying + claimed == 0 ? MIN(carrier->room(carrier->self, gateway), 1)
                                             : 0;
    }
    guint room = carrier->room(carrier->self, gateway);
    return room - MIN(room, claimed);
}

/* One round for the channel. `more` is set when the round was full and some of it did not start
 * (moved, withdrawn), so room is left for others that wait behind. */
static bool claim_channel(struct bl_pass *pass, enum bl_channel channel, int64_t now,
                          bool *more, GArray *parcels, GError **error)
{
    guint gateway;
    if (!pass_gateway(pass, channel, &gateway) || pass_health(pass, gateway)->until > now) {
        return true;
    }
    guint room = room_left(pass, gateway, parcels);
    guint before = parcels->len;
    if (room == 0) {
        return true;
    }
    g_autoptr(GArray) claims = g_array_new(FALSE, TRUE, sizeof(struct bl_claim));
    g_array_set_clear_func(claims, (GDestroyNotify)bl_claim_clear);
    if (!bl_store_candidates(pass->with.store, channel, now, room, claims, error)) {
        return false;
    }
    for (guint i = 0; i < claims->len; i++) {
        if (!claim_one(pass, &g_array_index(claims, struct bl_claim, i), now, parcels, error)) {
            return false;
        }
    }
    *more = *more || (claims->len == room && parcels->len - before < room);
    return true;
}

bool pass_claim(struct bl_pass *pass, int64_t now, bool *more, GArray *parcels, GError **error)
{
    if (!pass->with.carrier || pass->holding ||
        !bl_hours_open(&pass->with.world->settings->shop, now)) {
        return true;
    }
    return claim_channel(pass, BL_SMS, now, more, parcels, error) &&
           claim_channel(pass, BL_MAIL, now, more, parcels, error);
}

/* Gives a claimed message back: its address was silenced between the claim and the start. */
static void unclaim(struct bl_pass *pass, int64_t message)
{
    g_autoptr(GError) error = NULL;
    if (bl_store_begin(pass->with.store, 5000, &error) &&
        bl_store_unclaim(pass->with.store, message, "silenced before it started", &error) &&
        bl_store_commit(pass->with.store, &error)) {
        return;
    }
    /* It stays claimed: unsure after the next start, and never sent now. */
    bl_log(BL_LOG_WARNING, "message %" G_GINT64_FORMAT " not given back: %s", message,
           error->message);
    bl_store_rollback(pass->with.store);
}

void pass_start(struct bl_pass *pass, int64_t now, GArray *parcels)
{
    const struct bl_carrier *carrier = pass->with.carrier;
    for (guint i = 0; i < parcels->len; i++) {
        struct ready *ready = &g_array_index(parcels, struct ready, i);
        int64_t version = 0;
        bool seen = bl_store_version(pass->with.store, &version, NULL);
        if ((!seen || version != pass->version) &&
            bl_store_silenced(pass->with.store, ready->parcel.to)) {
            unclaim(pass, ready->parcel.id);
            bl_parcel_clear(&ready->parcel);
            continue;
        }
        pass_health(pass, ready->gateway)->flying++;
        carrier->start(carrier->self, ready->gateway, &ready->parcel, now);
    }
}
