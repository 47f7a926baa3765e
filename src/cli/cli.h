/* SPDX-License-Identifier: MIT */
/*
 * The command line: one table of commands, from which parsing, help, the manual page and the
 * shells' completions are made.
 *
 * A command reads its operands and options from struct pm_cli, calls the studio, and writes its
 * answer into cli->out. Nothing reaches standard output unless the command succeeded: a refused
 * command leaves one sentence on standard error and no half an answer.
 *
 * A command that changes the library runs within one transaction, from pm_cli_open on; one that
 * only reads sees one state of the file. The answer is made ready to the last byte before the
 * transaction is committed; what is left to fail then is the writing of it. Exit status:
 *
 *   0  done, and answered
 *   1  refused; nothing was changed, and it may be tried again
 *   2  wrong usage; nothing was changed
 *   3  done, but the answer could not be given, or the disk did not confirm the change: look
 *      before doing it again
 *
 * To add commands: write commands_<topic>.c with a const struct pm_cli_topic, declare it below,
 * and name it in topics.c.
 */
#ifndef PERMILLE_CLI_CLI_H
#define PERMILLE_CLI_CLI_H

#include "permille/base/arena.h"
#include "permille/base/clock.h"
#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/base/watch.h"

#include <signal.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

struct pm_entity;
struct pm_json;
struct pm_studio;
struct pm_cli;
struct pm_cli_topics;

/* ---- starting ---- */

/* What the command line gets from outside. */
struct pm_cli_front {
    const struct pm_cli_topics *topics; /* the commands; pm_cli_all_topics */
    FILE *out, *err;
    size_t columns, err_columns;  /* cells of a line where out and err are terminals; 0: no end */
    const struct pm_clock *clock; /* NULL: the system's */
    struct pm_studio *studio;     /* a library that is open already: every command uses it, none
                                     opens or closes one. NULL: each opens its own */
    void *context;                /* handed to the calls below */
    int64_t (*milliseconds)(void *context); /* goes on with time; NULL: the system's */
    bool (*stopped)(void *context); /* whether the person gave the command up; NULL: Ctrl-C */
    /* Whether there is a terminal for the editor, asked before the library is opened or made; with
     * a sentence when not. NULL: there is. */
    enum pm_status (*terminal)(void *context, struct pm_error *err);
    /* Runs the editor on an open library, which it closes, and returns the exit status; `linear`:
     * it speaks in plain lines. NULL: there is none. */
    int (*editor)(void *context, struct pm_studio *studio, bool linear);
    /* Everything the editor can do: lines "group TAB id TAB keys TAB name TAB help", with the keys
     * that the content of a key file gives (NULL: the default ones); what is wrong with that is
     * told to `complain` (may be NULL). NULL: there is no editor. */
    enum pm_status (*actions)(void *context, const char *keys,
                              void (*complain)(void *to, const char *sentence), void *to,
                              struct pm_text *out, struct pm_error *err);
    /* Whether that key file may give an action or a verb these keys; "": the default ones. */
    enum pm_status (*may_give)(void *context, const char *keys, const char *id, const char *wanted,
                               struct pm_error *err);
};

enum { PM_CLI_DONE = 0, PM_CLI_REFUSED = 1, PM_CLI_USAGE = 2, PM_CLI_UNANSWERED = 3 };

/* Runs one command line, or the editor when it names no command. Returns the exit status. */
int pm_cli_run(const struct pm_cli_front *front, int argc, const char *const *argv);

/* ---- the table ---- */

struct pm_cli_option {
    const char *name;  /* without the dashes: "base"; NULL ends a list */
    const char *value; /* what stands after it, for help: "N"; NULL: a switch */
    const char *words; /* the values allowed, "share|carrier|open"; NULL: any */
    const char *help;  /* one line, lower case, no full stop */
    bool many;         /* may be given more than once */
    bool dry;          /* with it the library is a copy in memory: nothing is written */
};

/* How a command can answer, combined; text always. */
enum pm_cli_form { PM_CLI_TEXT = 0, PM_CLI_JSON = 1, PM_CLI_CSV = 2 };
/* One whose answer is a table. */
#define PM_CLI_TABLE (PM_CLI_JSON | PM_CLI_CSV)

