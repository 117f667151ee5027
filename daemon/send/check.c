/*
 * Looked at again, right before anything is opened: curl writes an address into its dialogue as
 * it stands, so a line end in one would be a second recipient. The store has checked all of it
 * once; this is the last door.
 */
#include <string.h>
#include <unistd.h>

#include "beadline/address.h"
#include "beadline/error.h"
#include "beadline/text.h"
#include "send_inside.h"

#define LINE_MOST 998 /* octets of a line without its CRLF: RFC 5321 section 4.5.3.1.6 */

static bool refuse_gateway(const struct bl_gateway *gateway, const char *problem,
                           GError **error)
{
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "gateway \"%s\" %s", gateway->name, problem);
    return false;
}

/* The first address of the loopback net, or one of its two names; never a name that a server
 * outside could answer for. */
bool send_is_loopback(const char *host)
{
    return g_ascii_strcasecmp(host, "localhost") == 0 || g_str_equal(host, "::1") ||
           (g_str_has_prefix(host, "127.") && g_hostname_is_ip_address(host));
}

/* The host of a URL that may still be a template, for one behind http:// only. */
static bool plain_url_is_loopback(const char *url)
{
    const char *host = url + strlen("http://");
    if (g_str_has_prefix(host, "[::1]")) {
        return strchr(":/?#", host[5]) != NULL;
    }
    g_autofree char *name = g_strndup(host, strcspn(host, ":/?#"));
    return send_is_loopback(name);
}

static bool check_ca(const struct bl_gateway *gateway, GError **error)
{
    return !gateway->ca_file || access(gateway->ca_file, R_OK) == 0 ||
           refuse_gateway(gateway, "names a ca_file that cannot be read: check its path",
                          error);
}

static bool check_smtp(const struct bl_gateway *gateway, GError **error)
{
    g_autoptr(GError) why = NULL;
    if (!gateway->host || !*gateway->host) {
        return refuse_gateway(gateway, "has no host: name the mail server", error);
    }
    if (gateway->tls == BL_TLS_NONE && !send_is_loopback(gateway->host)) {
        return refuse_gateway(gateway,
                              "would send without TLS to another machine: set tls to \"tls\" "
                              "or \"starttls\"",
                              error);
    }
    if (!gateway->from || !bl_mail_check(gateway->from, &why)) {
        return refuse_gateway(gateway, "has no valid from: give the sender's mail address",
                              error);
    }
    return check_ca(gateway, error);
}

static bool check_http(const struct bl_gateway *gateway, GError **error)
{
    const char *url = gateway->url ? gateway->url : "";
    if (g_str_has_prefix(url, "https://") ||
        (g_str_has_prefix(url, "http://") && plain_url_is_loopback(url))) {
        return check_ca(gateway, error);
    }
    return refuse_gateway(gateway,
                          "needs a url that begins with https:// (http:// only towards this "
                          "machine)",
                          error);
}

static bool check_folder(const struct bl_gateway *gateway, GError **error)
{
    return (gateway->folder && *gateway->folder) ||
           refuse_gateway(gateway, "has no folder: name the one to write to", error);
}

bool send_check_gateway(const struct bl_gateway *gateway, GError **error)
{
    static bool (*const checks[])(const struct bl_gateway *, GError **) = {
        [BL_GATEWAY_FOLDER] = check_folder,
        [BL_GATEWAY_SMTP] = check_smtp,
        [BL_GATEWAY_HTTP] = check_http,
    };
    return checks[gateway->kind](gateway, error);
}

static bool refuse(GError **error, const char *problem)
{
    g_set_error_literal(error, BL_ERROR, BL_ERROR_INPUT, problem);
    return false;
}

/* ITU-T E.164: a plus, 7 to 15 digits, the first no zero. */
static bool is_e164(const char *number)
{
    size_t digits = number[0] == '+' ? strspn(number + 1, "0123456789") : 0;
    return digits >= 7 && digits <= 15 && number[1] != '0' && number[digits + 1] == '\0';
}

static bool check_recipient(const struct bl_gateway *gateway, const char *to, GError **error)
{
    if (!to) {
        return refuse(error, "no recipient: nobody to send to");
    }
    if (gateway->kind == BL_GATEWAY_SMTP || strchr(to, '@')) {
        return bl_mail_check(to, error);
    }
    if (!is_e164(to)) {
        g_autofree char *shown = bl_text_printable(to);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "\"%s\" is no number in the international form: give it as +447700900123",
                    shown);
        return false;
    }
    return true;
}

/* A key becomes a file's name and a header's value. */
static bool check_key(const char *key, GError **error)
{
    size_t length = key ? strlen(key) : 0;
    for (size_t i = 0; i < length; i++) {
        if (!g_ascii_isalnum(key[i]) && key[i] != '-' && key[i] != '_') {
            return refuse(error, "the message's key has a character that is no part of one");
        }
    }
    return (length > 0 && length <= 128) || refuse(error, "the message has no key");
}

/* CRLF and nothing else ends a line, and no line is longer than a server must take. */
static bool check_lines(const char *bytes, gsize length, GError **error)
{
    gsize line = 0;
    for (gsize i = 0; i < length; i++) {
        if (bytes[i] == '\r' && i + 1 < length && bytes[i + 1] == '\n') {
            line = 0;
            i++;
        } else if (bytes[i] == '\r' || bytes[i] == '\n' || bytes[i] == '\0') {
            return refuse(error, "the mail has a line end that is not CRLF, or a NUL byte");
        } else if (++line > LINE_MOST) {
            return refuse(error, "the mail has a line of more than 998 bytes");
        }
    }
    return true;
}

static bool check_mail(const struct bl_parcel *parcel, GError **error)
{
    gsize length = 0;
    const char *bytes = parcel->body ? g_bytes_get_data(parcel->body, &length) : NULL;
    return bytes ? check_lines(bytes, length, error) : refuse(error, "the mail is empty");
}

static bool one_printable_line(const char *text)
{
    for (const char *p = text; *p; p++) {
        if (g_ascii_iscntrl(*p) && *p != '\t') {
            return false;
        }
    }
    return true;
}

static bool check_request(const struct bl_parcel *parcel, GError **error)
{
    if (!parcel->url || !one_printable_line(parcel->url)) {
        return refuse(error, "the request has no address, or a line end in it");
    }
    for (guint i = 0; parcel->headers && parcel->headers[i]; i++) {
        if (!one_printable_line(parcel->headers[i])) {
            return refuse(error, "a header of the request has a line end in it");
        }
    }
    return true;
}

/* ".eml": a dot and letters, so that a suffix never leads out of the folder. */
static bool check_suffix(const struct bl_parcel *parcel, GError **error)
{
    const char *suffix = parcel->suffix ? parcel->suffix : "";
    for (const char *p = suffix; *p; p++) {
        if (p == suffix ? *p != '.' : !g_ascii_isalnum(*p)) {
            return refuse(error, "the file's suffix is none");
        }
    }
    return true;
}

bool send_check_parcel(const struct bl_gateway *gateway, const struct bl_parcel *parcel,
                       GError **error)
{
    static bool (*const checks[])(const struct bl_parcel *, GError **) = {
        [BL_GATEWAY_FOLDER] = check_suffix,
        [BL_GATEWAY_SMTP] = check_mail,
        [BL_GATEWAY_HTTP] = check_request,
    };
    return check_recipient(gateway, parcel->to, error) && check_key(parcel->key, error) &&
           checks[gateway->kind](parcel, error);
}
