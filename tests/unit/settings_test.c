/* The settings: what an owner may write, and what is said when it is wrong. The table of faults
 * is the owner's view: a text, and the line that must name the slip. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <glib.h>

#include "beadline/civil.h"
#include "beadline/settings.h"
#include "faulty.h"

/* Two lines that are enough; what a test adds begins in line 3. */
#define SHOP                                                                                   \
    "shop = { name = \"Example Shine\"; owner = \"Alex\"; phone = \"07700 900123\"; zone = "   \
    "\"Europe/London\"; };\n"
#define PHONE "phone = { calling_code = \"44\"; };\n"
#define GOOD  SHOP PHONE

#define SMTP(rest)                                                                             \
    GOOD "gateways = ( { name = \"post\"; kind = \"smtp\"; host = \"mail.example.com\"; "      \
         "from = \"a@example.com\";\n" rest "} );\n"
#define HTTP(rest)                                                                             \
    GOOD "gateways = ( { name = \"texts\"; kind = \"http\"; url = "                            \
         "\"https://sms.example.com/send\";\n" rest "} ); carry = { sms = \"texts\"; };\n"

struct slip {
    const char *text;
    const char *line; /* a part of one fault, from "x.conf:N" on */
};

static const struct slip slips[] = {
    /* the text itself */
    {"", "x.conf: is empty"},
    {"shop = { name = \"A\"", "x.conf:1: a bracket is opened here and never closed"},
    {GOOD "units = \"km", "x.conf:3: a text begins here and its closing quote is missing"},
    {GOOD "/* later\nunits = \"km\";", "x.conf:3: a comment begins here"},
    {GOOD "units = \"km\"", "x.conf:3: the last setting has no \";\""},
    {GOOD "lead_days = 4", "x.conf:3: the last setting has no \";\""},
    {GOOD "lead_days 4;", "x.conf:3: \"=\" is wanted after a name, not 4"},
    {GOOD "lead_days = ;", "x.conf:3: a value is wanted here, not ;"},
    {GOOD "lead_days = 4 5;", "x.conf:3: \";\" is wanted after a value, not 5"},
    {GOOD "lead_days = 4x5;", "x.conf:3: 4x5 is no number"},
    {GOOD "lead_days = 0x;", "x.conf:3: 0x is no number"},
    {GOOD "closed = [ \"2026-12-24\" units ];",
     "x.conf:3: \",\" or a closing bracket is wanted"},
    {GOOD "closed = [ \"2026-12-24\", ];", "x.conf:3: a value is wanted here, not ]"},
    {GOOD "= 4;", "x.conf:3: a setting's name is wanted here, not ="},
    {GOOD "true = 4;", "x.conf:3: a setting's name is wanted here, not true"},
    {GOOD "lead_days = 4; ?", "x.conf:3: a setting's name is wanted here, not ?"},
    {GOOD "closed = [\"2026-12-24\");", "x.conf:3: \"[\" is closed by \")\" here"},
    {GOOD "\n};", "x.conf:4: a bracket is closed here that was not opened"},
    {GOOD "lead_days = 1;\nlead_days = 2;", "x.conf:4: this name is given twice"},
    {GOOD "lead_days = 99999999999;", "x.conf:3: the number 99999999999 is too big"},
    {GOOD "lead_days = 0x1FFFFFFFF;", "x.conf:3: the number 0x1FFFFFFFF is too big"},
    {GOOD "units = \"k\\x00m\";", "x.conf:3: a text holds a NUL"},
    {GOOD "units = \"k\xc3(m\";", "x.conf:3: holds a byte that is not UTF-8"},
    {"\xff\xfes\1", "x.conf:1: is written in UTF-16"},
    {GOOD "units = yes;", "x.conf:3: yes is no value: texts stand in quotes"},
    {GOOD "@include units.conf\n", "x.conf:3: @include wants a file's name in quotes"},
    {GOOD "@include \"a.conf\" units = \"km\";\n", "x.conf:3: @include stands alone"},
    {GOOD "x = ((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((",
     "x.conf:3: brackets stand too deep"},

    /* names */
    {GOOD "lead_day = 4;",
     "x.conf:3: \"lead_day\" is not known here; did you mean \"lead_days\"?"},
    {GOOD "monday = \"none\";", "x.conf:3: \"monday\" is not known here; did you mean "
                                "\"hours.monday\"?"},
    {GOOD "hours = { mondy = \"none\"; };",
     "x.conf:3: \"hours.mondy\" is not known here; did you mean \"monday\"?"},
    {GOOD "zebra = 1;", "x.conf:3: \"zebra\" is not known here"},
    {GOOD "restraint = 1;", "x.conf:3: \"restraint\" is a group: write restraint = { ... };"},
    {PHONE "shop = { name = \"A\"; owner = \"B\"; zone = \"Europe/London\"; };",
     "x.conf: \"shop.phone\" is missing: the number customers ring"},
    {SHOP, "x.conf: \"phone.calling_code\" is missing"},

    /* values of the shop */
    {PHONE
     "shop = { owner = \"B\"; phone = \"07700 900123\"; zone = \"Europe/London\";\nname = 5; };",
     "x.conf:3: \"shop.name\": text wanted, not a whole number"},
    {PHONE
     "shop = { owner = \"B\"; phone = \"07700 900123\"; zone = \"Europe/London\";\nname = \"  \"; };",
     "x.conf:3: \"shop.name\":"},
    {PHONE
     "shop = { owner = \"B\"; phone = \"07700 900123\"; zone = \"Europe/London\";\nname = \"a\nb\"; };",
     "x.conf:3: \"shop.name\":"},
    {PHONE
     "shop = { name = \"A\"; owner = \"B\"; phone = \"07700 900123\";\nzone = \"Europe/Londn\"; };",
     "x.conf:3: \"shop.zone\": \"Europe/Londn\""},
    {PHONE
     "shop = { name = \"A\"; owner = \"B\"; zone = \"Europe/London\";\nphone = \"07700 call me\"; };",
     "x.conf:3: \"shop.phone\":"},
    {PHONE
     "shop = { name = \"A\"; owner = \"B\"; phone = \"07700 900123\"; zone = \"Europe/London\";\nmail = "
     "\"a@b@example.com\"; };",
     "x.conf:3: \"shop.mail\":"},
    {PHONE
     "shop = { name = \"A\"; owner = \"B\"; phone = \"07700 900123\"; zone = \"Europe/London\";\nlanguage = "
     "\"English\"; };",
     "x.conf:3: \"shop.language\": \"English\" is not a language's short name"},
    {SHOP "phone = { calling_code = \"+44\"; };",
     "x.conf:2: \"phone.calling_code\": 1 to 3 digits in quotes belong here, not \"+44\""},
    {SHOP "phone = { calling_code = \"044\"; };",
     "x.conf:2: \"phone.calling_code\": a calling code"},
    {SHOP "phone = { calling_code = 44; };",
     "x.conf:2: \"phone.calling_code\": digits wanted (1 to 3 digits), not a whole number"},
    {SHOP "phone = { calling_code = \"44\"; trunk_kept = 1; };",
     "x.conf:2: \"phone.trunk_kept\": yes or no wanted (true or false), not a whole number"},
    {GOOD "units = \"mile\";",
     "x.conf:3: \"units\": \"mile\" is not known; did you mean \"miles\"? one of: km, miles"},
    {GOOD "distance_a_year = 12;",
     "x.conf:3: \"distance_a_year\": 12 is outside 500 to 200000"},
    {GOOD "distance_a_year = 1.0e999;", "x.conf:3: \"distance_a_year\": inf is outside"},
    {GOOD "lead_days = 21.5;",
     "x.conf:3: \"lead_days\": whole number wanted (0 to 180), not a number with decimals"},
    {GOOD "restraint = {\n care_days = -1; };",
     "x.conf:4: \"restraint.care_days\": -1 is outside "
     "0 to 366"},
    {GOOD "salt_months = [11, 13];",
     "x.conf:3: \"salt_months\": a month is a number from 1 to 12"},
    {GOOD "salt_months = [\"may\"];", "x.conf:3: \"salt_months\": a month is a number from 1"},
    {GOOD "salt_months = 5;", "x.conf:3: \"salt_months\": list of months wanted"},
    {GOOD "climate = [1, 2, 3];", "x.conf:3: \"climate\": 12 numbers belong here, not 3"},
    {GOOD "climate = [1, 2, 3, 4, 5, 6, 77, 8, 9, 10, 11, 12];",
     "x.conf:3: \"climate\": 77 is outside -50 to 50"},
    {GOOD "climate = 12;", "x.conf:3: \"climate\": list of 12 numbers wanted"},
    {GOOD "clock = \"atomic\";", "x.conf:3: \"clock\": \"atomic\" is not known: one of: "
                                 "synchronised, unchecked"},
    {GOOD "retry = { first_s = 60; longest_s = 30; };",
     "x.conf:3: \"retry\": the first wait, 60 s, is more than the longest, 30 s"},
    {GOOD "database = \"~/beadline.db\";", "x.conf:3: \"database\": \"~\" means nothing here"},

    /* hours and dates */
    {GOOD "hours = { monday = \"9-5\"; };", "x.conf:3: \"hours.monday\": \"9-5\" is not hours"},
    {GOOD "hours = { monday = \"09:00-25:00\"; };", "x.conf:3: \"hours.monday\":"},
    {GOOD "hours = { monday = \"09:60-17:00\"; };", "x.conf:3: \"hours.monday\":"},
    {GOOD "hours = { monday = \"17:00-09:00\"; };",
     "x.conf:3: \"hours.monday\": \"17:00-09:00\" is not a day's hours"},
    {GOOD "hours = { friday = \"07:59-17:00\"; };",
     "x.conf:3: \"hours.friday\": before 08:00 or after 21:00"},
    {GOOD "hours = { friday = \"09:00-21:01\"; };",
     "x.conf:3: \"hours.friday\": before 08:00 or after 21:00"},
    {GOOD "hours = { monday = \"none\"; tuesday = \"none\"; wednesday = \"none\"; thursday = "
          "\"none\"; friday = \"none\"; saturday = \"none\"; };",
     "x.conf:3: \"hours\": no day has any"},
    {GOOD "closed = \"2026-12-24\";", "x.conf:3: \"closed\": list of dates wanted"},
    {GOOD "closed = [ 2026 ];", "x.conf:3: \"closed\": list of dates wanted"},
    {GOOD "closed = [ \"2026-02-30\" ];", "x.conf:3: \"closed\": \"2026-02-30\" is not a date"},
    {GOOD "closed = [ \"2026-12-24 to 2026-12-27\" ];", "x.conf:3: \"closed\":"},
    {GOOD "closed = [ \"2026-12-27 - 2026-12-24\" ];",
     "x.conf:3: \"closed\": \"2026-12-27 - 2026-12-24\" is not a stretch of days"},
    {GOOD "closed = [ \"2026-12-24 - 2028-12-27\" ];",
     "x.conf:3: \"closed\": \"2026-12-24 - 2028-12-27\" is not closed for under a year"},

    /* gateways */
    {GOOD "gateways = { };", "x.conf:3: \"gateways\" is a list of at most 32 groups"},
    {GOOD "gateways = ( 1 );", "x.conf:3: \"gateways\" is a list of at most 32 groups"},
    {GOOD "gateways = ( { kind = \"folder\"; } ); carry = { sms = \"a\"; };",
     "x.conf:3: gateway 1: \"name\" is missing"},
    {GOOD "gateways = ( { name = \"a\"; } ); carry = { sms = \"a\"; };",
     "x.conf:3: gateway \"a\": \"kind\" is missing"},
    {GOOD "gateways = ( { name = \"a\"; kind = \"smpt\"; } ); carry = { mail = \"a\"; };",
     "x.conf:3: gateway \"a\": \"kind\": \"smpt\" is not known; did you mean \"smtp\"?"},
    {GOOD "gateways = ( { name = \"a\"; kind = \"folder\"; } );",
     "x.conf:3: no gateway is to carry anything"},
    {GOOD
     "gateways = ( { name = \"a\"; kind = \"folder\"; },\n{ name = \"a\"; kind = \"folder\"; } "
     "); carry = { sms = \"a\"; };",
     "x.conf:4: two gateways are called \"a\""},
    {GOOD "gateways = ( { name = \"a\"; kind = \"folder\"; port = 25; } ); carry = { sms = "
          "\"a\"; };",
     "x.conf:3: gateway \"a\": \"port\" is not for this kind"},
    {GOOD "carry = { sms = \"outbx\"; };",
     "x.conf:3: \"carry.sms\": there is no gateway \"outbx\"; did you mean \"outbox\"?"},
    {SMTP("") "carry = { sms = \"post\"; };",
     "x.conf:5: \"carry.sms\": gateway \"post\" cannot carry that"},
    {SMTP("") "carry = { mail = \"post\"; };", "x.conf:5: \"shop.mail\" is missing"},
    {SMTP("tls = \"none\";"), "x.conf:4: gateway \"post\": \"tls\": \"none\" is only for this "
                              "machine itself"},
    {SMTP("port = 70000;"),
     "x.conf:4: gateway \"post\": \"port\": 70000 is outside 1 to 65535"},
    {SMTP("user = \"alex\";"),
     "x.conf:4: gateway \"post\": \"user\": its password has no source"},
    {SMTP("password = \"x\";"),
     "x.conf:4: gateway \"post\": \"password\": a secret does not belong "
     "in this file"},
    {SMTP("token = \"x\";"), "x.conf:4: gateway \"post\": \"token\": a secret does not belong"},
    {SMTP("secret_file = \"/nonexistent/secret\"; user = \"alex\";"),
     "x.conf:4: gateway \"post\": \"secret_file\": there is no such file"},
    {SMTP("secret_file = \"/run/credentials/beadlined.service/post\";"),
     "x.conf:4: gateway \"post\": \"secret_file\": there is nobody to log in as"},
    {SMTP("ca_file = \"/nonexistent/authority.pem\";"),
     "x.conf:4: gateway \"post\": \"ca_file\": there is no such file"},
    {SMTP("unsure = \"maybe\";"),
     "x.conf:4: gateway \"post\": \"unsure\": \"maybe\" is not known"},
    {SMTP("connections = 33;"),
     "x.conf:4: gateway \"post\": \"connections\": 33 is outside 1 to 32"},
    {GOOD
     "gateways = ( { name = \"p\"; kind = \"smtp\"; host = \"smtp://mail.example.com\"; from = "
     "\"a@example.com\"; } );",
     "x.conf:3: gateway \"p\": \"host\": a server's name or address belongs here"},
    {GOOD "gateways = ( { name = \"p\"; kind = \"smtp\"; host = \"mail.example.com\"; } );",
     "x.conf:3: gateway \"p\": \"from\" is missing"},
    {GOOD "gateways = ( { name = \"p\"; kind = \"smtp\"; from = \"a@example.com\"; } );",
     "x.conf:3: gateway \"p\": \"host\" is missing"},
    {GOOD "gateways = ( { name = \"t\"; kind = \"http\"; } );",
     "x.conf:3: gateway \"t\": \"url\" is missing"},
    {GOOD
     "gateways = ( { name = \"t\"; kind = \"http\"; url = \"http://sms.example.com/\"; } );",
     "x.conf:3: gateway \"t\": \"url\": only https leaves this machine"},
    {GOOD "gateways = ( { name = \"t\"; kind = \"http\"; url = \"ftp://127.0.0.1/\"; } );",
     "x.conf:3: gateway \"t\": \"url\": only https leaves this machine"},
    {GOOD
     "gateways = ( { name = \"t\"; kind = \"http\"; url = \"http://localhost.example.com/\"; } );",
     "x.conf:3: gateway \"t\": \"url\": only https leaves this machine"},
    {GOOD "gateways = ( { name = \"t\"; kind = \"http\"; url = \"sms.example.com\"; } );",
     "x.conf:3: gateway \"t\": \"url\": an address such as"},
    {GOOD
     "gateways = ( { name = \"t\"; kind = \"http\"; url = \"https://{{to}}.example.com/\"; } );",
     "x.conf:3: gateway \"t\": \"url\": the server's name is fixed"},
    {GOOD
     "gateways = ( { name = \"t\"; kind = \"http\"; url = \"https://me:pw@sms.example.com/\"; } );",
     "x.conf:3: gateway \"t\": \"url\": no user or secret in an address"},
    {HTTP("method = \"GET\"; body = \"x\";"),
     "x.conf:4: gateway \"texts\": \"body\": a GET sends none"},
    {HTTP("method = \"post\";"),
     "x.conf:4: gateway \"texts\": \"method\": \"post\" is not known; did "
     "you mean \"POST\"?"},
    {HTTP("accepted = [200, 404];"),
     "x.conf:4: gateway \"texts\": \"accepted\": 404 is outside 200 to "
     "299"},
    {HTTP("accepted = [];"),
     "x.conf:4: gateway \"texts\": \"accepted\": list of whole numbers wanted"},
    {HTTP("accepted_path = \"status\";"),
     "x.conf:3: gateway \"texts\": \"accepted_value\": its other "
     "half is given"},
    {HTTP("opted_out_value = \"x\";"),
     "x.conf:3: gateway \"texts\": \"opted_out_path\": its other "
     "half is given"},
    {HTTP("headers = ( { name = \"Authorization\"; value = \"Bearer abc\"; } );"),
     "x.conf:4: gateway \"texts\": \"headers\": a secret does not belong in this file"},
    {HTTP("headers = ( { name = \"X-Api-Key\"; value = \"abc\"; } );"),
     "x.conf:4: gateway \"texts\": \"headers\": a secret does not belong in this file"},
    {HTTP("headers = ( { name = \"Authorization\"; value = \"Bearer {{secret}}\"; } );"),
     "x.conf:4: gateway \"texts\": \"headers\": {{secret}} has no source"},
    {HTTP("headers = ( { name = \"Idempotency-Key\"; value = \"x\"; } );"),
     "x.conf:4: gateway \"texts\": \"headers\": Idempotency-Key"},
    {HTTP("headers = ( { name = \"X Y:\"; value = \"x\"; } );"),
     "x.conf:4: gateway \"texts\": \"headers\": a header's name is"},
    {HTTP("headers = ( { name = \"X-Y\"; } );"),
     "x.conf:4: gateway \"texts\": \"value\" is missing"},
    {HTTP("headers = \"X-Y: z\";"),
     "x.conf:4: gateway \"texts\": \"headers\" is a list of at most 32"},
    {HTTP("\"\";"), "x.conf:4: a setting's name is wanted here, not \"\""},
};

