/* SPDX-License-Identifier: MIT */
/* Commands on blind tests. */
#include "bench.h"
#include "listing.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"
#include "permille/studio/blind.h"

#include <stdio.h>
#include <string.h>

static enum pm_status find(struct pm_cli *cli, int64_t *id, struct pm_error *err)
{
    const enum pm_status status = pm_cli_open(cli, false, err);
    return status == PM_OK ? pm_blind_find(cli->studio, cli->operands[0], id, err) : status;
}

/* ---- new ---- */

/* Whether the options go together. */
static enum pm_status check_kind(struct pm_cli *cli, struct pm_error *err)
{
    const char *kind = pm_cli_value(cli, "kind");
    const bool two_sided = pm_cli_has(cli, "two-sided");
    char words[PM_WORDS_TEXT];

    if (kind == NULL)
        return pm_cli_usage(cli, err, "Which kind of test? '--kind %s'.",
                            pm_attribute_words(&pm_panel_entity.attributes[PM_PANEL_KIND], words));
    if (two_sided && strcmp(kind, pm_panel_word(PM_PAIRED)) != 0)
        return pm_cli_usage(cli, err, "'--two-sided' is for paired comparisons.");
    if (two_sided && pm_cli_has(cli, "expect"))
        return pm_cli_usage(cli, err, "A test that expects one trial is one-sided.");
    return PM_OK;
}

static enum pm_status name_trials(struct pm_cli *cli, int64_t *trials, struct pm_error *err)
{
    struct pm_cli_named named;
    enum pm_status status = PM_OK;

    for (size_t i = 1; status == PM_OK && i < cli->operand_count; i++) {
        status = pm_cli_name(cli, i, &named, err);
        trials[i - 1] = status == PM_OK ? named.trial : 0;
    }
    return status;
}

static enum pm_status run_new(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_blind_form form = {.trial_count = cli->operand_count - 1};
    struct pm_blind_made made;
    struct pm_json json;

    pm_cli_entity_values(cli, form.values);
    form.values[PM_PANEL_NAME] = cli->operands[0];
    enum pm_status status = check_kind(cli, err);
    if (status != PM_OK)
        return status;
    int64_t *trials = pm_alloc_array(cli->operand_count, sizeof *trials);
    if (trials == NULL)
        return pm_fail_memory(err);
    form.trials = trials;
    status = name_trials(cli, trials, err);
    if (status == PM_OK)
        status = pm_blind_new(cli->studio, &form, &made, err);
    pm_free(trials);
    if (status != PM_OK)
        return status;
    pm_cli_say(cli, "%s.", made.sentence);
    pm_cli_say(cli, "%s", made.power);
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_int(&json, "id", made.id);
        pm_json_put_string(&json, "sentence", made.sentence);
        pm_json_put_string(&json, "power", made.power);
        pm_json_close(&json, '}');
    }
    pm_blind_made_release(&made);
    return PM_OK;
}

/* ---- codes ---- */

static void code_text(const struct pm_blind_vial *vial, char buf[8])
{
    snprintf(buf, 8, vial->code == 0 ? "R" : "%03d", vial->code);
}

static void json_code(struct pm_json *json, int code)
{
    char text[8];

    code_text(&(struct pm_blind_vial){.code = code}, text);
    pm_json_string(json, text);
}

