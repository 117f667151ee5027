/*
 * Drives the sender for scripts: reads gateways and parcels from a key file, starts each parcel
 * as soon as its gateway has room, and prints every outcome as one JSON object a line.
 *
 * Groups: [gateway NAME] with the fields of struct bl_gateway, [parcel ID] with gateway, to,
 * key, body_file, url, headers, suffix, and `after`: the id of the parcel whose outcome must
 * have been taken first, or "stdin": a line must have come there.
 */
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "beadline/send.h"
#include "beadline/text.h"

struct job {
    struct bl_parcel parcel;
    guint gateway;
    char *after;
};

struct plan {
    GKeyFile *file;
    GArray *gateways; /* struct bl_gateway */
    GArray *jobs;     /* struct job, not started yet */
    GHashTable *done; /* ids taken, and "stdin" */
};

static const char *const kinds[] = {"folder", "smtp", "http", NULL};
static const char *const unsures[] = {"resend", "ask", NULL};
static const char *const tls[] = {"tls", "starttls", "none", NULL};
static const char *const verdicts[] = {"accepted", "later", "refused", "unknown"};
static const char *const failures[] = {"none", "network", "login", "busy", "message"};

static char *text(const struct plan *plan, const char *group, const char *name)
{
    return g_key_file_get_string(plan->file, group, name, NULL);
}

static int number(const struct plan *plan, const char *group, const char *name, int initial)
{
    return g_key_file_has_key(plan->file, group, name, NULL)
               ? g_key_file_get_integer(plan->file, group, name, NULL)
               : initial;
}

static guint word(const struct plan *plan, const char *group, const char *name,
                  const char *const *words)
{
    g_autofree char *value = text(plan, group, name);
    for (guint i = 0; value && words[i]; i++) {
        if (g_str_equal(value, words[i])) {
            return i;
        }
    }
    return 0;
}

static GArray *statuses(const struct plan *plan, const char *group)
{
    gsize count = 0;
    g_autofree int *list =
        g_key_file_get_integer_list(plan->file, group, "accepted", &count, NULL);
    GArray *array = g_array_new(FALSE, FALSE, sizeof(int));
    if (list) {
        g_array_append_vals(array, list, (guint)count);
    }
    return array;
}

static void add_gateway(struct plan *plan, const char *group)
{
    struct bl_gateway gateway = {
        .name = g_strdup(group + strlen("gateway ")),
        .kind = (enum bl_gateway_kind)word(plan, group, "kind", kinds),
        .unsure = (enum bl_unsure)word(plan, group, "unsure", unsures),
        .connections = number(plan, group, "connections", 4),
        .timeout_s = number(plan, group, "timeout_s", 60),
        .answer_timeout_s = number(plan, group, "answer_timeout_s", 600),
        .folder = text(plan, group, "folder"),
        .host = text(plan, group, "host"),
        .port = number(plan, group, "port", 0),
        .tls = (enum bl_tls)word(plan, group, "tls", tls),
        .ca_file = text(plan, group, "ca_file"),
        .user = text(plan, group, "user"),
        .secret_file = text(plan, group, "secret_file"),
        .from = text(plan, group, "from"),
        .url = text(plan, group, "url"),
        .method = text(plan, group, "method"),
        .accepted = statuses(plan, group),
        .accepted_path = text(plan, group, "accepted_path"),
        .accepted_value = text(plan, group, "accepted_value"),
        .reference_path = text(plan, group, "reference_path"),
        .opted_out_path = text(plan, group, "opted_out_path"),
        .opted_out_value = text(plan, group, "opted_out_value"),
    };
    g_array_append_val(plan->gateways, gateway);
}

static guint gateway_of(const struct plan *plan, const char *group)
{
    g_autofree char *name = text(plan, group, "gateway");
    for (guint i = 0; i < plan->gateways->len; i++) {
        if (g_strcmp0(g_array_index(plan->gateways, struct bl_gateway, i).name, name) == 0) {
            return i;
        }
    }
    g_printerr("[%s] names no gateway\n", group);
    exit(2);
}

static GBytes *body_of(const struct plan *plan, const char *group)
{
    g_autofree char *path = text(plan, group, "body_file");
    char *bytes = NULL;
    gsize length = 0;
    if (!path) {
        return NULL;
    }
    if (!g_file_get_contents(path, &bytes, &length, NULL)) {
        g_printerr("cannot read %s\n", path);
        exit(2);
    }
    return g_bytes_new_take(bytes, length);
}

static void add_job(struct plan *plan, const char *group)
{
    struct job job = {
        .parcel = {.id = g_ascii_strtoll(group + strlen("parcel "), NULL, 10),
                   .to = text(plan, group, "to"),
                   .key = text(plan, group, "key"),
                   .body = body_of(plan, group),
                   .url = text(plan, group, "url"),
                   .headers =
                       g_key_file_get_string_list(plan->file, group, "headers", NULL, NULL),
                   .suffix = text(plan, group, "suffix")},
        .gateway = gateway_of(plan, group),
        .after = text(plan, group, "after"),
    };
    g_array_append_val(plan->jobs, job);
}

