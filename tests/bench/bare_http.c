/* The bare loop over HTTP: the same body, each time under a key of its own. */
#include <glib.h>

#include "bare_loop.h"

static size_t forget(char *bytes, size_t size, size_t count, void *unused)
{
    (void)bytes;
    (void)unused;
    return size * count;
}

static void set(struct slot *slot, const char *target)
{
    curl_easy_setopt(slot->easy, CURLOPT_URL, target);
    curl_easy_setopt(slot->easy, CURLOPT_POST, 1L);
    curl_easy_setopt(slot->easy, CURLOPT_POSTFIELDSIZE, (long)slot->bare->length);
    curl_easy_setopt(slot->easy, CURLOPT_POSTFIELDS, slot->bare->bytes);
    curl_easy_setopt(slot->easy, CURLOPT_WRITEFUNCTION, forget);
}

static void next(struct slot *slot, int n)
{
    g_autofree char *key = g_strdup_printf("Idempotency-Key: %032x", n);
    curl_slist_free_all(slot->list);
    slot->list = curl_slist_append(NULL, "Content-Type: application/json");
    slot->list = curl_slist_append(slot->list, key);
    curl_easy_setopt(slot->easy, CURLOPT_HTTPHEADER, slot->list);
}

int main(int argc, char **argv)
{
    return bare_main(argc, argv, &(const struct bare_kind){set, next});
}
