/* A realistic customer for reading letters, made by hand. */
#include "realistic.h"

#include <math.h>

#include "beadline/compose.h"

static struct bl_rule *coating(struct realistic *one)
{
    struct bl_rule *rule =
        driveway_rule(&one->driveway, "Three-year coating", BL_PAINT, BL_BASE);
    driveway_title(rule, "de", "Drei-Jahres-Beschichtung");
    rule->cure.drive_h = 1;
    rule->cure.dry_h = 24;
    rule->cure.rinse_days = 7;
    rule->cure.wash_days[0] = 14;
    rule->cure.wash_days[1] = 21;
    rule->cure.longest_days = 31.5;
    rule->again = BL_AGAIN_SHOP;
    rule->care.what = g_strdup("topper");
    rule->care.interval_days = 90;
    rule->care.by_customer = true;
    rule->wash =
        (g_strfreev(rule->wash), driveway_words("two buckets", "soft mitt", "no brushes",
                                                "mild shampoo", "dry towel", NULL));
    return rule;
}

static struct bl_rule *windscreen(struct realistic *one)
{
    struct bl_rule *rule =
        driveway_rule(&one->driveway, "Windscreen coating", BL_WINDSCREEN, BL_BASE);
    driveway_title(rule, "de", "Frontscheiben-Beschichtung");
    rule->cure.wiper_h = 12;
    rule->cure.dry_h = 12;
    rule->cautions = (g_strfreev(rule->cautions),
                      driveway_words("clear windscreen", "no ammonia", "no abrasive", NULL));
    rule->care.what = g_strdup("glass cleaner");
    rule->care.interval_days = 28;
    rule->care.by_customer = true;
    return rule;
}

static struct bl_rule *wheels(struct realistic *one)
{
    struct bl_rule *rule = driveway_rule(&one->driveway, "Wheel spray", BL_WHEELS, BL_BASE);
    driveway_title(rule, "de", "Felgen-Sprühversiegelung");
    rule->again = BL_AGAIN_CUSTOMER;
    rule->cautions =
        (g_strfreev(rule->cautions), driveway_words("try brakes", "not on brakes", NULL));
    rule->wash = (g_strfreev(rule->wash), driveway_words("no strong cleaners", NULL));
    return rule;
}

static void put_the_rest(struct realistic *one)
{
    static const struct {
        const char *title, *german;
        enum bl_surface surface;
        enum bl_role role;
    } rest[] = {
        {"Glass coating", "Glasbeschichtung", BL_GLASS, BL_BASE},
        {"Trim protectant", "Kunststoffschutz", BL_TRIM, BL_BASE},
        {"Tyre dressing", "Reifenpflege", BL_TYRES, BL_DRESSING},
        {"Leather protection", "Lederschutz", BL_LEATHER, BL_BASE},
        {"Topper", "Auffrischer", BL_PAINT, BL_TOPPER},
    };
    for (guint i = 0; i < G_N_ELEMENTS(rest); i++) {
        struct bl_rule *rule =
            driveway_rule(&one->driveway, rest[i].title, rest[i].surface, rest[i].role);
        driveway_title(rule, "de", rest[i].german);
        driveway_put(&one->driveway, one->estate_job, rule);
    }
}

void realistic_open(struct realistic *one)
{
    driveway_open(&one->driveway);
    one->estate = driveway_car(&one->driveway, "AB12 CDE", "blue estate");
    one->small = driveway_car(&one->driveway, "XY34 ZZZ", NULL);
    one->estate_job = driveway_job(&one->driveway, one->estate, "2026-03-12 15:40");
    one->small_job = driveway_job(&one->driveway, one->small, "2026-03-12 17:10");
    one->coating = driveway_put(&one->driveway, one->estate_job, coating(one));
    driveway_put(&one->driveway, one->estate_job, windscreen(one));
    one->wheel_spray = driveway_put(&one->driveway, one->estate_job, wheels(one));
    put_the_rest(one);
    struct bl_rule *wax = driveway_rule(&one->driveway, "Wax", BL_PAINT, BL_BASE);
    driveway_title(wax, "de", "Wachs");
    one->small_wax = driveway_put(&one->driveway, one->small_job, wax);
    struct bl_car *estate = driveway_find(&one->driveway, one->estate);
    g_array_index(estate->treatments, struct bl_treatment, 0).coats = 2;
}

void realistic_close(struct realistic *one)
{
    driveway_close(&one->driveway);
}

struct bl_due realistic_due(const struct realistic *one, enum bl_kind kind, int64_t car,
                            int64_t job)
{
    (void)one;
    return (struct bl_due){
        .kind = kind,
        .subject = job,
        .car = car,
        .job = job,
        .early = BL_NEVER,
        .likely = BL_NEVER,
        .late = BL_NEVER,
        .km_a_day = NAN,
        .speed = NAN,
    };
}

struct bl_due realistic_top_up(const struct realistic *one, int64_t car, int64_t treatment,
                               const char *early, const char *late)
{
    struct bl_due due = realistic_due(one, BL_TOP_UP, car, 0);
    due.subject = due.treatment = treatment;
    due.early = driveway_at(&one->driveway, early);
    due.late = driveway_at(&one->driveway, late);
    due.likely = (due.early + due.late) / 2;
    return due;
}

struct bl_material realistic_material(const struct realistic *one, enum bl_kind kind,
                                      enum bl_channel channel, const struct bl_due *const *dues,
                                      const char *now)
{
    return (struct bl_material){
        .shop = &one->driveway.shop,
        .facts = &one->driveway.facts,
        .dues = dues,
        .kind = kind,
        .channel = channel,
        .key = "0123456789abcdef0123456789abcdef",
        .now = driveway_at(&one->driveway, now),
    };
}
