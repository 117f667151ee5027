/*
 * Looking at one customer: facts read now, a plan made of them, and from both the letter of a
 * message. A letter is always composed from what is true at that moment, not from what was true
 * when it was planned.
 */
#include <string.h>

#include "beadline/letterbook.h"
#include "pass_inside.h"

bool bl_pass_look(struct bl_pass *pass, int64_t customer, int64_t now, struct bl_facts *facts,
                  struct bl_plan **plan, GError **error)
{
    if (!bl_pass_facts(pass, customer, facts, error)) {
        return false;
    }
    *plan = bl_plan_make(facts, &pass->with.world->settings->shop, now);
    return true;
}

/* The plan's dues of the claim that are still true now; NULL-terminated. */
static GPtrArray *true_dues(const struct bl_plan *plan, const GArray *keys)
{
    GPtrArray *dues = g_ptr_array_new();
    for (guint i = 0; i < keys->len; i++) {
        const struct bl_ended *key = &g_array_index(keys, struct bl_ended, i);
        const struct bl_due *due = bl_plan_due(plan, key->kind, key->subject, key->ordinal);
        if (due) {
            g_ptr_array_add(dues, (gpointer)due);
        }
    }
    g_ptr_array_add(dues, NULL);
    return dues;
}

bool pass_letter(struct bl_pass *pass, const struct bl_claim *claim, int64_t now,
                 struct bl_letter *letter, char **to_name, GError **error)
{
    struct bl_facts facts;
    BL_AUTO(bl_plan) *plan = NULL;
    bool done = false;
    bl_facts_init(&facts);
    if (bl_pass_look(pass, claim->customer, now, &facts, &plan, error)) {
        g_autoptr(GPtrArray) dues = true_dues(plan, claim->dues);
        const struct bl_material material = {
            .shop = &pass->with.world->settings->shop,
            .facts = &facts,
            .plan = plan,
            .dues = (const struct bl_due *const *)dues->pdata,
            .kind = claim->kind,
            .channel = claim->channel,
            .address = claim->address,
            .key = claim->key,
            .now = now,
        };
        if (dues->len == 1) {
            g_set_error(error, BL_ERROR, BL_ERROR_REFUSED, "nothing in it is true any more");
        } else {
            done = bl_compose(pass->with.world->templates, &material, letter, error);
        }
    }
    if (done && to_name) {
        *to_name = g_strdup(facts.customer.name);
    }
    bl_facts_clear(&facts);
    return done;
}

static void claim_of_row(const struct bl_message_row *row, GArray *dues, struct bl_claim *claim)
{
    *claim = (struct bl_claim){
        .message = row->id,
        .customer = row->customer,
        .kind = row->kind,
        .channel = row->channel,
        .address = row->address,
        .dues = dues,
    };
    g_strlcpy(claim->key, row->key, sizeof claim->key);
}

static void letter_as_left(const struct bl_message_row *row, struct bl_letter *letter)
{
    letter->subject = g_strdup(row->subject);
    letter->text = g_strdup(row->text);
    letter->html = g_strdup(row->html);
    if (row->channel == BL_SMS) {
        letter->size = bl_sms_measure(row->text);
    }
}

static bool preview_row(struct bl_pass *pass, const struct bl_message_row *row, int64_t now,
                        struct bl_letter *letter, GBytes **raw, GError **error)
{
    g_autofree char *to_name = g_strdup(row->customer_name);
    /* One planned again after an unsure outcome has a text and is claimed by nobody. */
    bool left = row->text && row->claimed_at > 0;
    int64_t left_at = left ? row->claimed_at : MAX(now, row->send_at);
    if (row->text) {
        letter_as_left(row, letter);
    } else {
        g_autoptr(GArray) dues = bl_message_dues(pass->with.store, row->id, error);
        struct bl_claim claim;
        if (!dues) {
            return false;
        }
        claim_of_row(row, dues, &claim);
        if (!pass_letter(pass, &claim, left_at, letter, NULL, error)) {
            return false;
        }
    }
    if (!raw || row->channel != BL_MAIL) {
        return true;
    }
    *raw = bl_compose_mail(&pass->with.world->settings->shop, letter, to_name, row->address,
                           row->key, left_at, error);
    return *raw != NULL;
}

bool bl_pass_preview(struct bl_pass *pass, int64_t message, int64_t now,
                     struct bl_letter *letter, GBytes **raw, GError **error)
{
    struct bl_message_row row = {0};
    memset(letter, 0, sizeof *letter);
    if (raw) {
        *raw = NULL;
    }
    bool done = bl_message_get(pass->with.store, message, &row, error) &&
                preview_row(pass, &row, now, letter, raw, error);
    bl_message_row_clear(&row);
    if (!done) {
        bl_letter_clear(letter);
    }
    return done;
}
