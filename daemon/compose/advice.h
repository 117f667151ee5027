/*
 * Advice: which wash advice, care and cautions a message carries. The cautions of the trade are
 * the product's own duty and do not hang on what an owner wrote in his catalogue; his rules add
 * to them. Inside this room only.
 */
#ifndef BEADLINE_COMPOSE_ADVICE_H
#define BEADLINE_COMPOSE_ADVICE_H

#include "said.h"

struct bl_advice;

struct bl_advice *bl_advice_new(void);
void bl_advice_free(struct bl_advice *advice);
BL_DEFINE_AUTO(bl_advice);

/* How a car with this treatment on it is washed. */
void bl_advice_wash(struct bl_advice *advice, const struct bl_treatment *treatment);

/* What its owner must know who drives away with it, and the care he can do. */
void bl_advice_handed_over(struct bl_advice *advice, const struct bl_treatment *treatment);

/* What its owner must know who puts it on himself. */
void bl_advice_by_customer(struct bl_advice *advice, const struct bl_treatment *treatment);

/* The care that is due on it, for its owner to do. */
void bl_advice_care(struct bl_advice *advice, const struct bl_treatment *treatment);

/* Puts it all into `said` as the kind and the channel tell it: an SMS has the essential
 * cautions in short words; the mail and the sheet of a handover have them all. */
void bl_advice_tell(const struct bl_advice *advice, const struct bl_language *language,
                    enum bl_kind kind, enum bl_channel channel, struct bl_said *said);

#endif
