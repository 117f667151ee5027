/* How things are said, and how what was typed finds the thing meant. */
#include "say.h"

#include <math.h>
#include <string.h>

#include "beadline/lookup.h"
#include "beadline/text.h"

#define FARTHEST    9999999 /* of the shop's unit: what no instrument shows */
#define LEAST_WORD  4       /* letters; a shorter word is near to too many */
#define FOUND_SHOWN 12      /* candidates listed when a name is ambiguous */

static const char *const days[] = {"", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
static const char *const months[] = {"",    "Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

static const struct bl_zone *zone_of(const struct context *context)
{
    return context->world->settings->shop.zone;
}

const char *say_month(int month)
{
    g_assert(month >= 1 && month <= 12);
    return months[month];
}

char *say_date(const struct context *context, int32_t date)
{
    int year, month, day, this_year, unused;
    if (date == BL_NO_DATE) {
        return g_strdup("");
    }
    bl_date_split(date, &year, &month, &day);
    bl_date_split(bl_zone_date(zone_of(context), context->now), &this_year, &unused, &unused);
    if (year == this_year) {
        return g_strdup_printf("%s %d %s", days[bl_date_weekday(date)], day, months[month]);
    }
    return say_full_date(date);
}

char *say_full_date(int32_t date)
{
    int year, month, day;
    if (date == BL_NO_DATE) {
        return g_strdup("");
    }
    bl_date_split(date, &year, &month, &day);
    return g_strdup_printf("%s %d %s %d", days[bl_date_weekday(date)], day, months[month],
                           year);
}

static bool is_there(int64_t at)
{
    return at != 0 && at != BL_NEVER;
}

char *say_full_day(const struct context *context, int64_t at)
{
    return say_full_date(is_there(at) ? bl_zone_date(zone_of(context), at) : BL_NO_DATE);
}

char *say_day(const struct context *context, int64_t at)
{
    return say_date(context, is_there(at) ? bl_zone_date(zone_of(context), at) : BL_NO_DATE);
}

/* The day with its time behind it. */
static char *with_time(const struct context *context, const char *day, int64_t at)
{
    int32_t seconds = bl_zone_seconds(zone_of(context), at);
    return is_there(at)
               ? g_strdup_printf("%s %02d:%02d", day, seconds / 3600, seconds / 60 % 60)
               : g_strdup("");
}

char *say_at(const struct context *context, int64_t at)
{
    g_autofree char *day = say_day(context, at);
    return with_time(context, day, at);
}

char *say_moment(const struct context *context, int64_t at)
{
    g_autofree char *day = say_full_day(context, at);
    return with_time(context, day, at);
}

char *say_span(const struct context *context, int64_t first, int64_t last)
{
    g_autofree char *from = say_day(context, first);
    g_autofree char *to = say_day(context, last);
    bool one = !*from || !*to || strcmp(from, to) == 0;
    return one ? g_strdup(to) : g_strdup_printf("%s to %s", from, to);
}

char *say_distance(const struct context *context, double km)
{
    bool miles = context->world->settings->shop.miles;
    if (!isfinite(km)) {
        return g_strdup("");
    }
    int64_t whole = llround(miles ? km / BL_KM_A_MILE : km);
    const char *unit = miles ? "miles" : "km";
    if (whole >= 10000) {
        return g_strdup_printf("%" G_GINT64_FORMAT " %03d %s", whole / 1000,
                               (int)(whole % 1000), unit);
    }
    return g_strdup_printf("%" G_GINT64_FORMAT " %s", whole, unit);
}

/* The factor to km of the unit that follows the digits; 0 when it is none. "k" alone is no unit
 * but thousands of the shop's own: nobody who says "30k" of a car means thirty. */
static double unit_factor(const struct context *context, const char *unit)
{
    const double own = context->world->settings->shop.miles ? BL_KM_A_MILE : 1;
    static const struct {
        const char *name;
        double km;
    } units[] = {
        {"km", 1}, {"mi", BL_KM_A_MILE}, {"mile", BL_KM_A_MILE}, {"miles", BL_KM_A_MILE}};
    if (!*unit) {
        return own;
    }
    if (g_ascii_strcasecmp(unit, "k") == 0) {
        return 1000 * own;
    }
    for (gsize i = 0; i < G_N_ELEMENTS(units); i++) {
        if (g_ascii_strcasecmp(unit, units[i].name) == 0) {
            return units[i].km;
        }
    }
    return 0;
}

/* Digits without the separators people write between thousands. */
static char *digits_of(const char *text, const char **rest)
{
    g_autoptr(GString) digits = g_string_new(NULL);
    const char *at = text;
    for (; g_ascii_isdigit(*at) || strchr(" ,.'", *at); at++) {
        if (!*at) {
            break;
        }
        if (g_ascii_isdigit(*at)) {
            g_string_append_c(digits, *at);
        }
    }
    *rest = at;
    return g_strdup(digits->str);
}

/* "12.5" must not become 125: a separator stands before exactly three digits. */
static bool thousands_only(const char *text)
{
    for (const char *at = text; *at; at++) {
        if (strchr(",.'", *at) && strspn(at + 1, "0123456789") != 3) {
            return false;
        }
    }
    return true;
}

bool say_read_distance(const struct context *context, const char *text, double *km,
                       GError **error)
{
    const char *rest = NULL;
    g_autofree char *trimmed = g_strstrip(g_strdup(text));
    g_autofree char *digits = digits_of(trimmed, &rest);
    double factor = unit_factor(context, rest);
    double read = g_ascii_strtod(digits, NULL) * factor;
    if (!g_ascii_isdigit(trimmed[0]) || factor == 0 ||
        read > FARTHEST * unit_factor(context, "") || !thousands_only(trimmed)) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                    "\"%s\" is not a distance: write whole %s, such as 48210 or \"48 210 km\"",
                    text, context->world->settings->shop.miles ? "miles" : "kilometres");
        return false;
    }
    *km = read;
    return true;
}

