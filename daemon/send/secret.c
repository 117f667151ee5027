/*
 * Secrets come from files, and a file somebody else can read is no secret: it is refused with
 * the remedy. A symbolic link is refused because whoever may change it chooses what we send as
 * a password.
 */
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "beadline/error.h"
#include "send_inside.h"

#define SECRET_CAP 4096

static bool refuse(const char *file, const char *problem, GError **error)
{
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "secret file \"%s\" %s", file, problem);
    return false;
}

/* systemd hands credentials over in a folder of the service's own; where it does so by an
 * access list, the list's mask shows as the group's bits. */
static bool is_credential(const char *file)
{
    const char *folder = g_getenv("CREDENTIALS_DIRECTORY");
    g_autofree char *parent = g_path_get_dirname(file);
    return folder && *folder && g_str_equal(folder, parent);
}

static bool check_owner_and_mode(const char *file, const struct stat *about, GError **error)
{
    mode_t loose = is_credential(file) ? S_IRWXO | S_IWGRP | S_IXGRP : S_IRWXO | S_IRWXG;
    if (!S_ISREG(about->st_mode)) {
        return refuse(file, "is not a plain file: put the secret into one", error);
    }
    if (about->st_uid != geteuid() && about->st_uid != 0) {
        return refuse(file, "belongs to another user: chown it to the user Beadline runs as",
                      error);
    }
    if (about->st_mode & loose) {
        g_autofree char *remedy = g_strdup_printf("can be read by others: chmod 600 %s", file);
        return refuse(file, remedy, error);
    }
    return true;
}

/* The file's bytes into text, NUL at their end. */
static bool read_all(int fd, const char *file, char text[SECRET_CAP + 1], GError **error)
{
    size_t length = 0;
    while (length < SECRET_CAP) {
        ssize_t got = read(fd, text + length, SECRET_CAP - length);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            return refuse(file, g_strerror(errno), error);
        }
        if (got == 0) {
            text[length] = '\0';
            return strlen(text) == length ||
                   refuse(file, "has a NUL byte in it: write the secret as text", error);
        }
        length += (size_t)got;
    }
    return refuse(file, "is too long: a secret is one line of at most 4095 bytes", error);
}

/* Takes the line end off; whatever control character is left would end up in a header. */
static bool keep_line(char *text, const char *file, GError **error)
{
    size_t length = strlen(text);
    if (length > 0 && text[length - 1] == '\n') {
        text[--length] = '\0';
    }
    if (length > 0 && text[length - 1] == '\r') {
        text[--length] = '\0';
    }
    if (length == 0) {
        return refuse(file, "is empty: write the password or token into it", error);
    }
    for (const char *p = text; *p; p++) {
        if (g_ascii_iscntrl(*p)) {
            return refuse(file, "has more than one line: leave the secret alone in it", error);
        }
    }
    return true;
}

static int open_file(const char *file, GError **error)
{
    int fd = open(file, O_RDONLY | O_NOFOLLOW | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (fd < 0 && errno == ELOOP) {
        refuse(file, "is a symbolic link: name the file itself", error);
    } else if (fd < 0) {
        g_autofree char *problem =
            g_strdup_printf("cannot be opened (%s): make it with chmod 600", g_strerror(errno));
        refuse(file, problem, error);
    }
    return fd;
}

char *send_secret_read(const char *file, GError **error)
{
    char text[SECRET_CAP + 1] = "";
    struct stat about;
    int fd = open_file(file, error);
    if (fd < 0) {
        return NULL;
    }
    bool good;
    if (fstat(fd, &about) < 0) {
        good = refuse(file, g_strerror(errno), error);
    } else {
        good = check_owner_and_mode(file, &about, error) && read_all(fd, file, text, error) &&
               keep_line(text, file, error);
    }
    close(fd);
    char *secret = good ? g_strdup(text) : NULL;
    explicit_bzero(text, sizeof text);
    return secret;
}

void send_secret_free(char *secret)
{
    if (secret) {
        explicit_bzero(secret, strlen(secret));
        g_free(secret);
    }
}
