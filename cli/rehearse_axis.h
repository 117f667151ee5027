/*
 * The time axis of the rehearsal's page: where an instant stands, as a share of the width, and
 * what is written along it. Pure.
 */
#ifndef BEADLINE_CLI_REHEARSE_AXIS_H
#define BEADLINE_CLI_REHEARSE_AXIS_H

#include <glib.h>
#include <stdbool.h>
#include <stdint.h>

#include "beadline/civil.h"

/* By what it is divided: as the time is long. */
enum axis_unit_kind { AXIS_MONTHS, AXIS_WEEKS, AXIS_DAYS };

struct axis {
    const struct bl_zone *zone;
    int64_t first, last; /* its two ends */
    enum axis_unit_kind by;
};

/* From a little before now, at the beginning of a month (week, day), to until. */
struct axis axis_make(const struct bl_zone *zone, int64_t now, int64_t until);

/* Percent of the width: 0 at first, 100 at last, beyond them outside. BL_NEVER is just outside.
 */
double axis_place(const struct axis *axis, int64_t at);

/* Where a month (in a short time a week, a day) begins. */
struct axis_unit {
    int64_t from;
    double place;
    char label[16];    /* "Mar", "2027" for a January; "16 Mar" */
    bool year;         /* a January */
    bool wide, narrow; /* its label has room on paper and a desk; on a telephone */
};

/* struct axis_unit, in order of time. Caller frees. */
GArray *axis_units(const struct axis *axis);

/* Rows for beads so that no two in one row are closer than `apart`, as far as `most` rows go:
 * each takes the first row that is free, else the one whose last bead is farthest. places
 * ascend; rows receives count of them. Returns how many rows are used. */
guint axis_rows(const double *places, guint count, double apart, guint most, guint *rows);

#endif
