/* beadline change event. */
#include "command.h"
#include "happened.h"
#include "mending.h"
#include "report.h"
#include "say.h"

static const char usage[] =
    "change event N [--happening WHAT] [--at TIME] [--surface S] [--part P] ... [--why TEXT]\n"
    "Corrects what happened; show car has the numbers. Only what is said changes, \"none\" takes\n"
    "something away, and what it said before is kept. Words are those of add event.\n"
    "\n"
    "  beadline change event 9 --surface wheels --with none --why \"only the wheels\"";

struct change {
    struct happened typed;
    char *happening;
};

static bool find(struct context *context, struct mending *mending, void *self, int64_t *car,
                 GError **error)
{
    struct bl_event_row row;
    (void)self;
    if (!bl_event_get(context->store, mending->id, &row, error)) {
        return false;
    }
    *car = row.car;
    bl_event_row_clear(&row);
    return true;
}

static void append(GString *title, const char *what, const char *text)
{
    if (text && *text) {
        g_string_append_printf(title, ", %s%s", what, text);
    }
}

/* The event as it is now, with all that is said of it. */
static char *title_of(const struct context *context, const struct bl_event_row *row)
{
    g_autofree char *at = say_at(context, row->at);
    g_autofree char *place = happened_place(row);
    GString *title = g_string_new(at);
    append(title, "", bl_happening_name(row->happening));
    append(title, "", place);
    if (row->treatment != 0) {
        g_string_append_printf(title, ", treatment #%" G_GINT64_FORMAT, row->treatment);
    }
    append(title, "with ", row->with);
    append(title, "found ", row->finding);
    if (row->happening == BL_EV_CURED_INDOORS && row->hours > 0) {
        g_string_append_printf(title, ", %.4g hours at %.4g °C", row->hours, row->temp_c);
    } else if (row->happening == BL_EV_CURED_INDOORS) {
        append(title, "", "under a lamp");
    }
    append(title, "note: ", row->note);
    return g_string_free(title, FALSE);
}

static bool mend(struct context *context, struct mending *mending, void *self, GError **error)
{
    const struct change *change = self;
    struct bl_event_row row;
    bool done = bl_event_get(context->store, mending->id, &row, error) &&
                happened_apply(context, &change->typed, change->happening, &row, error) &&
                bl_event_change(context->store, &row, error);
    if (done) {
        mending->title = title_of(context, &row);
    }
    bl_event_row_clear(&row);
    return done;
}

static bool said_anything(const struct change *change)
{
    const struct happened *typed = &change->typed;
    return change->happening || typed->at || typed->surface || typed->part ||
           typed->treatment || typed->with || typed->finding || typed->temp || typed->hours ||
           typed->lamp || typed->note;
}

int command_change_event(struct context *context, int argc, char **argv)
{
    static const struct mending_steps steps = {find, mend};
    struct mending mending = {.thing = "event", .done = "changed"};
    struct change change = {0};
    const GOptionEntry entries[] = {
        {"happening", 0, 0, G_OPTION_ARG_STRING, &change.happening, "What happened", "WHAT"},
        HAPPENED_ENTRIES(change.typed),
        MENDING_ENTRIES(mending),
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2) {
        status = context_misused("name one event by its number", usage);
    } else if (!said_anything(&change)) {
        status = context_misused("say what is different", usage);
    } else {
        status = mending_run(context, &mending, argv[1], &steps, &change);
    }
    happened_clear(&change.typed);
    g_free(change.happening);
    mending_clear(&mending);
    return status;
}