char *say_car(const char *name, const char *plate)
{
    return name && *name ? g_strdup_printf("%s (%s)", name, plate) : g_strdup(plate);
}

static void set_ambiguous(const GArray *found, const char *what, const char *name,
                          GError **error)
{
    g_autoptr(GString) list = g_string_new(NULL);
    for (guint i = 0; i < found->len && i < FOUND_SHOWN; i++) {
        const struct bl_found *one = &g_array_index(found, struct bl_found, i);
        g_string_append_printf(list, "%s#%" G_GINT64_FORMAT " %s", i ? ", " : "", one->id,
                               one->label);
    }
    if (found->len > FOUND_SHOWN) {
        g_string_append_printf(list, " and %u more", found->len - FOUND_SHOWN);
    }
    g_set_error(error, BL_ERROR, BL_ERROR_INPUT,
                "\"%s\" could be %u %ss: %s; name it by its number, as in \"beadline show %s "
                "'#%" G_GINT64_FORMAT "'\"",
                name, found->len, what, list->str, what,
                g_array_index(found, struct bl_found, 0).id);
}

/* What could have been meant: keys as they are searched by, and the name each belongs to. */
struct known {
    GPtrArray *keys, *names;
};

static struct known known_new(void)
{
    return (struct known){g_ptr_array_new_with_free_func(g_free),
                          g_ptr_array_new_with_free_func(g_free)};
}

static void known_key(struct known *known, char *key, const char *name)
{
    g_ptr_array_add(known->keys, key);
    g_ptr_array_add(known->names, g_strdup(name));
}

/* A name is known whole and by each of its longer words, since people type one of them. */
static void known_name(struct known *known, const char *name)
{
    g_autofree char *bare = bl_text_search(name ? name : "");
    g_auto(GStrv) words = g_strsplit(bare, " ", -1);
    if (!*bare) {
        return;
    }
    known_key(known, g_strdup(bare), name);
    for (guint i = 0; words[0] && words[1] && words[i]; i++) {
        if (g_utf8_strlen(words[i], -1) >= LEAST_WORD) {
            known_key(known, g_strdup(words[i]), name);
        }
    }
}

/* The known name nearest to what was typed, or NULL. Ends known. Caller frees. */
static char *known_nearest(struct known *known, const char *typed)
{
    g_autofree char *bare = bl_text_search(typed);
    guint place = 0;
    g_ptr_array_add(known->keys, NULL);
    const char *near = bl_text_nearest(bare, (const char *const *)known->keys->pdata);
    char *name = near && g_ptr_array_find(known->keys, near, &place)
                     ? bl_text_printable(g_ptr_array_index(known->names, place))
                     : NULL;
    g_ptr_array_unref(known->keys);
    g_ptr_array_unref(known->names);
    return name;
}

static char *nearest_customer(const struct context *context, const char *typed)
{
    struct known known = known_new();
    g_autoptr(GArray) rows = bl_customer_list(context->store, NULL);
    for (guint i = 0; rows && i < rows->len; i++) {
        known_name(&known, g_array_index(rows, struct bl_customer_row, i).name);
    }
    return known_nearest(&known, typed);
}

static char *nearest_car(const struct context *context, const char *typed)
{
    struct known known = known_new();
    g_autoptr(GArray) rows = bl_car_list(context->store, 0, NULL);
    for (guint i = 0; rows && i < rows->len; i++) {
        const struct bl_car_row *car = &g_array_index(rows, struct bl_car_row, i);
        known_key(&known, bl_text_plate(car->plate), car->plate);
        known_name(&known, car->name);
    }
    return known_nearest(&known, typed);
}

