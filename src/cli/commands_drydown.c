/* SPDX-License-Identifier: MIT */
/* The command `drydown`: what leaves first and what stays. */
#include "bench.h"
#include "listing.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"
#include "permille/studio/drydown.h"
#include "permille/studio/shelf.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define POINTS_MOST 12
#define PLOT_WIDTH  78
#define PLOT_HEIGHT 24

struct points {
    double percent[POINTS_MOST]; /* of the modelled amount, rising */
    size_t count;
};

/* ---- options ---- */

static enum pm_status read_points(const char *text, struct points *out, struct pm_error *err)
{
    char one[32];
    *out = (struct points){.count = 0};
    while (*text != '\0') {
        const size_t length = strcspn(text, ",;");
        int64_t value;
        if (out->count == POINTS_MOST)
            return pm_fail(err, PM_INVALID, "At most %d fractions at a time.", POINTS_MOST);
        (void)snprintf(one, sizeof one, "%.*s", (int)length, text);
        const enum pm_status status = pm_decimal_read(one, 6, "A fraction evaporated", &value, err);
        if (status != PM_OK)
            return status;
        out->percent[out->count] = (double)value / 1e6;
        if (!(out->percent[out->count] < 100) ||
            (out->count > 0 && !(out->percent[out->count] > out->percent[out->count - 1])))
            return pm_fail(err, PM_INVALID,
                           "Fractions evaporated rise from 0 and stay below 100 percent.");
        out->count++;
        text += length;
        text += *text != '\0';
    }
    return out->count > 0
               ? PM_OK
               : pm_fail(err, PM_INVALID, "No fraction evaporated was given: \"0,10,50,90\".");
}

static enum pm_status read_options(struct pm_cli *cli, struct pm_dry_options *out,
                                   struct points *points, struct pm_error *err)
{
    const char *assume = pm_cli_value(cli, "assume"), *at = pm_cli_value(cli, "evaporated");
    int64_t mass = 0;
    enum pm_status status = read_points(at != NULL ? at : "0,10,25,50,75,90", points, err);
    if (status == PM_OK && assume != NULL)
        status = pm_decimal_read(assume, 6, "The molar mass", &mass, err);
    if (status == PM_OK && assume != NULL && (mass < 10000000 || mass > INT64_C(10000000000)))
        status = pm_fail(err, PM_INVALID, "A molar mass lies between 10 and 10000 g/mol.");
    *out = (struct pm_dry_options){.without_alcohol = pm_cli_has(cli, "without-alcohol"),
                                   .assume = (double)mass / 1e6};
    return status;
}

/* ---- numbers ---- */

/* A percentage with one or two decimals; what is not nothing never looks so. */
static void percent_text(double percent, char text[PM_AMOUNT_TEXT])
{
    if (percent > 0 && percent < 0.005)
        (void)snprintf(text, PM_AMOUNT_TEXT, "<0%c01", pm_decimal_sign());
    else if (percent < 10)
        (void)pm_decimal_format(llround(percent * 100), 2, 2, pm_decimal_sign(), text);
    else /* rounded once: 44.348 is 44.3 */
        (void)pm_decimal_format(llround(percent * 10), 1, 1, pm_decimal_sign(), text);
}

/* ---- JSON ---- */

static void put_material(struct pm_json *json, const struct pm_dry_material *item)
{
    pm_json_open(json, '{');
    pm_json_put_string(json, "material", item->name);
    pm_json_put_double(json, "vapour_pressure_pa", item->pressure);
    pm_json_put_double(json, "low_pa", item->low);
    pm_json_put_double(json, "high_pa", item->high);
    pm_json_put_string(json, "basis", item->basis);
    pm_json_put_bool(json, "predicted", item->predicted);
    pm_json_put_double(json, "percent", item->percent);
    pm_json_put_double(json, "molar_mass", item->molar_mass);
    pm_json_put_bool(json, "molar_mass_assumed", item->assumed);
    pm_json_put_double(json, "activity", item->activity);
    pm_json_put_double(json, "transfer", item->transfer);
    pm_json_put_string(json, "stage", pm_stage_word(item->stage));
    pm_json_put_string(json, "label", item->label);
    pm_json_put_bool(json, "label_odd", item->odd);
    pm_json_put_string(json, "through", item->through);
    pm_json_close(json, '}');
}

