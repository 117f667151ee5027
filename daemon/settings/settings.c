/* The settings, from the file's name to a checked whole: read by the table, held against each
 * other, and handed over only without a fault. A reload that fails leaves the old ones alone,
 * since nothing is changed in place. */
#include "beadline/settings.h"

#include <math.h>
#include <string.h>

#include "beadline/address.h"
#include "draft.h"

#define EIGHT (8 * 3600)
#define NINE  (21 * 3600)

static void clear_settings(struct bl_settings *settings)
{
    g_free(settings->file);
    bl_shop_clear(&settings->shop);
    g_free(settings->database);
    g_free(settings->catalogue);
    g_free(settings->templates);
    for (guint i = 0; settings->gateways && i < settings->gateways->len; i++) {
        bl_gateway_clear(&g_array_index(settings->gateways, struct bl_gateway, i));
    }
    g_clear_pointer(&settings->gateways, g_array_unref);
}

void bl_settings_free(struct bl_settings *settings)
{
    if (settings) {
        clear_settings(settings);
        g_free(settings);
    }
}

void draft_resolve(const struct draft *draft, const struct config_setting_t *place,
                   const char *subject, const char *name, char **path)
{
    if (!*path) {
        return;
    }
    if (**path == '~') {
        bl_conf_fault(draft->conf, place,
                      "%s\"%s\": \"~\" means nothing here: write the whole path", subject,
                      name);
    }
    char *whole = g_canonicalize_filename(*path, draft->folder);
    g_free(*path);
    *path = whole;
}

/* One that means nothing is no place to look for the next file. */
static void resolve_path(struct draft *draft, const char *name, char **path)
{
    bool homeward = *path && **path == '~';
    draft_resolve(draft, bl_conf_at(draft->conf, name), "", name, path);
    if (homeward) {
        g_clear_pointer(path, g_free);
    }
}

static void resolve_paths(struct draft *draft)
{
    struct bl_settings *settings = &draft->settings;
    resolve_path(draft, "database", &settings->database);
    resolve_path(draft, "catalogue", &settings->catalogue);
    resolve_path(draft, "templates", &settings->templates);
}

/* Outside 08:00-21:00 only on the owner's word: the hours of 47 CFR 64.1200(c)(1). */
static void check_day(struct draft *draft, int weekday)
{
    static const char *const paths[] = {
        NULL,           "hours.monday",   "hours.tuesday", "hours.wednesday", "hours.thursday",
        "hours.friday", "hours.saturday", "hours.sunday"};
    const struct draft_day *day = &draft->week[weekday];
    bool none = day->open == day->close;
    if (!none && !draft->hours_wide && (day->open < EIGHT || day->close > NINE)) {
        bl_conf_fault(draft->conf, bl_conf_at(draft->conf, paths[weekday]),
                      "\"%s\": before 08:00 or after 21:00: change it, or say "
                      "outside_eight_to_nine = true beside it",
                      paths[weekday]);
    }
    draft->settings.shop.hours.open[weekday] = day->open;
    draft->settings.shop.hours.close[weekday] = day->close;
}

static void check_hours(struct draft *draft, bool read_well)
{
    bool any = false;
    for (int weekday = 1; weekday <= 7; weekday++) {
        check_day(draft, weekday);
        any = any || draft->week[weekday].open != draft->week[weekday].close;
    }
    if (!any && read_well) {
        bl_conf_fault(draft->conf, bl_conf_at(draft->conf, "hours"),
                      "\"hours\": no day has any: no message could ever leave");
    }
}

static void check_phone(struct draft *draft)
{
    struct bl_shop *shop = &draft->settings.shop;
    const struct bl_phone_home *home = &shop->home;
    if (home->calling_code && home->calling_code[0] == '0') {
        bl_conf_fault(
            draft->conf, bl_conf_at(draft->conf, "phone.calling_code"),
            "\"phone.calling_code\": a calling code has no zero in front: \"44\", not "
            "\"0044\"");
        return;
    }
    if (!shop->phone || !home->calling_code || !home->trunk || !home->exit_code) {
        return;
    }
    g_autoptr(GError) error = NULL;
    char *number = bl_phone_e164(shop->phone, home, &error);
    if (!number) {
        bl_conf_fault(draft->conf, bl_conf_at(draft->conf, "shop.phone"), "\"shop.phone\": %s",
                      error->message);
        return;
    }
    g_free(shop->phone);
    shop->phone = number;
}

