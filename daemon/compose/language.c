/*
 * A language's words, read strictly: a letter is composed only from words that are all there,
 * so no customer ever reads a gap. The key file is GLib's; the groups and keys we need stand in
 * one table, and owners add their own keys for their own products in the open groups.
 */
#include "language.h"

#include <string.h>

#include "beadline/text.h"
#include "beadline/words.h"
#include "pattern.h"

#define WORD_MAX 400 /* characters in one word or sentence */

struct bl_language {
    char *name;
    GHashTable *words; /* "group\nkey" -> text */
    GHashTable *keys;  /* group -> char **, in the order of the file */
};

#define WORDS(...)                                                                             \
    (const char *const[])                                                                      \
    {                                                                                          \
        __VA_ARGS__, NULL                                                                      \
    }

static const char *const days[] = {"monday", "tuesday",  "wednesday", "thursday",
                                   "friday", "saturday", "sunday",    NULL};
static const char *const months[] = {"january",  "february", "march",  "april",     "may",
                                     "june",     "july",     "august", "september", "october",
                                     "november", "december", NULL};

/* keys must be there, each; NULL: one for each surface. Others are welcome in an open group;
 * in a group with `of`, those which that group has. */
struct group {
    const char *name;
    const char *const *keys;
    bool open;
    const char *of;
};

static const struct group groups[] = {
    {"days", days, false, NULL},
    {"days short", days, false, NULL},
    {"months", months, false, NULL},
    {"months short", months, false, NULL},
    {"dates", WORDS("long", "brief", "plain", "short", "moment", "month"), false, NULL},
    {"times", WORDS("clock", "am", "pm"), false, NULL},
    {"spans", WORDS("days", "day", "until day", "months", "month", "until month", "now"), false,
     NULL},
    {"surfaces", NULL, false, NULL},
    {"renew", NULL, false, NULL},
    {"cautions",
     WORDS("label first", "gloves", "cold panel", "never mix", "not on windscreen",
           "not on brakes", "not on tread", "not on pedals", "try brakes", "clear windscreen",
           "no ammonia", "no abrasive", "no acid", "estimate"),
     true, NULL},
    {"short cautions handover", WORDS("clear windscreen", "try brakes", "estimate"), false,
     "cautions"},
    {"short cautions top-up",
     WORDS("label first", "gloves", "cold panel", "never mix", "not on windscreen",
           "not on brakes", "not on tread", "not on pedals", "try brakes"),
     false, "cautions"},
    {"wash",
     WORDS("two buckets", "soft mitt", "no brushes", "mild shampoo", "dry towel", "rinse only",
           "no strong cleaners"),
     true, NULL},
    {"short wash", WORDS(NULL), false, "wash"},
    {"cares",
     WORDS("topper", "glass cleaner", "wheel rinse", "leather cleaner", "fabric brush",
           "soft top cleaner", "tyre scrub"),
     true, NULL},
};

static const struct form {
    const char *group;
    const char *key;
    const char *const *may;
    const char *const *must;
} forms[] = {
    {"dates", "long", WORDS("weekday", "weekday short", "day", "month", "month short"),
     WORDS("weekday", "day", "month")},
    {"dates", "brief", WORDS("weekday", "weekday short", "day", "month", "month short"),
     WORDS("weekday short", "day", "month short")},
    {"dates", "plain", WORDS("day", "month", "month short"), WORDS("day", "month")},
    {"dates", "short", WORDS("day", "month", "month short"), WORDS("day", "month short")},
    {"dates", "moment", WORDS("date", "time"), WORDS("date", "time")},
    {"dates", "month", WORDS("month", "year"), WORDS("month", "year")},
    {"times", "clock", WORDS("hour", "hour12", "minute", "half"), WORDS("minute")},
    {"spans", "days", WORDS("from", "to"), WORDS("from", "to")},
    {"spans", "day", WORDS("to"), WORDS("to")},
    {"spans", "until day", WORDS("to"), WORDS("to")},
    {"spans", "months", WORDS("from", "to"), WORDS("from", "to")},
    {"spans", "month", WORDS("to"), WORDS("to")},
    {"spans", "until month", WORDS("to"), WORDS("to")},
    {"spans", "now", WORDS(NULL), WORDS(NULL)},
};

