/* SPDX-License-Identifier: MIT */
/* Commands on series of trials: dose ladders, one line left out, designs of ratios. */
#include "bench.h"
#include "listing.h"

#include "permille/base/mem.h"
#include "permille/studio/series.h"

#include <math.h>
#include <string.h>

#define PLOT_WIDTH  78
#define PLOT_HEIGHT 20

/* ---- what was made ---- */

static enum pm_status tell_sentence(struct pm_cli *cli, char *sentence, const char *key, int64_t id)
{
    struct pm_json json;
    if (pm_cli_tell_begin(cli, sentence, &json)) {
        if (key != NULL)
            pm_json_put_int(&json, key, id);
        pm_json_close(&json, '}');
    }
    pm_free(sentence);
    return PM_OK;
}

static void put_trials(struct pm_json *json, const struct pm_series_sheet *sheet);

/* The sentence, and with --json the series and its trials. */
static enum pm_status tell_made(struct pm_cli *cli, struct pm_series_made *made,
                                struct pm_error *err)
{
    struct pm_series_sheet sheet;
    struct pm_json json;
    const enum pm_status status = pm_series_open(cli->studio, made->id, &sheet, err);
    if (status == PM_OK && pm_cli_tell_begin(cli, made->sentence, &json)) {
        pm_json_put_int(&json, "series", made->id);
        pm_json_put_string(&json, "name", sheet.row.name);
        put_trials(&json, &sheet);
        pm_json_close(&json, '}');
    }
    if (status == PM_OK)
        pm_series_sheet_release(&sheet);
    pm_series_made_release(made);
    return status;
}

static enum pm_status read_form(struct pm_cli *cli, struct pm_series_form *out,
                                struct pm_error *err)
{
    struct pm_cli_named named;
    const enum pm_status status = pm_cli_name(cli, 0, &named, err);
    if (status != PM_OK)
        return status;
    *out = (struct pm_series_form){.formula = named.formula,
                                   .name = pm_cli_value(cli, "name"),
                                   .blind = pm_cli_has(cli, "blind"),
                                   .rounds = pm_cli_value(cli, "rounds")};
    return named.number == 0 ? PM_OK
                             : pm_fail(err, PM_REFUSED,
                                       "A series is made from the draft: branch from that trial "
                                       "first, and name the formula alone.");
}

static enum pm_status run_ladder(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_series_form form;
    struct pm_series_made made;
    const struct pm_ladder_form ladder = {.line = cli->operands[1],
                                          .doses = pm_cli_value(cli, "doses"),
                                          .from = pm_cli_value(cli, "from"),
                                          .to = pm_cli_value(cli, "to"),
                                          .count = pm_cli_value(cli, "steps"),
                                          .equal_steps = pm_cli_has(cli, "equal-steps")};
    enum pm_status status = read_form(cli, &form, err);
    if (status == PM_OK)
        status = pm_series_ladder(cli->studio, &form, &ladder, &made, err);
    return status == PM_OK ? tell_made(cli, &made, err) : status;
}

static enum pm_status run_leaveout(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_series_form form;
    struct pm_series_made made;
    enum pm_status status = read_form(cli, &form, err);
    if (status == PM_OK)
        status = pm_series_leave_out(cli->studio, &form, cli->operands + 1, cli->operand_count - 1,
                                     &made, err);
    return status == PM_OK ? tell_made(cli, &made, err) : status;
}

/* "LINE=10%" goes to the place of the operand that names the line alike. */
static enum pm_status read_bounds(struct pm_cli *cli, const char *option, const char **out,
                                  struct pm_error *err)
{
    size_t at = 0;
    const char *text;
    while ((text = pm_cli_next_value(cli, option, &at)) != NULL) {
        const char *equals = strrchr(text, '=');
        size_t line = 1;
        while (equals != NULL && line < cli->operand_count &&
               (strlen(cli->operands[line]) != (size_t)(equals - text) ||
                strncmp(cli->operands[line], text, (size_t)(equals - text)) != 0))
            line++;
        if (equals == NULL || line == cli->operand_count)
            return pm_cli_usage(cli, err,
                                "'--%s' takes a line as it is named here and a share, like "
                                "\"%s=10%%\".",
                                option, cli->operands[1]);
        out[line - 1] = equals + 1;
    }
    return PM_OK;
}

