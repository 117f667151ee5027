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

/* Sets what stays the same, then what differs for message number n, on one of the handles. */
struct bare_kind {
    void (*set)(const struct bare *bare, CURL *easy, const char *target);
    void (*next)(const struct bare *bare, CURL *easy, int slot, int n);
};

/* Arguments: TARGET CONNECTIONS COUNT FILE. Prints the seconds it took. */
int bare_main(int argc, char **argv, const struct bare_kind *kind);

#endif
