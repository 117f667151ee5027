/*
 * A message explained. One that waits is explained by the plan as it is; one that has begun, or
 * ended, by what was kept of its dues then, and by reckoning them again: with the rule version
 * kept with the due and the facts of that day.
 */
#include <stdio.h>

#include "beadline/text.h"
#include "explain.h"
#include "explain_kept.h"
#include "say.h"
#include "table.h"

static bool is_waiting(const struct bl_message_row *row)
{
    return row->state == BL_PLANNED || row->state == BL_PAUSED;
}

/* When it went; of one that never did, when it ended. */
static int64_t went_at(const struct bl_message_row *row)
{
    return row->claimed_at ? row->claimed_at : row->ended_at;
}

/* Whether the due is one of the message's. */
static bool is_of(const GArray *keys, enum bl_kind kind, int64_t subject, int ordinal)
{
    for (guint i = 0; i < keys->len; i++) {
        const struct bl_ended *key = &g_array_index(keys, struct bl_ended, i);
        if (key->kind == kind && key->subject == subject && key->ordinal == ordinal) {
            return true;
        }
    }
    return false;
}

/* Indexes (guint) into the plan's dues. */
static GArray *dues_of(const struct explained *explained, const GArray *keys)
{
    GArray *dues = g_array_new(FALSE, FALSE, sizeof(guint));
    for (guint i = 0; i < explained->look.plan->dues->len; i++) {
        const struct bl_due *due = &g_array_index(explained->look.plan->dues, struct bl_due, i);
        if (is_of(keys, due->kind, due->subject, due->ordinal)) {
            g_array_append_val(dues, i);
        }
    }
    return dues;
}

static const struct bl_due *due_at(const struct explained *explained, const GArray *dues,
                                   guint i)
{
    return &g_array_index(explained->look.plan->dues, struct bl_due,
                          g_array_index(dues, guint, i));
}

/* What the due stands on: its treatment, or the one whose top-up it asks for; NULL none. */
static const struct bl_treatment *stands_on(const struct explained *explained,
                                            const struct bl_due *due, const struct bl_car **car)
{
    *car = look_car(&explained->look, due->car);
    return *car ? explained_treatment(*car, due->treatment ? due->treatment : due->asks_for)
                : NULL;
}

/* The plain line of what the message is about first. Caller frees. */
static char *plain_about(const struct explained *explained, const struct bl_due *due)
{
    const struct bl_car *car;
    const struct bl_treatment *treatment = stands_on(explained, due, &car);
    if (treatment) {
        g_autofree char *plain = explain_plain(explained, car, treatment);
        return g_strdup_printf("%s, for the %s", plain,
                               look_title(explained->context, treatment));
    }
    char *cure = car ? explain_cure_plain(explained, car) : NULL;
    return cure ? cure : g_strdup("nothing on it has to cure");
}

/* Each car's cure and distance once, then each due with the sum it stands on. */
static void print_sums(const struct explained *explained, const GArray *dues)
{
    for (guint i = 0; i < dues->len; i++) {
        const struct bl_due *due = due_at(explained, dues, i);
        const struct bl_car *car;
        const struct bl_treatment *treatment = stands_on(explained, due, &car);
        bool again = i > 0 && due_at(explained, dues, i - 1)->car == due->car;
        explain_due_print(explained, g_array_index(dues, guint, i));
        if (car && treatment && !again) {
            explain_distance_print(explained, car);
        }
        if (car && treatment) {
            explain_wear_print(explained, car, treatment);
        } else if (car && !again) {
            explain_cure_print(explained, car);
        }
    }
}

static void print_waiting(const struct explained *explained, const struct bl_message_row *row,
                          const GArray *dues)
{
    g_autofree char *goes = say_moment(explained->context, messages_goes_at(row));
    g_autofree char *plain = dues->len ? plain_about(explained, due_at(explained, dues, 0))
                                       : g_strdup("nothing in it is true any more");
    explain_line(NULL, "Message #%" G_GINT64_FORMAT ", %s, goes %s: %s.", row->id,
                 bl_kind_name(row->kind), goes, plain);
    print_sums(explained, dues);
}

/* The sums behind the dues as lists of objects: of treatments, of cures, of distances. */
static void add_sums(const struct explained *explained, const GArray *dues, struct json *json)
{
    g_autoptr(GPtrArray) whys = json_list();
    g_autoptr(GPtrArray) treatments = json_list();
    g_autoptr(GPtrArray) cures = json_list();
    g_autoptr(GPtrArray) distances = json_list();
    for (guint i = 0; i < dues->len; i++) {
        const struct bl_due *due = due_at(explained, dues, i);
        const struct bl_car *car;
        const struct bl_treatment *treatment = stands_on(explained, due, &car);
        bool again = i > 0 && due_at(explained, dues, i - 1)->car == due->car;
        char *cure = car && !again ? explain_cure_object(explained, car) : NULL;
        g_ptr_array_add(whys, explain_due_object(explained, g_array_index(dues, guint, i)));
        if (treatment) {
            g_ptr_array_add(treatments, explain_wear_object(explained, car, treatment));
        }
        if (cure) {
            g_ptr_array_add(cures, cure);
        }
        if (car && !again) {
            g_ptr_array_add(distances, explain_distance_object(explained, car));
        }
    }
    json_objects(json, "dues", whys);
    json_objects(json, "treatments", treatments);
    json_objects(json, "cures", cures);
    json_objects(json, "distances", distances);
}

