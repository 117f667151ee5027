/*
 * The words that are stored. One table a family, its index the enum's value; a word, once
 * released, never changes, because databases and catalogues are full of it.
 */
#include "beadline/words.h"

#include <glib.h>
#include <string.h>

static const char *const surface_words[BL_SURFACES + 1] = {
    [BL_PAINT] = "paint",     [BL_WINDSCREEN] = "windscreen", [BL_GLASS] = "glass",
    [BL_WHEELS] = "wheels",   [BL_TYRES] = "tyres",           [BL_TRIM] = "trim",
    [BL_LEATHER] = "leather", [BL_FABRIC] = "fabric",         [BL_SOFT_TOP] = "soft top",
};

static const char *const role_words[BL_ROLES + 1] = {
    [BL_BASE] = "base",
    [BL_FILM] = "film",
    [BL_TOPPER] = "topper",
    [BL_DRESSING] = "dressing",
};

static const char *const again_words[BL_AGAINS + 1] = {
    [BL_AGAIN_SHOP] = "shop",
    [BL_AGAIN_NEXT_BOOKING] = "next booking",
    [BL_AGAIN_CUSTOMER] = "customer",
};

static const char *const kind_words[BL_KINDS + 1] = {
    [BL_HANDOVER] = "handover", [BL_WASH] = "wash",     [BL_CARE] = "care",
    [BL_MILEAGE] = "mileage",   [BL_TOP_UP] = "top-up", [BL_LOOK_OVER] = "look-over",
    [BL_BOOKING] = "booking",
};

static const char *const class_words[BL_CLASSES + 1] = {
    [BL_SERVICE] = "service",
    [BL_TIPS] = "tips",
    [BL_OFFERS] = "offers",
};

static const char *const channel_words[BL_CHANNELS + 1] = {
    [BL_SMS] = "sms",
    [BL_MAIL] = "mail",
    [BL_BY_HAND] = "by hand",
};

static const char *const state_words[BL_STATES + 1] = {
    [BL_PLANNED] = "planned", [BL_PAUSED] = "paused",       [BL_CLAIMED] = "claimed",
    [BL_SENT] = "sent",       [BL_DELIVERED] = "delivered", [BL_FAILED] = "failed",
    [BL_UNSURE] = "unsure",   [BL_LAPSED] = "lapsed",       [BL_WITHDRAWN] = "withdrawn",
};

static const char *const wish_words[BL_WISHES + 1] = {
    [BL_WISH_NORMAL] = "normal",
    [BL_WISH_OFTEN] = "often",
    [BL_WISH_SELDOM] = "seldom",
    [BL_WISH_NEVER] = "never",
};

static const char *const happening_words[BL_HAPPENINGS + 1] = {
    [BL_EV_CARE] = "care",
    [BL_EV_HARSH_WASH] = "harsh wash",
    [BL_EV_STRIPPED] = "stripped",
    [BL_EV_POLISHED] = "polished",
    [BL_EV_PART_REPLACED] = "part replaced",
    [BL_EV_RESPRAYED] = "resprayed",
    [BL_EV_WET_EARLY] = "wet too early",
    [BL_EV_ETCHED] = "etched",
    [BL_EV_WHEELS_OFF] = "wheels off",
    [BL_EV_CURED_INDOORS] = "cured indoors",
    [BL_EV_INSPECTION] = "inspection",
};

static const char *const finding_words[BL_FINDINGS + 1] = {
    [BL_FOUND_BEADING] = "beading",
    [BL_FOUND_CAME_BACK] = "came back after decontamination",
    [BL_FOUND_GONE] = "gone",
};

static const char *word_at(const char *const *words, unsigned count, unsigned value)
{
    g_assert(value < count);
    return words[value];
}

/* The index of word in a NULL-terminated family, -1 when it is none of them. */
static int index_of(const char *const *words, const char *word)
{
    if (!word) {
        return -1;
    }
    for (int i = 0; words[i]; i++) {
        if (strcmp(words[i], word) == 0) {
            return i;
        }
    }
    return -1;
}

const char *bl_surface_name(enum bl_surface surface)
{
    return word_at(surface_words, BL_SURFACES, surface);
}

