/*
 * Drawings without a width: what stands along the axis is placed in percent, what has a size
 * has it in pixels, so nothing is stretched on whatever it is shown. Beads and the axis are
 * drawn once and referred to.
 */
#include "rehearse_svg.h"

#include <math.h>

#include "beadline/text.h"

#define AXIS   18  /* pixels: labels above a lane */
#define BEAD   20  /* a row of beads */
#define PIECE  38  /* a protection: its name, its film, what wants doing */
#define MONTHS 92  /* the columns */
#define APART  4.6 /* percent: a bead's width on a telephone */
#define ROWS   4

void svg_text(GString *out, const char *text)
{
    g_autofree char *safe = bl_text_printable(text ? text : "");
    g_autofree char *escaped = g_markup_escape_text(safe, -1);
    g_string_append(out, escaped);
}

char svg_letter(enum bl_kind kind)
{
    return g_ascii_toupper(bl_kind_name(kind)[0]);
}

static void titled(GString *out, const char *text)
{
    g_string_append(out, "<title>");
    svg_text(out, text);
    g_string_append(out, "</title>");
}

/* --- what is shared
 * ---------------------------------------------------------------------------
 */

static void shared_beads(GString *out)
{
    for (int i = 0; i < BL_KINDS; i++) {
        enum bl_kind kind = (enum bl_kind)i;
        const char *name = bl_kind_name(kind);
        char letter = svg_letter(kind);
        g_string_append_printf(out,
                               "<g id=\"bead-%s\" class=\"bead k-%s\"><circle r=\"8\"/>"
                               "<text y=\"3.6\">%c</text></g>\n"
                               "<g id=\"hand-%s\" class=\"bead hand k-%s\"><circle r=\"7\"/>"
                               "<text y=\"3.6\">%c</text></g>\n",
                               name, name, letter, name, name, letter);
    }
    g_string_append(out, "<path id=\"lapse\" class=\"lapse\" d=\"M-4-4 4 4M-4 4 4-4\"/>\n");
}

static void axis_label(GString *out, const struct axis_unit *unit)
{
    g_string_append_printf(out, "<text class=\"%s%s%s\" x=\"%.3f%%\" dx=\"3\" y=\"11\">",
                           unit->wide ? "wide " : "", unit->narrow ? "narrow " : "",
                           unit->year ? "year" : "month", unit->place);
    svg_text(out, unit->label);
    g_string_append(out, "</text>");
}

static void axis_line(GString *out, const char *class, double place, int from)
{
    g_string_append_printf(
        out, "<line class=\"%s\" x1=\"%.3f%%\" x2=\"%.3f%%\" y1=\"%d\" y2=\"100%%\"/>", class,
        place, place, from);
}

static void shared_axis(GString *out, const struct page *page)
{
    g_autoptr(GArray) units = axis_units(&page->axis);
    g_string_append(out, "<g id=\"axis\" class=\"axis\">");
    for (guint i = 0; i < units->len; i++) {
        const struct axis_unit *unit = &g_array_index(units, struct axis_unit, i);
        axis_line(out,
                  unit->year     ? "year"
                  : unit->wide   ? "wide"
                  : unit->narrow ? "narrow"
                                 : "fine",
                  unit->place, 0);
        if (unit->wide || unit->narrow) {
            axis_label(out, unit);
        }
    }
    axis_line(out, "now", axis_place(&page->axis, page->now), AXIS - 4);
    g_string_append(out, "</g>\n");
}

void svg_shared(GString *out, const struct page *page)
{
    g_string_append(
        out, "<svg class=\"shared\" width=\"0\" height=\"0\" aria-hidden=\"true\"><defs>\n"
             "<linearGradient id=\"fade\"><stop class=\"full\" offset=\"0\"/>"
             "<stop class=\"worn\" offset=\"1\"/></linearGradient>\n"
             "<pattern id=\"cure\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\""
             " patternTransform=\"rotate(45)\"><rect class=\"wet\" width=\"2\""
             " height=\"5\"/></pattern>\n");
    shared_beads(out);
    shared_axis(out, page);
    g_string_append(out, "</defs></svg>\n");
}

void svg_bead(GString *out, enum bl_kind kind, bool by_hand)
{
    g_string_append_printf(
        out,
        "<svg class=\"inline\" width=\"18\" height=\"18\" viewBox=\"-9 -9 18 18\""
        " aria-hidden=\"true\"><use href=\"#%s-%s\"/></svg>",
        by_hand ? "hand" : "bead", bl_kind_name(kind));
}

/* --- messages by month
 * ------------------------------------------------------------------------
 */

/* How many messages go in a unit. */
struct tally {
    guint of[BL_KINDS], all;
};

/* struct tally of each unit. */
static GArray *count_months(const struct page *page, const GArray *units)
{
    GArray *tallies = g_array_new(FALSE, TRUE, sizeof(struct tally));
    g_array_set_size(tallies, units->len);
    guint unit = 0;
    for (guint i = 0; i < page->messages->len; i++) {
        const struct page_bead *bead = &g_array_index(page->messages, struct page_bead, i);
        while (unit + 1 < units->len &&
               g_array_index(units, struct axis_unit, unit + 1).from <= bead->at) {
            unit++;
        }
        struct tally *tally = &g_array_index(tallies, struct tally, unit);
        tally->of[bead->kind]++;
        tally->all++;
    }
    return tallies;
}

