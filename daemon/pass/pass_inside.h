/* What the files of the room share: the pass itself and the steps it is made of. */
#ifndef BEADLINE_PASS_INSIDE_H
#define BEADLINE_PASS_INSIDE_H

#include "beadline/ledger.h"
#include "beadline/pass.h"
#include "beadline/records.h"

/* How a gateway fares. One that fails is left alone for a while, whichever message it was, and
 * is then tried by one message at a time until it has answered well. So is one that wants a
 * login, at the start: a wrong password is one refused login and not one a connection. */
struct health {
    bool well;     /* its last answer was about a message, not about itself */
    int failures;  /* rounds in a row */
    int64_t until; /* of its rest */
    guint flying;  /* started and not yet taken back */
};

struct bl_pass {
    struct bl_pass_setup with;
    GHashTable *book;      /* int64 rule version -> struct entry (book.c) */
    GHashTable *current;   /* product -> int64 version of the catalogue's rule */
    GArray *healths;       /* struct health, one a gateway */
    GArray *waiting;       /* struct bl_outcome, not yet stored */
    int64_t waiting_since; /* boot time in ms of the first of them */
    int64_t version;       /* data_version when silence was last read */
    bool holding;
};

/* book.c: rules by version, the catalogue's own first. */
void pass_book_init(struct bl_pass *pass);
void pass_book_clear(struct bl_pass *pass);
bool pass_book_adopt(struct bl_pass *pass, int64_t now, char **digest, GError **error);

/* look.c: the letter of a claim, from facts read again. */
bool pass_letter(struct bl_pass *pass, const struct bl_claim *claim, int64_t now,
                 struct bl_letter *letter, char **to_name, GError **error);

/* claims.c: what may go now goes out. more is set when others wait although room is left. */
bool pass_claim(struct bl_pass *pass, int64_t now, bool *more, GArray *parcels, GError **error);
void pass_start(struct bl_pass *pass, int64_t now, GArray *parcels);

/* trust.c: the latest trusted instant, kept now and then, and whenever something went out. */
bool pass_leave_mark(struct bl_pass *pass, int64_t now, bool busy, GError **error);

/* outcomes.c */
void pass_take(struct bl_pass *pass);
bool pass_store_waiting(struct bl_pass *pass, int64_t now, GError **error);
void pass_forget_waiting(struct bl_pass *pass); /* after the commit */

static inline int64_t pass_now(const struct bl_pass *pass)
{
    return pass->with.clock.now(pass->with.clock.context);
}

/* The gateway that carries the channel, its index in *index; NULL none. */
static inline const struct bl_gateway *pass_gateway(const struct bl_pass *pass,
                                                    enum bl_channel channel, guint *index)
{
    const struct bl_settings *settings = pass->with.world->settings;
    int i = settings->carries[channel];
    if (i < 0) {
        return NULL;
    }
    *index = (guint)i;
    return &g_array_index(settings->gateways, struct bl_gateway, *index);
}

static inline struct health *pass_health(const struct bl_pass *pass, guint gateway)
{
    return &g_array_index(pass->healths, struct health, gateway);
}

/* bl_log of what the pass does, for those who want to know. */
#define pass_log(pass, ...)                                                                    \
    do {                                                                                       \
        if (!(pass)->with.quiet) {                                                             \
            bl_log(__VA_ARGS__);                                                               \
        }                                                                                      \
    } while (0)

/* A parcel ready to start, with the gateway it goes through and the address it is for. */
struct ready {
    guint gateway;
    struct bl_parcel parcel;
};

#endif
