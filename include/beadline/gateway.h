/*
 * A gateway as configured: an SMTP server, an HTTP service, or a folder. Plain data.
 */
#ifndef BEADLINE_GATEWAY_H
#define BEADLINE_GATEWAY_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/words.h"

enum bl_gateway_kind { BL_GATEWAY_FOLDER, BL_GATEWAY_SMTP, BL_GATEWAY_HTTP };

/* What an outcome nobody can know means: "resend" (mail, or where the key is honoured) or "ask"
 * the owner. */
enum bl_unsure { BL_UNSURE_RESEND, BL_UNSURE_ASK };

/* SMTP: "tls" from the first byte, or "starttls" demanded before anything else is said; "none"
 * only towards this machine itself (a loopback address). */
enum bl_tls { BL_TLS_IMPLICIT, BL_TLS_STARTTLS, BL_TLS_NONE };

struct bl_header_form {
    char *name;
    char *value; /* Mustache, escaped for a header */
};

struct bl_gateway {
    char *name;
    enum bl_gateway_kind kind;
    enum bl_unsure unsure;
    int connections; /* transfers at once, 1..32 */
    int timeout_s; /* to connect (login included), and for each later reply before the body; 60
                    */
    int answer_timeout_s; /* after the final dot, or for a request beyond timeout_s; 600 */

    /* folder */
    char *folder; /* absolute path */

    /* smtp and http */
    char *host; /* smtp */
    int port;
    enum bl_tls tls;
    char *ca_file;     /* a pinned authority; NULL the system's */
    char *user;        /* NULL: no AUTH (smtp), no Basic (http) */
    char *secret_file; /* password or token, one line */
    char *from;        /* envelope sender (smtp) */

    /* http */
    char *url;           /* Mustache, each value percent-encoded; https, or http to loopback */
    char *method;        /* "POST", "PUT", "GET" */
    GArray *headers;     /* struct bl_header_form */
    char *body;          /* Mustache; NULL none */
    char *body_kind;     /* "json" or "form" or "text": how values are escaped and labelled */
    GArray *accepted;    /* int: HTTP statuses that mean taken (200, 201, 202) */
    char *accepted_path; /* JSON path whose value must be accepted_value, or NULL */
    char *accepted_value;
    char *reference_path; /* JSON path of the gateway's reference, or NULL */
    char *opted_out_path; /* JSON path whose value opted_out_value means: silenced there */
    char *opted_out_value;
};

/* Frees what a gateway holds, the texts inside `headers` one by one, and leaves its pointers
 * NULL. */
void bl_gateway_clear(struct bl_gateway *gateway);

#endif
