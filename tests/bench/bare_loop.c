/* The bare loop over one curl_multi. */
#include "bare_loop.h"

#include <glib.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

struct slots {
    const struct bare *bare;
    const struct bare_kind *kind;
    CURLM *multi;
    CURL **easy;
    int begun, done;
};

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void begin(struct slots *slots, int slot)
{
    if (slots->begun < slots->bare->count) {
        slots->kind->next(slots->bare, slots->easy[slot], slot, slots->begun++);
        curl_multi_add_handle(slots->multi, slots->easy[slot]);
    }
}

static int slot_of(const struct slots *slots, const CURL *easy)
{
    int slot = 0;
    while (slots->easy[slot] != easy) {
        slot++;
    }
    return slot;
}

/* Whether any ended: then there is something to perform before waiting. */
static bool drain(struct slots *slots)
{
    bool any = false;
    int left;
    CURLMsg *message;
    while ((message = curl_multi_info_read(slots->multi, &left))) {
        CURL *easy = message->easy_handle;
        if (message->data.result != CURLE_OK) {
            fprintf(stderr, "bare: %s\n", curl_easy_strerror(message->data.result));
            exit(1);
        }
        curl_multi_remove_handle(slots->multi, easy);
        slots->done++;
        begin(slots, slot_of(slots, easy));
        any = true;
    }
    return any;
}

static void run(struct slots *slots)
{
    while (slots->done < slots->bare->count) {
        int running;
        curl_multi_perform(slots->multi, &running);
        if (!drain(slots)) {
            curl_multi_poll(slots->multi, NULL, 0, 1000, NULL);
        }
    }
}

int bare_main(int argc, char **argv, const struct bare_kind *kind)
{
    struct bare bare = {0};
    if (argc != 5 || !g_file_get_contents(argv[4], &bare.bytes, &bare.length, NULL)) {
        fprintf(stderr, "usage: %s TARGET CONNECTIONS COUNT FILE\n", argv[0]);
        return 2;
    }
    bare.connections = atoi(argv[2]);
    bare.count = atoi(argv[3]);
    curl_global_init(CURL_GLOBAL_DEFAULT);
    struct slots slots = {.bare = &bare, .kind = kind, .multi = curl_multi_init()};
    curl_multi_setopt(slots.multi, CURLMOPT_MAXCONNECTS, (long)bare.connections);
    slots.easy = g_new0(CURL *, bare.connections);
    double began = seconds();
    for (int slot = 0; slot < bare.connections; slot++) {
        slots.easy[slot] = curl_easy_init();
        kind->set(&bare, slots.easy[slot], argv[1]);
        begin(&slots, slot);
    }
    run(&slots);
    printf("%.6f\n", seconds() - began);
    for (int slot = 0; slot < bare.connections; slot++) {
        curl_easy_cleanup(slots.easy[slot]);
    }
    curl_multi_cleanup(slots.multi);
    return 0;
}
