/* SPDX-License-Identifier: MIT */
/* The command `compare`: two to four trials side by side. */
#include "bench.h"
#include "listing.h"

#include "permille/core/column.h"
#include "permille/studio/settings.h"
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
    pm_json_put_open(json, key, '[');
    for (size_t i = 0; i < count; i++)
        pm_json_decimal(json, amounts[i], 12);
    pm_json_close(json, ']');
}

static void put_factor(struct pm_json *json, int64_t factor_ppm)
{
    if (factor_ppm > 0)
        pm_json_decimal(json, factor_ppm, 6);
    else
        pm_json_null(json);
}

/* What the trials in between say; `change` and `factor` are those of the last one. */
static void put_changes(struct pm_json *json, const struct pm_side_line *line, size_t trials)
{
    const struct pm_compare_row *row = &line->row;

    pm_json_put_string(json, "change", pm_change_word_text(row->change[trials - 1]));
    pm_json_key(json, "factor");
    put_factor(json, row->factor_ppm[trials - 1]);
    pm_json_put_open(json, "changes", '[');
    for (size_t i = 0; i < trials; i++)
        pm_json_string(json, pm_change_word_text(row->change[i]));
    pm_json_close(json, ']');
    pm_json_put_open(json, "factors", '[');
    for (size_t i = 0; i < trials; i++)
        put_factor(json, row->factor_ppm[i]);
    pm_json_close(json, ']');
    pm_json_put_open(json, "in_step", '[');
    for (size_t i = 0; i < trials; i++)
        pm_json_bool(json, row->in_step[i]);
    pm_json_close(json, ']');
    pm_json_put_open(json, "poured_as", '[');
    for (size_t i = 0; i < trials; i++)
        pm_json_string(json, line->form[i]);
    pm_json_close(json, ']');
    pm_json_put_open(json, "resting", '[');
    for (size_t i = 0; i < trials; i++)
        pm_json_bool(json, row->resting[i]);
    pm_json_close(json, ']');
    pm_json_put_bool(json, "differs", row->differs);
}

static void put_line(struct pm_json *json, const struct pm_side_line *line, size_t trials)
{
    pm_json_open(json, '{');
    pm_json_put_string(json, "material", line->name);
    pm_json_put_bool(json, "accord", line->row.kind == PM_LINE_ACCORD);
    pm_json_put_open(json, "there", '[');
    for (size_t i = 0; i < trials; i++)
        pm_json_bool(json, line->row.there[i]);
    pm_json_close(json, ']');
    put_amounts(json, "parts", line->row.poured, trials);
    put_amounts(json, "neat_parts", line->row.neat, trials);
    put_changes(json, line, trials);
    pm_json_close(json, '}');
}

static void put_numbers(struct pm_json *json, const char *key, const int64_t *values, int scale,
                        size_t count)
{
    pm_json_put_open(json, key, '[');
    for (size_t i = 0; i < count; i++)
        pm_json_decimal(json, values[i], scale);
    pm_json_close(json, ']');
}

/* [[{"currency","amount"}]], and how many things have no price. */
static void put_costs(struct pm_json *json, const struct pm_side_by_side *side)
{
    pm_json_put_open(json, "cost_per_kg", '[');
    for (size_t i = 0; i < side->trials; i++) {
        pm_json_open(json, '[');
        for (size_t k = 0; k < side->cost[i].count; k++) {
            pm_json_open(json, '{');
            pm_json_put_string(json, "currency", side->cost[i].in[k].currency);
            pm_json_put_decimal(json, "amount", side->cost[i].in[k].money, 6);
            pm_json_close(json, '}');
        }
        pm_json_close(json, ']');
    }
    pm_json_close(json, ']');
    pm_json_put_open(json, "unpriced", '[');
    for (size_t i = 0; i < side->trials; i++)
        pm_json_int(json, (int64_t)side->unpriced[i]);
    pm_json_close(json, ']');
}

static void answer_json(struct pm_cli *cli, const struct pm_side_by_side *side,
                        enum pm_side_only only)
{
    struct pm_json json;

    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_open(&json, "trials", '[');
    for (size_t i = 0; i < side->trials; i++)
        pm_json_string(&json, side->titles[i]);
    pm_json_close(&json, ']');
    pm_json_put_decimal(&json, "base_parts", side->base[0], 6);
    put_numbers(&json, "bases", side->base, 6, side->trials);
    put_numbers(&json, "total_parts", side->total, 6, side->trials);
    put_numbers(&json, "solvent_percent", side->solvent_share, 10, side->trials);
    put_numbers(&json, "strength_percent", side->strength, 10, side->trials);
    put_costs(&json, side);
    put_numbers(&json, "step_factors", side->step_ppm, 6, side->trials);
    pm_json_put_string(&json, "sentence", side->sentences[side->trials - 1]);
    pm_json_put_open(&json, "sentences", '[');
    for (size_t i = 0; i < side->trials; i++)
        pm_json_string(&json, side->sentences[i]);
    pm_json_close(&json, ']');
    pm_json_put_open(&json, "lines", '[');
    for (size_t i = 0; i < side->count; i++)
        if (pm_side_shown(side, &side->lines[i], only))
            put_line(&json, &side->lines[i], side->trials);
    pm_json_close(&json, ']');
    pm_json_close(&json, '}');
}

