/* SPDX-License-Identifier: MIT */
/* Commands on how a draft's total is kept: stances, mode, base, cores; folding and unfolding. */
#include "bench.h"

#include "permille/base/mem.h"

#include <string.h>

/* ---- stance, mode, base, settle ---- */

static enum pm_status fill_stance(struct pm_cli *cli, const struct pm_sheet *sheet,
                                  struct pm_gesture *gesture, struct pm_error *err)
{
    (void)sheet;
    if (!pm_stance_from_word(cli->operands[2], &gesture->stance))
        return pm_cli_usage(cli, err, "A stance is one of free, held, carrier, resting, not '%s'.",
                            cli->operands[2]);
    return PM_OK;
}

static enum pm_status fill_rest(struct pm_cli *cli, const struct pm_sheet *sheet,
                                struct pm_gesture *gesture, struct pm_error *err)
{
    (void)sheet;
    (void)err;
    gesture->stance = PM_RESTING;
    gesture->as_it_was = pm_cli_has(cli, "back");
    return PM_OK;
}

static enum pm_status fill_mode(struct pm_cli *cli, const struct pm_sheet *sheet,
                                struct pm_gesture *gesture, struct pm_error *err)
{
    (void)sheet;
    if (!pm_mode_from_word(cli->operands[1], &gesture->mode))
        return pm_cli_usage(cli, err, "A mode is one of core, share, carrier, open, not '%s'.",
                            cli->operands[1]);
    return PM_OK;
}

static enum pm_status fill_base(struct pm_cli *cli, const struct pm_sheet *sheet,
                                struct pm_gesture *gesture, struct pm_error *err)
{
    (void)sheet;
    return pm_decimal_read(cli->operands[1], 6, "The base", &gesture->parts, err);
}

/* ---- lines together ---- */

/* The lines that the operands from `first` on name, in a new array (pm_free). */
static enum pm_status find_lines(struct pm_cli *cli, const struct pm_sheet *sheet, size_t first,
                                 int64_t **out, struct pm_error *err)
{
    const size_t count = cli->operand_count - first;
    int64_t *lines = pm_alloc_array(count, sizeof *lines);
    enum pm_status status = lines != NULL ? PM_OK : pm_fail_memory(err);

    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = pm_sheet_find_line(sheet, cli->operands[first + i], &lines[i], err);
    if (status != PM_OK) {
        pm_free(lines);
        return status;
    }
    *out = lines;
    return PM_OK;
}

/* --ratio: as many numbers as lines, in a new array (pm_free); NULL without the option. */
static enum pm_status read_ratio(struct pm_cli *cli, size_t lines, int64_t **out,
                                 struct pm_error *err)
{
    const char *text = pm_cli_value(cli, "ratio");
    size_t count = 0;

    *out = NULL;
    if (text == NULL)
        return PM_OK;
    const size_t most = strlen(text) / 2 + 1; /* numbers that the text can hold */
    int64_t *weights = pm_alloc_array(most, sizeof *weights);
    if (weights == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_ratio_read(text, weights, most, &count, err);
    if (status == PM_OK && count != lines)
        status = pm_cli_usage(cli, err, "The ratio %s has %zu numbers for %zu lines.", text, count,
                              lines);
    if (status != PM_OK) {
        pm_free(weights);
        return status;
    }
    *out = weights;
    return PM_OK;
}

static enum pm_status form_core(struct pm_cli *cli, const struct pm_sheet *sheet,
                                struct pm_error *err)
{
    struct pm_gesture gesture = {.kind = PM_FORM_CORE, .line_count = cli->operand_count - 1};
    int64_t *lines = NULL, *weights = NULL;

    enum pm_status status = find_lines(cli, sheet, 1, &lines, err);
    if (status == PM_OK)
        status = read_ratio(cli, gesture.line_count, &weights, err);
    gesture.lines = lines;
    gesture.weights = weights;
    if (status == PM_OK)
        status = pm_cli_gesture(cli, sheet, &gesture, err);
    pm_free(lines);
    pm_free(weights);
    return status;
}

static enum pm_status run_core(struct pm_cli *cli, struct pm_error *err)
{
    const bool break_up = pm_cli_has(cli, "break"), leave = pm_cli_has(cli, "leave");
    struct pm_sheet *sheet;

