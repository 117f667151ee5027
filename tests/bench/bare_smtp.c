/* The bare loop over SMTP: the same mail to one recipient after another. */
#include <glib.h>
#include <stdio.h>
#include <string.h>

#include "bare_loop.h"

struct upload {
    const struct bare *bare;
    size_t at;
};

static struct upload uploads[32];
static struct curl_slist *recipients[32];

static size_t read_mail(char *to, size_t size, size_t count, void *thing)
{
    struct upload *upload = thing;
    size_t part = MIN(size * count, upload->bare->length - upload->at);
    memcpy(to, upload->bare->bytes + upload->at, part);
    upload->at += part;
    return part;
}

static void set(const struct bare *bare, CURL *easy, const char *target)
{
    (void)bare;
    curl_easy_setopt(easy, CURLOPT_URL, target);
    curl_easy_setopt(easy, CURLOPT_UPLOAD, 1L);
    curl_easy_setopt(easy, CURLOPT_MAIL_FROM, "<alex@shop.example>");
    curl_easy_setopt(easy, CURLOPT_READFUNCTION, read_mail);
}

static void next(const struct bare *bare, CURL *easy, int slot, int n)
{
    g_autofree char *to = g_strdup_printf("<customer%d@example.com>", n);
    curl_slist_free_all(recipients[slot]);
    recipients[slot] = curl_slist_append(NULL, to);
    uploads[slot] = (struct upload){.bare = bare};
    curl_easy_setopt(easy, CURLOPT_MAIL_RCPT, recipients[slot]);
    curl_easy_setopt(easy, CURLOPT_READDATA, &uploads[slot]);
}

int main(int argc, char **argv)
{
    return bare_main(argc, argv, &(const struct bare_kind){set, next});
}
