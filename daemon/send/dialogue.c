/*
 * The mail on a connected line: MAIL, RCPT, DATA, the bytes, the dot (RFC 5321 section 3.3),
 * without ever waiting. Each command has its own time limit; the answer to the final dot has
 * ten minutes by RFC 5321 section 4.5.3.2.6, for giving up sooner is how mails are doubled.
 */
#include <string.h>

#include "line.h"

static const struct bl_gateway *gateway_of(const struct line *line)
{
    return send_lane(line->sender, line->gateway)->gateway;
}

static void set_deadline(struct line *line, int seconds)
{
    line->deadline = send_ms(line->sender) + (int64_t)seconds * 1000;
}

static void say(struct line *line, enum line_step step, const char *before, const char *address,
                const char *after)
{
    g_string_truncate(line->out, 0);
    g_string_append(g_string_append(g_string_append(line->out, before), address), after);
    line->written = 0;
    line->step = step;
    set_deadline(line, gateway_of(line)->timeout_s);
}

static void say_mail(struct line *line)
{
    line->dirty = false;
    say(line, LINE_MAIL, "MAIL FROM:<", gateway_of(line)->from, ">\r\n");
}

static void say_rcpt(struct line *line)
{
    say(line, LINE_RCPT, "RCPT TO:<", line->flight.parcel.to, ">\r\n");
}

static void say_data(struct line *line)
{
    say(line, LINE_DATA, "DATA", "", "\r\n");
}

/* The mail with its dots doubled and the final one behind it (RFC 5321 section 4.5.2). */
static void say_body(struct line *line)
{
    gsize length = 0;
    const char *mail = g_bytes_get_data(line->flight.parcel.body, &length);
    const char *end = mail + length;
    say(line, LINE_BODY, "", "", "");
    while (mail < end) {
        const char *feed = memchr(mail, '\n', (size_t)(end - mail));
        const char *next = feed ? feed + 1 : end;
        g_string_append(line->out, *mail == '.' ? "." : "");
        g_string_append_len(line->out, mail, next - mail);
        mail = next;
    }
    if (length > 0 && end[-1] != '\n') {
        g_string_append(line->out, "\r\n");
    }
    g_string_append(line->out, ".\r\n");
}

void dialogue_begin(struct line *line)
{
    if (line->dirty) {
        say(line, LINE_RESET, "RSET", "", "\r\n");
    } else {
        say_mail(line);
    }
}

/* A kept connection that was closed while we began again has taken nothing, and says nothing
 * about the server: the mail gets a new one, once. */
static bool starts_afresh(struct line *line)
{
    struct smtp_stand stand = send_talk_stand(line->talk);
    bool beginning = line->step == LINE_RESET || line->step == LINE_MAIL;
    if (!line->used || !beginning || (stand.replies > 0 && stand.code != 421)) {
        return false;
    }
    line_disconnect(line, false);
    bl_smtp_talk_free(line->talk);
    line->talk = bl_smtp_talk_new();
    return line_connect(line);
}

/* What the step adds to the replies. A session that was refused says nothing about the mail,
 * which was never offered, and a mail that was not said to its end cannot have been taken
 * knowingly. */
static void temper(const struct line *line, struct bl_outcome *outcome)
{
    bool can_be_taken = line->step > LINE_DATA;
    if (line->step == LINE_CONNECTING && outcome->verdict == BL_REFUSED) {
        outcome->verdict = BL_LATER;
        outcome->failure = BL_FAILURE_BUSY;
    } else if (!can_be_taken && outcome->verdict != BL_REFUSED) {
        outcome->verdict = BL_LATER;
    } else if (line->step == LINE_BODY && outcome->verdict == BL_ACCEPTED) {
        outcome->verdict = BL_UNKNOWN;
        outcome->failure = BL_FAILURE_NETWORK;
    }
    if (line->no_login) {
        outcome->failure = BL_FAILURE_LOGIN;
    }
}

