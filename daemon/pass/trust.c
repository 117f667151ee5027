/*
 * Whether the clock may be believed. A cheap machine without a battery starts in the past, and
 * a wrong clock would send everything, or lapse everything, at once.
 */
#include "pass_inside.h"

/* 2026-11-01T00:00:00Z: no honest clock is before this program was written. */
#define WRITTEN_AT INT64_C(1793491200)
#define BEHIND_S   300 /* how far behind the mark a good clock may be */
#define MARK_EACH  3600

bool bl_pass_trusted(struct bl_pass *pass, const char **why)
{
    const struct bl_clock clock = pass->with.clock;
    const char *unused = NULL;
    const char **reason = why ? why : &unused;
    int64_t mark = 0;
    *reason = NULL;
    if (pass->with.rehearsed) {
        return true;
    }
    if (!pass->with.world->settings->clock_unchecked && !clock.synchronised(clock.context)) {
        *reason = "the system says its clock is not synchronised with any time source";
    } else if (pass_now(pass) < WRITTEN_AT) {
        *reason = "the clock is before this program was written";
    } else if (!bl_store_mark(pass->with.store, &mark, NULL)) {
        *reason = "the last trusted time cannot be read from the database";
    } else if (pass_now(pass) < mark - BEHIND_S) {
        *reason = "the clock is behind the last trusted time";
    }
    return *reason == NULL;
}

bool pass_leave_mark(struct bl_pass *pass, int64_t now, bool busy, GError **error)
{
    int64_t mark = 0;
    if (pass->with.rehearsed) {
        return true;
    }
    if (!bl_store_mark(pass->with.store, &mark, error)) {
        return false;
    }
    if (now <= mark || (!busy && now - mark < MARK_EACH)) {
        return true;
    }
    int64_t boottime = pass->with.clock.boottime(pass->with.clock.context);
    return bl_store_set_mark(pass->with.store, now, boottime, error);
}
