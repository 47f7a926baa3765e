/* SPDX-License-Identifier: MIT */
/* Skin limits, what a label names, the nearest formula within. */
#include "bench.h"
#include "limits.h"
#include "listing.h"
#include "shelf.h"

#include "permille/base/mem.h"
#include "permille/studio/limits.h"

#include <string.h>

#define PERCENT_SCALE 10 /* of amounts in 1e-12 of the product */

/* ---- what is asked ---- */

enum pm_status pm_cli_limits_wish(struct pm_cli *cli, const struct pm_sheet *sheet,
                                  struct pm_limits_wish *wish, struct pm_error *err)
{
    enum pm_status status = pm_limits_wish(cli->studio, sheet->formula, wish, err);
    return status == PM_OK
               ? pm_limits_read_wish(cli->studio, pm_cli_value(cli, "dosage"),
                                     pm_cli_value(cli, "category"), pm_cli_value(cli, "as"),
                                     pm_cli_value(cli, "ranges"), wish, err)
               : status;
}

static enum pm_status print_page(struct pm_cli *cli, const struct pm_sheet *sheet,
                                 const struct pm_limits_wish *wish, struct pm_error *err)
{
    enum pm_paper paper = PM_PAPER_TEXT;
    pm_paper_from_word(pm_cli_value(cli, "print"), &paper);
    return pm_limits_print(cli->studio, sheet, wish, paper, pm_decimal_sign(), &cli->out, err);
}

static void put_wish(struct pm_json *json, const struct pm_limits_wish *wish)
{
    pm_json_put_decimal(json, "dosage_percent", wish->dosage, PM_CLI_LIMIT_SCALE);
    pm_json_put_string(json, "category", wish->category);
    if (strcmp(wish->category, "4") == 0)
        pm_json_put_string(json, "sold_as", pm_use_word(wish->use));
    pm_json_put_string(json, "ranges", pm_content_basis_word(wish->basis));
}

/* ---- limits ---- */

static void put_limit(struct pm_json *json, const char *key, pm_strength limit)
{
    pm_json_put_known(json, key, limit, PM_CLI_LIMIT_SCALE);
}

static void put_rule(struct pm_json *json, const struct pm_finding_rule *finding)
{
    const struct pm_figure *figure = finding->figure;
    pm_json_put_string(json, "set", finding->rule->set);
    pm_json_put_string(json, "rule", finding->rule->name);
    pm_json_put_bool(json, "no_limit", finding->limit == PM_NO_LIMIT);
    pm_json_put_bool(json, "own", finding->rule->own);
    pm_json_put_bool(json, "from_memory", figure != NULL && figure->memory);
    pm_json_put_string(json, "dated", figure != NULL && figure->dated[0] ? figure->dated : NULL);
    pm_json_put_string(json, "note",
                       figure != NULL && figure->note[0] ? figure->note
                       : finding->rule->note[0] != '\0'  ? finding->rule->note
                                                         : NULL);
}

