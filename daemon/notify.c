/* The sd_notify datagram protocol, as its manual page describes it; no library is needed for
 * it. */
#include "notify.h"

#include <errno.h>
#include <glib.h>
#include <stddef.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

void notify_state(const char *state)
{
    const char *path = g_getenv("NOTIFY_SOCKET");
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    if (!path || (path[0] != '/' && path[0] != '@') ||
        strlen(path) >= sizeof address.sun_path) {
        return;
    }
    size_t length = strlen(path);
    memcpy(address.sun_path, path, length);
    if (path[0] == '@') {
        address.sun_path[0] = '\0'; /* the abstract name space */
    }
    int fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    if (fd < 0) {
        return;
    }
    const struct timeval patience = {.tv_sec = 1}; /* its queue is full while nobody listens */
    setsockopt(fd, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
    socklen_t size = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length);
    ssize_t sent =
        sendto(fd, state, strlen(state), MSG_NOSIGNAL, (const struct sockaddr *)&address, size);
    (void)sent;
    close(fd);
}

int notify_watchdog_ms(void)
{
    const char *every = g_getenv("WATCHDOG_USEC");
    const char *whose = g_getenv("WATCHDOG_PID");
    guint64 usec = 0;
    guint64 pid = 0;
    if (!every || !g_ascii_string_to_unsigned(every, 10, 1, G_MAXINT, &usec, NULL)) {
        return -1;
    }
    if (whose && (!g_ascii_string_to_unsigned(whose, 10, 1, G_MAXINT, &pid, NULL) ||
                  pid != (guint64)getpid())) {
        return -1;
    }
    return (int)MAX(usec / 2000, 1);
}
