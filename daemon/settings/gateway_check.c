/* What a gateway's options must be towards each other: nothing secret in the open, on the wire
 * or in this file. The last look at a gateway before it counts as read. */
#include <arpa/inet.h>
#include <errno.h>
#include <libconfig.h>
#include <string.h>
#include <sys/stat.h>

#include "draft.h"

/* Where the service manager puts credentials; they are there only while the service runs. */
#define CREDENTIALS "/run/credentials/"

/* One gateway under the lens. */
struct lens {
    const struct draft *draft;
    const config_setting_t *element;
    struct bl_gateway *gateway;
};

static void fault(const struct lens *lens, const char *option, const char *text)
{
    const config_setting_t *place = config_setting_get_member(lens->element, option);
    const char *name = lens->gateway->name;
    bl_conf_fault(lens->draft->conf, place ? place : lens->element,
                  "gateway \"%s\": \"%s\": %s", name ? name : "?", option, text);
}

static bool is_loopback(const char *host)
{
    struct in_addr four;
    struct in6_addr six;
    if (g_ascii_strcasecmp(host, "localhost") == 0) {
        return true;
    }
    if (inet_pton(AF_INET, host, &four) == 1) {
        return (ntohl(four.s_addr) >> 24) == 127;
    }
    return inet_pton(AF_INET6, host, &six) == 1 && IN6_IS_ADDR_LOOPBACK(&six);
}