/* One column, stacked by kind from the ground up. */
static void column(GString *out, const struct tally *tally, double from, double to,
                   double scale)
{
    double top = MONTHS;
    double width = (to - from) * 0.72;
    double left = from + (to - from) * 0.14;
    for (int kind = 0; kind < BL_KINDS; kind++) {
        double height = tally->of[kind] * scale;
        if (tally->of[kind]) {
            top -= height;
            g_string_append_printf(out,
                                   "<rect class=\"k-%s\" x=\"%.3f%%\" width=\"%.3f%%\""
                                   " y=\"%.1f\" height=\"%.1f\"/>",
                                   bl_kind_name((enum bl_kind)kind), left, width, top, height);
        }
    }
    g_string_append_printf(out, "<text x=\"%.3f%%\" y=\"%.1f\">%u</text>\n", (from + to) / 2,
                           top - 4, tally->all);
}

void svg_months(GString *out, const struct page *page)
{
    g_autoptr(GArray) units = axis_units(&page->axis);
    g_autoptr(GArray) tallies = count_months(page, units);
    guint most = 1;
    for (guint i = 0; i < units->len; i++) {
        most = MAX(most, g_array_index(tallies, struct tally, i).all);
    }
    double scale = (MONTHS - AXIS - 16.0) / most;
    g_string_append_printf(out,
                           "<svg class=\"months%s\" width=\"100%%\" height=\"%d\" role=\"img\""
                           " aria-label=\"Messages along the time\"><use href=\"#axis\"/>\n",
                           units->len > 18 ? " many" : "", MONTHS);
    for (guint i = 0; i < units->len; i++) {
        double from = g_array_index(units, struct axis_unit, i).place;
        double to =
            i + 1 < units->len ? g_array_index(units, struct axis_unit, i + 1).place : 100;
        const struct tally *tally = &g_array_index(tallies, struct tally, i);
        if (tally->all) {
            column(out, tally, from, to, scale);
        }
    }
    g_string_append(out, "</svg>\n");
}

/* --- a lane
 * -----------------------------------------------------------------------------------
 */

static void bead(GString *out, const struct page_bead *one, double place, guint row)
{
    int y = AXIS + BEAD / 2;
    g_autofree char *title =
        g_strdup_printf("%s, %s: %s", one->when, bl_kind_name(one->kind), one->line);
    if (row) {
        g_string_append_printf(out,
                               "<line class=\"stem\" x1=\"%.3f%%\" x2=\"%.3f%%\" y1=\"%d\""
                               " y2=\"%d\"/>",
                               place, place, y, y + (int)row * BEAD - 8);
    }
    g_string_append_printf(out, "<use href=\"#%s-%s\" x=\"%.3f%%\" y=\"%d\">",
                           one->channel == BL_BY_HAND ? "hand" : "bead",
                           bl_kind_name(one->kind), place, y + (int)row * BEAD);
    titled(out, title);
    g_string_append(out, "</use>\n");
}

/* Where a lane's beads hang. */
struct strung {
    double *places;
    guint *rows;
    guint used; /* rows, at least one */
};

static struct strung string_up(const struct page *page, const struct page_lane *lane)
{
    guint count = lane->beads->len;
    struct strung strung = {g_new0(double, count + 1), g_new0(guint, count + 1), 1};
    for (guint i = 0; i < count; i++) {
        const struct page_bead *one = &g_array_index(lane->beads, struct page_bead, i);
        strung.places[i] = axis_place(&page->axis, one->at);
    }
    strung.used = MAX(1, axis_rows(strung.places, count, APART, ROWS, strung.rows));
    return strung;
}

static void strung_clear(struct strung *strung)
{
    g_free(strung->places);
    g_free(strung->rows);
}

/* The earliest lies on top. */
static void string_of_beads(GString *out, const struct page *page, const struct page_lane *lane,
                            const struct strung *strung)
{
    int y = AXIS + BEAD / 2;
    g_string_append_printf(out, "<line class=\"string\" x2=\"100%%\" y1=\"%d\" y2=\"%d\"/>\n",
                           y, y);
    for (guint i = 0; i < lane->lapses->len; i++) {
        const struct page_lapse *lapse = &g_array_index(lane->lapses, struct page_lapse, i);
        g_string_append_printf(out, "<use href=\"#lapse\" x=\"%.3f%%\" y=\"%d\"/>",
                               axis_place(&page->axis, lapse->first), y);
    }
    for (guint i = lane->beads->len; i > 0; i--) {
        bead(out, &g_array_index(lane->beads, struct page_bead, i - 1), strung->places[i - 1],
             strung->rows[i - 1]);
    }
}

