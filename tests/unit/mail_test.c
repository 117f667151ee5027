/* Mails as bytes: what every mail carries, and what is never made into one. The reading back by
 * another program is in tests/check/check_mail.py. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "beadline/compose.h"
#include "driveway.h"

#define KEY "0123456789abcdef0123456789abcdef"

static struct bl_letter a_letter(void)
{
    return (struct bl_letter){
        .subject = g_strdup("Bright Panel: your blue estate"),
        .text = g_strdup("Bright Panel\n\nGrüße\n.\n"),
        .html = g_strdup("<p>Grüße</p>\n"),
    };
}

/* The mail as a text; NULL when it is refused. */
static char *mail_of(const struct bl_shop *shop, const char *name, const char *address,
                     const char *key, GError **error)
{
    struct bl_letter letter = a_letter();
    g_autoptr(GBytes) bytes =
        bl_compose_mail(shop, &letter, name, address, key, 1773327600, error);
    bl_letter_clear(&letter);
    gsize length = 0;
    const char *data = bytes ? g_bytes_get_data(bytes, &length) : NULL;
    return data ? g_strndup(data, length) : NULL;
}

static void a_mail_carries_what_a_mail_needs(void **state)
{
    (void)state;
    struct driveway driveway;
    driveway_open(&driveway);
    g_autofree char *mail =
        mail_of(&driveway.shop, "Ada Example", "ada@example.com", KEY, NULL);
    assert_string_equal(mail, "From: Bright Panel <sam@shop.example>\r\n"
                              "To: Ada Example <ada@example.com>\r\n"
                              "Reply-To: Bright Panel <sam@shop.example>\r\n"
                              "Subject: Bright Panel: your blue estate\r\n"
                              "Date: Thu, 12 Mar 2026 15:00:00 +0000\r\n"
                              "Message-ID: <" KEY "@shop.example>\r\n"
                              "Auto-Submitted: auto-generated\r\n"
                              "List-Unsubscribe: <mailto:sam@shop.example?subject=STOP>\r\n"
                              "MIME-Version: 1.0\r\n"
                              "Content-Type: multipart/alternative;\r\n"
                              "\tboundary=\"=_" KEY "\"\r\n"
                              "\r\n"
                              "--=_" KEY "\r\n"
                              "Content-Type: text/plain; charset=utf-8\r\n"
                              "Content-Transfer-Encoding: quoted-printable\r\n"
                              "\r\n"
                              "Bright Panel\r\n"
                              "\r\n"
                              "Gr=C3=BC=C3=9Fe\r\n"
                              ".\r\n"
                              "\r\n"
                              "--=_" KEY "\r\n"
                              "Content-Type: text/html; charset=utf-8\r\n"
                              "Content-Transfer-Encoding: quoted-printable\r\n"
                              "\r\n"
                              "<p>Gr=C3=BC=C3=9Fe</p>\r\n"
                              "\r\n"
                              "--=_" KEY "--\r\n");
    driveway_close(&driveway);
}

static void the_same_letter_gives_the_same_bytes(void **state)
{
    (void)state;
    struct driveway driveway;
    driveway_open(&driveway);
    g_autofree char *first = mail_of(&driveway.shop, "Ada", "ada@example.com", KEY, NULL);
    g_autofree char *second = mail_of(&driveway.shop, "Ada", "ada@example.com", KEY, NULL);
    assert_string_equal(first, second);
    driveway_close(&driveway);
}

static void the_date_has_the_offset_of_the_shop_that_day(void **state)
{
    (void)state;
    static const struct {
        const char *zone, *date;
    } zones[] = {
        {"Europe/Berlin", "Date: Thu, 12 Mar 2026 16:00:00 +0100\r\n"},
        {"Asia/Kolkata", "Date: Thu, 12 Mar 2026 20:30:00 +0530\r\n"},
        {"America/St_Johns", "Date: Thu, 12 Mar 2026 12:30:00 -0230\r\n"},
        {"Pacific/Kiritimati", "Date: Fri, 13 Mar 2026 05:00:00 +1400\r\n"},
    };
    for (guint i = 0; i < G_N_ELEMENTS(zones); i++) {
        struct driveway driveway;
        driveway_open(&driveway);
        bl_zone_free(driveway.shop.zone);
        driveway.shop.zone = bl_zone_new(zones[i].zone, NULL);
        g_autofree char *mail = mail_of(&driveway.shop, "Ada", "ada@example.com", KEY, NULL);
        assert_non_null(strstr(mail, zones[i].date));
        driveway_close(&driveway);
    }
}