/* What the settings are read as, with the faults if asked for. */
static struct bl_settings *parse(const char *text, struct bl_faults *faults)
{
    return bl_settings_parse(text, strlen(text), "x.conf", faults);
}

static struct bl_settings *parse_well(const char *text)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    struct bl_settings *settings = parse(text, faults);
    if (!settings) {
        g_autofree char *lines = all_lines(faults);
        fail_msg("a good text was refused:\n%s", lines);
    }
    assert_int_equal(bl_faults_count(faults), 0);
    return settings;
}

static void every_slip_is_named_with_its_file_and_line(void **state)
{
    (void)state;
    assert_true(G_N_ELEMENTS(slips) >= 60);
    for (guint i = 0; i < G_N_ELEMENTS(slips); i++) {
        BL_AUTO(bl_faults) *faults = bl_faults_new();
        BL_AUTO(bl_settings) *settings = parse(slips[i].text, faults);
        g_autofree char *lines = all_lines(faults);
        if (settings || !has_line(faults, slips[i].line)) {
            fail_msg("slip %u: wanted \"%s\" for\n%s\ngot\n%s", i, slips[i].line, slips[i].text,
                     lines);
        }
    }
}

static void all_slips_of_a_file_are_told_at_once(void **state)
{
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings =
        parse("units = \"feet\";\nlead_days = -4;\nhours = { monday = "
              "\"x\"; };\nclosed = [ \"y\" ];\n" GOOD
              "gateways = ( { name = \"a\"; kind = \"z\"; } );\n",
              faults);
    assert_null(settings);
    static const char *const wanted[] = {
        "x.conf:1: ", "x.conf:2: ", "x.conf:3: ", "x.conf:4: ", "x.conf:7: "};
    for (guint i = 0; i < G_N_ELEMENTS(wanted); i++) {
        assert_true(has_line(faults, wanted[i]));
    }
}

