/*
 * Measures texts for a script: a text in hexadecimal a line in, "gsm|ucs2 UNITS PARTS
 * PLAIN-HEX" a line out, PLAIN-HEX being the text made plain.
 */
#include <stdio.h>
#include <stdlib.h>

#include "beadline/sms.h"

static char *unhex(const char *hex)
{
    GString *out = g_string_new(NULL);
    for (; g_ascii_isxdigit(hex[0]) && g_ascii_isxdigit(hex[1]); hex += 2) {
        g_string_append_c(
            out, (char)(g_ascii_xdigit_value(hex[0]) * 16 + g_ascii_xdigit_value(hex[1])));
    }
    return g_string_free(out, FALSE);
}

static void answer(const char *hex)
{
    g_autofree char *text = unhex(hex);
    g_autofree char *plain = bl_sms_plain(text);
    struct bl_sms_size size = bl_sms_measure(text);
    printf("%s %d %d ", size.ucs2 ? "ucs2" : "gsm", size.units, size.parts);
    for (const char *p = plain; *p; p++) {
        printf("%02x", (unsigned char)*p);
    }
    printf("\n");
}

int main(void)
{
    char *line = NULL;
    size_t size = 0;
    while (getline(&line, &size, stdin) > 0) {
        answer(line);
    }
    free(line);
    return 0;
}