static void a_customer_without_a_name_is_addressed_plainly(void **state)
{
    (void)state;
    struct driveway driveway;
    driveway_open(&driveway);
    g_autofree char *mail = mail_of(&driveway.shop, NULL, "ada@example.com", KEY, NULL);
    assert_non_null(strstr(mail, "\r\nTo: <ada@example.com>\r\n"));
    driveway_close(&driveway);
}

static void a_name_adds_no_header(void **state)
{
    (void)state;
    struct driveway driveway;
    driveway_open(&driveway);
    g_autofree char *mail = mail_of(&driveway.shop, "Ada\r\nBcc: evil@example.com\xff",
                                    "ada@example.com", KEY, NULL);
    assert_null(strstr(mail, "\nBcc"));
    assert_non_null(strstr(
        mail,
        "To: =?utf-8?Q?Ada_Bcc=3A_evil=40example=2Ecom=EF=BF=BD?= <ada@example.com>\r\n"));
    driveway_close(&driveway);
}

static void what_cannot_be_a_mail_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *shop, *address, *key, *why;
    } cases[] = {
        {NULL, "ada@example.com", KEY, "a mail needs the shop's own mailbox"},
        {"nobody", "ada@example.com", KEY, "the shop's mailbox cannot be used"},
        {"sam@shop.example", "ada@example.com\r\nRCPT TO:<b@example.com>", KEY,
         "the customer's mailbox cannot be used"},
        {"sam@shop.example", NULL, KEY, "the customer's mailbox cannot be used: there is none"},
        {"sam@shop.example", "ada@example.com", "abc", "\"abc\" is not a message's key"},
    };
    for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
        struct driveway driveway;
        driveway_open(&driveway);
        g_free(driveway.shop.mail);
        driveway.shop.mail = g_strdup(cases[i].shop);
        g_autoptr(GError) error = NULL;
        assert_null(mail_of(&driveway.shop, "Ada", cases[i].address, cases[i].key, &error));
        assert_int_equal(error->code, BL_ERROR_REFUSED);
        assert_true(g_str_has_prefix(error->message, cases[i].why));
        driveway_close(&driveway);
    }
}

static void an_sms_is_not_made_into_a_mail(void **state)
{
    (void)state;
    struct driveway driveway;
    driveway_open(&driveway);
    struct bl_letter letter = {.text = g_strdup("Bright Panel: hello")};
    g_autoptr(GError) error = NULL;
    assert_null(
        bl_compose_mail(&driveway.shop, &letter, "Ada", "ada@example.com", KEY, 0, &error));
    assert_int_equal(error->code, BL_ERROR_REFUSED);
    bl_letter_clear(&letter);
    driveway_close(&driveway);
}

static void a_message_id_is_the_key_at_the_shops_domain(void **state)
{
    (void)state;
    struct driveway driveway;
    driveway_open(&driveway);
    g_autofree char *id = bl_compose_message_id(&driveway.shop, KEY);
    assert_string_equal(id, "<" KEY "@shop.example>");
    g_clear_pointer(&driveway.shop.mail, g_free);
    assert_null(bl_compose_message_id(&driveway.shop, KEY));
    driveway_close(&driveway);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_mail_carries_what_a_mail_needs),
        cmocka_unit_test(the_same_letter_gives_the_same_bytes),
        cmocka_unit_test(the_date_has_the_offset_of_the_shop_that_day),
        cmocka_unit_test(a_customer_without_a_name_is_addressed_plainly),
        cmocka_unit_test(a_name_adds_no_header),
        cmocka_unit_test(what_cannot_be_a_mail_is_refused),
        cmocka_unit_test(an_sms_is_not_made_into_a_mail),
        cmocka_unit_test(a_message_id_is_the_key_at_the_shops_domain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
