/*
 * beadline remove: what was written down and never happened. One table of what can be removed;
 * what it said stays in the database with the reason.
 */
#include <string.h>

#include "beadline/lookup.h"
#include "command.h"
#include "mending.h"
#include "say.h"

/* Each find tells the car, and gives the mending its title. */
static bool find_treatment(struct context *context, struct mending *mending, void *self,
                           int64_t *car, GError **error)
{
    struct bl_treatment_row row;
    (void)self;
    if (!bl_treatment_get(context->store, mending->id, &row, car, error)) {
        return false;
    }
    g_autofree char *place = look_place(row.surface, row.part);
    mending->title = g_strdup_printf("%s on %s", row.product ? row.product : "?", place);
    bl_treatment_row_clear(&row);
    return true;
}

static bool write_treatment(struct context *context, struct mending *mending, void *self,
                            GError **error)
{
    (void)self;
    return bl_treatment_remove(context->store, mending->id, error);
}

static bool find_mileage(struct context *context, struct mending *mending, void *self,
                         int64_t *car, GError **error)
{
    struct bl_reading reading;
    int64_t job = 0;
    (void)self;
    if (!bl_mileage_get(context->store, mending->id, &reading, car, &job, error)) {
        return false;
    }
    g_autofree char *at = say_at(context, reading.at);
    g_autofree char *km = say_distance(context, reading.km);
    mending->title = g_strdup_printf("%s, %s", at, km);
    return true;
}

static bool write_mileage(struct context *context, struct mending *mending, void *self,
                          GError **error)
{
    (void)self;
    return bl_mileage_remove(context->store, mending->id, error);
}

static bool find_event(struct context *context, struct mending *mending, void *self,
                       int64_t *car, GError **error)
{
    struct bl_event_row row;
    (void)self;
    if (!bl_event_get(context->store, mending->id, &row, error)) {
        return false;
    }
    g_autofree char *at = say_at(context, row.at);
    mending->title = g_strdup_printf("%s, %s", at, bl_happening_name(row.happening));
    *car = row.car;
    bl_event_row_clear(&row);
    return true;
}

static bool write_event(struct context *context, struct mending *mending, void *self,
                        GError **error)
{
    (void)self;
    return bl_event_remove(context->store, mending->id, error);
}

static bool find_job(struct context *context, struct mending *mending, void *self, int64_t *car,
                     GError **error)
{
    struct bl_job_row row = {0};
    (void)self;
    if (!bl_job_get(context->store, mending->id, &row, error)) {
        return false;
    }
    g_autofree char *at = say_at(context, row.finished_at);
    mending->title = g_strdup_printf("finished %s", at);
    *car = row.car;
    bl_job_row_clear(&row);
    return true;
}

static bool write_job(struct context *context, struct mending *mending, void *self,
                      GError **error)
{
    (void)self;
    return bl_job_remove(context->store, mending->id, error);
}

static int remove_one(struct context *context, const char *thing, const char *usage,
                      const struct mending_steps *steps, int argc, char **argv)
{
    struct mending mending = {.thing = thing, .done = "removed"};
    const GOptionEntry entries[] = {MENDING_ENTRIES(mending), {0}};
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2) {
        status = context_misused("name one of them by its number", usage);
    } else if (!mending.why || !*mending.why) {
        status = context_misused("say why with --why TEXT: it is kept", usage);
    } else {
        status = mending_run(context, &mending, argv[1], steps, NULL);
    }
    mending_clear(&mending);
    return status;
}

static int remove_treatment(struct context *context, int argc, char **argv)
{
    static const struct mending_steps steps = {find_treatment, write_treatment};
    static const char usage[] =
        "remove treatment N --why TEXT\n"
        "It was never put on: as if it had not been written down, with the events that are\n"
        "about it alone. One that came off is an event: add event CAR stripped.";
    return remove_one(context, "treatment", usage, &steps, argc, argv);
}

static int remove_mileage(struct context *context, int argc, char **argv)
{
    static const struct mending_steps steps = {find_mileage, write_mileage};
    static const char usage[] = "remove mileage N --why TEXT\n"
                                "It was read from another car, or not at all.";
    return remove_one(context, "reading", usage, &steps, argc, argv);
}

static int remove_event(struct context *context, int argc, char **argv)
{
    static const struct mending_steps steps = {find_event, write_event};
    static const char usage[] = "remove event N --why TEXT\n"
                                "It did not happen, or not to this car.";
    return remove_one(context, "event", usage, &steps, argc, argv);
}

static int remove_job(struct context *context, int argc, char **argv)
{
    static const struct mending_steps steps = {find_job, write_job};
    static const char usage[] =
        "remove job N --why TEXT\n"
        "It was not done, or on another car: with all it put on, and its reading.";
    return remove_one(context, "job", usage, &steps, argc, argv);
}

static const struct command kinds[] = {
    {"treatment", "remove treatment N --why TEXT", "what was never put on", remove_treatment},
    {"mileage", "remove mileage N --why TEXT", "a reading of another car, or of none",
     remove_mileage},
    {"event", "remove event N --why TEXT", "what did not happen", remove_event},
    {"job", "remove job N --why TEXT", "work that was not done, or on another car", remove_job},
    {0},
};

int command_remove(struct context *context, int argc, char **argv)
{
    if (argc < 2) {
        return context_misused("say what to remove",
                               "remove treatment|mileage|event|job N --why TEXT");
    }
    if (strcmp(argv[1], "--help") == 0) {
        command_help(kinds);
        return DONE;
    }
    return command_run(kinds, "remove ", context, argc - 1, argv + 1);
}
