/*
 * A language's folder, read strictly at start: every file a message may need is there, parses,
 * and uses no name that its kind of message does not have. What is wrong is shown to the owner,
 * all at once, before any customer could see it.
 */
#include "folder.h"

#include <glib/gstdio.h>
#include <stdio.h>
#include <string.h>

#include "said.h"

#define SUBJECT   "Subject: "
#define UTF8_MARK "\xEF\xBB\xBF"

/* What one loading carries along. */
struct loading {
    struct bl_folder *folder;
    struct bl_faults *faults;
    GHashTable *told; /* faults of partials, said once for all their users */
};

/* The line of an offset, from 1. */
static int line_at(const char *text, const char *place)
{
    int line = 1;
    for (const char *p = text; p < place; p++) {
        line += *p == '\n';
    }
    return line;
}

/* Line ends of other systems and the mark some editors put first are not the text's. */
static char *plain_lines(const char *text)
{
    const char *start = g_str_has_prefix(text, UTF8_MARK) ? text + strlen(UTF8_MARK) : text;
    g_auto(GStrv) lines = g_strsplit(start, "\r\n", -1);
    return g_strjoinv("\n", lines);
}

/* The text of a file; NULL and a fault when it is missing or not a text. */
static char *read_text(const struct loading *loading, const char *file)
{
    GStatBuf status;
    if (g_stat(file, &status) != 0 || !S_ISREG(status.st_mode)) {
        bl_faults_add(loading->faults, file, 0,
                      "this file is missing: copy it from the "
                      "templates that came with Beadline");
        return NULL;
    }
    g_autofree char *text = NULL;
    gsize length = 0;
    g_autoptr(GError) error = NULL;
    if ((gsize)status.st_size <= BL_TEMPLATE_MAX &&
        !g_file_get_contents(file, &text, &length, &error)) {
        bl_faults_add(loading->faults, file, 0, "cannot be read: %s", error->message);
        return NULL;
    }
    if (!text || length > BL_TEMPLATE_MAX) {
        bl_faults_add(loading->faults, file, 0, "is larger than 256 KiB: shorten it");
        return NULL;
    }
    const char *bad = NULL;
    if (!g_utf8_validate(text, (gssize)length, &bad)) {
        bl_faults_add(loading->faults, file, line_at(text, bad),
                      "a character is not UTF-8: save the file as UTF-8");
        return NULL;
    }
    return plain_lines(text);
}

/* Parses text, a fault standing at its own line. */
static struct bl_mustache *parse(const struct loading *loading, const char *file,
                                 const char *text)
{
    g_autoptr(GError) error = NULL;
    struct bl_mustache *template = bl_mustache_parse(text, &error);
    if (!template) {
        int line = 0;
        int used = 0;
        const char *message = error->message;
        if (sscanf(message, "line %d: %n", &line, &used) == 1 && used > 0) {
            message += used;
        }
        bl_faults_add(loading->faults, file, line, "%s", message);
    }
    return template;
}

static void check(const struct loading *loading, const struct bl_mustache *template,
                  const char *file, enum bl_kind kind)
{
    if (template) {
        BL_AUTO(bl_value) *known = bl_view_example(kind);
        bl_mustache_check(template, known, loading->folder->partials, loading->told, file,
                          loading->faults);
    }
}

static struct bl_mustache *load_form(const struct loading *loading, const char *name,
                                     enum bl_kind kind)
{
    g_autofree char *file = g_build_filename(loading->folder->path, name, NULL);
    g_autofree char *text = read_text(loading, file);
    struct bl_mustache *template = text ? parse(loading, file, text) : NULL;
    check(loading, template, file, kind);
    return template;
}

/* A mail's plain part: the subject is the first line. The body keeps that line empty, so the
 * lines of its faults are those of the file. */
