/*
 * Letters: a message's dues, read again at this instant, through the templates of its reader's
 * language into the text that leaves.
 */
#include "beadline/compose.h"
#include "folder.h"
#include "said.h"
#include "wrap.h"

#define MAIL_COLUMNS  72
#define SHEET_COLUMNS 78
#define SHEET_LINES   66
#define SMS_MAX       10 /* parts: nobody reads more */

void bl_letter_clear(struct bl_letter *letter)
{
    g_clear_pointer(&letter->subject, g_free);
    g_clear_pointer(&letter->text, g_free);
    g_clear_pointer(&letter->html, g_free);
    letter->size = (struct bl_sms_size){0};
}

/* Parts above which an SMS leaves out what can be left out. A handover's list is nice to have;
 * how to put a product on again is worth more. */
static const int long_sms[BL_KINDS] = {[BL_HANDOVER] = 3, [BL_WASH] = 3, [BL_TOP_UP] = 5};

/* What one composing works with. */
struct composing {
    const struct bl_folder *folder;
    const struct bl_said *said;
    enum bl_kind kind;
};

/* The form as it comes out of its template. */
static char *render(const struct composing *composing, const struct bl_mustache *template,
                    enum bl_escape escape, bool brief, GError **error)
{
    BL_AUTO(bl_value) *view = bl_view(composing->kind, composing->said, brief);
    return bl_mustache_render(template, view, composing->folder->partials, escape, error);
}

static char *render_form(const struct composing *composing, enum bl_form form,
                         enum bl_escape escape, GError **error)
{
    return render(composing, composing->folder->forms[composing->kind][form], escape, false,
                  error);
}

static bool refuse_empty(const char *text, enum bl_kind kind, GError **error)
{
    if (*text) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                "the text of the \"%s\" message is empty: look at its template",
                bl_kind_name(kind));
    return false;
}

static char *render_sms(const struct composing *composing, bool brief, GError **error)
{
    const struct bl_mustache *template = composing->folder->forms[composing->kind][BL_FORM_SMS];
    g_autofree char *raw = render(composing, template, BL_PLAIN, brief, error);
    if (!raw) {
        return NULL;
    }
    g_autofree char *plain = bl_sms_plain(raw);
    return bl_wrap_none(plain);
}

static bool compose_sms(const struct composing *composing, struct bl_letter *letter,
                        GError **error)
{
    for (int brief = 0; brief < 2; brief++) {
        g_free(letter->text);
        letter->text = render_sms(composing, brief, error);
        if (!letter->text || !refuse_empty(letter->text, composing->kind, error)) {
            return false;
        }
        letter->size = bl_sms_measure(letter->text);
        if (letter->size.parts <= long_sms[composing->kind]) {
            return true;
        }
    }
    if (letter->size.parts > SMS_MAX) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "the text would be %d SMS parts, more than %d: shorten its template or the "
                    "names in it",
                    letter->size.parts, SMS_MAX);
        return false;
    }
    return true;
}

static bool compose_text(const struct composing *composing, struct bl_letter *letter,
                         GError **error)
{
    g_autofree char *raw = render_form(composing, BL_FORM_TEXT, BL_PLAIN, error);
    if (!raw) {
        return false;
    }
    letter->text = bl_wrap_lines(raw, MAIL_COLUMNS);
    return refuse_empty(letter->text, composing->kind, error);
}

static bool compose_mail(const struct composing *composing, struct bl_letter *letter,
                         GError **error)
{
    letter->subject = render_form(composing, BL_FORM_SUBJECT, BL_HEADER, error);
    if (!letter->subject) {
        return false;
    }
    g_strstrip(letter->subject);
    letter->html = render_form(composing, BL_FORM_HTML, BL_HTML, error);
    return letter->html && refuse_empty(letter->subject, composing->kind, error) &&
           compose_text(composing, letter, error);
}

static bool (*const composes[BL_CHANNELS])(const struct composing *composing,
                                           struct bl_letter *letter, GError **error) = {
    [BL_SMS] = compose_sms,
    [BL_MAIL] = compose_mail,
    [BL_BY_HAND] = compose_text,
};

bool bl_compose(const struct bl_templates *templates, const struct bl_material *material,
                struct bl_letter *letter, GError **error)
{
    *letter = (struct bl_letter){0};
    const struct bl_folder *folder = bl_templates_folder(
        templates, material->facts->customer.language, material->shop, error);
    if (!folder) {
        return false;
    }
    BL_AUTO(bl_said) *said = bl_say(folder->language, material, error);
    if (!said) {
        return false;
    }
    const struct composing composing = {folder, said, material->kind};
    if (!composes[material->channel](&composing, letter, error)) {
        bl_letter_clear(letter);
        return false;
    }
    return true;
}

static const struct bl_car *car_of_job(const struct bl_facts *facts, int64_t id)
{
    for (guint i = 0; i < facts->cars->len; i++) {
        const struct bl_car *car = &g_array_index(facts->cars, struct bl_car, i);
        for (guint j = 0; j < car->jobs->len; j++) {
            if (g_array_index(car->jobs, struct bl_job, j).id == id) {
                return car;
            }
        }
    }
    return NULL;
}

static guint count_lines(const char *text)
{
    guint lines = 0;
    for (; *text; text++) {
        lines += *text == '\n';
    }
    return lines;
}

/* One page: when it is too long, once more in the sheet's brief shape. */
static char *fit_sheet(const struct composing *composing, GError **error)
{
    g_autofree char *page = NULL;
    for (int brief = 0; brief < 2; brief++) {
        g_autofree char *raw =
            render(composing, composing->folder->sheet, BL_PLAIN, brief, error);
        if (!raw) {
            return NULL;
        }
        g_free(page);
        page = bl_wrap_lines(raw, SHEET_COLUMNS);
        if (count_lines(page) <= SHEET_LINES) {
            break;
        }
    }
    if (count_lines(page) > SHEET_LINES) {
        g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                    "the sheet is longer than a page of %d lines: shorten \"%s/sheet.txt\"",
                    SHEET_LINES, composing->folder->path);
        return NULL;
    }
    return g_steal_pointer(&page);
}

char *bl_compose_sheet(const struct bl_templates *templates, const struct bl_shop *shop,
                       const struct bl_facts *facts, const struct bl_plan *plan, int64_t job,
                       int64_t now, GError **error)
{
    const struct bl_car *car = car_of_job(facts, job);
    if (!car) {
        g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                    "there is no job %" G_GINT64_FORMAT
                    " of this customer: list the jobs to find its number",
                    job);
        return NULL;
    }
    const struct bl_folder *folder =
        bl_templates_folder(templates, facts->customer.language, shop, error);
    if (!folder) {
        return NULL;
    }
    const struct bl_due due = {.kind = BL_HANDOVER, .subject = job, .job = job, .car = car->id};
    const struct bl_due *const dues[] = {&due, NULL};
    const struct bl_material material = {
        .shop = shop,
        .facts = facts,
        .plan = plan,
        .dues = dues,
        .kind = BL_HANDOVER,
        .channel = BL_BY_HAND,
        .now = now,
    };
    BL_AUTO(bl_said) *said = bl_say(folder->language, &material, error);
    if (!said) {
        return NULL;
    }
    const struct composing composing = {folder, said, BL_HANDOVER};
    return fit_sheet(&composing, error);
}
