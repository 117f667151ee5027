/* The table of options: what the owner may set, what each may be, what it is when left out, and
 * where it is kept. Reading, defaults, the offer for an unknown name, the help and the test of
 * the commented example all come from here. */
#include <stddef.h>

#include "draft.h"

#define OPTION(path_, type_, range_, initial_, help_)                                          \
    .help = {path_, type_, range_, initial_, help_}
#define TEXT(path_, initial_, help_)                                                           \
    OPTION(path_, "text", "", initial_, help_), .read = bl_field_text
#define WHOLE(path_, least, most, initial_, help_)                                             \
    OPTION(path_, "whole number", #least " to " #most, initial_, help_),                       \
        .read = bl_field_whole, .lo = (least), .hi = (most)
#define NUMBER(path_, least, most, initial_, help_)                                            \
    OPTION(path_, "number", #least " to " #most, initial_, help_), .read = bl_field_number,    \
                                                                   .lo = (least), .hi = (most)
#define DAY(name_, index, initial_)                                                            \
    OPTION("hours." name_, "hours", "\"09:00-19:00\" or \"none\"", initial_,                   \
           "messages leave between these times"),                                              \
        .read = value_hours, AT(week[index])
#define AT(member)        .offset = offsetof(struct draft, member)
#define IN(member)        .offset = offsetof(struct bl_gateway, member)
#define IN_HEADER(member) .offset = offsetof(struct bl_header_form, member)
#define SECRET(name_)                                                                          \
    {                                                                                          \
        OPTION("gateways[]." name_, "", "", "none", NULL), .read = value_secret                \
    }

static const char *const *unit_words(void)
{
    static const char *const words[] = {"km", "miles", NULL};
    return words;
}

static const char *const *clock_words(void)
{
    static const char *const words[] = {"synchronised", "unchecked", NULL};
    return words;
}

/* In the order of enum bl_gateway_kind. */
static const char *const *gateway_words(void)
{
    static const char *const words[] = {"folder", "smtp", "http", NULL};
    return words;
}

/* In the order of enum bl_unsure. */
static const char *const *unsure_words(void)
{
    static const char *const words[] = {"resend", "ask", NULL};
    return words;
}

/* In the order of enum bl_tls. */
static const char *const *tls_words(void)
{
    static const char *const words[] = {"tls", "starttls", "none", NULL};
    return words;
}

static const char *const *method_words(void)
{
    static const char *const words[] = {"POST", "PUT", "GET", NULL};
    return words;
}

static const char *const *body_words(void)
{
    static const char *const words[] = {"json", "form", "text", NULL};
    return words;
}

static const struct bl_field options[] = {
    {TEXT("shop.name", "", "the shop's name; every message starts with it"),
     AT(settings.shop.name)},
    {TEXT("shop.owner", "", "your own name, as customers know it"), AT(settings.shop.owner)},
    {TEXT("shop.phone", "", "the number customers ring"), AT(settings.shop.phone)},
    {OPTION("shop.mail", "mail address", "", "none",
            "your mailbox: mails come from it, answers go to it"),
     .read = value_mail, AT(settings.shop.mail)},
    {OPTION("shop.address", "text", "", "none", "postal address at the foot of mails"),
     .read = bl_field_note, AT(settings.shop.address)},
    {OPTION("shop.zone", "time zone", "such as \"Europe/London\"", "",
            "the time zone the shop works in"),
     .read = value_zone, AT(settings.shop.zone)},
    {OPTION("shop.language", "language", "such as \"en\"", "\"en\"",
            "the language of messages, unless a customer has another"),
     .read = value_language, AT(settings.shop.language)},

    {OPTION("phone.calling_code", "digits", "1 to 3 digits", "",
            "the country's calling code, without plus or zeros"),
     .read = value_digits, .lo = 1, .hi = 3, AT(settings.shop.home.calling_code)},
    {OPTION("phone.trunk", "digits", "0 to 3 digits", "\"0\"",
            "what is dialled in front of a number at home; \"\" when nothing is"),
     .read = value_digits, .lo = 0, .hi = 3, AT(settings.shop.home.trunk)},
    {OPTION("phone.trunk_kept", "yes or no", "true or false", "false",
            "true where that stays in the international number (Italy)"),
     .read = bl_field_yes, AT(settings.shop.home.trunk_kept)},
    {OPTION("phone.exit_code", "digits", "1 to 5 digits", "\"00\"",
            "what is dialled in front of a foreign number"),
     .read = value_digits, .lo = 1, .hi = 5, AT(settings.shop.home.exit_code)},

    {OPTION("units", "word", "km, miles", "\"km\"", "how distances are shown and typed"),
     .read = bl_field_flag, .words = unit_words, AT(settings.shop.miles)},
    {NUMBER("distance_a_year", 500, 200000, "12000",
            "what a car is taken to drive, in your unit (left out: 12 000 km in any unit)"),
     AT(distance)},

    {DAY("monday", 1, "\"09:00-19:00\"")},
    {DAY("tuesday", 2, "\"09:00-19:00\"")},
    {DAY("wednesday", 3, "\"09:00-19:00\"")},
    {DAY("thursday", 4, "\"09:00-19:00\"")},
    {DAY("friday", 5, "\"09:00-19:00\"")},
    {DAY("saturday", 6, "\"09:00-19:00\"")},
    {DAY("sunday", 7, "\"none\"")},
    {OPTION("hours.outside_eight_to_nine", "yes or no", "true or false", "false",
            "true allows hours before 08:00 and after 21:00; look up your law first"),
     .read = bl_field_yes, AT(hours_wide)},
    {OPTION("closed", "list of dates", "\"2026-12-24 - 2026-12-27\" or \"2027-01-01\"", "[]",
            "days without messages, both ends included"),
     .read = value_closed, .element = value_closed_days, AT(settings.shop.closed)},

    {OPTION("climate", "list of 12 numbers", "-50 to 50", "none",
            "mean temperature of each month where you work, degrees C, January first"),
     .read = bl_field_numbers, .element = bl_field_number, .lo = -50, .hi = 50, .count = 12,
     AT(settings.shop.climate_c)},

    {OPTION("salt_months", "list of months", "1 to 12", "[]",
            "when \"winter salt\" makes a protection wear (left out: all the year)"),
     .read = value_months, AT(settings.shop.salt_months)},

    {WHOLE("lead_days", 0, 180, "21",
           "how long before a protection's likely end its top-up is offered"),
     AT(settings.shop.lead_days)},
    {WHOLE("restraint.messages_a_day", 1, 20, "1", "at most so many to one address in a day"),
     AT(settings.shop.restraint.messages_a_day)},
    {WHOLE("restraint.care_days", 0, 366, "42", "days between two care tips to a customer"),
     AT(settings.shop.restraint.care_days)},
    {WHOLE("restraint.tips_offers_a_year", 0, 100, "6",
           "tips and offers together to a customer in a year"),
     AT(settings.shop.restraint.tips_offers_a_year)},

    {OPTION("clock", "word", "synchronised, unchecked", "\"synchronised\"",
            "\"unchecked\" where nothing can tell whether the clock is right"),
     .read = bl_field_flag, .words = clock_words, AT(settings.clock_unchecked)},
    {TEXT("database", "\"beadline.db\"", "where everything is kept, from this file's folder"),
     .hi = 1000, AT(settings.database)},
    {TEXT("catalogue", "\"catalogue\"", "the folder with your products and packages"),
     .hi = 1000, AT(settings.catalogue)},
    {TEXT("templates", "\"templates\"", "the folder with the texts of messages"), .hi = 1000,
     AT(settings.templates)},

    {WHOLE("retry.first_s", 1, 86400, "60", "seconds before a failed message is tried again"),
     AT(settings.retry_first_s)},
    {WHOLE("retry.longest_s", 1, 604800, "21600", "the wait doubles up to so many seconds"),
     AT(settings.retry_longest_s)},

    {TEXT("carry.sms", "none", "the gateway that carries text messages"), AT(carry[BL_SMS])},
    {TEXT("carry.mail", "none", "the gateway that carries mails"), AT(carry[BL_MAIL])},

    {OPTION("gateways", "list of groups", "", "none",
            "ways out; none given: a folder \"outbox\" takes everything")},
    {TEXT("gateways[].name", "", "what you call it, for carry"), .hi = 40, IN(name)},
    {OPTION("gateways[].kind", "word", "folder, smtp, http", "",
            "folder (one file a message), smtp (a mail server), http (a text service)"),
     .read = bl_field_word, .words = gateway_words, IN(kind)},
    {OPTION("gateways[].unsure", "word", "resend, ask", "none",
            "when nobody can know whether it went: send it again, or ask you (http: ask)"),
     .read = bl_field_word, .words = unsure_words, IN(unsure)},
    {WHOLE("gateways[].connections", 1, 32, "4", "transfers at once"), IN(connections)},
    {WHOLE("gateways[].timeout_s", 1, 3600, "60", "seconds to connect and for each reply"),
     IN(timeout_s)},
    {WHOLE("gateways[].answer_timeout_s", 1, 3600, "600",
           "seconds for the last reply, when the message is over there"),
     IN(answer_timeout_s)},

    {TEXT("gateways[].folder", "\"outbox\"", "where the files go"), .hi = 1000,
     .only = FOR_FOLDER, IN(folder)},

    {TEXT("gateways[].host", "", "the mail server's name"), .hi = 253, .only = FOR_SMTP,
     IN(host)},
    {WHOLE("gateways[].port", 1, 65535, "none", "tls 465, starttls 587, none 25 by themselves"),
     .only = FOR_SMTP, IN(port)},
    {OPTION("gateways[].tls", "word", "tls, starttls, none", "\"tls\"",
            "tls from the first byte, starttls demanded; none only to this machine"),
     .read = bl_field_word, .words = tls_words, .only = FOR_SMTP, IN(tls)},
    {OPTION("gateways[].from", "mail address", "", "",
            "the sender the server sees; failure notices go there"),
     .read = value_mail, .only = FOR_SMTP, IN(from)},

    {TEXT("gateways[].ca_file", "none", "a certificate authority of your own, PEM"), .hi = 1000,
     .only = FOR_SMTP | FOR_HTTP, IN(ca_file)},
    {TEXT("gateways[].user", "none", "the name to log in by"), .only = FOR_SMTP | FOR_HTTP,
     IN(user)},
    {TEXT("gateways[].secret_file", "none",
          "a file, mode 0600, with the password or token alone in it"),
     .hi = 1000, .only = FOR_SMTP | FOR_HTTP, IN(secret_file)},

    {TEXT("gateways[].url", "", "https address of the service; {{to}} and the like are filled"),
     .hi = 1000, .only = FOR_HTTP, IN(url)},
    {OPTION("gateways[].method", "word", "POST, PUT, GET", "\"POST\"", "how it is asked"),
     .read = bl_field_choice, .words = method_words, .only = FOR_HTTP, IN(method)},
    {OPTION("gateways[].headers", "list of groups", "", "none", "headers of the request"),
     .only = FOR_HTTP},
    {TEXT("gateways[].headers[].name", "", "the header's name"), .hi = 100, IN_HEADER(name)},
    {TEXT("gateways[].headers[].value", "",
          "its value; {{secret}} stands for what is in secret_file"),
     .hi = 1000, IN_HEADER(value)},
    {OPTION("gateways[].body", "text", "", "none",
            "what is sent; {{to}}, {{to_digits}}, {{text}}, {{key}}, {{shop}} are filled"),
     .read = bl_field_note, .only = FOR_HTTP, IN(body)},
    {OPTION("gateways[].body_kind", "word", "json, form, text", "\"json\"",
            "how the body is labelled and its values escaped"),
     .read = bl_field_choice, .words = body_words, .only = FOR_HTTP, IN(body_kind)},
    {OPTION("gateways[].accepted", "list of whole numbers", "200 to 299", "[200, 201, 202]",
            "statuses that mean the service took the message"),
     .read = value_statuses, .element = bl_field_whole, .lo = 200, .hi = 299, .only = FOR_HTTP,
     IN(accepted)},
    {TEXT("gateways[].accepted_path", "none", "where a JSON answer says so, \"status\""),
     .only = FOR_HTTP, IN(accepted_path)},
    {TEXT("gateways[].accepted_value", "none", "what stands there when it did"),
     .only = FOR_HTTP, IN(accepted_value)},
    {TEXT("gateways[].reference_path", "none", "where a JSON answer has its reference"),
     .only = FOR_HTTP, IN(reference_path)},
    {TEXT("gateways[].opted_out_path", "none",
          "where a JSON answer says the person opted out there"),
     .only = FOR_HTTP, IN(opted_out_path)},
    {TEXT("gateways[].opted_out_value", "none", "what stands there when they did"),
     .only = FOR_HTTP, IN(opted_out_value)},
    SECRET("password"),
    SECRET("pass"),
    SECRET("secret"),
    SECRET("token"),
    SECRET("api_key"),
};

const struct bl_field *option_fields(guint *count)
{
    *count = G_N_ELEMENTS(options);
    return options;
}

const struct bl_option_help *bl_settings_option(guint i)
{
    return i < G_N_ELEMENTS(options) && options[i].help.help ? &options[i].help : NULL;
}
