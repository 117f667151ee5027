/*
 * Addresses at the entrance: a number or mailbox as the owner typed it becomes the one form
 * that is stored, silenced and handed to a gateway, or is refused before it can do harm there.
 */
#include "beadline/address.h"

#include <string.h>

#include "beadline/error.h"
#include "beadline/text.h"

#define E164_LEAST 7
#define E164_MOST  15 /* ITU-T E.164 section 6: digits, calling code included */

/* Calling codes whose leading 0 is part of the number abroad too: "+39 (0)6" is +3906. */
static const char *const zero_kept[] = {"39", "378", NULL};

/* Where the trunk digit may also begin a national number, only the length tells them apart. */
static const struct {
    const char *calling_code;
    const char *trunk;
    size_t national_digits;
} lengths[] = {{"7", "8", 10}, {"370", "8", 8}, {"375", "8", 9}, {"993", "8", 8}};

static char *refuse(GError **error, const char *typed, const char *problem)
{
    g_autofree char *shown = bl_text_printable(typed);
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "\"%s\" %s", shown, problem);
    return NULL;
}

static bool is_separator(gunichar c)
{
    return c == ' ' || c == '.' || c == '-' || c == '/' || c == 0xa0 || c == 0x202f ||
           (c >= 0x2000 && c <= 0x200a) || (c >= 0x2010 && c <= 0x2015);
}

/* The typed number without its separators: an optional '+', digits, brackets. */
static char *compact(const char *typed, GError **error)
{
    if (!g_utf8_validate(typed, -1, NULL)) {
        return refuse(error, typed, "is not valid UTF-8: type the number again");
    }
    g_autoptr(GString) out = g_string_new(NULL);
    bool plus = false;
    bool digit = false;
    for (const char *p = typed; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        if (is_separator(c)) {
            continue;
        }
        if (c == '+' && (plus || digit)) {
            return refuse(error, typed, "has a + inside: a + stands only in front");
        }
        if (c > 0x7f || !strchr("+()0123456789", (int)c)) {
            return refuse(error, typed,
                          g_unichar_isalpha(c) || c == '#'
                              ? "has a letter or an extension in it: give the number alone"
                              : "has a character that is no part of a telephone number");
        }
        plus = plus || c == '+';
        digit = digit || g_ascii_isdigit((char)c);
        g_string_append_c(out, (char)c);
    }
    return g_string_free(g_steal_pointer(&out), FALSE);
}

static void drop_brackets(char *text)
{
    char *to = text;
    for (; *text; text++) {
        if (*text != '(' && *text != ')') {
            *to++ = *text;
        }
    }
    *to = '\0';
}

static bool has_prefix(const char *text, const char *prefix)
{
    return prefix && *prefix && g_str_has_prefix(text, prefix);
}

/* The digits after '+' or the exit code, NULL when the number is one of home. */
static const char *after_exit(const char *compacted, const struct bl_phone_home *home)
{
    if (*compacted == '+') {
        return compacted + 1;
    }
    return has_prefix(compacted, home->exit_code) ? compacted + strlen(home->exit_code) : NULL;
}

/* "+44(0)20..." loses its (0), "+39(0)6..." only the brackets; a leading "(0)" is the trunk. */
static char *resolve_zero(char *compacted, const struct bl_phone_home *home)
{
    char *zero = strstr(compacted, "(0)");
    if (!zero || zero == compacted) {
        drop_brackets(compacted);
        return compacted;
    }
    g_autofree char *head = g_strndup(compacted, (gsize)(zero - compacted));
    drop_brackets(head);
    const char *code = after_exit(head, home);
    bool kept = code && g_strv_contains(zero_kept, code);
    char *whole = g_strconcat(head, kept ? "0" : "", zero + 3, NULL);
    g_free(compacted);
    drop_brackets(whole);
    return whole;
}

/* "+44 020...": the trunk is often typed behind one's own calling code. Only a zero can be told
 * from the number itself. */
static char *foreign(const char *digits, const struct bl_phone_home *home)
{
    if (home->trunk_kept || !has_prefix(digits, home->calling_code) ||
        !has_prefix(home->trunk, "0")) {
        return g_strdup(digits);
    }
    const char *national = digits + strlen(home->calling_code);
    while (has_prefix(national, home->trunk)) {
        national += strlen(home->trunk);
    }
    return g_strconcat(home->calling_code, national, NULL);
}

static bool national_by_length(const char *digits, const struct bl_phone_home *home)
{
    for (size_t i = 0; i < G_N_ELEMENTS(lengths); i++) {
        if (g_str_equal(lengths[i].calling_code, home->calling_code) &&
            g_str_equal(lengths[i].trunk, home->trunk)) {
            return strlen(digits) == lengths[i].national_digits;
        }
    }
    return false;
}

