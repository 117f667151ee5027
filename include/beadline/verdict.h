/*
 * Verdicts: what a gateway's answer means, and when to try again. Pure.
 */
#ifndef BEADLINE_VERDICT_H
#define BEADLINE_VERDICT_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/cleanup.h"
#include "beadline/gateway.h"

enum bl_verdict {
    BL_ACCEPTED, /* the gateway has it */
    BL_LATER,    /* it has not, and may take it later */
    BL_REFUSED,  /* it has not, and never will */
    BL_UNKNOWN,  /* nobody can know */
};

/* What a failure was about, for the choice of the retry's base. */
enum bl_failure {
    BL_FAILURE_NONE,
    BL_FAILURE_NETWORK,
    BL_FAILURE_LOGIN,
    BL_FAILURE_BUSY,
    BL_FAILURE_MESSAGE
};

struct bl_outcome {
    int64_t id;
    guint gateway;
    enum bl_verdict verdict;
    enum bl_failure failure;
    bool opted_out;      /* the gateway says this address is silenced there */
    int64_t retry_after; /* seconds from now asked for by the gateway, or 0; at most 86400 */
    char *answer;        /* printable, one line, at most 300 characters; never NULL */
    char *reference;     /* the gateway's, or NULL */
};

void bl_outcome_clear(struct bl_outcome *outcome);

/* The replies of an SMTP transfer as they came, line by line. */
struct bl_smtp_talk;
struct bl_smtp_talk *bl_smtp_talk_new(void);
void bl_smtp_talk_free(struct bl_smtp_talk *talk);
BL_DEFINE_AUTO(bl_smtp_talk);
void bl_smtp_talk_add(struct bl_smtp_talk *talk, const char *bytes, gsize length);

/* The verdict by the replies: no complete 354 seen: later (4yz or nothing) or refused (5yz).
 * After a 354: a complete 2yz line accepted, 4yz later, 5yz refused, everything else unknown. A
 * 535 or other login refusal is later with BL_FAILURE_LOGIN. transfer: curl's text for the
 * failure, or NULL when it was well. Fills all but id, gateway and reference. (The sender adds
 * what only it can know: a 5yz to the greeting or EHLO refuses the session, not a mail that was
 * never offered, and is later; a 2yz before the mail's end accepts nothing.) */
void bl_smtp_verdict(const struct bl_smtp_talk *talk, const char *transfer,
                     struct bl_outcome *outcome);

/* What came back for an HTTP request. */
struct bl_http_answer {
    int status;           /* 0: none */
    const char *body;     /* NULL: none, or cut off */
    gsize length;         /* at most 256 KiB of it are looked at, nesting at most 16 */
    bool sent;            /* whether any byte of the request may have reached the server */
    int64_t retry_after;  /* seconds it asks us to wait, or 0 */
    const char *transfer; /* curl's text for the failure, NULL when it was well */
};

/* The verdict of an HTTP answer: an accepted status (200, 201, 202 when the gateway names none)
 * whose body agrees is accepted; one with another value at accepted_path refused; one without a
 * readable value there unknown. 409, 429 and their kin later, 401 to 403 later with
 * BL_FAILURE_LOGIN, another 4xx refused; 5xx later where the key is honoured or a 503 says when
 * to come back, else unknown; no answer later when nothing was sent, else unknown. Fills all
 * but id and gateway. */
void bl_http_verdict(const struct bl_gateway *gateway, const struct bl_http_answer *answer,
                     struct bl_outcome *outcome);

/* The text at a path ("messages.0.id", "status") in a JSON text, or NULL when there is no text,
 * number or true/false, or when the whole is no JSON of at most 256 KiB and 16 levels. Whole
 * numbers as written, others with the fewest digits that mean the same. Caller frees. */
char *bl_json_path(const char *json, gsize length, const char *path);

/* When to try again after attempt n (1 the first): exponential from first_s, at most longest_s,
 * with up to a quarter of jitter by chance (0..2^64-1), never before now + retry_after. */
int64_t bl_retry_at(int64_t now, int attempt, int first_s, int longest_s, int64_t retry_after,
                    uint64_t chance);

/* The seconds a Retry-After header asks for (RFC 9110 section 10.2.3: a number of seconds, or a
 * date, which counts from now): 0 when it is none or has passed, at most 86400. */
int64_t bl_retry_after(const char *value, int64_t now);

#endif
