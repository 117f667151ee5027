/*
 * Telephone numbers for scripts that compare them with another implementation. Each line of
 * standard input is "CALLING-CODE|TRUNK|kept or dropped|EXIT-CODE|TYPED", each line of output
 * the E.164 form or "refused".
 */
#include <stdio.h>
#include <string.h>

#include "beadline/address.h"

int main(void)
{
    char line[512];
    while (fgets(line, sizeof line, stdin)) {
        line[strcspn(line, "\n")] = '\0';
        g_auto(GStrv) part = g_strsplit(line, "|", 5);
        if (g_strv_length(part) != 5) {
            puts("bad");
            continue;
        }
        struct bl_phone_home home = {part[0], part[1], strcmp(part[2], "kept") == 0, part[3]};
        g_autofree char *number = bl_phone_e164(part[4], &home, NULL);
        puts(number ? number : "refused");
    }
    return 0;
}
