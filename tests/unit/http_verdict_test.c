/* What an HTTP gateway's answer proves about a text. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/send.h"

/* A gateway that honours the key and says "queued" in its answer. */
static struct bl_gateway keyed(void)
{
    return (struct bl_gateway){
        .kind = BL_GATEWAY_HTTP,
        .unsure = BL_UNSURE_RESEND,
        .accepted_path = (char *)"status",
        .accepted_value = (char *)"queued",
        .reference_path = (char *)"messages.0.id",
        .opted_out_path = (char *)"error.code",
        .opted_out_value = (char *)"21",
    };
}

struct row {
    int status;
    const char *body;
    bool sent;
    enum bl_verdict verdict; /* where the key is honoured */
    enum bl_failure failure;
    enum bl_verdict without_key;
};

#define QUEUED "{\"status\": \"queued\", \"messages\": [{\"id\": 7}]}"

static const struct row rows[] = {
    {0, NULL, false, BL_LATER, BL_FAILURE_NETWORK, BL_LATER},
    {0, NULL, true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {100, NULL, true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, QUEUED, true, BL_ACCEPTED, BL_FAILURE_NONE, BL_ACCEPTED},
    {201, QUEUED, true, BL_ACCEPTED, BL_FAILURE_NONE, BL_ACCEPTED},
    {202, QUEUED, true, BL_ACCEPTED, BL_FAILURE_NONE, BL_ACCEPTED},
    {204, NULL, true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, NULL, true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, "", true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, "<html>", true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, "{\"status\": \"que", true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, "{\"state\": \"queued\"}", true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, "{\"status\": [\"queued\"]}", true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, "{\"status\": null}", true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {200, "{\"status\": \"failed\"}", true, BL_REFUSED, BL_FAILURE_MESSAGE, BL_REFUSED},
    {301, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_LATER},
    {302, NULL, true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {303, NULL, true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
    {307, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_LATER},
    {308, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_LATER},
    {400, "no", true, BL_REFUSED, BL_FAILURE_MESSAGE, BL_REFUSED},
    {401, NULL, true, BL_LATER, BL_FAILURE_LOGIN, BL_LATER},
    {402, NULL, true, BL_LATER, BL_FAILURE_LOGIN, BL_LATER},
    {403, NULL, true, BL_LATER, BL_FAILURE_LOGIN, BL_LATER},
    {404, NULL, true, BL_REFUSED, BL_FAILURE_MESSAGE, BL_REFUSED},
    {407, NULL, true, BL_LATER, BL_FAILURE_LOGIN, BL_LATER},
    {408, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_LATER},
    {409, "{\"error\": \"in progress\"}", true, BL_LATER, BL_FAILURE_BUSY, BL_LATER},
    {422, NULL, true, BL_REFUSED, BL_FAILURE_MESSAGE, BL_REFUSED},
    {425, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_LATER},
    {429, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_LATER},
    {500, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_UNKNOWN},
    {502, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_UNKNOWN},
    {503, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_UNKNOWN},
    {504, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_UNKNOWN},
    {599, NULL, true, BL_LATER, BL_FAILURE_BUSY, BL_UNKNOWN},
    {999, QUEUED, true, BL_UNKNOWN, BL_FAILURE_NETWORK, BL_UNKNOWN},
};

static struct bl_outcome verdict_on(const struct bl_gateway *gateway, int status,
                                    const char *body, bool sent, int64_t retry_after)
{
    struct bl_outcome outcome = {0};
    const struct bl_http_answer answer = {.status = status,
                                          .body = body,
                                          .length = body ? strlen(body) : 0,
                                          .sent = sent,
                                          .retry_after = retry_after};
    bl_http_verdict(gateway, &answer, &outcome);
    assert_non_null(outcome.answer);
    return outcome;
}

static void test_each_answer_has_its_one_verdict(void **state)
{
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(rows); i++) {
        const struct row *row = &rows[i];
        struct bl_gateway gateway = keyed();
        struct bl_outcome outcome = verdict_on(&gateway, row->status, row->body, row->sent, 0);
        if (outcome.verdict != row->verdict) {
            print_error("status %d, %s\n", row->status, row->body ? row->body : "no body");
        }
        assert_int_equal(outcome.verdict, row->verdict);
        assert_int_equal(outcome.failure, row->failure);
        assert_false(outcome.opted_out);
        bl_outcome_clear(&outcome);
        gateway.unsure = BL_UNSURE_ASK;
        outcome = verdict_on(&gateway, row->status, row->body, row->sent, 0);
        assert_int_equal(outcome.verdict, row->without_key);
        bl_outcome_clear(&outcome);
    }
}

/* Whatever a gateway without keys answers, "later" only where it says itself, or where it is
 * certain, that it took nothing: a wrong "later" is a second text on a customer's phone. */
static void test_without_a_key_only_certain_failures_are_tried_again(void **state)
{
    static const int certain[] = {301, 307, 308, 401, 402, 403, 407, 408, 409, 425, 429};
    (void)state;
    for (int status = 100; status < 700; status++) {
        struct bl_gateway gateway = keyed();
        gateway.unsure = BL_UNSURE_ASK;
        struct bl_outcome outcome = verdict_on(&gateway, status, NULL, true, 0);
        bool listed = false;
        for (size_t i = 0; i < G_N_ELEMENTS(certain); i++) {
            listed = listed || certain[i] == status;
        }
        assert_int_equal(outcome.verdict == BL_LATER, listed);
        bl_outcome_clear(&outcome);
    }
}

static void test_a_wait_asked_for_is_obeyed_up_to_a_day(void **state)
{
    static const struct {
        int status;
        int64_t asked, kept;
        enum bl_verdict verdict;
    } waits[] = {
        {429, 37, 37, BL_LATER}, {503, 37, 37, BL_LATER},  {429, 86401, 86400, BL_LATER},
        {429, -5, 0, BL_LATER},  {202, 37, 0, BL_UNKNOWN}, {400, 37, 0, BL_REFUSED},
    };
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(waits); i++) {
        struct bl_gateway gateway = keyed();
        gateway.unsure = BL_UNSURE_ASK;
        struct bl_outcome outcome =
            verdict_on(&gateway, waits[i].status, NULL, true, waits[i].asked);
        assert_int_equal(outcome.verdict, waits[i].verdict);
        assert_int_equal(outcome.retry_after, waits[i].kept);
        bl_outcome_clear(&outcome);
    }
}

static void test_the_gateways_own_reference_is_kept(void **state)
{
    struct bl_gateway gateway = keyed();
    struct bl_outcome outcome = verdict_on(&gateway, 202, QUEUED, true, 0);
    (void)state;
    assert_string_equal(outcome.reference, "7");
    bl_outcome_clear(&outcome);
    outcome = verdict_on(&gateway, 202, "{\"status\": \"queued\"}", true, 0);
    assert_int_equal(outcome.verdict, BL_ACCEPTED);
    assert_null(outcome.reference);
    bl_outcome_clear(&outcome);
    outcome = verdict_on(&gateway, 202,
                         "{\"status\": \"queued\", \"messages\": [{\"id\": \"a\\nb\\u001b\"}]}",
                         true, 0);
    assert_string_equal(outcome.reference, "a b\\x1b");
    bl_outcome_clear(&outcome);
}

static void test_an_opt_out_the_gateway_knows_of_is_final_whatever_its_status(void **state)
{
    static const int all[] = {200, 202, 400, 403, 409, 422, 500};
    (void)state;
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++) {
        struct bl_gateway gateway = keyed();
        struct bl_outcome outcome =
            verdict_on(&gateway, all[i], "{\"error\": {\"code\": 21}}", true, 0);
        assert_int_equal(outcome.verdict, BL_REFUSED);
        assert_true(outcome.opted_out);
        bl_outcome_clear(&outcome);
        outcome = verdict_on(&gateway, all[i], "{\"error\": {\"code\": 22}}", true, 0);
        assert_false(outcome.opted_out);
        bl_outcome_clear(&outcome);
    }
}

static void test_a_gateway_that_answers_by_its_status_alone_needs_no_body(void **state)
{
    struct bl_gateway gateway = {.kind = BL_GATEWAY_HTTP, .unsure = BL_UNSURE_ASK};
    int own[] = {204};
    struct bl_outcome outcome = verdict_on(&gateway, 200, "<html>", true, 0);
    (void)state;
    assert_int_equal(outcome.verdict, BL_ACCEPTED);
    assert_string_equal(outcome.answer, "HTTP 200: <html>");
    bl_outcome_clear(&outcome);
    gateway.accepted = g_array_new(FALSE, FALSE, sizeof(int));
    g_array_append_vals(gateway.accepted, own, 1);
    outcome = verdict_on(&gateway, 204, NULL, true, 0);
    assert_int_equal(outcome.verdict, BL_ACCEPTED);
    bl_outcome_clear(&outcome);
    outcome = verdict_on(&gateway, 200, NULL, true, 0);
    assert_int_equal(outcome.verdict, BL_UNKNOWN);
    bl_outcome_clear(&outcome);
    g_array_unref(gateway.accepted);
    /* One whose reference we were promised owes us an answer that can be read. */
    gateway = (struct bl_gateway){.reference_path = (char *)"id"};
    outcome = verdict_on(&gateway, 200, "<html>", true, 0);
    assert_int_equal(outcome.verdict, BL_UNKNOWN);
    bl_outcome_clear(&outcome);
    outcome = verdict_on(&gateway, 200, "{}", true, 0);
    assert_int_equal(outcome.verdict, BL_ACCEPTED);
    bl_outcome_clear(&outcome);
}

static void test_a_path_without_a_value_only_has_to_be_there(void **state)
{
    struct bl_gateway gateway = keyed();
    (void)state;
    gateway.accepted_value = NULL;
    struct bl_outcome outcome = verdict_on(&gateway, 200, "{\"status\": 0}", true, 0);
    assert_int_equal(outcome.verdict, BL_ACCEPTED);
    bl_outcome_clear(&outcome);
}

static void test_a_broken_transfer_is_named_in_the_answer(void **state)
{
    struct bl_gateway gateway = keyed();
    struct bl_outcome outcome = {0};
    (void)state;
    bl_http_verdict(&gateway, &(struct bl_http_answer){.transfer = "could not connect"},
                    &outcome);
    assert_string_equal(outcome.answer, "could not connect");
    bl_http_verdict(
        &gateway,
        &(struct bl_http_answer){
            .status = 500, .body = "a\r\nb", .length = 4, .sent = true, .transfer = "cut off"},
        &outcome);
    assert_string_equal(outcome.answer, "HTTP 500, cut off: a b");
    bl_http_verdict(&gateway, &(struct bl_http_answer){.sent = true}, &outcome);
    assert_string_equal(outcome.answer, "no answer");
    bl_outcome_clear(&outcome);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_answer_has_its_one_verdict),
        cmocka_unit_test(test_without_a_key_only_certain_failures_are_tried_again),
        cmocka_unit_test(test_a_wait_asked_for_is_obeyed_up_to_a_day),
        cmocka_unit_test(test_the_gateways_own_reference_is_kept),
        cmocka_unit_test(test_an_opt_out_the_gateway_knows_of_is_final_whatever_its_status),
        cmocka_unit_test(test_a_gateway_that_answers_by_its_status_alone_needs_no_body),
        cmocka_unit_test(test_a_path_without_a_value_only_has_to_be_there),
        cmocka_unit_test(test_a_broken_transfer_is_named_in_the_answer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
