/* SPDX-License-Identifier: MIT */
/*
 * What the commands on formulas share: naming one, carrying out a gesture, showing a sheet.
 */
#ifndef PERMILLE_CLI_BENCH_H
#define PERMILLE_CLI_BENCH_H

#include "cli.h"

#include "permille/studio/bench.h"

/* The option every gesture has. */
#define PM_CLI_TRY_OPTION                                                                          \
    {                                                                                              \
        .name = "try", .help = "write nothing, show what would become of the formula"              \
    }

/* What a word "F" or "F/3" names. */
struct pm_cli_named {
    int64_t formula, trial, number; /* number 0: the draft */
};
/* What operand `at` names; opens the library. */
enum pm_status pm_cli_name(struct pm_cli *cli, size_t at, struct pm_cli_named *out,
                           struct pm_error *err);
/* The sheet of what operand `at` names (pm_sheet_free). */
enum pm_status pm_cli_sheet(struct pm_cli *cli, size_t at, struct pm_sheet **out,
                            struct pm_error *err);
/* The draft of the formula that operand `at` names, also when it names a kept trial. */
enum pm_status pm_cli_draft(struct pm_cli *cli, size_t at, struct pm_cli_named *named,
                            struct pm_sheet **out, struct pm_error *err);

/* The id of revision number `text` of a formula's history. */
enum pm_status pm_cli_find_revision(struct pm_cli *cli, int64_t formula, const char *text,
                                    int64_t *out, struct pm_error *err);

/* Fills what the gesture needs beyond its kind and its line. */
typedef enum pm_status pm_cli_fill(struct pm_cli *cli, const struct pm_sheet *sheet,
                                   struct pm_gesture *gesture, struct pm_error *err);
/* A whole editing command: operand 0 names the formula, operand 1 a line where the gesture is about
 * one. */
struct pm_cli_editing {
    enum pm_gesture_kind kind;
    bool on_line;
    pm_cli_fill *fill; /* or NULL */
};
enum pm_status pm_cli_edit_as(struct pm_cli *cli, const struct pm_cli_editing *as,
                              struct pm_error *err);
/* The same as run() of a row whose `with` is a struct pm_cli_editing; PM_CLI_EDIT is both. */
enum pm_status pm_cli_edit(struct pm_cli *cli, struct pm_error *err);
#define PM_CLI_EDIT(...)                                                                           \
    .run = pm_cli_edit, .with = &(const struct pm_cli_editing)                                     \
    {                                                                                              \
        __VA_ARGS__                                                                                \
    }
/* Plans the gesture on the sheet and carries it out. */
enum pm_status pm_cli_gesture(struct pm_cli *cli, const struct pm_sheet *sheet,
                              const struct pm_gesture *gesture, struct pm_error *err);
/* Commits the plan and tells what it did, or with --try shows what it would; frees it. */
enum pm_status pm_cli_carry_out(struct pm_cli *cli, struct pm_plan *plan, struct pm_error *err);
/* Tells what was done to a formula, and how it now is: its name between two pieces of the sentence.
 */
enum pm_status pm_cli_tell_formula(struct pm_cli *cli, int64_t formula, const char *before,
                                   const char *after, struct pm_error *err);

/* The place operand or option value `text`: 1 for the first. PM_INVALID. */
enum pm_status pm_cli_read_place(const char *text, size_t *out, struct pm_error *err);
/* --at and --in into the strength and solvent of a line; neat without them. */
enum pm_status pm_cli_read_dilution(struct pm_cli *cli, struct pm_line *line, struct pm_error *err);

struct pm_listing;
/* pm_listing_answer, with the formula's name before the rows in JSON: {"formula": ..., key: [...]}.
 */
enum pm_status pm_cli_answer_about(struct pm_cli *cli, struct pm_listing *table, int64_t formula,
                                   const char *key, const char *none, struct pm_error *err);

#endif
