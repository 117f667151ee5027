/*
 * beadline silence: no message from this second on. It is the address that is silenced, so it
 * holds for everybody who has it; the log of it is only added to.
 */
#include <stdio.h>
#include <string.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "command.h"
#include "json.h"
#include "report.h"
#include "say.h"

static const char usage[] =
    "silence CUSTOMER|ADDRESS --how TEXT [--words TEXT] [--lift]\n"
    "From this second on nothing is sent to the customer's number and mail address, or to the one\n"
    "address named, on any route. --lift ends it, when the customer has asked for that: --how\n"
    "keeps the proof of either.\n"
    "\n"
    "  beadline silence ada --how \"said so at the door\" --words \"no more texts please\"";

struct wish {
    char *how, *words;
    gboolean lift;
};

/* The address typed in its stored form, or NULL when it is none. */
static char *address_of(const struct context *context, const char *name)
{
    if (strchr(name, '@')) {
        return bl_mail_normal(name, NULL);
    }
    return name[0] == '#' ? NULL
                          : bl_phone_e164(name, &context->world->settings->shop.home, NULL);
}

/* The addresses meant: the one typed, or those of the customer. char *. */
static GPtrArray *find(struct context *context, const char *name, GError **error)
{
    g_autoptr(GPtrArray) addresses = g_ptr_array_new_with_free_func(g_free);
    char *address = address_of(context, name);
    if (address) {
        g_ptr_array_add(addresses, address);
        return g_steal_pointer(&addresses);
    }
    struct bl_customer_row row = {0};
    int64_t id = 0;
    if (!say_find_customer(context, name, &id, error) ||
        !bl_customer_get(context->store, id, &row, error)) {
        return NULL;
    }
    if (row.phone) {
        g_ptr_array_add(addresses, g_strdup(row.phone));
    }
    if (row.mail) {
        g_ptr_array_add(addresses, g_strdup(row.mail));
    }
    if (addresses->len == 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "%s has no number and no mail address: there is nothing to silence",
                    row.name);
    }
    bl_customer_row_clear(&row);
    return addresses->len ? g_steal_pointer(&addresses) : NULL;
}

static bool silence(struct context *context, const struct wish *wish,
                    const GPtrArray *addresses, GError **error)
{
    for (guint i = 0; i < addresses->len; i++) {
        if (!bl_silence_add(context->store, g_ptr_array_index(addresses, i), wish->how,
                            wish->words, context->now, error)) {
            return false;
        }
    }
    return true;
}

/* Of a customer's two addresses only one may be silenced: that one is lifted. */
static bool lift(struct context *context, const struct wish *wish, GPtrArray *addresses,
                 GError **error)
{
    for (guint i = addresses->len; addresses->len > 1 && i > 0; i--) {
        if (!bl_store_silenced(context->store, g_ptr_array_index(addresses, i - 1))) {
            g_ptr_array_remove_index(addresses, i - 1);
        }
    }
    for (guint i = 0; i < addresses->len; i++) {
        if (!bl_silence_lift(context->store, g_ptr_array_index(addresses, i), wish->how,
                             wish->words, context->now, error)) {
            return false;
        }
    }
    return true;
}

static bool write_wish(struct context *context, const struct wish *wish, const char *name,
                       GPtrArray **addresses, GError **error)
{
    *addresses = find(context, name, error);
    if (!*addresses) {
        return false;
    }
    return wish->lift ? lift(context, wish, *addresses, error)
                      : silence(context, wish, *addresses, error);
}

/* Names of those who have the address. */
static char *owners_of(const GArray *customers, const char *address)
{
    g_autoptr(GString) names = g_string_new(NULL);
    for (guint i = 0; i < customers->len; i++) {
        const struct bl_customer_row *row =
            &g_array_index(customers, struct bl_customer_row, i);
        if (g_strcmp0(row->phone, address) == 0 ||
            (row->mail && g_ascii_strcasecmp(row->mail, address) == 0)) {
            g_string_append_printf(names, "%s%s", names->len ? ", " : "", row->name);
        }
    }
    return g_strdup(names->str);
}

static void tell_one(const struct context *context, const struct wish *wish,
                     const char *address, const char *owners)
{
    struct json json;
    if (context->json) {
        json_begin(&json);
        json_text(&json, "address", address);
        json_yes(&json, "silenced", !wish->lift);
        json_text(&json, "customers", owners);
        json_end(&json);
        return;
    }
    g_autofree char *who = bl_text_printable(*owners ? owners : "no customer");
    printf("%s (%s): %s.\n", address, who,
           wish->lift ? "messages may go again, as far as they agreed to them"
                      : "nothing is sent from this second on");
}

static void tell(const struct context *context, const struct wish *wish,
                 const GPtrArray *addresses, const GArray *customers)
{
    for (guint i = 0; i < addresses->len; i++) {
        const char *address = g_ptr_array_index(addresses, i);
        g_autofree char *owners = owners_of(customers, address);
        tell_one(context, wish, address, owners);
    }
}

static bool is_worded(const struct wish *wish, GError **error)
{
    return bl_text_check(wish->how, "how", BL_TEXT_MAX_NAME, error) &&
           bl_text_check_note(wish->words, "words", error);
}

static int run(struct context *context, const struct wish *wish, const char *name)
{
    g_autoptr(GPtrArray) addresses = NULL;
    g_autoptr(GArray) customers = NULL;
    GError *error = NULL;
    bool done = is_worded(wish, &error) && context_write(context, &error);
    if (done && !(write_wish(context, wish, name, &addresses, &error) &&
                  (customers = bl_customer_list(context->store, &error)))) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    if (done) {
        tell(context, wish, addresses, customers);
    }
    return done ? DONE : context_fail(error);
}

int command_silence(struct context *context, int argc, char **argv)
{
    struct wish wish = {0};
    const GOptionEntry entries[] = {
        {"how", 0, 0, G_OPTION_ARG_STRING, &wish.how, "How they said so", "TEXT"},
        {"words", 0, 0, G_OPTION_ARG_STRING, &wish.words, "In what words", "TEXT"},
        {"lift", 0, 0, G_OPTION_ARG_NONE, &wish.lift, "They want messages again", NULL},
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2) {
        status = context_misused("name one customer or address", usage);
    } else if (!wish.how) {
        status = context_misused("--how is missing: it is the proof", usage);
    } else {
        status = run(context, &wish, argv[1]);
    }
    g_free(wish.how);
    g_free(wish.words);
    return status;
}