struct pm_cli_command {
    const char *name;      /* "new", or two words: "material add" */
    bool changes;          /* the library, unless --try was given */
    const char *only_with; /* ... and only when this option was given; NULL: always */
    bool alone;            /* holds no view of the file while it runs: it handles the file itself */
    const char *operands;  /* for help: "F LINE..."; "" for none */
    int least, most;       /* operands; most -1: any number */
    unsigned forms;        /* enum pm_cli_form */
    const char *help;      /* one line, lower case, no full stop */
    const char *more; /* sentences after it in the command's own help and the manual, or NULL */
    /* What it may be told of an entity: an option for each of its attributes but those `without`
     * names ("strength|solvent"; NULL: none), behind the options of its own. NULL: nothing. */
    const struct pm_entity *entity;
    const char *without;
    const struct pm_cli_option *options; /* NULL: none. An option's name takes a value in every
                                            command that has it, or in none: so it can be read
                                            before the command is known. */
    /* Does it. A failure's sentence goes into err; pm_cli_usage for wrong usage. */
    enum pm_status (*run)(struct pm_cli *cli, struct pm_error *err);
    const void *with; /* what run() is to do, where several commands share it; it says of what type
                         that is */
};

/* A row of the table: what every command has, and behind it the members that this one has more. */
#define PM_CLI_COMMAND(name_, operands_, least_, most_, forms_, help_, ...)                        \
    {                                                                                              \
        .name = name_, .operands = operands_, .least = least_, .most = most_, .forms = forms_,     \
        .help = help_, __VA_ARGS__,                                                                \
    }

/* `with` of a command and of its opposite. */
extern const bool pm_cli_yes, pm_cli_no;

struct pm_cli_topic {
    const char *title; /* heading in help: "Formulas"; NULL: goes on under the one before */
    const struct pm_cli_command *commands;
    size_t count;
};

extern const struct pm_cli_topic pm_cli_topic_formulas;
extern const struct pm_cli_topic pm_cli_topic_lines;
extern const struct pm_cli_topic pm_cli_topic_total;
extern const struct pm_cli_topic pm_cli_topic_show;
extern const struct pm_cli_topic pm_cli_topic_trials;
extern const struct pm_cli_topic pm_cli_topic_compare;
extern const struct pm_cli_topic pm_cli_topic_smell;
extern const struct pm_cli_topic pm_cli_topic_panel;
extern const struct pm_cli_topic pm_cli_topic_drydown;
extern const struct pm_cli_topic pm_cli_topic_series;
extern const struct pm_cli_topic pm_cli_topic_material;
extern const struct pm_cli_topic pm_cli_topic_bottle;
extern const struct pm_cli_topic pm_cli_topic_stock;
extern const struct pm_cli_topic pm_cli_topic_shelf;
extern const struct pm_cli_topic pm_cli_topic_limits;
extern const struct pm_cli_topic pm_cli_topic_rules;
extern const struct pm_cli_topic pm_cli_topic_profile;
extern const struct pm_cli_topic pm_cli_topic_inout;
extern const struct pm_cli_topic pm_cli_topic_weigh;
extern const struct pm_cli_topic pm_cli_topic_batch;
extern const struct pm_cli_topic pm_cli_topic_rescue;
extern const struct pm_cli_topic pm_cli_topic_filling;
extern const struct pm_cli_topic pm_cli_topic_due;
extern const struct pm_cli_topic pm_cli_topic_balance;
extern const struct pm_cli_topic pm_cli_topic_library;
extern const struct pm_cli_topic pm_cli_topic_settings;
extern const struct pm_cli_topic pm_cli_topic_keys;
extern const struct pm_cli_topic pm_cli_topic_names;
extern const struct pm_cli_topic pm_cli_topic_complete;
extern const struct pm_cli_topic pm_cli_topic_help;

/* Every option of a command; ends with name NULL. */
const struct pm_cli_option *pm_cli_options(const struct pm_cli_command *command);
/* What the options say of the command's entity, by attribute, into values[]; the others NULL. Names
 * given one by one come as one text. How many were given. */
size_t pm_cli_entity_values(struct pm_cli *cli, const char **values);

/* Topics in the order of help. */
struct pm_cli_topics {
    const struct pm_cli_topic *const *items;
    size_t count;
};
extern const struct pm_cli_topics pm_cli_all_topics;
/* The nth command of all, from 0; NULL behind the last. */
const struct pm_cli_command *pm_cli_command_at(const struct pm_cli_topics *topics, size_t n);

/* The options every command has; ends with name NULL. */
extern const struct pm_cli_option pm_cli_global_options[];

/* ---- for commands ---- */

struct pm_cli_given {
    const struct pm_cli_option *option;
    const char *value; /* NULL for a switch */
};

