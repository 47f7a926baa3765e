/* SPDX-License-Identifier: MIT */
/* Commands on the lines of a draft. */
#include "bench.h"

#include "permille/studio/shelf.h"

#include <stdlib.h>
#include <string.h>

/* ---- amounts ---- */

static enum pm_status fill_set(struct pm_cli *cli, const struct pm_sheet *sheet,
                               struct pm_gesture *gesture, struct pm_error *err)
{
    const long place = pm_trial_find(&sheet->trial, gesture->line);
    return pm_parts_read(cli->operands[2], sheet->trial.lines[place].parts, sheet->trial.base,
                         &gesture->parts, err);
}

static enum pm_status fill_nudge(struct pm_cli *cli, const struct pm_sheet *sheet,
                                 struct pm_gesture *gesture, struct pm_error *err)
{
    const char *text = cli->operands[2];
    char *end;

    (void)sheet;
    const long steps = strtol(text, &end, 10);
    if (end == text || *end != '\0')
        return pm_cli_usage(cli, err, "'%s' is no number of steps: 1, -1, 5.", text);
    if (steps == 0 || steps < -1000000 || steps > 1000000)
        return pm_fail(err, PM_INVALID, "The steps are 1 to 1000000, up or down.");
    gesture->steps = (int)steps;
    return PM_OK;
}

static enum pm_status fill_scale(struct pm_cli *cli, const struct pm_sheet *sheet,
                                 struct pm_gesture *gesture, struct pm_error *err)
{
    (void)sheet;
    return pm_factor_read(cli->operands[2], &gesture->numerator, &gesture->denominator, err);
}

/* ---- coming, going, taking the place of another ---- */

/* What operand `at` names into a fresh line: a material, or with --accord an accord's trial. */
static enum pm_status fill_fresh(struct pm_cli *cli, size_t at, struct pm_line *fresh,
                                 struct pm_error *err)
{
    if (!pm_cli_has(cli, "accord")) {
        const enum pm_status status =
            pm_shelf_find(cli->studio, cli->operands[at], &fresh->ref, err);
        fresh->kind = PM_LINE_MATERIAL;
        return status == PM_OK ? pm_cli_read_dilution(cli, fresh, err) : status;
    }
    if (pm_cli_has(cli, "at") || pm_cli_has(cli, "in"))
        return pm_cli_usage(cli, err, "An accord is poured as it is: no '--at', no '--in'.");
    struct pm_cli_named named;
    const enum pm_status status = pm_cli_name(cli, at, &named, err);
    if (status != PM_OK)
        return status;
    fresh->kind = PM_LINE_ACCORD;
    fresh->ref = named.trial;
    fresh->strength = PM_NEAT;
    return PM_OK;
}

static enum pm_status fill_add(struct pm_cli *cli, const struct pm_sheet *sheet,
                               struct pm_gesture *gesture, struct pm_error *err)
{
    const char *place = pm_cli_value(cli, "place");

    gesture->place = sheet->trial.count;
    gesture->fresh.stance = pm_cli_has(cli, "held") ? PM_HELD : PM_FREE;
    gesture->text = NULL;
    enum pm_status status = fill_fresh(cli, 1, &gesture->fresh, err);
    if (status == PM_OK)
        status = pm_parts_read(cli->operands[2], 0, sheet->trial.base, &gesture->parts, err);
    if (status == PM_OK && place != NULL)
        status = pm_cli_read_place(place, &gesture->place, err);
    return status;
}

static enum pm_status fill_swap(struct pm_cli *cli, const struct pm_sheet *sheet,
                                struct pm_gesture *gesture, struct pm_error *err)
{
    (void)sheet;
    gesture->same_neat = pm_cli_has(cli, "same-neat");
    gesture->move_held = pm_cli_has(cli, "move-held");
    return fill_fresh(cli, 2, &gesture->fresh, err);
}

static enum pm_status fill_restrength(struct pm_cli *cli, const struct pm_sheet *sheet,
                                      struct pm_gesture *gesture, struct pm_error *err)
{
    const char *in = pm_cli_value(cli, "in");

    (void)sheet;
    gesture->move_held = pm_cli_has(cli, "move-held");
    enum pm_status status = pm_strength_read(cli->operands[2], &gesture->strength, err);
    if (status == PM_OK && in != NULL)
        status = pm_shelf_find(cli->studio, in, &gesture->solvent, err);
    return status;
}

/* ---- order and words ---- */

static enum pm_status fill_move(struct pm_cli *cli, const struct pm_sheet *sheet,
                                struct pm_gesture *gesture, struct pm_error *err)
{
    (void)sheet;
    return pm_cli_read_place(cli->operands[2], &gesture->place, err);
}

static enum pm_status fill_comment(struct pm_cli *cli, const struct pm_sheet *sheet,
                                   struct pm_gesture *gesture, struct pm_error *err)
{
    (void)sheet;
    (void)err;
    gesture->text = cli->operand_count > 2 ? cli->operands[2] : NULL;
    return PM_OK;
}

