/* SPDX-License-Identifier: MIT */
/* What the commands on formulas share (bench.h). */
#include "bench.h"
#include "listing.h"
#include "sheet.h"

#include "permille/base/json.h"
#include "permille/studio/shelf.h"
#include "permille/studio/trials.h"

/* ---- naming ---- */

enum pm_status pm_cli_name(struct pm_cli *cli, size_t at, struct pm_cli_named *out,
                           struct pm_error *err)
{
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_formula_find(cli->studio, cli->operands[at], &out->formula, &out->trial,
                                 &out->number, err);
    return status;
}

enum pm_status pm_cli_sheet(struct pm_cli *cli, size_t at, struct pm_sheet **out,
                            struct pm_error *err)
{
    struct pm_cli_named named;
    enum pm_status status = pm_cli_name(cli, at, &named, err);
    if (status == PM_OK)
        status = pm_sheet_open(cli->studio, named.trial, out, err);
    return status;
}

enum pm_status pm_cli_draft(struct pm_cli *cli, size_t at, struct pm_cli_named *named,
                            struct pm_sheet **out, struct pm_error *err)
{
    enum pm_status status = pm_cli_name(cli, at, named, err);
    if (status == PM_OK)
        status = pm_sheet_open_draft(cli->studio, named->formula, out, err);
    return status;
}

enum pm_status pm_cli_find_revision(struct pm_cli *cli, int64_t formula, const char *text,
                                    int64_t *out, struct pm_error *err)
{
    struct pm_revision_entries history;
    int64_t number, found = 0;

    enum pm_status status = pm_decimal_read(text, 0, "The revision", &number, err);
    if (status == PM_OK)
        status = pm_history_list(cli->studio, formula, -1, NULL, &history, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < history.count; i++)
        if (history.items[i].row.number == number)
            found = history.items[i].row.id;
    if (found == 0)
        status = pm_fail(err, PM_MISSING, "There is no revision %lld: the history has %zu.",
                         (long long)number, history.count);
    else
        *out = found;
    pm_list_release(&history);
    return status;
}

/* ---- reading ---- */

enum pm_status pm_cli_read_place(const char *text, size_t *out, struct pm_error *err)
{
    int64_t place;
    const enum pm_status status = pm_decimal_read(text, 0, "The place", &place, err);
    if (status != PM_OK)
        return status;
    if (place < 1)
        return pm_fail(err, PM_INVALID, "Places are counted from 1.");
    *out = (size_t)place - 1;
    return PM_OK;
}

enum pm_status pm_cli_read_dilution(struct pm_cli *cli, struct pm_line *line, struct pm_error *err)
{
    const char *at = pm_cli_value(cli, "at"), *in = pm_cli_value(cli, "in");
    pm_strength strength = PM_NEAT;
    int64_t solvent = 0;
    enum pm_status status = PM_OK;

    if (in != NULL && at == NULL)
        return pm_cli_usage(cli, err, "'--in' needs '--at': at which strength?");
    if (at != NULL)
        status = pm_strength_read(at, &strength, err);
    if (status == PM_OK && in != NULL)
        status = pm_shelf_find(cli->studio, in, &solvent, err);
    if (status != PM_OK)
        return status;
    if (strength == PM_NEAT && in != NULL)
        return pm_fail(err, PM_INVALID, "What is neat is in no solvent; leave '--in' away.");
    line->strength = strength;
    line->solvent = solvent;
    return PM_OK;
}

/* ---- gestures ---- */

/* Tells what was done to a formula: the sentence, a remark or NULL, and with --json the answer. */
static void tell(struct pm_cli *cli, const struct pm_sheet *sheet, const char *sentence,
                 const char *remark)
{
    struct pm_json json;

    const bool answers = pm_cli_tell_begin(cli, sentence, &json);
    if (remark != NULL)
        pm_cli_say(cli, "%s.", remark);
    if (!answers)
        return;
    pm_json_put_string(&json, "remark", remark);
    pm_json_put_string(&json, "formula", sheet->name);
    pm_json_put_bool(&json, "accord", sheet->accord);
    pm_json_put_decimal(&json, "base_parts", sheet->trial.base, 6);
    pm_json_put_decimal(&json, "total_parts", sheet->total, 6);
    pm_json_put_decimal(&json, "off_parts", sheet->off, 6);
    pm_json_put_string(&json, "mode", pm_mode_word(sheet->trial.mode));
    pm_json_put_bool(&json, "settled", sheet->trial.settled);
    pm_json_put_int(&json, "lines", (int64_t)sheet->trial.count);
    pm_json_put_int(&json, "kept_trials", sheet->kept);
    pm_json_close(&json, '}');
}

