/*
 * The folder: one file a message, named by its key, there whole or not at all. A key that is
 * there already was accepted before; writing again would only be the same message twice.
 */
#include <errno.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "send_inside.h"

static int open_folder(const char *folder)
{
    if (g_mkdir_with_parents(folder, 0700) < 0) {
        return -1;
    }
    return open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
}

static bool write_all(int fd, const char *bytes, gsize length)
{
    while (length > 0) {
        ssize_t written = write(fd, bytes, length);
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written < 0) {
            return false;
        }
        bytes += written;
        length -= (gsize)written;
    }
    return true;
}

/* Closes without losing the error that made us close. */
static bool close_after(int fd, bool good)
{
    int problem = errno;
    bool closed = close(fd) == 0;
    errno = good ? errno : problem;
    return good && closed;
}

static bool write_part(int folder, const char *part, GBytes *body)
{
    gsize length = 0;
    const char *bytes = body ? g_bytes_get_data(body, &length) : "";
    /* One left by a crash is of no use. */
    unlinkat(folder, part, 0);
    int fd = openat(folder, part, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (fd < 0) {
        return false;
    }
    return close_after(fd, write_all(fd, bytes, length) && fsync(fd) == 0);
}

static bool is_there(int folder, const char *name)
{
    struct stat about;
    return fstatat(folder, name, &about, AT_SYMLINK_NOFOLLOW) == 0;
}

/* Leaves errno when it fails. */
static bool put(int folder, const char *name, GBytes *body)
{
    g_autofree char *part = g_strconcat(".", name, ".part", NULL);
    if (!is_there(folder, name) &&
        (!write_part(folder, part, body) || renameat(folder, part, folder, name) < 0)) {
        int problem = errno;
        unlinkat(folder, part, 0);
        errno = problem;
        return false;
    }
    return fsync(folder) == 0;
}

void send_folder_start(struct bl_sender *sender, struct flight *flight)
{
    const char *folder = send_lane(sender, flight->gateway)->gateway->folder;
    const char *suffix = flight->parcel.suffix ? flight->parcel.suffix : "";
    g_autofree char *name = g_strconcat(flight->parcel.key, suffix, NULL);
    int fd = open_folder(folder);
    bool good = fd >= 0 && put(fd, name, flight->parcel.body);
    int problem = errno;
    if (fd >= 0) {
        close(fd);
    }
    if (!good) {
        g_autofree char *why =
            g_strdup_printf("cannot write to \"%s\": %s", folder, g_strerror(problem));
        send_finish_unstarted(sender, flight, BL_LATER, why);
        return;
    }
    struct bl_outcome outcome = {.verdict = BL_ACCEPTED,
                                 .answer = g_strdup_printf("written to \"%s\"", folder),
                                 .reference = g_steal_pointer(&name)};
    send_finish(sender, flight, &outcome, (struct leftover){0});
}
