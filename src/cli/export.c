/* SPDX-License-Identifier: MIT */
/* Taking formulas, sheets and the shelf out. */
#include "export.h"
#include "bench.h"
#include "limits.h"
#include "scale.h"
#include "shelf.h"

#include "permille/base/mem.h"
#include "permille/studio/bench.h"
#include "permille/studio/limits.h"
#include "permille/studio/paper.h"
#include "permille/studio/scale.h"
#include "permille/studio/shelf.h"
#include "permille/studio/whole.h"

#include <string.h>

/* ---- formulas ---- */

static enum pm_status add_sheet(struct pm_cli *cli, int64_t trial, struct pm_sheet **sheets,
                                size_t *count, struct pm_error *err)
{
    const enum pm_status status = pm_sheet_open(cli->studio, trial, &sheets[*count], err);
    *count += status == PM_OK;
    return status;
}

/* The named ones, or the drafts of all formulas in sight: accords before what may use them. */
static enum pm_status open_sheets(struct pm_cli *cli, struct pm_sheet ***out, size_t *count,
                                  struct pm_error *err)
{
    struct pm_formulas formulas = {.items = NULL};
    enum pm_status status = PM_OK;
    if (cli->operand_count == 0)
        status = pm_formulas_list(cli->studio, NULL, false, &formulas, err);
    *out = pm_alloc_array(cli->operand_count + formulas.count + 1, sizeof **out);
    if (status == PM_OK && *out == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < cli->operand_count; i++) {
        struct pm_cli_named named;
        status = pm_cli_name(cli, i, &named, err);
        if (status == PM_OK)
            status = add_sheet(cli, named.trial, *out, count, err);
    }
    for (int accords = 1; accords >= 0; accords--)
        for (size_t i = 0; status == PM_OK && i < formulas.count; i++)
            if (formulas.items[i].accord == (accords == 1))
                status = add_sheet(cli, formulas.items[i].draft, *out, count, err);
    pm_list_release(&formulas);
    return status;
}

static enum pm_status export_sheets(struct pm_cli *cli, enum pm_paper paper, struct pm_error *err)
{
    struct pm_sheet **sheets = NULL;
    size_t count = 0;
    enum pm_status status = open_sheets(cli, &sheets, &count, err);
    if (status == PM_OK)
        status = pm_paper_sheets((const struct pm_sheet *const *)sheets, count, paper,
                                 pm_decimal_sign(), &cli->out, err);
    for (size_t i = 0; i < count; i++)
        pm_sheet_free(sheets[i]);
    pm_free(sheets);
    return status;
}

static enum pm_status export_comparison(struct pm_cli *cli, enum pm_paper paper,
                                        struct pm_error *err)
{
    int64_t trials[PM_COMPARE_MAX];
    struct pm_side_by_side side;
    enum pm_status status = PM_OK;
    if (cli->operand_count < 2 || cli->operand_count > PM_COMPARE_MAX)
        return pm_cli_usage(cli, err, "Name two to %d trials to compare.", PM_COMPARE_MAX);
    for (size_t i = 0; status == PM_OK && i < cli->operand_count; i++) {
        struct pm_cli_named named;
        status = pm_cli_name(cli, i, &named, err);
        trials[i] = status == PM_OK ? named.trial : 0;
    }
    if (status == PM_OK)
        status = pm_compare_open(cli->studio, trials, cli->operand_count, PM_BY_POURED, &side, err);
    if (status != PM_OK)
        return status;
    status = pm_paper_comparison(&side, paper, pm_decimal_sign(), &cli->out, err);
    pm_side_by_side_release(&side);
    return status;
}

/* ---- sheets ---- */

