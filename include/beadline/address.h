/*
 * Addresses: telephone numbers as people type them, and e-mail addresses by grammar.
 *
 * What comes out of here is the only form that is stored, compared for silence, and given to a
 * gateway.
 */
#ifndef BEADLINE_ADDRESS_H
#define BEADLINE_ADDRESS_H

#include <glib.h>
#include <stdbool.h>

/* How numbers are typed where the shop is. */
struct bl_phone_home {
    char *calling_code; /* "44": digits, no plus; "" when only full numbers are taken */
    char *trunk;        /* "0", "06", "8" or "": dropped in front of a national number */
    bool trunk_kept;    /* true where the trunk stays in the international form (Italy) */
    char *exit_code;    /* "00", "011": dialled before a foreign number */
};

/* The number in E.164 with its plus ("+447700900123"). Spaces, dots, dashes, slashes, brackets
 * and a "(0)" behind a calling code are dropped; "+" or the exit code starts a foreign number;
 * anything else is a number of home, unless home's own calling code may stand in front without
 * a plus ("447700900123"): that is refused as ambiguous. 7 to 15 digits after all (ITU-T
 * E.164). An extension, a letter or a control character is an error: BL_ERROR_INPUT. The result
 * given in again comes out unchanged. Caller frees. */
char *bl_phone_e164(const char *typed, const struct bl_phone_home *home, GError **error);

/* Whether address is one mailbox by the dot-atom form of RFC 5321 section 4.1.2: local part up
 * to 64 octets, 254 in all, labels of letters, digits and hyphens with at least one dot
 * (or "localhost"), no quoted string, no address literal, no leading '-'. UTF-8 letters are
 * refused (a gateway without SMTPUTF8 would lose them); the error says so; so is a domain that
 * ends in a number. Error: BL_ERROR_INPUT. */
bool bl_mail_check(const char *address, GError **error);

/* The address as it is stored and compared: the domain in lower case. Caller frees; NULL and
 * error when bl_mail_check refuses it. */
char *bl_mail_normal(const char *address, GError **error);

#endif
