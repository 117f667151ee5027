/*
 * One HTTP request and its answer. Connections are curl's to keep and reuse; what we add is
 * that a request leaves once: curl would by itself send one again when a kept connection dies
 * under it, and where the gateway honours no key that would be a second message.
 */
#include <string.h>

#include "send_inside.h"

struct exchange {
    struct transfer transfer; /* first: found again through it */
    struct bl_sender *sender;
    struct flight flight;
    CURL *easy;
    struct curl_slist *headers;
    gsize body_sent;
    bool sent;          /* a byte of the request may have left */
    int status;         /* of the last status line, 0 none */
    char *retry_after;  /* the header's value */
    int64_t server_now; /* the answer's Date, -1 none */
    GString *answer;
    bool too_long;
    char fault[CURL_ERROR_SIZE];
};

static void exchange_free(struct exchange *exchange)
{
    if (exchange->easy) {
        curl_multi_remove_handle(exchange->sender->multi, exchange->easy);
        curl_easy_cleanup(exchange->easy);
    }
    curl_slist_free_all(exchange->headers);
    bl_parcel_clear(&exchange->flight.parcel);
    g_free(exchange->retry_after);
    g_string_free(exchange->answer, TRUE);
    g_free(exchange);
}

static void settle(void *thing)
{
    struct exchange *exchange = thing;
    g_ptr_array_remove_fast(exchange->sender->exchanges, exchange);
    exchange_free(exchange);
}

void send_http_stop(struct bl_sender *sender)
{
    g_ptr_array_foreach(sender->exchanges, (GFunc)(void (*)(void))exchange_free, NULL);
    g_ptr_array_set_size(sender->exchanges, 0);
}

/* Right before the request is written, and again if curl means to write it a second time. */
// NOLINTNEXTLINE(readability-non-const-parameter): curl's type
static int before_request(void *thing, char *to, char *from, int to_port, int from_port)
{
    struct exchange *exchange = thing;
    (void)to;
    (void)from;
    (void)to_port;
    (void)from_port;
    if (exchange->sent) {
        return CURL_PREREQFUNC_ABORT;
    }
    exchange->sent = true;
    return CURL_PREREQFUNC_OK;
}

static size_t read_body(char *to, size_t size, size_t count, void *thing)
{
    struct exchange *exchange = thing;
    gsize length = 0;
    const char *body = g_bytes_get_data(exchange->flight.parcel.body, &length);
    gsize part = MIN(size * count, length - exchange->body_sent);
    if (part > 0) {
        memcpy(to, body + exchange->body_sent, part);
    }
    exchange->body_sent += part;
    return part;
}

/* A header's value when the line is that header, else NULL. Caller frees. */
static char *value_of(const char *line, gsize length, const char *name)
{
    gsize prefix = strlen(name);
    if (length <= prefix || g_ascii_strncasecmp(line, name, prefix) != 0) {
        return NULL;
    }
    return g_strstrip(g_strndup(line + prefix, length - prefix));
}

/* "HTTP/1.1 202 Accepted": a new status line begins a new answer (after a 100, say). */
static bool read_status(struct exchange *exchange, const char *line, gsize length)
{
    if (length < 5 || memcmp(line, "HTTP/", 5) != 0) {
        return false;
    }
    g_autofree char *text = g_strndup(line, MIN(length, (gsize)64));
    const char *space = strchr(text, ' ');
    exchange->status = space ? (int)g_ascii_strtoull(space + 1, NULL, 10) : 0;
    g_clear_pointer(&exchange->retry_after, g_free);
    exchange->server_now = -1;
    return true;
}

static size_t read_header(char *line, size_t size, size_t count, void *thing)
{
    struct exchange *exchange = thing;
    gsize length = size * count;
    if (read_status(exchange, line, length)) {
        return length;
    }
    char *wait = value_of(line, length, "retry-after:");
    if (wait) {
        g_free(exchange->retry_after);
        exchange->retry_after = wait;
    }
    g_autofree char *date = value_of(line, length, "date:");
    if (date) {
        exchange->server_now = curl_getdate(date, NULL);
    }
    return length;
}

static size_t read_answer(char *bytes, size_t size, size_t count, void *thing)
{
    struct exchange *exchange = thing;
    gsize length = size * count;
    if (exchange->answer->len + length > SEND_ANSWER_CAP) {
        exchange->too_long = true;
        return 0;
    }
    g_string_append_len(exchange->answer, bytes, (gssize)length);
    return length;
}

static const char *fault_of(const struct exchange *exchange, CURLcode result)
{
    if (result == CURLE_OK) {
        return NULL;
    }
    if (exchange->too_long) {
        return "its answer is longer than 256 KiB";
    }
    return *exchange->fault ? exchange->fault : curl_easy_strerror(result);
}

