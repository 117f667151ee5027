/*
 * The replies of an SMTP transfer, and what they prove. curl's return code does not tell the
 * phase of a failure, and neither does its response code: only what the server said counts.
 *
 * Before a complete 354 nothing can have been taken. After it the first complete 2yz, 4yz or
 * 5yz decides; without one nobody can know (RFC 1047).
 */
#include <string.h>

#include "send_inside.h"

#define REPLY_SHOWN ((gsize)2048) /* bytes of one reply that are kept to be shown */

struct bl_smtp_talk {
    GString *line;  /* the one that has not ended yet */
    GString *reply; /* the reply that has not ended yet, its lines joined */
    char *last;     /* the last complete reply */
    char *refusal;  /* the last refusal of the login that nothing good followed, or NULL */
    char *deciding; /* the reply that decided, or NULL */
    gsize bytes;
    struct smtp_stand stand;
};

struct bl_smtp_talk *bl_smtp_talk_new(void)
{
    struct bl_smtp_talk *talk = g_new0(struct bl_smtp_talk, 1);
    talk->line = g_string_new(NULL);
    talk->reply = g_string_new(NULL);
    return talk;
}

void bl_smtp_talk_free(struct bl_smtp_talk *talk)
{
    if (!talk) {
        return;
    }
    g_string_free(talk->line, TRUE);
    g_string_free(talk->reply, TRUE);
    g_free(talk->last);
    g_free(talk->refusal);
    g_free(talk->deciding);
    g_free(talk);
}

/* The code of a line ("250", "250 ok", "250-more"), or 0 for anything else. */
static int line_code(const char *line)
{
    if (line[0] < '1' || line[0] > '5' || !g_ascii_isdigit(line[1]) ||
        !g_ascii_isdigit(line[2]) || !strchr(" -", line[3])) {
        return 0;
    }
    return (line[0] - '0') * 100 + (line[1] - '0') * 10 + (line[2] - '0');
}

static void keep(char **slot, const char *text)
{
    g_free(*slot);
    *slot = g_strdup(text);
}

/* 530, 534, 535, 538: RFC 4954 section 6. */
static bool is_login_refusal(int code)
{
    return code == 530 || code == 534 || code == 535 || code == 538;
}

static void end_reply(struct bl_smtp_talk *talk, int code)
{
    struct smtp_stand *stand = &talk->stand;
    int class = code / 100;
    keep(&talk->last, talk->reply->str);
    g_string_truncate(talk->reply, 0);
    stand->replies++;
    stand->code = code;
    stand->login = stand->login || code == 235;
    if (stand->data && !stand->decided && (class == 2 || class >= 4)) {
        stand->decided = code;
        keep(&talk->deciding, talk->last);
    }
    stand->data = stand->data || code == 354;
    if (is_login_refusal(code)) {
        keep(&talk->refusal, talk->last);
    } else if (class == 2 || class == 3) {
        g_clear_pointer(&talk->refusal, g_free);
    }
}

/* A line without a code is garbage: it is shown with the reply, and ends none. */
static void end_line(struct bl_smtp_talk *talk)
{
    gsize length = talk->line->len;
    if (length > 0 && talk->line->str[length - 1] == '\r') {
        g_string_truncate(talk->line, length - 1);
    }
    int code = line_code(talk->line->str);
    if (talk->reply->len < REPLY_SHOWN) {
        g_string_append_printf(talk->reply, "%s%.*s", talk->reply->len > 0 ? " " : "",
                               (int)REPLY_SHOWN, talk->line->str);
    }
    if (code != 0 && talk->line->str[3] != '-') {
        end_reply(talk, code);
    }
    g_string_truncate(talk->line, 0);
}

void bl_smtp_talk_add(struct bl_smtp_talk *talk, const char *bytes, gsize length)
{
    talk->bytes += length;
    if (talk->bytes > SEND_ANSWER_CAP) {
        talk->stand.flooded = true;
        return;
    }
    for (gsize i = 0; i < length; i++) {
        if (bytes[i] == '\n') {
            end_line(talk);
        } else {
            g_string_append_c(talk->line, bytes[i]);
        }
    }
}

struct smtp_stand send_talk_stand(const struct bl_smtp_talk *talk)
{
    return talk->stand;
}

struct finding {
    enum bl_verdict verdict;
    enum bl_failure failure;
    const char *reply; /* what it rests on, or NULL: on the silence */
};

static struct finding find_after_data(const struct bl_smtp_talk *talk)
{
    switch (talk->stand.decided / 100) {
    case 2:
        return (struct finding){BL_ACCEPTED, BL_FAILURE_NONE, talk->deciding};
    case 4:
        return (struct finding){BL_LATER, BL_FAILURE_BUSY, talk->deciding};
    case 5:
        return (struct finding){BL_REFUSED, BL_FAILURE_MESSAGE, talk->deciding};
    default:
        return (struct finding){BL_UNKNOWN, BL_FAILURE_NETWORK, NULL};
    }
}

static struct finding find_before_data(const struct bl_smtp_talk *talk)
{
    if (talk->refusal) {
        return (struct finding){BL_LATER, BL_FAILURE_LOGIN, talk->refusal};
    }
    switch (talk->stand.code / 100) {
    case 4:
        return (struct finding){BL_LATER, BL_FAILURE_BUSY, talk->last};
    case 5:
        return (struct finding){BL_REFUSED, BL_FAILURE_MESSAGE, talk->last};
    default:
        return (struct finding){BL_LATER, BL_FAILURE_NETWORK, NULL};
    }
}

/* The reply when there is one; else what went wrong, and the last thing that was heard. */
static char *tell(const struct bl_smtp_talk *talk, const char *reply, const char *transfer)
{
    if (reply) {
        return send_answer(reply, strlen(reply));
    }
    g_autofree char *text = g_strdup_printf(
        "%s%s%s%s%s", transfer ? transfer : "no answer", talk->last ? " after: " : "",
        talk->last ? talk->last : "", talk->line->len > 0 ? " and: " : "", talk->line->str);
    return send_answer(text, strlen(text));
}

void bl_smtp_verdict(const struct bl_smtp_talk *talk, const char *transfer,
                     struct bl_outcome *outcome)
{
    struct finding found = talk->stand.data ? find_after_data(talk) : find_before_data(talk);
    outcome->verdict = found.verdict;
    outcome->failure = found.failure;
    outcome->opted_out = false;
    outcome->retry_after = 0;
    g_free(outcome->answer);
    outcome->answer = tell(talk, found.reply, transfer);
}