static void json_codes(struct pm_json *json, const struct pm_blind_sheet *sheet)
{
    pm_json_put_open(json, "rounds", '[');
    for (int64_t i = 0; i < sheet->row.rounds; i++) {
        pm_json_open(json, '{');
        pm_json_put_int(json, "round", sheet->rounds[i].round);
        pm_json_put_open(json, "codes", '[');
        for (size_t v = 0; v < sheet->servings; v++)
            json_code(json, sheet->rounds[i].vials[v].code);
        pm_json_close(json, ']');
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

/* The assessor's page: codes in the order of smelling, and room for the answer. */
static enum pm_status codes_page(struct pm_cli *cli, int64_t id, struct pm_error *err)
{
    struct pm_blind_sheet sheet;
    struct pm_json json;
    char code[8];

    const enum pm_status status = pm_blind_open(cli->studio, id, &sheet, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "panel", sheet.row.name);
        pm_json_put_string(&json, "task", sheet.task);
        json_codes(&json, &sheet);
        pm_json_close(&json, '}');
    } else {
        pm_cli_add_shown(&cli->out, sheet.row.name);
        pm_text_addf(&cli->out, " (%s)\n", pm_panel_word(sheet.row.kind));
        pm_cli_add_shown(&cli->out, sheet.task);
        pm_text_add(&cli->out, "\n\nround  codes\n");
        for (int64_t i = 0; i < sheet.row.rounds; i++) {
            pm_text_addf(&cli->out, "%5lld", (long long)sheet.rounds[i].round);
            for (size_t v = 0; v < sheet.servings; v++) {
                code_text(&sheet.rounds[i].vials[v], code);
                pm_text_addf(&cli->out, "  %3s", code);
            }
            pm_text_add(&cli->out, "   answer: ______\n");
        }
    }
    pm_blind_sheet_release(&sheet);
    return PM_OK;
}

/* The page for whoever fills the vials: the key. */
static enum pm_status fill_page(struct pm_cli *cli, int64_t id, struct pm_error *err)
{
    struct pm_blind_page page;
    struct pm_json json;
    const bool as_json = cli->form == PM_CLI_JSON;

    const enum pm_status status = pm_blind_fill(cli->studio, id, &page, err);
    if (status != PM_OK)
        return status;
    pm_cli_say(cli, "%s", page.advice);
    pm_json_init(&json, &cli->out);
    if (as_json) {
        pm_json_open(&json, '{');
        pm_json_put_open(&json, "fill", '[');
    }
    for (size_t s = 0; s < page.sample_count; s++) {
        if (as_json) {
            pm_json_open(&json, '{');
            pm_json_put_string(&json, "trial", page.samples[s].title);
            pm_json_put_open(&json, "reference_of_rounds", '[');
            for (size_t i = 0; i < page.samples[s].reference_count; i++)
                pm_json_int(&json, page.samples[s].references[i]);
            pm_json_close(&json, ']');
            pm_json_put_open(&json, "codes", '[');
            for (size_t i = 0; i < page.samples[s].count; i++)
                json_code(&json, page.samples[s].codes[i]);
            pm_json_close(&json, ']');
            pm_json_close(&json, '}');
            continue;
        }
        pm_cli_add_shown(&cli->out, page.samples[s].title);
        pm_text_addf(&cli->out, ": %zu vials", page.samples[s].count);
        for (size_t i = 0; i < page.samples[s].reference_count; i++)
            pm_text_addf(&cli->out, "%s%lld", i > 0 ? ", " : ", and the reference R of rounds ",
                         (long long)page.samples[s].references[i]);
        for (size_t i = 0; i < page.samples[s].count; i++)
            pm_text_addf(&cli->out, "%s%d", i % 12 == 0 ? "\n  " : "  ", page.samples[s].codes[i]);
        pm_text_add(&cli->out, "\n");
    }
    if (as_json) {
        pm_json_close(&json, ']');
        pm_json_close(&json, '}');
    }
    pm_blind_page_release(&page);
    return PM_OK;
}

static enum pm_status run_codes(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    const enum pm_status status = find(cli, &id, err);
    if (status != PM_OK)
        return status;
    return pm_cli_has(cli, "fill") ? fill_page(cli, id, err) : codes_page(cli, id, err);
}

/* ---- show ---- */

static void json_share(struct pm_json *json, const char *key, bool known, double share)
{
    if (known)
        pm_json_put_double(json, key, share);
    else
        pm_json_put_null(json, key);
}

static void json_result(struct pm_json *json, const struct pm_blind_sheet *sheet)
{
    static const char *const methods[] = {[PM_BY_COUNTING] = "exact",
                                          [PM_BY_PERMUTATIONS] = "permutations",
                                          [PM_BY_CHI_SQUARE] = "chi-square"};
    const struct pm_blind_result *result = &sheet->result;

    pm_json_key(json, "result");
    if (!sheet->has_result) {
        pm_json_null(json);
        return;
    }
    pm_json_open(json, '{');
    pm_json_put_int(json, "answers", result->answers);
    if (sheet->row.kind != PM_RANKING) {
        pm_json_put_int(json, "correct", result->correct);
        pm_json_put_known(json, "least_correct", result->least > 0 ? result->least : -1, 0);
        json_share(json, "discriminators", result->has_share, result->share.share);
        json_share(json, "discriminators_low", result->has_share, result->share.low);
        json_share(json, "discriminators_high", result->has_share, result->share.high);
    } else {
        pm_json_put_double(json, "friedman", result->statistic);
        pm_json_put_int(json, "degrees", result->degrees);
        pm_json_put_double(json, "rank_difference", result->rank_difference);
        pm_json_put_open(json, "rank_sums", '[');
        for (size_t s = 0; s < sheet->sample_count; s++)
            pm_json_double(json, result->rank_sums[s]);
        pm_json_close(json, ']');
    }
    pm_json_put_double(json, "p", result->p);
    pm_json_put_bool(json, "exact", result->by == PM_BY_COUNTING);
    pm_json_put_string(json, "method", methods[result->by]);
    json_share(json, "p_error", result->by == PM_BY_PERMUTATIONS, result->error);
    pm_json_put_bool(json, "shown", result->shown);
    pm_json_put_bool(json, "exploratory", result->exploratory);
    pm_json_close(json, '}');
}

static void json_rounds(struct pm_json *json, const struct pm_blind_sheet *sheet)
{
    char text[PM_TIME_TEXT];

    pm_json_put_open(json, "rounds", '[');
    for (int64_t i = 0; i < sheet->row.rounds; i++) {
        const struct pm_blind_round *round = &sheet->rounds[i];
        pm_json_open(json, '{');
        pm_json_put_int(json, "round", round->round);
        pm_json_put_open(json, "vials", '[');
        for (size_t v = 0; v < sheet->servings; v++) {
            const int sample = round->vials[v].sample;
            code_text(&round->vials[v], text);
            pm_json_open(json, '{');
            pm_json_put_string(json, "code", text);
            pm_json_put_string(json, "trial", sample < 0 ? NULL : sheet->samples[sample]);
            pm_json_close(json, '}');
        }
        pm_json_close(json, ']');
        pm_json_put_string(json, "answer", round->answer);
        pm_json_put_string(json, "assessor", round->assessor);
        pm_json_put_string(json, "at", round->answer != NULL ? pm_time_iso(round->at, text) : NULL);
        if (sheet->has_result && sheet->row.kind != PM_RANKING && round->answer != NULL)
            pm_json_put_bool(json, "correct", round->correct);
        else
            pm_json_put_null(json, "correct");
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void show_json(struct pm_cli *cli, const struct pm_blind_sheet *sheet)
{
    struct pm_panel_row row = sheet->row;
    char at[PM_TIME_TEXT];
    struct pm_json json;

    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_int(&json, "id", row.id);
    if (row.closed_at == 0)
        row.seed = UINT64_MAX; /* unknown: the key could be made from it */
    pm_entity_json(&pm_panel_entity, &row, &json);
    pm_json_put_open(&json, "trials", '[');
    for (size_t s = 0; s < sheet->sample_count; s++)
        pm_json_string(&json, sheet->samples[s]);
    pm_json_close(&json, ']');
    pm_json_put_string(&json, "expected", row.expected >= 0 ? sheet->samples[row.expected] : NULL);
    pm_json_put_int(&json, "answered", row.answered);
    pm_json_put_bool(&json, "closed", row.closed_at != 0);
    pm_json_put_string(&json, "made_at", pm_time_iso(row.made_at, at));
    pm_json_put_string(&json, "closed_at",
                       row.closed_at != 0 ? pm_time_iso(row.closed_at, at) : NULL);
    json_result(&json, sheet);
    pm_json_put_string(&json, "words", sheet->words);
    pm_json_put_string(&json, "remarks", sheet->remarks);
    json_rounds(&json, sheet);
    pm_json_close(&json, '}');
}

static void show_round(struct pm_cli *cli, const struct pm_blind_sheet *sheet,
                       const struct pm_blind_round *round)
{
    char code[8];

    pm_text_addf(&cli->out, "%5lld", (long long)round->round);
    for (size_t v = 0; v < sheet->servings; v++) {
        code_text(&round->vials[v], code);
        pm_text_addf(&cli->out, "  %3s", code);
        if (round->vials[v].sample >= 0)
            pm_text_addf(&cli->out, " %c", 'A' + round->vials[v].sample);
    }
    pm_text_addf(&cli->out, "   %s", round->answer != NULL ? round->answer : "-");
    if (round->answer != NULL && sheet->has_result && sheet->row.kind != PM_RANKING &&
        sheet->row.kind != PM_PAIRED_TWO_SIDED)
        pm_text_add(&cli->out, round->correct ? "  right" : "  wrong");
    if (round->assessor != NULL) {
        pm_text_add(&cli->out, "  ");
        pm_cli_add_shown(&cli->out, round->assessor);
    }
    pm_text_add(&cli->out, "\n");
}

static void add_paragraph(struct pm_text *out, const char *text)
{
    pm_text_add(out, "\n");
    for (const char *line = text; *line != '\0';) {
        const size_t length = strcspn(line, "\n");
        char *copy = pm_strndup(line, length);
        if (copy != NULL)
            pm_cli_add_shown(out, copy);
        else
            out->failed = true;
        pm_free(copy);
        pm_text_add(out, "\n");
        line += length + (line[length] == '\n');
    }
}

static void show_text(struct pm_cli *cli, const struct pm_blind_sheet *sheet)
{
    char time[PM_TIME_TEXT], alpha[PM_AMOUNT_TEXT];
    struct pm_text *out = &cli->out;

    pm_cli_add_shown(out, sheet->row.name);
    pm_text_addf(out, " (%s, at %s), made %s, ", pm_panel_word(sheet->row.kind),
                 pm_strength_format(sheet->row.alpha, pm_decimal_sign(), alpha),
                 pm_time_format(sheet->row.made_at, time));
    if (sheet->row.closed_at != 0)
        pm_text_addf(out, "closed %s, seed %llu\n", pm_time_format(sheet->row.closed_at, time),
                     (unsigned long long)sheet->row.seed);
    else
        pm_text_addf(out, "%lld of %lld answered, key hidden until it is closed\n",
                     (long long)sheet->row.answered, (long long)sheet->row.rounds);
    for (size_t s = 0; s < sheet->sample_count; s++) {
        pm_text_addf(out, "  %c  ", (char)('A' + (int)s));
        pm_cli_add_shown(out, sheet->samples[s]);
        pm_text_add(out, (int)s == sheet->row.expected ? "  (expected)" : "");
        if (sheet->has_result && sheet->row.kind == PM_RANKING)
            pm_text_addf(out, "  sum of ranks %s",
                         pm_rounded_places(sheet->result.rank_sums[s], 1, pm_decimal_sign()).text);
        pm_text_add(out, "\n");
    }
    add_paragraph(out, sheet->task);
    pm_text_add(out, "\nround  codes, answer\n");
    for (int64_t i = 0; i < sheet->row.rounds; i++)
        show_round(cli, sheet, &sheet->rounds[i]);
    add_paragraph(out, sheet->words);
    if (sheet->remarks != NULL)
        add_paragraph(out, sheet->remarks);
}

static enum pm_status show(struct pm_cli *cli, int64_t id, struct pm_error *err)
{
    struct pm_blind_sheet sheet;
    const enum pm_status status = pm_blind_open(cli->studio, id, &sheet, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON)
        show_json(cli, &sheet);
    else
        show_text(cli, &sheet);
    pm_blind_sheet_release(&sheet);
    return PM_OK;
}

static enum pm_status run_show(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    const enum pm_status status = find(cli, &id, err);
    return status == PM_OK ? show(cli, id, err) : status;
}

/* ---- answer, close, list ---- */

static enum pm_status run_answer(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_text answer = PM_TEXT_EMPTY;
    struct pm_blind_said said;
    struct pm_json json;
    int64_t id;

    enum pm_status status = find(cli, &id, err);
    for (size_t i = 1; i < cli->operand_count; i++)
        pm_text_addf(&answer, "%s%s", i > 1 ? " " : "", cli->operands[i]);
    if (status == PM_OK && !pm_text_ok(&answer))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status =
            pm_blind_answer(cli->studio, id, pm_text_get(&answer), pm_cli_value(cli, "assessor"),
                            pm_cli_has(cli, "replace"), &said, err);
    pm_text_release(&answer);
    if (status != PM_OK)
        return status;
    pm_cli_say(cli, "%s.", said.sentence);
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_int(&json, "round", said.round);
        pm_json_put_string(&json, "sentence", said.sentence);
        pm_json_close(&json, '}');
    }
    pm_blind_said_release(&said);
    return PM_OK;
}

static enum pm_status run_close(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    enum pm_status status = find(cli, &id, err);
    if (status == PM_OK)
        status = pm_blind_close(cli->studio, id, err);
    return status == PM_OK ? show(cli, id, err) : status;
}

static const struct pm_listing_column list_columns[] = {
    {.key = "id", .title = "#", .kind = PM_LISTING_NUMBER},
    {.of = &pm_panel_entity, .which = PM_PANEL_NAME, .title = "test"},
    {.of = &pm_panel_entity, .which = PM_PANEL_KIND, .title = "kind"},
    {.of = &pm_panel_entity, .which = PM_PANEL_ROUNDS, .title = "rounds"},
    {.key = "answered", .title = "answered", .kind = PM_LISTING_NUMBER},
    {.key = "made_at", .title = "made", .kind = PM_LISTING_TIME},
    {.key = "closed_at", .title = "closed", .kind = PM_LISTING_TIME},
};

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_panel_rows list;
    struct pm_listing table;

    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_blind_list(cli->studio, &list, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(list_columns));
    for (size_t i = 0; i < list.count; i++) {
        pm_listing_number(&table, list.items[i].id);
        pm_listing_attributes(&table, &list.items[i]);
        pm_listing_number(&table, list.items[i].answered);
        pm_listing_time(&table, list.items[i].made_at);
        if (list.items[i].closed_at != 0)
            pm_listing_time(&table, list.items[i].closed_at);
        else
            pm_listing_null(&table);
    }
    pm_list_release(&list);
    return pm_listing_answer(&table, cli, "panels", "No blind test has been made yet.", err);
}

/* ---- the table ---- */

static const struct pm_cli_option new_options[] = {
    {.name = "two-sided", .help = "paired: either trial may be chosen more often, as without it"},
    {.name = NULL},
};

static const struct pm_cli_option codes_options[] = {
    {.name = "fill", .help = "the page for whoever fills the vials: it holds the key"},
    {.name = NULL},
};

static const struct pm_cli_option answer_options[] = {
    {.name = "assessor",
     .value = "NAME",
     .help = "who answers; yourself without it, or who gave the answer that is replaced"},
    {.name = "replace", .help = "put it in place of the round's earlier answer"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND(
        "panel new", "NAME F/N F/N...", 3, -1, PM_CLI_JSON, "plan a blind test of kept trials",
        .more = "Every vial gets a three-digit code of its own. Print 'panel codes NAME --fill' "
                "for whoever fills the vials and 'panel codes NAME' for the assessor, who may be "
                "the same person if the first page is put away.",
        .options = new_options, .entity = &pm_panel_entity, .without = "name|trials",
        .run = run_new, .changes = true),
    PM_CLI_COMMAND("panel codes", "NAME", 1, 1, PM_CLI_JSON,
                   "print the assessor's page: codes in the order of smelling",
                   .options = codes_options, .run = run_codes),
    PM_CLI_COMMAND(
        "panel answer", "NAME CODE...", 2, -1, PM_CLI_JSON, "answer a round by the code chosen",
        .more = "A ranking names all codes of its round, first place first; join those you cannot "
                "tell apart: 417 236=902.",
        .options = answer_options, .run = run_answer, .changes = true),
    PM_CLI_COMMAND("panel close", "NAME", 1, 1, PM_CLI_JSON,
                   "end a blind test for good: show its key and result", .run = run_close,
                   .changes = true),
    PM_CLI_COMMAND("panel show", "NAME", 1, 1, PM_CLI_JSON,
                   "show a blind test, its answers and, once closed, its key and result",
                   .run = run_show),
    PM_CLI_COMMAND("panel list", "", 0, 0, PM_CLI_TABLE, "list the blind tests", .run = run_list),
};

const struct pm_cli_topic pm_cli_topic_panel = {
    .title = "Blind tests",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