static bool is_host(const char *host)
{
    struct in6_addr six;
    gsize plain =
        strspn(host, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.-");
    return (host[plain] == '\0' && g_ascii_isalnum(host[0])) ||
           inet_pton(AF_INET6, host, &six) == 1;
}

static void check_smtp(const struct lens *lens)
{
    const struct bl_gateway *gateway = lens->gateway;
    if (gateway->host && !is_host(gateway->host)) {
        fault(lens, "host", "a server's name or address belongs here, without scheme or port");
    } else if (gateway->host && gateway->tls == BL_TLS_NONE && !is_loopback(gateway->host)) {
        fault(lens, "tls",
              "\"none\" is only for this machine itself (127.0.0.1, ::1, localhost): write "
              "\"tls\" or \"starttls\"");
    }
    if (gateway->secret_file && !gateway->user) {
        fault(lens, "secret_file", "there is nobody to log in as: give \"user\" too");
    }
}

/* The URL with each {{value}} made "x", so that it can be taken apart. */
static char *plain_url(const char *url)
{
    g_autoptr(GString) plain = g_string_new(NULL);
    const char *open = NULL;
    while ((open = strstr(url, "{{")) != NULL) {
        const char *close = strstr(open, "}}");
        if (!close) {
            break;
        }
        while (close[2] == '}') {
            close++;
        }
        g_string_append_len(plain, url, open - url);
        g_string_append_c(plain, 'x');
        url = close + 2;
    }
    g_string_append(plain, url);
    return g_strdup(plain->str);
}

static bool fills_host(const char *url)
{
    const char *authority = strstr(url, "://");
    if (!authority) {
        return false;
    }
    authority += 3;
    g_autofree char *host = g_strndup(authority, strcspn(authority, "/?#"));
    return strstr(host, "{{") != NULL;
}

static void check_url(const struct lens *lens)
{
    const char *url = lens->gateway->url;
    g_autofree char *plain = plain_url(url);
    g_autoptr(GUri) uri = g_uri_parse(plain, G_URI_FLAGS_HAS_PASSWORD, NULL);
    const char *host = uri ? g_uri_get_host(uri) : NULL;
    if (!host || *host == '\0') {
        fault(lens, "url", "an address such as \"https://sms.example.com/send\" belongs here");
        return;
    }
    const char *scheme = g_uri_get_scheme(uri);
    if (fills_host(url)) {
        fault(lens, "url", "the server's name is fixed: fill values after it only");
    } else if (g_uri_get_userinfo(uri)) {
        fault(lens, "url", "no user or secret in an address: use \"user\" and \"secret_file\"");
    } else if (strcmp(scheme, "https") != 0 &&
               (strcmp(scheme, "http") != 0 || !is_loopback(host))) {
        fault(lens, "url", "only https leaves this machine: write https://...");
    }
}

static bool is_token(const char *name)
{
    static const char token[] =
        "!#$%&'*+-.^_`|~"
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";
    return name[strspn(name, token)] == '\0'; /* RFC 9110 section 5.6.2, from memory */
}

/* Whether a header of that name usually holds a secret. */
static bool is_secret_header(const char *name)
{
    static const char *const parts[] = {"authorization", "api-key",  "apikey", "token",
                                        "secret",        "password", NULL};
    g_autofree char *lower = g_ascii_strdown(name, -1);
    for (guint i = 0; parts[i]; i++) {
        if (strstr(lower, parts[i])) {
            return true;
        }
    }
    return false;
}

static void check_header(const struct lens *lens, const struct bl_header_form *form)
{
    static const char *const ours[] = {"idempotency-key",   "host",       "content-length",
                                       "transfer-encoding", "connection", NULL};
    if (!form->name || !form->value) {
        return;
    }
    g_autofree char *lower = g_ascii_strdown(form->name, -1);
    if (!is_token(form->name)) {
        fault(lens, "headers", "a header's name is letters, digits and hyphens, without colon");
    } else if (g_strv_contains(ours, lower)) {
        fault(lens, "headers",
              "Idempotency-Key, Host, Content-Length, Transfer-Encoding and Connection are "
              "always ours: leave them out");
    } else if (is_secret_header(form->name) && !strstr(form->value, "{{")) {
        fault(lens, "headers",
              "a secret does not belong in this file: write {{secret}} in its place and name "
              "its file in \"secret_file\"");
    } else if (strstr(form->value, "secret") && strstr(form->value, "{{") &&
               !lens->gateway->secret_file) {
        fault(lens, "headers", "{{secret}} has no source: give \"secret_file\" too");
    }
}

static void check_pair(const struct lens *lens, const char *path, const char *value,
                       const char *option)
{
    if (!path != !value) {
        g_autofree char *missing = g_strconcat(option, value ? "_path" : "_value", NULL);
        fault(lens, missing, "its other half is given: give both, or neither");
    }
}

static void check_http(const struct lens *lens)
{
    const struct bl_gateway *gateway = lens->gateway;
    if (gateway->url) {
        check_url(lens);
    }
    for (guint i = 0; i < gateway->headers->len; i++) {
        check_header(lens, &g_array_index(gateway->headers, struct bl_header_form, i));
    }
    if (gateway->body && g_strcmp0(gateway->method, "GET") == 0) {
        fault(lens, "body",
              "a GET sends none: write \"POST\" as method, or leave the body out");
    }
    check_pair(lens, gateway->accepted_path, gateway->accepted_value, "accepted");
    check_pair(lens, gateway->opted_out_path, gateway->opted_out_value, "opted_out");
}

/* Whether the file is known to be missing; one in a folder we may not look into is not. */
static bool is_missing(const char *file, struct stat *about)
{
    memset(about, 0, sizeof *about);
    return stat(file, about) != 0 && (errno == ENOENT || errno == ENOTDIR);
}

static void check_files(const struct lens *lens)
{
    const struct bl_gateway *gateway = lens->gateway;
    struct stat about;
    if (gateway->ca_file && is_missing(gateway->ca_file, &about)) {
        fault(lens, "ca_file", "there is no such file");
    }
    if (!gateway->secret_file || g_str_has_prefix(gateway->secret_file, CREDENTIALS)) {
        return;
    }
    if (is_missing(gateway->secret_file, &about)) {
        fault(lens, "secret_file", "there is no such file");
    } else if (about.st_mode != 0 && !S_ISREG(about.st_mode)) {
        fault(lens, "secret_file", "this is not an ordinary file");
    } else if ((about.st_mode & (S_IRWXG | S_IRWXO)) != 0) {
        fault(lens, "secret_file", "others may read or change this file: chmod 600");
    }
}

static void resolve(const struct lens *lens, const char *option, char **path)
{
    const char *name = lens->gateway->name;
    g_autofree char *subject = g_strdup_printf("gateway \"%s\": ", name ? name : "?");
    const config_setting_t *place = config_setting_get_member(lens->element, option);
    draft_resolve(lens->draft, place, subject, option, path);
}

void draft_check_gateway(const struct draft *draft, const struct config_setting_t *element,
                         struct bl_gateway *gateway)
{
    struct lens lens = {draft, element, gateway};
    resolve(&lens, "folder", &gateway->folder);
    resolve(&lens, "ca_file", &gateway->ca_file);
    resolve(&lens, "secret_file", &gateway->secret_file);
    if (gateway->kind == BL_GATEWAY_SMTP) {
        check_smtp(&lens);
    }
    if (gateway->kind == BL_GATEWAY_HTTP) {
        check_http(&lens);
    }
    if (gateway->user && !gateway->secret_file) {
        fault(&lens, "user", "its password has no source: give \"secret_file\" too");
    }
    check_files(&lens);
}

void draft_check_carrier(const struct draft *draft, const struct config_setting_t *place,
                         enum bl_channel channel, const struct bl_gateway *gateway)
{
    const char *word = bl_channel_name(channel);
    bool carried =
        channel == BL_SMS ? gateway->kind != BL_GATEWAY_SMTP : gateway->kind != BL_GATEWAY_HTTP;
    if (!carried) {
        bl_conf_fault(
            draft->conf, place,
            "\"carry.%s\": gateway \"%s\" cannot carry that: smtp carries mails, http "
            "text messages, a folder both",
            word, gateway->name);
    }
    if (channel == BL_MAIL && gateway->kind == BL_GATEWAY_SMTP && !draft->settings.shop.mail &&
        !bl_conf_at(draft->conf, "shop.mail")) {
        bl_conf_fault(draft->conf, place,
                      "\"shop.mail\" is missing: mails go out by gateway \"%s\", and answers "
                      "need a mailbox",
                      gateway->name);
    }
}
