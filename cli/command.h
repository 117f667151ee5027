/*
 * The commands: one table, one file a command. Each gets its words with argv[0] its own name,
 * and returns the exit status.
 */
#ifndef BEADLINE_CLI_COMMAND_H
#define BEADLINE_CLI_COMMAND_H

#include "context.h"

struct command {
    const char *name;
    const char *usage; /* one line after "beadline " */
    const char *help;  /* one line */
    int (*run)(struct context *context, int argc, char **argv);
};

/* Runs the command of that name in a table (its end is a NULL name); an unknown name is
 * answered with the nearest one. */
int command_run(const struct command *table, const char *over, struct context *context,
                int argc, char **argv);

/* The table as help. */
void command_help(const struct command *table);

int command_front(struct context *context, int argc, char **argv);
int command_init(struct context *context, int argc, char **argv);
int command_check(struct context *context, int argc, char **argv);
int command_add(struct context *context, int argc, char **argv);
int command_change(struct context *context, int argc, char **argv);
int command_silence(struct context *context, int argc, char **argv);
int command_list(struct context *context, int argc, char **argv);
int command_show(struct context *context, int argc, char **argv);
int command_queue(struct context *context, int argc, char **argv);
int command_preview(struct context *context, int argc, char **argv);
int command_sent(struct context *context, int argc, char **argv);
int command_pause(struct context *context, int argc, char **argv);
int command_resume(struct context *context, int argc, char **argv);
int command_drop(struct context *context, int argc, char **argv);
int command_told(struct context *context, int argc, char **argv);
int command_settle(struct context *context, int argc, char **argv);
int command_rehearse(struct context *context, int argc, char **argv);
int command_sheet(struct context *context, int argc, char **argv);
int command_explain(struct context *context, int argc, char **argv);
int command_redo(struct context *context, int argc, char **argv);
int command_remove(struct context *context, int argc, char **argv);
int command_learn(struct context *context, int argc, char **argv);

/* Parts of `add` and `change`, each in its own file. */
int command_add_customer(struct context *context, int argc, char **argv);
int command_add_car(struct context *context, int argc, char **argv);
int command_add_job(struct context *context, int argc, char **argv);
int command_add_mileage(struct context *context, int argc, char **argv);
int command_add_event(struct context *context, int argc, char **argv);
int command_change_customer(struct context *context, int argc, char **argv);
int command_change_car(struct context *context, int argc, char **argv);
int command_change_job(struct context *context, int argc, char **argv);
int command_change_treatment(struct context *context, int argc, char **argv);
int command_change_mileage(struct context *context, int argc, char **argv);
int command_change_event(struct context *context, int argc, char **argv);

#endif