static const struct group *find_group(const char *name)
{
    for (guint i = 0; i < G_N_ELEMENTS(groups); i++) {
        if (strcmp(groups[i].name, name) == 0) {
            return &groups[i];
        }
    }
    return NULL;
}

static const char *const *group_keys(const struct group *group)
{
    return group->keys ? group->keys : bl_surface_words();
}

const char *bl_language_name(const struct bl_language *language)
{
    return language->name;
}

const char *bl_language_word(const struct bl_language *language, const char *group,
                             const char *key)
{
    g_autofree char *name = g_strconcat(group, "\n", key, NULL);
    return g_hash_table_lookup(language->words, name);
}

const char *const *bl_language_keys(const struct bl_language *language, const char *group)
{
    static const char *const none[] = {NULL};
    const char *const *keys = g_hash_table_lookup(language->keys, group);
    return keys ? keys : none;
}

/* What a reading carries along. */
struct reading {
    struct bl_language *language;
    GKeyFile *file;
    const char *name;
    char **lines;
    struct bl_faults *faults;
};

/* The line of [group], or of key in it, counted from 1; 0 when it cannot be found. */
static int line_of(const struct reading *reading, const char *group, const char *key)
{
    bool inside = false;
    for (int i = 0; reading->lines[i]; i++) {
        g_autofree char *line = g_strstrip(g_strdup(reading->lines[i]));
        size_t length = strlen(line);
        if (line[0] == '[' && line[length - 1] == ']') {
            line[length - 1] = '\0';
            inside = strcmp(line + 1, group) == 0;
            if (inside && !key) {
                return i + 1;
            }
            continue;
        }
        size_t stem = strcspn(line, "=");
        line[stem] = '\0';
        if (inside && key && strcmp(g_strchomp(line), key) == 0) {
            return i + 1;
        }
    }
    return 0;
}

static void fault_unknown(const struct reading *reading, const char *group, const char *key,
                          const char *const *known)
{
    const char *what = key ? key : group;
    const char *near = bl_text_nearest(what, known);
    g_autofree char *hint =
        near ? g_strdup_printf("did you mean \"%s\"?", near) : g_strdup("remove it");
    g_autofree char *place = key ? g_strdup_printf(" in [%s]", group) : g_strdup("");
    bl_faults_add(reading->faults, reading->name, line_of(reading, group, key),
                  "unknown %s \"%s\"%s: %s", key ? "word" : "group", what, place, hint);
}

static void read_word(const struct reading *reading, const char *group, const char *key)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *text = g_key_file_get_string(reading->file, group, key, &error);
    g_autofree char *what = g_strdup_printf("word \"%s\" in [%s]", key, group);
    if (error) {
        bl_faults_add(reading->faults, reading->name, line_of(reading, group, key),
                      "the %s cannot be read: write a backslash as \"\\\\\"", what);
        return;
    }
    g_strstrip(text);
    if (!bl_text_check(text, what, WORD_MAX, &error)) {
        bl_faults_add(reading->faults, reading->name, line_of(reading, group, key), "%s",
                      error->message);
        return;
    }
    g_hash_table_insert(reading->language->words, g_strconcat(group, "\n", key, NULL),
                        g_steal_pointer(&text));
}

