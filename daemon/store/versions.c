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
    const char *find, *add, *renew; /* constants below, one set a table */
};

static bool version(struct bl_store *store, const struct family *family, const char *key,
                    const char *text, int64_t now, int64_t *id, GError **error)
{
    if (!bl_sql_number(store, family->find, BL_VALUES(bl_text(key), bl_text(text)), 0, id,
                       error)) {
        return false;
    }
    return *id != 0
               ? bl_sql_run(store, family->renew,
                            BL_VALUES(bl_int(*id), bl_text(key), bl_int(now)), error)
               : bl_sql_insert(store, family->add,
                               BL_VALUES(bl_text(key), bl_text(text), bl_int(now)), id, error);
}

/* Never before what was stored so far, whatever the clock says. */
#define ADD(table, key)                                                                        \
    "INSERT INTO " table " (" key ", text, stored_at) VALUES (?1, ?2, max(?3, coalesce("       \
    "(SELECT max(v.stored_at) FROM " table " v WHERE v." key " = ?1), 0)))"

/* A text that comes back after another is the last one again. */
#define RENEW(table, key)                                                                      \
    "UPDATE " table " SET stored_at = max(?3, (SELECT max(v.stored_at) + 1 FROM " table        \
    " v WHERE v." key " = ?2)) WHERE id = ?1 AND EXISTS (SELECT 1 FROM " table                 \
    " v WHERE v." key " = ?2 AND v.id <> ?1"                                                   \
    " AND (v.stored_at, v.id) > (" table ".stored_at, " table ".id))"

static const char FIND_RULE[] = "SELECT id FROM rule_version WHERE product = ?1 AND text = ?2";
static const char ADD_RULE[] = ADD("rule_version", "product");

static const char RENEW_RULE[] = RENEW("rule_version", "product");

bool bl_rule_version(struct bl_store *store, const char *product, const char *text, int64_t now,
                     int64_t *id, GError **error)
{
    static const struct family rules = {FIND_RULE, ADD_RULE, RENEW_RULE};
    return check(product, "product", text, now, error) &&
           version(store, &rules, product, text, now, id, error);
}

static const char FIND_PACKAGE[] = "SELECT id FROM package WHERE key = ?1 AND text = ?2";
static const char ADD_PACKAGE[] = ADD("package", "key");

static const char RENEW_PACKAGE[] = RENEW("package", "key");

bool bl_package_version(struct bl_store *store, const char *key, const char *text, int64_t now,
                        int64_t *id, GError **error)
{
    static const struct family packages = {FIND_PACKAGE, ADD_PACKAGE, RENEW_PACKAGE};
    return check(key, "package", text, now, error) &&
           version(store, &packages, key, text, now, id, error);
}

static const char LAST[] = "SELECT id FROM rule_version WHERE product = ?1"
                           " ORDER BY stored_at DESC, id DESC LIMIT 1";

bool bl_rule_last(struct bl_store *store, const char *product, int64_t *id, GError **error)
{
    return bl_sql_number(store, LAST, BL_VALUES(bl_text(product)), 0, id, error);
}

/* On cars that are here. */
static const char USED[] =
    "SELECT r.product, count(*) FROM treatment t JOIN rule_version r ON r.id = t.rule"
    " JOIN job j ON j.id = t.job JOIN car c ON c.id = j.car WHERE c.gone_at IS NULL"
    " GROUP BY r.product ORDER BY r.product";

static void clear_used(gpointer data)
{
    g_free(((struct bl_product_used *)data)->product);
}

GArray *bl_products_used(struct bl_store *store, GError **error)
{
    GArray *list = bl_row_array(sizeof(struct bl_product_used), clear_used);
    BL_ROWS rows = bl_rows(store, USED, NULL);
    while (bl_rows_next(&rows)) {
        struct bl_product_used used = {bl_column_note(&rows, 0), bl_rows_int(&rows, 1)};
        g_array_append_val(list, used);
    }
    return bl_row_array_end(list, &rows, error);
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
