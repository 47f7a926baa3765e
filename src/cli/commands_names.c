/* SPDX-License-Identifier: MIT */
/* The names a library has, one a line: for completion, and for loops in a shell. */
#include "names.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/studio/bottles.h"
#include "permille/studio/shelf.h"
#include "permille/studio/trials.h"

#include <stdio.h>
#include <string.h>

#define MOST 100000 /* names of one kind */

/* One that begins as is asked, case and accents ignored. */
static void add_name(struct pm_cli *cli, const char *begins, const char *name, const char *suffix)
{
    struct pm_text whole = PM_TEXT_EMPTY;
    pm_text_addf(&whole, "%s%s", name, suffix);
    char *folded = pm_fold(pm_text_get(&whole)), *wanted = pm_fold(begins);
    if (folded == NULL || wanted == NULL || strncmp(folded, wanted, strlen(wanted)) == 0)
        pm_text_addf(&cli->out, "%s\n", pm_text_get(&whole));
    pm_free(folded);
    pm_free(wanted);
    pm_text_release(&whole);
}

static enum pm_status add_materials(struct pm_cli *cli, const char *begins, struct pm_error *err)
{
    struct pm_material_entries found;
    enum pm_status status = pm_shelf_search(cli->studio, "", MOST, false, &found, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < found.count; i++)
        add_name(cli, begins, found.items[i].name, "");
    pm_list_release(&found);
    return PM_OK;
}

static enum pm_status add_bottles(struct pm_cli *cli, const char *begins, struct pm_error *err)
{
    const struct pm_bottle_filter filter = {.have = true};
    struct pm_bottles bottles;
    enum pm_status status = pm_bottles_list(cli->studio, &filter, &bottles, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < bottles.count; i++)
        add_name(cli, begins, bottles.items[i].label, "");
    pm_list_release(&bottles);
    return PM_OK;
}

/* Formulas, and with `kept` their kept trials as well. */
static enum pm_status add_formulas(struct pm_cli *cli, const char *begins, bool kept,
                                   struct pm_error *err)
{
    struct pm_formulas list;
    enum pm_status status = pm_formulas_list(cli->studio, NULL, false, &list, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < list.count; i++) {
        add_name(cli, begins, list.items[i].name, "");
        for (int64_t n = 1; kept && n <= list.items[i].kept; n++) {
            char number[24];
            snprintf(number, sizeof number, "/%lld", (long long)n);
            add_name(cli, begins, list.items[i].name, number);
        }
    }
    pm_list_release(&list);
    return PM_OK;
}

static enum pm_status add_lines(struct pm_cli *cli, const char *begins, const char *text,
                                struct pm_error *err)
{
    int64_t trial;
    struct pm_sheet *sheet;
    enum pm_status status = pm_formula_find(cli->studio, text, NULL, &trial, NULL, err);
    if (status == PM_OK)
        status = pm_sheet_open(cli->studio, trial, &sheet, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < sheet->trial.count; i++)
        add_name(cli, begins, sheet->lines[i].name, "");
    pm_sheet_free(sheet);
    return PM_OK;
}

enum pm_status pm_names_add(struct pm_cli *cli, const char *kind, const char *formula,
                            const char *begins, struct pm_error *err)
{
    if (strcmp(kind, "lines") == 0)
        return formula != NULL ? add_lines(cli, begins, formula, err) : PM_OK;
    if (strcmp(kind, "formulas") == 0 || strcmp(kind, "trials") == 0)
        return add_formulas(cli, begins, *kind == 't', err);
    if (strcmp(kind, "materials") == 0)
        return add_materials(cli, begins, err);
    if (strcmp(kind, "bottles") == 0)
        return add_bottles(cli, begins, err);
    return pm_fail(err, PM_INVALID, "There are no names of %s.", kind);
}

static const char *const kinds[] = {"formulas", "trials", "lines", "materials", "bottles"};

static enum pm_status run_names(struct pm_cli *cli, struct pm_error *err)
{
    const char *kind = cli->operands[0], *begins = pm_cli_value(cli, "begins");
    const bool lines = strcmp(kind, "lines") == 0;
    if (lines != (cli->operand_count > 1))
        return pm_cli_usage(cli, err,
                            lines ? "Of which formula are the lines?"
                                  : "Only lines belong to a formula.");
    if (pm_word_place(kinds, sizeof kinds / sizeof *kinds, kind) < 0)
        return pm_cli_usage(cli, err,
                            "There are names of formulas, trials, lines, materials, bottles.");
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_names_add(cli, kind, lines ? cli->operands[1] : NULL,
                              begins != NULL ? begins : "", err);
    return status;
}

static const struct pm_cli_option options[] = {
    {.name = "begins",
     .value = "TEXT",
     .help = "only those that begin so; case and accents do not count"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("names", "formulas|trials|lines|materials|bottles [F]", 1, 2, PM_CLI_TEXT,
                   "the names of one kind, one a line, as completion asks for them",
                   .options = options, .run = run_names),
};

const struct pm_cli_topic pm_cli_topic_names = {
    .title = "Names",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
