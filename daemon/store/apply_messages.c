/*
 * The plan goes in, second half: the customer's unsent messages become the plan's.
 *
 * Which row an intent keeps: of the unsent messages of its kind that carry one of its dues, a
 * paused one first (what the owner paused must not slip out on another message), then the one
 * that carries most of them, then the oldest. An intent that takes over a due of a paused
 * message is paused itself.
 */
#include "apply.h"

struct unsent {
    int64_t id, not_after;
    enum bl_kind kind;
    bool paused, kept;
    char *why; /* what to say when it is withdrawn; NULL: no longer due */
};

static void unsent_clear(gpointer data)
{
    g_free(((struct unsent *)data)->why);
}

static const char UNSENT[] =
    "SELECT id, kind, state = 'paused', not_after FROM message"
    " WHERE customer = ?1 AND state IN ('planned', 'paused') ORDER BY id";

static GArray *load(struct bl_applying *applying, GError **error)
{
    GArray *messages = g_array_new(FALSE, TRUE, sizeof(struct unsent));
    g_array_set_clear_func(messages, unsent_clear);
    BL_ROWS rows = bl_rows(applying->store, UNSENT, BL_VALUES(bl_int(applying->customer)));
    while (bl_rows_next(&rows)) {
        struct unsent message = {.id = bl_rows_int(&rows, 0),
                                 .paused = bl_rows_int(&rows, 2) != 0,
                                 .not_after = bl_rows_int(&rows, 3)};
        BL_ROWS_WORD(&rows, 1, bl_kind_of, &message.kind);
        g_array_append_val(messages, message);
    }
    if (!bl_rows_end(&rows, error)) {
        g_clear_pointer(&messages, g_array_unref);
    }
    return messages;
}

static struct unsent *message_of(GArray *messages, int64_t id)
{
    for (guint i = 0; i < messages->len; i++) {
        struct unsent *message = &g_array_index(messages, struct unsent, i);
        if (message->id == id) {
            return message;
        }
    }
    return NULL;
}

/* Rider j of the intent. */
static struct bl_rider *rider_of(struct bl_applying *applying, const struct bl_intent *intent,
                                 guint j)
{
    guint due = g_array_index(intent->dues, guint, j);
    g_assert(due < applying->riders->len);
    return &g_array_index(applying->riders, struct bl_rider, due);
}

/* How many of the intent's dues ride on the message. */
static guint overlap(struct bl_applying *applying, const struct bl_intent *intent,
                     const struct unsent *message)
{
    guint shared = 0;
    for (guint j = 0; j < intent->dues->len; j++) {
        const struct bl_rider *rider = rider_of(applying, intent, j);
        shared += rider->free && rider->message == message->id;
    }
    return shared;
}

static struct unsent *choose(struct bl_applying *applying, const struct bl_intent *intent,
                             GArray *messages)
{
    struct unsent *best = NULL;
    guint best_rank = 0;
    for (guint i = 0; i < messages->len; i++) {
        struct unsent *message = &g_array_index(messages, struct unsent, i);
        guint shared = overlap(applying, intent, message);
        if (message->kept || message->kind != intent->kind || shared == 0) {
            continue;
        }
        guint rank = shared + (message->paused ? intent->dues->len : 0);
        if (rank > best_rank) {
            best = message;
            best_rank = rank;
        }
    }
    return best;
}

static const char CHANGE[] =
    "UPDATE message SET channel = ?2, address = ?3, from_at = ?4, send_at = ?5, not_after = ?6,"
    " reason = CASE state WHEN 'paused' THEN reason END"
    " WHERE id = ?1 AND (channel <> ?2 OR address IS NOT ?3 OR from_at <> ?4 OR send_at <> ?5"
    " OR not_after <> ?6)";
static const char UNLINK[] = "DELETE FROM message_due WHERE due = ?1";
static const char LINK[] = "INSERT INTO message_due (message, due) VALUES (?1, ?2)";

