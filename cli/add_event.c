/*
 * beadline add event: what happened to a car between jobs. The answer says what it did to what
 * is on the car, and what follows for its messages.
 */
#include <math.h>
#include <stdio.h>

#include "beadline/mend.h"
#include "command.h"
#include "happened.h"
#include "report.h"
#include "say.h"

static const char usage[] =
    "add event CAR HAPPENING [--at TIME] [--surface S] [--part P] [--with TEXT] ...\n"
    "HAPPENING is one of: care, harsh-wash, stripped, polished, part-replaced, resprayed,\n"
    "wet-too-early, etched, wheels-off, cured-indoors, inspection.\n"
    "\n"
    "Without a surface it concerns the whole car, and polished and resprayed the paint. --with\n"
    "names what did it: a harsh wash takes off what the rules say it strips; stripped leaves the\n"
    "surface named bare, whatever did it. A cure indoors has --temp and --hours, or a --lamp, which ends it. --finding says what an inspection found:\n"
    "beading, came-back-after-decontamination, gone; learn goes by it.\n"
    "\n"
    "  beadline add event \"AB12 CDE\" harsh-wash --surface wheels --with \"wheel cleaner\"\n"
    "  beadline add event \"blue estate\" part-replaced --surface paint --part bonnet\n"
    "  beadline add event \"blue estate\" cured-indoors --temp 22 --hours 14\n"
    "  beadline add event \"blue estate\" inspection --surface glass --finding beading";

static bool write_event(struct context *context, const struct happened *typed,
                        char *const words[2], struct bl_event_row *row, struct follows *follows,
                        GError **error)
{
    return happened_apply(context, typed, words[1], row, error) &&
           say_find_car(context, words[0], &row->car, error) &&
           follows_begin(context, row->car, follows, error) &&
           bl_event_add(context->store, row, &row->id, error) &&
           follows_end(context, follows, error);
}

static int32_t wash_date(const struct context *context, const struct bl_car *car)
{
    return car ? bl_cure_wash_date(car, &context->world->settings->shop, context->now, NULL)
               : BL_NO_DATE;
}

static void print_json(const struct context *context, const struct bl_event_row *row,
                       const struct follows *follows, const GPtrArray *remarks)
{
    struct json json;
    json_begin(&json);
    json_whole(&json, "event", row->id);
    json_whole(&json, "car", row->car);
    json_text(&json, "happening", bl_happening_name(row->happening));
    json_at(&json, "at", context->world->settings->shop.zone, row->at);
    json_text(&json, "surface",
              row->surface < 0 ? NULL : bl_surface_name((enum bl_surface)row->surface));
    json_text(&json, "part", row->part);
    json_text(&json, "finding", row->finding);
    json_number(&json, "temp_c", row->hours != 0 ? row->temp_c : (double)NAN);
    json_number(&json, "hours", row->hours != 0 ? row->hours : (double)NAN);
    follows_json(context, follows, &json);
    json_date(&json, "wash_from", wash_date(context, follows_car(follows)));
    report_json(&json, remarks);
    json_end(&json);
}

static void print_text(const struct context *context, const struct bl_event_row *row,
                       const struct follows *follows)
{
    const struct bl_car *car = follows_car(follows);
    g_autoptr(GPtrArray) gone = follows_came_off(context, follows);
    g_autofree char *name = car ? say_car(car->name, car->plate) : g_strdup("");
    g_autofree char *at = say_at(context, row->at);
    g_autofree char *place = happened_place(row);
    g_autofree char *off = g_strjoinv(", ", (char **)gone->pdata);
    g_autofree char *date = say_date(context, wash_date(context, car));
    printf("Event #%" G_GINT64_FORMAT "\n", row->id);
    report_line("Car", "%s", name);
    report_line("Happened", "%s, %s%s%s", at, bl_happening_name(row->happening),
                *place ? ", " : "", place);
    report_line("Found", "%s", row->finding ? row->finding : "");
    report_line("Came off", "%s", off);
    report_line("Wash from", "%s", date);
    follows_print(context, follows);
}

static void tell(const struct context *context, const struct bl_event_row *row,
                 const struct follows *follows)
{
    g_autoptr(GPtrArray) remarks = report_remarks();
    happened_remark(context, row, follows, remarks);
    follows_remark(follows, remarks);
    if (context->json) {
        print_json(context, row, follows, remarks);
    } else {
        print_text(context, row, follows);
        report_print(remarks);
    }
}

static int add(struct context *context, const struct happened *typed, char *const words[2])
{
    struct bl_event_row row = {.surface = -1, .temp_c = (double)NAN, .hours = (double)NAN};
    struct follows follows = {0};
    GError *error = NULL;
    bool done = context_write(context, &error);
    if (done && !write_event(context, typed, words, &row, &follows, &error)) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    if (done) {
        tell(context, &row, &follows);
    }
    follows_clear(&follows);
    bl_event_row_clear(&row);
    return done ? DONE : context_fail(error);
}

int command_add_event(struct context *context, int argc, char **argv)
{
    struct happened typed = {0};
    const GOptionEntry entries[] = {HAPPENED_ENTRIES(typed), {0}};
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 3) {
        status = context_misused("name one car and what happened", usage);
    } else {
        status = add(context, &typed, argv + 1);
    }
    happened_clear(&typed);
    return status;
}
