/* beadline change treatment. */
#include "beadline/text.h"
#include "command.h"
#include "mending.h"
#include "report.h"
#include "say.h"
#include "treat.h"
#include "typed.h"

static const char usage[] =
    "change treatment N [--product P] [--surface S] [--part P] [--coats N] [--at TIME] ...\n"
    "Corrects what was put on in a job; show car and show job have the numbers. Only what is\n"
    "said changes, \"none\" takes something away, and what it said before is kept. --at is when\n"
    "the last coat went on, the job's finish at the latest.\n"
    "\n"
    "  beadline change treatment 7 --surface windscreen --why \"typed the wrong glass\"\n"
    "  beadline change treatment 7 --product coating-5y --coats 2";

/* As typed; NULL: not said. */
struct change {
    char *product, *surface, *part, *coats, *at, *again, *batch;
};

static bool find(struct context *context, struct mending *mending, void *self, int64_t *car,
                 GError **error)
{
    struct bl_treatment_row row;
    (void)self;
    bool done = bl_treatment_get(context->store, mending->id, &row, car, error);
    bl_treatment_row_clear(&row);
    return done;
}

/* A product that is put in another's place goes where that belonged, unless the owner had said
 * where. */
static bool apply_product(struct context *context, const char *typed,
                          struct bl_treatment_row *row, GError **error)
{
    const struct bl_catalogue *catalogue = context->world->catalogue;
    const struct bl_rule *old =
        row->product ? bl_catalogue_rule(catalogue, row->product) : NULL;
    const struct bl_rule *rule = typed ? picks_product(catalogue, typed, error) : NULL;
    if (!rule) {
        return typed == NULL;
    }
    if (!old || old->surface == row->surface) {
        row->surface = rule->surface;
    }
    g_free(row->product);
    row->product = g_strdup(rule->product);
    g_autofree char *text = bl_rule_write(rule);
    return bl_rule_version(context->store, rule->product, text, context->now, &row->rule,
                           error);
}

static bool apply_place(const struct change *change, struct bl_treatment_row *row,
                        GError **error)
{
    const char *word = change->surface
                           ? typed_word("surface", change->surface, bl_surface_words(), error)
                           : NULL;
    if (change->surface && !(word && bl_surface_of(word, &row->surface))) {
        return false;
    }
    if (change->part) {
        g_free(row->part);
        row->part = typed_none(change->part) ? g_strdup("") : bl_text_fold(change->part);
    }
    return true;
}

static bool apply_again(const char *typed, struct bl_treatment_row *row, GError **error)
{
    enum bl_again again = BL_AGAIN_SHOP;
    if (typed && typed_none(typed)) {
        row->again = -1;
    } else if (typed) {
        const char *word =
            typed_word("answer to who does it again", typed, bl_again_words(), error);
        if (!word || !bl_again_of(word, &again)) {
            return false;
        }
        row->again = (int)again;
    }
    return true;
}

static bool apply_coats(const char *typed, struct bl_treatment_row *row, GError **error)
{
    double coats = row->coats;
    if (typed && !typed_number("coats", typed, "", &coats, error)) {
        return false;
    }
    row->coats = (int)coats;
    if (coats == row->coats && coats >= 1 && coats <= 9) {
        return true;
    }
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "coats \"%s\" cannot be right: give a whole number from 1 to 9", typed);
    return false;
}

static bool apply(struct context *context, const struct change *change,
                  struct bl_treatment_row *row, GError **error)
{
    typed_text(&row->batch, change->batch);
    return apply_product(context, change->product, row, error) &&
           apply_place(change, row, error) && apply_coats(change->coats, row, error) &&
           (!change->at || typed_at(context, "coat", change->at, &row->last_coat_at, error)) &&
           apply_again(change->again, row, error);
}

static bool mend(struct context *context, struct mending *mending, void *self, GError **error)
{
    struct bl_treatment_row row;
    bool done = bl_treatment_get(context->store, mending->id, &row, NULL, error) &&
                apply(context, self, &row, error) &&
                bl_treatment_change(context->store, &row, error);
    if (done) {
        g_autofree char *place = look_place(row.surface, row.part);
        g_autofree char *at = say_at(context, row.last_coat_at);
        mending->title =
            g_strdup_printf("%s on %s, %d coat%s, %s", row.product ? row.product : "?", place,
                            row.coats, row.coats == 1 ? "" : "s", at);
    }
    bl_treatment_row_clear(&row);
    return done;
}

static bool said_anything(const struct change *change)
{
    return change->product || change->surface || change->part || change->coats || change->at ||
           change->again || change->batch;
}

static void clear(struct change *change)
{
    g_free(change->product);
    g_free(change->surface);
    g_free(change->part);
    g_free(change->coats);
    g_free(change->at);
    g_free(change->again);
    g_free(change->batch);
}

int command_change_treatment(struct context *context, int argc, char **argv)
{
    static const struct mending_steps steps = {find, mend};
    struct mending mending = {.thing = "treatment", .done = "changed"};
    struct change change = {0};
    const GOptionEntry entries[] = {
        {"product", 0, 0, G_OPTION_ARG_STRING, &change.product, "Which product it was",
         "PRODUCT"},
        {"surface", 0, 0, G_OPTION_ARG_STRING, &change.surface, "On which surface", "SURFACE"},
        {"part", 0, 0, G_OPTION_ARG_STRING, &change.part, "On which part only, or none",
         "PART"},
        {"coats", 0, 0, G_OPTION_ARG_STRING, &change.coats, "How many coats", "N"},
        {"at", 0, 0, G_OPTION_ARG_STRING, &change.at, "When the last coat went on", "TIME"},
        {"again", 0, 0, G_OPTION_ARG_STRING, &change.again,
         "Who does it again: shop, next-booking or customer; none: as its rule says", "WHO"},
        {"batch", 0, 0, G_OPTION_ARG_STRING, &change.batch, "The batch on the bottle, or none",
         "TEXT"},
        MENDING_ENTRIES(mending),
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 2) {
        status = context_misused("name one treatment by its number", usage);
    } else if (!said_anything(&change)) {
        status = context_misused("say what is different", usage);
    } else {
        status = mending_run(context, &mending, argv[1], &steps, &change);
    }
    clear(&change);
    mending_clear(&mending);
    return status;
}