static void load_text(const struct loading *loading, const char *name, enum bl_kind kind)
{
    g_autofree char *file = g_build_filename(loading->folder->path, name, NULL);
    g_autofree char *text = read_text(loading, file);
    if (!text) {
        return;
    }
    if (!g_str_has_prefix(text, SUBJECT)) {
        bl_faults_add(loading->faults, file, 1,
                      "a mail's first line must be its subject: write \"" SUBJECT "...\"");
        return;
    }
    char *body = strchr(text, '\n');
    if (!body || (body[1] != '\n' && body[1] != '\0')) {
        bl_faults_add(loading->faults, file, 2,
                      "an empty line must follow the subject: put one in");
        return;
    }
    g_autofree char *subject = g_strndup(text, (gsize)(body - text));
    struct bl_mustache **forms = loading->folder->forms[kind];
    forms[BL_FORM_SUBJECT] = parse(loading, file, subject + strlen(SUBJECT));
    forms[BL_FORM_TEXT] = parse(loading, file, body);
    check(loading, forms[BL_FORM_SUBJECT], file, kind);
    check(loading, forms[BL_FORM_TEXT], file, kind);
}

static void load_kind(const struct loading *loading, enum bl_kind kind)
{
    g_autofree char *sms = g_strconcat(bl_kind_name(kind), ".sms", NULL);
    g_autofree char *text = g_strconcat(bl_kind_name(kind), ".txt", NULL);
    g_autofree char *html = g_strconcat(bl_kind_name(kind), ".html", NULL);
    loading->folder->forms[kind][BL_FORM_SMS] = load_form(loading, sms, kind);
    load_text(loading, text, kind);
    loading->folder->forms[kind][BL_FORM_HTML] = load_form(loading, html, kind);
}

/* A partial of one line is a phrase, used in the middle of others. */
static void drop_line_end(char *text)
{
    char *end = strchr(text, '\n');
    if (end && end[1] == '\0') {
        *end = '\0';
    }
}

static int by_name(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void load_partials(const struct loading *loading)
{
    g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
    g_autoptr(GDir) dir = g_dir_open(loading->folder->path, 0, NULL);
    for (const char *name; dir && (name = g_dir_read_name(dir));) {
        if (g_str_has_suffix(name, ".part") && name[0] != '.') {
            g_ptr_array_add(names, g_strdup(name));
        }
    }
    g_ptr_array_sort(names, by_name);
    for (guint i = 0; i < names->len; i++) {
        const char *name = g_ptr_array_index(names, i);
        g_autofree char *file = g_build_filename(loading->folder->path, name, NULL);
        g_autofree char *text = read_text(loading, file);
        if (text) {
            drop_line_end(text);
        }
        struct bl_mustache *partial = text ? parse(loading, file, text) : NULL;
        if (partial) {
            char *stem = g_strndup(name, strlen(name) - strlen(".part"));
            g_hash_table_replace(loading->folder->partials, stem, partial);
        }
    }
}

static void partial_free(gpointer partial)
{
    bl_mustache_free(partial);
}

struct bl_folder *bl_folder_load(const char *path, const char *name, struct bl_faults *faults)
{
    guint before = bl_faults_count(faults);
    struct bl_folder *folder = g_new0(struct bl_folder, 1);
    folder->path = g_strdup(path);
    folder->partials = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, partial_free);
    g_autoptr(GHashTable) told = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    const struct loading loading = {folder, faults, told};

    g_autofree char *file = g_build_filename(path, "words", NULL);
    g_autofree char *words = read_text(&loading, file);
    folder->language = words ? bl_language_read(name, file, words, faults) : NULL;
    load_partials(&loading);
    for (const enum bl_kind *kind = bl_view_kinds; *kind != BL_KINDS; kind++) {
        load_kind(&loading, *kind);
    }
    folder->sheet = load_form(&loading, "sheet.txt", BL_HANDOVER);
    if (bl_faults_count(faults) != before) {
        g_clear_pointer(&folder, bl_folder_free);
    }
    return folder;
}

void bl_folder_free(struct bl_folder *folder)
{
    if (!folder) {
        return;
    }
    for (guint i = 0; i < BL_KINDS; i++) {
        for (guint j = 0; j < BL_FORMS; j++) {
            bl_mustache_free(folder->forms[i][j]);
        }
    }
    bl_mustache_free(folder->sheet);
    bl_language_free(folder->language);
    g_hash_table_destroy(folder->partials);
    g_free(folder->path);
    g_free(folder);
}
