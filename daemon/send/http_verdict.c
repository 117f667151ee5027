/*
 * What an HTTP gateway's answer proves. The gateway's settings say which statuses, and which
 * value in the answer, mean "taken"; a table says what the other statuses mean. Where nobody
 * can know whether the message was taken the verdict says so, and never guesses "no".
 */
#include <string.h>

#include "send_inside.h"

struct finding {
    enum bl_verdict verdict;
    enum bl_failure failure;
};

/* The first row that holds the status counts. Statuses of RFC 9110 section 15, RFC 6585 (429)
 * and RFC 8470 (425). */
static const struct {
    int from, to;
    struct finding found;
} statuses[] = {
    {301, 301, {BL_LATER, BL_FAILURE_BUSY}}, /* moved, nothing done; never followed */
    {307, 308, {BL_LATER, BL_FAILURE_BUSY}},
    {401, 403, {BL_LATER, BL_FAILURE_LOGIN}}, /* 402: the account has run dry */
    {407, 407, {BL_LATER, BL_FAILURE_LOGIN}},
    {408, 409, {BL_LATER, BL_FAILURE_BUSY}}, /* 409: the same key is still under way */
    {425, 425, {BL_LATER, BL_FAILURE_BUSY}},
    {429, 429, {BL_LATER, BL_FAILURE_BUSY}},
    {400, 499, {BL_REFUSED, BL_FAILURE_MESSAGE}},
};

static bool is_accepted_status(const struct bl_gateway *gateway, int status)
{
    if (!gateway->accepted || gateway->accepted->len == 0) {
        return status == 200 || status == 201 || status == 202;
    }
    for (guint i = 0; i < gateway->accepted->len; i++) {
        if (g_array_index(gateway->accepted, int, i) == status) {
            return true;
        }
    }
    return false;
}

static bool value_is(const char *body, gsize length, const char *path, const char *wanted)
{
    if (!path || !wanted) {
        return false;
    }
    g_autofree char *value = bl_json_path(body, length, path);
    return value && g_str_equal(value, wanted);
}

/* An accepted status: does the body agree? One we cannot read agrees with nothing. */
static struct finding judge_body(const struct bl_gateway *gateway, const char *body,
                                 gsize length)
{
    static const struct finding accepted = {BL_ACCEPTED, BL_FAILURE_NONE};
    static const struct finding refused = {BL_REFUSED, BL_FAILURE_MESSAGE};
    static const struct finding unknown = {BL_UNKNOWN, BL_FAILURE_NETWORK};
    if (!gateway->accepted_path) {
        return gateway->reference_path && !send_json_reads(body, length) ? unknown : accepted;
    }
    g_autofree char *value = bl_json_path(body, length, gateway->accepted_path);
    if (!value) {
        return unknown;
    }
    return !gateway->accepted_value || g_str_equal(value, gateway->accepted_value) ? accepted
                                                                                   : refused;
}

/* A failing server: "later" where our key makes a second try harmless, or where it said itself
 * that it did nothing and when to come back. */
static struct finding judge_server_error(const struct bl_gateway *gateway, int status,
                                         int64_t retry_after)
{
    bool later = gateway->unsure == BL_UNSURE_RESEND || (status == 503 && retry_after > 0);
    return (struct finding){later ? BL_LATER : BL_UNKNOWN, BL_FAILURE_BUSY};
}

static struct finding judge_status(const struct bl_gateway *gateway, int status,
                                   int64_t retry_after)
{
    for (size_t i = 0; i < G_N_ELEMENTS(statuses); i++) {
        if (status >= statuses[i].from && status <= statuses[i].to) {
            return statuses[i].found;
        }
    }
    if (status >= 500 && status <= 599) {
        return judge_server_error(gateway, status, retry_after);
    }
    return (struct finding){BL_UNKNOWN, BL_FAILURE_NETWORK};
}

static char *tell(int status, const char *body, gsize length, const char *transfer)
{
    g_autoptr(GString) text = g_string_new(NULL);
    if (status > 0) {
        g_string_append_printf(text, "HTTP %d", status);
    }
    if (transfer) {
        g_string_append_printf(text, "%s%s", text->len > 0 ? ", " : "", transfer);
    }
    if (body && length > 0) {
        g_string_append(text, ": ");
        g_string_append_len(text, body, (gssize)MIN(length, (gsize)4 * SEND_ANSWER_SHOWN));
    }
    return text->len > 0 ? send_answer(text->str, text->len) : g_strdup("no answer");
}

/* The gateway's own name for the message, as printable as everything else a stranger sends. */
static char *reference(const struct bl_gateway *gateway, const char *body, gsize length)
{
    g_autofree char *value =
        gateway->reference_path ? bl_json_path(body, length, gateway->reference_path) : NULL;
    return value ? send_answer(value, strlen(value)) : NULL;
}

static struct finding judge(const struct bl_gateway *gateway, int status, const char *body,
                            gsize length, int64_t retry_after)
{
    return is_accepted_status(gateway, status) ? judge_body(gateway, body, length)
                                               : judge_status(gateway, status, retry_after);
}

void bl_http_verdict(const struct bl_gateway *gateway, int status, const char *body,
                     gsize length, bool sent, int64_t retry_after, const char *transfer,
                     struct bl_outcome *outcome)
{
    struct finding found;
    outcome->opted_out = false;
    if (status < 200) { /* none, or an interim one that promises nothing */
        found =
            (struct finding){sent || status > 0 ? BL_UNKNOWN : BL_LATER, BL_FAILURE_NETWORK};
    } else if (value_is(body, length, gateway->opted_out_path, gateway->opted_out_value)) {
        found = (struct finding){BL_REFUSED, BL_FAILURE_MESSAGE};
        outcome->opted_out = true;
    } else {
        found = judge(gateway, status, body, length, retry_after);
    }
    outcome->verdict = found.verdict;
    outcome->failure = found.failure;
    outcome->retry_after =
        found.verdict == BL_LATER ? CLAMP(retry_after, 0, SEND_RETRY_LONGEST) : 0;
    g_free(outcome->answer);
    outcome->answer = tell(status, body, length, transfer);
    g_free(outcome->reference);
    outcome->reference = found.verdict == BL_ACCEPTED ? reference(gateway, body, length) : NULL;
}