static void set_missing(const char *what, const char *name, const char *near, GError **error)
{
    g_set_error(error, BL_ERROR, BL_ERROR_MISSING,
                "no %s \"%s\": %s%s%s\"beadline list %ss\" shows them", what, name,
                near ? "did you mean \"" : "", near ? near : "", near ? "\"? " : "", what);
}

/* The one thing found, or an error. Takes over found. */
static bool choose(GArray *found, const char *what, const char *name, int64_t *id,
                   GError **error)
{
    bool one = found->len == 1;
    if (one) {
        *id = g_array_index(found, struct bl_found, 0).id;
    } else {
        set_ambiguous(found, what, name, error);
    }
    bl_found_free_all(found);
    return one;
}

bool say_find_car(struct context *context, const char *name, int64_t *id, GError **error)
{
    GArray *found = bl_car_find(context->store, name, error);
    if (found && found->len == 0) {
        g_autofree char *near = nearest_car(context, name);
        set_missing("car", name, near, error);
        g_clear_pointer(&found, bl_found_free_all);
    }
    return found && choose(found, "car", name, id, error);
}

/* Two of one name differ by their number or mail address: the labels say it. Frees found when a
 * customer cannot be read. */
static bool tell_apart(struct context *context, GArray *found, GError **error)
{
    for (guint i = 0; found->len > 1 && i < found->len; i++) {
        struct bl_found *one = &g_array_index(found, struct bl_found, i);
        struct bl_customer_row row = {0};
        if (!bl_customer_get(context->store, one->id, &row, error)) {
            bl_found_free_all(found);
            return false;
        }
        const char *address = row.phone ? row.phone : row.mail;
        g_free(one->label);
        one->label = g_strdup_printf("%s (%s)", row.name, address ? address : "no address");
        bl_customer_row_clear(&row);
    }
    return true;
}

/* What finds a customer: the name as typed, and as a number or mail address in its stored form.
 */
bool say_find_customer(struct context *context, const char *name, int64_t *id, GError **error)
{
    GArray *found = bl_customer_find(context->store, name, error);
    if (found && found->len == 0) {
        g_autofree char *phone =
            bl_phone_e164(name, &context->world->settings->shop.home, NULL);
        g_autofree char *mail = strchr(name, '@') ? bl_mail_normal(name, NULL) : NULL;
        const char *address = mail ? mail : phone;
        if (address) {
            bl_found_free_all(found);
            found = bl_customer_find(context->store, address, error);
        }
    }
    if (found && found->len == 0) {
        g_autofree char *near = nearest_customer(context, name);
        set_missing("customer", name, near, error);
        g_clear_pointer(&found, bl_found_free_all);
    }
    return found && tell_apart(context, found, error) &&
           choose(found, "customer", name, id, error);
}

bool say_is_plate(struct context *context, const char *name)
{
    g_autofree char *key = bl_text_plate(name);
    g_autoptr(GArray) cars = name[0] == '#' ? NULL : bl_car_list(context->store, 0, NULL);
    for (guint i = 0; cars && i < cars->len; i++) {
        const struct bl_car_row *car = &g_array_index(cars, struct bl_car_row, i);
        g_autofree char *plate = bl_text_plate(car->plate);
        if (strcmp(plate, key) == 0 && car->gone_at == BL_NEVER) {
            return true;
        }
    }
    return false;
}

bool say_read_id(const char *text, const char *what, int64_t *id, GError **error)
{
    guint64 number = 0;
    const char *digits = text[0] == '#' ? text + 1 : text;
    if (!g_ascii_string_to_unsigned(digits, 10, 1, G_MAXINT64, &number, NULL)) {
        g_set_error(error, BL_ERROR, BL_ERROR_INPUT, "\"%s\" is no %s number: write 12 or #12",
                    text, what);
        return false;
    }
    *id = (int64_t)number;
    return true;
}

char *say_life(const double span[2])
{
    bool years = span[0] >= 2 * BL_YEAR_DAYS;
    double unit = years ? BL_YEAR_DAYS : 1;
    const char *name = years ? "years" : "days";
    if (!isfinite(span[1]) || span[1] <= 0) {
        return g_strdup("");
    }
    double lo = round(span[0] / unit * 10) / 10;
    double hi = round(span[1] / unit * 10) / 10;
    return lo == hi ? g_strdup_printf("%.4g %s", hi, name)
                    : g_strdup_printf("%.4g to %.4g %s", lo, hi, name);
}
