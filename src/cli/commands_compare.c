/* SPDX-License-Identifier: MIT */
/* The command `compare`: two to four trials side by side. */
#include "bench.h"
#include "table.h"

#include "permille/studio/trials.h"

#include <string.h>

static enum pm_compare_by read_by(const struct pm_cli *cli)
{
    const char *by = pm_cli_value(cli, "by");
    if (by != NULL && strcmp(by, "neat") == 0)
        return PM_BY_NEAT;
    return by != NULL && strcmp(by, "flat") == 0 ? PM_BY_FLAT : PM_BY_POURED;
}

/* ---- JSON ---- */

static void put_amounts(struct pm_json *json, const char *key, const pm_fine *amounts, size_t count)
{
    pm_json_key(json, key);
    pm_json_open(json, '[');
    for (size_t i = 0; i < count; i++)
        pm_json_decimal(json, amounts[i], 12);
    pm_json_close(json, ']');
}

static void put_line(struct pm_json *json, const struct pm_side_line *line, size_t trials)
{
    pm_json_open(json, '{');
    pm_json_put_string(json, "material", line->name);
    pm_json_put_bool(json, "accord", line->kind == PM_LINE_ACCORD);
    pm_json_key(json, "there");
    pm_json_open(json, '[');
    for (size_t i = 0; i < trials; i++)
        pm_json_bool(json, line->there[i]);
    pm_json_close(json, ']');
    put_amounts(json, "parts", line->poured, trials);
    put_amounts(json, "neat_parts", line->neat, trials);
    pm_json_put_string(json, "change", pm_change_word_text(line->change));
    pm_json_key(json, "factor");
    if (line->factor_ppm > 0)
        pm_json_decimal(json, line->factor_ppm, 6);
    else
        pm_json_null(json);
    pm_json_close(json, '}');
}

static void answer_json(struct pm_cli *cli, const struct pm_side_by_side *side)
{
    struct pm_json json;

    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_key(&json, "trials");
    pm_json_open(&json, '[');
    for (size_t i = 0; i < side->trials; i++)
        pm_json_string(&json, side->titles[i]);
    pm_json_close(&json, ']');
    pm_json_put_decimal(&json, "base_parts", side->base[0], 6);
    pm_json_put_string(&json, "sentence", side->sentence);
    pm_json_key(&json, "lines");
    pm_json_open(&json, '[');
    for (size_t i = 0; i < side->count; i++)
        put_line(&json, &side->lines[i], side->trials);
    pm_json_close(&json, ']');
    pm_json_close(&json, '}');
}

/* ---- text and CSV ---- */

/* Material, the measure in each trial, the change. */
static void fill_columns(struct pm_column columns[PM_COMPARE_MAX + 3],
                         const struct pm_side_by_side *side)
{
    size_t c = 0;

    columns[c++] = (struct pm_column){.key = "material", .title = "line", .kind = PM_CELL_TEXT};
    for (size_t i = 0; i < side->trials; i++)
        columns[c++] = (struct pm_column){.key = side->titles[i],
                                          .title = side->titles[i],
                                          .kind = PM_CELL_NUMBER,
                                          .scale = 12,
                                          .least = 3,
                                          .adds_up = true};
    columns[c++] = (struct pm_column){
        .key = "factor", .title = "times", .kind = PM_CELL_NUMBER, .scale = 6, .least = 2};
    columns[c] = (struct pm_column){.key = "change", .title = "change", .kind = PM_CELL_TEXT};
}

static void add_line(struct pm_table *table, const struct pm_side_line *line, size_t trials,
                     enum pm_compare_by by)
{
    const pm_fine *amounts = by == PM_BY_NEAT ? line->neat : line->poured;

    pm_table_text(table, line->name);
    for (size_t i = 0; i < trials; i++) {
        if (line->there[i])
            pm_table_number(table, amounts[i]);
        else
            pm_table_null(table);
    }
    if (line->factor_ppm > 0)
        pm_table_number(table, line->factor_ppm);
    else
        pm_table_null(table);
    pm_table_text(table, pm_change_word_text(line->change));
}

static enum pm_status answer_table(struct pm_cli *cli, const struct pm_side_by_side *side,
                                   enum pm_compare_by by, struct pm_error *err)
{
    struct pm_column columns[PM_COMPARE_MAX + 3];
    struct pm_table table;

    fill_columns(columns, side);
    pm_table_init(&table, columns, side->trials + 3);
    table.sums = "total";
    for (size_t i = 0; i < side->count; i++)
        add_line(&table, &side->lines[i], side->trials, by);
    const enum pm_status status =
        pm_table_answer(&table, cli, "lines", "There are no lines to compare.", err);
    pm_table_release(&table);
    if (status == PM_OK && side->sentence != NULL && side->sentence[0] != '\0')
        pm_cli_say(cli, "%s", side->sentence);
    return status;
}

/* ---- the command ---- */

static enum pm_status run_compare(struct pm_cli *cli, struct pm_error *err)
{
    const enum pm_compare_by by = read_by(cli);
    int64_t trials[PM_COMPARE_MAX];
    struct pm_side_by_side side;
    enum pm_status status = PM_OK;

    for (size_t i = 0; status == PM_OK && i < cli->operand_count; i++) {
        struct pm_cli_named named;
        status = pm_cli_name(cli, i, &named, err);
        if (status == PM_OK)
            trials[i] = named.trial;
    }
    if (status == PM_OK)
        status = pm_compare_open(cli->studio, trials, cli->operand_count, by, &side, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON)
        answer_json(cli, &side);
    else
        status = answer_table(cli, &side, by, err);
    pm_side_by_side_release(&side);
    return status;
}

static const struct pm_cli_option compare_options[] = {
    {.name = "by",
     .value = "MEASURE",
     .words = "poured|neat|flat",
     .help = "parts as poured, neat parts, or accords and dilutions resolved; poured without it"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    {
        .name = "compare",
        .operands = "F/1 F/2...",
        .least = 2,
        .most = PM_COMPARE_MAX,
        .forms = PM_CLI_JSON | PM_CLI_CSV,
        .help = "two to four trials side by side",
        .more = "F alone is the draft. Amounts are rescaled to the base of the first.",
        .options = compare_options,
        .run = run_compare,
    },
};

const struct pm_cli_topic pm_cli_topic_compare = {
    .title = "Side by side",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
