/*
 * beadline add event: what happened to a car between jobs. The answer says what it did to what
 * is on the car.
 */
#include <stdio.h>

#include "beadline/lookup.h"
#include "beadline/text.h"
#include "command.h"
#include "json.h"
#include "look.h"
#include "report.h"
#include "say.h"
#include "typed.h"

static const char usage[] =
    "add event CAR HAPPENING [--at TIME] [--surface S] [--part P] [--with TEXT] ...\n"
    "HAPPENING is one of: care, harsh-wash, stripped, polished, part-replaced, resprayed,\n"
    "wet-too-early, etched, wheels-off, cured-indoors, inspection.\n"
    "\n"
    "Without a surface it concerns the whole car, and polished and resprayed the paint. --with\n"
    "names what did it: a stripper takes off what its rule says it takes. --finding says what an\n"
    "inspection found: beading, came-back-after-decontamination, gone; learn goes by it.\n"
    "\n"
    "  beadline add event \"AB12 CDE\" stripped --surface wheels --with \"wheel cleaner\"\n"
    "  beadline add event \"blue estate\" part-replaced --surface paint --part bonnet\n"
    "  beadline add event \"blue estate\" inspection --surface glass --finding beading";

/* As typed; NULL: not said. */
struct happened {
    char *at, *surface, *part, *treatment, *with, *finding, *note;
};

static void happened_clear(struct happened *typed)
{
    g_free(typed->at);
    g_free(typed->surface);
    g_free(typed->part);
    g_free(typed->treatment);
    g_free(typed->with);
    g_free(typed->finding);
    g_free(typed->note);
}

static bool read_finding(const struct happened *typed, struct bl_event_row *row, GError **error)
{
    if (!typed->finding) {
        return true;
    }
    if (row->happening != BL_EV_INSPECTION) {
        g_set_error(
            error, BL_ERROR, BL_ERROR_REFUSED,
            "a finding is an inspection's: write \"inspection\" for \"%s\", or keep it as "
            "a --note",
            bl_happening_name(row->happening));
        return false;
    }
    row->finding = (char *)typed_word("finding", typed->finding, bl_finding_words(), error);
    return row->finding != NULL;
}

static bool read_words(const struct happened *typed, const char *happening,
                       struct bl_event_row *row, GError **error)
{
    enum bl_surface surface = BL_PAINT;
    const char *word = typed_word("happening", happening, bl_happening_words(), error);
    if (!word) {
        return false;
    }
    bl_happening_of(word, &row->happening);
    row->surface = -1;
    if (typed->surface) {
        word = typed_word("surface", typed->surface, bl_surface_words(), error);
        if (!word) {
            return false;
        }
        bl_surface_of(word, &surface);
        row->surface = (int)surface;
    }
    return read_finding(typed, row, error) &&
           (!typed->treatment ||
            say_read_id(typed->treatment, "treatment", &row->treatment, error));
}

/* The customer as he was before and as he is after. */
struct looks {
    struct look before, after;
};

static bool write_event(struct context *context, const struct happened *typed,
                        char *const words[2], struct bl_event_row *row, struct looks *looks,
                        GError **error)
{
    struct bl_car_row car = {0};
    row->with = typed->with;
    row->note = typed->note;
    bool done = typed_at(context, "event", typed->at, &row->at, error) &&
                read_words(typed, words[1], row, error) &&
                say_find_car(context, words[0], &row->car, error) &&
                bl_car_get(context->store, row->car, &car, error) &&
                look_make(context, car.customer, &looks->before, error) &&
                bl_event_add(context->store, row, &row->id, error) &&
                look_make(context, car.customer, &looks->after, error);
    bl_car_row_clear(&car);
    return done;
}

/* When treatment number i ended, as that look saw it; BL_NEVER while it is on. */
static int64_t ended_at(const struct context *context, const struct bl_car *car, guint i)
{
    struct bl_life life;
    bl_wear_life(car, &g_array_index(car->treatments, struct bl_treatment, i),
                 &context->world->settings->shop, context->now, &life);
    return life.ended_at;
}

/* "wheel spray sealant (wheels)", one text each: what ended otherwise than without the event.
 */
static GPtrArray *taken_off(const struct context *context, const struct bl_car *before,
                            const struct bl_car *after)
{
    GPtrArray *list = g_ptr_array_new_with_free_func(g_free);
    bool both = before && after && before->treatments->len == after->treatments->len;
    for (guint i = 0; both && i < after->treatments->len; i++) {
        const struct bl_treatment *treatment =
            &g_array_index(after->treatments, struct bl_treatment, i);
        if (ended_at(context, before, i) != ended_at(context, after, i)) {
            g_autofree char *place = look_place(treatment->surface, treatment->part);
            g_ptr_array_add(list,
                            g_strdup_printf("%s (%s)", look_title(context, treatment), place));
        }
    }
    g_ptr_array_add(list, NULL);
    return list;
}

