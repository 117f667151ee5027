/* What the two tellings of wear, for people and as JSON, have in common. */
#ifndef BEADLINE_CLI_EXPLAIN_WEAR_H
#define BEADLINE_CLI_EXPLAIN_WEAR_H

#include "explain.h"

extern const char *const explain_end_names[BL_ENDS];
int64_t explain_end_at(const struct bl_life *life, guint end);

/* "owner's", "usual", "measured", "forecast". Static text. */
const char *explain_driven(const struct bl_wear_story *story, enum bl_driven driven);

/* Whether a limit of the speed binds. */
bool explain_held(const struct bl_stretch *stretch);

/* The rule's second clock, km; infinity none. */
double explain_most_km(const struct bl_rule *rule);

#endif
