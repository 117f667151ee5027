/*
 * A realistic customer for reading letters: an estate with eight protections and a small car
 * that is named by its plate, both finished on Thursday 12 March 2026 in the afternoon.
 */
#ifndef BL_TESTS_REALISTIC_H
#define BL_TESTS_REALISTIC_H

#include "driveway.h"

struct realistic {
    struct driveway driveway;
    int64_t estate, small; /* cars */
    int64_t estate_job, small_job;
    int64_t coating, wheel_spray,
        small_wax; /* treatments: by the shop, the customer, the shop */
};

void realistic_open(struct realistic *one);
void realistic_close(struct realistic *one);

/* A due of that kind about the car; top-up: of the treatment, ending between the two. */
struct bl_due realistic_due(const struct realistic *one, enum bl_kind kind, int64_t car,
                            int64_t job);
struct bl_due realistic_top_up(const struct realistic *one, int64_t car, int64_t treatment,
                               const char *early, const char *late);

/* The material of a message; dues are the caller's, NULL-terminated. */
struct bl_material;
struct bl_material realistic_material(const struct realistic *one, enum bl_kind kind,
                                      enum bl_channel channel, const struct bl_due *const *dues,
                                      const char *now);

#endif
