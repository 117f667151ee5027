/*
 * The rehearsal itself. Time stands still while the pass has something to do and jumps to its
 * next wake when it has not, so three years are as many steps as there are instants at which
 * anything happens.
 */
#include "rehearse_play.h"

#include <string.h>

#include "beadline/letterbook.h"

#define AT_ONCE    500    /* parcels taken in one turn */
#define MOST_TURNS 100000 /* at one instant: far more than any shop has customers to plan */

static void message_clear(gpointer data)
{
    struct rehearsed_message *message = data;
    g_free(message->customer);
    g_free(message->cars);
    g_free(message->address);
    g_free(message->line);
    if (message->keys) {
        g_array_unref(message->keys);
    }
}

static void outcome_clear(gpointer data)
{
    bl_outcome_clear(data);
}

static void claim_clear(gpointer data)
{
    bl_claim_clear(data);
}

/* --- a carrier that takes everything --------------------------------------------------------
 */

static guint carrier_room(void *self, guint gateway)
{
    (void)self;
    (void)gateway;
    return AT_ONCE;
}

static void carrier_start(void *self, guint gateway, struct bl_parcel *parcel, int64_t now)
{
    struct rehearsal *rehearsal = self;
    (void)now;
    struct bl_outcome outcome = {.id = parcel->id,
                                 .gateway = gateway,
                                 .verdict = BL_ACCEPTED,
                                 .failure = BL_FAILURE_NONE,
                                 .answer = g_strdup("taken in a rehearsal")};
    g_array_append_val(rehearsal->ids, parcel->id);
    g_array_append_val(rehearsal->taken, outcome);
    bl_parcel_clear(parcel);
}

static bool carrier_take(void *self, struct bl_outcome *outcome)
{
    GArray *taken = ((struct rehearsal *)self)->taken;
    if (taken->len == 0) {
        return false;
    }
    struct bl_outcome *last = &g_array_index(taken, struct bl_outcome, taken->len - 1);
    *outcome = *last;
    *last = (struct bl_outcome){0};
    g_array_set_size(taken, taken->len - 1);
    return true;
}

static guint carrier_flying(void *self)
{
    return ((struct rehearsal *)self)->taken->len;
}

/* Requests are composed as they would be, and a real secret has no business in them. */
static const char *carrier_secret(void *self, guint gateway)
{
    (void)self;
    (void)gateway;
    return "rehearsed";
}

/* --- what goes ------------------------------------------------------------------------------
 */

/* What the customer sees first: a mail's subject, else the first line of the text. */
static char *first_line(const char *subject, const char *text)
{
    const char *shown = subject ? subject : text ? text : "";
    return g_strndup(shown, strcspn(shown, "\n"));
}

static bool note(struct rehearsal *rehearsal, struct bl_message_row *row, const char *line,
                 GError **error)
{
    struct rehearsed_message message = {
        .at = rehearsal->copy.now,
        .kind = row->kind,
        .channel = row->channel,
        .customer = g_steal_pointer(&row->customer_name),
        .cars = g_steal_pointer(&row->cars),
        .address = g_steal_pointer(&row->address),
        .line = g_strdup(line),
        .keys = bl_message_dues(rehearsal->copy.store, row->id, error),
    };
    g_array_append_val(rehearsal->messages, message);
    return message.keys != NULL;
}

static bool note_started(struct rehearsal *rehearsal, GError **error)
{
    for (guint i = 0; i < rehearsal->ids->len; i++) {
        struct bl_message_row row = {0};
        int64_t id = g_array_index(rehearsal->ids, int64_t, i);
        bool done = bl_message_get(rehearsal->copy.store, id, &row, error);
        g_autofree char *line = done ? first_line(row.subject, row.text) : NULL;
        done = done && note(rehearsal, &row, line, error);
        bl_message_row_clear(&row);
        if (!done) {
            return false;
        }
    }
    g_array_set_size(rehearsal->ids, 0);
    return true;
}

/* A sheet begins with the shop's name and a greeting: neither says what it is about. Its first
 * paragraph that ends as a sentence does, on one line. */
static char *first_sentence(const char *sheet)
{
    g_auto(GStrv) paragraphs = g_strsplit(sheet, "\n\n", -1);
    for (guint i = 0; paragraphs[i]; i++) {
        char *paragraph = g_strstrip(g_strdelimit(paragraphs[i], "\n", ' '));
        if (*paragraph && strchr(".:!?", paragraph[strlen(paragraph) - 1])) {
            return g_strdup(paragraph);
        }
    }
    return first_line(NULL, sheet);
}

/* What is to be said by hand, in a line; NULL with no error set when nothing of it can
 * be said any more. */
static char *line_by_hand(struct rehearsal *rehearsal, int64_t id, GError **error)
{
    struct bl_letter letter = {0};
    GError *why = NULL;
    char *line = NULL;
    if (bl_pass_preview(rehearsal->copy.pass, id, rehearsal->copy.now, &letter, NULL, &why)) {
        line = first_sentence(letter.text ? letter.text : "");
        bl_letter_clear(&letter);
    } else if (g_error_matches(why, BL_ERROR, BL_ERROR_REFUSED)) {
        g_error_free(why);
    } else {
        g_propagate_error(error, why);
    }
    return line;
}

