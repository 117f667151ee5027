/* The bare loop over HTTP: the same body, each time under a key of its own. */
#include <glib.h>
#include <stdio.h>

#include "bare_loop.h"

static struct curl_slist *headers[32];

static size_t forget(char *bytes, size_t size, size_t count, void *unused)
{
    (void)bytes;
    (void)unused;
    return size * count;
}

static void set(const struct bare *bare, CURL *easy, const char *target)
{
    curl_easy_setopt(easy, CURLOPT_URL, target);
    curl_easy_setopt(easy, CURLOPT_POST, 1L);
    curl_easy_setopt(easy, CURLOPT_POSTFIELDSIZE, (long)bare->length);
    curl_easy_setopt(easy, CURLOPT_POSTFIELDS, bare->bytes);
    curl_easy_setopt(easy, CURLOPT_WRITEFUNCTION, forget);
}

static void next(const struct bare *bare, CURL *easy, int slot, int n)
{
    (void)bare;
    g_autofree char *key = g_strdup_printf("Idempotency-Key: %032x", n);
    curl_slist_free_all(headers[slot]);
    headers[slot] = curl_slist_append(NULL, "Content-Type: application/json");
    headers[slot] = curl_slist_append(headers[slot], key);
    curl_easy_setopt(easy, CURLOPT_HTTPHEADER, headers[slot]);
}

int main(int argc, char **argv)
{
    return bare_main(argc, argv, &(const struct bare_kind){set, next});
}
