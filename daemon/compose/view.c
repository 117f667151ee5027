/*
 * From what a message says to the values its template is filled with. Every name is always set,
 * empty where there is nothing to say, so a template's {{#name}} decides; and the strict
 * check's example goes through the very same functions.
 */
#include "said.h"

#include "beadline/mustache.h"

const enum bl_kind bl_view_kinds[] = {BL_HANDOVER, BL_WASH,      BL_CARE, BL_MILEAGE,
                                      BL_TOP_UP,   BL_LOOK_OVER, BL_KINDS};

static void set_text(struct bl_value *map, const char *name, const char *text)
{
    bl_value_set(map, name, bl_value_text(text));
}

static void set_flag(struct bl_value *map, const char *name, bool yes)
{
    bl_value_set(map, name, bl_value_bool(yes));
}

/* A number above `least`, else empty. */
static void set_number(struct bl_value *map, const char *name, int number, int least)
{
    g_autofree char *text = number > least ? g_strdup_printf("%d", number) : NULL;
    set_text(map, name, text);
}

/* Where an item stands in its list: what puts the commas. */
static void set_place(struct bl_value *map, guint i, guint count)
{
    set_flag(map, "first", i == 0);
    set_flag(map, "last", i + 1 == count);
}

static struct bl_value *list_of_texts(const GPtrArray *texts)
{
    struct bl_value *list = bl_value_list();
    for (guint i = 0; i < texts->len; i++) {
        struct bl_value *item = bl_value_map();
        set_text(item, "text", g_ptr_array_index(texts, i));
        set_place(item, i, texts->len);
        bl_value_append(list, item);
    }
    return list;
}

static struct bl_value *list_of_pieces(const GPtrArray *pieces, bool ending)
{
    struct bl_value *list = bl_value_list();
    for (guint i = 0; i < pieces->len; i++) {
        const struct bl_piece *piece = g_ptr_array_index(pieces, i);
        struct bl_value *item = bl_value_map();
        set_text(item, "title", piece->title);
        set_text(item, "surface", piece->surface);
        set_text(item, "part", piece->part);
        set_place(item, i, pieces->len);
        if (ending) {
            set_text(item, "when", piece->when);
            set_text(item, "how", piece->how);
        } else {
            set_number(item, "coats", piece->coats, 1);
        }
        bl_value_append(list, item);
    }
    return list;
}

static struct bl_value *list_of_cares(const GArray *cares)
{
    struct bl_value *list = bl_value_list();
    for (guint i = 0; i < cares->len; i++) {
        const struct bl_care_said *care = &g_array_index(cares, struct bl_care_said, i);
        struct bl_value *item = bl_value_map();
        set_text(item, "text", care->text);
        set_number(item, "weeks", care->weeks, 1);
        set_flag(item, "weekly", care->weeks == 1);
        set_place(item, i, cares->len);
        bl_value_append(list, item);
    }
    return list;
}

static void handover_car(struct bl_value *map, const struct bl_subject *car)
{
    set_flag(map, "treated", car->went_on->len > 0);
    bl_value_set(map, "went_on", list_of_pieces(car->went_on, false));
    set_number(map, "count", (int)car->went_on->len, 0);
    set_text(map, "plate", car->plate);
    set_text(map, "finished", car->finished);
    set_text(map, "parked_until", car->parked);
    set_text(map, "dry_until", car->dry);
    set_text(map, "rinse_from", car->rinse);
    set_text(map, "wipers_until", car->wipers);
    set_text(map, "wash_from", car->wash);
    set_flag(map, "waiting", car->parked || car->dry || car->rinse || car->wipers || car->wash);
    set_flag(map, "off_label", car->off_label);
    set_flag(map, "replaces", car->replaces && car->wash);
}

static void handover_all(struct bl_value *map, const struct bl_said *said)
{
    bool waiting = false;
    for (guint i = 0; i < said->cars->len; i++) {
        const struct bl_subject *car = g_ptr_array_index(said->cars, i);
        waiting = waiting || car->wash;
    }
    set_flag(map, "curing", waiting);
    set_flag(map, "any_wash", said->wash->len > 0);
    bl_value_set(map, "wash", list_of_texts(said->wash));
    set_flag(map, "any_cares", said->cares->len > 0);
    bl_value_set(map, "cares", list_of_cares(said->cares));
    bl_value_set(map, "cautions", list_of_texts(said->cautions));
}