static enum pm_status export_weigh_sheet(struct pm_cli *cli, enum pm_paper paper,
                                         struct pm_error *err)
{
    const struct pm_weigh_how how = pm_cli_weigh_how(cli);
    struct pm_sheet *sheet;
    struct pm_weighing weighing;
    pm_mass mass = 0;
    if (cli->operand_count != 1)
        return pm_cli_usage(cli, err, "Name the one trial to weigh.");
    enum pm_status status = pm_mass_read(pm_cli_value(cli, "weigh"), &mass, err);
    if (status == PM_OK)
        status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_weigh(cli->studio, sheet, mass, &how, &weighing, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    status = pm_weighing_print(&weighing, paper, pm_decimal_sign(), &cli->out, err);
    pm_weighing_release(&weighing);
    return status;
}

static enum pm_status export_record(struct pm_cli *cli, enum pm_paper paper, struct pm_error *err)
{
    struct pm_batch_record record;
    int64_t id;
    if (cli->operand_count != 1)
        return pm_cli_usage(cli, err, "Name the one batch, by its number.");
    enum pm_status status = pm_decimal_read(cli->operands[0], 0, "The batch's number", &id, err);
    if (status == PM_OK)
        status = pm_batch_show(cli->studio, id, &record, err);
    if (status != PM_OK)
        return status;
    status = pm_batch_print(&record, paper, pm_decimal_sign(), &cli->out, err);
    pm_batch_record_release(&record);
    return status;
}

static enum pm_status export_label(struct pm_cli *cli, enum pm_paper paper, struct pm_error *err)
{
    struct pm_limits_wish wish;
    struct pm_sheet *sheet;
    if (cli->operand_count != 1)
        return pm_cli_usage(cli, err, "Name the one formula of the label.");
    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_limits_wish(cli->studio, sheet->formula, &wish, err);
    if (status == PM_OK)
        status = pm_limits_read_wish(cli->studio, pm_cli_value(cli, "dosage"),
                                     pm_cli_value(cli, "category"), NULL, NULL, &wish, err);
    if (status == PM_OK)
        status =
            pm_limits_print(cli->studio, sheet, &wish, paper, pm_decimal_sign(), &cli->out, err);
    pm_sheet_free(sheet);
    return status;
}

/* ---- the command ---- */

static bool is_shelf(const struct pm_cli *cli, const char *what)
{
    return !pm_cli_has(cli, "formulas") &&
           (strcmp(what, "materials") == 0 || strcmp(what, "bottles") == 0 ||
            strcmp(what, "movements") == 0 || strcmp(what, "shelf") == 0);
}

typedef enum pm_status sheet_fn(struct pm_cli *cli, enum pm_paper paper, struct pm_error *err);

/* What is set on a page; NULL: formulas. */
static sheet_fn *wanted_sheet(const struct pm_cli *cli, size_t *wishes)
{
    static const struct {
        const char *option;
        sheet_fn *write;
    } sheets[] = {{"weigh", export_weigh_sheet},
                  {"record", export_record},
                  {"label", export_label},
                  {"compare", export_comparison}};
    sheet_fn *write = NULL;
    for (size_t i = 0; i < sizeof sheets / sizeof sheets[0]; i++) {
        if (!pm_cli_has(cli, sheets[i].option))
            continue;
        write = sheets[i].write;
        ++*wishes;
    }
    return write;
}

static enum pm_status check_wishes(struct pm_cli *cli, size_t wishes, const char *as,
                                   struct pm_error *err)
{
    const bool all = pm_cli_has(cli, "all"), formulas = pm_cli_has(cli, "formulas");
    if ((all || formulas) && cli->operand_count > 0)
        return pm_cli_usage(cli, err, "--all and --formulas are everything: name nothing beside.");
    if (wishes + (size_t)all + (size_t)formulas > 1)
        return pm_cli_usage(cli, err, "One thing at a time: several sheets are several exports.");
    if (all && as != NULL && strcmp(as, "json") != 0)
        return pm_cli_usage(cli, err, "The whole library is written as JSON.");
    if (wishes > 0 && as != NULL && (strcmp(as, "json") == 0 || strcmp(as, "csv") == 0))
        return pm_cli_usage(cli, err,
                            "Sheets are HTML, Markdown or text; the commands weigh, batch, "
                            "limits, label and compare answer with --json.");
    return PM_OK;
}

enum pm_status pm_cli_run_export(struct pm_cli *cli, struct pm_error *err)
{
    const char *what = cli->operand_count > 0 ? cli->operands[0] : "materials";
    const char *as = pm_cli_value(cli, "as");
    size_t wishes = 0;
    sheet_fn *const sheet = wanted_sheet(cli, &wishes);
    const bool shelf = sheet == NULL && is_shelf(cli, what);
    enum pm_paper paper = sheet != NULL ? PM_PAPER_HTML : shelf ? PM_PAPER_CSV : PM_PAPER_JSON;
    enum pm_status status = check_wishes(cli, wishes, as, err);
    if (status == PM_OK && shelf && cli->operand_count > 1)
        return pm_cli_usage(cli, err, "Tables of the shelf are written alone.");
    if (as != NULL)
        pm_paper_from_word(as, &paper);
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status != PM_OK)
        return status;
    if (pm_cli_has(cli, "all"))
        return pm_studio_write_whole(cli->studio, &cli->out, err);
    return sheet != NULL ? sheet(cli, paper, err)
           : shelf ? pm_shelf_paper(cli->studio, what, paper, pm_decimal_sign(), &cli->out, err)
                   : export_sheets(cli, paper, err);
}

const struct pm_cli_option pm_cli_export_options[] = {
    {.name = "all", .help = "the whole library as one JSON document, which import reads back"},
    {.name = "formulas", .help = "the drafts of all formulas"},
    {.name = "as",
     .value = "FORM",
     .words = "json|csv|markdown|html|text",
     .help = "how it is written; import reads the first two"},
    {.name = "weigh", .value = "MASS", .help = "the sheet to weigh so much of a trial from"},
    {.name = "record", .help = "the record of the batch of that number"},
    {.name = "label", .help = "a draft of the label, then the limits, with their sources"},
    {.name = "dosage", .value = "PERCENT", .help = "for --label, where the formula has none"},
    {.name = "category", .value = "WORD", .help = "for --label, of the finished product"},
    {.name = "compare", .help = "the trials named, side by side"},
    {.name = NULL},
};
