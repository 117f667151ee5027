/* For tests of what an owner writes: a folder for files that are tried, and the lines that were
 * said about them. */
#include "faulty.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <glib/gstdio.h>

int make_folder(void **state)
{
    struct folder *folder = g_new0(struct folder, 1);
    folder->path = g_dir_make_tmp("beadline-test-XXXXXX", NULL);
    *state = folder;
    return folder->path ? 0 : -1;
}

static void remove_below(const char *path)
{
    GDir *dir = g_dir_open(path, 0, NULL);
    const char *name;
    while (dir && (name = g_dir_read_name(dir)) != NULL) {
        g_autofree char *inner = g_build_filename(path, name, NULL);
        if (g_file_test(inner, G_FILE_TEST_IS_DIR)) {
            remove_below(inner);
        } else {
            g_unlink(inner);
        }
    }
    if (dir) {
        g_dir_close(dir);
    }
    g_rmdir(path);
}

int drop_folder(void **state)
{
    struct folder *folder = *state;
    remove_below(folder->path);
    g_free(folder->path);
    g_free(folder);
    return 0;
}

char *put(const struct folder *folder, const char *name, const char *text, gssize length)
{
    char *file = g_build_filename(folder->path, name, NULL);
    g_autofree char *parent = g_path_get_dirname(file);
    assert_int_equal(g_mkdir_with_parents(parent, 0700), 0);
    assert_true(g_file_set_contents_full(file, text, length, G_FILE_SET_CONTENTS_CONSISTENT,
                                         0600, NULL));
    return file;
}

char *all_lines(const struct bl_faults *faults)
{
    GString *all = g_string_new(NULL);
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        g_string_append_printf(all, "  %s\n", bl_faults_line(faults, i));
    }
    return g_string_free(all, FALSE);
}

bool has_line(const struct bl_faults *faults, const char *part)
{
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        if (g_str_has_prefix(bl_faults_line(faults, i), part)) {
            return true;
        }
    }
    return false;
}

guint32 seed_of(void)
{
    const char *given = g_getenv("BEADLINE_SEED");
    guint32 seed = given ? (guint32)g_ascii_strtoull(given, NULL, 10) : g_random_int();
    print_message("seed %u (BEADLINE_SEED)\n", seed);
    return seed;
}
