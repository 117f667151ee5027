/*
 * An SMTP connection ("line") and the dialogue on it, shared by line.c and dialogue.c only.
 *
 * curl connects: name, TCP, TLS, greeting, EHLO, STARTTLS, AUTH. The mail itself is ours to
 * say: libcurl up to at least 7.88 waits for the answer to the final dot, and for the answer to
 * QUIT, inside curl_multi_perform and curl_easy_cleanup, so that one silent server would stop
 * every other transfer, the watchdog and the end of the daemon for as long as it likes.
 */
#ifndef BEADLINE_SEND_LINE_H
#define BEADLINE_SEND_LINE_H

#include "send_inside.h"

enum line_step {
    LINE_CONNECTING, /* curl's */
    LINE_RESET,      /* RSET said, and so on: the reply to it is awaited */
    LINE_MAIL,
    LINE_RCPT,
    LINE_DATA,
    LINE_BODY, /* the mail is being written */
    LINE_DOT,
    LINE_OVER, /* the outcome is there; nothing is touched until it was taken */
    LINE_IDLE, /* kept for the next mail */
};

struct line {
    struct transfer transfer; /* first: found again through it */
    struct bl_sender *sender;
    guint gateway;
    CURL *easy;
    CURLSH *share; /* a pool of its own, so that no other transfer's housekeeping closes it */
    enum line_step step;
    bool used;     /* it has carried a mail before this one */
    bool dirty;    /* the server still holds the beginning of a refused mail */
    bool keep;     /* may be used again once the outcome was taken */
    bool no_login; /* the login failed, or none was offered */
    struct flight flight;
    struct bl_smtp_talk *talk;
    GString *out; /* what is to be written, and how far it was */
    gsize written;
    int64_t deadline; /* on the sender's clock, milliseconds */
    char fault[CURL_ERROR_SIZE];
};

/* line.c */
bool line_connect(struct line *line);
void line_disconnect(struct line *line, bool politely);
void line_settle(void *thing);

/* dialogue.c */
void dialogue_begin(struct line *line);
/* Moves on as far as it goes. Whether it ended, or began anew on another connection. */
bool dialogue_step(struct line *line);
void dialogue_end(struct line *line, const char *transfer);

#endif
