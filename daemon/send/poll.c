/*
 * The daemon's only wait: over the transfers, the idle connections and the caller's own
 * descriptors. Nothing in here blocks but the poll itself.
 */
#include <errno.h>
#include <limits.h>
#include <poll.h>

#include "beadline/error.h"
#include "send_inside.h"

static bool fail(GError **error, CURLMcode code)
{
    g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "waiting for the network failed: %s",
                curl_multi_strerror(code));
    return false;
}

/* Tells each transfer that ended. Messages are copied: a callee may touch the handle. */
static bool drain(struct bl_sender *sender)
{
    bool any = false;
    CURLMsg *message;
    int left;
    while ((message = curl_multi_info_read(sender->multi, &left)) != NULL) {
        if (message->msg != CURLMSG_DONE) {
            continue;
        }
        CURLcode result = message->data.result;
        struct transfer *transfer = NULL;
        curl_easy_getinfo(message->easy_handle, CURLINFO_PRIVATE, &transfer);
        transfer->over(transfer, result);
        any = true;
    }
    return any;
}

/* Moves everything as far as it goes without waiting. A handle that was added, or one that
 * ended, needs another perform: without it the poll would sleep its whole time. */
static bool advance(struct bl_sender *sender, GError **error)
{
    bool moved = true;
    while (moved) {
        int running;
        CURLMcode code = curl_multi_perform(sender->multi, &running);
        if (code != CURLM_OK) {
            return fail(error, code);
        }
        moved = drain(sender);
        moved = send_smtp_step(sender) || moved;
    }
    return true;
}

static unsigned short to_wait(short events)
{
    return (unsigned short)(((events & POLLIN) ? CURL_WAIT_POLLIN : 0) |
                            ((events & POLLPRI) ? CURL_WAIT_POLLPRI : 0) |
                            ((events & POLLOUT) ? CURL_WAIT_POLLOUT : 0));
}

static GArray *watches(const struct bl_sender *sender, const struct pollfd *fds, guint count)
{
    GArray *all = g_array_new(FALSE, TRUE, sizeof(struct curl_waitfd));
    for (guint i = 0; i < count; i++) {
        if (fds[i].fd >= 0) {
            struct curl_waitfd watch = {.fd = fds[i].fd,
                                        .events = (short)to_wait(fds[i].events)};
            g_array_append_val(all, watch);
        }
    }
    send_smtp_watch(sender, all);
    return all;
}

static int wait_ms(const struct bl_sender *sender, int timeout_ms)
{
    int wait = timeout_ms < 0 ? INT_MAX : timeout_ms;
    int line = send_smtp_wait(sender);
    if (!g_queue_is_empty((GQueue *)&sender->finished)) {
        return 0;
    }
    return line >= 0 ? MIN(wait, line) : wait;
}

/* curl keeps no hang-ups and errors of descriptors that are not its own: look once more. */
static bool look(struct pollfd *fds, guint count, GError **error)
{
    int got;
    do {
        got = poll(fds, count, 0);
    } while (got < 0 && errno == EINTR);
    if (got < 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "waiting failed: %s", g_strerror(errno));
    }
    return got >= 0;
}

bool bl_sender_poll(struct bl_sender *sender, struct pollfd *fds, guint count, int timeout_ms,
                    GError **error)
{
    send_settle(sender);
    if (!advance(sender, error)) {
        return false;
    }
    g_autoptr(GArray) all = watches(sender, fds, count);
    CURLMcode code = curl_multi_poll(sender->multi, (struct curl_waitfd *)(void *)all->data,
                                     all->len, wait_ms(sender, timeout_ms), NULL);
    if (code != CURLM_OK) {
        return fail(error, code);
    }
    return look(fds, count, error) && advance(sender, error);
}
