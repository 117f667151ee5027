/* beadline add job: finished work in one breath. */
#include "breath.h"
#include "command.h"

static const char usage[] =
    "add job CAR [PRODUCT|PACKAGE]... [--at TIME] [--mileage N] [--temp C] [--dry]\n"
    "Writes down finished work and tells at once what follows: what may be done when, which\n"
    "message goes when to whom, and when each protection wants doing again. --dry only shows it.\n"
    "\n"
    "Each word is a product, alone or with what differs from its rule:\n"
    "  wheel-spray                 on its own surface, one coat\n"
    "  coating-3y:2                two coats\n"
    "  glass-coating@windscreen    on another surface (soft-top for \"soft top\")\n"
    "  paint-film/front-bumper     on a part only\n"
    "or a package (beadline list packages), or nothing at all: a wash is a job, too. A product\n"
    "named beside a package, or beside --same-as-last, replaces the same one in it.\n"
    "\n"
    "  beadline add job \"AB12 CDE\" full-3y wheel-spray --at 15:40 --mileage 48210 --temp 14\n"
    "  beadline add job \"blue estate\" --same-as-last --mileage 52100";

int command_add_job(struct context *context, int argc, char **argv)
{
    struct breath breath = {0};
    const GOptionEntry entries[] = {
        BREATH_ENTRIES(breath),
        {"same-as-last", 0, 0, G_OPTION_ARG_NONE, &breath.same,
         "All that the job before put on", NULL},
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc < 2) {
        status = context_misused("name the car", usage);
    } else {
        status = breath_run(context, &breath, argv[1], argv + 2);
    }
    breath_clear(&breath);
    return status;
}
