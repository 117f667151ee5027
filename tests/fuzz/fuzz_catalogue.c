/* Any bytes as a catalogue and as a stored rule: read or refused; and each rule that is read
 * comes back from its own text. */
#include <glib.h>
#include <stddef.h>
#include <stdint.h>

#include "beadline/catalogue.h"

static void round_trip(const struct bl_rule *rule)
{
    g_autofree char *text = bl_rule_write(rule);
    g_autoptr(GError) error = NULL;
    BL_AUTO(bl_rule) *back = bl_rule_read(text, &error);
    g_assert_no_error(error);
    g_autofree char *again = bl_rule_write(back);
    g_assert_cmpstr(text, ==, again);
}

static void as_catalogue(const uint8_t *data, size_t size)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_catalogue) *catalogue =
        bl_catalogue_parse((const char *)data, size, "/nonexistent/x.conf", faults);
    g_assert((catalogue == NULL) == (bl_faults_count(faults) > 0));
    const char *const *products = catalogue ? bl_catalogue_products(catalogue) : NULL;
    for (; products && *products; products++) {
        round_trip(bl_catalogue_rule(catalogue, *products));
    }
    const char *const *packages = catalogue ? bl_catalogue_packages(catalogue) : NULL;
    for (; packages && *packages; packages++) {
        g_autofree char *text = bl_package_write(bl_catalogue_package(catalogue, *packages));
        g_assert(text);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    as_catalogue(data, size);
    g_autofree char *text = g_strndup((const char *)data, size);
    BL_AUTO(bl_rule) *rule = bl_rule_read(text, NULL);
    if (rule) {
        round_trip(rule);
    }
    return 0;
}