static enum pm_status run_ratios(struct pm_cli *cli, struct pm_error *err)
{
    const char *least[PM_MIX_MOST] = {NULL}, *most[PM_MIX_MOST] = {NULL};
    const char *degree = pm_cli_value(cli, "lattice");
    struct pm_ratios_form ratios = {
        .lines = cli->operands + 1, .count = cli->operand_count - 1, .least = least, .most = most};
    struct pm_series_form form;
    struct pm_series_made made;
    int64_t m = 0;
    enum pm_status status = read_bounds(cli, "least", least, err);
    if (status == PM_OK)
        status = read_bounds(cli, "most", most, err);
    if (status == PM_OK && degree != NULL)
        status = pm_decimal_read(degree, 0, "The degree of the lattice", &m, err);
    if (status == PM_OK && degree != NULL && (m < 1 || m > 10))
        status = pm_fail(err, PM_INVALID, "The degree of a lattice is 1 to 10.");
    ratios.degree = (int)m;
    if (status == PM_OK)
        status = read_form(cli, &form, err);
    if (status == PM_OK)
        status = pm_series_ratios(cli->studio, &form, &ratios, &made, err);
    return status == PM_OK ? tell_made(cli, &made, err) : status;
}

/* ---- looking ---- */

static enum pm_status find_series(struct pm_cli *cli, int64_t *out, struct pm_error *err)
{
    const enum pm_status status = pm_cli_open(cli, false, err);
    return status == PM_OK ? pm_series_find(cli->studio, cli->operands[0], out, err) : status;
}

static const struct pm_listing_column list_columns[] = {
    {.key = "series", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "name", .title = "series", .kind = PM_LISTING_TEXT},
    {.key = "kind", .title = "kind", .kind = PM_LISTING_TEXT},
    {.key = "trials", .title = "trials", .kind = PM_LISTING_NUMBER},
    {.key = "ratings", .title = "rated", .kind = PM_LISTING_NUMBER},
    {.key = "made_at", .title = "made", .kind = PM_LISTING_TIME},
};

static enum pm_status run_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_cli_named named = {.formula = 0};
    struct pm_series_rows rows;
    struct pm_listing table;
    enum pm_status status =
        cli->operand_count > 0 ? pm_cli_name(cli, 0, &named, err) : pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_series_all(cli->studio, named.formula, &rows, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(list_columns));
    for (size_t i = 0; i < rows.count; i++) {
        pm_listing_number(&table, rows.items[i].id);
        pm_listing_text(&table, rows.items[i].name);
        pm_listing_text(&table, pm_series_word(rows.items[i].kind));
        pm_listing_number(&table, rows.items[i].trials);
        pm_listing_number(&table, rows.items[i].ratings);
        pm_listing_time(&table, rows.items[i].made_at);
    }
    pm_list_release(&rows);
    return pm_listing_answer(&table, cli, "series", "There is no series yet.", err);
}

static void put_what(struct pm_json *json, const struct pm_series_trial *row)
{
    struct pm_text what = PM_TEXT_EMPTY;
    pm_series_say_what(row, '.', &what);
    json->out->failed = json->out->failed || !pm_text_ok(&what);
    pm_json_put_string(json, "what", pm_text_get(&what));
    pm_text_release(&what);
}

