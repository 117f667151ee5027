/*
 * beadline: the command beside the service. One table of commands; without one, the front page.
 */
#include <errno.h>
#include <locale.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "beadline/text.h"
#include "command.h"

static const struct command commands[] = {
    {"init", "init [FOLDER]", "make settings, catalogue, templates and database in a folder",
     command_init},
    {"check", "check", "read settings, catalogue, templates and database; print every fault",
     command_check},
    {"add", "add customer|car|job|mileage|event ...", "write down what is new", command_add},
    {"redo", "redo JOB [PRODUCT|PACKAGE]...", "make a job good after a complaint",
     command_redo},
    {"change", "change customer|car|job|... NAME ...", "change or correct what is written down",
     command_change},
    {"remove", "remove treatment|mileage|event|job N", "what never happened, with the reason",
     command_remove},
    {"silence", "silence CUSTOMER|ADDRESS [--lift] --how TEXT", "no message from now on",
     command_silence},
    {"list", "list customers|cars|jobs|products|packages|dues", "list what is there",
     command_list},
    {"show", "show CUSTOMER|CAR|MESSAGE", "all about one of them", command_show},
    {"explain", "explain CAR|MESSAGE", "why a date is that date, as a sum to check",
     command_explain},
    {"queue", "queue [--days N]", "what is going to be sent", command_queue},
    {"preview", "preview MESSAGE [--raw]", "the exact text, before it goes", command_preview},
    {"sent", "sent [--days N]", "what went out, and how it ended", command_sent},
    {"pause", "pause MESSAGE...", "hold a message back", command_pause},
    {"resume", "resume MESSAGE...", "let a paused message go again", command_resume},
    {"drop", "drop MESSAGE... [--why TEXT]", "never send it", command_drop},
    {"told", "told MESSAGE...", "you told the customer yourself", command_told},
    {"settle", "settle MESSAGE sent|resend|drop", "say what became of an unsure message",
     command_settle},
    {"rehearse", "rehearse --until DATE [--html FILE]",
     "what would go in the coming time, sending nothing", command_rehearse},
    {"sheet", "sheet JOB", "the one-page handover of a job, for paper", command_sheet},
    {"learn", "learn [PRODUCT] [--adopt]", "how long products last, from what you saw of them",
     command_learn},
    {0},
};

int command_run(const struct command *table, const char *over, struct context *context,
                int argc, char **argv)
{
    g_autoptr(GPtrArray) names = g_ptr_array_new();
    for (const struct command *command = table; command->name; command++) {
        if (strcmp(command->name, argv[0]) == 0) {
            return command->run(context, argc, argv);
        }
        g_ptr_array_add(names, (gpointer)command->name);
    }
    g_ptr_array_add(names, NULL);
    g_autofree char *typed = bl_text_printable(argv[0]);
    const char *near = bl_text_nearest(argv[0], (const char *const *)names->pdata);
    fprintf(stderr, "beadline: %s\"%s\" is not known", over, typed);
    if (near) {
        fprintf(stderr, "; did you mean \"%s\"?\n", near);
    } else {
        fputs("; see beadline --help\n", stderr);
    }
    return WRONG_USAGE;
}

void command_help(const struct command *table)
{
    for (const struct command *command = table; command->name; command++) {
        printf("  %-46s %s\n", command->usage, command->help);
    }
}

static void help(void)
{
    puts("beadline [--settings FILE] [--now TIME] [--json] [COMMAND]\n\n"
         "Without a command: the front page, with what goes out and who needs an answer.\n");
    command_help(commands);
    puts(
        "\nCustomers and cars are named by anything unique: a name, a plate, a number, an id.\n"
        "beadline COMMAND --help tells more about one command.");
}

/* The common options that stand before the command; its place in argv, or argc. */
static int leading_options(struct context *context, int argc, char **argv)
{
    int i = 1;
    while (i < argc && argv[i][0] == '-') {
        if (strcmp(argv[i], "--json") == 0) {
            context->json = TRUE;
            i++;
        } else if (strcmp(argv[i], "--settings") == 0 && i + 1 < argc) {
            context->settings_file = g_strdup(argv[i + 1]);
            i += 2;
        } else if (strcmp(argv[i], "--now") == 0 && i + 1 < argc) {
            context->now_text = g_strdup(argv[i + 1]);
            i += 2;
        } else if (g_str_has_prefix(argv[i], "--settings=")) {
            context->settings_file = g_strdup(strchr(argv[i++], '=') + 1);
        } else if (g_str_has_prefix(argv[i], "--now=")) {
            context->now_text = g_strdup(strchr(argv[i++], '=') + 1);
        } else {
            break;
        }
    }
    return i;
}

static int run(struct context *context, int argc, char **argv)
{
    int first = leading_options(context, argc, argv);
    if (first == argc) {
        char *front[] = {(char *)"front", NULL};
        return command_front(context, 1, front);
    }
    if (strcmp(argv[first], "--help") == 0 || strcmp(argv[first], "help") == 0) {
        help();
        return DONE;
    }
    if (strcmp(argv[first], "--version") == 0) {
        puts("beadline " BL_VERSION);
        return DONE;
    }
    if (argv[first][0] == '-') {
        return context_misused("this option is not known, or its value is missing",
                               "[--settings FILE] [--now TIME] [--json] [COMMAND]");
    }
    return command_run(commands, "", context, argc - first, argv + first);
}

/* What was not written was not answered: a full disk is no success. */
static int end_output(int status)
{
    bool failed = ferror(stdout) != 0;
    errno = 0;
    if (fflush(stdout) == 0 && !failed) {
        return status;
    }
    fprintf(stderr, "beadline: the answer could not be written: %s\n",
            errno ? g_strerror(errno) : "standard output refused it");
    return status == DONE ? REFUSED : status;
}

int main(int argc, char **argv)
{
    struct context context = {0};
    setlocale(LC_CTYPE, "C.UTF-8"); /* names are UTF-8 whatever the session says */
    umask(077);
    g_set_prgname("beadline");
    int status = run(&context, argc, argv);
    context_close(&context);
    return end_output(status);
}