/* What the owner should think of after such a thing; NULL nothing. */
static const char *advice(enum bl_happening happening)
{
    static const char *const texts[BL_HAPPENINGS] = {
        [BL_EV_RESPRAYED] = "fresh paint is coated only when its painter says so",
        [BL_EV_WET_EARLY] = "water before its time may leave marks: look at it, and at its "
                            "label, before you promise anything",
        [BL_EV_ETCHED] = "what has eaten into it is not rubbed: look at it first",
        [BL_EV_WHEELS_OFF] = "whoever put the wheels on says when the bolts are tightened "
                             "again: ask that it was done",
    };
    return texts[happening];
}

/* How many surfaces have something on them that may be meant. */
static guint surfaces_of(const struct bl_car *car)
{
    unsigned had = 0;
    guint count = 0;
    for (guint i = 0; car && i < car->treatments->len; i++) {
        unsigned bit = 1u << g_array_index(car->treatments, struct bl_treatment, i).surface;
        count += had & bit ? 0 : 1;
        had |= bit;
    }
    return count;
}

static void remark_inspection(const struct bl_event_row *row, const struct bl_car *car,
                              GPtrArray *remarks)
{
    if (!row->finding) {
        report_remark(remarks, "nothing is learned from an inspection without --finding: "
                               "beading, came-back-after-decontamination or gone");
    } else if (row->treatment == 0 && row->surface < 0 && surfaces_of(car) > 1) {
        report_remark(remarks, "that is said of everything on the car: name a --surface or a "
                               "--treatment when it is only one of them");
    }
}

static void print_json(const struct context *context, const struct bl_event_row *row,
                       const GPtrArray *gone, int32_t wash, const GPtrArray *remarks)
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
    json_texts(&json, "came_off", (const char *const *)gone->pdata);
    json_date(&json, "wash_from", wash);
    report_json(&json, remarks);
    json_end(&json);
}

static void print_text(const struct context *context, const struct bl_event_row *row,
                       const struct bl_car *car, const GPtrArray *gone, int32_t wash)
{
    g_autofree char *name = car ? say_car(car->name, car->plate) : g_strdup("");
    g_autofree char *at = say_at(context, row->at);
    g_autofree char *place = row->surface < 0
                                 ? g_strdup(row->part ? row->part : "")
                                 : look_place((enum bl_surface)row->surface, row->part);
    g_autofree char *off = g_strjoinv(", ", (char **)gone->pdata);
    g_autofree char *date = say_date(context, wash);
    printf("Event #%" G_GINT64_FORMAT "\n", row->id);
    report_line("Car", "%s", name);
    report_line("Happened", "%s, %s%s%s", at, bl_happening_name(row->happening),
                *place ? ", " : "", place);
    report_line("Found", "%s", row->finding ? row->finding : "");
    report_line("Came off", "%s", off);
    report_line("Wash from", "%s", date);
}

static void tell(const struct context *context, const struct bl_event_row *row,
                 const struct looks *looks)
{
    const struct bl_car *car = look_car(&looks->after, row->car);
    g_autoptr(GPtrArray) gone = taken_off(context, look_car(&looks->before, row->car), car);
    g_autoptr(GPtrArray) remarks = report_remarks();
    int32_t wash =
        car ? bl_cure_wash_date(car, &context->world->settings->shop, context->now, NULL)
            : BL_NO_DATE;
    if (advice(row->happening)) {
        report_remark(remarks, "%s", advice(row->happening));
    }
    if (row->happening == BL_EV_INSPECTION) {
        remark_inspection(row, car, remarks);
    }
    if (context->json) {
        print_json(context, row, gone, wash, remarks);
    } else {
        print_text(context, row, car, gone, wash);
        report_print(remarks);
    }
}

static int add(struct context *context, const struct happened *typed, char *const words[2])
{
    g_autofree char *part = typed->part ? bl_text_fold(typed->part) : NULL;
    struct bl_event_row row = {.part = part};
    struct looks looks = {0};
    GError *error = NULL;
    bool done = context_write(context, &error);
    if (done && !write_event(context, typed, words, &row, &looks, &error)) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    if (done) {
        tell(context, &row, &looks);
    }
    look_clear(&looks.before);
    look_clear(&looks.after);
    return done ? DONE : context_fail(error);
}

int command_add_event(struct context *context, int argc, char **argv)
{
    struct happened typed = {0};
    const GOptionEntry entries[] = {
        {"at", 0, 0, G_OPTION_ARG_STRING, &typed.at, "When; now if not said", "TIME"},
        {"surface", 0, 0, G_OPTION_ARG_STRING, &typed.surface, "On which surface only",
         "SURFACE"},
        {"part", 0, 0, G_OPTION_ARG_STRING, &typed.part, "On which part only", "PART"},
        {"treatment", 0, 0, G_OPTION_ARG_STRING, &typed.treatment,
         "On which treatment only (show car has the numbers)", "N"},
        {"with", 0, 0, G_OPTION_ARG_STRING, &typed.with, "What did it", "TEXT"},
        {"finding", 0, 0, G_OPTION_ARG_STRING, &typed.finding, "What an inspection found",
         "FINDING"},
        {"note", 0, 0, G_OPTION_ARG_STRING, &typed.note, "A note of your own", "TEXT"},
        {0},
    };
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
