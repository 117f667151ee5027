/*
 * What was kept of a corrected fact is a list as SQL's SET takes it: "km" = 48210.0, "how" =
 * 'told'. Here it becomes words.
 */
#include "corrected.h"

#include <stdio.h>
#include <string.h>

#include "json.h"
#include "say.h"
#include "table.h"

/* One member of the list; value NULL for NULL. */
struct member {
    char *name, *value;
};

static void member_clear(struct member *member)
{
    g_clear_pointer(&member->name, g_free);
    g_clear_pointer(&member->value, g_free);
}

/* The text between two quotes, each of which stands twice inside; *at moves behind it. */
static char *quoted(const char **at, char quote)
{
    GString *text = g_string_new(NULL);
    const char *c = *at + 1;
    while (*c && (*c != quote || c[1] == quote)) {
        g_string_append_c(text, *c);
        c += *c == quote ? 2 : 1;
    }
    *at = *c ? c + 1 : c;
    return g_string_free(text, FALSE);
}

static bool skip(const char **at, const char *text)
{
    bool there = g_str_has_prefix(*at, text);
    *at += there ? strlen(text) : 0;
    return there;
}

/* The next member; false at the end, and at what is no list of ours. */
static bool next(const char **at, struct member *member)
{
    skip(at, ", ");
    if (**at != '"') {
        return false;
    }
    member->name = quoted(at, '"');
    if (!skip(at, " = ")) {
        member_clear(member);
        return false;
    }
    if (**at == '\'') {
        member->value = quoted(at, '\'');
    } else if (!skip(at, "NULL")) {
        gsize length = strcspn(*at, ",");
        member->value = g_strndup(*at, length);
        *at += length;
    }
    return true;
}

static char *say_instant(struct context *context, const char *value)
{
    return say_at(context, g_ascii_strtoll(value, NULL, 10));
}

static char *say_civil(struct context *context, const char *value)
{
    return say_date(context, (int32_t)g_ascii_strtoll(value, NULL, 10));
}

static char *say_km(struct context *context, const char *value)
{
    return say_distance(context, g_ascii_strtod(value, NULL));
}

static char *say_number(struct context *context, const char *value)
{
    (void)context;
    return g_strdup_printf("%.6g", g_ascii_strtod(value, NULL));
}

static char *say_id(struct context *context, const char *value)
{
    (void)context;
    return g_strdup_printf("#%s", value);
}

static char *say_yes(struct context *context, const char *value)
{
    (void)context;
    return g_strdup(g_str_equal(value, "1") ? "yes" : "no");
}

static char *say_product(struct context *context, const char *value)
{
    char *product = NULL;
    g_autofree char *text = NULL;
    int64_t id = g_ascii_strtoll(value, NULL, 10);
    return bl_rule_text(context->store, id, &product, &text, NULL) ? product : g_strdup(value);
}

static char *say_text(struct context *context, const char *value)
{
    (void)context;
    return *value ? g_strdup_printf("\"%s\"", value) : g_strdup("");
}

/* How each column is called and told. Those left out tell the owner nothing. */
static const struct telling {
    const char *column, *name;
    char *(*say)(struct context *context, const char *value);
} tellings[] = {
    {"finished_at", "finished", say_instant},
    {"at", "at", say_instant},
    {"happening", "happened", say_text},
    {"rule", "product", say_product},
    {"surface", "surface", say_text},
    {"part", "part", say_text},
    {"coats", "coats", say_number},
    {"last_coat_at", "last coat", say_instant},
    {"km", "mileage", say_km},
    {"instrument", "instrument", say_number},
    {"temp_c", "degrees C", say_number},
    {"humidity", "humidity", say_number},
    {"hours", "hours", say_number},
    {"wash_from", "own wash date", say_civil},
    {"cured_indoors", "cured indoors", say_yes},
    {"leaving_ok", "leaving tick", say_yes},
    {"treatment", "treatment", say_id},
    {"redo_of", "makes good job", say_id},
    {"car", "car", say_id},
    {"job", "job", say_id},
    {"customer", "customer", say_id},
    {"place", "place", say_id},
    {"again", "done again by", say_text},
    {"batch", "batch", say_text},
    {"with", "with", say_text},
    {"finding", "found", say_text},
    {"how", "known", say_text},
    {"note", "note", say_text},
};