/* ---- text and CSV ---- */

/* Material, then for each trial its amount, and how many times the first one's it is. */
#define COLUMNS (1 + 5 * PM_COMPARE_MAX)

struct headings {
    struct pm_listing_column columns[COLUMNS];
    size_t count;
    struct pm_text names[2 * PM_COMPARE_MAX]; /* of columns, where they must be told apart */
    struct pm_text titles[PM_COMPARE_MAX];    /* in text: "F/3", "F draft" */
};

static const char *heading(struct headings *headings, const struct pm_side_by_side *side,
                           size_t trial, size_t which)
{
    static const char *const words[] = {"factor", "change"};
    struct pm_text *name = &headings->names[2 * trial + which];

    pm_text_add(name, words[which]);
    if (trial + 1 < side->trials)
        pm_text_addf(name, " %s", side->titles[trial]);
    return pm_text_get(name);
}

static const char *title_of(struct headings *headings, const struct pm_side_by_side *side,
                            size_t trial)
{
    struct pm_text *title = &headings->titles[trial];
    pm_text_addf(title, "%s%s", side->titles[trial], side->number[trial] == 0 ? " draft" : "");
    return pm_text_get(title);
}

/* With some lines left out the columns add up to no total: they are rounded each on its own. */
static void fill_headings(struct headings *headings, const struct pm_side_by_side *side, bool all)
{
    struct pm_listing_column *columns = headings->columns;
    size_t c = 0;

    columns[c++] =
        (struct pm_listing_column){.key = "material", .title = "line", .kind = PM_LISTING_TEXT};
    for (size_t i = 0; i < side->trials; i++) {
        columns[c++] = (struct pm_listing_column){.key = side->titles[i],
                                                  .title = title_of(headings, side, i),
                                                  .kind = PM_LISTING_NUMBER,
                                                  .scale = 12,
                                                  .least = 2,
                                                  .parts = true,
                                                  .adds_up = all};
        if (i == 0)
            continue;
        columns[c++] = (struct pm_listing_column){
            .key = heading(headings, side, i, 0), .kind = PM_LISTING_NUMBER, .scale = 6};
        columns[c++] = (struct pm_listing_column){.title = "times", .kind = PM_LISTING_TEXT};
        columns[c++] = (struct pm_listing_column){.key = heading(headings, side, i, 1),
                                                  .kind = PM_LISTING_TEXT};
        columns[c++] = (struct pm_listing_column){.title = "change", .kind = PM_LISTING_TEXT};
    }
    headings->count = c;
}

static void add_change(struct pm_listing *table, const struct pm_side_line *line, size_t trial)
{
    const int64_t factor = line->row.factor_ppm[trial];
    char text[PM_AMOUNT_TEXT + 1] = "x";

    pm_listing_number_if(table, factor > 0, factor);
    pm_listing_text(table, factor > 0 && line->row.change[trial] != PM_SAME
                               ? (pm_factor_format(factor, pm_decimal_sign(), text + 1), text)
                               : "");
    pm_listing_text(table, pm_change_word_text(line->row.change[trial]));
    pm_listing_text(table, pm_side_word(line, trial));
}

static void add_line(struct pm_listing *table, const struct pm_side_by_side *side,
                     const struct pm_side_line *line)
{
    pm_listing_text(table, line->name);
    for (size_t i = 0; i < side->trials; i++) {
        pm_listing_number_if(table, line->row.there[i], pm_side_amount(side, line, i));
        if (i > 0)
            add_change(table, line, i);
    }
}

static void add_cost(struct pm_text *out, const struct pm_side_by_side *side, size_t trial,
                     char sign)
{
    if (side->cost[trial].count == 0)
        return;
    pm_text_addf(out, ", a kilogram costs %s", side->unpriced[trial] > 0 ? "at least " : "");
    pm_sum_format(&side->cost[trial], 2, sign, out);
    if (side->unpriced[trial] > 0)
        pm_text_addf(out, " (%zu without a price)", side->unpriced[trial]);
}