/* ---- the table ---- */

static const struct pm_cli_option try_options[] = {
    PM_CLI_TRY_OPTION,
    {.name = NULL},
};

static const struct pm_cli_option add_options[] = {
    {.name = "at", .value = "STRENGTH", .help = "of the material as poured; neat without it"},
    {.name = "in", .value = "SOLVENT", .help = "what it is diluted in"},
    {.name = "accord", .help = "not a material but an accord's kept trial, A/N"},
    {.name = "place", .value = "N", .help = "where the line goes, 1 for the first"},
    {.name = "held", .help = "the line stands still when others change"},
    PM_CLI_TRY_OPTION,
    {.name = NULL},
};

static const struct pm_cli_option swap_options[] = {
    {.name = "at", .value = "STRENGTH", .help = "of the new material as poured; neat without it"},
    {.name = "in", .value = "SOLVENT", .help = "what it is diluted in"},
    {.name = "accord", .help = "not a material but an accord's kept trial, A/N"},
    {.name = "same-neat", .help = "keep the neat parts, not the poured ones"},
    {.name = "move-held", .help = "held lines may be scaled too"},
    PM_CLI_TRY_OPTION,
    {.name = NULL},
};

static const struct pm_cli_option restrength_options[] = {
    {.name = "in",
     .value = "SOLVENT",
     .help = "what it is diluted in; the line's so far, or the carrier, without it"},
    {.name = "move-held", .help = "held lines may be scaled too"},
    PM_CLI_TRY_OPTION,
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND(
        "add", "F MATERIAL PARTS", 3, 3, PM_CLI_JSON,
        "tuck a line in; the others give way as the mode says",
        .more = "While the total is below the base nothing gives way. PARTS may also be a share of "
                "the base, such as 5% or 300ppm, or plain arithmetic, such as 21+4.",
        .options = add_options, PM_CLI_EDIT(PM_ADD, false, fill_add), .changes = true),
    PM_CLI_COMMAND(
        "set", "F LINE PARTS", 3, 3, PM_CLI_JSON,
        "set a line's parts; the others give way as the mode says",
        .more = "PARTS that begin with *, /, + or - go on from what the line has: *0.95, /3, +2, "
                "-2; +5% is five percent more of the line, 5% alone is of the base. One line of a "
                "core moves the whole core. Where a comma could mean thousands (1,000) it is "
                "refused: type 1000 or 1.000.",
        .options = try_options, PM_CLI_EDIT(PM_SET, true, fill_set), .changes = true),
    PM_CLI_COMMAND("nudge", "F LINE STEPS", 3, 3, PM_CLI_JSON,
                   "move a line by steps of its second significant digit",
                   .more = "STEPS may be negative. 12 goes to 13, 0.35 to 0.36.",
                   .options = try_options, PM_CLI_EDIT(PM_NUDGE, true, fill_nudge),
                   .changes = true),
    PM_CLI_COMMAND("scale", "F LINE FACTOR", 3, 3, PM_CLI_JSON,
                   "multiply a line's parts: 1.5, 3:2, 2/3, 110%, 20ppm", .options = try_options,
                   PM_CLI_EDIT(PM_SCALE, true, fill_scale), .changes = true),
    PM_CLI_COMMAND("drop", "F LINE", 2, 2, PM_CLI_JSON,
                   "take a line out; the others grow as the mode says", .options = try_options,
                   PM_CLI_EDIT(PM_DROP, true, NULL), .changes = true),
    PM_CLI_COMMAND("swap", "F LINE MATERIAL", 3, 3, PM_CLI_JSON,
                   "put another material in a line's place", .options = swap_options,
                   PM_CLI_EDIT(PM_SWAP, true, fill_swap), .changes = true),
    PM_CLI_COMMAND(
        "restrength", "F LINE STRENGTH", 3, 3, PM_CLI_JSON,
        "the same neat parts at another strength",
        .more = "A carrier of the same solvent gives or takes the difference; without one all "
                "lines are scaled alike, so that every ratio of neat parts stays.",
        .options = restrength_options, PM_CLI_EDIT(PM_RESTRENGTH, true, fill_restrength),
        .changes = true),
    PM_CLI_COMMAND("move", "F LINE PLACE", 3, 3, PM_CLI_JSON,
                   "put a line at another place, 1 for the first", .options = try_options,
                   PM_CLI_EDIT(PM_MOVE, true, fill_move), .changes = true),
    PM_CLI_COMMAND("comment", "F LINE [TEXT]", 2, 3, PM_CLI_JSON,
                   "write a remark beside a line; without TEXT take it away",
                   .options = try_options, PM_CLI_EDIT(PM_COMMENT, true, fill_comment),
                   .changes = true),
};

const struct pm_cli_topic pm_cli_topic_lines = {
    .title = "Lines",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
