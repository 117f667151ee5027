/*
 * Finding: from what the owner typed to the customer or car that is meant. Every candidate has
 * a rank; the best rank that has any is the answer, so an exact match never hides behind a
 * partial one, and two equally good ones are both shown.
 */
#include "beadline/lookup.h"
#include "beadline/records.h"

#include <string.h>

#include "beadline/text.h"
#include "checks.h"
#include "columns.h"

/* The same of one that has gone comes right after each. */
enum rank {
    RANK_PLATE,      /* the plate it bears now */
    RANK_ID,         /* a bare number */
    RANK_EXACT,      /* a whole name, address or former plate */
    RANK_EXACT_GONE, /* the same of a car that has gone */
    RANK_NEAR,       /* a whole name but for accents and apostrophes */
    RANK_NEAR_GONE,
    RANK_PART, /* a part of a name, accents or not */
    RANK_PART_GONE,
    RANK_NONE
};

struct search {
    char *folded; /* what was typed, as names are compared */
    char *bare;   /* as they are searched by: without accents and apostrophes */
    char *plate;  /* and as plates are */
    int64_t id;   /* the number typed; 0 none */
    bool by_id;   /* "#3": the number and nothing else */
    enum rank best;
    GArray *found; /* struct bl_found of that rank */
};

static void found_clear(gpointer data)
{
    g_free(((struct bl_found *)data)->label);
}

void bl_found_free_all(GArray *found)
{
    if (found) {
        g_array_unref(found);
    }
}

static bool search_init(struct search *search, const char *name, GError **error)
{
    if (!bl_check_line(name, "name", error)) {
        return false;
    }
    g_autofree char *trimmed = g_strstrip(g_strdup(name));
    guint64 id = 0;
    search->by_id = trimmed[0] == '#';
    if (g_ascii_string_to_unsigned(trimmed + search->by_id, 10, 1, G_MAXINT64, &id, NULL)) {
        search->id = (int64_t)id;
    }
    search->folded = bl_text_fold(trimmed);
    search->bare = bl_text_search(trimmed);
    search->plate = bl_text_plate(trimmed);
    search->best = RANK_NONE;
    search->found = bl_row_array(sizeof(struct bl_found), found_clear);
    return true;
}

static void search_clear(struct search *search)
{
    g_free(search->folded);
    g_free(search->bare);
    g_free(search->plate);
    bl_found_free_all(search->found);
}

/* Takes the candidate in when nothing better is there. The label is consumed. */
static void offer(struct search *search, enum rank rank, int64_t id, char *label)
{
    struct bl_found found = {id, label};
    if (rank > search->best || rank == RANK_NONE) {
        g_free(label);
        return;
    }
    if (rank < search->best) {
        g_array_set_size(search->found, 0);
        search->best = rank;
    }
    g_array_append_val(search->found, found);
}

/* How well a name of the thing fits: RANK_EXACT, RANK_NEAR, RANK_PART or RANK_NONE. */
static enum rank rank_name(const struct search *search, const char *name)
{
    if (!name || !*search->folded) {
        return RANK_NONE;
    }
    g_autofree char *folded = bl_text_fold(name);
    if (strcmp(folded, search->folded) == 0) {
        return RANK_EXACT;
    }
    g_autofree char *bare = bl_text_search(name);
    if (*search->bare && strcmp(bare, search->bare) == 0) {
        return RANK_NEAR;
    }
    bool part = strstr(folded, search->folded) || (*search->bare && strstr(bare, search->bare));
    return part ? RANK_PART : RANK_NONE;
}

/* Addresses are stored in one form, and found by it whole. */
static bool is_address(const struct search *search, const char *address)
{
    g_autofree char *folded = address ? bl_text_fold(address) : NULL;
    return folded && strcmp(folded, search->folded) == 0;
}

static enum rank rank_person(const struct search *search, const char *name, const char *phone,
                             const char *mail)
{
    if (is_address(search, phone) || is_address(search, mail)) {
        return RANK_EXACT;
    }
    return rank_name(search, name);
}

static const char CUSTOMERS[] =
    "SELECT id, name, phone, mail FROM customer ORDER BY name COLLATE NOCASE, id";

