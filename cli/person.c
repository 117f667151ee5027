/* From a customer's options to his row and his consents. */
#include "person.h"

#include <stdio.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "json.h"
#include "report.h"
#include "say.h"
#include "typed.h"

void person_clear(struct person *person)
{
    char *const texts[] = {person->name,  person->phone, person->mail,
                           person->route, person->how,   person->wish,
                           person->note,  person->words, person->language};
    for (gsize i = 0; i < G_N_ELEMENTS(texts); i++) {
        g_free(texts[i]);
    }
    for (int class = 0; class < BL_CLASSES; class ++) {
        g_free(person->answers[class]);
    }
    *person = (struct person){0};
}

static bool apply_phone(const struct context *context, const char *typed, char **phone,
                        GError **error)
{
    g_autofree char *text = NULL;
    if (!typed) {
        return true;
    }
    typed_text(&text, typed);
    g_free(*phone);
    *phone = text ? bl_phone_e164(text, &context->world->settings->shop.home, error) : NULL;
    return *phone || !text;
}

static bool apply_mail(const char *typed, char **mail, GError **error)
{
    g_autofree char *text = NULL;
    if (!typed) {
        return true;
    }
    typed_text(&text, typed);
    g_free(*mail);
    *mail = text ? bl_mail_normal(text, error) : NULL;
    return *mail || !text;
}

static bool apply_words(const struct person *person, struct bl_customer_row *row,
                        GError **error)
{
    const char *word = NULL;
    if (person->route) {
        word = typed_word("route", person->route, bl_channel_words(), error);
        if (!word) {
            return false;
        }
        bl_channel_of(word, &row->route);
    }
    if (person->wish) {
        word = typed_word("wish", person->wish, bl_wish_words(), error);
        if (!word) {
            return false;
        }
        bl_wish_of(word, &row->wish);
    }
    return true;
}

static bool apply_language(const struct context *context, const struct person *person,
                           struct bl_customer_row *row, GError **error)
{
    typed_text(&row->language, person->language);
    if (!row->language || !person->language ||
        bl_templates_has_language(context->world->templates, row->language)) {
        return true;
    }
    g_autofree char *shown = bl_text_shown(row->language);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "there are no templates in \"%s\": the languages are the folders in \"%s\"",
                shown, context->world->settings->templates);
    return false;
}

bool person_apply(const struct context *context, const struct person *person,
                  struct bl_customer_row *row, GError **error)
{
    if (person->name) {
        g_free(row->name);
        row->name = g_strstrip(g_strdup(person->name));
    }
    typed_text(&row->note, person->note);
    return apply_phone(context, person->phone, &row->phone, error) &&
           apply_mail(person->mail, &row->mail, error) && apply_words(person, row, error) &&
           apply_language(context, person, row, error);
}

bool person_answered(const struct person *person)
{
    for (int class = 0; class < BL_CLASSES; class ++) {
        if (person->answers[class]) {
            return true;
        }
    }
    return false;
}

bool person_check(const struct person *person, GError **error)
{
    for (int class = 0; class < BL_CLASSES; class ++) {
        const char *name = bl_class_name((enum bl_class) class);
        const char *answer = person->answers[class];
        bool yes = false;
        if (!answer) {
            continue;
        }
        if (!typed_yes(name, answer, &yes, error)) {
            return false;
        }
        if (yes && !person->how) {
            g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                        "a yes to %s needs its proof: say how they gave it, such as --how "
                        "\"asked on the driveway\", and --words \"...\" if you noted them",
                        name);
            return false;
        }
    }
    if ((person->how || person->words) && !person_answered(person)) {
        g_set_error(
            error, BL_ERROR, BL_ERROR_INPUT,
            "--how and --words go with a consent: add --tips yes|no or --offers yes|no");
        return false;
    }
    return true;
}

bool person_consent(struct context *context, const struct person *person, int64_t customer,
                    GError **error)
{
    for (int class = 0; class < BL_CLASSES; class ++) {
        const char *answer = person->answers[class];
        struct bl_consent_row row = {
            .customer = customer,
            .at = context->now,
            .class = (enum bl_class) class,
            .how = person->how ? person->how : (char *)"said so",
            .words = person->words,
        };
        if (answer && (!typed_yes(bl_class_name(row.class), answer, &row.given, error) ||
                       !bl_consent_add(context->store, &row, error))) {
            return false;
        }
    }
    return true;
}

static void remark_shared(const struct bl_customer_row *row, const GArray *others,
                          GPtrArray *remarks)
{
    for (guint i = 0; i < others->len; i++) {
        const struct bl_customer_row *other = &g_array_index(others, struct bl_customer_row, i);
        bool phone = row->phone && g_strcmp0(row->phone, other->phone) == 0;
        bool mail = row->mail && other->mail && g_ascii_strcasecmp(row->mail, other->mail) == 0;
        if (other->id != row->id && (phone || mail)) {
            report_remark(
                remarks,
                "%s (#%" G_GINT64_FORMAT
                ") has the same %s: one message a day goes there for both, and a stop "
                "from it silences both",
                other->name, other->id, phone ? "number" : "mail address");
        }
    }
}

static void remark_route(const struct bl_customer_row *row, GPtrArray *remarks)
{
    if (!row->phone && !row->mail) {
        report_remark(remarks, "no number and no mail address: what concerns them goes on your "
                               "ring list");
    } else if (row->route == BL_SMS && !row->phone) {
        report_remark(remarks, "there is no number for the route sms: mail is used");
    } else if (row->route == BL_MAIL && !row->mail) {
        report_remark(remarks, "there is no address for the route mail: sms is used");
    }
}

bool person_remarks(struct context *context, const struct bl_customer_row *row,
                    GPtrArray *remarks, GError **error)
{
    g_autoptr(GArray) others = bl_customer_list(context->store, error);
    if (!others) {
        return false;
    }
    remark_route(row, remarks);
    remark_shared(row, others, remarks);
    const char *const addresses[] = {row->phone, row->mail};
    for (gsize i = 0; i < G_N_ELEMENTS(addresses); i++) {
        if (addresses[i] && bl_store_silenced(context->store, addresses[i])) {
            report_remark(remarks,
                          "%s is silenced: nothing goes to this person until it is lifted "
                          "(beadline silence %s --lift --how ...)",
                          addresses[i], addresses[i]);
        }
    }
    return true;
}

static void print_json(const struct bl_customer_row *row, const GPtrArray *remarks)
{
    struct json json;
    json_begin(&json);
    json_whole(&json, "customer", row->id);
    json_text(&json, "name", row->name);
    json_text(&json, "phone", row->phone);
    json_text(&json, "mail", row->mail);
    json_text(&json, "route", bl_channel_name(row->route));
    json_text(&json, "language", row->language);
    json_text(&json, "wish", bl_wish_name(row->wish));
    report_json(&json, remarks);
    json_end(&json);
}

void person_print(const struct context *context, const struct bl_customer_row *row,
                  const GPtrArray *remarks)
{
    if (context->json) {
        print_json(row, remarks);
        return;
    }
    g_autofree char *name = bl_text_printable(row->name);
    printf("Customer #%" G_GINT64_FORMAT ": %s\n", row->id, name);
    report_line("Phone", "%s", row->phone ? row->phone : "");
    report_line("Mail", "%s", row->mail ? row->mail : "");
    report_line("Route", "%s", bl_channel_name(row->route));
    report_print(remarks);
}
