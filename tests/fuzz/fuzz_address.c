/* Any bytes as a mail address: what is taken has one @, nothing a mail server or a header reads
 * as more than an address, and one stored form. */
#include <stdint.h>
#include <string.h>

#include "beadline/address.h"
#include "beadline/text.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_taken(const char *address)
{
    const char *at = strchr(address, '@');
    g_assert(at && at == strrchr(address, '@'));
    g_assert(at > address && at - address <= 64 && strlen(address) <= 254);
    g_assert(address[0] != '-' && address[strlen(address) - 1] != '.');
    g_assert(strcspn(address, " ,;:<>()[]\\\"") == strlen(address));
    for (const char *p = address; *p; p++) {
        g_assert(g_ascii_isgraph(*p));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    g_autofree char *typed = g_strndup((const char *)data, size);
    g_autoptr(GError) error = NULL;
    g_autofree char *normal = bl_mail_normal(typed, &error);
    g_assert(!normal == !!error);
    g_assert(bl_mail_check(typed, NULL) == !!normal);
    if (!normal) {
        g_autofree char *printable = bl_text_printable(error->message);
        g_assert_cmpstr(printable, ==, error->message);
        return 0;
    }
    check_taken(typed);
    check_taken(normal);
    g_autofree char *again = bl_mail_normal(normal, NULL);
    g_assert_cmpstr(again, ==, normal);
    g_assert(g_ascii_strcasecmp(typed, normal) == 0);
    return 0;
}