static void every_faulty_element_of_a_list_is_named_at_its_line(void **state)
{
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings = parse(
        "closed = [ \"2026-12-24 - 2026-12-20\", \"2027-01-01\",\n \"31.12.2026\", 7 ];\n" GOOD,
        faults);
    assert_null(settings);
    assert_int_equal(bl_faults_count(faults), 3);
    assert_true(has_line(faults, "x.conf:1: \"closed\": \"2026-12-24 - 2026-12-20\" is not"));
    assert_true(has_line(faults, "x.conf:2: \"closed\": \"31.12.2026\" is not a date"));
    assert_true(has_line(faults, "x.conf:2: \"closed\": list of dates wanted"));
}

static void a_slip_in_the_last_line_of_a_list_is_not_put_at_its_bracket(void **state)
{
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings =
        parse(GOOD "gateways =\n(\n  1\n\n);\ncarry = { sms = \"a\"; };\n", faults);
    assert_null(settings);
    assert_true(has_line(faults, "x.conf:3: ") || has_line(faults, "x.conf:5: "));
}

static void two_lines_are_enough_and_the_rest_has_its_defaults(void **state)
{
    (void)state;
    BL_AUTO(bl_settings) *settings = parse_well(GOOD);
    const struct bl_shop *shop = &settings->shop;
    assert_string_equal(shop->name, "Example Shine");
    assert_string_equal(shop->phone, "+447700900123");
    assert_string_equal(shop->language, "en");
    assert_string_equal(bl_zone_name(shop->zone), "Europe/London");
    assert_null(shop->mail);
    assert_null(shop->address);
    assert_string_equal(shop->home.trunk, "0");
    assert_string_equal(shop->home.exit_code, "00");
    assert_false(shop->home.trunk_kept);
    for (int weekday = 1; weekday <= 6; weekday++) {
        assert_int_equal(shop->hours.open[weekday], 9 * 3600);
        assert_int_equal(shop->hours.close[weekday], 19 * 3600);
    }
    assert_int_equal(shop->hours.open[7], shop->hours.close[7]);
    assert_int_equal(shop->closed->len, 0);
    assert_false(shop->miles);
    assert_false(shop->has_climate);
    assert_int_equal(shop->salt_months, 0);
    assert_true(shop->km_a_year == 12000.0);
    assert_int_equal(shop->lead_days, 21);
    assert_int_equal(shop->restraint.messages_a_day, 1);
    assert_int_equal(shop->restraint.care_days, 42);
    assert_int_equal(shop->restraint.tips_offers_a_year, 6);
    assert_false(settings->clock_unchecked);
    assert_int_equal(settings->retry_first_s, 60);
    assert_int_equal(settings->retry_longest_s, 21600);
}

