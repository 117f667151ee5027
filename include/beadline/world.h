/*
 * The world: settings, catalogue and templates, loaded and checked together, because each is
 * only right beside the others. Both programs start here, and `beadline check` is this with the
 * faults printed.
 */
#ifndef BEADLINE_WORLD_H
#define BEADLINE_WORLD_H

#include "beadline/catalogue.h"
#include "beadline/cleanup.h"
#include "beadline/compose.h"
#include "beadline/error.h"
#include "beadline/settings.h"

struct bl_world {
    struct bl_settings *settings;
    struct bl_catalogue *catalogue;
    struct bl_templates *templates;
};

/* Loads all three from the settings file; every fault of each is collected. NULL when there was
 * one.
 */
struct bl_world *bl_world_load(const char *settings_file, struct bl_faults *faults);

/* The same, but what could be read is handed out beside the faults, to look further: with any
 * fault, each part may be NULL and the settings may lack anything. Never NULL. */
struct bl_world *bl_world_look(const char *settings_file, struct bl_faults *faults);
void bl_world_free(struct bl_world *world);
BL_DEFINE_AUTO(bl_world);

#endif
