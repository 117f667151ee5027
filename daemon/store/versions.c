/*
 * Versions of rules and packages: a job points at the text that held when it was made, whatever
 * the catalogue says later. A text is stored once.
 */
#include "beadline/records.h"

#include "checks.h"
#include "columns.h"

#define TEXT_MAX 100000 /* characters: no catalogue is that wordy, so this is a runaway */

static bool check(const char *key, const char *what, const char *text, int64_t now,
                  GError **error)
{
    if (!bl_check_line(key, what, error) || !bl_check_at(now, "date", error)) {
        return false;
    }
    if (g_utf8_validate(text, -1, NULL) && g_utf8_strlen(text, -1) <= TEXT_MAX) {
        return true;
    }
    g_set_error(
        error, BL_ERROR, BL_ERROR_INPUT,
        "the text of \"%s\" is not valid UTF-8, or has more than %d characters: mend the "
        "catalogue",
        key, TEXT_MAX);
    return false;
}

struct family {
    const char *find, *add; /* constants below, one pair a table */
};

static bool version(struct bl_store *store, const struct family *family, const char *key,
                    const char *text, int64_t now, int64_t *id, GError **error)
{
    if (!bl_sql_number(store, family->find, BL_VALUES(bl_text(key), bl_text(text)), 0, id,
                       error)) {
        return false;
    }
    return *id != 0 ||
           bl_sql_insert(store, family->add,
                         BL_VALUES(bl_text(key), bl_text(text), bl_int(now)), id, error);
}

static const char FIND_RULE[] = "SELECT id FROM rule_version WHERE product = ?1 AND text = ?2";
static const char ADD_RULE[] =
    "INSERT INTO rule_version (product, text, stored_at) VALUES (?1, ?2, ?3)";

bool bl_rule_version(struct bl_store *store, const char *product, const char *text, int64_t now,
                     int64_t *id, GError **error)
{
    static const struct family rules = {FIND_RULE, ADD_RULE};
    return check(product, "product", text, now, error) &&
           version(store, &rules, product, text, now, id, error);
}

static const char FIND_PACKAGE[] = "SELECT id FROM package WHERE key = ?1 AND text = ?2";
static const char ADD_PACKAGE[] =
    "INSERT INTO package (key, text, stored_at) VALUES (?1, ?2, ?3)";

bool bl_package_version(struct bl_store *store, const char *key, const char *text, int64_t now,
                        int64_t *id, GError **error)
{
    static const struct family packages = {FIND_PACKAGE, ADD_PACKAGE};
    return check(key, "package", text, now, error) &&
           version(store, &packages, key, text, now, id, error);
}

static const char RULE_TEXT[] = "SELECT product, text FROM rule_version WHERE id = ?1";

bool bl_rule_text(struct bl_store *store, int64_t id, char **product, char **text,
                  GError **error)
{
    BL_ROWS rows = bl_rows(store, RULE_TEXT, BL_VALUES(bl_int(id)));
    bool found = bl_rows_next(&rows);
    if (found) {
        *product = bl_column_note(&rows, 0);
        *text = bl_column_note(&rows, 1);
    }
    if (!bl_rows_end(&rows, error)) {
        return false;
    }
    return found || bl_missing("rule version", id, error);
}
