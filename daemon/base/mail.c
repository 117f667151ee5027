/*
 * Mail addresses at the entrance: one mailbox, or a refusal before a stray comma, bracket or
 * line end can become a second recipient.
 */
#include <string.h>

#include "beadline/address.h"
#include "beadline/error.h"
#include "beadline/text.h"

/* RFC 5321 section 4.5.3.1: 64 octets in front of the @, and 256 in a path with its two
 * brackets, which is stricter than the 255 of a domain. */
#define LONGEST_LOCAL 64
#define LONGEST_PATH  254
#define LONGEST_LABEL 63 /* RFC 1035 section 2.3.4 */

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
    return length > 0 && length <= LONGEST_LABEL && label[0] != '-' && label[length - 1] != '-';
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
    return last && dotted(domain, strlen(domain), label_ok) &&
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
    if (local > LONGEST_LOCAL) {
        return "has more than 64 characters before the @: no server takes that";
    }
    if (strlen(address) > LONGEST_PATH) {
        return "is longer than mail servers take: give a shorter one";
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
        g_autofree char *shown = bl_text_shown(address);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "\"%s\" %s", shown, problem);
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