static void put_state(struct pm_json *json, const struct pm_drydown *drydown, size_t i,
                      const struct pm_dry_state *states, bool air)
{
    const struct pm_dry_material *item = &drydown->materials[i];
    pm_json_open(json, '{');
    pm_json_put_string(json, "material", item->name);
    if (air) {
        pm_json_put_double(json, "share_percent", 100 * states[i].share);
        pm_json_put_double(json, "air_g_m3", states[i].air);
        if (item->threshold > 0)
            pm_json_put_double(json, "odour_value", states[i].air * 1e6 / item->threshold);
        else
            pm_json_put_null(json, "odour_value");
    } else {
        pm_json_put_double(json, "left_percent", 100 * states[i].left);
        pm_json_put_double(json, "low_percent", 100 * states[i].low);
        pm_json_put_double(json, "high_percent", 100 * states[i].high);
    }
    pm_json_close(json, '}');
}

static void put_point(struct pm_json *json, const struct pm_drydown *drydown, double percent,
                      const struct pm_dry_state *states)
{
    pm_json_open(json, '{');
    pm_json_put_double(json, "evaporated_percent", percent);
    pm_json_put_double(json, "minutes",
                       drydown->clock.rate > 0
                           ? pm_drydown_seconds(&drydown->mix, percent / 100, drydown->clock.rate) /
                                 60
                           : (double)NAN);
    for (int air = 0; air < 2; air++) {
        pm_json_put_open(json, air ? "headspace" : "liquid", '[');
        for (size_t i = 0; i < drydown->count; i++)
            put_state(json, drydown, i, states, air);
        pm_json_close(json, ']');
    }
    pm_json_close(json, '}');
}

