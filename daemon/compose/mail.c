/*
 * Mails: a letter as the bytes an SMTP server is given. GMime lays out the parts; the headers
 * that carry people's names are our own (header.c). The same letter and key give the same
 * bytes, so a resent mail is the same mail.
 */
#include <gmime/gmime.h>
#include <string.h>

#include "beadline/address.h"
#include "beadline/compose.h"
#include "header.h"

#define KEY_DIGITS 32

/* GMime keeps tables for the whole process; whoever needs it first makes them. */
static void start_gmime(void)
{
    static gsize started;
    if (g_once_init_enter(&started)) {
        g_mime_init();
        g_once_init_leave(&started, 1);
    }
}

/* mail's domain; NULL without one. */
static const char *domain_of(const struct bl_shop *shop)
{
    const char *at = shop->mail ? strrchr(shop->mail, '@') : NULL;
    return at && at[1] ? at + 1 : NULL;
}

char *bl_compose_message_id(const struct bl_shop *shop, const char *key)
{
    const char *domain = domain_of(shop);
    return domain ? g_strdup_printf("<%s@%s>", key, domain) : NULL;
}

static bool refuse(GError **error, const char *format, ...) G_GNUC_PRINTF(2, 3);

static bool refuse(GError **error, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    g_autofree char *text = g_strdup_vprintf(format, args);
    va_end(args);
    g_set_error_literal(error, BL_ERROR, BL_ERROR_REFUSED, text);
    return false;
}

/* Whether a mail may be made of it at all. */
static bool check_all(const struct bl_shop *shop, const struct bl_letter *letter,
                      const char *to_address, const char *key, GError **error)
{
    g_autoptr(GError) why = NULL;
    if (!shop->mail) {
        return refuse(error, "a mail needs the shop's own mailbox: set \"mail\" of the shop");
    }
    if (!bl_mail_check(shop->mail, &why)) {
        return refuse(error, "the shop's mailbox cannot be used: %s", why->message);
    }
    if (!to_address || !bl_mail_check(to_address, &why)) {
        return refuse(error, "the customer's mailbox cannot be used: %s",
                      why ? why->message : "there is none");
    }
    if (strlen(key) != KEY_DIGITS || strspn(key, "0123456789abcdef") != KEY_DIGITS) {
        return refuse(error, "\"%s\" is not a message's key: 32 hexadecimal digits", key);
    }
    if (!letter->text || !letter->html || !letter->subject) {
        return refuse(error, "this letter is not a mail: compose it for the mail channel");
    }
    return true;
}

/* Sets a header to a value that is folded and encoded already. */
static void set_ready(GMimeMessage *message, const char *name, const char *value)
{
    GMimeHeaderList *headers = g_mime_object_get_header_list(GMIME_OBJECT(message));
    g_mime_header_list_append(headers, name, "", NULL);
    int last = g_mime_header_list_get_count(headers) - 1;
    g_autofree char *raw = g_strdup_printf(" %s\r\n", value);
    g_mime_header_set_raw_value(g_mime_header_list_get_header_at(headers, last), raw);
}

static void set_mailbox(GMimeMessage *message, const char *name, const char *display,
                        const char *address)
{
    g_autofree char *value = bl_header_mailbox(name, display, address);
    set_ready(message, name, value);
}

static void set_text(GMimeMessage *message, const char *name, const char *text)
{
    g_autofree char *value = bl_header_text(name, text);
    set_ready(message, name, value);
}

/* The date as the shop's wall clock shows it (RFC 5322 section 3.3). */
static void set_date(GMimeMessage *message, const struct bl_shop *shop, int64_t now)
{
    g_autoptr(GTimeZone) zone = g_time_zone_new_offset(bl_zone_offset(shop->zone, now));
    g_autoptr(GDateTime) utc = g_date_time_new_from_unix_utc(now);
    g_autoptr(GDateTime) local = g_date_time_to_timezone(utc, zone);
    g_autofree char *value = g_mime_utils_header_format_date(local);
    set_ready(message, "Date", value);
}

static void set_unsubscribe(GMimeMessage *message, const struct bl_shop *shop)
{
    g_autofree char *address = g_uri_escape_string(shop->mail, "@", FALSE);
    g_autofree char *value = g_strdup_printf("<mailto:%s?subject=STOP>", address);
    set_ready(message, "List-Unsubscribe", value);
}

static GMimeObject *text_part(const char *subtype, const char *text)
{
    GMimePart *part = g_mime_part_new_with_type("text", subtype);
    g_mime_object_set_content_type_parameter(GMIME_OBJECT(part), "charset", "utf-8");
    g_mime_part_set_content_encoding(part, GMIME_CONTENT_ENCODING_QUOTEDPRINTABLE);
    GMimeStream *stream = g_mime_stream_mem_new_with_buffer(text, strlen(text));
    GMimeDataWrapper *content =
        g_mime_data_wrapper_new_with_stream(stream, GMIME_CONTENT_ENCODING_DEFAULT);
    g_mime_part_set_content(part, content);
    g_object_unref(content);
    g_object_unref(stream);
    return GMIME_OBJECT(part);
}

static void add_part(GMimeMultipart *parts, const char *subtype, const char *text)
{
    GMimeObject *part = text_part(subtype, text);
    g_mime_multipart_add(parts, part);
    g_object_unref(part);
}

/* "=_" cannot occur in quoted-printable (RFC 2045 section 6.7), so no body can end a part. */
static void set_parts(GMimeMessage *message, const struct bl_letter *letter, const char *key)
{
    GMimeMultipart *parts = g_mime_multipart_new_with_subtype("alternative");
    g_autofree char *boundary = g_strdup_printf("=_%s", key);
    g_mime_multipart_set_boundary(parts, boundary);
    add_part(parts, "plain", letter->text);
    add_part(parts, "html", letter->html);
    g_mime_message_set_mime_part(message, GMIME_OBJECT(parts));
    g_object_unref(parts);
}

static GBytes *write_out(GMimeMessage *message)
{
    GMimeFormatOptions *options = g_mime_format_options_new();
    g_mime_format_options_set_newline_format(options, GMIME_NEWLINE_FORMAT_DOS);
    GByteArray *bytes = g_byte_array_new();
    GMimeStream *stream = g_mime_stream_mem_new_with_byte_array(bytes);
    g_mime_stream_mem_set_owner(GMIME_STREAM_MEM(stream), FALSE);
    g_mime_object_write_to_stream(GMIME_OBJECT(message), options, stream);
    g_object_unref(stream);
    g_mime_format_options_free(options);
    return g_byte_array_free_to_bytes(bytes);
}

GBytes *bl_compose_mail(const struct bl_shop *shop, const struct bl_letter *letter,
                        const char *to_name, const char *to_address, const char *key,
                        int64_t now, GError **error)
{
    if (!check_all(shop, letter, to_address, key, error)) {
        return NULL;
    }
    start_gmime();
    g_autofree char *id = bl_compose_message_id(shop, key);
    GMimeMessage *message = g_mime_message_new(FALSE);
    set_mailbox(message, "From", shop->name, shop->mail);
    set_mailbox(message, "To", to_name, to_address);
    set_mailbox(message, "Reply-To", shop->name, shop->mail);
    set_text(message, "Subject", letter->subject);
    set_date(message, shop, now);
    set_ready(message, "Message-ID", id);
    set_ready(message, "Auto-Submitted", "auto-generated");
    set_unsubscribe(message, shop);
    set_parts(message, letter, key);
    GBytes *bytes = write_out(message);
    g_object_unref(message);
    return bytes;
}
