/*
 * beadline without a command: the front page. First what needs the owner, then what is broken,
 * then what goes out today and this week.
 */
#include <stdio.h>

#include "beadline/letterbook.h"
#include "beadline/lookup.h"
#include "command.h"
#include "messages.h"
#include "say.h"
#include "table.h"

#define USAGE "[--settings FILE] [--now TIME] [--json] [COMMAND]"

#define BIT(state) (1u << (state))

/* What the page is made of, read in one transaction. */
struct page {
    GArray *waiting; /* planned, paused, claimed */
    GArray *unsure;
    GArray *failed;               /* in the last week */
    GPtrArray *skipped, *orphans; /* char *: rows nobody can use, and why */
    GArray *held;                 /* struct bl_car_row: cars nothing is offered for */
    struct bl_counts counts;
    int64_t tomorrow, next_week;
};

static bool read_page(struct context *context, struct page *page, GError **error)
{
    const struct bl_zone *zone = context->world->settings->shop.zone;
    int32_t today = bl_zone_date(zone, context->now);
    page->tomorrow = bl_zone_instant(zone, today + 1, 0);
    page->next_week = bl_zone_instant(zone, today + 7, 0);
    page->waiting = messages_of(context, BIT(BL_PLANNED) | BIT(BL_PAUSED) | BIT(BL_CLAIMED),
                                page->next_week, 0, error);
    page->unsure = page->waiting ? messages_of(context, BIT(BL_UNSURE), 0, 0, error) : NULL;
    page->failed =
        page->unsure ? messages_of(context, BIT(BL_FAILED), 0, context->now - 7 * BL_DAY, error)
                     : NULL;
    page->skipped = page->failed ? bl_skipped_list(context->store, error) : NULL;
    page->orphans = page->skipped ? bl_store_orphans(context->store, error) : NULL;
    page->held = page->orphans ? bl_car_held_list(context->store, error) : NULL;
    return page->held && bl_store_counts(context->store, &page->counts, error);
}

static void clear_page(struct page *page)
{
    g_clear_pointer(&page->waiting, g_array_unref);
    g_clear_pointer(&page->unsure, g_array_unref);
    g_clear_pointer(&page->failed, g_array_unref);
    g_clear_pointer(&page->skipped, g_ptr_array_unref);
    g_clear_pointer(&page->orphans, g_ptr_array_unref);
    g_clear_pointer(&page->held, g_array_unref);
}

/* The waiting messages of one part of the page, borrowed from it. */
static GArray *part_of(const struct page *page, bool by_hand, int64_t from, int64_t before)
{
    GArray *part = g_array_new(FALSE, FALSE, sizeof(struct bl_message_row));
    for (guint i = 0; i < page->waiting->len; i++) {
        const struct bl_message_row *row =
            &g_array_index(page->waiting, struct bl_message_row, i);
        int64_t at = messages_goes_at(row);
        if ((row->channel == BL_BY_HAND) == by_hand && at >= from && at < before) {
            g_array_append_val(part, *row);
        }
    }
    return part;
}

static void print_part(const struct context *context, const char *heading, const GArray *rows,
                       enum messages_time time)
{
    if (rows->len > 0) {
        putchar('\n');
        table_heading(heading);
        messages_print(context, rows, time, 2);
    }
}

static void print_held(const struct context *context, const GArray *cars)
{
    static const char *const titles[] = {"car", "=since", NULL};
    BL_AUTO(table) *table = table_new(titles);
    for (guint i = 0; i < cars->len; i++) {
        const struct bl_car_row *row = &g_array_index(cars, struct bl_car_row, i);
        g_autofree char *car = say_car(row->name, row->plate);
        g_autofree char *since = say_day(context, row->offers_held_at);
        const char *const cells[] = {car, since};
        table_row(table, cells);
    }
    if (!table_empty(table)) {
        putchar('\n');
        table_heading(
            "Nothing is offered after a complaint (beadline change car CAR --offers yes)");
        table_print(table, 2);
    }
}

static void print_left_out(const GPtrArray *texts)
{
    for (guint i = 0; i < texts->len; i++) {
        printf("  Left out: %s\n", (const char *)g_ptr_array_index(texts, i));
    }
}

static void print_broken(struct context *context, const struct page *page)
{
    const char *why = NULL;
    bool trusted = context->now_text || bl_pass_trusted(context->pass, &why);
    if (trusted && page->skipped->len == 0 && page->orphans->len == 0) {
        return;
    }
    putchar('\n');
    table_heading("Broken");
    if (!trusted) {
        printf("  Nothing is sent: %s.\n", why);
    }
    print_left_out(page->skipped);
    print_left_out(page->orphans);
}

static void print_start(const struct page *page)
{
    if (page->counts.customers == 0) {
        puts("\nNo customers yet. Begin with:  beadline add customer NAME --phone NUMBER");
    } else if (page->counts.jobs == 0) {
        puts("\nNo jobs yet. Write one down:  beadline add job CAR PRODUCT... --at TIME");
    }
}

static void print_page(struct context *context, const struct page *page)
{
    g_autofree char *now = say_at(context, context->now);
    g_autoptr(GArray) ring = part_of(page, true, 0, page->tomorrow);
    g_autoptr(GArray) today = part_of(page, false, 0, page->tomorrow);
    g_autoptr(GArray) week = part_of(page, false, page->tomorrow, page->next_week);
    printf("%s, %s\n", context->world->settings->shop.name, now);
    print_part(context, "Nobody knows whether these arrived (beadline settle MESSAGE ...)",
               page->unsure, MESSAGES_GONE);
    print_part(context, "To ring (then: beadline told MESSAGE)", ring, MESSAGES_GOING);
    print_part(context, "Failed this week (not sent again: ring them)", page->failed,
               MESSAGES_GONE);
    print_broken(context, page);
    print_held(context, page->held);
    print_part(context, "Goes out today", today, MESSAGES_GOING);
    print_part(context, "Goes out in the next six days", week, MESSAGES_GOING);
    if (page->waiting->len == 0) {
        puts("\nNothing goes out this week.");
    }
    print_start(page);
}

static bool show_page(struct context *context, GError **error)
{
    struct page page = {0};
    if (!context_look(context, error)) {
        return false;
    }
    bool done = read_page(context, &page, error);
    if (done && context->json) {
        messages_print(context, page.unsure, MESSAGES_GONE, 0);
        messages_print(context, page.failed, MESSAGES_GONE, 0);
        messages_print(context, page.waiting, MESSAGES_GOING, 0);
    } else if (done) {
        print_page(context, &page);
    }
    clear_page(&page);
    if (!done) {
        bl_store_rollback(context->store);
        return false;
    }
    return context_shown(context, error);
}

int command_front(struct context *context, int argc, char **argv)
{
    GError *error = NULL;
    if (!context_parse(context, NULL, USAGE, &argc, &argv)) {
        return WRONG_USAGE;
    }
    return show_page(context, &error) ? DONE : context_fail(error);
}
