/*
 * What the files of the sending room share, and nobody else sees.
 *
 * A flight is one parcel under way. It rides on a line (an SMTP connection, kept for the next
 * one), on an exchange (one HTTP request) or on nothing (a folder is written at once), and ends
 * with send_finish. What it rode on stays as it is until the outcome was taken and the caller
 * comes back, so that an outcome can be stored before anything is tidied up.
 */
#ifndef BEADLINE_SEND_INSIDE_H
#define BEADLINE_SEND_INSIDE_H

#include <curl/curl.h>

#include "beadline/clock.h"
#include "beadline/send.h"

#define SEND_ANSWER_CAP    ((gsize)256 * 1024) /* bytes of an answer that are looked at */
#define SEND_ANSWER_SHOWN  300                 /* characters of it that are kept */
#define SEND_DEPTH         16                  /* nesting of a JSON answer */
#define SEND_RETRY_LONGEST 86400               /* seconds a gateway may ask us to wait */

struct flight {
    struct bl_parcel parcel;
    guint gateway;
    int64_t now; /* the caller's clock when it started */
};

/* One a gateway. */
struct lane {
    const struct bl_gateway *gateway;
    char *secret; /* NULL none */
    guint flying; /* started and not taken */
};

/* What is tidied up after an outcome was taken; settle may be NULL. */
struct leftover {
    void (*settle)(void *thing);
    void *thing;
};

/* First member of whatever curl reports on, found again through CURLOPT_PRIVATE. */
struct transfer {
    void (*over)(struct transfer *transfer, CURLcode result);
};

struct bl_sender {
    CURLM *multi;
    struct bl_clock clock;
    GArray *lanes;        /* struct lane, by the gateways' index */
    GQueue finished;      /* struct finished *, outcomes not taken yet */
    GArray *leftovers;    /* struct leftover of outcomes taken since the last start or poll */
    GPtrArray *lines;     /* struct line *, flying, resting and idle */
    GPtrArray *exchanges; /* struct exchange *, flying and resting */
};

/* sender.c */
struct lane *send_lane(struct bl_sender *sender, guint gateway);
int64_t send_ms(const struct bl_sender *sender);
/* Ends a flight: takes over what the outcome holds, frees the parcel. */
void send_finish(struct bl_sender *sender, struct flight *flight, struct bl_outcome *outcome,
                 struct leftover leftover);
/* Ends one that could not begin. */
void send_finish_unstarted(struct bl_sender *sender, struct flight *flight,
                           enum bl_verdict verdict, const char *why);

/* Tidies up after the outcomes taken so far. */
void send_settle(struct bl_sender *sender);

/* secret.c: the one line of the file, or NULL with BL_ERROR_INPUT. Caller frees. */
char *send_secret_read(const char *file, GError **error);
void send_secret_free(char *secret);

/* check.c: what is looked at again before anything is opened. */
bool send_check_gateway(const struct bl_gateway *gateway, GError **error);
bool send_check_parcel(const struct bl_gateway *gateway, const struct bl_parcel *parcel,
                       GError **error);
bool send_is_loopback(const char *host);

/* easy.c: a handle with the options every transfer has, reporting to transfer. plain: without
 * TLS, so towards this machine only. NULL when curl refuses an option. */
CURL *send_easy_new(const struct lane *lane, struct transfer *transfer, bool plain);

/* outcome.c: text of a stranger as one printable line of bounded length. Caller frees. */
char *send_answer(const char *bytes, gsize length);

/* json.c: whether the text is JSON at all, of a depth and size we read. */
bool send_json_reads(const char *json, gsize length);

/* smtp_talk.c: where a talk stands. */
struct smtp_stand {
    guint replies; /* complete ones so far */
    int code;      /* of the last one, 0 none */
    bool data;     /* a complete 354 was seen */
    int decided;   /* the first complete 2yz, 4yz or 5yz after it, 0 none */
    bool login;    /* a 235 was seen */
    bool flooded;  /* more bytes came than any answer needs */
};
struct smtp_stand send_talk_stand(const struct bl_smtp_talk *talk);

/* line.c: SMTP. */
void send_smtp_start(struct bl_sender *sender, struct flight *flight);
/* Moves every line on; whether one ended or began anew. */
bool send_smtp_step(struct bl_sender *sender);
/* Milliseconds until a line has to be looked at though nothing came; -1 never. */
int send_smtp_wait(const struct bl_sender *sender);
/* Appends what each line waits for (struct curl_waitfd). */
void send_smtp_watch(const struct bl_sender *sender, GArray *watches);
void send_smtp_stop(struct bl_sender *sender);

/* exchange.c: HTTP. */
void send_http_start(struct bl_sender *sender, struct flight *flight);
void send_http_stop(struct bl_sender *sender);

/* folder.c: writes and finishes at once. */
void send_folder_start(struct bl_sender *sender, struct flight *flight);

#endif