/* Below the table in text: what is no line. */
static void add_totals(struct pm_cli *cli, const struct pm_side_by_side *side)
{
    char total[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT], solvent[PM_AMOUNT_TEXT];
    const char sign = pm_decimal_sign();

    pm_text_add(&cli->out, "\n");
    for (size_t i = 0; i < side->trials; i++) {
        pm_cli_add_shown(&cli->out, side->titles[i]);
        pm_text_addf(&cli->out, "%s: %zu lines, total %s, strength %s, solvent %s",
                     side->number[i] == 0 ? " draft" : "", side->written[i],
                     pm_decimal_exact(side->total[i], 6, sign, total),
                     pm_share_format(side->strength[i], sign, strength),
                     pm_share_format(side->solvent_share[i], sign, solvent));
        add_cost(&cli->out, side, i, sign);
        pm_text_add_char(&cli->out, '\n');
    }
}

static enum pm_status answer_table(struct pm_cli *cli, const struct pm_side_by_side *side,
                                   enum pm_side_only only, struct pm_error *err)
{
    struct headings headings = {.count = 0};
    struct pm_settings settings;
    struct pm_listing table;

    /* Those that cannot be read just now are as usual. */
    pm_settings_usual(&settings);
    (void)pm_settings_now(cli->studio, &settings, NULL);
    fill_headings(&headings, side, only == PM_SIDE_ALL);
    pm_listing_init(&table, headings.columns, headings.count);
    pm_listing_parts(&table, settings.decimals);
    for (size_t i = 0; i < sizeof headings.names / sizeof *headings.names; i++)
        table.failed = table.failed || !pm_text_ok(&headings.names[i]);
    for (size_t i = 0; i < PM_COMPARE_MAX; i++)
        table.failed = table.failed || !pm_text_ok(&headings.titles[i]);
    table.sums = only == PM_SIDE_ALL ? "total" : NULL;
    for (size_t i = 0; i < side->count; i++)
        if (pm_side_shown(side, &side->lines[i], only))
            add_line(&table, side, &side->lines[i]);
    enum pm_status status = pm_listing_answer(
        &table, cli, "lines",
        side->count > 0 ? "No line differs." : "There are no lines to compare.", err);
    for (size_t i = 0; i < 2 * PM_COMPARE_MAX; i++) {
        if (!pm_text_ok(&headings.names[i]))
            status = pm_fail_memory(err);
        pm_text_release(&headings.names[i]);
    }
    for (size_t i = 0; i < PM_COMPARE_MAX; i++)
        pm_text_release(&headings.titles[i]);
    if (status == PM_OK && cli->form == PM_CLI_TEXT) {
        add_totals(cli, side);
        for (size_t i = 1; i < side->trials; i++)
            pm_cli_say(cli, "%s", side->sentences[i]);
    }
    return status;
}

/* ---- the command ---- */

static enum pm_side_only read_only(const struct pm_cli *cli)
{
    const char *only = pm_cli_value(cli, "only");
    if (only == NULL)
        return PM_SIDE_ALL;
    return strcmp(only, "own") == 0 ? PM_SIDE_OWN : PM_SIDE_DIFFERING;
}

static enum pm_side_order read_order(const struct pm_cli *cli)
{
    const char *order = pm_cli_value(cli, "sort");
    if (order != NULL && strcmp(order, "parts") == 0)
        return PM_SIDE_BY_PARTS;
    return order != NULL && strcmp(order, "factor") == 0 ? PM_SIDE_BY_FACTOR : PM_SIDE_AS_WRITTEN;
}

static enum pm_status run_compare(struct pm_cli *cli, struct pm_error *err)
{
    const enum pm_compare_by by = read_by(cli);
    const enum pm_side_only only = read_only(cli);
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
    pm_side_sort(&side, read_order(cli), side.trials - 1);
    if (cli->form == PM_CLI_JSON)
        answer_json(cli, &side, only);
    else
        status = answer_table(cli, &side, only, err);
    pm_side_by_side_release(&side);
    return status;
}

static const struct pm_cli_option compare_options[] = {
    {.name = "by",
     .value = "MEASURE",
     .words = "poured|neat|flat",
     .help = "parts as poured, neat parts, or accords and dilutions resolved; poured without it"},
    {.name = "only",
     .value = "WHICH",
     .words = "differing|own",
     .help = "lines that differ, or those that did more than move in step with the rest"},
    {.name = "sort",
     .value = "ORDER",
     .words = "written|parts|factor",
     .help = "as in the first trial, or by the change to the last one"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND(
        "compare", "F/1 F/2...", 2, PM_COMPARE_MAX, PM_CLI_TABLE, "two to four trials side by side",
        .more =
            "F alone is the draft. Amounts are rescaled to the base of the first, and every other "
            "trial is judged against it. In step: the line only gave way, by the factor most "
            "others moved by. Other: the same amount at another strength, in another solvent, "
            "or of another trial of the accord.",
        .options = compare_options, .run = run_compare),
};

const struct pm_cli_topic pm_cli_topic_compare = {
    .title = "Side by side",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