static void without_gateways_a_folder_beside_the_settings_takes_everything(void **state)
{
    (void)state;
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings =
        bl_settings_parse(GOOD, strlen(GOOD), "/srv/shop/beadline.conf", faults);
    assert_non_null(settings);
    assert_string_equal(settings->file, "/srv/shop/beadline.conf");
    assert_string_equal(settings->database, "/srv/shop/beadline.db");
    assert_string_equal(settings->catalogue, "/srv/shop/catalogue");
    assert_string_equal(settings->templates, "/srv/shop/templates");
    const struct bl_gateway *sms = bl_settings_carrier(settings, BL_SMS);
    const struct bl_gateway *mail = bl_settings_carrier(settings, BL_MAIL);
    assert_ptr_equal(sms, mail);
    assert_string_equal(sms->name, "outbox");
    assert_int_equal(sms->kind, BL_GATEWAY_FOLDER);
    assert_int_equal(sms->unsure, BL_UNSURE_RESEND);
    assert_string_equal(sms->folder, "/srv/shop/outbox");
    assert_null(bl_settings_carrier(settings, BL_BY_HAND));
}

static void a_gateway_is_read_with_the_defaults_of_its_kind(void **state)
{
    (void)state;
    BL_AUTO(bl_settings) *settings = parse_well(
        GOOD
        "gateways = (\n"
        "{ name = \"a\"; kind = \"smtp\"; host = \"mail.example.com\"; from = \"A@Example.COM\"; },\n"
        "{ name = \"b\"; kind = \"smtp\"; host = \"::1\"; from = \"a@example.com\"; tls = \"none\"; },\n"
        "{ name = \"c\"; kind = \"smtp\"; host = \"mail.example.com\"; from = \"a@example.com\"; tls = \"starttls\"; "
        "user = \"alex\"; secret_file = \"/run/credentials/beadlined.service/c\"; },\n"
        "{ name = \"d\"; kind = \"http\"; url = \"http://127.0.0.1:8025/{{to_digits}}\"; "
        "headers = ( { name = \"X-Shop\"; value = \"{{shop}}\"; } ); }\n"
        "); carry = { sms = \"d\"; };");
    assert_int_equal(settings->gateways->len, 4);
    const struct bl_gateway *a = &g_array_index(settings->gateways, struct bl_gateway, 0);
    assert_int_equal(a->port, 465);
    assert_int_equal(a->tls, BL_TLS_IMPLICIT);
    assert_string_equal(a->from, "A@example.com");
    assert_int_equal(a->unsure, BL_UNSURE_RESEND);
    assert_int_equal(a->connections, 4);
    assert_int_equal(a->timeout_s, 60);
    assert_int_equal(a->answer_timeout_s, 600);
    assert_int_equal(a[1].port, 25);
    assert_int_equal(a[2].port, 587);
    assert_string_equal(a[2].secret_file, "/run/credentials/beadlined.service/c");
    const struct bl_gateway *d = &a[3];
    assert_ptr_equal(bl_settings_carrier(settings, BL_SMS), d);
    assert_null(bl_settings_carrier(settings, BL_MAIL));
    assert_int_equal(d->unsure, BL_UNSURE_ASK);
    assert_string_equal(d->method, "POST");
    assert_string_equal(d->body_kind, "json");
    assert_null(d->body);
    assert_int_equal(d->accepted->len, 3);
    assert_int_equal(g_array_index(d->accepted, int, 2), 202);
    assert_int_equal(d->headers->len, 1);
    assert_string_equal(g_array_index(d->headers, struct bl_header_form, 0).value, "{{shop}}");
}

