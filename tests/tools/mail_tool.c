/*
 * Makes mails for a script. One command a line, texts in hexadecimal; "go" answers in one line,
 * "ok HEX" with the mail or "error TEXT", and keeps the values for the next:
 *
 *   shop-name HEX  shop-mail HEX  zone NAME  to-name HEX  to HEX
 *   subject HEX  text HEX  html HEX  key TEXT  now SECONDS  go
 */
#include <stdio.h>
#include <string.h>

#include "beadline/compose.h"

struct state {
    struct bl_shop shop;
    struct bl_letter letter;
    char *to_name, *to, *key;
    int64_t now;
};

static char *unhex(const char *hex)
{
    GString *out = g_string_new(NULL);
    for (; g_ascii_isxdigit(hex[0]) && g_ascii_isxdigit(hex[1]); hex += 2) {
        int byte = g_ascii_xdigit_value(hex[0]) * 16 + g_ascii_xdigit_value(hex[1]);
        g_string_append_c(out, (char)byte);
    }
    return g_string_free(out, FALSE);
}

static void answer(const struct state *state)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(GBytes) mail = bl_compose_mail(&state->shop, &state->letter, state->to_name,
                                             state->to, state->key, state->now, &error);
    if (!mail) {
        printf("error %s\n", error->message);
        return;
    }
    gsize length = 0;
    const guint8 *bytes = g_bytes_get_data(mail, &length);
    fputs("ok ", stdout);
    for (gsize i = 0; i < length; i++) {
        printf("%02x", bytes[i]);
    }
    putchar('\n');
}

static char **text_of(struct state *state, const char *name)
{
    const struct {
        const char *name;
        char **text;
    } texts[] = {
        {"shop-name", &state->shop.name},    {"shop-mail", &state->shop.mail},
        {"to-name", &state->to_name},        {"to", &state->to},
        {"subject", &state->letter.subject}, {"text", &state->letter.text},
        {"html", &state->letter.html},
    };
    for (guint i = 0; i < G_N_ELEMENTS(texts); i++) {
        if (strcmp(texts[i].name, name) == 0) {
            return texts[i].text;
        }
    }
    return NULL;
}

static void obey(struct state *state, const char *command, const char *argument)
{
    char **text = text_of(state, command);
    if (text) {
        g_free(*text);
        *text = unhex(argument);
    } else if (strcmp(command, "key") == 0) {
        g_free(state->key);
        state->key = g_strdup(argument);
    } else if (strcmp(command, "now") == 0) {
        state->now = g_ascii_strtoll(argument, NULL, 10);
    } else if (strcmp(command, "zone") == 0) {
        bl_zone_free(state->shop.zone);
        state->shop.zone = bl_zone_new(argument, NULL);
    } else {
        answer(state);
    }
}

int main(void)
{
    struct state state = {.key = g_strdup("")};
    setvbuf(stdout, NULL, _IOLBF, 0);
    char *line = NULL;
    size_t room = 0;
    while (getline(&line, &room, stdin) > 0) {
        g_strchomp(line);
        char *space = strchr(line, ' ');
        if (space) {
            *space = '\0';
        }
        obey(&state, line, space ? space + 1 : "");
    }
    free(line);
    bl_zone_free(state.shop.zone);
    g_free(state.shop.name);
    g_free(state.shop.mail);
    bl_letter_clear(&state.letter);
    g_free(state.to_name);
    g_free(state.to);
    g_free(state.key);
    return 0;
}
