/* beadline rehearse: the coming time, played on a copy. */
#include <stdio.h>

#include "command.h"
#include "private_file.h"
#include "rehearse_lanes.h"
#include "rehearse_list.h"
#include "say.h"

#define MOST_YEARS 10

static const char usage[] =
    "rehearse --until DATE [--html FILE [--force]]\n"
    "Plays the coming days, months or years on a copy of the database, as the service would live\n"
    "through them, and lists each message that would go: when, to whom, about what, and how it\n"
    "begins (a mail by its subject). Nothing is sent and nothing changes. What goes by hand is\n"
    "taken as told on its day; what would end without a message stands below, with the reason.\n"
    "With --html it is also drawn: a lane a car on one page, for a browser or for paper. The file\n"
    "is yours alone (mode 0600) and replaces another only with --force.\n"
    "\n"
    "  beadline rehearse --until 2027-03-31 --html coming-year.html";

struct wanted {
    char *until, *html;
    gboolean force;
};

/* The date's end, in seconds: the day itself is played. */
static bool read_until(const struct context *context, const char *text, int64_t *until,
                       GError **error)
{
    const struct bl_zone *zone = context->world->settings->shop.zone;
    int32_t today = bl_zone_date(zone, context->now);
    int32_t date = 0;
    if (!bl_date_parse(text, &date, error)) {
        return false;
    }
    if (date < today) {
        g_autofree char *first = bl_date_format(today);
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "--until \"%s\" is over: name %s or a later day", text, first);
        return false;
    }
    if (date > bl_date_add_months(today, 12 * MOST_YEARS)) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "--until \"%s\" is more than %d years ahead: name an earlier day", text,
                    MOST_YEARS);
        return false;
    }
    *until = bl_zone_instant(zone, date, (int32_t)BL_DAY);
    return true;
}

static void doubt_clock(const struct context *context)
{
    const char *why = NULL;
    if (!context->now_text && !bl_pass_trusted(context->pass, &why)) {
        fprintf(stderr, "beadline: the rehearsal begins at a doubtful time: %s\n", why);
    }
}

/* What was played, said and drawn. */
static bool conclude(struct context *context, const struct wanted *wanted,
                     struct rehearsal *rehearsal, struct lanes *lanes, GError **error)
{
    struct rehearse_names names;
    g_autoptr(GArray) dues = bl_due_list(rehearsal->copy.store, 0, error);
    bool done = dues && rehearse_names_read(rehearsal, &names, error);
    if (dues && done && lanes) {
        lanes_finish(lanes, dues);
        g_autofree char *page = page_write(&lanes->page);
        done = private_file_write(wanted->html, page, wanted->force, error);
    }
    if (done) {
        rehearse_list(context, rehearsal, &names, dues);
        if (wanted->html && !context->json) {
            printf("The page is in \"%s\".\n", wanted->html);
        }
    }
    if (dues) {
        rehearse_names_clear(&names);
    }
    return done;
}

static bool play(struct context *context, const struct wanted *wanted,
                 struct rehearsal *rehearsal, GError **error)
{
    struct lanes lanes;
    bool done = true;
    if (wanted->html) {
        done = lanes_begin(context, rehearsal, &lanes, error);
    }
    done = done && rehearse_play(rehearsal, error) &&
           conclude(context, wanted, rehearsal, wanted->html ? &lanes : NULL, error);
    if (wanted->html) {
        lanes_clear(&lanes);
    }
    return done;
}

static bool rehearse(struct context *context, const struct wanted *wanted, GError **error)
{
    struct rehearsal rehearsal;
    int64_t until = 0;
    if (!context_store(context, error) || !read_until(context, wanted->until, &until, error) ||
        (wanted->html && !private_file_free(wanted->html, wanted->force, error))) {
        return false;
    }
    doubt_clock(context);
    bool done = rehearse_begin(context, until, &rehearsal, error) &&
                play(context, wanted, &rehearsal, error);
    rehearse_clear(&rehearsal);
    return done;
}

int command_rehearse(struct context *context, int argc, char **argv)
{
    struct wanted wanted = {0};
    const GOptionEntry entries[] = {
        {"until", 0, 0, G_OPTION_ARG_STRING, &wanted.until, "The last day played", "DATE"},
        {"html", 0, 0, G_OPTION_ARG_FILENAME, &wanted.html, "Draw it as a page as well",
         "FILE"},
        {"force", 0, 0, G_OPTION_ARG_NONE, &wanted.force, "Replace FILE if it is there", NULL},
        {0},
    };
    GError *error = NULL;
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc > 1 || !wanted.until) {
        status = context_misused("takes no words; say how far: --until 2027-03-31", usage);
    } else if (wanted.force && !wanted.html) {
        status = context_misused("--force goes with --html", usage);
    } else {
        status = rehearse(context, &wanted, &error) ? DONE : context_fail(error);
    }
    g_free(wanted.until);
    g_free(wanted.html);
    return status;
}
