/*
 * What a message says, before any template gives it a shape: plain texts in the reader's
 * language. say.c finds it from the facts; view.c makes the template's values of it, and the
 * example the strict check reads, through the same functions, so that a name which passes the
 * check is never missing in a letter. Inside this room only.
 */
#ifndef BEADLINE_COMPOSE_SAID_H
#define BEADLINE_COMPOSE_SAID_H

#include <glib.h>
#include <stdbool.h>

#include "beadline/cleanup.h"
#include "beadline/compose.h"
#include "language.h"

/* One treatment. */
struct bl_piece {
    char *title, *surface;
    char *part; /* NULL the whole surface */
    int coats;
    char *when; /* top-up: about when it ends; NULL */
    char *how;  /* top-up: how the customer puts it on again; NULL */
};

/* One car, as far as this message speaks of it. */
struct bl_subject {
    const struct bl_car *car;
    const char *plate;
    const char *name;                           /* as its owner would say; else the plate */
    bool named;                                 /* it is a name, not the plate */
    bool replaces;                              /* the date replaces one told before */
    struct bl_cure_times times;                 /* the latest of its jobs */
    char *finished;                             /* handover: the day */
    char *parked, *dry, *rinse, *wipers, *wash; /* until, until, from, until, from; NULL none */
    GPtrArray *went_on, *by_us, *by_you;        /* struct bl_piece */
    GPtrArray *wants;                           /* struct bl_piece: for care, or a look */
    bool off_label; /* handover: put on in weather its label does not ask for */
};

/* A care the customer can do, and how often; 0: no interval. */
struct bl_care_said {
    const char *text;
    int weeks;
};

struct bl_said {
    const struct bl_shop *shop;
    const char *customer;
    GPtrArray *cars;            /* struct bl_subject, never empty */
    GPtrArray *wash, *cautions; /* const char *, in the order of the language's words */
    GArray *cares;              /* struct bl_care_said */
    bool asking;                /* for the mileage as well */
};

/* What the message says at material->now, in the words of the language. NULL when nothing of it
 * can be said any more (BL_ERROR_REFUSED). */
struct bl_said *bl_say(const struct bl_language *language, const struct bl_material *material,
                       GError **error);
void bl_said_free(struct bl_said *said);
BL_DEFINE_AUTO(bl_said);

/* An empty one of each, and an empty car in it. */
struct bl_said *bl_said_new(const struct bl_shop *shop, const char *customer);
struct bl_subject *bl_said_add_car(struct bl_said *said);
struct bl_piece *bl_piece_add(GPtrArray *pieces);

/* The values of a template for this kind. brief: the SMS is long, leave out what can be left
 * out. */
struct bl_value *bl_view(enum bl_kind kind, const struct bl_said *said, bool brief);

/* One example of every name a template of this kind may use. */
struct bl_value *bl_view_example(enum bl_kind kind);

/* The kinds of message we have templates for, ended by BL_KINDS. */
extern const enum bl_kind bl_view_kinds[];

#endif
