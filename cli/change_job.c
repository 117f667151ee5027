/* beadline change job. */
#include <math.h>

#include "beadline/lookup.h"
#include "breath.h"
#include "command.h"
#include "mending.h"
#include "report.h"
#include "say.h"
#include "typed.h"

static const char usage[] =
    "change job JOB [--at TIME] [--mileage N] [--temp C] [--wash-from DATE] ... [--why TEXT]\n"
    "Corrects what was written down with a job. Only what is said changes; \"none\" takes\n"
    "something away. What was put on when the job was finished, and the reading, move along\n"
    "with --at. What it said before is kept. Products have numbers of their own:\n"
    "change treatment, remove treatment.\n"
    "\n"
    "  beadline change job 12 --temp 6 --why \"read the wrong line\"\n"
    "  beadline change job 12 --at \"yesterday 15:40\" --mileage 48210";

/* As typed; NULL: not said. */
struct change {
    struct breath_numbers numbers;
    char *at, *wash_from, *cured, *leaving_ok, *note;
};

static bool find(struct context *context, struct mending *mending, void *self, int64_t *car,
                 GError **error)
{
    struct bl_job_row row = {0};
    (void)self;
    bool done = bl_job_get(context->store, mending->id, &row, error);
    *car = row.car;
    bl_job_row_clear(&row);
    return done;
}

static bool apply_yes(const struct change *change, struct bl_job_row *row, GError **error)
{
    return (!change->cured ||
            typed_yes("--cured-indoors", change->cured, &row->cured_indoors, error)) &&
           (!change->leaving_ok ||
            typed_yes("--leaving-ok", change->leaving_ok, &row->leaving_ok, error));
}

static bool apply_wash_from(const struct context *context, const char *text,
                            struct bl_job_row *row, GError **error)
{
    if (text && typed_none(text)) {
        row->wash_from = BL_NO_DATE;
    } else if (text && !typed_date(context, text, &row->wash_from, error)) {
        return false;
    }
    return breath_wash_from(context, row, error);
}

static bool apply(const struct context *context, const struct change *change,
                  struct bl_job_row *row, GError **error)
{
    if (change->note) {
        typed_text(&row->note, change->note);
    }
    return (!change->at || typed_at(context, "job", change->at, &row->finished_at, error)) &&
           breath_numbers(context, &change->numbers, row, error) &&
           apply_wash_from(context, change->wash_from, row, error) &&
           apply_yes(change, row, error);
}

/* The job as it is now: what it has, and what was said even where that took it away. */
static char *title_of(const struct context *context, const struct change *change,
                      const struct bl_job_row *row)
{
    g_autofree char *at = say_at(context, row->finished_at);
    g_autofree char *km = say_distance(context, row->km);
    GString *title = g_string_new(NULL);
    g_string_printf(title, "finished %s%s%s", at, *km ? ", " : "", km);
    if (!isnan(row->temp_c)) {
        g_string_append_printf(title, ", %.4g °C", row->temp_c);
    }
    if (!isnan(row->humidity)) {
        g_string_append_printf(title, ", %.4g %% humidity", row->humidity);
    }
    if (row->wash_from != BL_NO_DATE) {
        g_autofree char *date = say_date(context, row->wash_from);
        g_string_append_printf(title, ", own wash date %s", date);
    }
    if (row->cured_indoors || change->cured) {
        g_string_append(title, row->cured_indoors ? ", cured indoors" : ", not cured indoors");
    }
    if (change->leaving_ok) {
        g_string_append(title, row->leaving_ok ? ", leaving tick" : ", no leaving tick");
    }
    if (change->note) {
        g_string_append_printf(title, ", note: %s",
                               row->note && *row->note ? row->note : "none");
    }
    return g_string_free(title, FALSE);
}

static bool mend(struct context *context, struct mending *mending, void *self, GError **error)
{
    struct bl_job_row row = {0};
    bool done = bl_job_get(context->store, mending->id, &row, error) &&
                apply(context, self, &row, error) && bl_job_change(context->store, &row, error);
    if (done) {
        mending->title = title_of(context, self, &row);
    }
    bl_job_row_clear(&row);
    return done;
}

static bool said_anything(const struct change *change)
{
    return change->at || change->numbers.mileage || change->numbers.temp ||
           change->numbers.humidity || change->wash_from || change->cured ||
           change->leaving_ok || change->note;
}

static void clear(struct change *change)
{
    breath_numbers_clear(&change->numbers);
    g_free(change->at);
    g_free(change->wash_from);
    g_free(change->cured);
    g_free(change->leaving_ok);
    g_free(change->note);
}

int command_change_job(struct context *context, int argc, char **argv)
{
    static const struct mending_steps steps = {find, mend};
    struct mending mending = {.thing = "job", .done = "changed"};
    struct change change = {0};
    const GOptionEntry entries[] = {
        {"at", 0, 0, G_OPTION_ARG_STRING, &change.at, "When it was finished", "TIME"},
        BREATH_NUMBERS_ENTRIES(change.numbers),
        {"wash-from", 0, 0, G_OPTION_ARG_STRING, &change.wash_from,
         "A later wash date of your own, or none", "DATE"},
        {"cured-indoors", 0, 0, G_OPTION_ARG_STRING, &change.cured,
         "Whether it cured under lamps or in a warm hall", "yes|no"},
        {"leaving-ok", 0, 0, G_OPTION_ARG_STRING, &change.leaving_ok,
         "Whether windscreen, discs, tread and pedals were looked at", "yes|no"},
        {"note", 0, 0, G_OPTION_ARG_STRING, &change.note, "A note of your own, or none",
         "TEXT"},
        MENDING_ENTRIES(mending),
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2) {
        status = context_misused("name one job by its number", usage);
    } else if (!said_anything(&change)) {
        status = context_misused("say what is different", usage);
    } else {
        status = mending_run(context, &mending, argv[1], &steps, &change);
    }
    clear(&change);
    mending_clear(&mending);
    return status;
}