void dialogue_end(struct line *line, const char *transfer)
{
    struct bl_outcome outcome = {0};
    struct smtp_stand stand = send_talk_stand(line->talk);
    bl_smtp_verdict(line->talk, transfer, &outcome);
    temper(line, &outcome);
    line->keep = !transfer && stand.code != 421 && line->step != LINE_BODY;
    line->dirty = line->step != LINE_DOT;
    line->step = LINE_OVER;
    send_finish(line->sender, &line->flight, &outcome, (struct leftover){line_settle, line});
}

static void give_up(struct line *line, const char *problem)
{
    if (!starts_afresh(line)) {
        dialogue_end(line, problem);
    }
}

/* What each step waits for, and what is said then; once the mail is being said, whatever
 * decides is waited for. */
static const struct {
    int from, to;
    void (*go_on)(struct line *line);
} steps[] = {
    [LINE_RESET] = {200, 299, say_mail},
    [LINE_MAIL] = {200, 299, say_rcpt},
    [LINE_RCPT] = {200, 299, say_data},
    [LINE_DATA] = {354, 354, say_body},
};

static bool flies(const struct line *line)
{
    return line->step > LINE_CONNECTING && line->step < LINE_OVER;
}

static bool all_said(const struct line *line)
{
    return line->written == line->out->len;
}

static void hear_reply(struct line *line)
{
    struct smtp_stand stand = send_talk_stand(line->talk);
    if (line->step >= LINE_BODY) {
        if (stand.decided) {
            dialogue_end(line, NULL);
        }
    } else if (all_said(line) && stand.code >= steps[line->step].from &&
               stand.code <= steps[line->step].to) {
        steps[line->step].go_on(line);
    } else {
        give_up(line, stand.code >= 400 ? NULL : "the server answered out of turn");
    }
}

/* Line by line, for a reply may end anywhere in what came. What is left over once the mail has
 * its answer belongs to nobody: the line is not used again. */
static void hear(struct line *line, const char *bytes, gsize length)
{
    const char *end = bytes + length;
    while (bytes < end) {
        const char *feed = memchr(bytes, '\n', (size_t)(end - bytes));
        const char *next = feed ? feed + 1 : end;
        guint before = send_talk_stand(line->talk).replies;
        bl_smtp_talk_add(line->talk, bytes, (gsize)(next - bytes));
        struct smtp_stand stand = send_talk_stand(line->talk);
        bytes = next;
        if (stand.flooded) {
            dialogue_end(line, "the server says more than 256 KiB");
        } else if (stand.replies > before) {
            hear_reply(line);
        }
        if (!flies(line)) {
            line->keep = line->keep && bytes == end;
            return;
        }
    }
}

/* Writes what the connection takes. False when it is broken: there may still be an answer to be
 * read that says why. */
static bool write_out(struct line *line)
{
    while (!all_said(line)) {
        size_t part = 0;
        CURLcode code = curl_easy_send(line->easy, line->out->str + line->written,
                                       line->out->len - line->written, &part);
        if (code != CURLE_OK) {
            return code == CURLE_AGAIN;
        }
        line->written += part;
        set_deadline(line, gateway_of(line)->timeout_s);
    }
    if (line->step == LINE_BODY) {
        line->step = LINE_DOT;
        set_deadline(line, gateway_of(line)->answer_timeout_s);
    }
    return true;
}

static void listen_in(struct line *line, bool whole)
{
    char bytes[4096];
    while (flies(line)) {
        size_t length = 0;
        CURLcode code = curl_easy_recv(line->easy, bytes, sizeof bytes, &length);
        if (code == CURLE_AGAIN && whole) {
            return;
        }
        if (code != CURLE_OK || length == 0) {
            give_up(line, "the server closed the connection");
            return;
        }
        hear(line, bytes, length);
        whole = !flies(line) || write_out(line);
    }
}

static void check_deadline(struct line *line)
{
    if (!flies(line) || send_ms(line->sender) < line->deadline) {
        return;
    }
    int seconds = line->step == LINE_DOT ? gateway_of(line)->answer_timeout_s
                                         : gateway_of(line)->timeout_s;
    g_autofree char *text = g_strdup_printf("no answer within %d s", seconds);
    dialogue_end(line, text);
}

bool dialogue_step(struct line *line)
{
    listen_in(line, write_out(line));
    check_deadline(line);
    return !flies(line);
}
