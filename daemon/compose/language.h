/*
 * One language's words: names of days and months, forms of dates, and the sentences that
 * products ask for by key (cautions, wash advice, care, putting on again). They come from the
 * language's key file LANG/words and never from the process's locale. Inside this room only.
 */
#ifndef BEADLINE_COMPOSE_LANGUAGE_H
#define BEADLINE_COMPOSE_LANGUAGE_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/civil.h"
#include "beadline/cleanup.h"
#include "beadline/error.h"

struct bl_language;

/* Reads the words of the language called name ("en"); file is named in the faults. NULL when
 * there was a fault. */
struct bl_language *bl_language_read(const char *name, const char *file, const char *text,
                                     struct bl_faults *faults);
void bl_language_free(struct bl_language *language);
BL_DEFINE_AUTO(bl_language);

const char *bl_language_name(const struct bl_language *language);

/* The word, or NULL. Owned by language. */
const char *bl_language_word(const struct bl_language *language, const char *group,
                             const char *key);

/* The keys of a group in the order of the file, NULL-terminated; an empty list when there is no
 * such group. Owned by language. */
const char *const *bl_language_keys(const struct bl_language *language, const char *group);

/* Forms of a date, each a pattern under [dates]. */
enum bl_date_form {
    BL_DATE_LONG,  /* "Thursday 12 March" */
    BL_DATE_BRIEF, /* "Thu 12 Mar" */
    BL_DATE_PLAIN, /* "12 March" */
    BL_DATE_SHORT, /* "12 Mar" */
};

/* Callers free all of these. */
char *bl_language_date(const struct bl_language *language, int32_t date,
                       enum bl_date_form form);

/* Day and time of day: "16:30 on Thursday 12 March". form is BL_DATE_LONG or BL_DATE_BRIEF. */
char *bl_language_moment(const struct bl_language *language, const struct bl_zone *zone,
                         int64_t at, enum bl_date_form form);

/* About when something between the two dates comes, told on `today`: "between 12 March and 4
 * April"; by months when the two are more than six weeks apart; with the first one past "by
 * about 4 April"; with both past "about now". form is BL_DATE_PLAIN or BL_DATE_SHORT. */
char *bl_language_span(const struct bl_language *language, int32_t first, int32_t last,
                       int32_t today, enum bl_date_form form);

#endif
