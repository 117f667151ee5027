/* beadline change mileage. */
#include "command.h"
#include "mending.h"
#include "say.h"
#include "typed.h"

static const char usage[] =
    "change mileage N [DISTANCE] [--at TIME] [--why TEXT]\n"
    "Corrects a reading; show car has the numbers. It must still fit between its neighbours,\n"
    "and what it said before is kept. An instrument that was replaced is no correction:\n"
    "add mileage --new-instrument.\n"
    "\n"
    "  beadline change mileage 31 48210 --why \"two digits swapped\"";

/* As typed; NULL: not said. */
struct change {
    char *at, *distance;
};

static bool find(struct context *context, struct mending *mending, void *self, int64_t *car,
                 GError **error)
{
    struct bl_reading reading;
    int64_t job = 0;
    (void)self;
    return bl_mileage_get(context->store, mending->id, &reading, car, &job, error);
}

static bool mend(struct context *context, struct mending *mending, void *self, GError **error)
{
    const struct change *change = self;
    struct bl_reading reading;
    int64_t car = 0;
    int64_t job = 0;
    if (!bl_mileage_get(context->store, mending->id, &reading, &car, &job, error) ||
        (change->distance &&
         !say_read_distance(context, change->distance, &reading.km, error)) ||
        (change->at && !typed_at(context, "reading", change->at, &reading.at, error)) ||
        !bl_mileage_change(context->store, &reading, error)) {
        return false;
    }
    g_autofree char *at = say_at(context, reading.at);
    g_autofree char *km = say_distance(context, reading.km);
    mending->title = g_strdup_printf("%s, %s", at, km);
    return true;
}

int command_change_mileage(struct context *context, int argc, char **argv)
{
    static const struct mending_steps steps = {find, mend};
    struct mending mending = {.thing = "reading", .done = "changed"};
    struct change change = {0};
    const GOptionEntry entries[] = {
        {"at", 0, 0, G_OPTION_ARG_STRING, &change.at, "When it was read", "TIME"},
        MENDING_ENTRIES(mending),
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2 && argc != 3) {
        status = context_misused("name one reading by its number, and what it is", usage);
    } else if (argc == 2 && !change.at) {
        status = context_misused("say what is different", usage);
    } else {
        change.distance = argv[2];
        status = mending_run(context, &mending, argv[1], &steps, &change);
    }
    g_free(change.at);
    mending_clear(&mending);
    return status;
}
