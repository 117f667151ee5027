/* The bare loop over SMTP: the same mail to one recipient after another. */
#include <glib.h>
#include <string.h>

#include "bare_loop.h"

static size_t read_mail(char *to, size_t size, size_t count, void *thing)
{
    struct slot *slot = thing;
    size_t part = MIN(size * count, slot->bare->length - slot->at);
    memcpy(to, slot->bare->bytes + slot->at, part);
    slot->at += part;
    return part;
}

static void set(struct slot *slot, const char *target)
{
    curl_easy_setopt(slot->easy, CURLOPT_URL, target);
    curl_easy_setopt(slot->easy, CURLOPT_UPLOAD, 1L);
    curl_easy_setopt(slot->easy, CURLOPT_MAIL_FROM, "<alex@shop.example>");
    curl_easy_setopt(slot->easy, CURLOPT_READFUNCTION, read_mail);
    curl_easy_setopt(slot->easy, CURLOPT_READDATA, slot);
}

static void next(struct slot *slot, int n)
{
    g_autofree char *to = g_strdup_printf("<customer%d@example.com>", n);
    curl_slist_free_all(slot->list);
    slot->list = curl_slist_append(NULL, to);
    slot->at = 0;
    curl_easy_setopt(slot->easy, CURLOPT_MAIL_RCPT, slot->list);
}

int main(int argc, char **argv)
{
    return bare_main(argc, argv, &(const struct bare_kind){set, next});
}