static void closed_dates_come_out_sorted_and_joined(void **state)
{
    (void)state;
    BL_AUTO(bl_settings) *settings = parse_well(
        GOOD "closed = [ \"2027-01-01\", \"2026-12-24 - 2026-12-27\", \"2026-12-26\",\n"
             "\"2026-12-27-2026-12-30\" ];");
    const GArray *closed = settings->shop.closed;
    assert_int_equal(closed->len, 2);
    const struct bl_closed *first = &g_array_index(closed, struct bl_closed, 0);
    assert_int_equal(first->first, bl_date_of(2026, 12, 24));
    assert_int_equal(first->last, bl_date_of(2026, 12, 30));
    assert_int_equal(first[1].first, bl_date_of(2027, 1, 1));
    assert_int_equal(first[1].last, bl_date_of(2027, 1, 1));
}

static void distance_is_in_the_shops_unit_and_kept_in_km(void **state)
{
    (void)state;
    BL_AUTO(bl_settings) *said = parse_well(GOOD "units = \"miles\"; distance_a_year = 10000;");
    assert_true(said->shop.miles);
    assert_true(said->shop.km_a_year > 16093.43 && said->shop.km_a_year < 16093.45);
    BL_AUTO(bl_settings) *unsaid = parse_well(GOOD "units = \"miles\";");
    assert_true(unsaid->shop.km_a_year == 12000.0);
}

