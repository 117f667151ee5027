/*
 * Composing: from dues that are still true to the text, mail or request that leaves. Pure.
 *
 * Templates are one Mustache file a kind, channel and language: LANG/KIND.sms, LANG/KIND.txt (a
 * mail's first line is "Subject: ...", then an empty line) and LANG/KIND.html, the paper
 * LANG/sheet.txt, with partials in LANG/NAME.part and the language's words (days, months, forms
 * of dates, cares, cautions, wash advice) in LANG/words, a key file.
 *
 * In an SMS all line ends are spaces; a line "--" alone is a line break. Lines of a mail's text
 * and of the sheet are wrapped. A partial of one line is a phrase, without its line end.
 *
 * Names every kind has: shop, owner, phone, mail, address, customer, brief, many, cars; in
 * cars: car, named, first, last. Handover and sheet: curing, any_wash, wash, any_cares, cares,
 * cautions; in cars: plate, finished, treated, count, went_on (title, surface, part, coats),
 * waiting, parked_until, dry_until, wipers_until, rinse_from, wash_from, replaces,
 * off_label. Wash: any_wash, wash. Care: cares, cautions; in cars: wants (as went_on).
 * Look-over: in cars: wants. Wash, care, top-up and look-over have asking: a question for the
 * mileage rides on them. Top-up: arrange, yourself, cautions; in cars: any_by_us, by_us,
 * any_by_you, by_you (title, surface, part, when, how). Items of wash and cautions have text,
 * of cares text, weeks and weekly; every item has first and last.
 */
#ifndef BEADLINE_COMPOSE_H
#define BEADLINE_COMPOSE_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/catalogue.h"
#include "beadline/cleanup.h"
#include "beadline/error.h"
#include "beadline/facts.h"
#include "beadline/gateway.h"
#include "beadline/plan.h"
#include "beadline/shop.h"
#include "beadline/sms.h"

struct bl_templates;

/* Loads every language below directory (a folder named by its tag, or with a file "words"),
 * strictly: an unknown name, a missing file of a kind we send (all but booking), a missing
 * word, a file that is not UTF-8 or over 256 KiB is a fault. NULL when there was one.
 */
struct bl_templates *bl_templates_load(const char *directory, struct bl_faults *faults);
void bl_templates_free(struct bl_templates *templates);
BL_DEFINE_AUTO(bl_templates);

bool bl_templates_has_language(const struct bl_templates *templates, const char *language);

/* Adds a fault for each caution, wash or care key of the catalogue's rules that a language
 * lacks. */
void bl_templates_check_catalogue(const struct bl_templates *templates,
                                  const struct bl_catalogue *catalogue,
                                  struct bl_faults *faults);

/* What a message is made of. dues are those of one message, all true now. */
struct bl_material {
    const struct bl_shop *shop;
    const struct bl_facts *facts;
    const struct bl_plan *plan;
    const struct bl_due *const *dues; /* NULL-terminated, at least one */
    enum bl_kind kind;
    enum bl_channel channel; /* by hand: as for a mail, without address */
    const char *address;
    const char *key; /* 32 lower-case hexadecimal digits */
    int64_t now;
};

/* A message as it leaves, and as the owner may read it. */
struct bl_letter {
    char *subject;           /* mail; else NULL */
    char *text;              /* the SMS, or the mail's plain part; LF line ends */
    char *html;              /* mail; else NULL */
    struct bl_sms_size size; /* SMS */
};

void bl_letter_clear(struct bl_letter *letter);

/* The letter in the customer's language, else the shop's. What is past at `now` is left out; an
 * SMS of more than 3 parts (a top-up: 5) is written again with `brief` yes. Error:
 * BL_ERROR_REFUSED when no due can be told any more, the text would be empty, or an SMS longer
 * than 10 parts; BL_ERROR_MISSING when the language is not there. */
bool bl_compose(const struct bl_templates *templates, const struct bl_material *material,
                struct bl_letter *letter, GError **error);

/* The mail as bytes (RFC 5322, CRLF, quoted-printable, multipart/alternative), with Message-ID
 * <key@domain of shop.mail>, Date, Auto-Submitted: auto-generated, From (shop's name), To,
 * Reply-To, List-Unsubscribe with a mailto to the shop. The same arguments give the same bytes.
 * Names and subject cannot add a header. Caller frees. Error: BL_ERROR_REFUSED without
 * shop.mail, with a bad address or key, or a letter that is no mail. */
GBytes *bl_compose_mail(const struct bl_shop *shop, const struct bl_letter *letter,
                        const char *to_name, const char *to_address, const char *key,
                        int64_t now, GError **error);

/* The Message-ID of a key, with its angle brackets; NULL without shop.mail. Caller frees. */
char *bl_compose_message_id(const struct bl_shop *shop, const char *key);

/* The one-page handover of a job as plain text in the customer's language, whatever their
 * route: at most 66 lines of 78 columns, with a leaving tick list. plan may be NULL. Caller
 * frees. Error: BL_ERROR_MISSING, or BL_ERROR_REFUSED when it does not fit. */
char *bl_compose_sheet(const struct bl_templates *templates, const struct bl_shop *shop,
                       const struct bl_facts *facts, const struct bl_plan *plan, int64_t job,
                       int64_t now, GError **error);

/* An HTTP request of a gateway's forms. Values: to, to_digits (without the plus), text, key,
 * shop, secret (headers only; a secret in the address or the body is refused). A form that
 * would not hold a value where it stands is refused as well: a value in the host, inside a %XX,
 * or outside the double quotes of a JSON body. */
struct bl_request {
    char *url;
    char **headers; /* "Name: value", NULL-terminated; Idempotency-Key always among them, and
                     * Content-Type when there is a body */
    char *body;     /* NULL none */
};

void bl_request_clear(struct bl_request *request);

/* secret may be NULL when no header uses it. Error: BL_ERROR_INPUT, and the request is empty.
 */
bool bl_compose_request(const struct bl_gateway *gateway, const char *to, const char *text,
                        const char *key, const char *shop_name, const char *secret,
                        struct bl_request *request, GError **error);

/* Adds each fault of an HTTP gateway's forms: what bl_compose_request would refuse. */
void bl_compose_check_gateway(const struct bl_gateway *gateway, const char *file,
                              struct bl_faults *faults);

/* A date in the language's long form ("Thursday 12 March") or short form ("12 Mar"); in the
 * first language when that one is not there. Caller frees. */
char *bl_compose_date(const struct bl_templates *templates, const char *language, int32_t date,
                      bool with_weekday);

#endif