static bool tell(struct rehearsal *rehearsal, int64_t id, GError **error)
{
    static const char said[] = "told in a rehearsal";
    static const char unsaid[] = "nothing in it is true any more";
    struct bl_store *store = rehearsal->copy.store;
    struct bl_message_row row = {0};
    int64_t now = rehearsal->copy.now;
    GError *failure = NULL;
    g_autofree char *line = line_by_hand(rehearsal, id, &failure);
    if (failure) {
        g_propagate_error(error, failure);
        return false;
    }
    if (!line) {
        return bl_message_change(store, id, BL_WITHDRAWN, unsaid, now, error);
    }
    bool done = bl_message_get(store, id, &row, error);
    done = done && note(rehearsal, &row, line, error) &&
           bl_message_change(store, id, BL_CLAIMED, said, now, error) &&
           bl_message_change(store, id, BL_SENT, said, now, error);
    bl_message_row_clear(&row);
    return done;
}

static bool tell_all(struct rehearsal *rehearsal, const GArray *claims, GError **error)
{
    for (guint i = 0; i < claims->len; i++) {
        if (!tell(rehearsal, g_array_index(claims, struct bl_claim, i).message, error)) {
            return false;
        }
    }
    return true;
}

/* The owner's part: what has come up by hand is told. */
static bool tell_by_hand(struct rehearsal *rehearsal, bool *any, GError **error)
{
    struct bl_store *store = rehearsal->copy.store;
    g_autoptr(GArray) claims = g_array_new(FALSE, TRUE, sizeof(struct bl_claim));
    g_array_set_clear_func(claims, claim_clear);
    if (!bl_store_candidates(store, BL_BY_HAND, rehearsal->copy.now, AT_ONCE, claims, error)) {
        return false;
    }
    *any = claims->len > 0;
    if (!*any) {
        return true;
    }
    if (!bl_store_begin(store, 0, error)) {
        return false;
    }
    if (tell_all(rehearsal, claims, error)) {
        return bl_store_commit(store, error);
    }
    bl_store_rollback(store);
    return false;
}

/* --- time -----------------------------------------------------------------------------------
 */

/* One turn at this instant; wake receives the next one, which is now while there is more. */
static bool turn(struct rehearsal *rehearsal, int64_t *wake, GError **error)
{
    struct context *copy = &rehearsal->copy;
    int64_t by_hand_at = BL_NEVER;
    bool told = false;
    if (!bl_pass_run(copy->pass, wake, error) || !note_started(rehearsal, error) ||
        !tell_by_hand(rehearsal, &told, error) ||
        !bl_store_wake_by_hand(copy->store, copy->now, &by_hand_at, error)) {
        return false;
    }
    bool more = told || bl_pass_open(copy->pass) > 0;
    *wake = more ? copy->now : MIN(*wake, by_hand_at);
    return true;
}

bool rehearse_play(struct rehearsal *rehearsal, GError **error)
{
    struct context *copy = &rehearsal->copy;
    for (guint turns = 0; turns < MOST_TURNS; turns++) {
        int64_t wake = BL_NEVER;
        if (!turn(rehearsal, &wake, error)) {
            return false;
        }
        if (wake >= rehearsal->until) {
            return true;
        }
        if (wake > copy->now) {
            copy->now = wake;
            turns = 0;
        }
    }
    g_autofree char *at = bl_at_format(copy->world->settings->shop.zone, copy->now);
    g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE,
                "the plan does not come to rest at %s: please report this", at);
    return false;
}

/* --- beginning and end ----------------------------------------------------------------------
 */

static struct bl_pass *make_pass(struct rehearsal *rehearsal)
{
    rehearsal->carrier = (struct bl_carrier){
        .room = carrier_room,
        .start = carrier_start,
        .take = carrier_take,
        .flying = carrier_flying,
        .secret = carrier_secret,
        .self = rehearsal,
    };
    const struct bl_pass_setup setup = {
        .store = rehearsal->copy.store,
        .world = rehearsal->copy.world,
        .clock = bl_clock_false(&rehearsal->copy.now),
        .chance = bl_chance_machine(),
        .carrier = &rehearsal->carrier,
        .rehearsed = true,
        .quiet = true,
    };
    return bl_pass_new(&setup);
}

static bool adopt(struct context *copy, GError **error)
{
    if (!bl_store_begin(copy->store, 0, error)) {
        return false;
    }
    if (bl_pass_adopt(copy->pass, true, error)) {
        return bl_store_commit(copy->store, error);
    }
    bl_store_rollback(copy->store);
    return false;
}

bool rehearse_begin(struct context *context, int64_t until, struct rehearsal *rehearsal,
                    GError **error)
{
    *rehearsal = (struct rehearsal){.from = context->now, .until = until};
    rehearsal->messages = g_array_new(FALSE, TRUE, sizeof(struct rehearsed_message));
    g_array_set_clear_func(rehearsal->messages, message_clear);
    rehearsal->ids = g_array_new(FALSE, FALSE, sizeof(int64_t));
    rehearsal->taken = g_array_new(FALSE, TRUE, sizeof(struct bl_outcome));
    g_array_set_clear_func(rehearsal->taken, outcome_clear);
    struct context *copy = &rehearsal->copy;
    copy->now = context->now;
    copy->world = context->world;
    copy->store = bl_store_copy(context->store, error);
    if (!copy->store) {
        return false;
    }
    copy->pass = make_pass(rehearsal);
    return adopt(copy, error) && bl_pass_recover(copy->pass, error);
}

void rehearse_clear(struct rehearsal *rehearsal)
{
    bl_pass_free(rehearsal->copy.pass);
    bl_store_close(rehearsal->copy.store);
    g_array_unref(rehearsal->messages);
    g_array_unref(rehearsal->ids);
    g_array_unref(rehearsal->taken);
}
