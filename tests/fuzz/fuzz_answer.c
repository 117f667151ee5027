/* Any bytes as a gateway's answer, over HTTP and over SMTP: never a crash, always a printable
 * line, a wait of a day at most, and no acceptance that was not said. The first two bytes
 * choose the status. */
#include <stdint.h>
#include <string.h>

#include "beadline/send.h"

#define GO "220 a\r\n250 a\r\n250 a\r\n250 a\r\n354 a\r\n"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check(const struct bl_outcome *outcome)
{
    g_assert(outcome->answer && g_utf8_validate(outcome->answer, -1, NULL));
    g_assert(g_utf8_strlen(outcome->answer, -1) <= 300);
    for (const char *p = outcome->answer; *p; p++) {
        g_assert(!g_ascii_iscntrl(*p));
    }
    g_assert(outcome->retry_after >= 0 && outcome->retry_after <= 86400);
    g_assert((outcome->failure == BL_FAILURE_NONE) == (outcome->verdict == BL_ACCEPTED));
}

static void over_http(int status, const char *body, size_t length)
{
    struct bl_gateway gateway = {.kind = BL_GATEWAY_HTTP,
                                 .unsure = status % 2 ? BL_UNSURE_ASK : BL_UNSURE_RESEND,
                                 .accepted_path = (char *)"status",
                                 .accepted_value = (char *)"queued",
                                 .reference_path = (char *)"messages.0.id",
                                 .opted_out_path = (char *)"error.code",
                                 .opted_out_value = (char *)"21"};
    struct bl_outcome outcome = {0};
    g_autofree char *head = g_strndup(body, MIN(length, (size_t)64));
    const struct bl_http_answer answer = {.status = status,
                                          .body = body,
                                          .length = length,
                                          .sent = true,
                                          .retry_after = bl_retry_after(head, 1764057600),
                                          .transfer = "cut"};
    bl_http_verdict(&gateway, &answer, &outcome);
    check(&outcome);
    if (outcome.verdict == BL_ACCEPTED) {
        g_autofree char *value = bl_json_path(body, length, "status");
        g_assert_cmpstr(value, ==, "queued");
    }
    bl_outcome_clear(&outcome);
}

static void over_smtp(const char *said, size_t length)
{
    BL_AUTO(bl_smtp_talk) *talk = bl_smtp_talk_new();
    struct bl_outcome outcome = {0};
    bl_smtp_talk_add(talk, GO, strlen(GO));
    bl_smtp_talk_add(talk, said, length);
    bl_smtp_verdict(talk, NULL, &outcome);
    check(&outcome);
    g_assert(outcome.verdict == BL_UNKNOWN || memchr(said, '\n', length));
    bl_outcome_clear(&outcome);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 2) {
        return 0;
    }
    /* A block of its own, so that reading past its end is seen. */
    char *bytes = g_memdup2(data + 2, size - 2);
    over_http((data[0] * 256 + data[1]) % 700, bytes, size - 2);
    over_smtp(bytes ? bytes : "", size - 2);
    g_free(bytes);
    return 0;
}
