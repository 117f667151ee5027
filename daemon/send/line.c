/*
 * Lines to mail servers: opened when a mail needs one, kept a moment for the next, closed
 * without waiting for the server's good-bye.
 */
#include "line.h"

#include <string.h>

#define IDLE_MS 10000 /* short enough for every server and every router on the way */

static const struct bl_gateway *gateway_of(const struct line *line)
{
    return send_lane(line->sender, line->gateway)->gateway;
}

/* The machine's name where it is one a server may be told, else "localhost". */
static const char *own_name(void)
{
    static const char allowed[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.";
    const char *name = g_get_host_name();
    size_t length = strlen(name);
    bool good = length > 0 && length <= 255 && strspn(name, allowed) == length &&
                g_ascii_isalnum(name[0]);
    return good ? name : "localhost";
}

/* curl's text for the server's address; NULL when it is none. Caller frees with curl_free. */
static char *address_of(const struct bl_gateway *gateway)
{
    g_autofree char *port = g_strdup_printf("%d", gateway->port);
    g_autofree char *host = strchr(gateway->host, ':') ? g_strdup_printf("[%s]", gateway->host)
                                                       : g_strdup(gateway->host);
    g_autofree char *path = g_strconcat("/", own_name(), NULL);
    char *text = NULL;
    CURLU *url = curl_url();
    if (!url ||
        curl_url_set(url, CURLUPART_SCHEME, gateway->tls == BL_TLS_IMPLICIT ? "smtps" : "smtp",
                     0) ||
        curl_url_set(url, CURLUPART_HOST, host, 0) ||
        (gateway->port > 0 && curl_url_set(url, CURLUPART_PORT, port, 0)) ||
        curl_url_set(url, CURLUPART_PATH, path, 0) ||
        curl_url_get(url, CURLUPART_URL, &text, 0)) {
        text = NULL;
    }
    curl_url_cleanup(url);
    return text;
}

/* Every complete line the server says while curl connects. */
static size_t hear(char *bytes, size_t size, size_t count, void *thing)
{
    struct line *line = thing;
    bl_smtp_talk_add(line->talk, bytes, size * count);
    return send_talk_stand(line->talk).flooded ? 0 : size * count;
}

static bool set_options(struct line *line, const char *address)
{
    CURL *easy = line->easy;
    return !curl_share_setopt(line->share, CURLSHOPT_SHARE, CURL_LOCK_DATA_CONNECT) &&
           !curl_easy_setopt(easy, CURLOPT_SHARE, line->share) &&
           !curl_easy_setopt(easy, CURLOPT_URL, address) &&
           !curl_easy_setopt(easy, CURLOPT_CONNECT_ONLY, 1L) &&
           !curl_easy_setopt(easy, CURLOPT_HEADERFUNCTION, hear) &&
           !curl_easy_setopt(easy, CURLOPT_HEADERDATA, line) &&
           !curl_easy_setopt(easy, CURLOPT_ERRORBUFFER, line->fault);
}

bool line_connect(struct line *line)
{
    const struct lane *lane = send_lane(line->sender, line->gateway);
    char *address = address_of(lane->gateway);
    line->step = LINE_CONNECTING;
    line->used = line->dirty = line->keep = line->no_login = false;
    line->fault[0] = '\0';
    line->share = curl_share_init();
    line->easy = send_easy_new(lane, &line->transfer, lane->gateway->tls == BL_TLS_NONE);
    bool good = address && line->share && line->easy && set_options(line, address) &&
                !curl_multi_add_handle(line->sender->multi, line->easy);
    curl_free(address);
    return good;
}

/* Says good-bye at most, and waits for nothing: curl takes a connection of this kind for dead
 * and just closes it. */
void line_disconnect(struct line *line, bool politely)
{
    size_t written;
    if (line->easy && politely) {
        curl_easy_send(line->easy, "QUIT\r\n", strlen("QUIT\r\n"), &written);
    }
    if (line->easy) {
        curl_multi_remove_handle(line->sender->multi, line->easy);
        curl_easy_cleanup(g_steal_pointer(&line->easy));
    }
    if (line->share) {
        curl_share_cleanup(g_steal_pointer(&line->share));
    }
}

static void line_free(struct line *line, bool politely)
{
    line_disconnect(line, politely);
    bl_parcel_clear(&line->flight.parcel);
    bl_smtp_talk_free(line->talk);
    g_string_free(line->out, TRUE);
    g_free(line);
}

static void drop(struct line *line, bool politely)
{
    g_ptr_array_remove_fast(line->sender->lines, line);
    line_free(line, politely);
}

/* The outcome was taken: the line is free for the next mail, or closed. */
void line_settle(void *thing)
{
    struct line *line = thing;
    if (!line->keep) {
        drop(line, false);
        return;
    }
    line->step = LINE_IDLE;
    line->used = true;
    line->deadline = send_ms(line->sender) + IDLE_MS;
}

/* Connected or not: curl has done its part. Without a login it goes on where the server offers
 * none; we do not, for we were told to log in. */
static void over(struct transfer *transfer, CURLcode result)
{
    struct line *line = (struct line *)transfer;
    struct smtp_stand stand = send_talk_stand(line->talk);
    bool lacks_login = gateway_of(line)->user && !stand.login;
    line->no_login = lacks_login && stand.code / 100 != 4 &&
                     (result == CURLE_OK || result == CURLE_LOGIN_DENIED);
    if (result != CURLE_OK) {
        dialogue_end(line, *line->fault ? line->fault : curl_easy_strerror(result));
    } else if (lacks_login) {
        dialogue_end(line, "the server offers no login");
    } else {
        dialogue_begin(line);
    }
}

static struct line *idle_line(const struct bl_sender *sender, guint gateway)
{
    for (guint i = 0; i < sender->lines->len; i++) {
        struct line *line = g_ptr_array_index(sender->lines, i);
        if (line->gateway == gateway && line->step == LINE_IDLE) {
            return line;
        }
    }
    return NULL;
}

static struct line *new_line(struct bl_sender *sender, guint gateway)
{
    struct line *line = g_new0(struct line, 1);
    line->transfer.over = over;
    line->sender = sender;
    line->gateway = gateway;
    line->out = g_string_new(NULL);
    g_ptr_array_add(sender->lines, line);
    return line;
}

void send_smtp_start(struct bl_sender *sender, struct flight *flight)
{
    struct line *line = idle_line(sender, flight->gateway);
    bool fresh = !line;
    if (fresh) {
        line = new_line(sender, flight->gateway);
    }
    line->flight = *flight;
    bl_smtp_talk_free(line->talk);
    line->talk = bl_smtp_talk_new();
    if (!fresh) {
        dialogue_begin(line);
    } else if (!line_connect(line)) {
        dialogue_end(line, "the connection could not be prepared");
    }
}

/* An idle server that says something says good-bye; nothing else is due. */
static bool idle_is_over(struct line *line, int64_t now, bool *politely)
{
    char byte;
    size_t got;
    *politely = curl_easy_recv(line->easy, &byte, 1, &got) == CURLE_AGAIN;
    return !*politely || now >= line->deadline;
}

bool send_smtp_step(struct bl_sender *sender)
{
    bool ended = false;
    int64_t now = send_ms(sender);
    for (guint i = sender->lines->len; i-- > 0;) {
        struct line *line = g_ptr_array_index(sender->lines, i);
        bool politely;
        if (line->step == LINE_IDLE && idle_is_over(line, now, &politely)) {
            drop(line, politely);
        } else if (line->step > LINE_CONNECTING && line->step < LINE_OVER) {
            ended = dialogue_step(line) || ended;
        }
    }
    return ended;
}

static bool has_deadline(const struct line *line)
{
    return line->step != LINE_CONNECTING && line->step != LINE_OVER;
}

int send_smtp_wait(const struct bl_sender *sender)
{
    int64_t first = -1;
    for (guint i = 0; i < sender->lines->len; i++) {
        const struct line *line = g_ptr_array_index(sender->lines, i);
        if (has_deadline(line) && (first < 0 || line->deadline < first)) {
            first = line->deadline;
        }
    }
    return first < 0 ? -1 : (int)CLAMP(first - send_ms(sender), 0, G_MAXINT);
}

void send_smtp_watch(const struct bl_sender *sender, GArray *watches)
{
    for (guint i = 0; i < sender->lines->len; i++) {
        const struct line *line = g_ptr_array_index(sender->lines, i);
        curl_socket_t socket = CURL_SOCKET_BAD;
        if (!has_deadline(line) ||
            curl_easy_getinfo(line->easy, CURLINFO_ACTIVESOCKET, &socket) != CURLE_OK ||
            socket == CURL_SOCKET_BAD) {
            continue;
        }
        bool writes = line->written < line->out->len;
        struct curl_waitfd watch = {
            .fd = socket, .events = CURL_WAIT_POLLIN | (writes ? CURL_WAIT_POLLOUT : 0)};
        g_array_append_val(watches, watch);
    }
}

void send_smtp_stop(struct bl_sender *sender)
{
    for (guint i = 0; i < sender->lines->len; i++) {
        struct line *line = g_ptr_array_index(sender->lines, i);
        line_free(line, line->step == LINE_IDLE);
    }
    g_ptr_array_set_size(sender->lines, 0);
}