static void put_trials(struct pm_json *json, const struct pm_series_sheet *sheet)
{
    pm_json_put_open(json, "trials", '[');
    for (size_t i = 0; i < sheet->count; i++) {
        const struct pm_series_step *step = &sheet->steps[i];
        pm_json_open(json, '{');
        pm_json_put_string(json, "trial", step->title);
        put_what(json, &step->row);
        if (step->row.amount >= 0)
            pm_json_put_decimal(json, "parts", step->row.amount, 6);
        pm_json_put_string(json, "ratio", step->row.ratio);
        pm_json_put_string(json, "omitted", step->row.omitted);
        pm_json_put_int(json, "ratings", (int64_t)step->ratings);
        pm_json_put_double(json, "rating", step->ratings > 0 ? step->rating : (double)NAN);
        pm_json_put_int(json, "likings", (int64_t)step->likings);
        pm_json_put_double(json, "liking", step->likings > 0 ? step->liking : (double)NAN);
        pm_json_put_int(json, "answers", step->answered);
        if (step->closed) {
            pm_json_put_int(json, "correct", step->correct);
            pm_json_put_double(json, "p", step->p);
            pm_json_put_bool(json, "noticed", step->shown);
        } else {
            pm_json_put_null(json, "noticed");
        }
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static enum pm_status show_json(struct pm_cli *cli, const struct pm_series_sheet *sheet)
{
    struct pm_json json;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_int(&json, "series", sheet->row.id);
    pm_json_put_string(&json, "name", sheet->row.name);
    pm_json_put_string(&json, "kind", pm_series_word(sheet->row.kind));
    pm_json_put_string(&json, "formula", sheet->formula);
    pm_json_put_open(&json, "lines", '[');
    for (size_t i = 0; i < sheet->line_count; i++)
        pm_json_string(&json, sheet->lines[i]);
    pm_json_close(&json, ']');
    put_trials(&json, sheet);
    pm_json_close(&json, '}');
    return PM_OK;
}

static const struct pm_listing_column step_columns[] = {
    {.key = "trial", .title = "trial", .kind = PM_LISTING_TEXT},
    {.key = "what", .title = "what", .kind = PM_LISTING_TEXT},
    {.key = "ratings", .title = "rated", .kind = PM_LISTING_NUMBER},
    {.key = "rating", .title = "rating", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "liking", .title = "liking", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "answers", .title = "answers", .kind = PM_LISTING_NUMBER},
    {.key = "correct", .title = "right", .kind = PM_LISTING_NUMBER},
    {.key = "p", .title = "p", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "noticed", .title = "noticed", .kind = PM_LISTING_TEXT},
};

static void add_mean(struct pm_listing *table, size_t count, double value)
{
    pm_listing_number_if(table, count > 0, llround(value * 1e6));
}

static void add_what(struct pm_listing *table, const struct pm_series_trial *row, char sign)
{
    struct pm_text what = PM_TEXT_EMPTY;
    pm_series_say_what(row, sign, &what);
    table->failed = table->failed || !pm_text_ok(&what);
    pm_listing_text(table, pm_text_get(&what));
    pm_text_release(&what);
}

static enum pm_status run_show(struct pm_cli *cli, struct pm_error *err)
{
    const char sign = cli->form == PM_CLI_CSV ? '.' : pm_decimal_sign();
    struct pm_series_sheet sheet;
    struct pm_listing table;
    int64_t id;
    enum pm_status status = find_series(cli, &id, err);
    if (status == PM_OK)
        status = pm_series_open(cli->studio, id, &sheet, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON) {
        status = show_json(cli, &sheet);
        pm_series_sheet_release(&sheet);
        return status;
    }
    pm_listing_init(&table, PM_LISTING_COLUMNS(step_columns));
    for (size_t i = 0; i < sheet.count; i++) {
        const struct pm_series_step *step = &sheet.steps[i];
        pm_listing_text(&table, step->title);
        add_what(&table, &step->row, sign);
        pm_listing_number(&table, (int64_t)step->ratings);
        add_mean(&table, step->ratings, step->rating);
        add_mean(&table, step->likings, step->liking);
        pm_listing_number(&table, step->answered);
        pm_listing_number_if(&table, step->closed, step->correct);
        add_mean(&table, step->closed, step->p);
        pm_listing_text(&table, step->row.panel == 0 ? ""
                                : !step->closed      ? "test open"
                                : step->shown        ? "yes"
                                                     : "not shown");
    }
    status = pm_listing_answer(&table, cli, "trials", "It has no trials.", err);
    pm_series_sheet_release(&sheet);
    return status;
}

/* ---- weighing ---- */

static void put_weigh(struct pm_json *json, const struct pm_series_weigh *weigh)
{
    const struct pm_premix *premix = &weigh->premix;
    pm_json_put_decimal(json, "batch_g", weigh->batch, 6);
    pm_json_put_int(json, "weighings", (int64_t)premix->weighings);
    pm_json_put_int(json, "weighings_one_by_one", (int64_t)premix->without);
    pm_json_put_open(json, "premixes", '[');
    for (size_t g = 0; g < premix->groups; g++) {
        pm_json_open(json, '{');
        pm_json_put_int(json, "premix", (int64_t)g + 1);
        pm_json_put_decimal(json, "total_g", premix->amount[g], 6);
        pm_json_put_open(json, "lines", '[');
        for (size_t i = 0; i < premix->ingredients; i++)
            if (premix->group[i] == (int)g) {
                pm_json_open(json, '{');
                pm_json_put_string(json, "material", weigh->ingredients[i]);
                pm_json_put_decimal(json, "mass_g", premix->make[i], 6);
                pm_json_close(json, '}');
            }
        pm_json_close(json, ']');
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static void put_pours(struct pm_json *json, const struct pm_series_weigh *weigh, size_t k)
{
    const struct pm_premix *premix = &weigh->premix;
    pm_json_open(json, '{');
    pm_json_put_string(json, "trial", weigh->trials[k]);
    pm_json_put_open(json, "pours", '[');
    for (size_t g = 0; g < premix->groups; g++) {
        pm_json_open(json, '{');
        pm_json_put_int(json, "premix", (int64_t)g + 1);
        pm_json_put_decimal(json, "mass_g", premix->take[k * premix->groups + g], 6);
        pm_json_close(json, '}');
    }
    for (size_t i = 0; i < premix->ingredients; i++)
        if (premix->single[k * premix->ingredients + i] > 0) {
            pm_json_open(json, '{');
            pm_json_put_string(json, "material", weigh->ingredients[i]);
            pm_json_put_int(json, "stock_tenfold",
                            premix->from_stock[k * premix->ingredients + i] ? premix->tenfold[i]
                                                                            : 0);
            pm_json_put_decimal(json, "mass_g", premix->single[k * premix->ingredients + i], 6);
            pm_json_put_bool(json, "weighable",
                             premix->single[k * premix->ingredients + i] >= weigh->least);
            pm_json_close(json, '}');
        }
    pm_json_close(json, ']');
    pm_json_close(json, '}');
}

static enum pm_status run_weigh(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_series_weigh weigh;
    int64_t id;
    enum pm_status status = find_series(cli, &id, err);
    if (status == PM_OK)
        status = pm_series_plan(cli->studio, id, cli->operands[1], pm_cli_value(cli, "least"),
                                &weigh, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON) {
        struct pm_json json;
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        put_weigh(&json, &weigh);
        pm_json_put_open(&json, "trials", '[');
        for (size_t k = 0; k < weigh.premix.trials; k++)
            put_pours(&json, &weigh, k);
        pm_json_close(&json, ']');
        pm_json_close(&json, '}');
    } else {
        pm_series_weigh_say(&weigh, pm_decimal_sign(), &cli->out);
    }
    pm_series_weigh_release(&weigh);
    return PM_OK;
}

/* ---- ratings and the fit ---- */

static enum pm_status run_rate(struct pm_cli *cli, struct pm_error *err)
{
    char *sentence = NULL;
    int64_t id;
    const bool back = pm_cli_has(cli, "withdraw");
    if (back == (cli->operand_count == 3))
        return pm_cli_usage(cli, err, "Say a rating, or '--withdraw' without one.");
    enum pm_status status = find_series(cli, &id, err);
    if (status == PM_OK && back)
        status = pm_series_unrate(cli->studio, id, cli->operands[1], &sentence, err);
    else if (status == PM_OK)
        status =
            pm_series_rate(cli->studio, id, cli->operands[1], cli->operands[2], &sentence, err);
    return status == PM_OK ? tell_sentence(cli, sentence, "series", id) : status;
}

static void put_fit(struct pm_json *json, const struct pm_series_fit *fit)
{
    char name[8];
    pm_json_put_string(json, "model", pm_mix_model_word(fit->model));
    pm_json_put_int(json, "observations", (int64_t)fit->observations);
    pm_json_put_string(json, "from", fit->from_smells ? "smell log" : "ratings");
    pm_json_put_open(json, "terms", '[');
    for (size_t t = 0; t < fit->fit.terms; t++) {
        pm_json_open(json, '{');
        pm_json_put_string(json, "term", pm_mix_term_name(fit->model, fit->components, t, name));
        pm_json_put_double(json, "coefficient", fit->fit.coefficient[t]);
        pm_json_put_double(json, "standard_error", fit->sure ? fit->fit.error[t] : (double)NAN);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    pm_json_put_double(json, "r_squared", fit->fit.r_squared);
    pm_json_put_double(json, "lack_of_fit_p",
                       fit->fit.replicated && fit->fit.lack_freedom > 0 ? fit->fit.lack_p
                                                                        : (double)NAN);
}

static void put_best(struct pm_json *json, const struct pm_series_fit *fit)
{
    pm_json_put_open(json, "best", '{');
    pm_json_put_open(json, "ratio", '[');
    for (size_t i = 0; i < fit->components; i++)
        pm_json_double(json, fit->best.shares[i]);
    pm_json_close(json, ']');
    pm_json_put_double(json, "value", fit->best.value);
    pm_json_put_double(json, "low", fit->sure ? fit->low : (double)NAN);
    pm_json_put_double(json, "high", fit->sure ? fit->high : (double)NAN);
    pm_json_put_bool(json, "on_edge", fit->best.edge);
    pm_json_put_open(json, "as_good", '[');
    for (size_t i = 0; i < fit->components; i++) {
        pm_json_open(json, '{');
        pm_json_put_string(json, "material", fit->names[i]);
        pm_json_put_double(json, "from", fit->from[i]);
        pm_json_put_double(json, "to", fit->to[i]);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    pm_json_close(json, '}');
}

static enum pm_status fit_text(struct pm_cli *cli, const struct pm_series_fit *fit,
                               struct pm_error *err)
{
    struct pm_text said = PM_TEXT_EMPTY;
    struct pm_plot plot = {.count = 0};
    enum pm_status status = PM_OK;
    pm_series_fit_say_terms(fit, cli->linear, pm_decimal_sign(), &cli->out);
    if (fit->components == 3) {
        status = pm_series_triangle(fit, PLOT_WIDTH, PLOT_HEIGHT + 4, false, pm_decimal_sign(),
                                    &plot, &said, err);
        if (status == PM_OK)
            pm_cli_add_drawing(cli, plot.rows, plot.count);
        pm_plot_release(&plot);
    }
    pm_series_fit_say(fit, pm_decimal_sign(), &said);
    if (status == PM_OK && !pm_text_ok(&said))
        status = pm_fail_memory(err);
    pm_cli_add_broken(&cli->out, pm_text_get(&said), cli->front->columns);
    pm_text_release(&said);
    return status;
}

static enum pm_status run_fit(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_series_fit fit;
    int64_t id;
    enum pm_status status = find_series(cli, &id, err);
    if (status == PM_OK)
        status = pm_series_fitted(cli->studio, id, pm_cli_value(cli, "model"), &fit, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON) {
        struct pm_json json;
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        put_fit(&json, &fit);
        put_best(&json, &fit);
        pm_json_close(&json, '}');
    } else {
        status = fit_text(cli, &fit, err);
    }
    pm_series_fit_release(&fit);
    return status;
}

/* ---- dose response ---- */

static void put_response(struct pm_json *json, const struct pm_series_response *response)
{
    const struct pm_dose *dose = &response->dose;
    pm_json_put_string(json, "material", response->line);
    pm_json_put_string(json, "model", dose->model == PM_DOSE_POWER ? "power" : "log");
    pm_json_put_string(json, "stage", pm_stage_word(response->stage));
    pm_json_put_int(json, "notes", (int64_t)response->count);
    pm_json_put_int(json, "left_out", (int64_t)dose->left_out);
    pm_json_put_double(json, "slope", dose->slope);
    pm_json_put_double(json, "low", dose->slope_low);
    pm_json_put_double(json, "high", dose->slope_high);
    pm_json_put_bool(json, "supported", dose->supported);
    pm_json_key(json, "dose");
    if (!response->wanted) {
        pm_json_null(json);
        return;
    }
    pm_json_open(json, '{');
    pm_json_put_double(json, "intensity", response->intensity);
    pm_json_put_double(json, "parts", response->value);
    pm_json_put_double(json, "low", response->low);
    pm_json_put_double(json, "high", response->high);
    pm_json_close(json, '}');
}

static enum pm_status response_text(struct pm_cli *cli, const struct pm_series_response *response,
                                    struct pm_error *err)
{
    struct pm_text said = PM_TEXT_EMPTY;
    struct pm_plot plot;
    enum pm_status status = pm_series_response_plot(response, PLOT_WIDTH, PLOT_HEIGHT, false,
                                                    pm_decimal_sign(), &plot, &said, err);
    if (status == PM_OK) {
        pm_cli_add_drawing(cli, plot.rows, plot.count);
        pm_plot_release(&plot);
    }
    pm_series_response_say(response, pm_decimal_sign(), &said);
    if (status == PM_OK && !pm_text_ok(&said))
        status = pm_fail_memory(err);
    pm_cli_add_broken(&cli->out, pm_text_get(&said), cli->front->columns);
    pm_text_release(&said);
    return status;
}

static enum pm_status run_response(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_series_response response;
    int64_t id;
    enum pm_status status = find_series(cli, &id, err);
    if (status == PM_OK)
        status = pm_series_responded(cli->studio, id, pm_cli_value(cli, "stage"),
                                     pm_cli_value(cli, "model"), pm_cli_value(cli, "intensity"),
                                     &response, err);
    if (status != PM_OK)
        return status;
    if (cli->form == PM_CLI_JSON) {
        struct pm_json json;
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        put_response(&json, &response);
        pm_json_close(&json, '}');
    } else {
        status = response_text(cli, &response, err);
    }
    pm_series_response_release(&response);
    return status;
}

/* ---- the table ---- */

#define MAKING                                                                                     \
    {.name = "name", .value = "NAME", .help = "what the series is called"},                        \
        {.name = "blind", .help = "make blind tests of the trials as well"},                       \
    {                                                                                              \
        .name = "rounds", .value = "N", .help = "answers planned for each blind test"              \
    }

static const struct pm_cli_option ladder_options[] = {
    {.name = "doses", .value = "LIST", .help = "parts, \"1, 2, 4, 8\""},
    {.name = "from", .value = "PARTS", .help = "the least dose"},
    {.name = "to", .value = "PARTS", .help = "the most"},
    {.name = "steps", .value = "N", .help = "how many doses; 5 without it"},
    {.name = "equal-steps", .help = "equal steps instead of equal ratios"},
    MAKING,
    {.name = NULL},
};
static const struct pm_cli_option leaveout_options[] = {
    MAKING,
    {.name = NULL},
};
static const struct pm_cli_option ratios_options[] = {
    {.name = "lattice",
     .value = "M",
     .help = "shares are multiples of 1/M; without it the equal blends of every subset"},
    {.name = "least", .value = "LINE=SHARE", .help = "least share of a line", .many = true},
    {.name = "most", .value = "LINE=SHARE", .help = "most share of a line", .many = true},
    MAKING,
    {.name = NULL},
};
static const struct pm_cli_option weigh_options[] = {
    {.name = "least", .value = "MASS", .help = "smallest weight that is trusted; 0.1 g without it"},
    {.name = NULL},
};
static const struct pm_cli_option rate_options[] = {
    {.name = "withdraw", .help = "take the last rating of the trial back"},
    {.name = NULL},
};
static const struct pm_cli_option fit_options[] = {
    {.name = "model",
     .value = "MODEL",
     .help = "linear, quadratic or special cubic; without it the largest that the ratings tell"},
    {.name = NULL},
};
static const struct pm_cli_option response_options[] = {
    {.name = "stage", .value = "STAGE", .words = "top|heart|base", .help = "notes of this stage"},
    {.name = "model",
     .value = "MODEL",
     .help = "log (intensity against the logarithm of the dose) or power"},
    {.name = "intensity", .value = "N", .help = "the dose for this intensity"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND(
        "ladder", "F LINE", 2, 2, PM_CLI_JSON,
        "keep trials with a line at rising doses, the others as the mode says", .changes = true,
        .more = "The draft is afterwards as it was. Doses in ratios of 1.5 to 2 are told apart; "
                "steps under a fifth are not worth a trial.",
        .options = ladder_options, .run = run_ladder),
    PM_CLI_COMMAND(
        "leaveout", "F LINE...", 2, PM_SERIES_TRIALS_MOST, PM_CLI_JSON,
        "keep a trial as the draft is, and one without each of the lines", .changes = true,
        .more = "With --blind a triangle of each against the whole; 'series show' then says which "
                "addition was noticed.",
        .options = leaveout_options, .run = run_leaveout),
    PM_CLI_COMMAND("ratios", "F LINE LINE...", 3, 1 + PM_MIX_MOST, PM_CLI_JSON,
                   "keep trials with two to five lines in the ratios of a design", .changes = true,
                   .more = "The sum of the lines and all others stay as they are.",
                   .options = ratios_options, .run = run_ratios),
    PM_CLI_COMMAND("ratios rate", "SERIES TRIAL [RATING]", 2, 3, PM_CLI_JSON,
                   "rate a trial of a series", .changes = true, .options = rate_options,
                   .run = run_rate),
    PM_CLI_COMMAND(
        "ratios fit", "SERIES", 1, 1, PM_CLI_JSON,
        "fit the ratings of a design, and say where they are highest and how sure",
        .more = "Ratings that were entered count; where there are none, your likings in the smell "
                "log.",
        .options = fit_options, .run = run_fit),
    PM_CLI_COMMAND("response", "SERIES", 1, 1, PM_CLI_JSON,
                   "your own dose response from the notes along a ladder",
                   .options = response_options, .run = run_response),
    PM_CLI_COMMAND("series list", "[F]", 0, 1, PM_CLI_TABLE,
                   "ladders, leave-out series and designs", .run = run_list),
    PM_CLI_COMMAND("series show", "SERIES", 1, 1, PM_CLI_TABLE,
                   "the trials of a series, their ratings, what was noticed", .run = run_show),
    PM_CLI_COMMAND(
        "series weigh", "SERIES MASS", 2, 2, PM_CLI_JSON,
        "one weigh plan for all trials of a series, with shared premixes",
        .more = "What stands in the same ratio in every trial is weighed once. Small doses are "
                "weighed from a stock in premix A.",
        .options = weigh_options, .run = run_weigh),
};

const struct pm_cli_topic pm_cli_topic_series = {
    .title = "Series of trials",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
