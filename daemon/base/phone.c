/*
 * Telephone numbers at the entrance: as the owner typed them, wet hands and all, to the one
 * form that is stored, silenced and handed to a gateway; or a refusal that says how to write
 * it.
 */
#include <string.h>

#include "beadline/address.h"
#include "beadline/error.h"
#include "beadline/text.h"

#define E164_LEAST 7
#define E164_MOST  15 /* ITU-T E.164 section 6: digits, calling code included */

/* Calling codes after which a leading 0 belongs to the number: "+39 (0)6" is +3906 (Italy, San
 * Marino). */
static const char *const zero_kept[] = {"39", "378", NULL};

/* Where the trunk digit may also begin a national number, only the length tells them apart. */
static const struct {
    const char *calling_code;
    const char *trunk;
    size_t national_digits;
} lengths[] = {{"7", "8", 10}, {"370", "8", 8}, {"375", "8", 9}, {"993", "8", 8}};

static bool is_separator(gunichar c)
{
    return c == ' ' || c == '.' || c == '-' || c == '/' || c == 0xa0 || c == 0x202f ||
           (c >= 0x2000 && c <= 0x200a) || (c >= 0x2010 && c <= 0x2015);
}

static bool has_prefix(const char *text, const char *prefix)
{
    return prefix && *prefix && g_str_has_prefix(text, prefix);
}

/* Why the character cannot stand in a number, NULL when it can. */
static const char *problem_of(gunichar c, bool begun)
{
    if (c == '+' && begun) {
        return "has a + inside: a + stands only in front";
    }
    bool ascii = c < 0x80;
    if (ascii && strchr("+()0123456789", (int)c)) {
        return NULL;
    }
    return g_unichar_isalpha(c) || (ascii && strchr("#;,*", (int)c))
               ? "has a letter or an extension in it: give the number alone"
               : "has a character that is no part of a telephone number: give digits";
}

/* The typed number without its separators: an optional '+', digits, brackets. */
static const char *compact(const char *typed, GString *out)
{
    if (!g_utf8_validate(typed, -1, NULL)) {
        return "is not valid UTF-8: type the number again";
    }
    bool begun = false;
    for (const char *p = typed; *p; p = g_utf8_next_char(p)) {
        gunichar c = g_utf8_get_char(p);
        if (is_separator(c)) {
            continue;
        }
        const char *problem = problem_of(c, begun);
        if (problem) {
            return problem;
        }
        begun = begun || c == '+' || g_unichar_isdigit(c);
        g_string_append_c(out, (char)c);
    }
    return NULL;
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

/* The digits after '+' or the exit code, NULL when the number is one of home. */
static const char *after_exit(const char *plain, const struct bl_phone_home *home)
{
    if (*plain == '+') {
        return plain + 1;
    }
    return has_prefix(plain, home->exit_code) ? plain + strlen(home->exit_code) : NULL;
}

/* The number without brackets. Right behind a calling code "(0)" is the trunk, dialled only at
 * home, and goes; anywhere else its 0 is a digit like another. Caller frees. */
static char *without_brackets(const char *compacted, const struct bl_phone_home *home)
{
    char *plain = g_strdup(compacted);
    char *zero = strstr(plain, "(0)");
    if (zero) {
        g_autofree char *head = g_strndup(plain, (gsize)(zero - plain));
        drop_brackets(head);
        const char *code = after_exit(head, home);
        if (code && *code && strlen(code) <= 3 && !g_strv_contains(zero_kept, code)) {
            memmove(zero, zero + 3, strlen(zero + 3) + 1);
        }
    }
    drop_brackets(plain);
    return plain;
}

static const char *skip_trunks(const char *digits, const char *trunk)
{
    while (has_prefix(digits, trunk)) {
        digits += strlen(trunk);
    }
    return digits;
}

/* "+44 020...": the trunk is often typed behind one's own calling code. Only a zero can be told
 * from the number itself. */
static char *foreign(const char *digits, const struct bl_phone_home *home)
{
    if (home->trunk_kept || !has_prefix(digits, home->calling_code) ||
        !has_prefix(home->trunk, "0")) {
        return g_strdup(digits);
    }
    const char *national = skip_trunks(digits + strlen(home->calling_code), home->trunk);
    return g_strconcat(home->calling_code, national, NULL);
}

static bool national_by_length(const char *digits, const struct bl_phone_home *home)
{
    for (size_t i = 0; i < G_N_ELEMENTS(lengths); i++) {
        if (g_strcmp0(lengths[i].calling_code, home->calling_code) == 0 &&
            g_strcmp0(lengths[i].trunk, home->trunk) == 0) {
            return strlen(digits) == lengths[i].national_digits;
        }
    }
    return false;
}

/* A number of home in international digits; NULL when home's own calling code may stand in
 * front without a plus, for then nobody can tell what was meant. */
static char *domestic(const char *digits, const struct bl_phone_home *home)
{
    const char *code = home->calling_code;
    if (home->trunk_kept || national_by_length(digits, home)) {
        return g_strconcat(code, digits, NULL);
    }
    if (has_prefix(home->trunk, "0") && has_prefix(digits, home->trunk)) {
        return g_strconcat(code, skip_trunks(digits, home->trunk), NULL);
    }
    if (has_prefix(digits, home->trunk)) {
        return g_strconcat(code, digits + strlen(home->trunk), NULL);
    }
    bool ambiguous = has_prefix(digits, code) && strlen(digits) >= strlen(code) + 8;
    return ambiguous ? NULL : g_strconcat(code, digits, NULL);
}

/* The digits of the international number, or NULL and why not. */
static char *international(const char *plain, const struct bl_phone_home *home,
                           const char **problem)
{
    const char *abroad = after_exit(plain, home);
    if (abroad) {
        return foreign(abroad, home);
    }
    if (!home->calling_code || !*home->calling_code) {
        *problem = "has no country's code: write it in front, as in +44 7700 900123";
        return NULL;
    }
    char *digits = domestic(plain, home);
    if (!digits) {
        *problem = "may begin with the country's code: write a + in front of it, or the number "
                   "as it is dialled at home";
    }
    return digits;
}

static const char *shape_problem(const char *digits)
{
    size_t count = strlen(digits);
    if (*digits == '0') {
        return "has a 0 where the country's code begins: write it as in +44 7700 900123";
    }
    return count < E164_LEAST || count > E164_MOST
               ? "is no whole telephone number: 7 to 15 digits are, country's code included"
               : NULL;
}

char *bl_phone_e164(const char *typed, const struct bl_phone_home *home, GError **error)
{
    g_autoptr(GString) compacted = g_string_new(NULL);
    g_autofree char *digits = NULL;
    const char *problem = compact(typed, compacted);
    if (!problem) {
        g_autofree char *plain = without_brackets(compacted->str, home);
        digits = international(plain, home, &problem);
    }
    if (digits) {
        problem = shape_problem(digits);
    }
    if (problem) {
        g_autofree char *shown = bl_text_shown(typed);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "\"%s\" %s", shown, problem);
        return NULL;
    }
    return g_strconcat("+", digits, NULL);
}