/* A command that takes long (waiting.c). */
struct pm_cli_waiting {
    struct pm_watch watch; /* for whatever takes long: the library's, or an argument */
    const char *doing;     /* what was said last */
    int64_t done, all;     /* how much of how much of that; all 0: nobody knows */
    int64_t began, shown;  /* milliseconds */
    int width;             /* of the line that stands on the terminal; 0: none */
    bool stopped;          /* given up */
    bool caught;           /* Ctrl-C comes here */
    struct sigaction before;
};
void pm_cli_wait_begin(struct pm_cli *cli);
void pm_cli_wait_clear(struct pm_cli *cli); /* takes the line away, before something is said */
void pm_cli_wait_end(struct pm_cli *cli);
/* Whether the person gave it up. What is not written yet is not written then. */
bool pm_cli_stopped(struct pm_cli *cli);

struct pm_cli {
    const struct pm_cli_front *front;     /* borrowed */
    const struct pm_cli_command *command; /* NULL: none was named */
    const char **operands;                /* owned array of borrowed words */
    size_t operand_count;
    struct pm_cli_given *given; /* owned; in the order given */
    size_t given_count;
    struct pm_arena joined; /* values of options that were given several times, as one */
    enum pm_cli_form form;
    bool linear;                       /* text as plain lines, for a screen reader */
    struct pm_studio *studio;          /* NULL until pm_cli_open, or the front's */
    void (*close)(struct pm_cli *cli); /* set by pm_cli_open: whoever opens knows how to close */
    struct pm_text out;                /* the answer; written when the command succeeded */
    struct pm_text said;               /* of pm_cli_say while the library is being changed */
    const char *hint;                  /* a sentence after a refusal's, or NULL */
    bool changing;                     /* a change was begun, and ends with the command */
    bool looking;                      /* so was a view of the file */
    bool done;                         /* something was written that a refusal would deny */
    int outcome;                       /* exit status when run() returns PM_OK */
    struct pm_cli_waiting waiting;
    bool wrong_usage; /* set by pm_cli_usage */
};

/* Opens the library (once) into cli->studio: the file --db or PERMILLE_DB names, or the usual one.
 * A missing file is made when `create`, otherwise PM_MISSING. A command that changes begins its
 * change here, another its view of the file. With an option that is `dry` a copy in memory takes
 * its place, and a change of it. */
enum pm_status pm_cli_open(struct pm_cli *cli, bool create, struct pm_error *err);
/* The same, of the file at that path (NULL: as pm_cli_open). */
enum pm_status pm_cli_open_at(struct pm_cli *cli, const char *path, bool create,
                              struct pm_error *err);
/* Ends what pm_cli_open began: a change is committed when status is PM_OK. */
enum pm_status pm_cli_settle(struct pm_cli *cli, enum pm_status status, struct pm_error *err);

bool pm_cli_has(const struct pm_cli *cli, const char *option);
/* The option's value, or NULL when it was not given. */
const char *pm_cli_value(const struct pm_cli *cli, const char *option);
/* The values of an option that may stand several times: start with *at = 0; NULL at the end. */
const char *pm_cli_next_value(const struct pm_cli *cli, const char *option, size_t *at);

/* Wrong usage: records the sentence; the command returns what this returns, and the exit status
 * will be 2. */
enum pm_status pm_cli_usage(struct pm_cli *cli, struct pm_error *err, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* Adds lines, broken between words where they are longer than `columns` cells (0: as they are);
 * what a line goes on with is indented as its beginning is. */
void pm_cli_add_broken(struct pm_text *out, const char *text, size_t columns);
/* A line on standard error that is not part of the answer. While the library is being changed it
 * waits for the commit, and is not said when there is none. */
void pm_cli_say(struct pm_cli *cli, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Tells what was done: the sentence, given without its full stop, on standard error. With --json
 * also begins the answer, an object that holds it; the caller adds the rest and closes the object.
 * False without --json. */
bool pm_cli_tell_begin(struct pm_cli *cli, const char *sentence, struct pm_json *json);

/* Adds the rows of a drawing; nothing where plain lines are wished: what it shows is said as
 * well. */
void pm_cli_add_drawing(struct pm_cli *cli, char *const *rows, size_t count);

/* The door of what leaves as text or CSV, whatever it was made of: invalid UTF-8 and all that could
 * steer the terminal become a mark. Line ends and tabs stay. */
void pm_cli_clean(struct pm_text *text);

/* Adds text that came from the library or the user to what a terminal will show: line breaks and
 * tabs become spaces, everything that could steer the terminal a mark. */
void pm_cli_add_shown(struct pm_text *out, const char *text);

#endif
