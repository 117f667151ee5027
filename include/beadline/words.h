/*
 * The words that are stored: every enum that reaches the database, a file or the screen, with
 * its one stored spelling. Each family has `_name` (enum to word, never NULL for a valid value)
 * and
 * `_of` (word to enum; false when unknown). Words match case-sensitively.
 */
#ifndef BEADLINE_WORDS_H
#define BEADLINE_WORDS_H

#include <stdbool.h>

enum bl_surface {
    BL_PAINT,
    BL_WINDSCREEN,
    BL_GLASS,
    BL_WHEELS,
    BL_TYRES,
    BL_TRIM,
    BL_LEATHER,
    BL_FABRIC,
    BL_SOFT_TOP, /* "soft top" */
    BL_SURFACES
};

enum bl_role { BL_BASE, BL_FILM, BL_TOPPER, BL_DRESSING, BL_ROLES };

/* Who puts it on again: "shop" (a booking), "next booking" (no message, on the job list),
 * "customer" (told how). */
enum bl_again { BL_AGAIN_SHOP, BL_AGAIN_NEXT_BOOKING, BL_AGAIN_CUSTOMER, BL_AGAINS };

/* "handover" "wash" "care" "mileage" "top-up" "look-over" "booking" */
enum bl_kind {
    BL_HANDOVER,
    BL_WASH,
    BL_CARE,
    BL_MILEAGE,
    BL_TOP_UP,
    BL_LOOK_OVER,
    BL_BOOKING,
    BL_KINDS
};

enum bl_class { BL_SERVICE, BL_TIPS, BL_OFFERS, BL_CLASSES };

/* "sms" "mail" "by hand" */
enum bl_channel { BL_SMS, BL_MAIL, BL_BY_HAND, BL_CHANNELS };

/* "planned" "paused" "claimed" "sent" "delivered" "failed" "unsure" "lapsed" "withdrawn" */
enum bl_state {
    BL_PLANNED,
    BL_PAUSED,
    BL_CLAIMED,
    BL_SENT,
    BL_DELIVERED,
    BL_FAILED,
    BL_UNSURE,
    BL_LAPSED,
    BL_WITHDRAWN,
    BL_STATES
};

/* "normal" "often" "seldom" "never": the customer's own wish */
enum bl_wish { BL_WISH_NORMAL, BL_WISH_OFTEN, BL_WISH_SELDOM, BL_WISH_NEVER, BL_WISHES };

/* What happened to a car: "care" "harsh wash" "stripped" "polished" "part replaced" "resprayed"
 * "wet too early" "etched" "wheels off" "cured indoors" "inspection" */
enum bl_happening {
    BL_EV_CARE,
    BL_EV_HARSH_WASH,
    BL_EV_STRIPPED,
    BL_EV_POLISHED,
    BL_EV_PART_REPLACED,
    BL_EV_RESPRAYED,
    BL_EV_WET_EARLY,
    BL_EV_ETCHED,
    BL_EV_WHEELS_OFF,
    BL_EV_CURED_INDOORS,
    BL_EV_INSPECTION,
    BL_HAPPENINGS
};

/* What an inspection found: "beading" "came back after decontamination" "gone" */
enum bl_finding { BL_FOUND_BEADING, BL_FOUND_CAME_BACK, BL_FOUND_GONE, BL_FINDINGS };

const char *bl_surface_name(enum bl_surface surface);
const char *bl_role_name(enum bl_role role);
const char *bl_again_name(enum bl_again again);
const char *bl_kind_name(enum bl_kind kind);
const char *bl_class_name(enum bl_class class);
const char *bl_channel_name(enum bl_channel channel);
const char *bl_state_name(enum bl_state state);
const char *bl_wish_name(enum bl_wish wish);
const char *bl_happening_name(enum bl_happening happening);
const char *bl_finding_name(enum bl_finding finding);

bool bl_surface_of(const char *word, enum bl_surface *surface);
bool bl_role_of(const char *word, enum bl_role *role);
bool bl_again_of(const char *word, enum bl_again *again);
bool bl_kind_of(const char *word, enum bl_kind *kind);
bool bl_class_of(const char *word, enum bl_class *class);
bool bl_channel_of(const char *word, enum bl_channel *channel);
bool bl_state_of(const char *word, enum bl_state *state);
bool bl_wish_of(const char *word, enum bl_wish *wish);
bool bl_happening_of(const char *word, enum bl_happening *happening);
bool bl_finding_of(const char *word, enum bl_finding *finding);

/* The whole family as a NULL-terminated list, for help texts and bl_text_nearest. */
const char *const *bl_surface_words(void);
const char *const *bl_role_words(void);
const char *const *bl_again_words(void);
const char *const *bl_wish_words(void);
const char *const *bl_class_words(void);
const char *const *bl_channel_words(void);
const char *const *bl_happening_words(void);
const char *const *bl_finding_words(void);

/* The class a kind of message belongs to (design: handover, wash, booking are service; care and
 * mileage are tips; top-up and look-over are offers). */
enum bl_class bl_kind_class(enum bl_kind kind);

#endif
