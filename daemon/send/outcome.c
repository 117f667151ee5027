/* Parcels in, outcomes out: what they hold, and how a stranger's words become part of one. */
#include "beadline/text.h"
#include "send_inside.h"

void bl_parcel_clear(struct bl_parcel *parcel)
{
    g_clear_pointer(&parcel->to, g_free);
    g_clear_pointer(&parcel->key, g_free);
    g_clear_pointer(&parcel->body, g_bytes_unref);
    g_clear_pointer(&parcel->url, g_free);
    g_clear_pointer(&parcel->headers, g_strfreev);
    g_clear_pointer(&parcel->suffix, g_free);
}

void bl_outcome_clear(struct bl_outcome *outcome)
{
    g_clear_pointer(&outcome->answer, g_free);
    g_clear_pointer(&outcome->reference, g_free);
}

/* Runs of white space, line ends among them, become one space each. */
static char *one_line(const char *bytes, gsize length)
{
    g_autoptr(GString) line = g_string_new(NULL);
    bool gap = false;
    for (gsize i = 0; i < length; i++) {
        if (bytes[i] == '\0' || g_ascii_isspace(bytes[i])) {
            gap = line->len > 0;
            continue;
        }
        if (gap) {
            g_string_append_c(line, ' ');
            gap = false;
        }
        g_string_append_c(line, bytes[i]);
    }
    return g_string_free(g_steal_pointer(&line), FALSE);
}

char *send_answer(const char *bytes, gsize length)
{
    /* A character has at most four bytes: more of them cannot be shown anyway. */
    g_autofree char *line = one_line(bytes, MIN(length, (gsize)4 * SEND_ANSWER_SHOWN));
    g_autofree char *printable = bl_text_printable(line);
    if (g_utf8_strlen(printable, -1) <= SEND_ANSWER_SHOWN) {
        return g_steal_pointer(&printable);
    }
    g_autofree char *cut = g_utf8_substring(printable, 0, SEND_ANSWER_SHOWN - 3);
    return g_strconcat(cut, "...", NULL);
}
