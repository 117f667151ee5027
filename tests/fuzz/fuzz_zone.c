/* Any bytes as a time zone file: refused, or read into spans that hold the instant asked for
 * and lead on in order. */
#include <stdint.h>

#include "beadline/civil.h"
#include "beadline/tzif.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    BL_AUTO(bl_tzif) *tzif = bl_tzif_parse(data, size, NULL);
    if (!tzif) {
        return 0;
    }
    const int64_t first = bl_date_of(1, 1, 2) * BL_DAY;
    const int64_t last = bl_date_of(9999, 12, 30) * BL_DAY;
    for (int64_t at = first; at < last; at += 97 * 366 * BL_DAY) {
        struct bl_tzif_span span = bl_tzif_span_at(tzif, at);
        g_assert(span.from <= at && at < span.until);
        g_assert(ABS(span.offset) < BL_TZIF_MOST_OFFSET);
        for (int steps = 0; steps < 4 && span.until < last; steps++) {
            int64_t until = span.until;
            span = bl_tzif_span_at(tzif, until);
            g_assert(span.from <= until && until < span.until);
        }
    }
    return 0;
}