/* A number of home in international digits; NULL when its own calling code may stand in front
 * without a plus, for then nobody can tell what was meant. */
static char *domestic(const char *digits, const struct bl_phone_home *home)
{
    const char *code = home->calling_code;
    if (home->trunk_kept || national_by_length(digits, home)) {
        return g_strconcat(code, digits, NULL);
    }
    const char *national = digits;
    if (has_prefix(national, home->trunk)) {
        do {
            national += strlen(home->trunk);
        } while (*home->trunk == '0' && has_prefix(national, home->trunk));
    } else if (has_prefix(digits, code) && strlen(digits) >= strlen(code) + 8) {
        return NULL;
    }
    return g_strconcat(code, national, NULL);
}

char *bl_phone_e164(const char *typed, const struct bl_phone_home *home, GError **error)
{
    char *compacted = compact(typed, error);
    if (!compacted) {
        return NULL;
    }
    g_autofree char *plain = resolve_zero(compacted, home);
    const char *abroad = after_exit(plain, home);
    g_autofree char *digits = abroad ? foreign(abroad, home) : domestic(plain, home);
    if (!digits) {
        return refuse(error, typed,
                      "may begin with the country's code: write a + in front of it, or the "
                      "number as it is dialled at home");
    }
    size_t count = strlen(digits);
    if (count < E164_LEAST || count > E164_MOST) {
        return refuse(error, typed,
                      "is no whole telephone number: 7 to 15 digits are, with "
                      "the country's code");
    }
    if (digits[0] == '0') {
        return refuse(error, typed, "begins with a 0 after the +: give the country's code");
    }
    return g_strconcat("+", digits, NULL);
}

static bool atom_ok(const char *atom, size_t length)
{
    static const char marks[] = "!#$%&'*+-/=?^_`{|}~"; /* RFC 5322 section 3.2.3, atext */
    for (size_t i = 0; i < length; i++) {
        if (!g_ascii_isalnum(atom[i]) && (!atom[i] || !strchr(marks, atom[i]))) {
            return false;
        }
    }
    return length > 0;
}

static bool label_ok(const char *label, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        if (!g_ascii_isalnum(label[i]) && label[i] != '-') {
            return false;
        }
    }
    return length > 0 && length <= 63 && label[0] != '-' && label[length - 1] != '-';
}

/* Whether every part between dots passes ok. */
static bool dotted(const char *text, size_t length, bool (*ok)(const char *, size_t))
{
    const char *end = text + length;
    for (;;) {
        const char *dot = memchr(text, '.', (size_t)(end - text));
        const char *stop = dot ? dot : end;
        if (!ok(text, (size_t)(stop - text))) {
            return false;
        }
        if (!dot) {
            return true;
        }
        text = dot + 1;
    }
}

static bool domain_ok(const char *domain)
{
    if (g_ascii_strcasecmp(domain, "localhost") == 0) {
        return true;
    }
    const char *last = strrchr(domain, '.');
    return last && strlen(domain) <= 255 && dotted(domain, strlen(domain), label_ok) &&
           strspn(last + 1, "0123456789") != strlen(last + 1);
}

static const char *mail_problem(const char *address)
{
    for (const char *p = address; *p; p++) {
        if ((unsigned char)*p > 0x7e || (unsigned char)*p <= 0x20) {
            return (unsigned char)*p >= 0x80
                       ? "has a letter outside a-z: mail servers may lose it, give another"
                       : "has a space or a control character in it: give one address alone";
        }
    }
    const char *at = strchr(address, '@');
    if (!at || strchr(at + 1, '@')) {
        return "is not one mail address: write one, as in name@example.com";
    }
    size_t local = (size_t)(at - address);
    if (local > 64) {
        return "has more than 64 characters before the @: no server takes that";
    }
    if (address[0] == '-' || !dotted(address, local, atom_ok)) {
        return "is no mail address: the part before the @ is not one";
    }
    return domain_ok(at + 1) ? NULL : "is no mail address: the part after the @ is no domain";
}

bool bl_mail_check(const char *address, GError **error)
{
    const char *problem = mail_problem(address);
    if (problem) {
        refuse(error, address, problem);
    }
    return !problem;
}

char *bl_mail_normal(const char *address, GError **error)
{
    if (!bl_mail_check(address, error)) {
        return NULL;
    }
    char *normal = g_strdup(address);
    for (char *p = strchr(normal, '@'); *p; p++) {
        *p = g_ascii_tolower(*p);
    }
    return normal;
}
