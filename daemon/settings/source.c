/* From files to one text, for the settings and the catalogue alike: the first step of reading.
 *
 * The parser's own reading of files is not used: it ends the process on a directory, waits for
 * ever on a pipe, reads any size, and lets numbers wrap. So files are read here, checked as
 * text, and joined; each line of the whole keeps the place it came from. */
#include "source.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "scan.h"

#define MOST_BYTES ((gsize)1 << 20)

void source_init(struct source *source, struct bl_faults *faults)
{
    *source = (struct source){
        .text = g_string_new(NULL),
        .places = g_array_new(FALSE, FALSE, sizeof(struct source_place)),
        .files = g_ptr_array_new_with_free_func(g_free),
        .faults = faults,
    };
}

void source_clear(struct source *source)
{
    g_string_free(source->text, TRUE);
    g_array_unref(source->places);
    g_ptr_array_unref(source->files);
}

static bool only_closes(const struct source *source, guint line)
{
    const char *at =
        source->text->str + g_array_index(source->places, struct source_place, line - 1).start;
    at += strspn(at, " \t");
    return *at == '\0' || strchr(")]},;\n", *at) != NULL;
}

struct source_place source_place(const struct source *source, guint line)
{
    if (source->places->len == 0) {
        return (struct source_place){NULL, 0, 0};
    }
    line = CLAMP(line, 1, source->places->len);
    while (line > 1 && only_closes(source, line)) {
        line--;
    }
    return g_array_index(source->places, struct source_place, line - 1);
}

static bool refuse_size(struct source *source, const char *file)
{
    bl_faults_add(source->faults, file, 0,
                  "more than 1 MiB with what it includes: this is not a file written by hand");
    return false;
}

/* Opens without waiting, so that a pipe in the file's place is refused and not waited for. */
static int open_regular(struct source *source, const char *file, gsize *size)
{
    int fd = open(file, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0) {
        bl_faults_add(source->faults, file, 0, "cannot be opened: %s", g_strerror(errno));
        return -1;
    }
    struct stat about;
    if (fstat(fd, &about) != 0 || !S_ISREG(about.st_mode)) {
        bl_faults_add(source->faults, file, 0, "is %s: name a file",
                      S_ISDIR(about.st_mode) ? "a folder" : "not an ordinary file");
        close(fd);
        return -1;
    }
    *size = (gsize)about.st_size;
    return fd;
}

/* Up to MOST_BYTES + 1, so that a file that grows meanwhile is seen to be too long. */
static GString *read_all(int fd, int *failure)
{
    GString *raw = g_string_new(NULL);
    char piece[16384];
    *failure = 0;
    while (raw->len <= MOST_BYTES) {
        ssize_t got = read(fd, piece, sizeof piece);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            *failure = errno;
        }
        if (got <= 0) {
            break;
        }
        g_string_append_len(raw, piece, got);
    }
    return raw;
}

bool source_read(struct source *source, const char *file)
{
    gsize size = 0;
    int fd = open_regular(source, file, &size);
    if (fd < 0) {
        return false;
    }
    if (size > MOST_BYTES) {
        close(fd);
        return refuse_size(source, file);
    }
    int failure = 0;
    g_autoptr(GString) raw = read_all(fd, &failure);
    close(fd);
    if (failure != 0) {
        bl_faults_add(source->faults, file, 0, "cannot be read: %s", g_strerror(failure));
        return false;
    }
    return source_take(source, raw->str, raw->len, file);
}

static int line_of(const char *text, const char *at)
{
    int line = 1;
    for (const char *p = text; p < at; p++) {
        line += *p == '\n';
    }
    return line;
}

static bool check_bytes(struct source *source, const char *text, gsize length, const char *file)
{
    if (length >= 2 && (memcmp(text, "\xff\xfe", 2) == 0 || memcmp(text, "\xfe\xff", 2) == 0)) {
        bl_faults_add(source->faults, file, 1, "is written in UTF-16: save it as UTF-8");
        return false;
    }
    const char *nul = memchr(text, '\0', length);
    if (nul) {
        bl_faults_add(source->faults, file, line_of(text, nul),
                      "holds a NUL byte: it is damaged or not a text, restore it");
        return false;
    }
    const char *bad = NULL;
    if (!g_utf8_validate(text, (gssize)length, &bad)) {
        bl_faults_add(source->faults, file, line_of(text, bad),
                      "holds a byte that is not UTF-8: save it as UTF-8");
        return false;
    }
    return true;
}

static GString *without_carriage_returns(const char *text, gsize length)
{
    GString *plain = g_string_sized_new(length);
    for (gsize i = 0; i < length; i++) {
        if (text[i] != '\r' || i + 1 == length || text[i + 1] != '\n') {
            g_string_append_c(plain, text[i]);
        }
    }
    return plain;
}

bool source_take(struct source *source, const char *text, gsize length, const char *file)
{
    source->taken += length;
    source->alone = file == NULL;
    if (source->taken > MOST_BYTES) {
        return refuse_size(source, file);
    }
    if (length == 0) {
        bl_faults_add(source->faults, file, 0, "is empty: restore it from a copy");
        return false;
    }
    if (!check_bytes(source, text, length, file)) {
        return false;
    }
    if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0) {
        text += 3;
        length -= 3;
    }
    char *name = g_strdup(file);
    if (name) {
        g_ptr_array_add(source->files, name);
    }
    g_autoptr(GString) plain = without_carriage_returns(text, length);
    return scan_file(source, name, plain->str, plain->len);
}
