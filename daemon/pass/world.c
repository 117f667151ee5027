/* Loading the world: three readings, each collecting its faults, then the checks across them.
 * A fault in one keeps nobody from reading the others, so that all are told at once.
 */
#include "beadline/world.h"

/* Only settings without a fault are whole enough to be held against the others. */
static void check_across(const struct bl_world *world, struct bl_faults *faults)
{
    const struct bl_settings *settings = world->settings;
    if (!bl_templates_has_language(world->templates, settings->shop.language)) {
        bl_faults_add(faults, settings->file, 0,
                      "language \"%s\" has no folder below \"%s\": make one, or choose another",
                      settings->shop.language, settings->templates);
    }
    for (guint i = 0; i < settings->gateways->len; i++) {
        bl_compose_check_gateway(&g_array_index(settings->gateways, struct bl_gateway, i),
                                 settings->file, faults);
    }
}

struct bl_world *bl_world_look(const char *settings_file, struct bl_faults *faults)
{
    struct bl_world *world = g_new0(struct bl_world, 1);
    guint before = bl_faults_count(faults);
    world->settings = bl_settings_read(settings_file, faults);
    bool whole = world->settings && bl_faults_count(faults) == before;
    if (world->settings && world->settings->catalogue) {
        world->catalogue = bl_catalogue_load(world->settings->catalogue, faults);
    }
    if (world->settings && world->settings->templates) {
        world->templates = bl_templates_load(world->settings->templates, faults);
    }
    if (world->catalogue && world->templates) {
        bl_templates_check_catalogue(world->templates, world->catalogue, faults);
    }
    if (whole && world->templates) {
        check_across(world, faults);
    }
    return world;
}

struct bl_world *bl_world_load(const char *settings_file, struct bl_faults *faults)
{
    struct bl_world *world = bl_world_look(settings_file, faults);
    if (bl_faults_count(faults) > 0) {
        g_clear_pointer(&world, bl_world_free);
    }
    return world;
}

void bl_world_free(struct bl_world *world)
{
    if (!world) {
        return;
    }
    bl_templates_free(world->templates);
    bl_catalogue_free(world->catalogue);
    bl_settings_free(world->settings);
    g_free(world);
}