    if (break_up + leave + (pm_cli_value(cli, "ratio") != NULL) > 1)
        return pm_cli_usage(cli, err, "One of '--ratio', '--break' and '--leave', not more.");
    if ((break_up || leave) && cli->operand_count != 2)
        return pm_cli_usage(cli, err, "'--%s' takes one line.", break_up ? "break" : "leave");
    if (break_up || leave)
        return pm_cli_edit_as(
            cli,
            &(const struct pm_cli_editing){break_up ? PM_BREAK_CORE : PM_LEAVE_CORE, true, NULL},
            err);
    if (cli->operand_count < 3)
        return pm_cli_usage(cli, err, "A core has two lines or more.");
    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = form_core(cli, sheet, err);
    pm_sheet_free(sheet);
    return status;
}

static enum pm_status run_fold(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_plan *plan;
    int64_t *lines = NULL;

    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = find_lines(cli, sheet, 2, &lines, err);
    if (status == PM_OK)
        status = pm_plan_fold(cli->studio, sheet, cli->operands[1], lines, cli->operand_count - 2,
                              &plan, err);
    if (status == PM_OK)
        status = pm_cli_carry_out(cli, plan, err);
    pm_free(lines);
    pm_sheet_free(sheet);
    return status;
}

/* ---- the table ---- */

static const struct pm_cli_option try_options[] = {
    PM_CLI_TRY_OPTION,
    {.name = NULL},
};

static const struct pm_cli_option rest_options[] = {
    {.name = "back", .help = "bring it back as it was"},
    PM_CLI_TRY_OPTION,
    {.name = NULL},
};

static const struct pm_cli_option core_options[] = {
    {.name = "ratio", .value = "4:3:2", .help = "a number for each line; as they stand without it"},
    {.name = "break", .help = "let the core of LINE go; the parts stay"},
    {.name = "leave", .help = "take LINE alone out of its core"},
    PM_CLI_TRY_OPTION,
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND(
        "stance", "F LINE STANCE", 3, 3, PM_CLI_JSON,
        "how a line behaves when others change: free, held, carrier, resting",
        .more = "A free line gives way in proportion, a held one stands still, the carrier takes "
                "what the others leave in carrier mode. A resting line is left out; its amount and "
                "place are remembered and come back with another stance.",
        .options = try_options, PM_CLI_EDIT(PM_SET_STANCE, true, fill_stance), .changes = true),
    PM_CLI_COMMAND(
        "rest", "F LINE", 2, 2, PM_CLI_JSON,
        "leave a line out for now; the others grow as the mode says",
        .more = "Its amount, place and stance are remembered: '--back' brings it back as it was, "
                "'stance F LINE free' with another stance.",
        .options = rest_options, PM_CLI_EDIT(PM_SET_STANCE, true, fill_rest), .changes = true),
    PM_CLI_COMMAND(
        "mode", "F MODE", 2, 2, PM_CLI_JSON,
        "what gives way: core, share (all free lines), carrier, open (nothing)",
        .more =
            "In core mode the lines in cores give way, their ratio kept, and lines outside keep "
            "their amounts; without a core it is share.",
        .options = try_options, PM_CLI_EDIT(PM_SET_MODE, false, fill_mode), .changes = true),
    PM_CLI_COMMAND("base", "F N", 2, 2, PM_CLI_JSON,
                   "write the formula to another total; every line is rescaled",
                   .options = try_options, PM_CLI_EDIT(PM_SET_BASE, false, fill_base),
                   .changes = true),
    PM_CLI_COMMAND("settle", "F", 1, 1, PM_CLI_JSON, "bring the total to the base",
                   .options = try_options, PM_CLI_EDIT(PM_SETTLE, false, NULL), .changes = true),
    PM_CLI_COMMAND("core", "F LINE...", 2, -1, PM_CLI_JSON,
                   "keep a ratio among lines, or let it go", .options = core_options,
                   .run = run_core, .changes = true),
    PM_CLI_COMMAND("fold", "F NAME LINE...", 3, -1, PM_CLI_JSON,
                   "make a new accord NAME out of lines, and a line of it", .options = try_options,
                   .run = run_fold, .changes = true),
    PM_CLI_COMMAND("unfold", "F LINE", 2, 2, PM_CLI_JSON, "put an accord's own lines in its place",
                   .options = try_options, PM_CLI_EDIT(PM_UNFOLD, true, NULL), .changes = true),
};

const struct pm_cli_topic pm_cli_topic_total = {
    .title = "Totals, cores, accords",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
