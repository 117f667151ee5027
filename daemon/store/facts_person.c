/*
 * The facts of the person: address, wish, consent, silence. A broken customer cannot be left
 * out, so what is broken counts as the quietest value: no address, no wish to hear, no consent;
 * and a broken name goes by hand, so that a person looks before anything leaves.
 */
#include "facts_read.h"

#include "beadline/text.h"
#include "checks.h"
#include "columns.h"

static const char PERSON[] = "SELECT c.name, c.phone, c.mail, c.language, c.route, c.wish,"
                             " EXISTS (SELECT 1 FROM silence s WHERE s.address = c.phone),"
                             " EXISTS (SELECT 1 FROM silence s WHERE s.address = c.mail)"
                             " FROM customer c WHERE c.id = ?1";

static void skip(struct bl_reader *reader, GError *error)
{
    bl_reader_skip(reader, "customer", reader->customer, error);
}

/* The checked address, NULL when there is none or it is broken. */
static char *address(struct bl_reader *reader, const struct bl_rows *rows, int column,
                     const char *what, bool (*check)(const char *, GError **))
{
    const char *text;
    GError *error = NULL;
    if (bl_column_whole(rows, column, what, &text, &error) && check(text, &error)) {
        return g_strdup(text);
    }
    skip(reader, error);
    return NULL;
}

static void read_name(struct bl_reader *reader, const struct bl_rows *rows)
{
    struct bl_customer *person = &reader->facts->customer;
    const char *text;
    GError *error = NULL;
    if (bl_column_whole(rows, 0, "name", &text, &error) &&
        bl_check_line(text, "name", &error)) {
        person->name = g_strdup(text);
        return;
    }
    const char *raw = bl_rows_text(rows, 0);
    person->name = bl_text_printable(raw ? raw : "");
    g_clear_pointer(&person->phone, g_free);
    g_clear_pointer(&person->mail, g_free);
    skip(reader, error);
}

static void read_words(struct bl_reader *reader, const struct bl_rows *rows)
{
    struct bl_customer *person = &reader->facts->customer;
    GError *error = NULL;
    if (!bl_reader_line(rows, 3, "language", &person->language, &error)) {
        skip(reader, g_steal_pointer(&error));
    }
    person->route = BL_BY_HAND;
    if (!bl_channel_of(bl_rows_text(rows, 4), &person->route)) {
        bl_reader_unknown("route", bl_rows_text(rows, 4), &error);
        skip(reader, g_steal_pointer(&error));
    }
    person->wish = BL_WISH_NEVER;
    if (!bl_wish_of(bl_rows_text(rows, 5), &person->wish)) {
        bl_reader_unknown("wish", bl_rows_text(rows, 5), &error);
        skip(reader, error);
    }
}

bool bl_read_person(struct bl_reader *reader, GError **error)
{
    struct bl_customer *person = &reader->facts->customer;
    BL_ROWS rows = bl_rows(reader->store, PERSON, BL_VALUES(bl_int(reader->customer)));
    if (!bl_rows_next(&rows)) {
        return bl_rows_end(&rows, error) && bl_missing("customer", reader->customer, error);
    }
    person->id = reader->customer;
    person->phone = address(reader, &rows, 1, "phone", bl_check_phone_or_none);
    person->mail = address(reader, &rows, 2, "mail", bl_check_mail_or_none);
    read_name(reader, &rows);
    read_words(reader, &rows);
    person->phone_silenced = bl_rows_int(&rows, 6) != 0;
    person->mail_silenced = bl_rows_int(&rows, 7) != 0;
    return bl_rows_end(&rows, error);
}

static const char CONSENTS[] = "SELECT id, class, given, at FROM consent WHERE customer = ?1"
                               " ORDER BY at, id";

/* A broken yes is no yes; a no needs no proof. */
static bool read_consent(struct bl_reader *reader, const struct bl_rows *rows, GError **error)
{
    enum bl_class class;
    int64_t given = bl_rows_int_or(rows, 2, -1);
    if (!bl_class_of(bl_rows_text(rows, 1), &class)) {
        return bl_reader_unknown("class of the consent", bl_rows_text(rows, 1), error);
    }
    if (given == 0) {
        reader->facts->customer.consent[class] = false;
    }
    if (given != 0 && given != 1) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "given \"%" G_GINT64_FORMAT "\" is neither 0 (no) nor 1 (yes): correct it",
                    given);
        return false;
    }
    if (!bl_check_at(bl_rows_int(rows, 3), "date of the consent", error)) {
        return false;
    }
    reader->facts->customer.consent[class] = given == 1;
    return true;
}

bool bl_read_consents(struct bl_reader *reader, GError **error)
{
    reader->facts->customer.consent[BL_SERVICE] = true;
    BL_ROWS rows = bl_rows(reader->store, CONSENTS, BL_VALUES(bl_int(reader->customer)));
    while (bl_rows_next(&rows)) {
        GError *why = NULL;
        if (!read_consent(reader, &rows, &why)) {
            bl_reader_skip(reader, "consent", bl_rows_int(&rows, 0), why);
        }
    }
    return bl_rows_end(&rows, error);
}
