/* Any bytes as a telephone number, typed in one of a few countries: what is taken is E.164, and
 * taken unchanged a second time. The first byte chooses the country. */
#include <stdint.h>
#include <string.h>

#include "beadline/address.h"
#include "beadline/text.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const struct bl_phone_home homes[] = {
    {"44", "0", false, "00"},  {"39", "0", true, "00"},  {"36", "06", false, "00"},
    {"1", "1", false, "011"},  {"7", "8", false, "810"}, {"370", "8", false, "00"},
    {"45", "", false, "00"},   {"378", "", true, "00"},  {"61", "0", false, "0011"},
    {"81", "0", false, "010"}, {"", "", false, ""},      {NULL, NULL, false, NULL},
};

/* ^\+[1-9][0-9]{6,14}$ */
static bool is_e164(const char *number)
{
    size_t digits = strlen(number) - 1;
    return number[0] == '+' && number[1] != '0' && digits >= 7 && digits <= 15 &&
           strspn(number + 1, "0123456789") == digits;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 1) {
        return 0;
    }
    const struct bl_phone_home *home = &homes[data[0] % G_N_ELEMENTS(homes)];
    g_autofree char *typed = g_strndup((const char *)data + 1, size - 1);
    g_autoptr(GError) error = NULL;
    g_autofree char *number = bl_phone_e164(typed, home, &error);
    g_assert(!number == !!error);
    if (!number) {
        g_autofree char *printable = bl_text_printable(error->message);
        g_assert_cmpstr(printable, ==, error->message);
        return 0;
    }
    g_assert(is_e164(number));
    g_autofree char *again = bl_phone_e164(number, home, NULL);
    g_assert_cmpstr(again, ==, number);
    return 0;
}
