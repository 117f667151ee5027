/* The page around the drawings: what it is about, its figures, a lane a car with its list. */
#include "rehearse_page.h"

#include "rehearse_style.h"
#include "rehearse_svg.h"

/* --- what it is made of
 * -----------------------------------------------------------------------
 */

static void bead_clear(gpointer data)
{
    struct page_bead *bead = data;
    g_free(bead->when);
    g_free(bead->line);
}

static void lapse_clear(gpointer data)
{
    g_free(((struct page_lapse *)data)->text);
}

static void piece_clear(gpointer data)
{
    struct page_piece *piece = data;
    g_free(piece->title);
    g_free(piece->place);
    g_free(piece->life);
    g_free(piece->brief);
    g_array_unref(piece->spans);
}

static void lane_clear(gpointer data)
{
    struct page_lane *lane = data;
    g_free(lane->car);
    g_free(lane->owner);
    g_array_unref(lane->pieces);
    g_array_unref(lane->beads);
    g_array_unref(lane->lapses);
}

static GArray *array_of(guint size, GDestroyNotify clear)
{
    GArray *array = g_array_new(FALSE, TRUE, size);
    g_array_set_clear_func(array, clear);
    return array;
}

void page_init(struct page *page)
{
    *page = (struct page){
        .messages = array_of(sizeof(struct page_bead), bead_clear),
        .lanes = array_of(sizeof(struct page_lane), lane_clear),
    };
}

void page_clear(struct page *page)
{
    g_free(page->shop);
    g_free(page->began);
    g_free(page->until);
    g_array_unref(page->messages);
    g_array_unref(page->lanes);
}

struct page_lane *page_add_lane(struct page *page)
{
    struct page_lane lane = {
        .pieces = array_of(sizeof(struct page_piece), piece_clear),
        .beads = array_of(sizeof(struct page_bead), bead_clear),
        .lapses = array_of(sizeof(struct page_lapse), lapse_clear),
    };
    g_array_append_val(page->lanes, lane);
    return &g_array_index(page->lanes, struct page_lane, page->lanes->len - 1);
}

struct page_piece *page_add_piece(struct page_lane *lane)
{
    struct page_piece piece = {.early = BL_NEVER,
                               .likely = BL_NEVER,
                               .late = BL_NEVER,
                               .ended = BL_NEVER,
                               .spans = g_array_new(FALSE, FALSE, sizeof(struct page_span))};
    g_array_append_val(lane->pieces, piece);
    return &g_array_index(lane->pieces, struct page_piece, lane->pieces->len - 1);
}

/* --- the head
 * ---------------------------------------------------------------------------------
 */

static void element(GString *out, const char *open, const char *text, const char *close)
{
    g_string_append(out, open);
    svg_text(out, text);
    g_string_append(out, close);
}

/* Nothing may be fetched, run or sent from here, whatever a name or a text holds. */
static void head(GString *out, const struct page *page)
{
    g_string_append(out,
                    "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none';"
                    " style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                    "<meta name=\"referrer\" content=\"no-referrer\">\n"
                    "<meta name=\"color-scheme\" content=\"light dark\">\n");
    element(out, "<title>", page->shop, ": what would go out</title>\n");
    g_string_append(out, "<style>\n");
    for (guint i = 0; page_style[i]; i++) {
        g_string_append(out, page_style[i]);
    }
    g_string_append(out, "</style>\n</head>\n<body>\n");
}

/* Three drops on a line. */
static const char emblem[] =
    "<svg width=\"44\" height=\"18\" viewBox=\"0 0 44 18\" aria-hidden=\"true\">"
    "<path d=\"M0 9h44\" stroke=\"currentColor\" stroke-width=\"1.5\" opacity=\".5\"/>"
    "<g fill=\"currentColor\"><circle cx=\"9\" cy=\"9\" r=\"7\"/><circle cx=\"25\" cy=\"9\""
    " r=\"5\"/><circle cx=\"37\" cy=\"9\" r=\"3\"/></g></svg>";

static void masthead(GString *out, const struct page *page)
{
    g_string_append_printf(out, "<header>\n<div class=\"shop\">%s", emblem);
    element(out, "<bdi>", page->shop, "</bdi></div>\n");
    element(out, "<h1>What would go out until ", page->until, "</h1>\n");
    element(
        out, "<p>A rehearsal, played from ", page->began,
        ". Nothing was sent. So it goes if nothing else is written down: no job, no mileage, "
        "no care.</p>\n");
    g_string_append(out, "</header>\n");
}

static guint by_hand(const struct page *page)
{
    guint count = 0;
    for (guint i = 0; i < page->messages->len; i++) {
        count += g_array_index(page->messages, struct page_bead, i).channel == BL_BY_HAND;
    }
    return count;
}

