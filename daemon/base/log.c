/* The log line's way out: one write a line, so that lines of several processes never mix. */
#include "beadline/log.h"

#include <errno.h>
#include <stdarg.h>
#include <string.h>
#include <unistd.h>

#include "beadline/text.h"

/* A log that cannot be written must not stop the sending: failures are dropped. */
static void write_all(const char *bytes, gsize length)
{
    while (length > 0) {
        ssize_t written = write(STDERR_FILENO, bytes, length);
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written <= 0) {
            return;
        }
        bytes += written;
        length -= (gsize)written;
    }
}

void bl_log(enum bl_log_priority priority, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *text = g_strdup_vprintf(format, args);
    va_end(args);

    g_autofree char *safe = bl_text_printable(text);
    g_autofree char *line = g_strdup_printf("<%d>%s\n", (int)priority, safe);
    write_all(line, strlen(line));
}