static void hours_outside_eight_to_nine_need_the_owners_word(void **state)
{
    (void)state;
    BL_AUTO(bl_settings) *settings = parse_well(
        GOOD "hours = { sunday = \"6:30 - 24:00\"; outside_eight_to_nine = true; };");
    assert_int_equal(settings->shop.hours.open[7], 6 * 3600 + 1800);
    assert_int_equal(settings->shop.hours.close[7], 24 * 3600);
    BL_AUTO(bl_settings) *edge = parse_well(GOOD "hours = { sunday = \"08:00-21:00\"; };");
    assert_int_equal(edge->shop.hours.close[7], 21 * 3600);
}

static void salt_months_are_bits_from_january_on(void **state)
{
    (void)state;
    BL_AUTO(bl_settings) *settings = parse_well(GOOD "salt_months = [11, 12, 1, 1];");
    assert_int_equal(settings->shop.salt_months, 1u << 10 | 1u << 11 | 1u);
}

static void the_fingerprint_changes_with_what_a_plan_depends_on_and_nothing_else(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool changes;
    } cases[] = {
        {GOOD "lead_days = 22;", true},
        {GOOD "distance_a_year = 12001;", true},
        {GOOD "hours = { sunday = \"10:00-11:00\"; };", true},
        {GOOD "hours = { monday = \"09:00-19:01\"; };", true},
        {GOOD "closed = [ \"2026-12-24\" ];", true},
        {GOOD "climate = [0,0,0,0,0,0,0,0,0,0,0,0];", true},
        {GOOD "salt_months = [12, 1];", true},
        {GOOD "restraint = { messages_a_day = 2; };", true},
        {GOOD "restraint = { care_days = 43; };", true},
        {GOOD "restraint = { tips_offers_a_year = 7; };", true},
        {"shop = { name = \"Example Shine\"; owner = \"Alex\"; phone = \"07700 900123\"; zone = "
         "\"Europe/Dublin\"; };\n" PHONE,
         true},
        {"shop = { name = \"Other\"; owner = \"Sam\"; phone = \"07700 900124\"; zone = "
         "\"Europe/London\"; mail = \"a@example.com\"; language = \"de\"; };\n" PHONE,
         false},
        {GOOD "units = \"miles\";", false},
        {GOOD
         "clock = \"unchecked\"; database = \"other.db\"; catalogue = \"c\"; templates = \"t\";",
         false},
        {GOOD "retry = { first_s = 61; };", false},
        {GOOD "gateways = ( { name = \"a\"; kind = \"folder\"; } ); carry = { sms = \"a\"; };",
         false},
    };
    BL_AUTO(bl_settings) *base = parse_well(GOOD);
    g_autofree char *before = bl_settings_fingerprint(base);
    for (guint i = 0; i < G_N_ELEMENTS(cases); i++) {
        BL_AUTO(bl_settings) *settings = parse_well(cases[i].text);
        g_autofree char *after = bl_settings_fingerprint(settings);
        if ((strcmp(before, after) != 0) != cases[i].changes) {
            fail_msg("the fingerprint is wrong about\n%s", cases[i].text);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_slip_is_named_with_its_file_and_line),
        cmocka_unit_test(all_slips_of_a_file_are_told_at_once),
        cmocka_unit_test(every_faulty_element_of_a_list_is_named_at_its_line),
        cmocka_unit_test(a_slip_in_the_last_line_of_a_list_is_not_put_at_its_bracket),
        cmocka_unit_test(two_lines_are_enough_and_the_rest_has_its_defaults),
        cmocka_unit_test(without_gateways_a_folder_beside_the_settings_takes_everything),
        cmocka_unit_test(a_gateway_is_read_with_the_defaults_of_its_kind),
        cmocka_unit_test(closed_dates_come_out_sorted_and_joined),
        cmocka_unit_test(distance_is_in_the_shops_unit_and_kept_in_km),
        cmocka_unit_test(hours_outside_eight_to_nine_need_the_owners_word),
        cmocka_unit_test(salt_months_are_bits_from_january_on),
        cmocka_unit_test(the_fingerprint_changes_with_what_a_plan_depends_on_and_nothing_else),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
