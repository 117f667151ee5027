/*
 * Facts: all that is known of one customer, as the store hands it to planning and composing.
 *
 * Plain data in GArrays, sorted by instant and then by id; nothing here is computed. Absent
 * numbers are NaN, absent instants and dates BL_NEVER and BL_NO_DATE, absent texts NULL.
 */
#ifndef BEADLINE_FACTS_H
#define BEADLINE_FACTS_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/rule.h"
#include "beadline/words.h"

struct bl_reading {
    int64_t id, at;
    double km;
    int instrument; /* counts replacements; nothing is differenced across one */
};

struct bl_event {
    int64_t id, at;
    enum bl_happening happening;
    int64_t treatment; /* 0: by surface, or the whole car */
    int surface;       /* enum bl_surface, or -1 any */
    char *part;        /* NULL the whole */
    char *with;        /* what did it: "wheel cleaner"; NULL */
    int finding;       /* inspection: enum bl_finding, or -1 none of them */
    double temp_c;     /* cured indoors: at this temperature */
    double hours;      /* and for so many hours up to `at`; NaN or 0: a lamp, cured then */
};

struct bl_job {
    int64_t id, at;   /* when the work was finished */
    int64_t customer; /* whose car it was then */
    int64_t redo_of;  /* the job it makes good, or 0 */
    double temp_c, humidity;
    int32_t wash_from;  /* the owner's own date, or BL_NO_DATE */
    bool cured_indoors; /* counts as cured when handed over */
    int64_t told_from;  /* when it was entered: the handover's own "now" */
};

struct bl_treatment {
    int64_t id, job;
    int64_t rule_id;            /* rule version in the store */
    const struct bl_rule *rule; /* NULL when its text cannot be read; owned by the rule book */
    enum bl_surface surface;
    char *part; /* "" the whole surface */
    int coats;
    int64_t last_coat_at;
    int again; /* enum bl_again, or -1 the rule's */
};

struct bl_car {
    int64_t id;
    char *plate;        /* as typed */
    char *name;         /* as its owner would say: "blue estate"; NULL: by plate */
    double km_a_year;   /* declared; NaN none */
    int64_t since;      /* when this customer became its owner */
    int64_t gone_at;    /* BL_NEVER while it is here */
    bool offers_held;   /* its owner complained: nothing is offered until that is lifted */
    char **exposures;   /* NULL-terminated names that apply to this car always */
    GArray *readings;   /* struct bl_reading */
    GArray *jobs;       /* struct bl_job */
    GArray *treatments; /* struct bl_treatment, by last_coat_at */
    GArray *events;     /* struct bl_event */
};

/* A message that has begun or ended: what restraint and "never twice" look at. */
struct bl_told {
    int64_t message, at;
    enum bl_kind kind;
    enum bl_state state;
};

/* A due that has its end, or rides on a message that has begun: it is not planned again. */
struct bl_ended {
    enum bl_kind kind;
    int64_t subject;
    int ordinal;
    int64_t early, at; /* a top-up that was sent: its `early` then, and when it went; else 0 */
};

struct bl_customer {
    int64_t id;
    char *name;
    char *phone; /* E.164 or NULL */
    char *mail;
    char *language;        /* NULL the shop's */
    enum bl_channel route; /* the way they want it: sms, mail, by hand */
    enum bl_wish wish;
    bool consent[BL_CLASSES]; /* service is true unless refused */
    bool phone_silenced, mail_silenced;
};

struct bl_facts {
    struct bl_customer customer;
    GArray *cars;       /* struct bl_car: those owned now, gone ones included */
    GArray *told;       /* struct bl_told, the last 400 days */
    GArray *ended;      /* struct bl_ended */
    GPtrArray *skipped; /* char *: rows that could not be read, "treatment 12: no such job" */
};

void bl_facts_init(struct bl_facts *facts);
void bl_facts_clear(struct bl_facts *facts);

/* Adds an empty car (its arrays made) and returns it; valid until the next call. */
struct bl_car *bl_facts_add_car(struct bl_facts *facts);

/* Whether an address the customer has is silenced. STOP is the person's, not the route's, so
 * then nothing goes on any route. */
bool bl_facts_silenced(const struct bl_facts *facts);

/* The channel and address a message takes now: the wished route when the customer has an
 * address there, else the other, else by hand (address NULL); by hand too while he is silenced:
 * a message is never rerouted around a STOP. Owned by facts. */
enum bl_channel bl_facts_route(const struct bl_facts *facts, const char **address);

#endif
