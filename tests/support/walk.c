/* The bench of the way of the data. */
#include "walk.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>
#include <glib/gstdio.h>

static const char SETTINGS[] =
    "shop = { name = \"Example Shine\"; owner = \"Alex\"; phone = \"07700 900123\";"
    " mail = \"alex@shop.example\"; zone = \"Europe/London\"; };\n"
    "phone = { calling_code = \"44\"; trunk = \"0\"; };\n"
    "catalogue = \"%s/templates/catalogue\"; templates = \"%s/templates\";\n"
    "gateways = ({ name = \"texts\"; kind = \"folder\"; folder = \"texts\"; unsure = \"ask\"; },\n"
    " { name = \"mails\"; kind = \"folder\"; folder = \"mails\"; unsure = \"resend\"; });\n"
    "carry = { sms = \"texts\"; mail = \"mails\"; };\n";

static guint carrier_room(void *self, guint gateway)
{
    const struct walk *walk = self;
    (void)gateway;
    return walk->connections - MIN(walk->connections, walk->flying->len);
}

static void carrier_start(void *self, guint gateway, struct bl_parcel *parcel, int64_t now)
{
    struct walk *walk = self;
    const struct bl_outcome outcome = {.id = parcel->id, .gateway = gateway};
    gsize length = 0;
    const char *body = g_bytes_get_data(parcel->body, &length);
    (void)now;
    g_ptr_array_add(walk->carried,
                    g_strdup_printf("%s %s %.*s", parcel->to, parcel->key, (int)length, body));
    g_array_append_val(walk->flying, outcome);
    bl_parcel_clear(parcel);
    if (walk->on_start) {
        walk->on_start(walk);
    }
}

static bool carrier_take(void *self, struct bl_outcome *outcome)
{
    struct walk *walk = self;
    if (walk->landed->len == 0) {
        return false;
    }
    *outcome = g_array_index(walk->landed, struct bl_outcome, 0);
    g_array_remove_index(walk->landed, 0);
    return true;
}

static guint carrier_flying(void *self)
{
    const struct walk *walk = self;
    return walk->flying->len + walk->landed->len;
}

static const char *carrier_secret(void *self, guint gateway)
{
    (void)self;
    (void)gateway;
    return NULL;
}

static int64_t clock_now(void *context)
{
    return ((const struct walk *)context)->now;
}

static int64_t clock_boottime(void *context)
{
    return ((const struct walk *)context)->now * 1000;
}

static bool clock_synchronised(void *context)
{
    return ((const struct walk *)context)->synchronised;
}

static void open_world(struct walk *walk)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    g_autofree char *file = g_build_filename(walk->books.folder, "beadline.conf", NULL);
    g_autofree char *text = g_strdup_printf(SETTINGS, BL_SOURCE_DIR, BL_SOURCE_DIR);
    assert_true(g_file_set_contents(file, text, -1, NULL));
    walk->world = bl_world_load(file, faults);
    for (guint i = 0; i < bl_faults_count(faults); i++) {
        print_error("%s\n", bl_faults_line(faults, i));
    }
    assert_non_null(walk->world);
    g_unlink(file);
}

static void open_pass(struct walk *walk)
{
    GError *error = NULL;
    const struct bl_pass_setup setup = {
        .store = walk->books.store,
        .world = walk->world,
        .clock = {clock_now, clock_boottime, clock_synchronised, walk},
        .chance = bl_chance_seeded(&walk->seed),
        .carrier = &walk->carrier,
    };
    walk->pass = bl_pass_new(&setup);
    books_begin(&walk->books);
    books_well(bl_pass_adopt(walk->pass, true, &error), error);
    books_commit(&walk->books);
}

void walk_open(struct walk *walk, const char *now)
{
    memset(walk, 0, sizeof *walk);
    books_open(&walk->books);
    open_world(walk);
    walk->now = walk_at(walk, now);
    walk->synchronised = true;
    walk->seed = 1;
    walk->connections = 8;
    walk->flying = g_array_new(FALSE, TRUE, sizeof(struct bl_outcome));
    walk->landed = g_array_new(FALSE, TRUE, sizeof(struct bl_outcome));
    walk->carried = g_ptr_array_new_with_free_func(g_free);
    walk->carrier = (struct bl_carrier){carrier_room,   carrier_start,  carrier_take,
                                        carrier_flying, carrier_secret, walk};
    open_pass(walk);
}

