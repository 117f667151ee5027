/*
 * The other side of the bench: one thread on epoll that takes mails or requests as fast as they
 * come and keeps nothing but a count, so that the sender is what is measured.
 *
 *     sink smtp|http
 *
 * Prints its port, then after each line on standard input how many messages came since the last
 * one and how many different keys they had. Ends with its standard input.
 */
#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <glib.h>
#include <netinet/tcp.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

struct peer {
    int fd;
    GString *in;
    bool data; /* smtp: between DATA and the dot */
};

struct sink {
    int epoll, listener;
    bool (*hear)(struct sink *sink, struct peer *peer); /* false: the peer is done */
    GHashTable *keys;
    guint messages;
};

static bool say(const struct peer *peer, const char *text)
{
    size_t length = strlen(text);
    return send(peer->fd, text, length, MSG_NOSIGNAL) == (ssize_t)length;
}

/* The text between before and after, counted as a key. */
static void count(struct sink *sink, const char *head, gsize length, const char *before,
                  char after)
{
    const char *key = g_strstr_len(head, (gssize)length, before);
    sink->messages++;
    if (key) {
        key += strlen(before);
        const char *end = memchr(key, after, length - (gsize)(key - head));
        g_hash_table_add(sink->keys, g_strndup(key, end ? (gsize)(end - key) : 0));
    }
}

static bool hear_mail(struct sink *sink, struct peer *peer, bool *moved)
{
    const char *dot = g_strstr_len(peer->in->str, (gssize)peer->in->len, "\r\n.\r\n");
    if (!dot) {
        return true;
    }
    gsize length = (gsize)(dot - peer->in->str);
    count(sink, peer->in->str, length, "Message-ID: <", '>');
    g_string_erase(peer->in, 0, (gssize)length + 5);
    peer->data = false;
    *moved = true;
    return say(peer, "250 2.0.0 taken\r\n");
}

static bool hear_command(struct peer *peer, bool *moved)
{
    static const struct {
        const char *verb, *reply;
    } replies[] = {{"EHLO", "250-sink.example.com\r\n250 8BITMIME\r\n"},
                   {"MAIL", "250 2.1.0 ok\r\n"},
                   {"RCPT", "250 2.1.5 ok\r\n"},
                   {"RSET", "250 2.0.0 ok\r\n"},
                   {"DATA", "354 go on\r\n"}};
    const char *end = memchr(peer->in->str, '\n', peer->in->len);
    if (!end) {
        return true;
    }
    for (gsize i = 0; i < G_N_ELEMENTS(replies); i++) {
        if (g_ascii_strncasecmp(peer->in->str, replies[i].verb, 4) == 0) {
            peer->data = replies[i].reply[0] == '3';
            g_string_erase(peer->in, 0, end - peer->in->str + 1);
            *moved = true;
            return say(peer, replies[i].reply);
        }
    }
    return false; /* QUIT among them */
}

static bool hear_smtp(struct sink *sink, struct peer *peer)
{
    bool moved = true;
    bool good = true;
    while (good && moved) {
        moved = false;
        good = peer->data ? hear_mail(sink, peer, &moved) : hear_command(peer, &moved);
    }
    return good;
}

static gsize body_length(const char *head, gsize length)
{
    static const char name[] = "Content-Length: ";
    const char *value = g_strstr_len(head, (gssize)length, name);
    return value ? (gsize)g_ascii_strtoull(value + strlen(name), NULL, 10) : 0;
}

static bool hear_http(struct sink *sink, struct peer *peer)
{
    static const char answer[] = "HTTP/1.1 202 Accepted\r\nContent-Type: application/json\r\n"
                                 "Content-Length: 32\r\n\r\n"
                                 "{\"status\":\"queued\",\"id\":\"n-001\"}";
    const char *end;
    while ((end = g_strstr_len(peer->in->str, (gssize)peer->in->len, "\r\n\r\n"))) {
        gsize head = (gsize)(end - peer->in->str) + 4;
        gsize whole = head + body_length(peer->in->str, head);
        if (peer->in->len < whole) {
            return true;
        }
        count(sink, peer->in->str, head, "Idempotency-Key: ", '\r');
        g_string_erase(peer->in, 0, (gssize)whole);
        if (!say(peer, answer)) {
            return false;
        }
    }
    return true;
}

static void watch(struct sink *sink, int fd, void *thing)
{
    struct epoll_event event = {.events = EPOLLIN, .data.ptr = thing};
    g_assert(epoll_ctl(sink->epoll, EPOLL_CTL_ADD, fd, &event) == 0);
}

static void greet(struct sink *sink)
{
    int yes = 1;
    int fd = accept4(sink->listener, NULL, NULL, SOCK_NONBLOCK | SOCK_CLOEXEC);
    if (fd < 0) {
        return;
    }
    struct peer *peer = g_new0(struct peer, 1);
    peer->fd = fd;
    peer->in = g_string_new(NULL);
    setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &yes, sizeof yes);
    watch(sink, fd, peer);
    if (sink->hear == hear_smtp) {
        say(peer, "220 sink.example.com\r\n");
    }
}

static void part(struct peer *peer)
{
    close(peer->fd);
    g_string_free(peer->in, TRUE);
    g_free(peer);
}

static void hear(struct sink *sink, struct peer *peer)
{
    char bytes[65536];
    ssize_t got = recv(peer->fd, bytes, sizeof bytes, 0);
    if (got < 0 && (errno == EAGAIN || errno == EINTR)) {
        return;
    }
    if (got > 0) {
        g_string_append_len(peer->in, bytes, got);
    }
    if (got <= 0 || !sink->hear(sink, peer)) {
        part(peer);
    }
}

/* False at the end of the input. */
static bool report(struct sink *sink)
{
    char line[64];
    if (read(STDIN_FILENO, line, sizeof line) <= 0) {
        return false;
    }
    printf("%u %u\n", sink->messages, g_hash_table_size(sink->keys));
    fflush(stdout);
    sink->messages = 0;
    g_hash_table_remove_all(sink->keys);
    return true;
}

static void listen_up(struct sink *sink)
{
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t size = sizeof at;
    sink->epoll = epoll_create1(EPOLL_CLOEXEC);
    sink->listener = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    g_assert(bind(sink->listener, (const struct sockaddr *)&at, sizeof at) == 0);
    g_assert(listen(sink->listener, 128) == 0);
    g_assert(getsockname(sink->listener, (struct sockaddr *)&at, &size) == 0);
    watch(sink, sink->listener, sink);
    watch(sink, STDIN_FILENO, NULL);
    printf("%d\n", ntohs(at.sin_port));
    fflush(stdout);
}

int main(int argc, char **argv)
{
    struct sink sink = {0};
    struct epoll_event events[64];
    if (argc != 2 || (strcmp(argv[1], "smtp") != 0 && strcmp(argv[1], "http") != 0)) {
        fprintf(stderr, "usage: sink smtp|http\n");
        return 2;
    }
    sink.hear = strcmp(argv[1], "smtp") == 0 ? hear_smtp : hear_http;
    sink.keys = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    listen_up(&sink);
    for (;;) {
        int count_ready = epoll_wait(sink.epoll, events, G_N_ELEMENTS(events), -1);
        for (int i = 0; i < count_ready; i++) {
            void *thing = events[i].data.ptr;
            if (thing == &sink) {
                greet(&sink);
            } else if (thing) {
                hear(&sink, thing);
            } else if (!report(&sink)) {
                return 0;
            }
        }
    }
}
