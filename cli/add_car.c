/* beadline add car. */
#include <math.h>

#include "beadline/lookup.h"
#include "command.h"
#include "report.h"
#include "say.h"
#include "vehicle.h"

static const char usage[] =
    "add car CUSTOMER PLATE [--name TEXT] [--mileage DISTANCE] [--distance-a-year DISTANCE] ...\n"
    "The plate may be typed with or without spaces; the name is what messages call the car.\n"
    "The distance a year is what its owner believes: readings soon count for more.\n"
    "\n"
    "  beadline add car ada \"AB12 CDE\" --name \"blue estate\" --mileage 48210 \\\n"
    "      --exposed stored-outdoors --place home --place-note \"tap behind the gate\"";

static bool write_car(struct context *context, const struct vehicle *vehicle,
                      const char *customer, struct bl_car_row *row, const char *mileage,
                      double *km, GError **error)
{
    int64_t reading = 0;
    row->added_at = context->now;
    row->gone_at = BL_NEVER;
    row->km_a_year = (double)NAN;
    return say_find_customer(context, customer, &row->customer, error) &&
           vehicle_apply(context, vehicle, row, error) &&
           (!mileage || say_read_distance(context, mileage, km, error)) &&
           bl_car_add(context->store, row, &row->id, error) &&
           (!mileage || bl_mileage_add(context->store, row->id, context->now, *km, "told",
                                       &reading, error));
}

static int add(struct context *context, const struct vehicle *vehicle, const char *customer,
               const char *mileage)
{
    struct bl_car_row row = {0};
    struct bl_customer_row owner = {0};
    double km = NAN;
    g_autoptr(GPtrArray) remarks = report_remarks();
    GError *error = NULL;
    bool done = context_write(context, &error);
    if (done && !(write_car(context, vehicle, customer, &row, mileage, &km, &error) &&
                  bl_customer_get(context->store, row.customer, &owner, &error))) {
        bl_store_rollback(context->store);
        done = false;
    }
    done = done && context_keep(context, &error);
    if (done && isnan(row.km_a_year)) {
        g_autofree char *usual =
            say_distance(context, context->world->settings->shop.km_a_year);
        report_remark(remarks,
                      "without --distance-a-year the shop's %s a year are taken until two "
                      "readings tell more",
                      usual);
    }
    if (done) {
        const struct vehicle_answer answer = {&row, owner.name, km, NULL, remarks};
        vehicle_print(context, &answer);
    }
    bl_car_row_clear(&row);
    bl_customer_row_clear(&owner);
    return done ? DONE : context_fail(error);
}

int command_add_car(struct context *context, int argc, char **argv)
{
    struct vehicle vehicle = {0};
    g_autofree char *mileage = NULL;
    const GOptionEntry entries[] = {
        {"mileage", 0, 0, G_OPTION_ARG_STRING, &mileage, "What its instrument shows now",
         "DISTANCE"},
        VEHICLE_ENTRIES(vehicle),
        {0},
    };
    int status = WRONG_USAGE;
    if (!context_parse(context, entries, usage, &argc, &argv)) {
        status = WRONG_USAGE;
    } else if (argc != 3) {
        status = context_misused("name one customer and one plate, each in quotes when it has "
                                 "a space",
                                 usage);
    } else {
        vehicle.plate = g_strdup(argv[2]);
        status = add(context, &vehicle, argv[1], mileage);
    }
    vehicle_clear(&vehicle);
    return status;
}
