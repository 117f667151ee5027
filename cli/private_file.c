/* Written beside its place under another name, then moved there. */
#include "private_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "beadline/error.h"
#include "beadline/signals.h"

static bool outside(const char *path, GError **error)
{
    g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "file \"%s\": %s", path, g_strerror(errno));
    return false;
}

static bool refuse(const char *path, const char *why, GError **error)
{
    g_set_error(error, BL_ERROR, BL_ERROR_REFUSED, "file \"%s\" %s", path, why);
    return false;
}

bool private_file_free(const char *path, bool over, GError **error)
{
    g_autofree char *folder = g_path_get_dirname(path);
    struct stat seen;
    if (lstat(path, &seen) == 0) {
        if (!S_ISREG(seen.st_mode)) {
            return refuse(path, "is no plain file: name another", error);
        }
        if (!over) {
            return refuse(path, "is there already: name another, or say --force", error);
        }
    } else if (errno != ENOENT) {
        return outside(path, error);
    }
    return access(folder, W_OK | X_OK) == 0 || outside(folder, error);
}

static bool write_all(int fd, const char *text)
{
    gsize left = strlen(text);
    while (left > 0) {
        ssize_t written = write(fd, text, left);
        if (written < 0 && errno != EINTR) {
            return false;
        }
        if (written > 0) {
            text += written;
            left -= (gsize)written;
        }
    }
    return true;
}

/* Gives the finished file its name; without `over` never to the cost of another. */
static bool name_it(const char *made, const char *path, bool over, GError **error)
{
    if (over) {
        return rename(made, path) == 0 || outside(path, error);
    }
    if (link(made, path) != 0) {
        return errno == EEXIST ? private_file_free(path, false, error) : outside(path, error);
    }
    unlink(made);
    return true;
}

static bool fill(int fd, const char *path, const char *text, GError **error)
{
    bool written = write_all(fd, text);
    int failure = errno;
    bool closed = close(fd) == 0;
    if (!written) {
        errno = failure;
    }
    return (written && closed) || outside(path, error);
}

static bool make(const char *path, const char *text, bool over, GError **error)
{
    g_autofree char *making = g_strconcat(path, ".XXXXXX", NULL);
    int fd = g_mkstemp_full(making, O_WRONLY | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (fd < 0) {
        return outside(path, error);
    }
    if (fill(fd, path, text, error) && name_it(making, path, over, error)) {
        return true;
    }
    unlink(making);
    return false;
}

bool private_file_write(const char *path, const char *text, bool over, GError **error)
{
    if (!private_file_free(path, over, error)) {
        return false;
    }
    sigset_t before;
    bl_signals_hold(&before);
    bool made = make(path, text, over, error);
    bl_signals_release(&before);
    return made;
}