static void read_plan(struct plan *plan, const char *path)
{
    g_autoptr(GError) error = NULL;
    plan->file = g_key_file_new();
    plan->gateways = g_array_new(FALSE, TRUE, sizeof(struct bl_gateway));
    g_array_set_clear_func(plan->gateways, (GDestroyNotify)bl_gateway_clear);
    plan->jobs = g_array_new(FALSE, TRUE, sizeof(struct job));
    plan->done = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    if (!g_key_file_load_from_file(plan->file, path, G_KEY_FILE_NONE, &error)) {
        g_printerr("%s: %s\n", path, error->message);
        exit(2);
    }
    g_auto(GStrv) groups = g_key_file_get_groups(plan->file, NULL);
    for (guint i = 0; groups[i]; i++) {
        if (g_str_has_prefix(groups[i], "gateway ")) {
            add_gateway(plan, groups[i]);
        }
    }
    for (guint i = 0; groups[i]; i++) {
        if (g_str_has_prefix(groups[i], "parcel ")) {
            add_job(plan, groups[i]);
        }
    }
}

static void print_outcome(const struct plan *plan, const struct bl_outcome *outcome)
{
    g_autofree char *answer = bl_text_json(outcome->answer);
    g_autofree char *reference = bl_text_json(outcome->reference ? outcome->reference : "");
    printf("{\"id\": %" G_GINT64_FORMAT ", \"gateway\": \"%s\", \"verdict\": \"%s\", "
           "\"failure\": \"%s\", \"opted_out\": %s, \"retry_after\": %" G_GINT64_FORMAT
           ", \"answer\": \"%s\", \"reference\": \"%s\"}\n",
           outcome->id, g_array_index(plan->gateways, struct bl_gateway, outcome->gateway).name,
           verdicts[outcome->verdict], failures[outcome->failure],
           outcome->opted_out ? "true" : "false", outcome->retry_after, answer, reference);
    fflush(stdout);
}

static void start_what_may(struct plan *plan, const struct bl_carrier *carrier, int64_t now)
{
    for (guint i = 0; i < plan->jobs->len;) {
        struct job *job = &g_array_index(plan->jobs, struct job, i);
        if ((job->after && !g_hash_table_contains(plan->done, job->after)) ||
            carrier->room(carrier->self, job->gateway) == 0) {
            i++;
            continue;
        }
        g_free(job->after);
        carrier->start(carrier->self, job->gateway, &job->parcel, now);
        g_array_remove_index(plan->jobs, i);
    }
}

static void take_all(const struct plan *plan, const struct bl_carrier *carrier)
{
    struct bl_outcome outcome;
    while (carrier->take(carrier->self, &outcome)) {
        g_hash_table_add(plan->done, g_strdup_printf("%" G_GINT64_FORMAT, outcome.id));
        print_outcome(plan, &outcome);
        bl_outcome_clear(&outcome);
    }
}

static void read_stdin(struct plan *plan, struct pollfd *in)
{
    char bytes[64];
    if (in->revents == 0) {
        return;
    }
    if (read(in->fd, bytes, sizeof bytes) > 0) {
        g_hash_table_add(plan->done, g_strdup("stdin"));
    } else {
        in->fd = -1; /* closed: nothing more will come, and poll skips it */
    }
}

static void run(struct plan *plan, struct bl_sender *sender)
{
    struct bl_carrier carrier = bl_sender_carrier(sender);
    struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
    g_autoptr(GError) error = NULL;
    while (plan->jobs->len > 0 || carrier.flying(carrier.self) > 0) {
        start_what_may(plan, &carrier, 1700000000);
        if (!bl_sender_poll(sender, &in, 1, -1, &error)) {
            g_printerr("%s\n", error->message);
            exit(1);
        }
        read_stdin(plan, &in);
        take_all(plan, &carrier);
    }
}

int main(int argc, char **argv)
{
    struct plan plan = {0};
    g_autoptr(GError) error = NULL;
    if (argc != 2) {
        g_printerr("usage: send_tool PLAN\n");
        return 2;
    }
    read_plan(&plan, argv[1]);
    struct bl_sender *sender = bl_sender_new(plan.gateways, &error);
    if (!sender) {
        g_printerr("%s\n", error->message);
    } else {
        run(&plan, sender);
    }
    bl_sender_free(sender);
    g_key_file_unref(plan.file);
    g_array_unref(plan.gateways);
    g_array_unref(plan.jobs);
    g_hash_table_unref(plan.done);
    return sender ? 0 : 1;
}