/* A stretch of the axis as a bar; nothing when it has no length or lies outside. */
static void bar(GString *out, const struct axis *axis, const char *look, int64_t from,
                int64_t to, int y, int height)
{
    double left = axis_place(axis, from);
    double right = axis_place(axis, to);
    if (right <= left || right < 0 || left > 100) {
        return;
    }
    g_string_append_printf(out,
                           "<rect %s x=\"%.3f%%\" width=\"%.3f%%\" y=\"%d\" height=\"%d\"/>",
                           look, left, right - left, y, height);
}

static void mark(GString *out, const struct axis *axis, const char *class, int64_t at)
{
    double place = axis_place(axis, at);
    if (place >= 0 && place <= 100) {
        g_string_append_printf(out,
                               "<line class=\"%s\" x1=\"%.3f%%\" x2=\"%.3f%%\" y1=\"0\""
                               " y2=\"11\"/>",
                               class, place, place);
    }
}

/* The film on the car: whole, wearing out, and what it looks like while it cures. */
static void film(GString *out, const struct page *page, const struct page_piece *piece, int y)
{
    const struct axis *axis = &page->axis;
    int64_t early = MIN(piece->early, piece->ended);
    int64_t late = MIN(piece->late, piece->ended);
    g_string_append_printf(out, "<svg class=\"film\" y=\"%d\" width=\"100%%\" height=\"16\">",
                           y);
    bar(out, axis, "class=\"whole\"", piece->since, early, 1, 9);
    bar(out, axis, "fill=\"url(#fade)\"", early, late, 1, 9);
    bar(out, axis, "fill=\"url(#cure)\"", piece->since, MIN(piece->cured, piece->ended), 1, 9);
    if (piece->likely <= piece->ended) {
        mark(out, axis, "likely", piece->likely);
    }
    mark(out, axis, "ended", piece->ended);
    /* Tips above offers: one often falls into the other's time. */
    for (guint i = 0; i < piece->spans->len; i++) {
        const struct page_span *span = &g_array_index(piece->spans, struct page_span, i);
        g_autofree char *look = g_strdup_printf("class=\"k-%s\"", bl_kind_name(span->kind));
        bool tip = bl_kind_class(span->kind) == BL_TIPS;
        bar(out, axis, look, span->from, span->to, tip ? 11 : 14, 3);
    }
    g_string_append(out, "</svg>\n");
}

/* At the lane's right end, if there is anything to say. */
static void end_words(GString *out, const char *class, const char *words, int y)
{
    if (!words) {
        return;
    }
    g_string_append_printf(out, "<text class=\"%s\" x=\"100%%\" y=\"%d\">", class, y);
    svg_text(out, words);
    g_string_append(out, "</text>");
}

/* What it is called leaves room for when it ends. */
static void piece_name(GString *out, const struct page_piece *piece, int y)
{
    g_string_append_printf(out,
                           "<svg class=\"name\" y=\"%d\" width=\"70%%\" height=\"18\">"
                           "<text class=\"name\" y=\"13\">",
                           y);
    svg_text(out, piece->title);
    g_string_append(out, " <tspan class=\"place\">");
    svg_text(out, piece->place);
    g_string_append(out, "</tspan></text></svg>");
}

static void piece_of(GString *out, const struct page *page, const struct page_piece *piece,
                     int y)
{
    g_autofree char *title =
        g_strdup_printf("%s %s%s%s", piece->title, piece->place, piece->life ? ": " : "",
                        piece->life ? piece->life : "");
    g_string_append(out, "<g>");
    titled(out, title);
    end_words(out, "life", piece->life, y + 13);
    end_words(out, "life brief", piece->brief, y + 13);
    piece_name(out, piece, y);
    film(out, page, piece, y + 18);
    g_string_append(out, "</g>\n");
}

void svg_lane(GString *out, const struct page *page, const struct page_lane *lane)
{
    struct strung strung = string_up(page, lane);
    int y = AXIS + BEAD * (int)strung.used + 4;
    g_string_append_printf(
        out,
        "<svg class=\"lane\" width=\"100%%\" height=\"%d\" role=\"img\""
        " aria-label=\"What is on the car, and its messages, along the time\">"
        "<use href=\"#axis\"/>\n",
        y + PIECE * (int)lane->pieces->len);
    string_of_beads(out, page, lane, &strung);
    for (guint i = 0; i < lane->pieces->len; i++) {
        piece_of(out, page, &g_array_index(lane->pieces, struct page_piece, i), y);
        y += PIECE;
    }
    g_string_append(out, "</svg>\n");
    strung_clear(&strung);
}

/* Its axis is a scale of 0 to 100 seconds. */
void svg_sample(GString *out)
{
    struct page page = {.axis = {.last = 100}};
    const struct page_piece piece = {.since = 0,
                                     .cured = 18,
                                     .early = 60,
                                     .likely = 80,
                                     .late = 98,
                                     .ended = BL_NEVER,
                                     .spans =
                                         g_array_new(FALSE, FALSE, sizeof(struct page_span))};
    g_string_append(out,
                    "<svg class=\"sample\" width=\"110\" height=\"16\" aria-hidden=\"true\">");
    film(out, &page, &piece, 0);
    g_string_append(out, "</svg>");
    g_array_unref(piece.spans);
}
