/* The rehearsal's page as text: what must stand in it, and what must not get into it. */
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "beadline/error.h"
#include "rehearse_page.h"

#define HOSTILE "\"><script src=//x.example>&'\n\x01\xe2\x80\xae"

static int set_up(void **state)
{
    *state = bl_zone_new("Europe/London", NULL);
    return *state ? 0 : -1;
}

static int tear_down(void **state)
{
    bl_zone_free(*state);
    return 0;
}

/* An empty page over the year from 2026-12-01. */
static void begin(struct page *page, const struct bl_zone *zone)
{
    page_init(page);
    page->now = bl_zone_instant(zone, bl_date_of(2026, 12, 1), 43200);
    page->axis = axis_make(zone, page->now, bl_zone_instant(zone, bl_date_of(2027, 12, 1), 0));
    page->shop = g_strdup("Example Shine");
    page->began = g_strdup("Tue 1 Dec 2026 12:00");
    page->until = g_strdup("Tue 30 Nov 2027");
}

static void add_message(GArray *beads, int64_t at, enum bl_kind kind, enum bl_channel channel,
                        const char *line)
{
    struct page_bead bead = {at, kind, channel, g_strdup("Thu 3 Dec 09:00"), g_strdup(line)};
    g_array_append_val(beads, bead);
}

static guint count(const char *text, const char *part)
{
    guint found = 0;
    for (const char *at = strstr(text, part); at; at = strstr(at + 1, part)) {
        found++;
    }
    return found;
}

static void every_kind_of_message_has_its_bead_by_wire_and_by_hand(void **state)
{
    struct page page;
    begin(&page, *state);
    struct page_lane *lane = page_add_lane(&page);
    lane->car = g_strdup("blue estate");
    lane->owner = g_strdup("Ada Example");
    for (int kind = 0; kind < BL_KINDS; kind++) {
        int64_t at = page.now + kind * 40 * BL_DAY;
        add_message(lane->beads, at, (enum bl_kind)kind, BL_SMS, "what it says");
        add_message(lane->beads, at + BL_DAY, (enum bl_kind)kind, BL_BY_HAND, "what is told");
    }
    g_autofree char *text = page_write(&page);
    for (int kind = 0; kind < BL_KINDS; kind++) {
        const char *name = bl_kind_name((enum bl_kind)kind);
        g_autofree char *bead = g_strdup_printf("id=\"bead-%s\"", name);
        g_autofree char *hand = g_strdup_printf("id=\"hand-%s\"", name);
        g_autofree char *hung = g_strdup_printf("href=\"#hand-%s\" x=", name);
        assert_int_equal(count(text, bead), 1);
        assert_int_equal(count(text, hand), 1);
        assert_int_equal(count(text, hung), 1);
    }
    assert_int_equal(count(text, "what it says"), 2 * BL_KINDS); /* in the lane, in the list */
    page_clear(&page);
}

static void nothing_hostile_gets_out_of_its_text(void **state)
{
    struct page page;
    begin(&page, *state);
    g_free(page.shop);
    page.shop = g_strdup(HOSTILE);
    struct page_lane *lane = page_add_lane(&page);
    lane->car = g_strdup(HOSTILE);
    lane->owner = g_strdup(HOSTILE);
    struct page_piece *piece = page_add_piece(lane);
    piece->title = g_strdup(HOSTILE);
    piece->place = g_strdup(HOSTILE);
    piece->life = g_strdup(HOSTILE);
    piece->brief = g_strdup(HOSTILE);
    piece->since = piece->cured = page.now;
    add_message(lane->beads, page.now, BL_CARE, BL_SMS, HOSTILE);
    struct page_lapse lapse = {page.now, BL_CARE, g_strdup(HOSTILE)};
    g_array_append_val(lane->lapses, lapse);
    g_autofree char *text = page_write(&page);
    assert_null(strstr(text, "<script"));
    assert_null(strchr(text, '\x01'));
    assert_null(strstr(text, "\xe2\x80\xae"));
    assert_int_equal(count(text, "&quot;&gt;&lt;script src=//x.example&gt;&amp;&apos;") +
                         count(text, "&quot;&gt;&lt;script src=//x.example&gt;&amp;&#39;"),
                     14); /* title and head, heading and owner, piece 7, message 2, lapse 1 */
    page_clear(&page);
}

static void a_page_of_nothing_is_a_page(void **state)
{
    struct page page;
    begin(&page, *state);
    page.idle = 1;
    g_autofree char *text = page_write(&page);
    assert_true(g_str_has_prefix(text, "<!DOCTYPE html>"));
    assert_true(g_str_has_suffix(text, "</html>\n"));
    assert_non_null(strstr(text, "Left out: 1 car with nothing on it"));
    page_clear(&page);
}

static void a_car_without_messages_says_so(void **state)
{
    struct page page;
    begin(&page, *state);
    struct page_lane *lane = page_add_lane(&page);
    lane->car = g_strdup("blue estate");
    lane->owner = g_strdup("Ada Example");
    struct page_piece *piece = page_add_piece(lane);
    piece->title = g_strdup("wax");
    piece->place = g_strdup("paint");
    piece->since = piece->cured = page.now;
    g_autofree char *text = page_write(&page);
    assert_non_null(strstr(text, "No message comes up."));
    assert_null(strstr(text, "nan"));
    page_clear(&page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_of_message_has_its_bead_by_wire_and_by_hand),
        cmocka_unit_test(nothing_hostile_gets_out_of_its_text),
        cmocka_unit_test(a_page_of_nothing_is_a_page),
        cmocka_unit_test(a_car_without_messages_says_so),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
