/* The bare loop over one curl_multi. */
#include "bare_loop.h"

#include <glib.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

struct loop {
    const struct bare *bare;
    const struct bare_kind *kind;
    CURLM *multi;
    int begun, done;
};

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void begin(struct loop *loop, struct slot *slot)
{
    if (loop->begun < loop->bare->count) {
        loop->kind->next(slot, loop->begun++);
        curl_multi_add_handle(loop->multi, slot->easy);
    }
}

/* Whether any ended: then there is something to perform before waiting. */
static bool drain(struct loop *loop)
{
    bool any = false;
    int left;
    CURLMsg *message;
    while ((message = curl_multi_info_read(loop->multi, &left))) {
        struct slot *slot = NULL;
        if (message->data.result != CURLE_OK) {
            fprintf(stderr, "bare: %s\n", curl_easy_strerror(message->data.result));
            exit(1);
        }
        curl_easy_getinfo(message->easy_handle, CURLINFO_PRIVATE, &slot);
        curl_multi_remove_handle(loop->multi, slot->easy);
        loop->done++;
        begin(loop, slot);
        any = true;
    }
    return any;
}

static void run(struct loop *loop)
{
    while (loop->done < loop->bare->count) {
        int running;
        curl_multi_perform(loop->multi, &running);
        if (!drain(loop)) {
            curl_multi_poll(loop->multi, NULL, 0, 1000, NULL);
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
    struct loop loop = {.bare = &bare, .kind = kind, .multi = curl_multi_init()};
    curl_multi_setopt(loop.multi, CURLMOPT_MAXCONNECTS, (long)bare.connections);
    struct slot *slots = g_new0(struct slot, bare.connections);
    double began = seconds();
    for (int i = 0; i < bare.connections; i++) {
        slots[i] = (struct slot){.bare = &bare, .easy = curl_easy_init()};
        curl_easy_setopt(slots[i].easy, CURLOPT_PRIVATE, &slots[i]);
        kind->set(&slots[i], argv[1]);
        begin(&loop, &slots[i]);
    }
    run(&loop);
    printf("%.6f\n", seconds() - began);
    for (int i = 0; i < bare.connections; i++) {
        curl_easy_cleanup(slots[i].easy);
        curl_slist_free_all(slots[i].list);
    }
    curl_multi_cleanup(loop.multi);
    g_free(slots);
    g_free(bare.bytes);
    return 0;
}