static void read_group(const struct reading *reading, const char *name)
{
    const struct group *group = find_group(name);
    if (!group) {
        const char *known[G_N_ELEMENTS(groups) + 1] = {NULL};
        for (guint i = 0; i < G_N_ELEMENTS(groups); i++) {
            known[i] = groups[i].name;
        }
        fault_unknown(reading, name, NULL, known);
        return;
    }
    g_auto(GStrv) keys = g_key_file_get_keys(reading->file, name, NULL, NULL);
    for (char **key = keys; key && *key; key++) {
        if (!group->open && !group->of && !g_strv_contains(group_keys(group), *key)) {
            fault_unknown(reading, name, *key, group_keys(group));
            continue;
        }
        read_word(reading, name, *key);
    }
    g_hash_table_insert(reading->language->keys, g_strdup(name), g_steal_pointer(&keys));
}

static void check_missing(const struct reading *reading, const struct group *group)
{
    for (const char *const *key = group_keys(group); *key; key++) {
        if (!g_key_file_has_key(reading->file, group->name, *key, NULL)) {
            bl_faults_add(reading->faults, reading->name, line_of(reading, group->name, NULL),
                          "word \"%s\" is missing: add it under [%s]", *key, group->name);
        }
    }
}

/* A short form without its full one would be in the SMS and not in the mail. */
static void check_subset(const struct reading *reading, const struct group *group)
{
    const char *const *full = group->of ? bl_language_keys(reading->language, group->of) : NULL;
    const char *const *key = bl_language_keys(reading->language, group->name);
    for (; full && *key; key++) {
        if (!g_strv_contains(full, *key)) {
            fault_unknown(reading, group->name, *key, full);
        }
    }
}

static void check_form(const struct reading *reading, const struct form *form)
{
    const char *pattern = bl_language_word(reading->language, form->group, form->key);
    g_autoptr(GError) error = NULL;
    if (pattern && !bl_pattern_check(pattern, form->may, form->must, &error)) {
        bl_faults_add(reading->faults, reading->name, line_of(reading, form->group, form->key),
                      "%s", error->message);
    }
}

/* GLib says what is wrong with a key file, but not where. */
static void fault_syntax(const struct reading *reading, const GError *error)
{
    for (int i = 0; reading->lines[i]; i++) {
        g_autofree char *line = g_strstrip(g_strdup(reading->lines[i]));
        if (line[0] && line[0] != '#' && line[0] != '[' && !strchr(line, '=')) {
            bl_faults_add(reading->faults, reading->name, i + 1,
                          "\"%s\" is not a word: write \"key = text\"", line);
            return;
        }
    }
    bl_faults_add(reading->faults, reading->name, 0, "not a key file: %s", error->message);
}

static void read_all(const struct reading *reading)
{
    g_auto(GStrv) names = g_key_file_get_groups(reading->file, NULL);
    for (char **name = names; *name; name++) {
        read_group(reading, *name);
    }
    for (guint i = 0; i < G_N_ELEMENTS(groups); i++) {
        check_missing(reading, &groups[i]);
        check_subset(reading, &groups[i]);
    }
    for (guint i = 0; i < G_N_ELEMENTS(forms); i++) {
        check_form(reading, &forms[i]);
    }
}

struct bl_language *bl_language_read(const char *name, const char *file, const char *text,
                                     struct bl_faults *faults)
{
    guint before = bl_faults_count(faults);
    struct bl_language *language = g_new0(struct bl_language, 1);
    language->name = g_strdup(name);
    language->words = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    language->keys =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, (GDestroyNotify)g_strfreev);

    g_autoptr(GKeyFile) keys = g_key_file_new();
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    struct reading reading = {language, keys, file, lines, faults};
    g_autoptr(GError) error = NULL;
    if (g_key_file_load_from_data(keys, text, strlen(text), G_KEY_FILE_NONE, &error)) {
        read_all(&reading);
    } else {
        fault_syntax(&reading, error);
    }
    if (bl_faults_count(faults) != before) {
        g_clear_pointer(&language, bl_language_free);
    }
    return language;
}

void bl_language_free(struct bl_language *language)
{
    if (!language) {
        return;
    }
    g_free(language->name);
    g_hash_table_destroy(language->words);
    g_hash_table_destroy(language->keys);
    g_free(language);
}
