/* beadline list: customers, cars and jobs, all of them or those of one. */
#include "list.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "beadline/lookup.h"
#include "command.h"
#include "json.h"
#include "say.h"
#include "table.h"
#include "vehicle.h"

static const struct command lists[] = {
    {"customers", "list customers", "everybody", list_customers},
    {"cars", "list cars [CUSTOMER]", "cars, all or one customer's", list_cars},
    {"jobs", "list jobs [CAR]", "jobs, newest first, all or one car's", list_jobs},
    {"products", "list products", "the catalogue's products", list_products},
    {"packages", "list packages", "the catalogue's packages", list_packages},
    {"dues", "list dues [CUSTOMER]", "what wants doing between which dates, and what holds it",
     list_dues},
    {0},
};

int command_list(struct context *context, int argc, char **argv)
{
    if (argc < 2) {
        return context_misused("say what to list",
                               "list customers|cars|jobs|products|packages|dues");
    }
    if (strcmp(argv[1], "--help") == 0) {
        command_help(lists);
        return DONE;
    }
    return command_run(lists, "list ", context, argc - 1, argv + 1);
}

static const struct bl_zone *zone_of(const struct context *context)
{
    return context->world->settings->shop.zone;
}

static char *number_of(int64_t id)
{
    return g_strdup_printf("#%" G_GINT64_FORMAT, id);
}

/* A list of one kind: how its rows are read, and how one is shown. */
struct listing {
    const char *usage;
    const char *const *titles;
    const char *none; /* said when there is nothing */
    bool (*find)(struct context *context, const char *name, int64_t *id, GError **error);
    GArray *(*read)(struct context *context, int64_t of, GError **error);
    guint size;
    bool (*row)(struct context *context, gconstpointer row, struct table *table,
                GError **error);
};

static bool show_rows(struct context *context, const struct listing *listing,
                      const GArray *rows, GError **error)
{
    BL_AUTO(table) *table = table_new(listing->titles);
    for (guint i = 0; i < rows->len; i++) {
        if (!listing->row(context, rows->data + (gsize)i * listing->size, table, error)) {
            return false;
        }
    }
    if (context->json) {
        return true;
    }
    if (rows->len == 0) {
        puts(listing->none);
    } else {
        table_print(table, 0);
    }
    return true;
}

static bool show(struct context *context, const struct listing *listing, const char *name,
                 GError **error)
{
    g_autoptr(GArray) rows = NULL;
    int64_t of = 0;
    if (!context_look(context, error)) {
        return false;
    }
    bool done = (!name || !listing->find || listing->find(context, name, &of, error)) &&
                (rows = listing->read(context, of, error)) &&
                show_rows(context, listing, rows, error);
    if (!done) {
        bl_store_rollback(context->store);
        return false;
    }
    return context_shown(context, error);
}

static int run(struct context *context, const struct listing *listing, int argc, char **argv)
{
    GError *error = NULL;
    if (!context_parse(context, NULL, listing->usage, &argc, &argv)) {
        return WRONG_USAGE;
    }
    if (argc > (listing->find ? 2 : 1)) {
        return context_misused("too many words", listing->usage);
    }
    return show(context, listing, argv[1], &error) ? DONE : context_fail(error);
}

static GArray *read_customers(struct context *context, int64_t of, GError **error)
{
    (void)of;
    return bl_customer_list(context->store, error);
}

static void customer_json(const struct context *context, const struct bl_customer_row *row)
{
    struct json json;
    json_begin(&json);
    json_whole(&json, "customer", row->id);
    json_text(&json, "name", row->name);
    json_text(&json, "phone", row->phone);
    json_text(&json, "mail", row->mail);
    json_text(&json, "route", bl_channel_name(row->route));
    json_text(&json, "language", row->language);
    json_text(&json, "wish", bl_wish_name(row->wish));
    json_at(&json, "added_at", zone_of(context), row->added_at);
    json_end(&json);
}

static bool customer_row(struct context *context, gconstpointer data, struct table *table,
                         GError **error)
{
    const struct bl_customer_row *row = data;
    g_autofree char *id = number_of(row->id);
    (void)error;
    const char *const cells[] = {id, row->name, row->phone, row->mail,
                                 bl_channel_name(row->route)};
    if (context->json) {
        customer_json(context, row);
    } else {
        table_row(table, cells);
    }
    return true;
}

int list_customers(struct context *context, int argc, char **argv)
{
    static const char *const titles[] = {">#", "name", "=phone", "mail", "=route", NULL};
    static const struct listing listing = {
        "list customers",
        titles,
        "No customers yet. Begin with:  beadline add customer NAME --phone NUMBER",
        NULL,
        read_customers,
        sizeof(struct bl_customer_row),
        customer_row};
    return run(context, &listing, argc, argv);
}

