/*
 * Silence: from the second it is stored, nothing goes to the address on any route, and the log
 * proves when and why. A trigger writes the log of silencing; lifting writes its own line.
 */
#include "ledger_sql.h"

static const char SILENCED[] = "SELECT count(*) FROM silence WHERE address = ?1";

bool bl_store_silenced(struct bl_store *store, const char *address)
{
    int64_t rows = 0;
    return !bl_sql_number(store, SILENCED, BL_VALUES(bl_text(address)), 0, &rows, NULL) ||
           rows > 0;
}

/* A second STOP changes nothing but is evidence too: it goes into the log. */
static const char ADD[] = "INSERT INTO silence (address, since, how, words)"
                          " VALUES (?1, ?2, ?3, ?4)";
static const char LOG[] = "INSERT INTO silence_log (address, at, silenced, how, words)"
                          " VALUES (?1, ?2, ?3, ?4, ?5)";
static const char LIFT[] = "DELETE FROM silence WHERE address = ?1";

static bool write_log(struct bl_store *store, const char *address, bool silenced,
                      const char *how, const char *words, int64_t now, GError **error)
{
    return bl_sql_run(store, LOG,
                      BL_VALUES(bl_text(address), bl_int(now), bl_int(silenced), bl_text(how),
                                bl_text(words ? words : "")),
                      error);
}

bool bl_silence_add(struct bl_store *store, const char *address, const char *how,
                    const char *words, int64_t now, GError **error)
{
    int64_t rows = 0;
    if (!bl_sql_number(store, SILENCED, BL_VALUES(bl_text(address)), 0, &rows, error)) {
        return false;
    }
    if (rows > 0) {
        return write_log(store, address, true, how, words, now, error);
    }
    return bl_sql_run(
        store, ADD,
        BL_VALUES(bl_text(address), bl_int(now), bl_text(how), bl_text(words ? words : "")),
        error);
}

bool bl_silence_lift(struct bl_store *store, const char *address, const char *how,
                     const char *words, int64_t now, GError **error)
{
    if (!bl_sql_run(store, LIFT, BL_VALUES(bl_text(address)), error)) {
        return false;
    }
    if (bl_sql_changed(store) == 0) {
        g_set_error(error, BL_ERROR, BL_ERROR_MISSING, "\"%s\" is not silenced", address);
        return false;
    }
    return write_log(store, address, false, how, words, now, error);
}