/* Nothing but its name. */
static void only_car(struct bl_value *map, const struct bl_subject *car)
{
    (void)map, (void)car;
}

static void wash_all(struct bl_value *map, const struct bl_said *said)
{
    set_flag(map, "any_wash", said->wash->len > 0);
    bl_value_set(map, "wash", list_of_texts(said->wash));
    set_flag(map, "asking", said->asking);
}

static void wanting_car(struct bl_value *map, const struct bl_subject *car)
{
    bl_value_set(map, "wants", list_of_pieces(car->wants, false));
}

static void care_all(struct bl_value *map, const struct bl_said *said)
{
    bl_value_set(map, "cares", list_of_cares(said->cares));
    bl_value_set(map, "cautions", list_of_texts(said->cautions));
    set_flag(map, "asking", said->asking);
}

static void mileage_all(struct bl_value *map, const struct bl_said *said)
{
    (void)map, (void)said;
}

static void look_over_all(struct bl_value *map, const struct bl_said *said)
{
    set_flag(map, "asking", said->asking);
}

static void top_up_car(struct bl_value *map, const struct bl_subject *car)
{
    set_flag(map, "any_by_us", car->by_us->len > 0);
    bl_value_set(map, "by_us", list_of_pieces(car->by_us, true));
    set_flag(map, "any_by_you", car->by_you->len > 0);
    bl_value_set(map, "by_you", list_of_pieces(car->by_you, true));
}

static void top_up_all(struct bl_value *map, const struct bl_said *said)
{
    bool us = false;
    bool you = false;
    for (guint i = 0; i < said->cars->len; i++) {
        const struct bl_subject *car = g_ptr_array_index(said->cars, i);
        us = us || car->by_us->len > 0;
        you = you || car->by_you->len > 0;
    }
    set_flag(map, "arrange", us);
    set_flag(map, "yourself", you);
    set_flag(map, "asking", said->asking);
    bl_value_set(map, "cautions", list_of_texts(said->cautions));
}

static const struct view {
    void (*car)(struct bl_value *map, const struct bl_subject *car);
    void (*all)(struct bl_value *map, const struct bl_said *said);
} views[BL_KINDS] = {
    [BL_HANDOVER] = {handover_car, handover_all}, [BL_WASH] = {only_car, wash_all},
    [BL_CARE] = {wanting_car, care_all},          [BL_MILEAGE] = {only_car, mileage_all},
    [BL_TOP_UP] = {top_up_car, top_up_all},       [BL_LOOK_OVER] = {wanting_car, look_over_all},
};

static struct bl_value *list_of_cars(const struct view *view, const GPtrArray *cars)
{
    struct bl_value *list = bl_value_list();
    for (guint i = 0; i < cars->len; i++) {
        const struct bl_subject *car = g_ptr_array_index(cars, i);
        struct bl_value *item = bl_value_map();
        set_text(item, "car", car->name);
        set_flag(item, "named", car->named);
        set_place(item, i, cars->len);
        view->car(item, car);
        bl_value_append(list, item);
    }
    return list;
}

struct bl_value *bl_view(enum bl_kind kind, const struct bl_said *said, bool brief)
{
    const struct view *view = &views[kind];
    g_assert(view->all);
    struct bl_value *map = bl_value_map();
    set_text(map, "shop", said->shop->name);
    set_text(map, "owner", said->shop->owner);
    set_text(map, "phone", said->shop->phone);
    set_text(map, "mail", said->shop->mail);
    set_text(map, "address", said->shop->address);
    set_text(map, "customer", said->customer);
    set_flag(map, "brief", brief);
    set_flag(map, "many", said->cars->len > 1);
    bl_value_set(map, "cars", list_of_cars(view, said->cars));
    view->all(map, said);
    return map;
}

struct bl_value *bl_view_example(enum bl_kind kind)
{
    const struct bl_shop shop = {.name = NULL};
    BL_AUTO(bl_said) *said = bl_said_new(&shop, NULL);
    struct bl_subject *car = bl_said_add_car(said);
    bl_piece_add(car->went_on);
    bl_piece_add(car->by_us);
    bl_piece_add(car->by_you);
    bl_piece_add(car->wants);
    g_ptr_array_add(said->wash, "");
    g_ptr_array_add(said->cautions, "");
    g_array_set_size(said->cares, 1);
    return bl_view(kind, said, false);
}