static GArray *read_cars(struct context *context, int64_t of, GError **error)
{
    return bl_car_list(context->store, of, error);
}

static void car_json(const struct context *context, const struct bl_car_row *row,
                     const char *owner)
{
    struct json json;
    g_auto(GStrv) exposures = g_strsplit(row->exposures, "\n", -1);
    json_begin(&json);
    json_whole(&json, "car", row->id);
    json_text(&json, "plate", row->plate);
    json_text(&json, "name", row->name);
    json_whole(&json, "customer", row->customer);
    json_text(&json, "owner", owner);
    json_text(&json, "size", row->size);
    json_number(&json, "km_a_year", row->km_a_year);
    json_texts(&json, "exposed", (const char *const *)exposures);
    json_at(&json, "gone_at", zone_of(context), row->gone_at);
    json_end(&json);
}

static bool car_row(struct context *context, gconstpointer data, struct table *table,
                    GError **error)
{
    const struct bl_car_row *row = data;
    struct bl_customer_row owner = {0};
    if (!bl_customer_get(context->store, row->customer, &owner, error)) {
        return false;
    }
    g_autofree char *id = number_of(row->id);
    g_autofree char *a_year = say_distance(context, row->km_a_year);
    g_autofree char *gone = say_day(context, row->gone_at);
    const char *const cells[] = {id,        row->plate, owner.name, row->name,
                                 row->size, a_year,     gone};
    if (context->json) {
        car_json(context, row, owner.name);
    } else {
        table_row(table, cells);
    }
    bl_customer_row_clear(&owner);
    return true;
}

int list_cars(struct context *context, int argc, char **argv)
{
    static const char *const titles[] = {">#",   "=plate",  "owner",       "name",
                                         "size", ">a year", "=gone since", NULL};
    static const struct listing listing = {
        "list cars [CUSTOMER]",
        titles,
        "No cars yet. Write one down:  beadline add car CUSTOMER PLATE",
        say_find_customer,
        read_cars,
        sizeof(struct bl_car_row),
        car_row};
    return run(context, &listing, argc, argv);
}

static GArray *read_jobs(struct context *context, int64_t of, GError **error)
{
    return bl_job_list(context->store, of, 0, error);
}

/* What was put on: product keys, NULL-terminated, borrowed from the treatments. */
static GPtrArray *products_of(const GArray *treatments)
{
    GPtrArray *products = g_ptr_array_new();
    for (guint i = 0; i < treatments->len; i++) {
        const struct bl_treatment_row *row =
            &g_array_index(treatments, struct bl_treatment_row, i);
        g_ptr_array_add(products, row->product ? row->product : (char *)"?");
    }
    g_ptr_array_add(products, NULL);
    return products;
}

static void job_json(const struct context *context, const struct bl_job_row *row,
                     const char *plate, const GPtrArray *products)
{
    struct json json;
    json_begin(&json);
    json_whole(&json, "job", row->id);
    json_whole(&json, "car", row->car);
    json_text(&json, "plate", plate);
    json_whole(&json, "customer", row->customer);
    json_at(&json, "finished_at", zone_of(context), row->finished_at);
    json_number(&json, "km", row->km);
    json_number(&json, "temp_c", row->temp_c);
    json_number(&json, "humidity", row->humidity);
    json_texts(&json, "products", (const char *const *)products->pdata);
    json_text(&json, "note", row->note && *row->note ? row->note : NULL);
    json_end(&json);
}

static bool job_row(struct context *context, gconstpointer data, struct table *table,
                    GError **error)
{
    const struct bl_job_row *row = data;
    struct bl_car_row car = {0};
    g_autoptr(GArray) treatments = bl_treatment_list(context->store, row->id, error);
    if (!treatments || !bl_car_get(context->store, row->car, &car, error)) {
        return false;
    }
    g_autoptr(GPtrArray) products = products_of(treatments);
    g_autofree char *id = number_of(row->id);
    g_autofree char *at = say_at(context, row->finished_at);
    g_autofree char *name = say_car(car.name, car.plate);
    g_autofree char *km = say_distance(context, row->km);
    g_autofree char *what = g_strjoinv(", ", (char **)products->pdata);
    const char *const cells[] = {id, at, name, km, *what ? what : "wash"};
    if (context->json) {
        job_json(context, row, car.plate, products);
    } else {
        table_row(table, cells);
    }
    bl_car_row_clear(&car);
    return true;
}

int list_jobs(struct context *context, int argc, char **argv)
{
    static const char *const titles[] = {">#", "=finished", "car", ">mileage", "~what", NULL};
    static const struct listing listing = {
        "list jobs [CAR]",
        titles,
        "No jobs yet. Write one down:  beadline add job CAR PRODUCT... --at TIME",
        say_find_car,
        read_jobs,
        sizeof(struct bl_job_row),
        job_row};
    return run(context, &listing, argc, argv);
}