static void put_others(struct pm_json *json, const struct pm_limits_row *row)
{
    pm_json_put_open(json, "other_rules", '[');
    for (size_t i = 0; i < row->other_count; i++) {
        const struct pm_finding_rule *other = &row->others[i];
        pm_json_open(json, '{');
        put_limit(json, "limit_percent", other->limit);
        pm_json_put_string(json, "verdict", pm_verdict_word(other->judgement.verdict));
        pm_json_put_bool(json, "replaced", other->replaced);
        pm_json_put_string(json, "source",
                           other->figure != NULL ? other->figure->source : other->rule->source);
        put_rule(json, other);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static enum pm_status put_lines(struct pm_cli *cli, struct pm_json *json,
                                const struct pm_sheet *sheet, const struct pm_limits *limits,
                                const struct pm_limits_row *row, struct pm_error *err)
{
    int64_t *amounts = pm_alloc_array(sheet->trial.count + 1, sizeof *amounts);
    if (amounts == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_limits_lines(cli->studio, sheet, limits, row, amounts, err);
    pm_json_put_open(json, "lines", '[');
    for (size_t i = 0; status == PM_OK && i < sheet->trial.count; i++) {
        if (amounts[i] == 0)
            continue;
        pm_json_open(json, '{');
        pm_json_put_int(json, "line", (int64_t)i + 1);
        pm_json_put_string(json, "name", sheet->lines[i].title);
        pm_json_put_known(json, "percent_in_product", amounts[i] > 0 ? amounts[i] : -1,
                          PERCENT_SCALE);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    pm_free(amounts);
    return status;
}

static enum pm_status limits_as_json(struct pm_cli *cli, const struct pm_sheet *sheet,
                                     const struct pm_limits *limits, struct pm_error *err)
{
    struct pm_json json;
    enum pm_status status = PM_OK;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    put_wish(&json, &limits->wish);
    pm_json_put_open(&json, "substances", '[');
    for (size_t i = 0; i < limits->count && status == PM_OK; i++) {
        const struct pm_limits_row *row = &limits->items[i];
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "substance", row->title);
        pm_json_put_known(&json, "percent_in_product", !row->shares ? row->percent : -1,
                          PERCENT_SCALE);
        pm_json_put_bool(&json, "at_least", row->least);
        put_limit(&json, "limit_percent", row->limit);
        pm_json_put_string(&json, "source", row->source);
        pm_json_put_string(&json, "verdict", pm_verdict_word(row->verdict));
        pm_json_put_string(&json, "why", row->why[0] ? row->why : NULL);
        if (row->shares)
            pm_json_put_decimal(&json, "allowance_used_percent", row->percent, PERCENT_SCALE);
        if (row->finding != NULL) {
            put_rule(&json, row->finding);
            put_others(&json, row);
            status = put_lines(cli, &json, sheet, limits, row, err);
        }
        pm_json_close(&json, '}');
    }
    pm_json_close(&json, ']');
    pm_json_put_open(&json, "to_check", '[');
    for (size_t i = 0; i < limits->check_count; i++) {
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "substance", limits->checks[i].rule->title);
        pm_json_put_string(&json, "note", limits->checks[i].rule->note);
        pm_json_put_string(&json, "source", limits->checks[i].rule->source);
        pm_json_close(&json, '}');
    }
    pm_json_close(&json, ']');
    put_limit(&json, "highest_dosage_percent", limits->highest);
    pm_json_put_string(&json, "decided_by", limits->decides);
    pm_json_put_string(&json, "caution", pm_limits_caution());
    pm_json_close(&json, '}');
    pm_text_add_char(&cli->out, '\n');
    return status;
}

static const struct pm_listing_column limit_columns[] = {
    {.key = "substance", .title = "substance", .kind = PM_LISTING_TEXT},
    {.key = "verdict", .title = "verdict", .kind = PM_LISTING_TEXT},
    {.key = "percent_in_product",
     .title = "% of product",
     .kind = PM_LISTING_NUMBER,
     .scale = PERCENT_SCALE,
     .least = 2},
    {.key = "limit_percent",
     .title = "limit %",
     .kind = PM_LISTING_NUMBER,
     .scale = PM_CLI_LIMIT_SCALE},
    {.key = "used_percent",
     .title = "used %",
     .kind = PM_LISTING_NUMBER,
     .scale = PERCENT_SCALE,
     .least = 1},
    {.key = "set", .title = "set", .kind = PM_LISTING_TEXT},
    {.key = "source", .kind = PM_LISTING_TEXT},
};

static void add_limit_row(struct pm_listing *table, const struct pm_limits_row *row)
{
    int64_t used = pm_limits_used(row);
    pm_listing_text(table, row->title);
    pm_listing_text(table, pm_verdict_word(row->verdict));
    pm_listing_number_if(table, !row->shares, row->percent);
    pm_listing_number_if(table, row->limit >= 0, row->limit);
    pm_listing_number_if(table, used != INT64_MAX && row->limit != PM_NO_LIMIT, used);
    pm_listing_text(table, row->finding != NULL ? row->finding->rule->set : "no rule");
    pm_listing_text(table, row->source);
}

static enum pm_status limits_as_table(struct pm_cli *cli, const struct pm_limits *limits,
                                      struct pm_error *err)
{
    struct pm_listing table;
    pm_listing_init(&table, PM_LISTING_COLUMNS(limit_columns));
    for (size_t i = 0; i < limits->count; i++)
        add_limit_row(&table, &limits->items[i]);
    enum pm_status status = pm_listing_as_csv(&table, &cli->out, err);
    pm_listing_release(&table);
    return status;
}

static enum pm_status run_limits(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_limits limits;
    struct pm_limits_wish wish;

    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_cli_limits_wish(cli, sheet, &wish, err);
    if (status == PM_OK && pm_cli_value(cli, "print") != NULL) {
        status = print_page(cli, sheet, &wish, err);
        pm_sheet_free(sheet);
        return status;
    }
    if (status == PM_OK)
        status = pm_limits_of(cli->studio, sheet, &wish, &limits, err);
    if (status == PM_OK) {
        if (cli->form == PM_CLI_JSON)
            status = limits_as_json(cli, sheet, &limits, err);
        else if (cli->form == PM_CLI_CSV)
            status = limits_as_table(cli, &limits, err);
        else
            status = pm_limits_text(&limits, pm_decimal_sign(), cli->linear, &cli->out, err);
        pm_limits_release(&limits);
    }
    pm_sheet_free(sheet);
    return status;
}

/* ---- label ---- */

static void label_rows_as_json(struct pm_json *json, const struct pm_label *label,
                               enum pm_label_verdict verdict)
{
    for (size_t i = 0; i < label->count; i++) {
        const struct pm_label_row *row = &label->items[i];
        if (row->verdict != verdict)
            continue;
        pm_json_open(json, '{');
        pm_json_put_string(json, "label_name", row->rule->name);
        pm_json_put_decimal(json, "percent_in_product", row->percent, PERCENT_SCALE);
        put_limit(json, "threshold_percent", row->threshold);
        pm_json_put_string(json, "source", row->figure != NULL ? row->figure->source : NULL);
        pm_json_close(json, '}');
    }
}

static void label_as_json(struct pm_cli *cli, const struct pm_label *label)
{
    struct pm_json json;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    put_wish(&json, &label->wish);
    pm_json_put_bool(&json, "thresholds_apply", label->applies);
    pm_json_put_open(&json, "declare", '[');
    label_rows_as_json(&json, label, PM_LABEL_DECLARE);
    pm_json_close(&json, ']');
    pm_json_put_open(&json, "below", '[');
    label_rows_as_json(&json, label, PM_LABEL_BELOW);
    pm_json_close(&json, ']');
    pm_json_put_open(&json, "unknown", '[');
    for (size_t i = 0; i < label->count; i++)
        if (label->items[i].verdict == PM_LABEL_UNKNOWN)
            pm_json_string(&json, label->items[i].rule->name);
    pm_json_close(&json, ']');
    pm_json_put_open(&json, "contents_unknown", '[');
    for (size_t i = 0; i < label->bare.count; i++)
        pm_json_string(&json, label->bare.items[i]);
    pm_json_close(&json, ']');
    pm_json_put_string(&json, "caution", pm_label_caution());
    pm_json_close(&json, '}');
    pm_text_add_char(&cli->out, '\n');
}

static enum pm_status run_label(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_label label;
    struct pm_limits_wish wish;
    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_cli_limits_wish(cli, sheet, &wish, err);
    if (status == PM_OK)
        status = pm_label_of(cli->studio, sheet, &wish, pm_cli_has(cli, "by-amount"), &label, err);
    if (status == PM_OK) {
        if (cli->form == PM_CLI_JSON)
            label_as_json(cli, &label);
        else
            status = pm_label_text(cli->studio, sheet, &label, pm_decimal_sign(), cli->linear,
                                   &cli->out, err);
        pm_label_release(&label);
    }
    pm_sheet_free(sheet);
    return status;
}

/* ---- the nearest within ---- */

static const struct pm_listing_column fit_columns[] = {
    {.key = "line", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "material", .title = "line", .kind = PM_LISTING_TEXT},
    {.key = "was_parts", .title = "was", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "parts", .title = "becomes", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
};

static void fit_rows(struct pm_listing *table, const struct pm_limits_fit *fit, bool all)
{
    for (size_t i = 0; i < fit->count; i++) {
        const struct pm_fit_line *line = &fit->items[i];
        if (!all && line->was == line->parts)
            continue;
        pm_listing_number(table, (int64_t)line->place + 1);
        pm_listing_text(table, line->title);
        pm_listing_number(table, line->was);
        pm_listing_number(table, line->parts);
    }
}

static enum pm_status fit_as_json(struct pm_cli *cli, const struct pm_limits_wish *wish,
                                  const struct pm_limits_fit *fit, struct pm_error *err)
{
    struct pm_listing table;
    struct pm_json json;
    pm_listing_init(&table, PM_LISTING_COLUMNS(fit_columns));
    fit_rows(&table, fit, true);
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    put_wish(&json, wish);
    pm_json_put_bool(&json, "fits", fit->fits);
    pm_json_key(&json, "lines");
    enum pm_status status = pm_listing_as_json(&table, &json, err);
    pm_json_put_decimal(&json, "moved_parts", fit->moved, 6);
    pm_json_put_open(&json, "binding", '[');
    for (size_t i = 0; i < fit->binding.count; i++)
        pm_json_string(&json, fit->binding.items[i]);
    pm_json_close(&json, ']');
    put_limit(&json, "highest_dosage_percent", fit->highest);
    pm_json_put_string(&json, "caution", pm_limits_caution());
    pm_json_close(&json, '}');
    pm_text_add_char(&cli->out, '\n');
    pm_listing_release(&table);
    return status;
}

static void say_binding(struct pm_cli *cli, const struct pm_limits_fit *fit)
{
    for (size_t i = 0; i < fit->binding.count; i++) {
        pm_text_add(&cli->out, i > 0 ? "; " : fit->fits ? "Held by: " : "Against each other: ");
        pm_cli_add_shown(&cli->out, fit->binding.items[i]);
    }
    pm_text_add(&cli->out, fit->binding.count > 0 ? ".\n" : "");
}

static enum pm_status fit_as_text(struct pm_cli *cli, const struct pm_limits_wish *wish,
                                  const struct pm_limits_fit *fit, struct pm_error *err)
{
    const char sign = pm_decimal_sign();
    char number[PM_AMOUNT_TEXT], dosage[PM_AMOUNT_TEXT];
    struct pm_listing table;
    enum pm_status status = PM_OK;
    pm_strength_format(wish->dosage, sign, dosage);
    if (fit->fits && fit->moved == 0) {
        pm_text_addf(&cli->out, "Every known limit is kept at %s as it is.\n", dosage);
    } else if (fit->fits) {
        pm_listing_init(&table, PM_LISTING_COLUMNS(fit_columns));
        fit_rows(&table, fit, false);
        status = pm_listing_show(&table, cli, err);
        pm_listing_release(&table);
        pm_text_addf(
            &cli->out, "\n%s parts moved in all.\n",
            pm_decimal_format(fit->moved, 6, pm_decimal_places(fit->moved, 6, 2), sign, number));
    } else {
        pm_text_addf(&cli->out, "Nothing fits at %s.\n", dosage);
        if (fit->highest > 0)
            pm_text_addf(
                &cli->out, "Fitted it could be dosed up to %s %%.\n",
                pm_decimal_format(fit->highest - fit->highest % 10000, 7, 3, sign, number));
    }
    say_binding(cli, fit);
    pm_text_addf(&cli->out, "\n%s\n", pm_limits_caution());
    return status;
}

/* "LINE=PARTS", as often as it was given. */
static enum pm_status read_bounds(struct pm_cli *cli, const struct pm_sheet *sheet,
                                  const char *option, pm_parts **out, struct pm_error *err)
{
    size_t at = 0;
    const char *text = pm_cli_next_value(cli, option, &at);
    *out = NULL;
    if (text == NULL)
        return PM_OK;
    *out = pm_alloc_array(sheet->trial.count + 1, sizeof **out);
    for (size_t i = 0; *out != NULL && i < sheet->trial.count; i++)
        (*out)[i] = -1;
    enum pm_status status = *out != NULL ? PM_OK : pm_fail_memory(err);
    for (; status == PM_OK && text != NULL; text = pm_cli_next_value(cli, option, &at)) {
        const char *sign = strrchr(text, '=');
        char *name = sign != NULL ? pm_strndup(text, (size_t)(sign - text)) : NULL;
        int64_t line;
        if (sign == NULL)
            return pm_cli_usage(cli, err, "--%s is written LINE=PARTS.", option);
        status = name != NULL ? pm_sheet_find_line(sheet, name, &line, err) : pm_fail_memory(err);
        if (status == PM_OK) {
            size_t place = (size_t)pm_trial_find(&sheet->trial, line);
            status = pm_parts_read(sign + 1, sheet->trial.lines[place].parts, sheet->trial.base,
                                   &(*out)[place], err);
        }
        pm_free(name);
    }
    return status;
}

static enum pm_status read_fit_wish(struct pm_cli *cli, const struct pm_sheet *sheet,
                                    struct pm_fit_wish *wish, pm_parts **least, pm_parts **most,
                                    struct pm_error *err)
{
    const char *cost = pm_cli_value(cli, "cost-most");
    enum pm_status status = pm_cli_limits_wish(cli, sheet, &wish->limits, err);
    if (status == PM_OK)
        status = read_bounds(cli, sheet, "floor", least, err);
    if (status == PM_OK)
        status = read_bounds(cli, sheet, "ceiling", most, err);
    if (status == PM_OK && cost != NULL)
        status = pm_decimal_read(cost, 6, "The cost", &wish->cost_most, err);
    if (status == PM_OK && pm_cli_value(cli, "batch") != NULL)
        status = pm_mass_read(pm_cli_value(cli, "batch"), &wish->batch, err);
    wish->least = *least;
    wish->most = *most;
    return status;
}

static enum pm_status run_fit(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_sheet *sheet, *after = NULL;
    struct pm_fit_wish wish = {.cost_most = 0};
    pm_parts *least = NULL, *most = NULL;
    struct pm_limits_fit fit = {0};
    enum pm_status status = pm_cli_sheet(cli, 0, &sheet, err);
    if (status != PM_OK)
        return status;
    status = read_fit_wish(cli, sheet, &wish, &least, &most, err);
    if (status == PM_OK)
        status = pm_limits_fit(cli->studio, sheet, &wish, &fit, err);
    if (status == PM_OK && pm_cli_has(cli, "take") && !fit.fits)
        status = pm_fail(err, PM_REFUSED, "Nothing fits at that dosage, so nothing was taken: %s.",
                         fit.binding.count > 0 ? fit.binding.items[0] : "no line gives way");
    if (status == PM_OK)
        status = cli->form == PM_CLI_JSON ? fit_as_json(cli, &wish.limits, &fit, err)
                                          : fit_as_text(cli, &wish.limits, &fit, err);
    if (status == PM_OK && pm_cli_has(cli, "take") && sheet->read_only)
        status = pm_fail(err, PM_REFUSED, "A kept trial never changes: fit the draft.");
    if (status == PM_OK && pm_cli_has(cli, "take") && fit.plan != NULL) {
        pm_cli_say(cli, "%s.", pm_plan_sentence(fit.plan));
        status = pm_plan_commit(cli->studio, fit.plan, &after, err);
    }
    pm_limits_fit_release(&fit);
    pm_free(least);
    pm_free(most);
    pm_sheet_free(after);
    pm_sheet_free(sheet);
    return status;
}

/* ---- table ---- */

static const struct pm_cli_option limits_options[] = {
    PM_CLI_WISH_OPTIONS,
    {.name = "print",
     .value = "FORM",
     .words = "text|markdown|html",
     .help = "the whole page, limits and label, to print"},
    {.name = NULL},
};
static const struct pm_cli_option label_options[] = {
    PM_CLI_WISH_OPTIONS,
    {.name = "by-amount", .help = "the largest first, not by the alphabet"},
    {.name = NULL},
};
static const struct pm_cli_option fit_options[] = {
    PM_CLI_WISH_OPTIONS,
    {.name = "take", .help = "make it the draft, as one gesture"},
    {.name = "floor", .value = "LINE=PARTS", .help = "a line keeps at least so much", .many = true},
    {.name = "ceiling", .value = "LINE=PARTS", .help = "a line gets at most so much", .many = true},
    {.name = "batch", .value = "MASS", .help = "stock must do for a batch of that mass"},
    {.name = "cost-most", .value = "N", .help = "a kilogram costs at most so much"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("limits", "F[/N]", 1, 1, PM_CLI_TABLE,
                   "how far it is from the limits for skin, from every source",
                   .options = limits_options, .run = run_limits,
                   .more = "Arithmetic on dated tables with gaps, not approval: unknown is not "
                           "safe."),
    PM_CLI_COMMAND("label", "F[/N]", 1, 1, PM_CLI_JSON, "the allergens that a label must name",
                   .options = label_options, .run = run_label,
                   .more = "A draft: the rules in force where it is sold decide."),
    PM_CLI_COMMAND("fit", "F[/N]", 1, 1, PM_CLI_JSON,
                   "the nearest formula within every known limit", .options = fit_options,
                   .run = run_fit,
                   .more = "Cores keep their ratio, held lines stand; shown only, until --take.",
                   .changes = true, .only_with = "take"),
};

const struct pm_cli_topic pm_cli_topic_limits = {
    .title = "Skin limits and labels",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