static bool change(struct bl_applying *applying, const struct bl_intent *intent, int64_t id,
                   GError **error)
{
    return bl_sql_run(applying->store, CHANGE,
                      BL_VALUES(bl_int(id), bl_text(bl_channel_name(intent->channel)),
                                bl_text(intent->address), bl_int(intent->from),
                                bl_int(intent->send_at), bl_int(intent->not_after)),
                      error);
}

/* A kept message no longer carries what vanished from the plan. */
static const char SHED[] =
    "DELETE FROM message_due WHERE message = ?1"
    " AND EXISTS (SELECT 1 FROM due d WHERE d.id = due AND d.vanished = 1)";

static bool shed(struct bl_applying *applying, int64_t message, GError **error)
{
    return bl_sql_run(applying->store, SHED, BL_VALUES(bl_int(message)), error);
}

/* Takes the due off its message, which remembers why, should it end up with none. */
static bool leave(struct bl_applying *applying, struct bl_rider *rider, GArray *messages,
                  GError **error)
{
    struct unsent *message = message_of(messages, rider->message);
    if (message && !message->why) {
        message->why = g_strdup(rider->held ? rider->held : "said by another message");
    }
    rider->message = 0;
    return bl_sql_run(applying->store, UNLINK, BL_VALUES(bl_int(rider->id)), error);
}

static bool join(struct bl_applying *applying, const struct bl_intent *intent, int64_t message,
                 GArray *messages, GError **error)
{
    for (guint j = 0; j < intent->dues->len; j++) {
        struct bl_rider *rider = rider_of(applying, intent, j);
        if (!rider->free) {
            continue;
        }
        rider->placed = true;
        if (rider->message == message) {
            continue;
        }
        if (rider->message && !leave(applying, rider, messages, error)) {
            return false;
        }
        rider->message = message;
        if (!bl_sql_run(applying->store, LINK, BL_VALUES(bl_int(message), bl_int(rider->id)),
                        error)) {
            return false;
        }
    }
    return true;
}

/* What the intent's dues are like before anything moves. */
static void survey(struct bl_applying *applying, const struct bl_intent *intent,
                   GArray *messages, bool *any_free, bool *any_paused)
{
    *any_free = *any_paused = false;
    for (guint j = 0; j < intent->dues->len; j++) {
        const struct bl_rider *rider = rider_of(applying, intent, j);
        const struct unsent *message =
            rider->free && rider->message ? message_of(messages, rider->message) : NULL;
        *any_free = *any_free || rider->free;
        *any_paused = *any_paused || (message && message->paused);
    }
}

static bool set_paused(struct bl_applying *applying, int64_t message, GError **error)
{
    struct bl_change paused = {
        .to = BL_PAUSED, .reason = "one of its dues was paused", .now = applying->now};
    return bl_message_set(applying->store, message, &paused, error);
}

/* The intent's dues leave the messages they were on: they will have a new one. */
static bool leave_all(struct bl_applying *applying, const struct bl_intent *intent,
                      GArray *messages, GError **error)
{
    for (guint j = 0; j < intent->dues->len; j++) {
        struct bl_rider *rider = rider_of(applying, intent, j);
        if (!rider->free) {
            continue;
        }
        rider->placed = true;
        if (rider->message && !leave(applying, rider, messages, error)) {
            return false;
        }
    }
    return true;
}

static bool place(struct bl_applying *applying, const struct bl_intent *intent,
                  GArray *messages, GArray *newcomers, GError **error)
{
    bool any_free;
    bool any_paused;
    survey(applying, intent, messages, &any_free, &any_paused);
    if (!any_free) {
        return true;
    }
    struct unsent *kept = choose(applying, intent, messages);
    if (!kept) {
        const struct bl_newcomer newcomer = {.intent = intent, .paused = any_paused};
        g_array_append_val(newcomers, newcomer);
        return leave_all(applying, intent, messages, error);
    }
    kept->kept = true;
    return change(applying, intent, kept->id, error) && shed(applying, kept->id, error) &&
           join(applying, intent, kept->id, messages, error) &&
           (kept->paused || !any_paused || set_paused(applying, kept->id, error));
}

