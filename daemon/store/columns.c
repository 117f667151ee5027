/*
 * Columns as records read them: between the layer over SQLite and the structs of records.h.
 */
#include "columns.h"

#include <string.h>

char *bl_column_shown(const struct bl_rows *rows, int column)
{
    const char *text = bl_rows_text(rows, column);
    return text ? g_utf8_make_valid(text, -1) : NULL;
}

char *bl_column_note(const struct bl_rows *rows, int column)
{
    char *text = bl_column_shown(rows, column);
    return text ? text : g_strdup("");
}

bool bl_column_whole(const struct bl_rows *rows, int column, const char *what,
                     const char **text, GError **error)
{
    *text = bl_rows_text(rows, column);
    if (*text && strlen(*text) != (size_t)sqlite3_column_bytes(rows->statement, column)) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "the %s holds a control character (U+0000): leave it out", what);
        return false;
    }
    return true;
}

bool bl_missing(const char *what, int64_t id, GError **error)
{
    g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                "there is no %s \"%" G_GINT64_FORMAT "\": look its number up in the list", what,
                id);
    return false;
}

bool bl_must_exist(struct bl_store *store, const char *select, const char *what, int64_t id,
                   GError **error)
{
    BL_ROWS rows = bl_rows(store, select, BL_VALUES(bl_int(id)));
    bool found = bl_rows_next(&rows);
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    return found || bl_missing(what, id, error);
}

GArray *bl_row_array(guint size, GDestroyNotify clear)
{
    GArray *array = g_array_new(FALSE, TRUE, size);
    g_array_set_clear_func(array, clear);
    return array;
}

GArray *bl_row_array_end(GArray *array, struct bl_rows *rows, GError **error)
{
    if (bl_rows_end(rows, error)) {
        return array;
    }
    g_array_unref(array);
    return NULL;
}
