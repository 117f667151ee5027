/*
 * The bare loop: as many transfers at once as there are connections, each handle taking the
 * next message when its last one is done, and nothing else: no database, no composing, no
 * records. What libcurl alone can do, for the daemon to be measured against.
 */
#ifndef BEADLINE_BENCH_BARE_LOOP_H
#define BEADLINE_BENCH_BARE_LOOP_H

#include <curl/curl.h>

struct bare {
    int connections, count;
    char *bytes; /* of one message */
    size_t length;
};

/* One handle, with what its transfer under way needs. */
struct slot {
    const struct bare *bare;
    CURL *easy;
    struct curl_slist *list; /* recipients or headers */
    size_t at;               /* how much of the message was read */
};

/* Sets what stays the same, then what differs for message number n. */
struct bare_kind {
    void (*set)(struct slot *slot, const char *target);
    void (*next)(struct slot *slot, int n);
};

/* Arguments: TARGET CONNECTIONS COUNT FILE. Prints the seconds it took. */
int bare_main(int argc, char **argv, const struct bare_kind *kind);

#endif