static bool welcome(struct bl_applying *applying, GArray *newcomers, GError **error)
{
    if (!bl_apply_new_messages(applying, newcomers, error)) {
        return false;
    }
    for (guint i = 0; i < newcomers->len; i++) {
        const struct bl_newcomer *newcomer = &g_array_index(newcomers, struct bl_newcomer, i);
        if (newcomer->paused && !set_paused(applying, newcomer->id, error)) {
            return false;
        }
    }
    return true;
}

static bool place_all(struct bl_applying *applying, GArray *messages, GError **error)
{
    const GArray *intents = applying->plan->intents;
    g_autoptr(GArray) newcomers = g_array_new(FALSE, FALSE, sizeof(struct bl_newcomer));
    for (guint i = 0; i < intents->len; i++) {
        const struct bl_intent *intent = &g_array_index(intents, struct bl_intent, i);
        if (!intent->lapse && !place(applying, intent, messages, newcomers, error)) {
            return false;
        }
    }
    return welcome(applying, newcomers, error);
}

/* The window of both has passed: they lapse together, with the message's reason. */
static bool over(const struct bl_applying *applying, guint due, const struct unsent *message)
{
    return message && message->not_after < applying->now &&
           g_array_index(applying->plan->dues, struct bl_due, due).not_after < applying->now;
}

/* Dues that ride on a message and are in no live intent (held, or given up) leave it. */
static bool put_down(struct bl_applying *applying, GArray *messages, GError **error)
{
    for (guint i = 0; i < applying->riders->len; i++) {
        struct bl_rider *rider = &g_array_index(applying->riders, struct bl_rider, i);
        if (over(applying, i, message_of(messages, rider->message))) {
            continue;
        }
        if (rider->message && !rider->placed && !leave(applying, rider, messages, error)) {
            return false;
        }
    }
    return true;
}

/* What the plan no longer had; a message without a due lost it to a car's new owner. */
static const char WHY[] =
    "SELECT CASE WHEN l.due IS NULL THEN 'the car has another owner'"
    " ELSE coalesce(d.reason, 'no longer due') END FROM message m"
    " LEFT JOIN message_due l ON l.message = m.id LEFT JOIN due d ON d.id = l.due"
    " WHERE m.id = ?1 ORDER BY d.vanished DESC, d.id LIMIT 1";

static bool why_withdrawn(struct bl_applying *applying, const struct unsent *message,
                          char **why, GError **error)
{
    *why = g_strdup(message->why);
    if (*why) {
        return true;
    }
    BL_ROWS rows = bl_rows(applying->store, WHY, BL_VALUES(bl_int(message->id)));
    *why = bl_rows_next(&rows) ? bl_rows_dup(&rows, 0) : NULL;
    return bl_rows_end(&rows, error);
}

/* A message whose window has passed is left to lapse with the dues it still carries. */
static bool withdraw(struct bl_applying *applying, GArray *messages, GError **error)
{
    for (guint i = 0; i < messages->len; i++) {
        const struct unsent *message = &g_array_index(messages, struct unsent, i);
        if (message->kept || message->not_after < applying->now) {
            continue;
        }
        g_autofree char *why = NULL;
        if (!why_withdrawn(applying, message, &why, error)) {
            return false;
        }
        struct bl_change withdrawn = {.to = BL_WITHDRAWN, .reason = why, .now = applying->now};
        if (!bl_message_set(applying->store, message->id, &withdrawn, error)) {
            return false;
        }
    }
    return true;
}

bool bl_apply_messages(struct bl_applying *applying, GError **error)
{
    g_autoptr(GArray) messages = load(applying, error);
    if (!messages) {
        return false;
    }
    return place_all(applying, messages, error) && put_down(applying, messages, error) &&
           withdraw(applying, messages, error);
}
