/* inotify over the database's folder. */
#include "watch.h"

#include <errno.h>
#include <string.h>
#include <sys/inotify.h>
#include <unistd.h>

#include "beadline/error.h"

bool watch_open(struct watch *watch, const char *database, GError **error)
{
    g_autofree char *folder = g_path_get_dirname(database);
    watch->name = g_path_get_basename(database);
    watch->wal = g_strconcat(watch->name, "-wal", NULL);
    watch->fd = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    if (watch->fd < 0 ||
        inotify_add_watch(watch->fd, folder, IN_MODIFY | IN_CREATE | IN_MOVED_TO) < 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "folder \"%s\" cannot be watched: %s",
                    folder, g_strerror(errno));
        return false;
    }
    return true;
}

void watch_close(struct watch *watch)
{
    if (watch->fd >= 0) {
        close(watch->fd);
    }
    g_free(watch->name);
    g_free(watch->wal);
    *watch = (struct watch){.fd = -1};
}

static bool concerns(const struct watch *watch, const struct inotify_event *event)
{
    if (event->mask & IN_Q_OVERFLOW) {
        return true;
    }
    return event->len > 0 &&
           (strcmp(event->name, watch->name) == 0 || strcmp(event->name, watch->wal) == 0);
}

bool watch_read(struct watch *watch)
{
    _Alignas(struct inotify_event) char buffer[8192];
    bool seen = false;
    ssize_t length;
    while ((length = read(watch->fd, buffer, sizeof buffer)) > 0) {
        for (char *at = buffer; at < buffer + length;) {
            const struct inotify_event *event = (const struct inotify_event *)(const void *)at;
            seen = seen || concerns(watch, event);
            at += sizeof *event + event->len;
        }
    }
    return seen;
}