static void over(struct transfer *transfer, CURLcode result)
{
    struct exchange *exchange = (struct exchange *)transfer;
    struct flight *flight = &exchange->flight;
    const struct bl_gateway *gateway = send_lane(exchange->sender, flight->gateway)->gateway;
    struct bl_outcome outcome = {0};
    /* A date to come back at is meant on the server's own clock, when it shows that. */
    int64_t now = exchange->server_now >= 0 ? exchange->server_now : flight->now;
    const struct bl_http_answer answer = {
        .status = exchange->status,
        /* A body that was cut is not the answer: nothing may be read out of it. */
        .body = result == CURLE_OK ? exchange->answer->str : NULL,
        .length = exchange->answer->len,
        .sent = exchange->sent,
        .retry_after = bl_retry_after(exchange->retry_after, now),
        .transfer = fault_of(exchange, result),
    };
    bl_http_verdict(gateway, &answer, &outcome);
    send_finish(exchange->sender, flight, &outcome, (struct leftover){settle, exchange});
}

static bool add_header(struct exchange *exchange, const char *line)
{
    struct curl_slist *longer = curl_slist_append(exchange->headers, line);
    exchange->headers = longer ? longer : exchange->headers;
    return longer != NULL;
}

static bool set_headers(struct exchange *exchange)
{
    char **lines = exchange->flight.parcel.headers;
    for (guint i = 0; lines && lines[i]; i++) {
        if (!add_header(exchange, lines[i])) {
            return false;
        }
    }
    /* No waiting for a go-ahead that simple gateways never give. */
    return add_header(exchange, "Expect:") &&
           !curl_easy_setopt(exchange->easy, CURLOPT_HTTPHEADER, exchange->headers);
}

/* The body is read through a callback that cannot start over: one more reason for curl not to
 * send it twice. */
static bool set_body(struct exchange *exchange, const char *method)
{
    CURL *easy = exchange->easy;
    GBytes *body = exchange->flight.parcel.body;
    bool posts = body || !g_str_equal(method, "GET");
    if (posts) {
        curl_off_t length = body ? (curl_off_t)g_bytes_get_size(body) : 0;
        if (curl_easy_setopt(easy, CURLOPT_POST, 1L) ||
            curl_easy_setopt(easy, CURLOPT_POSTFIELDSIZE_LARGE, length) ||
            (!body && curl_easy_setopt(easy, CURLOPT_POSTFIELDS, ""))) {
            return false;
        }
    }
    return !curl_easy_setopt(easy, CURLOPT_READFUNCTION, read_body) &&
           !curl_easy_setopt(easy, CURLOPT_READDATA, exchange) &&
           (posts || !curl_easy_setopt(easy, CURLOPT_HTTPGET, 1L)) &&
           !curl_easy_setopt(easy, CURLOPT_CUSTOMREQUEST, method);
}

static bool set_callbacks(struct exchange *exchange)
{
    CURL *easy = exchange->easy;
    return !curl_easy_setopt(easy, CURLOPT_PREREQFUNCTION, before_request) &&
           !curl_easy_setopt(easy, CURLOPT_PREREQDATA, exchange) &&
           !curl_easy_setopt(easy, CURLOPT_HEADERFUNCTION, read_header) &&
           !curl_easy_setopt(easy, CURLOPT_HEADERDATA, exchange) &&
           !curl_easy_setopt(easy, CURLOPT_WRITEFUNCTION, read_answer) &&
           !curl_easy_setopt(easy, CURLOPT_WRITEDATA, exchange) &&
           !curl_easy_setopt(easy, CURLOPT_ERRORBUFFER, exchange->fault);
}

static bool prepare(struct exchange *exchange)
{
    const struct lane *lane = send_lane(exchange->sender, exchange->flight.gateway);
    const struct bl_gateway *gateway = lane->gateway;
    exchange->easy =
        send_easy_new(lane, &exchange->transfer, g_str_has_prefix(gateway->url, "http://"));
    long whole = (long)gateway->timeout_s + gateway->answer_timeout_s;
    return exchange->easy && set_callbacks(exchange) && set_headers(exchange) &&
           set_body(exchange, gateway->method ? gateway->method : "POST") &&
           !curl_easy_setopt(exchange->easy, CURLOPT_URL, exchange->flight.parcel.url) &&
           !curl_easy_setopt(exchange->easy, CURLOPT_USERAGENT, "beadline/" BL_VERSION) &&
           /* One request a connection at a time, so that `connections` means what it says. */
           !curl_easy_setopt(exchange->easy, CURLOPT_HTTP_VERSION,
                             (long)CURL_HTTP_VERSION_1_1) &&
           !curl_easy_setopt(exchange->easy, CURLOPT_TIMEOUT, whole) &&
           !curl_multi_add_handle(exchange->sender->multi, exchange->easy);
}

void send_http_start(struct bl_sender *sender, struct flight *flight)
{
    struct exchange *exchange = g_new0(struct exchange, 1);
    exchange->transfer.over = over;
    exchange->sender = sender;
    exchange->flight = *flight;
    exchange->server_now = -1;
    exchange->answer = g_string_new(NULL);
    if (!prepare(exchange)) {
        flight->parcel = exchange->flight.parcel;
        exchange->flight.parcel = (struct bl_parcel){0};
        exchange_free(exchange);
        send_finish_unstarted(sender, flight, BL_LATER, "the request could not be prepared");
        return;
    }
    g_ptr_array_add(sender->exchanges, exchange);
}
