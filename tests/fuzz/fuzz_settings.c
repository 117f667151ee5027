/* Any bytes as settings: either they are read, or there is a fault; never both, never a crash.
 */
#include <glib.h>
#include <stddef.h>
#include <stdint.h>

#include "beadline/settings.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    BL_AUTO(bl_faults) *faults = bl_faults_new();
    BL_AUTO(bl_settings) *settings =
        bl_settings_parse((const char *)data, size, "/nonexistent/beadline.conf", faults);
    g_assert((settings == NULL) == (bl_faults_count(faults) > 0));
    if (settings) {
        g_autofree char *fingerprint = bl_settings_fingerprint(settings);
        g_assert(fingerprint);
    }
    return 0;
}