static void offer_customer(struct search *search, const struct bl_rows *rows)
{
    int64_t id = bl_rows_int(rows, 0);
    g_autofree char *name = bl_column_note(rows, 1);
    enum rank rank = RANK_NONE;
    if (!search->by_id) {
        rank = rank_person(search, name, bl_rows_text(rows, 2), bl_rows_text(rows, 3));
    }
    if (id == search->id) {
        rank = RANK_EXACT;
    }
    offer(search, rank, id, g_strdup_printf("%s (customer %" G_GINT64_FORMAT ")", name, id));
}

GArray *bl_customer_find(struct bl_store *store, const char *name, GError **error)
{
    __attribute__((cleanup(search_clear))) struct search search = {0};
    if (!search_init(&search, name, error)) {
        return NULL;
    }
    BL_ROWS rows = bl_rows(store, CUSTOMERS, NULL);
    while (bl_rows_next(&rows)) {
        offer_customer(&search, &rows);
    }
    return bl_rows_end(&rows, error) ? g_steal_pointer(&search.found) : NULL;
}

static const char CARS[] =
    "SELECT car.id, car.plate, car.plate_key, car.name, car.gone_at IS NOT NULL,"
    " customer.name, customer.phone, customer.mail,"
    " EXISTS (SELECT 1 FROM car_plate p WHERE p.car = car.id AND p.plate_key = ?1)"
    " FROM car LEFT JOIN customer ON customer.id = car.customer"
    " ORDER BY car.plate_key, car.id";

/* By name, by owner, or by a plate that is not the one it bears now. */
static enum rank rank_words(const struct search *search, const struct bl_rows *rows)
{
    const char *key = bl_rows_text(rows, 2);
    enum rank name = rank_name(search, bl_rows_text(rows, 3));
    enum rank owner = rank_person(search, bl_rows_text(rows, 5), bl_rows_text(rows, 6),
                                  bl_rows_text(rows, 7));
    enum rank plate = RANK_NONE;
    if (*search->plate && bl_rows_int(rows, 8)) {
        plate = RANK_EXACT;
    } else if (*search->plate && key && strstr(key, search->plate)) {
        plate = RANK_PART;
    }
    return MIN(plate, MIN(name, owner));
}

static enum rank rank_car(const struct search *search, const struct bl_rows *rows)
{
    const char *key = bl_rows_text(rows, 2);
    bool gone = bl_rows_int(rows, 4) != 0;
    bool number = bl_rows_int(rows, 0) == search->id;
    if (search->by_id) {
        return number ? RANK_ID : RANK_NONE;
    }
    if (!gone && *search->plate && key && strcmp(key, search->plate) == 0) {
        return RANK_PLATE;
    }
    if (number) {
        return RANK_ID;
    }
    enum rank rank = rank_words(search, rows);
    if (rank == RANK_NONE || !gone) {
        return rank;
    }
    return rank + 1;
}

static char *car_label(const struct bl_rows *rows)
{
    g_autofree char *plate = bl_column_note(rows, 1);
    g_autofree char *name = bl_column_note(rows, 3);
    g_autofree char *owner = bl_column_note(rows, 5);
    return g_strdup_printf("%s%s%s, %s (car %" G_GINT64_FORMAT "%s)", plate, *name ? ", " : "",
                           name, *owner ? owner : "no such customer", bl_rows_int(rows, 0),
                           bl_rows_int(rows, 4) ? ", gone" : "");
}

GArray *bl_car_find(struct bl_store *store, const char *name, GError **error)
{
    __attribute__((cleanup(search_clear))) struct search search = {0};
    if (!search_init(&search, name, error)) {
        return NULL;
    }
    BL_ROWS rows = bl_rows(store, CARS, BL_VALUES(bl_text(search.plate)));
    while (bl_rows_next(&rows)) {
        enum rank rank = rank_car(&search, &rows);
        offer(&search, rank, bl_rows_int(&rows, 0), car_label(&rows));
    }
    return bl_rows_end(&rows, error) ? g_steal_pointer(&search.found) : NULL;
}
