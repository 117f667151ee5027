/*
 * Columns as records read them. Two kinds of reader stand behind these: a list shows what is
 * there, so a text that is no UTF-8 is made readable; the facts leave a broken row out, so a
 * text must be whole. Inside the room only.
 */
#ifndef BEADLINE_STORE_COLUMNS_H
#define BEADLINE_STORE_COLUMNS_H

#include "sql.h"

/* The text for a list: invalid bytes replaced. NULL for NULL; caller frees. */
char *bl_column_shown(const struct bl_rows *rows, int column);

/* The same with "" for NULL. */
char *bl_column_note(const struct bl_rows *rows, int column);

/* The text for the facts, borrowed; NULL for NULL. False with BL_ERROR_INPUT when a NUL stands
 * inside, where C would lose the rest unseen. */
bool bl_column_whole(const struct bl_rows *rows, int column, const char *what,
                     const char **text, GError **error);

/* Whether `select`, which takes an id and gives one number, finds a row. BL_ERROR_MISSING,
 * naming `what` and the id, when there is none. */
bool bl_must_exist(struct bl_store *store, const char *select, const char *what, int64_t id,
                   GError **error);

/* Sets BL_ERROR_MISSING: no `what` has this number. Always false. */
bool bl_missing(const char *what, int64_t id, GError **error);

/* An array of rows that frees their texts with `clear`. */
GArray *bl_row_array(guint size, GDestroyNotify clear);

/* The array, or NULL (and it freed) when reading failed on the way. */
GArray *bl_row_array_end(GArray *array, struct bl_rows *rows, GError **error);

#endif