static void figures(GString *out, const struct page *page)
{
    const struct {
        const char *name;
        guint count;
    } shown[] = {{"messages", page->messages->len},
                 {"of them by hand", by_hand(page)},
                 {"dues end without one", page->ends},
                 {"cars", page->lanes->len}};
    g_string_append(out, "<dl class=\"figures\">\n");
    for (gsize i = 0; i < G_N_ELEMENTS(shown); i++) {
        g_string_append_printf(out, "<div><dt>%s</dt><dd>%u</dd></div>\n", shown[i].name,
                               shown[i].count);
    }
    g_string_append(out, "</dl>\n");
}

/* The kinds that occur, and how the rest is to be read. */
static void legend(GString *out, const struct page *page)
{
    bool there[BL_KINDS] = {false};
    for (guint i = 0; i < page->messages->len; i++) {
        there[g_array_index(page->messages, struct page_bead, i).kind] = true;
    }
    g_string_append(out, "<ul class=\"legend\">\n");
    for (int kind = 0; kind < BL_KINDS; kind++) {
        if (there[kind]) {
            g_string_append(out, "<li>");
            svg_bead(out, (enum bl_kind)kind, false);
            g_string_append_printf(out, "%s</li>\n", bl_kind_name((enum bl_kind)kind));
        }
    }
    g_string_append(out, "<li>");
    svg_bead(out, BL_HANDOVER, true);
    g_string_append(out, "a ring: by hand</li>\n<li>");
    svg_sample(out);
    g_string_append(out, "curing, on the car, wearing out (tick: most likely)</li>\n"
                         "<li>thin bars below: when it is due</li>\n"
                         "<li>× no message goes</li>\n<li>dotted line: the beginning</li>\n"
                         "</ul>\n");
}

static void overview(GString *out, const struct page *page)
{
    g_string_append(out, "<section>\n<h2>Messages along the time</h2>\n");
    svg_months(out, page);
    legend(out, page);
    g_string_append(out, "</section>\n");
}

/* --- a car
 * ------------------------------------------------------------------------------------
 */

static void list_bead(GString *out, const struct page_bead *bead)
{
    g_string_append(out, "<li>");
    svg_bead(out, bead->kind, bead->channel == BL_BY_HAND);
    element(out, "<span><time>", bead->when, "</time> ");
    g_string_append_printf(out, "%s, %s", bl_kind_name(bead->kind),
                           bl_channel_name(bead->channel));
    element(out, "<bdi class=\"line\">", bead->line, "</bdi></span></li>\n");
}

static void list_lapse(GString *out, const struct page_lapse *lapse)
{
    g_string_append_printf(out,
                           "<li><span class=\"cross\">×</span><span>no %s message"
                           "<bdi class=\"line\">",
                           bl_kind_name(lapse->kind));
    svg_text(out, lapse->text);
    g_string_append(out, "</bdi></span></li>\n");
}

static void list(GString *out, const struct page_lane *lane)
{
    if (lane->beads->len + lane->lapses->len == 0) {
        g_string_append(out, "<p class=\"none\">No message comes up.</p>\n");
        return;
    }
    g_string_append(out, "<ol>\n");
    for (guint i = 0; i < lane->beads->len; i++) {
        list_bead(out, &g_array_index(lane->beads, struct page_bead, i));
    }
    for (guint i = 0; i < lane->lapses->len; i++) {
        list_lapse(out, &g_array_index(lane->lapses, struct page_lapse, i));
    }
    g_string_append(out, "</ol>\n");
}

static void car(GString *out, const struct page *page, const struct page_lane *lane)
{
    g_string_append(out, "<section class=\"car\">\n");
    element(out, "<h2><bdi>", lane->car, "</bdi> ");
    element(out, "<span class=\"owner\"><bdi>", lane->owner, "</bdi></span></h2>\n");
    svg_lane(out, page, lane);
    list(out, lane);
    g_string_append(out, "</section>\n");
}

static void foot(GString *out, const struct page *page)
{
    g_string_append(out, "<footer>Dates are estimates from labels, weather and driving, not a "
                         "guarantee.");
    if (page->idle) {
        g_string_append_printf(out, " Left out: %u car%s with nothing on %s that comes up.",
                               page->idle, page->idle == 1 ? "" : "s",
                               page->idle == 1 ? "it" : "them");
    }
    g_string_append(out, "</footer>\n");
}

char *page_write(const struct page *page)
{
    GString *out = g_string_new(NULL);
    head(out, page);
    svg_shared(out, page);
    g_string_append(out, "<main>\n");
    masthead(out, page);
    figures(out, page);
    overview(out, page);
    for (guint i = 0; i < page->lanes->len; i++) {
        car(out, page, &g_array_index(page->lanes, struct page_lane, i));
    }
    foot(out, page);
    g_string_append(out, "</main>\n</body>\n</html>\n");
    return g_string_free(out, FALSE);
}
