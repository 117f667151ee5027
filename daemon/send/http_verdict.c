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

/* Caller frees. */
static char *value_at(const struct bl_http_answer *answer, const char *path)
{
    return path ? bl_json_path(answer->body, answer->length, path) : NULL;
}

/* An accepted status: does the body agree? One we cannot read agrees with nothing. */
static struct finding judge_body(const struct bl_gateway *gateway,
                                 const struct bl_http_answer *answer)
{
    static const struct finding accepted = {BL_ACCEPTED, BL_FAILURE_NONE};
    static const struct finding refused = {BL_REFUSED, BL_FAILURE_MESSAGE};
    static const struct finding unknown = {BL_UNKNOWN, BL_FAILURE_NETWORK};
    if (!gateway->accepted_path) {
        return gateway->reference_path && !send_json_reads(answer->body, answer->length)
                   ? unknown
                   : accepted;
    }
    g_autofree char *value = value_at(answer, gateway->accepted_path);
    if (!value) {
        return unknown;
    }
    return !gateway->accepted_value || g_str_equal(value, gateway->accepted_value) ? accepted
                                                                                   : refused;
}

/* A failing server: "later" where our key makes a second try harmless, or where it said itself
 * that it did nothing and when to come back. */
static struct finding judge_server_error(const struct bl_gateway *gateway,
                                         const struct bl_http_answer *answer)
{
    bool later = gateway->unsure == BL_UNSURE_RESEND ||
                 (answer->status == 503 && answer->retry_after > 0);
    return (struct finding){later ? BL_LATER : BL_UNKNOWN, BL_FAILURE_BUSY};
}

static struct finding judge(const struct bl_gateway *gateway,
                            const struct bl_http_answer *answer)
{
    int status = answer->status;
    if (status < 200) { /* none, or an interim one that promises nothing */
        bool unsure = answer->sent || status > 0;
        return (struct finding){unsure ? BL_UNKNOWN : BL_LATER, BL_FAILURE_NETWORK};
    }
    if (is_accepted_status(gateway, status)) {
        return judge_body(gateway, answer);
    }
    for (size_t i = 0; i < G_N_ELEMENTS(statuses); i++) {
        if (status >= statuses[i].from && status <= statuses[i].to) {
            return statuses[i].found;
        }
    }
    return status >= 500 && status <= 599 ? judge_server_error(gateway, answer)
                                          : (struct finding){BL_UNKNOWN, BL_FAILURE_NETWORK};
}

static bool is_opted_out(const struct bl_gateway *gateway, const struct bl_http_answer *answer)
{
    g_autofree char *value = value_at(answer, gateway->opted_out_path);
    return value && gateway->opted_out_value && g_str_equal(value, gateway->opted_out_value);
}

/* The gateway's own name for the message, as printable as everything else a stranger sends. */
static char *reference(const struct bl_gateway *gateway, const struct bl_http_answer *answer)
{
    g_autofree char *value = value_at(answer, gateway->reference_path);
    return value ? send_answer(value, strlen(value)) : NULL;
}

static char *tell(const struct bl_http_answer *answer)
{
    g_autoptr(GString) text = g_string_new(NULL);
    if (answer->status > 0) {
        g_string_append_printf(text, "HTTP %d", answer->status);
    }
    if (answer->transfer) {
        g_string_append_printf(text, "%s%s", text->len > 0 ? ", " : "", answer->transfer);
    }
    if (answer->body && answer->length > 0) {
        gsize shown = MIN(answer->length, (gsize)4 * SEND_ANSWER_SHOWN);
        g_string_append(text, ": ");
        g_string_append_len(text, answer->body, (gssize)shown);
    }
    return text->len > 0 ? send_answer(text->str, text->len) : g_strdup("no answer");
}

void bl_http_verdict(const struct bl_gateway *gateway, const struct bl_http_answer *answer,
                     struct bl_outcome *outcome)
{
    bool opted_out = answer->status >= 200 && is_opted_out(gateway, answer);
    struct finding found =
        opted_out ? (struct finding){BL_REFUSED, BL_FAILURE_MESSAGE} : judge(gateway, answer);
    bl_outcome_clear(outcome);
    outcome->verdict = found.verdict;
    outcome->failure = found.failure;
    outcome->opted_out = opted_out;
    outcome->retry_after =
        found.verdict == BL_LATER ? CLAMP(answer->retry_after, 0, SEND_RETRY_LONGEST) : 0;
    outcome->answer = tell(answer);
    outcome->reference = found.verdict == BL_ACCEPTED ? reference(gateway, answer) : NULL;
}