static bool explain_waiting(struct context *context, const struct bl_message_row *row,
                            const GArray *keys, GError **error)
{
    struct explained explained;
    bool read = explained_init(&explained, context, row->customer, error);
    if (read) {
        g_autoptr(GArray) dues = dues_of(&explained, keys);
        if (context->json) {
            struct json json;
            g_autofree char *plain =
                dues->len ? plain_about(&explained, due_at(&explained, dues, 0)) : NULL;
            messages_begin(context, row, &json);
            json_text(&json, "plain", plain);
            add_sums(&explained, dues, &json);
            json_end(&json);
        } else {
            print_waiting(&explained, row, dues);
        }
    }
    explained_clear(&explained);
    return read;
}

/* The stored dues of the message. struct bl_due_row, borrowed from all. */
static GArray *kept_of(const GArray *all, const GArray *keys)
{
    GArray *rows = g_array_new(FALSE, FALSE, sizeof(struct bl_due_row));
    for (guint i = 0; i < all->len; i++) {
        const struct bl_due_row *row = &g_array_index(all, struct bl_due_row, i);
        if (is_of(keys, row->kind, row->subject, row->ordinal)) {
            g_array_append_vals(rows, row, 1);
        }
    }
    return rows;
}

static void print_text_of(const struct bl_message_row *row)
{
    g_auto(GStrv) lines = g_strsplit(row->text ? row->text : "", "\n", -1);
    puts("\nIts text");
    if (!row->text) {
        puts("  none was kept: it never left, or was told by hand");
    }
    for (guint i = 0; row->text && lines[i]; i++) {
        g_autofree char *safe = bl_text_printable(lines[i]);
        printf("%s%s\n", *safe ? "  " : "", safe);
    }
}

/* No more than is certain of it. */
static const char *what_it_did(const struct bl_message_row *row)
{
    bool left = row->state == BL_SENT || row->state == BL_DELIVERED;
    return !row->claimed_at ? "ended" : left ? "went" : "begun";
}

/* The dates that were kept of what it is about first, or NULL. Caller frees. */
static char *plain_of_kept(const struct explained *explained, const GArray *kept)
{
    return kept->len ? kept_plain(explained, &g_array_index(kept, struct bl_due_row, 0)) : NULL;
}

static void print_gone(const struct explained *explained, const struct bl_message_row *row,
                       const GArray *kept, const struct kept_rules *rules)
{
    g_autofree char *at = say_moment(explained->context, went_at(row));
    g_autofree char *plain = plain_of_kept(explained, kept);
    g_autofree char *way = look_way(row->channel, row->address);
    explain_line(NULL, "Message #%" G_GINT64_FORMAT ", %s, %s %s, %s%s%s.", row->id,
                 bl_kind_name(row->kind), what_it_did(row), at, way, plain ? ": " : "",
                 plain ? plain : "");
    explain_line("State", "%s%s%s", bl_state_name(row->state), row->reason ? ": " : "",
                 row->reason ? row->reason : "");
    for (guint i = 0; i < kept->len; i++) {
        kept_print(explained, &g_array_index(kept, struct bl_due_row, i), rules);
    }
    print_text_of(row);
}

static void print_gone_json(const struct explained *explained, struct context *context,
                            const struct bl_message_row *row, const GArray *kept,
                            const struct kept_rules *rules)
{
    g_autoptr(GPtrArray) objects = json_list();
    for (guint i = 0; i < kept->len; i++) {
        g_ptr_array_add(
            objects, kept_object(explained, &g_array_index(kept, struct bl_due_row, i), rules));
    }
    g_autofree char *plain = plain_of_kept(explained, kept);
    struct json json;
    messages_begin(context, row, &json);
    json_text(&json, "plain", plain);
    json_text(&json, "text", row->text);
    json_objects(&json, "kept_dues", objects);
    json_end(&json);
}

static bool explain_gone(struct context *context, const struct bl_message_row *row,
                         const GArray *keys, GError **error)
{
    struct explained explained;
    struct kept_rules rules;
    g_autoptr(GArray) all = bl_due_list(context->store, row->customer, error);
    bool read = explained_init(&explained, context, row->customer, all ? error : NULL) && all;
    kept_rules_init(&rules);
    if (read) {
        g_autoptr(GArray) kept = kept_of(all, keys);
        explained.now = went_at(row);
        kept_rules_put(&rules, context, &explained, kept);
        if (context->json) {
            print_gone_json(&explained, context, row, kept, &rules);
        } else {
            print_gone(&explained, row, kept, &rules);
        }
    }
    explained_clear(&explained);
    kept_rules_clear(&rules);
    return read;
}

bool explain_message(struct context *context, int64_t id, GError **error)
{
    struct bl_message_row row = {0};
    g_autoptr(GArray) keys = NULL;
    bool done = bl_message_get(context->store, id, &row, error) &&
                (keys = bl_message_dues(context->store, id, error)) &&
                (is_waiting(&row) ? explain_waiting(context, &row, keys, error)
                                  : explain_gone(context, &row, keys, error));
    bl_message_row_clear(&row);
    return done;
}