static void put_missing(struct pm_json *json, const struct pm_drydown *drydown)
{
    pm_json_put_open(json, "not_modelled", '[');
    for (size_t i = 0; i < drydown->missing_count; i++) {
        pm_json_open(json, '{');
        pm_json_put_string(json, "material", drydown->missing[i].name);
        pm_json_put_double(json, "percent", drydown->missing[i].percent);
        pm_json_put_string(json, "why", drydown->missing[i].why);
        pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
}

static enum pm_status put_drydown(struct pm_json *json, const struct pm_drydown *drydown,
                                  const struct points *points, const struct pm_text *said,
                                  struct pm_error *err)
{
    struct pm_dry_state *states = pm_alloc_array(drydown->count, sizeof *states);
    double tau = 0;
    if (drydown->count > 0 && states == NULL)
        return pm_fail_memory(err);
    pm_json_put_string(json, "formula", drydown->title);
    pm_json_put_known(json, "trial", drydown->number > 0 ? drydown->number : -1, 0);
    pm_json_put_open(json, "materials", '[');
    for (size_t i = 0; i < drydown->count; i++)
        put_material(json, &drydown->materials[i]);
    pm_json_close(json, ']');
    pm_json_put_open(json, "points", '[');
    for (size_t p = 0; drydown->count > 0 && p < points->count; p++) {
        pm_drydown_at(&drydown->mix, points->percent[p] / 100, true, &tau, states);
        put_point(json, drydown, points->percent[p], states);
    }
    pm_json_close(json, ']');
    put_missing(json, drydown);
    pm_json_put_double(json, "not_modelled_percent", drydown->missing_percent);
    pm_json_put_double(json, "predicted_percent", drydown->predicted_percent);
    pm_json_put_double(json, "assumed_molar_mass_percent", drydown->assumed_percent);
    pm_json_put_bool(json, "ideal", drydown->ideal);
    pm_json_put_string(json, "clock", drydown->clock.rate > 0 ? drydown->clock.words : NULL);
    pm_json_put_string(json, "caution", pm_text_get(said));
    pm_free(states);
    return PM_OK;
}

/* The formula's own name, without the number of the trial. */
static void cut_number(struct pm_drydown *drydown)
{
    char *slash = strrchr(drydown->title, '/');
    if (drydown->number > 0 && slash != NULL)
        drydown->title =
            pm_arena_text_bytes(&drydown->arena, drydown->title, (size_t)(slash - drydown->title));
}

static enum pm_status answer_json(struct pm_cli *cli, struct pm_drydown *drydowns, size_t count,
                                  const struct points *points, struct pm_error *err)
{
    struct pm_json json;
    enum pm_status status = PM_OK;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    for (size_t d = 0; status == PM_OK && d < count; d++) {
        struct pm_text said = PM_TEXT_EMPTY;
        pm_drydown_say(&drydowns[d], '.', &said);
        pm_drydown_say_odd(&drydowns[d], pm_decimal_sign(), &said);
        cut_number(&drydowns[d]);
        if (d == 1)
            pm_json_put_open(&json, "beside", '{');
        status = pm_text_ok(&said) ? pm_arena_status(&drydowns[d].arena, err) : pm_fail_memory(err);
        if (status == PM_OK)
            status = put_drydown(&json, &drydowns[d], points, &said, err);
        if (d == 1)
            pm_json_close(&json, '}');
        pm_text_release(&said);
    }
    pm_json_close(&json, '}');
    return status;
}

/* ---- text and CSV ---- */

static const struct pm_listing_column csv_columns[] = {
    {.key = "formula", .kind = PM_LISTING_TEXT},
    {.key = "evaporated_percent", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "material", .kind = PM_LISTING_TEXT},
    {.key = "left_percent", .kind = PM_LISTING_NUMBER, .scale = 9},
    {.key = "low_percent", .kind = PM_LISTING_NUMBER, .scale = 9},
    {.key = "high_percent", .kind = PM_LISTING_NUMBER, .scale = 9},
    {.key = "share_percent", .kind = PM_LISTING_NUMBER, .scale = 9},
    {.key = "air_ug_m3", .kind = PM_LISTING_NUMBER, .scale = 6},
};

static void add_csv(struct pm_listing *table, const struct pm_drydown *drydown, double percent,
                    const struct pm_dry_state *states)
{
    for (size_t i = 0; i < drydown->count; i++) {
        pm_listing_text(table, drydown->title);
        pm_listing_number(table, llround(percent * 1e6));
        pm_listing_text(table, drydown->materials[i].name);
        pm_listing_number(table, llround(states[i].left * 1e11));
        pm_listing_number(table, llround(states[i].low * 1e11));
        pm_listing_number(table, llround(states[i].high * 1e11));
        pm_listing_number(table, llround(states[i].share * 1e11));
        pm_listing_number(table, llround(states[i].air * 1e12));
    }
}

static enum pm_status answer_csv(struct pm_cli *cli, const struct pm_drydown *drydowns,
                                 size_t count, const struct points *points, struct pm_error *err)
{
    struct pm_listing table;
    pm_listing_init(&table, PM_LISTING_COLUMNS(csv_columns));
    for (size_t d = 0; d < count; d++) {
        struct pm_dry_state *states = pm_alloc_array(drydowns[d].count, sizeof *states);
        double tau = 0;
        table.failed = table.failed || (drydowns[d].count > 0 && states == NULL);
        for (size_t p = 0; states != NULL && p < points->count; p++) {
            pm_drydown_at(&drydowns[d].mix, points->percent[p] / 100, true, &tau, states);
            add_csv(&table, &drydowns[d], points->percent[p], states);
        }
        pm_free(states);
    }
    return pm_listing_answer(&table, cli, "points", "", err);
}

static void add_left(struct pm_listing *table, const struct pm_dry_state *state, bool air)
{
    char left[PM_AMOUNT_TEXT], low[PM_AMOUNT_TEXT], high[PM_AMOUNT_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    percent_text(100 * (air ? state->share : state->left), left);
    percent_text(100 * state->low, low);
    percent_text(100 * state->high, high);
    pm_text_add(&text, left);
    if (!air && strcmp(low, high) != 0)
        pm_text_addf(&text, " (%s-%s)", low, high);
    pm_listing_made(table, &text);
    pm_text_release(&text);
}

static void add_time(const struct pm_drydown *drydown, const struct points *points,
                     struct pm_text *out)
{
    for (size_t p = 0; p < points->count; p++) {
        char span[PM_TIME_TEXT];
        const double seconds =
            pm_drydown_seconds(&drydown->mix, points->percent[p] / 100, drydown->clock.rate);
        pm_text_addf(out, "%s%s %% evaporated after %s", p > 0 ? ", " : "At ",
                     pm_rounded(points->percent[p], 4, pm_decimal_sign()).text,
                     !(seconds < 1e12) ? "ever"
                     : seconds < 0.5   ? "no time"
                                       : pm_span_about((int64_t)seconds, span));
    }
    pm_text_add(out, ".\n");
}

static enum pm_status answer_text(struct pm_cli *cli, const struct pm_drydown *drydown,
                                  const struct points *points, bool air, struct pm_error *err)
{
    struct pm_listing_column columns[4 + POINTS_MOST] = {
        {.title = "material", .kind = PM_LISTING_TEXT},
        {.title = "", .kind = PM_LISTING_TEXT},
        {.title = "Pa", .kind = PM_LISTING_TEXT},
        {.title = "band", .kind = PM_LISTING_TEXT},
    };
    char headings[POINTS_MOST][PM_ROUNDED_TEXT + 8];
    struct pm_listing table;
    struct pm_dry_state *states[POINTS_MOST];
    const char sign = pm_decimal_sign();
    double tau = 0;
    for (size_t p = 0; p < points->count; p++) {
        (void)snprintf(headings[p], sizeof headings[p], "at %s %%",
                       pm_rounded(points->percent[p], 4, sign).text);
        columns[4 + p] = (struct pm_listing_column){.title = headings[p], .kind = PM_LISTING_TEXT};
    }
    pm_listing_init(&table, columns, 4 + points->count);
    for (size_t p = 0; p < points->count; p++) {
        states[p] = pm_alloc_array(drydown->count, sizeof *states[p]);
        table.failed = table.failed || (drydown->count > 0 && states[p] == NULL);
        if (states[p] != NULL)
            pm_drydown_at(&drydown->mix, points->percent[p] / 100, true, &tau, states[p]);
    }
    for (size_t i = 0; !table.failed && i < drydown->count; i++) {
        const struct pm_dry_material *item = &drydown->materials[i];
        char number[2 * PM_PRESSURE_TEXT], low[PM_PRESSURE_TEXT], high[PM_PRESSURE_TEXT];
        pm_listing_text(&table, item->name);
        pm_listing_text(&table, pm_stage_word(item->stage));
        (void)snprintf(number, sizeof number, "%s%s", pm_pressure_format(item->pressure, sign, low),
                       item->predicted ? "?" : "");
        pm_listing_text(&table, number);
        (void)snprintf(number, sizeof number, "%s-%s", pm_pressure_format(item->low, sign, low),
                       pm_pressure_format(item->high, sign, high));
        pm_listing_text(&table, item->low < item->high ? number : "");
        for (size_t p = 0; p < points->count; p++)
            add_left(&table, &states[p][i], air);
    }
    enum pm_status status = pm_listing_answer(
        &table, cli, "materials", "Nothing in it has a vapour pressure; see what is missing.", err);
    for (size_t p = 0; p < points->count; p++)
        pm_free(states[p]);
    return status;
}

static enum pm_status answer_texts(struct pm_cli *cli, const struct pm_drydown *drydowns,
                                   size_t count, const struct points *points, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    const bool air = pm_cli_has(cli, "air");
    for (size_t d = 0; status == PM_OK && d < count; d++) {
        struct pm_text said = PM_TEXT_EMPTY;
        pm_text_addf(&cli->out, "%s%s: %s\n", d > 0 ? "\n" : "", drydowns[d].title,
                     air ? "shares of the air above it in percent, when so much has evaporated"
                         : "left of each material's own start in percent, when so much has "
                           "evaporated");
        status = answer_text(cli, &drydowns[d], points, air, err);
        if (drydowns[d].clock.rate > 0 && drydowns[d].count > 0)
            add_time(&drydowns[d], points, &said);
        pm_drydown_say(&drydowns[d], pm_decimal_sign(), &said);
        pm_drydown_say_odd(&drydowns[d], pm_decimal_sign(), &said);
        if (!pm_text_ok(&said))
            status = pm_fail_memory(err);
        pm_text_add_char(&cli->out, '\n');
        pm_cli_add_broken(&cli->out, pm_text_get(&said), cli->front->columns);
        pm_text_release(&said);
    }
    return status;
}

/* ---- pictures ---- */

static enum pm_status pick_materials(struct pm_cli *cli, const struct pm_drydown *drydowns,
                                     size_t count, int64_t *ids, size_t *picked,
                                     struct pm_error *err)
{
    size_t at = 0, place;
    const char *name;
    *picked = 0;
    while ((name = pm_cli_next_value(cli, "material", &at)) != NULL) {
        if (*picked == PM_PLOT_SERIES_MAX)
            return pm_fail(err, PM_REFUSED, "At most %d curves can be told apart.",
                           PM_PLOT_SERIES_MAX);
        const enum pm_status status = pm_drydown_find(&drydowns[0], name, &place, err);
        if (status != PM_OK)
            return status;
        ids[(*picked)++] = drydowns[0].materials[place].material;
    }
    if (*picked == 0)
        *picked = pm_drydown_choose(&drydowns[0], count == 2 ? 3 : 6, ids);
    return PM_OK;
}

static enum pm_status answer_picture(struct pm_cli *cli, const struct pm_drydown *drydowns,
                                     size_t count, struct pm_error *err)
{
    int64_t ids[PM_PLOT_SERIES_MAX];
    struct pm_dry_picture picture = {
        .drydowns = drydowns,
        .count = count,
        .view = pm_cli_has(cli, "air") ? PM_DRY_AIR : PM_DRY_LEFT,
        .materials = ids,
        .by_time = pm_cli_has(cli, "by-time"),
        .fine = true,
        .width = cli->front->columns > PLOT_WIDTH ? cli->front->columns - 1 : PLOT_WIDTH,
        .height = PLOT_HEIGHT,
        .sign = pm_decimal_sign(),
    };
    struct pm_plot plot;
    struct pm_text words = PM_TEXT_EMPTY;
    enum pm_status status = pick_materials(cli, drydowns, count, ids, &picture.material_count, err);
    if (status == PM_OK && pm_cli_has(cli, "html"))
        return pm_drydown_html(&picture, &cli->out, err);
    if (picture.width > 160)
        picture.width = 160;
    if (status == PM_OK)
        status = pm_drydown_plot(&picture, &plot, &words, err);
    if (status != PM_OK) {
        pm_text_release(&words);
        return status;
    }
    pm_cli_add_drawing(cli, plot.rows, plot.count);
    pm_plot_release(&plot);
    pm_text_add_char(&cli->out, '\n');
    for (size_t d = 0; d < count; d++) {
        pm_drydown_say(&drydowns[d], pm_decimal_sign(), &words);
        pm_drydown_say_odd(&drydowns[d], pm_decimal_sign(), &words);
    }
    if (!pm_text_ok(&words))
        status = pm_fail_memory(err);
    pm_cli_add_broken(&cli->out, pm_text_get(&words), cli->front->columns);
    pm_text_release(&words);
    return status;
}

/* ---- the command ---- */

static enum pm_status answer(struct pm_cli *cli, struct pm_drydown *drydowns, size_t count,
                             const struct points *points, struct pm_error *err)
{
    if (cli->form == PM_CLI_JSON)
        return answer_json(cli, drydowns, count, points, err);
    if (cli->form == PM_CLI_CSV)
        return answer_csv(cli, drydowns, count, points, err);
    if (pm_cli_has(cli, "plot") || pm_cli_has(cli, "html"))
        return answer_picture(cli, drydowns, count, err);
    return answer_texts(cli, drydowns, count, points, err);
}

static enum pm_status run_drydown(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_dry_options options;
    struct pm_drydown drydowns[2] = {{.formula = 0}};
    struct points points;
    size_t count = 0;
    enum pm_status status = read_options(cli, &options, &points, err);
    while (status == PM_OK && count < cli->operand_count) {
        struct pm_cli_named named;
        status = pm_cli_name(cli, count, &named, err);
        if (status == PM_OK)
            status = pm_drydown_open(cli->studio, named.trial, &options, &drydowns[count], err);
        count += status == PM_OK;
    }
    if (status == PM_OK)
        status = answer(cli, drydowns, count, &points, err);
    for (size_t d = 0; d < count; d++)
        pm_drydown_release(&drydowns[d]);
    return status;
}

static enum pm_status run_clock(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_json json;
    char *sentence = NULL;
    int64_t note;
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_decimal_read(cli->operands[0], 0, "The note", &note, err);
    if (status == PM_OK)
        status = pm_drydown_calibrate(cli->studio, note, cli->operands[1],
                                      pm_cli_value(cli, "remaining"), &sentence, err);
    if (status == PM_OK && pm_cli_tell_begin(cli, sentence, &json))
        pm_json_close(&json, '}');
    pm_free(sentence);
    return status;
}

static const struct pm_cli_option clock_options[] = {
    {.name = "remaining",
     .value = "SHARE",
     .help = "what of its start counts as gone; 10% without it"},
    {.name = NULL},
};

static const struct pm_cli_option drydown_options[] = {
    {.name = "evaporated",
     .value = "LIST",
     .help = "percent evaporated of the modelled amount, by mole; 0,10,25,50,75,90 without it"},
    {.name = "without-alcohol", .help = "leave ethanol out"},
    {.name = "assume", .value = "G/MOL", .help = "molar mass of materials that have none"},
    {.name = "air", .help = "shares of the air instead of what is left"},
    {.name = "plot", .help = "draw it"},
    {.name = "html", .help = "draw it as a page of HTML"},
    {.name = "by-time", .help = "draw it against time, where a smell note set the clock"},
    {.name = "material", .value = "NAME", .help = "draw this material", .many = true},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND(
        "drydown", "F[/N] [F/M]", 1, 2, PM_CLI_TABLE, "what leaves a formula first, and what stays",
        .more =
            "By vapour pressure and molar mass, against the fraction evaporated; bands run from "
            "the low to the high end of each material's own vapour pressure. What has no figure "
            "is listed and left out. No times without a smell note that says when something was "
            "gone. Odour values compare one material with itself, never two materials.",
        .options = drydown_options, .run = run_drydown),
    PM_CLI_COMMAND(
        "drydown clock", "NOTE MATERIAL", 2, 2, PM_CLI_JSON,
        "say that a material was gone by a smell note: drydowns then have times", .changes = true,
        .more = "NOTE is its number in 'smells'. The times hold for the same amount, surface and "
                "air only.",
        .options = clock_options, .run = run_clock),
};

const struct pm_cli_topic pm_cli_topic_drydown = {
    .title = "Drydown",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