static void check_retry(const struct draft *draft)
{
    const struct bl_settings *settings = &draft->settings;
    if (settings->retry_first_s > settings->retry_longest_s && settings->retry_longest_s > 0) {
        bl_conf_fault(draft->conf, bl_conf_at(draft->conf, "retry"),
                      "\"retry\": the first wait, %d s, is more than the longest, %d s",
                      settings->retry_first_s, settings->retry_longest_s);
    }
}

static void convert(struct draft *draft)
{
    struct bl_shop *shop = &draft->settings.shop;
    bool said = bl_conf_at(draft->conf, "distance_a_year") != NULL;
    shop->km_a_year = draft->distance * (said && shop->miles ? BL_KM_A_MILE : 1.0);
    shop->has_climate = !isnan(shop->climate_c[0]);
    if (!shop->has_climate) {
        memset(shop->climate_c, 0, sizeof shop->climate_c);
    }
}

static void read_draft(struct draft *draft, const struct bl_faults *faults)
{
    guint before = bl_faults_count(faults);
    struct bl_fill fill = {.subject = "", .base = draft};
    fill.fields = option_fields(&fill.count);
    bl_conf_fill(draft->conf, bl_conf_root(draft->conf), "", &fill);
    check_hours(draft, bl_faults_count(faults) == before);
    check_phone(draft);
    check_retry(draft);
    resolve_paths(draft);
    convert(draft);
    draft_gateways(draft);
}

/* What could be read, faulty or not. */
static struct bl_settings *from_conf(const struct bl_conf *conf, const char *file,
                                     const struct bl_faults *faults)
{
    struct draft draft = {.conf = conf};
    draft.settings.file = g_canonicalize_filename(file, NULL);
    draft.settings.gateways = g_array_new(FALSE, TRUE, sizeof(struct bl_gateway));
    for (int channel = 0; channel < BL_CHANNELS; channel++) {
        draft.settings.carries[channel] = -1;
    }
    draft.settings.shop.climate_c[0] = NAN;
    draft.folder = g_path_get_dirname(draft.settings.file);
    read_draft(&draft, faults);
    g_free(draft.folder);
    g_free(draft.carry[BL_SMS]);
    g_free(draft.carry[BL_MAIL]);
    return g_memdup2(&draft.settings, sizeof draft.settings);
}

struct bl_settings *bl_settings_read(const char *file, struct bl_faults *faults)
{
    BL_AUTO(bl_conf) *conf = bl_conf_read(file, faults);
    return conf ? from_conf(conf, file, faults) : NULL;
}

/* Takes over read. */
static struct bl_settings *faultless(struct bl_settings *read, guint before,
                                     const struct bl_faults *faults)
{
    if (bl_faults_count(faults) > before) {
        g_clear_pointer(&read, bl_settings_free);
    }
    return read;
}

struct bl_settings *bl_settings_load(const char *file, struct bl_faults *faults)
{
    guint before = bl_faults_count(faults);
    return faultless(bl_settings_read(file, faults), before, faults);
}

struct bl_settings *bl_settings_parse(const char *text, gsize length, const char *file,
                                      struct bl_faults *faults)
{
    guint before = bl_faults_count(faults);
    BL_AUTO(bl_conf) *conf = bl_conf_parse(text, length, file, faults);
    return conf ? faultless(from_conf(conf, file, faults), before, faults) : NULL;
}

const struct bl_gateway *bl_settings_carrier(const struct bl_settings *settings,
                                             enum bl_channel channel)
{
    int i = settings->carries[channel];
    return i < 0 ? NULL : &g_array_index(settings->gateways, struct bl_gateway, i);
}