static void drop_landed(struct walk *walk)
{
    struct bl_outcome outcome;
    while (carrier_take(walk, &outcome)) {
        bl_outcome_clear(&outcome);
    }
    g_array_set_size(walk->flying, 0);
}

void walk_close(struct walk *walk)
{
    drop_landed(walk);
    bl_pass_free(walk->pass);
    bl_world_free(walk->world);
    g_array_unref(walk->flying);
    g_array_unref(walk->landed);
    g_ptr_array_unref(walk->carried);
    books_close(&walk->books);
}

void walk_restart(struct walk *walk)
{
    drop_landed(walk);
    bl_pass_free(walk->pass);
    open_pass(walk);
}

int64_t walk_at(const struct walk *walk, const char *text)
{
    GError *error = NULL;
    int64_t at = 0;
    books_well(bl_at_parse(walk->world->settings->shop.zone, text, walk->now, &at, &error),
               error);
    return at;
}

int64_t walk_customer(struct walk *walk, const char *name, const char *phone, const char *mail)
{
    GError *error = NULL;
    int64_t id = 0;
    const struct bl_customer_row row = {.name = (char *)name,
                                        .phone = (char *)phone,
                                        .mail = (char *)mail,
                                        .note = (char *)"",
                                        .route = phone ? BL_SMS : BL_MAIL,
                                        .added_at = walk->now};
    books_begin(&walk->books);
    books_well(bl_customer_add(walk->books.store, &row, &id, &error), error);
    for (int class = BL_TIPS; class <= BL_OFFERS; class ++) {
        const struct bl_consent_row consent = {.customer = id,
                                               .at = walk->now,
                                               .class = (enum bl_class) class,
                                               .given = true,
                                               .how = (char *)"asked",
                                               .words = (char *)"yes"};
        books_well(bl_consent_add(walk->books.store, &consent, &error), error);
    }
    books_commit(&walk->books);
    g_autofree char *plate = g_strdup_printf("AB12 %03d", (int)id);
    books_car(&walk->books, id, plate, NULL);
    return id;
}

static int64_t car_of(struct walk *walk, int64_t customer)
{
    g_autofree char *sql =
        g_strdup_printf("SELECT id FROM car WHERE customer = %d", (int)customer);
    return books_number(&walk->books, sql);
}

int64_t walk_job(struct walk *walk, int64_t customer, const char *product)
{
    GError *error = NULL;
    int64_t rule = 0;
    int64_t id = 0;
    const struct bl_rule *found = bl_catalogue_rule(walk->world->catalogue, product);
    assert_non_null(found);
    g_autofree char *text = bl_rule_write(found);
    struct bl_job_row job = books_plain_job(car_of(walk, customer), walk->now);
    job.entered_at = walk->now;
    books_begin(&walk->books);
    books_well(bl_rule_version(walk->books.store, product, text, walk->now, &rule, &error),
               error);
    struct bl_treatment_row treatment = books_coat(rule);
    treatment.surface = found->surface;
    g_autoptr(GArray) treatments = g_array_new(FALSE, TRUE, sizeof treatment);
    g_array_append_val(treatments, treatment);
    books_well(bl_job_add(walk->books.store, &job, treatments, &id, &error), error);
    books_commit(&walk->books);
    return id;
}

int64_t walk_pass(struct walk *walk)
{
    GError *error = NULL;
    int64_t wake = 0;
    books_well(bl_pass_run(walk->pass, &wake, &error), error);
    return wake;
}

void walk_land(struct walk *walk)
{
    for (guint i = 0; i < walk->flying->len; i++) {
        struct bl_outcome outcome = g_array_index(walk->flying, struct bl_outcome, i);
        outcome.verdict = walk->verdict;
        outcome.failure = walk->failure;
        outcome.opted_out = walk->opted_out;
        outcome.answer = g_strdup("an answer");
        g_array_append_val(walk->landed, outcome);
    }
    g_array_set_size(walk->flying, 0);
}

void walk_settle(struct walk *walk)
{
    int64_t wake;
    do {
        wake = walk_pass(walk);
        walk_land(walk);
    } while (wake <= walk->now || bl_pass_open(walk->pass) > 0);
}

int64_t walk_count(struct walk *walk, const char *state)
{
    g_autofree char *sql =
        g_strdup_printf("SELECT count(*) FROM message WHERE state = '%s'", state);
    return books_number(&walk->books, sql);
}