static const struct telling *telling_of(const char *column)
{
    for (gsize i = 0; i < G_N_ELEMENTS(tellings); i++) {
        if (g_str_equal(tellings[i].column, column)) {
            return &tellings[i];
        }
    }
    return NULL;
}

/* What a removed row was is told without what it did not have, and whose it was. */
static bool worth_telling(const struct bl_corrected_row *row, const struct member *member)
{
    static const char *const known[] = {"car", "customer", "job", "instrument", NULL};
    bool empty = !member->value || !*member->value || g_str_equal(member->value, "0");
    return !row->removed || !(empty || g_strv_contains(known, member->name));
}

char *corrected_said(struct context *context, const struct bl_corrected_row *row)
{
    g_autoptr(GString) said = g_string_new(NULL);
    struct member member = {0};
    const char *at = row->before;
    while (next(&at, &member)) {
        const struct telling *telling = telling_of(member.name);
        if (telling && worth_telling(row, &member)) {
            g_autofree char *value =
                member.value ? telling->say(context, member.value) : g_strdup("");
            g_string_append_printf(said, "%s%s %s", said->len ? ", " : "", telling->name,
                                   *value ? value : "none");
        }
        member_clear(&member);
    }
    return g_strdup(said->str);
}

static char *title_of(const struct bl_corrected_row *row)
{
    const char *thing = g_str_equal(row->thing, "mileage") ? "reading" : row->thing;
    return g_strdup_printf("%s #%" G_GINT64_FORMAT "%s", thing, row->row,
                           row->removed ? ", removed" : "");
}

void corrected_print(struct context *context, const GArray *rows, guint most)
{
    static const char *const titles[] = {"=corrected", "=what", "it said", "~why", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < rows->len && i < most; i++) {
        const struct bl_corrected_row *row = &g_array_index(rows, struct bl_corrected_row, i);
        g_autofree char *at = say_at(context, row->at);
        g_autofree char *what = title_of(row);
        g_autofree char *said = corrected_said(context, row);
        const char *const cells[] = {at, what, said, row->why};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading("Corrected");
        table_print(table, 2);
    }
}

GPtrArray *corrected_objects(struct context *context, const GArray *rows)
{
    GPtrArray *objects = json_list();
    for (guint i = 0; i < rows->len; i++) {
        const struct bl_corrected_row *row = &g_array_index(rows, struct bl_corrected_row, i);
        g_autofree char *said = corrected_said(context, row);
        struct json json;
        json_begin(&json);
        json_at(&json, "at", context->world->settings->shop.zone, row->at);
        json_text(&json, "thing", row->thing);
        json_whole(&json, "row", row->row);
        json_yes(&json, "removed", row->removed);
        json_text(&json, "said", said);
        json_text(&json, "before", row->before);
        json_text(&json, "why", row->why);
        g_ptr_array_add(objects, json_take(&json));
    }
    return objects;
}

/* Whether the treatment is, or was when it was removed, one of the job's. */
static bool is_of_job(const struct bl_corrected_row *row, int64_t job, const GArray *treatments)
{
    for (guint i = 0; i < treatments->len; i++) {
        if (g_array_index(treatments, struct bl_treatment_row, i).id == row->row) {
            return true;
        }
    }
    struct member member = {0};
    bool its = false;
    const char *at = row->before;
    while (next(&at, &member)) {
        its = its || (g_str_equal(member.name, "job") && member.value &&
                      g_ascii_strtoll(member.value, NULL, 10) == job);
        member_clear(&member);
    }
    return its;
}

GArray *corrected_of_job(const GArray *rows, int64_t job, const GArray *treatments)
{
    GArray *found = g_array_new(FALSE, FALSE, sizeof(struct bl_corrected_row));
    for (guint i = 0; i < rows->len; i++) {
        const struct bl_corrected_row *row = &g_array_index(rows, struct bl_corrected_row, i);
        bool its = g_str_equal(row->thing, "job") ? row->row == job
                                                  : g_str_equal(row->thing, "treatment") &&
                                                        is_of_job(row, job, treatments);
        if (its) {
            g_array_append_vals(found, row, 1);
        }
    }
    return found;
}
