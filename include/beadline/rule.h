/*
 * The rule of one product: what its label says, what its life is, and what it needs.
 *
 * Plain data. The catalogue reads it from the owner's files; the store keeps the version each
 * treatment was made with; planning reads nothing else about a product. Days are days of 24 h
 * on the rule's own scale, not civil days, unless a name says date.
 */
#ifndef BEADLINE_RULE_H
#define BEADLINE_RULE_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/cleanup.h"
#include "beadline/words.h"

/* The label's times after the last coat. */
struct bl_cure {
    double drive_h;      /* parked for so many hours; 0 none */
    double dry_h;        /* kept dry for so many hours */
    double rinse_days;   /* plain-water rinse from; NaN when the label says nothing */
    double wash_days[2]; /* no wash for lo..hi days; {0,0} when it does not cure */
    double wiper_h;      /* windscreens: wipers after so many hours; 0 none */
    double reference_c;  /* temperature at which wash_days[1] holds; 10 */
    double ea_ev;        /* activation energy, eV; 0.531 */
    double stall_c;      /* below this no cure at all; NaN none */
    double longest_days; /* 1.5 * wash_days[1] by default */
    double apply_c[2];   /* temperatures the label allows at application; NaN unbounded */
    double apply_rh[2];  /* the same for relative humidity, percent */
};

/* Life on the scale of use. */
struct bl_wear {
    double life_days[2]; /* lo..hi at the reference distance, without care */
    double share;        /* 0..1 of the wear that comes from driving */
    double km_a_year;    /* reference distance a year */
    double limits[2];    /* of the speed of use; {0.6, 2.0} */
    double max_km;       /* second clock of plain distance; infinity none */
    double lead_days;    /* overrides the shop's; NaN none */
};

/* One condition that moves use; bl_rule_exposures has the names. */
struct bl_exposure {
    char *name;
    double factor; /* > 0 */
};

/* What keeps it alive. interval_days NaN: it asks for none. */
struct bl_care {
    double interval_days, grace_days;
    double extends;   /* >= 1 */
    bool on_calendar; /* interval on the calendar, else on use */
    bool by_customer; /* the bottle is left with the customer, else the shop's care */
    char *what;       /* key of the care's words in the language's folder */
};

struct bl_rule {
    char *product;      /* key in the catalogue */
    GHashTable *titles; /* language -> title as the customer reads it; "en" always there */
    enum bl_surface surface;
    enum bl_role role;
    enum bl_again again;
    struct bl_cure cure;
    struct bl_wear wear; /* life_days NaN: no life of its own, never a top-up */
    struct bl_care care;
    int look_over_months; /* 0 none */
    GArray *exposures;    /* struct bl_exposure, by name */
    char **stripped_by;   /* NULL-terminated: of bl_rule_strippers, by name */
    char **cautions;      /* NULL-terminated keys of words in the language's folder */
    char **wash;          /* NULL-terminated keys: how to wash it */
};

/* Frees the rule and all it holds, the names inside `exposures` one by one: the array needs no
 * clear function of its own. NULL is nothing. */
void bl_rule_free(struct bl_rule *rule);
BL_DEFINE_AUTO(bl_rule);

/* The title in language, or in English, or the product's key. Owned by rule. */
const char *bl_rule_title(const struct bl_rule *rule, const char *language);

/* The conditions a car may live under ("stored outdoors", "winter salt") and a rule may name as
 * exposures; NULL-terminated. A name, once released, never changes. */
const char *const *bl_rule_exposures(void);

/* What may strip a product ("wheel cleaner", "strong pre-wash"); NULL-terminated, the same. */
const char *const *bl_rule_strippers(void);

#endif
