/* Loading the world: three readings, each collecting its faults, then the checks across them.
 */
#include "beadline/world.h"

static void check_across(const struct bl_world *world, struct bl_faults *faults)
{
    const struct bl_settings *settings = world->settings;
    bl_templates_check_catalogue(world->templates, world->catalogue, faults);
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

/* Without settings nobody knows where the others are. */
static void load(struct bl_world *world, const char *settings_file, struct bl_faults *faults)
{
    world->settings = bl_settings_load(settings_file, faults);
    if (!world->settings) {
        return;
    }
    world->catalogue = bl_catalogue_load(world->settings->catalogue, faults);
    world->templates = bl_templates_load(world->settings->templates, faults);
    if (world->catalogue && world->templates) {
        check_across(world, faults);
    }
}

struct bl_world *bl_world_load(const char *settings_file, struct bl_faults *faults)
{
    struct bl_world *world = g_new0(struct bl_world, 1);
    load(world, settings_file, faults);
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
