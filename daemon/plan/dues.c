/*
 * Dues: what each job and each protection of a car asks to be said, and between which instants.
 * Whether it may be said to this customer at all is decided here too; when, by the intents.
 */
#include <math.h>

#include "beadline/civil.h"
#include "internal.h"

#define WASH_DAYS    14 /* how long "safe to wash now" is still news */
#define NO_CURE_DAYS 2  /* how long a handover is worth sending when nothing cures */
#define NO_HOURS     "no sending hours in the next 400 days"
#define ENTERED_LATE "the job was entered after all it would say was past"
#define WISHED_NEVER "the customer wishes none"
#define SILENCED     "silenced"

struct bl_due due_begin(enum bl_kind kind, int64_t subject, const struct known_car *known)
{
    return (struct bl_due){
        .kind = kind,
        .subject = subject,
        .car = known->car.id,
        .extended_from = BL_NEVER,
        .since = BL_NEVER,
        .early = BL_NEVER,
        .likely = BL_NEVER,
        .late = BL_NEVER,
        .km_a_day = (double)NAN,
        .speed = (double)NAN,
    };
}

/* Why the customer gets nothing of this kind on any day; NULL when he does. */
static char *held_for_customer(const struct bl_facts *facts, enum bl_kind kind)
{
    const struct bl_customer *customer = &facts->customer;
    enum bl_class class = bl_kind_class(kind);
    if (bl_facts_silenced(facts)) {
        return g_strdup(SILENCED);
    }
    if (!customer->consent[class]) {
        return g_strdup_printf("no consent for %s", bl_class_name(class));
    }
    if (customer->wish == BL_WISH_NEVER && class != BL_SERVICE) {
        return g_strdup(WISHED_NEVER);
    }
    return NULL;
}

void due_add(const struct plan_run *run, struct bl_due *due, const char *held)
{
    if (due->from <= due->not_after) {
        int64_t first = bl_hours_next(run->shop, due->from);
        if (first == BL_NEVER) {
            held = held ? held : NO_HOURS;
        } else if (first > due->not_after) {
            due->extended_from = due->not_after;
            due->not_after = bl_hours_end(run->shop, first) - 1;
        }
    }
    due->own_from = due->waits == BL_WAIT_NONE ? due->from : due->own_from;
    due->held = held ? g_strdup(held) : held_for_customer(run->facts, due->kind);
    g_array_append_vals(run->plan->dues, due, 1);
}

/* A job as it stood when it was entered: what customer and car had been told before. */
struct entry {
    const struct cure_line *line;
    int64_t at; /* when it can first be told of */
};

static int by_entry(gconstpointer a, gconstpointer b)
{
    const struct entry *one = a;
    const struct entry *other = b;
    if (one->at != other->at) {
        return one->at < other->at ? -1 : 1;
    }
    int64_t id = one->line->job->id;
    return (id > other->line->job->id) - (id < other->line->job->id);
}

static GArray *entries_of(const GArray *lines)
{
    GArray *entries = g_array_sized_new(FALSE, FALSE, sizeof(struct entry), lines->len);
    for (guint i = 0; i < lines->len; i++) {
        const struct cure_line *line = &g_array_index(lines, struct cure_line, i);
        struct entry entry = {line, MAX(line->job->told_from, line->job->at)};
        g_array_append_val(entries, entry);
    }
    g_array_sort(entries, by_entry);
    return entries;
}

/* What was put on, or a date the owner set: a mere wash needs no handover, and leaves a date
 * told before as it was. */
static bool tells(const struct plan_run *run, const struct cure_line *line)
{
    return line->job->customer == run->facts->customer.id &&
           (line->treatments > 0 || line->job->wash_from != BL_NO_DATE);
}

static void add_handovers(const struct plan_run *run, const struct known_car *known,
                          const GArray *lines)
{
    g_autoptr(GArray) entries = entries_of(lines);
    int32_t told = BL_NO_DATE; /* the latest wash date this customer was told */
    int32_t latest = BL_NO_DATE;
    int64_t end = CURE_NONE;
    for (guint i = 0; i < entries->len; i++) {
        const struct entry *entry = &g_array_index(entries, struct entry, i);
        const struct bl_job *job = entry->line->job;
        latest = MAX(latest, entry->line->date);
        end = MAX(end, entry->line->end);
        if (!tells(run, entry->line)) {
            continue;
        }
        struct bl_due due = due_begin(BL_HANDOVER, job->id, known);
        due.job = job->id;
        due.ordinal = told > bl_zone_date(run->shop->zone, entry->at) && latest > told;
        due.since = job->at;
        due.from = entry->at;
        due.best_by = due.from;
        due.not_after = MAX(end, job->at + NO_CURE_DAYS * BL_DAY);
        due_add(run, &due, due.from > due.not_after ? ENTERED_LATE : NULL);
        told = MAX(told, latest);
    }
}

/* The wash date of the car after its newest job: the latest still open then. */
static int32_t date_after_last(const struct plan_run *run, const GArray *lines)
{
    int32_t date = BL_NO_DATE;
    if (lines->len == 0) {
        return date;
    }
    const struct cure_line *last = &g_array_index(lines, struct cure_line, lines->len - 1);
    int32_t finished = bl_zone_date(run->shop->zone, last->job->at);
    for (guint i = 0; i < lines->len; i++) {
        int32_t other = g_array_index(lines, struct cure_line, i).date;
        if (other > finished) {
            date = MAX(date, other);
        }
    }
    return date;
}

/* The job of this customer a wash date goes by: the earliest that binds it, else (it is an
 * earlier owner's cure) his newest that told of it. */
static const struct cure_line *binding_line(const struct plan_run *run, const GArray *lines,
                                            int32_t date)
{
    const struct cure_line *newest = NULL;
    for (guint i = 0; i < lines->len; i++) {
        const struct cure_line *line = &g_array_index(lines, struct cure_line, i);
        if (!tells(run, line)) {
            continue;
        }
        if (line->date == date) {
            return line;
        }
        newest = line;
    }
    return newest;
}

static void add_wash(const struct plan_run *run, const struct known_car *known,
                     const GArray *lines, int32_t date)
{
    const struct cure_line *line = date == BL_NO_DATE ? NULL : binding_line(run, lines, date);
    if (!line) {
        return;
    }
    struct bl_due due = due_begin(BL_WASH, line->job->id, known);
    due.job = line->job->id;
    due.from = bl_zone_instant(run->shop->zone, date, 0);
    due.best_by = due.from;
    due.not_after = due.from + WASH_DAYS * BL_DAY;
    due_add(run, &due, NULL);
}

void dues_of_car(const struct plan_run *run, const struct known_car *known, int64_t *replan_at)
{
    g_autoptr(GArray) lines = cure_lines(known, run->shop);
    int32_t wash_date = date_after_last(run, lines);
    int64_t washable =
        wash_date == BL_NO_DATE ? INT64_MIN : bl_zone_instant(run->shop->zone, wash_date, 0);
    add_handovers(run, known, lines);
    add_wash(run, known, lines, wash_date);
    dues_of_treatments(run, known, washable, replan_at);
}
