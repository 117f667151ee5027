/*
 * beadline init: a folder with everything a shop starts from. The originals are the installed
 * ones, or those of the source this program was built from. Nothing that is there is
 * overwritten.
 */
#include <errno.h>
#include <fcntl.h>
#include <glib/gstdio.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command.h"

#define USAGE                                                                                     \
    "init [FOLDER]\n"                                                                             \
    "Makes settings, catalogue, templates and an empty database there, or in the usual folder;\n" \
    "what is there already is never overwritten."

static bool refuse(const char *path, const char *what, GError **error)
{
    g_set_error(error, BL_ERROR, BL_ERROR_OUTSIDE, "\"%s\" %s: %s", path, what,
                g_strerror(errno));
    return false;
}

static const char *originals(void)
{
    return g_file_test(BL_SHARE_INSTALLED, G_FILE_TEST_IS_DIR) ? BL_SHARE_INSTALLED
                                                               : BL_SHARE_SOURCE;
}

static bool make_folder(const char *path, GError **error)
{
    return g_mkdir_with_parents(path, 0700) == 0 || refuse(path, "cannot be made", error);
}

static bool copy_file(const char *from, const char *to, GError **error)
{
    g_autofree char *content = NULL;
    gsize length = 0;
    if (!g_file_get_contents(from, &content, &length, error)) {
        return false;
    }
    int fd = open(to, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (fd < 0) {
        return refuse(to, "cannot be made", error);
    }
    ssize_t written = write(fd, content, length);
    bool done = written == (ssize_t)length && fsync(fd) == 0;
    return (close(fd) == 0 && done) || refuse(to, "cannot be written", error);
}

/* The plain files of a folder, and its folders one level down. */
static bool copy_folder(const char *from, const char *to, GError **error)
{
    g_autoptr(GDir) folder = g_dir_open(from, 0, error);
    const char *name;
    if (!folder || !make_folder(to, error)) {
        return false;
    }
    while ((name = g_dir_read_name(folder))) {
        g_autofree char *source = g_build_filename(from, name, NULL);
        g_autofree char *target = g_build_filename(to, name, NULL);
        bool done = g_file_test(source, G_FILE_TEST_IS_DIR) ? copy_folder(source, target, error)
                                                            : copy_file(source, target, error);
        if (!done) {
            return false;
        }
    }
    return true;
}

/* Each language's folder goes below templates/, the rest where the settings look for it. */
static bool copy_originals(const char *to, GError **error)
{
    g_autoptr(GDir) folder = g_dir_open(originals(), 0, error);
    const char *name;
    if (!folder) {
        return false;
    }
    while ((name = g_dir_read_name(folder))) {
        g_autofree char *source = g_build_filename(originals(), name, NULL);
        bool language =
            g_file_test(source, G_FILE_TEST_IS_DIR) && !g_str_equal(name, "catalogue");
        g_autofree char *target =
            g_build_filename(to, language ? "templates" : name, language ? name : NULL, NULL);
        bool done = g_file_test(source, G_FILE_TEST_IS_DIR) ? copy_folder(source, target, error)
                                                            : copy_file(source, target, error);
        if (!done) {
            return false;
        }
    }
    return true;
}

static bool is_free(const char *folder, GError **error)
{
    static const char *const names[] = {"beadline.conf", "beadline.db", "catalogue",
                                        "templates"};
    for (gsize i = 0; i < G_N_ELEMENTS(names); i++) {
        g_autofree char *path = g_build_filename(folder, names[i], NULL);
        if (g_file_test(path, G_FILE_TEST_EXISTS)) {
            g_set_error(error, BL_ERROR, BL_ERROR_REFUSED,
                        "\"%s\" is there already and is not overwritten: name another folder",
                        path);
            return false;
        }
    }
    return true;
}

static bool make_database(struct context *context, GError **error)
{
    if (!context_world(context, error)) {
        return false;
    }
    struct bl_store *store = bl_store_create(context->world->settings->database, error);
    bl_store_close(store);
    return store != NULL;
}

static bool make_all(struct context *context, const char *folder, GError **error)
{
    if (!is_free(folder, error) || !make_folder(folder, error) ||
        !copy_originals(folder, error)) {
        return false;
    }
    g_free(context->settings_file);
    context->settings_file = g_build_filename(folder, "beadline.conf", NULL);
    return make_database(context, error);
}

int command_init(struct context *context, int argc, char **argv)
{
    GError *error = NULL;
    if (!context_parse(context, NULL, USAGE, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > 2) {
        return context_misused("name at most one folder", USAGE);
    }
    g_autofree char *usual = g_path_get_dirname(context_settings_file(context));
    g_autofree char *folder = g_canonicalize_filename(argc == 2 ? argv[1] : usual, NULL);
    if (!make_all(context, folder, &error)) {
        return context_fail(error);
    }
    printf(
        "Made in %s: settings, catalogue, templates and an empty database.\n"
        "Next: put your name, number and hours into %s, then\n"
        "  beadline --settings %s check\n"
        "Until a gateway is named there, messages are only written into the folder \"outbox\".\n",
        folder, context->settings_file, context->settings_file);
    return DONE;
}
