/* Corrections from the command line, the way they share. */
#include "mending.h"

#include <stdio.h>

#include "beadline/text.h"
#include "report.h"
#include "say.h"

void mending_clear(struct mending *mending)
{
    g_free(mending->why);
    g_free(mending->title);
    g_clear_pointer(&mending->remarks, g_ptr_array_unref);
    follows_clear(&mending->follows);
}

static bool run(struct context *context, struct mending *mending, const char *word,
                const struct mending_steps *steps, void *self, GError **error)
{
    int64_t car = 0;
    return say_read_id(word, mending->thing, &mending->id, error) &&
           steps->find(context, mending, self, &car, error) &&
           follows_begin(context, car, &mending->follows, error) &&
           bl_mend_begin(context->store, context->now, mending->why, error) &&
           steps->mend(context, mending, self, error) && bl_mend_end(context->store, error) &&
           follows_end(context, &mending->follows, error);
}

static void print_json(const struct context *context, const struct mending *mending)
{
    struct json json;
    json_begin(&json);
    json_whole(&json, mending->thing, mending->id);
    json_text(&json, "done", mending->done);
    json_yes(&json, "dry", mending->dry);
    json_whole(&json, "car", mending->follows.car);
    json_text(&json, "why", mending->why);
    follows_json(context, &mending->follows, &json);
    report_json(&json, mending->remarks);
    json_end(&json);
}

static void print_text(const struct context *context, const struct mending *mending)
{
    const struct bl_car *car = look_car(&mending->follows.before, mending->follows.car);
    g_autofree char *name = car ? say_car(car->name, car->plate) : g_strdup("");
    g_autofree char *thing = bl_text_printable(mending->thing);
    thing[0] = g_ascii_toupper(thing[0]);
    if (mending->dry) {
        puts("A dry run: nothing is written.");
    }
    printf("%s #%" G_GINT64_FORMAT " %s\n", thing, mending->id, mending->done);
    report_line("Car", "%s, %s", name, mending->follows.before.facts.customer.name);
    report_line("It says", "%s", mending->title ? mending->title : "");
    report_line("Why", "%s", mending->why ? mending->why : "");
    follows_print(context, &mending->follows);
    if (!follows_any(context, &mending->follows)) {
        puts("No date and no message is different by it.");
    }
    report_print(mending->remarks);
}

int mending_run(struct context *context, struct mending *mending, const char *word,
                const struct mending_steps *steps, void *self)
{
    GError *error = NULL;
    mending->remarks = report_remarks();
    bool done = context_write(context, &error);
    if (done && !run(context, mending, word, steps, self, &error)) {
        bl_store_rollback(context->store);
        done = false;
    }
    if (done && mending->dry) {
        bl_store_rollback(context->store);
    } else {
        done = done && context_keep(context, &error);
    }
    if (!done) {
        return context_fail(error);
    }
    follows_remark(&mending->follows, mending->remarks);
    if (context->json) {
        print_json(context, mending);
    } else {
        print_text(context, mending);
    }
    return DONE;
}