enum pm_status pm_cli_tell_formula(struct pm_cli *cli, int64_t formula, const char *before,
                                   const char *after, struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct pm_sheet *sheet;

    enum pm_status status = pm_sheet_open_draft(cli->studio, formula, &sheet, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&sentence, "%s%s%s", before, sheet->name, after);
    if (pm_text_ok(&sentence))
        tell(cli, sheet, pm_text_get(&sentence), NULL);
    else
        status = pm_fail_memory(err);
    pm_text_release(&sentence);
    pm_sheet_free(sheet);
    return status;
}

enum pm_status pm_cli_carry_out(struct pm_cli *cli, struct pm_plan *plan, struct pm_error *err)
{
    struct pm_sheet *sheet = NULL;
    enum pm_status status;

    if (pm_cli_has(cli, "try")) {
        status = pm_cli_show_sheet(cli, pm_plan_sheet(plan), err);
        if (status == PM_OK)
            pm_cli_say(cli, "Not written: %s.", pm_plan_sentence(plan));
    } else {
        status = pm_plan_commit(cli->studio, plan, &sheet, err);
        if (status == PM_OK)
            tell(cli, sheet, pm_plan_sentence(plan), pm_plan_remark(plan));
    }
    pm_sheet_free(sheet);
    pm_plan_free(plan);
    return status;
}

enum pm_status pm_cli_gesture(struct pm_cli *cli, const struct pm_sheet *sheet,
                              const struct pm_gesture *gesture, struct pm_error *err)
{
    struct pm_plan *plan;
    const enum pm_status status = pm_plan_gesture(cli->studio, sheet, gesture, &plan, err);
    return status == PM_OK ? pm_cli_carry_out(cli, plan, err) : status;
}

enum pm_status pm_cli_edit_as(struct pm_cli *cli, const struct pm_cli_editing *as,
                              struct pm_error *err)
{
    struct pm_gesture gesture = {.kind = as->kind};
    struct pm_sheet *sheet;

    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    if (as->on_line)
        status = pm_sheet_find_line(sheet, cli->operands[1], &gesture.line, err);
    if (status == PM_OK && as->fill != NULL)
        status = as->fill(cli, sheet, &gesture, err);
    if (status == PM_OK)
        status = pm_cli_gesture(cli, sheet, &gesture, err);
    pm_sheet_free(sheet);
    return status;
}

enum pm_status pm_cli_edit(struct pm_cli *cli, struct pm_error *err)
{
    return pm_cli_edit_as(cli, cli->command->with, err);
}

/* ---- a listing about a formula ---- */

static enum pm_status listing_as_json(struct pm_cli *cli, const struct pm_listing *table,
                                      int64_t formula, const char *key, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_json json;
    enum pm_status status = pm_sheet_open_draft(cli->studio, formula, &sheet, err);
    if (status != PM_OK)
        return status;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_string(&json, "formula", sheet->name);
    pm_sheet_free(sheet);
    pm_json_key(&json, key);
    status = pm_listing_as_json(table, &json, err);
    pm_json_close(&json, '}');
    return status;
}

enum pm_status pm_cli_answer_about(struct pm_cli *cli, struct pm_listing *table, int64_t formula,
                                   const char *key, const char *none, struct pm_error *err)
{
    if (cli->form != PM_CLI_JSON)
        return pm_listing_answer(table, cli, key, none, err);
    const enum pm_status status = listing_as_json(cli, table, formula, key, err);
    pm_listing_release(table);
    return status;
}