bool bl_surface_of(const char *word, enum bl_surface *surface)
{
    int i = index_of(surface_words, word);
    if (i >= 0) {
        *surface = (enum bl_surface)i;
    }
    return i >= 0;
}

const char *bl_role_name(enum bl_role role)
{
    return word_at(role_words, BL_ROLES, role);
}

bool bl_role_of(const char *word, enum bl_role *role)
{
    int i = index_of(role_words, word);
    if (i >= 0) {
        *role = (enum bl_role)i;
    }
    return i >= 0;
}

const char *bl_again_name(enum bl_again again)
{
    return word_at(again_words, BL_AGAINS, again);
}

bool bl_again_of(const char *word, enum bl_again *again)
{
    int i = index_of(again_words, word);
    if (i >= 0) {
        *again = (enum bl_again)i;
    }
    return i >= 0;
}

const char *bl_kind_name(enum bl_kind kind)
{
    return word_at(kind_words, BL_KINDS, kind);
}

bool bl_kind_of(const char *word, enum bl_kind *kind)
{
    int i = index_of(kind_words, word);
    if (i >= 0) {
        *kind = (enum bl_kind)i;
    }
    return i >= 0;
}

const char *bl_class_name(enum bl_class class)
{
    return word_at(class_words, BL_CLASSES, class);
}

bool bl_class_of(const char *word, enum bl_class *class)
{
    int i = index_of(class_words, word);
    if (i >= 0) {
        *class = (enum bl_class)i;
    }
    return i >= 0;
}

const char *bl_channel_name(enum bl_channel channel)
{
    return word_at(channel_words, BL_CHANNELS, channel);
}

bool bl_channel_of(const char *word, enum bl_channel *channel)
{
    int i = index_of(channel_words, word);
    if (i >= 0) {
        *channel = (enum bl_channel)i;
    }
    return i >= 0;
}

const char *bl_state_name(enum bl_state state)
{
    return word_at(state_words, BL_STATES, state);
}

bool bl_state_of(const char *word, enum bl_state *state)
{
    int i = index_of(state_words, word);
    if (i >= 0) {
        *state = (enum bl_state)i;
    }
    return i >= 0;
}

const char *bl_wish_name(enum bl_wish wish)
{
    return word_at(wish_words, BL_WISHES, wish);
}

bool bl_wish_of(const char *word, enum bl_wish *wish)
{
    int i = index_of(wish_words, word);
    if (i >= 0) {
        *wish = (enum bl_wish)i;
    }
    return i >= 0;
}

const char *bl_happening_name(enum bl_happening happening)
{
    return word_at(happening_words, BL_HAPPENINGS, happening);
}

bool bl_happening_of(const char *word, enum bl_happening *happening)
{
    int i = index_of(happening_words, word);
    if (i >= 0) {
        *happening = (enum bl_happening)i;
    }
    return i >= 0;
}

const char *bl_finding_name(enum bl_finding finding)
{
    return word_at(finding_words, BL_FINDINGS, finding);
}

bool bl_finding_of(const char *word, enum bl_finding *finding)
{
    int i = index_of(finding_words, word);
    if (i >= 0) {
        *finding = (enum bl_finding)i;
    }
    return i >= 0;
}

const char *const *bl_surface_words(void)
{
    return surface_words;
}

const char *const *bl_role_words(void)
{
    return role_words;
}

const char *const *bl_again_words(void)
{
    return again_words;
}

const char *const *bl_wish_words(void)
{
    return wish_words;
}

const char *const *bl_class_words(void)
{
    return class_words;
}

const char *const *bl_channel_words(void)
{
    return channel_words;
}

const char *const *bl_happening_words(void)
{
    return happening_words;
}

const char *const *bl_finding_words(void)
{
    return finding_words;
}

enum bl_class bl_kind_class(enum bl_kind kind)
{
    static const enum bl_class classes[BL_KINDS] = {
        [BL_HANDOVER] = BL_SERVICE, [BL_WASH] = BL_SERVICE,  [BL_CARE] = BL_TIPS,
        [BL_MILEAGE] = BL_TIPS,     [BL_TOP_UP] = BL_OFFERS, [BL_LOOK_OVER] = BL_OFFERS,
        [BL_BOOKING] = BL_SERVICE,
    };
    g_assert((unsigned)kind < BL_KINDS);
    return classes[kind];
}
