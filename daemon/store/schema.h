/*
 * The texts the migrations run: each a NULL-terminated list of statements. They are never
 * edited once released; a change is a new migration.
 */
#ifndef BEADLINE_STORE_SCHEMA_H
#define BEADLINE_STORE_SCHEMA_H

extern const char *const bl_schema1_people[]; /* customers, cars, jobs, what happened */
extern const char *const bl_schema1_ledger[]; /* dues, messages, silence, the daemon's own */
extern const char *const bl_schema1_touch[];  /* who is to be planned again, whoever writes */
extern const char *const bl_schema1_rules[];  /* what nobody may do to the ledger */
extern const char *const bl_schema2_mend[];   /* corrections, held offers, cures indoors */

/* Pieces of statements. */
#define BL_SQL_ID "id INTEGER PRIMARY KEY AUTOINCREMENT, "

/* Years 1970 to 2199, what can be typed. */
#define BL_SQL_INSTANT(column) column " BETWEEN 0 AND 7258118399"

/* One line of text without control characters. */
#define BL_SQL_LINE(column, low, high)                                                         \
    "length(" column ") BETWEEN " low " AND " high " AND " column                              \
    " NOT GLOB '*[' || char(1) || '-' || char(31) || char(127) || ']*'"

#endif
