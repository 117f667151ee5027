/*
 * LD_PRELOAD shim: every fdatasync and fsync takes SLOW_SYNC_MS milliseconds, as on a bad
 * memory card. A writer under it has written, and raised its events, long before its commit is
 * visible.
 */
#include <dlfcn.h>
#include <poll.h>
#include <stdlib.h>
#include <unistd.h>

static int slowly(const char *name, int fd)
{
    const char *ms = getenv("SLOW_SYNC_MS");
    int (*real)(int) = (int (*)(int))(long)dlsym(RTLD_NEXT, name);
    poll(NULL, 0, ms ? atoi(ms) : 0);
    return real(fd);
}

int fdatasync(int fd)
{
    return slowly("fdatasync", fd);
}

int fsync(int fd)
{
    return slowly("fsync", fd);
}
