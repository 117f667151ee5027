/* A folder of templates to spoil. */
#include "template_room.h"

#include <glib/gstdio.h>
#include <string.h>

#include "beadline/compose.h"

static char *path_of(const struct template_room *room, const char *file)
{
    return g_build_filename(room->dir, file, NULL);
}

void template_room_open(struct template_room *room, const char *source)
{
    room->dir = g_dir_make_tmp("beadline-templates-XXXXXX", NULL);
    g_autofree char *target = path_of(room, "en");
    g_mkdir(target, 0700);
    g_autoptr(GDir) dir = g_dir_open(source, 0, NULL);
    for (const char *name; (name = g_dir_read_name(dir));) {
        g_autofree char *from = g_build_filename(source, name, NULL);
        g_autofree char *file = g_build_filename("en", name, NULL);
        g_autofree char *text = NULL;
        gsize length = 0;
        g_file_get_contents(from, &text, &length, NULL);
        template_room_write(room, file, text, (gssize)length);
    }
}

static void remove_below(const char *path)
{
    g_autoptr(GDir) dir = g_dir_open(path, 0, NULL);
    for (const char *name; dir && (name = g_dir_read_name(dir));) {
        g_autofree char *below = g_build_filename(path, name, NULL);
        remove_below(below);
    }
    g_remove(path);
}

void template_room_close(struct template_room *room)
{
    remove_below(room->dir);
    g_clear_pointer(&room->dir, g_free);
}

void template_room_write(const struct template_room *room, const char *file, const char *bytes,
                         gssize length)
{
    g_autofree char *path = path_of(room, file);
    g_autoptr(GError) error = NULL;
    if (!g_file_set_contents(path, bytes, length, &error)) {
        g_error("%s", error->message);
    }
}

void template_room_remove(const struct template_room *room, const char *file)
{
    g_autofree char *path = path_of(room, file);
    g_remove(path);
}

char *template_room_read(const struct template_room *room, const char *file)
{
    g_autofree char *path = path_of(room, file);
    char *text = NULL;
    g_file_get_contents(path, &text, NULL, NULL);
    return text;
}

void template_room_replace(const struct template_room *room, const char *file, const char *from,
                           const char *to)
{
    g_autofree char *text = template_room_read(room, file);
    char *place = text ? strstr(text, from) : NULL;
    if (!place) {
        g_error("\"%s\" does not hold \"%s\"", file, from);
    }
    *place = '\0';
    g_autofree char *changed = g_strconcat(text, to, place + strlen(from), NULL);
    template_room_write(room, file, changed, -1);
}

char *template_room_faults(const struct template_room *room)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_templates) *templates = bl_templates_load(room->dir, faults);
    g_assert((templates == NULL) == (bl_faults_count(faults) > 0));
    GString *out = g_string_new(NULL);
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        const char *line = bl_faults_line(faults, i);
        gsize prefix = g_str_has_prefix(line, room->dir) ? strlen(room->dir) + 1 : 0;
        g_string_append_printf(out, "%s%s", i ? "\n" : "", line + prefix);
    }
    return g_string_free(out, FALSE);
}
