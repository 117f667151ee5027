/*
 * A job on the screen: what was understood, the dates that follow, which message goes when to
 * whom, and what to look at before the car leaves. For `add job` and `show job`.
 */
#ifndef BEADLINE_CLI_JOB_REPORT_H
#define BEADLINE_CLI_JOB_REPORT_H

#include "look.h"

struct job_report {
    const struct context *context;
    const struct look *look;
    const struct bl_job_row *row;
    const struct bl_car *car; /* of the look; NULL when another customer has it now */
    const char *package;      /* its title, or NULL */
    bool dry;                 /* nothing was written */
    bool added;               /* just written down: say what to be careful of */
    GPtrArray *remarks;
    GPtrArray *corrected; /* objects of what it said before, for JSON; NULL none */
};

/* Adds the remarks that the job's own numbers call for: the labels' temperatures and humidity,
 * surfaces that differ, a number that is missing, what stands in the way of messages. */
void job_report_remark(struct job_report *report);

void job_report_print(const struct job_report *report);

/* The same as one object, printed. */
void job_report_json(const struct job_report *report);

/* The treatment of the job in the report's car, one after the other; NULL past the last. */
const struct bl_treatment *job_report_treatment(const struct job_report *report, guint *next);

#endif
