/*
 * Fills one gateway's HTTP forms for a script. A line in, in hexadecimal words:
 * KIND URL BODY TO TEXT KEY SHOP SECRET (KIND json, form or text as it is). Out: "url HEX",
 * "header HEX" for each, "body HEX", "end"; or "error TEXT", "end".
 */
#include <stdio.h>
#include <stdlib.h>

#include "beadline/compose.h"

enum word { KIND, URL, BODY, TO, TEXT, KEY, SHOP, SECRET, WORDS };

static char *unhex(const char *hex)
{
    GString *out = g_string_new(NULL);
    for (; g_ascii_isxdigit(hex[0]) && g_ascii_isxdigit(hex[1]); hex += 2) {
        g_string_append_c(
            out, (char)(g_ascii_xdigit_value(hex[0]) * 16 + g_ascii_xdigit_value(hex[1])));
    }
    return g_string_free(out, FALSE);
}

static void print_hex(const char *what, const char *text)
{
    printf("%s ", what);
    for (const char *p = text; *p; p++) {
        printf("%02x", (unsigned char)*p);
    }
    printf("\n");
}

static void print_request(const struct bl_request *request)
{
    print_hex("url", request->url);
    for (char **header = request->headers; *header; header++) {
        print_hex("header", *header);
    }
    print_hex("body", request->body);
}

static void answer(char **words)
{
    struct bl_header_form forms[] = {
        {"Authorization", "Bearer {{secret}}"},
        {"X-To", "{{to}}"},
        {"X-Text", "<{{{text}}}>"},
        {"X-Shop", "{{&shop}}"},
        {"X-Key", "{{key}}"},
    };
    g_autoptr(GArray) headers = g_array_new(FALSE, FALSE, sizeof forms[0]);
    g_array_append_vals(headers, forms, G_N_ELEMENTS(forms));
    struct bl_gateway gateway = {
        .name = "texts",
        .kind = BL_GATEWAY_HTTP,
        .secret_file = "/run/secret",
        .url = words[URL],
        .body = words[BODY],
        .body_kind = words[KIND],
        .headers = headers,
    };
    struct bl_request request;
    g_autoptr(GError) error = NULL;
    if (bl_compose_request(&gateway, words[TO], words[TEXT], words[KEY], words[SHOP],
                           words[SECRET], &request, &error)) {
        print_request(&request);
    } else {
        printf("error %s\n", error->message);
    }
    printf("end\n");
    bl_request_clear(&request);
}

int main(void)
{
    char *line = NULL;
    size_t size = 0;
    while (getline(&line, &size, stdin) > 0) {
        g_auto(GStrv) words = g_strsplit(line, " ", -1);
        if (g_strv_length(words) != WORDS) {
            fprintf(stderr, "want %d words: %s", WORDS, line);
            return 2;
        }
        for (int i = URL; i < WORDS; i++) {
            char *text = unhex(words[i]);
            g_free(words[i]);
            words[i] = text;
        }
        answer(words);
    }
    free(line);
    return 0;
}
