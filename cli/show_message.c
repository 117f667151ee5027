/* A message whole: where it stands, what was answered, and what it is about. */
#include <stdio.h>
#include <string.h>

#include "beadline/letterbook.h"
#include "beadline/text.h"
#include "dues.h"
#include "json.h"
#include "messages.h"
#include "report.h"
#include "say.h"
#include "show.h"

static bool is_of(const struct bl_due_row *row, const GArray *keys)
{
    for (guint i = 0; i < keys->len; i++) {
        const struct bl_ended *key = &g_array_index(keys, struct bl_ended, i);
        if (key->kind == row->kind && key->subject == row->subject &&
            key->ordinal == row->ordinal) {
            return true;
        }
    }
    return false;
}

/* The message's dues, out of all of its customer's. struct bl_due_row, borrowed from all. */
static GArray *pick(const GArray *all, const GArray *keys)
{
    GArray *rows = g_array_new(FALSE, FALSE, sizeof(struct bl_due_row));
    for (guint i = 0; i < all->len; i++) {
        if (is_of(&g_array_index(all, struct bl_due_row, i), keys)) {
            g_array_append_vals(rows, &g_array_index(all, struct bl_due_row, i), 1);
        }
    }
    return rows;
}

static bool print_json(struct context *context, const struct bl_message_row *row,
                       const GArray *dues, GError **error)
{
    g_autoptr(GPtrArray) objects = json_list();
    for (guint i = 0; i < dues->len; i++) {
        char *object = dues_object(context, &g_array_index(dues, struct bl_due_row, i), error);
        if (!object) {
            return false;
        }
        g_ptr_array_add(objects, object);
    }
    struct json json;
    messages_begin(context, row, &json);
    json_text(&json, "subject", row->subject);
    json_text(&json, "text", row->text);
    json_objects(&json, "dues", objects);
    json_end(&json);
    return true;
}

static void print_head(const struct context *context, const struct bl_message_row *row)
{
    g_autofree char *goes = say_at(context, messages_goes_at(row));
    g_autofree char *until = say_at(context, row->not_after);
    g_autofree char *went = say_at(context, row->claimed_at);
    g_autofree char *ended = say_at(context, row->ended_at);
    bool waits = row->state == BL_PLANNED || row->state == BL_PAUSED;
    printf("Message #%" G_GINT64_FORMAT ": %s, %s\n", row->id, bl_kind_name(row->kind),
           bl_state_name(row->state));
    report_line("Customer", "%s", row->customer_name);
    report_line("Car", "%s", row->cars ? row->cars : "");
    report_line("To", "%s by %s", messages_to(row), bl_channel_name(row->channel));
    if (waits) {
        report_line("Goes", "%s, not after %s", goes, until);
    }
    report_line("Went", "%s", went);
    report_line("Ended", "%s", ended);
    report_line("Reason", "%s", row->reason ? row->reason : "");
    report_line("Gateway", "%s", row->gateway ? row->gateway : "");
    report_line("Tries", "%d", row->attempts);
    report_line("Answer", "%s", row->answer ? row->answer : "");
    report_line("Reference", "%s", row->reference ? row->reference : "");
    report_line("Key", "%s", row->key);
}

/* "driven 94 km a day, 1.9 times the usual: ends between A and B". */
static void print_numbers(const struct context *context, const struct bl_due_row *row)
{
    struct dues_numbers numbers;
    dues_numbers(row, &numbers);
    if (numbers.late == BL_NEVER) {
        return;
    }
    g_autofree char *a_day = say_distance(context, numbers.km_a_day);
    g_autofree char *span = say_span(context, numbers.early, numbers.late);
    printf("  Ends %s: driven %s a day, worn %.2f times as fast as its rule's life.%s\n", span,
           a_day, numbers.speed, numbers.by_distance ? " Its plain distance comes first." : "");
}

static bool print_text(struct context *context, const struct bl_message_row *row,
                       const GArray *dues, GError **error)
{
    BL_AUTO(table) *table = table_new(dues_titles);
    for (guint i = 0; i < dues->len; i++) {
        if (!dues_row(context, &g_array_index(dues, struct bl_due_row, i), table, error)) {
            return false;
        }
    }
    print_head(context, row);
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("Because of");
        table_print(table, 2);
    }
    for (guint i = 0; i < dues->len; i++) {
        print_numbers(context, &g_array_index(dues, struct bl_due_row, i));
    }
    printf("\nIts text: beadline preview %" G_GINT64_FORMAT "\n", row->id);
    return true;
}

bool show_message(struct context *context, int64_t id, GError **error)
{
    struct bl_message_row row = {0};
    if (!bl_message_get(context->store, id, &row, error)) {
        return false;
    }
    g_autoptr(GArray) keys = bl_message_dues(context->store, id, error);
    g_autoptr(GArray) all = keys ? bl_due_list(context->store, row.customer, error) : NULL;
    bool done = false;
    if (all) {
        g_autoptr(GArray) dues = pick(all, keys);
        done = context->json ? print_json(context, &row, dues, error)
                             : print_text(context, &row, dues, error);
    }
    bl_message_row_clear(&row);
    return done;
}
