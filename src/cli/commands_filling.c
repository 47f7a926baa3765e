/* SPDX-License-Identifier: MIT */
/* Commands of the scale: a concentrate into ethanol, water and bottles. */
#include "listing.h"
#include "scale.h"

#include "permille/base/amount.h"

#include <string.h>

static enum pm_status read_filling(struct pm_cli *cli, struct pm_arena *arena,
                                   struct pm_filling_wish *wish, struct pm_filling *made,
                                   struct pm_error *err)
{
    const char *values[PM_FILLING_ATTRIBUTES];
    pm_cli_entity_values(cli, values);
    values[PM_FILLING_CONCENTRATE] = cli->operands[0];
    values[PM_FILLING_DOSAGE] = cli->operands[1];
    return pm_filling_read(values, arena, wish, made, err);
}

static void filling_as_json(struct pm_cli *cli, const struct pm_filling *made, int64_t id)
{
    struct pm_json json;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    if (id != 0)
        pm_json_put_int(&json, "filling", id);
    pm_json_put_decimal(&json, "concentrate_g", made->concentrate, 6);
    pm_json_put_decimal(&json, "ethanol_g", made->ethanol, 6);
    pm_json_put_decimal(&json, "water_g", made->water, 6);
    pm_json_put_decimal(&json, "other_g", made->other, 6);
    pm_json_put_decimal(&json, "total_g", made->total, 6);
    pm_json_put_known(&json, "total_ml", made->total_ul, 3);
    pm_json_put_decimal(&json, "mixture_ml", made->mix_ul, 3);
    pm_json_put_decimal(&json, "contraction_ml", made->contraction_ul, 3);
    pm_json_put_decimal(&json, "mixture_percent_vol", made->mixed, 7);
    pm_json_put_known(&json, "ethanol_percent_vol", made->by_volume, 7);
    pm_json_put_decimal(&json, "ethanol_percent_mass", made->by_mass, 7);
    pm_json_put_known(&json, "bottles", made->bottles, 0);
    pm_json_put_known(&json, "rest_ml", made->rest_ul, 3);
    pm_json_put_string(&json, "caution", pm_fill_caution);
    pm_json_close(&json, '}');
}

static void add_amount(struct pm_cli *cli, const char *name, pm_mass mass)
{
    char text[PM_AMOUNT_TEXT];
    if (mass > 0)
        pm_cli_add_field(cli, name, pm_mass_format(mass, 2, pm_decimal_sign(), text));
}

static void filling_as_text(struct pm_cli *cli, const struct pm_filling *made)
{
    const char sign = pm_decimal_sign();
    char text[120], number[PM_AMOUNT_TEXT];
    add_amount(cli, "concentrate", made->concentrate);
    add_amount(cli, "ethanol", made->ethanol);
    add_amount(cli, "water", made->water);
    add_amount(cli, "other", made->other);
    add_amount(cli, "all", made->total);
    pm_print(text, sizeof text, "%s %% vol, ethanol and water alone",
             pm_decimal_format(made->mixed, 7, 2, sign, number));
    pm_cli_add_field(cli, "strength", text);
    if (made->total_ul >= 0) {
        pm_print(text, sizeof text, "%s ml at 20 °C",
                 pm_decimal_format(made->total_ul, 3, 1, sign, number));
        pm_cli_add_field(cli, "volume", text);
        pm_print(text, sizeof text, "%s %% vol",
                 pm_decimal_format(made->by_volume, 7, 2, sign, number));
        pm_cli_add_field(cli, "product", text);
    } else {
        pm_cli_add_field(cli, "volume", "unknown; say the concentrate's --density");
    }
    if (made->bottles >= 0) {
        pm_print(text, sizeof text, "%lld, and %s ml over", (long long)made->bottles,
                 pm_decimal_format(made->rest_ul, 3, 1, sign, number));
        pm_cli_add_field(cli, "bottles", text);
    }
    pm_cli_say(cli, "%s", pm_fill_caution);
}

static enum pm_status keep_filling(struct pm_cli *cli, const struct pm_filling_wish *wish,
                                   const struct pm_filling *made, int64_t *id, struct pm_error *err)
{
    const char *of = pm_cli_value(cli, "of-batch");
    int64_t batch = 0;
    enum pm_status status =
        of != NULL ? pm_decimal_read(of, 0, "The batch's number", &batch, err) : PM_OK;
    if (status == PM_OK)
        status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_filling_keep(cli->studio, wish, made, batch, id, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Filling %lld is on record.", (long long)*id);
    return status;
}

static enum pm_status work_out_filling(struct pm_cli *cli, bool keep, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_filling_wish wish;
    struct pm_filling made;
    int64_t id = 0;
    enum pm_status status = read_filling(cli, &arena, &wish, &made, err);
    if (status == PM_OK && keep)
        status = keep_filling(cli, &wish, &made, &id, err);
    pm_arena_release(&arena);
    if (status == PM_OK && cli->form == PM_CLI_JSON)
        filling_as_json(cli, &made, id);
    else if (status == PM_OK)
        filling_as_text(cli, &made);
    return status;
}

static enum pm_status run_fill(struct pm_cli *cli, struct pm_error *err)
{
    return work_out_filling(cli, false, err);
}

static enum pm_status run_fill_note(struct pm_cli *cli, struct pm_error *err)
{
    return work_out_filling(cli, true, err);
}

static const struct pm_listing_column filling_columns[] = {
    {.key = "filling", .title = "filling", .kind = PM_LISTING_NUMBER},
    {.key = "batch", .title = "batch", .kind = PM_LISTING_NUMBER},
    {.key = "trial", .title = "of", .kind = PM_LISTING_TEXT},
    {.key = "concentrate_g",
     .title = "concentrate g",
     .kind = PM_LISTING_NUMBER,
     .scale = 6,
     .least = 2},
    {.key = "ethanol_g", .title = "ethanol g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "water_g", .title = "water g", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2},
    {.key = "filter_on", .title = "filter on", .kind = PM_LISTING_TEXT},
    {.key = "ready_on", .title = "ready on", .kind = PM_LISTING_TEXT},
    {.key = "at", .title = "filled", .kind = PM_LISTING_TIME},
    {.key = "note", .title = "note", .kind = PM_LISTING_TEXT},
    {.key = "filtered_at", .title = "filtered", .kind = PM_LISTING_TIME},
    {.key = "matured_at", .title = "matured", .kind = PM_LISTING_TIME},
};

static void add_time(struct pm_listing *table, int64_t time)
{
    if (time != 0)
        pm_listing_time(table, time);
    else
        pm_listing_null(table);
}

static enum pm_status run_fill_list(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_filling_rows rows;
    struct pm_listing table;
    char day[PM_TIME_TEXT];
    enum pm_status status = pm_cli_open(cli, false, err);
    if (status == PM_OK)
        status = pm_fillings(cli->studio, &rows, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(filling_columns));
    for (size_t i = 0; i < rows.count; i++) {
        const struct pm_filling_row *row = &rows.items[i];
        pm_listing_number(&table, row->id);
        pm_listing_number_if(&table, row->batch != 0, row->batch);
        pm_listing_text(&table, row->title);
        pm_listing_number(&table, row->concentrate);
        pm_listing_number(&table, row->ethanol);
        pm_listing_number(&table, row->water);
        pm_listing_text(&table,
                        row->filter_on != PM_NO_DAY ? pm_day_format(row->filter_on, day) : NULL);
        pm_listing_text(&table,
                        row->ready_on != PM_NO_DAY ? pm_day_format(row->ready_on, day) : NULL);
        pm_listing_time(&table, row->at);
        pm_listing_text(&table, row->note);
        add_time(&table, row->filtered_at);
        add_time(&table, row->matured_at);
    }
    pm_list_release(&rows);
    return pm_listing_answer(&table, cli, "fillings", "Nothing was filled.", err);
}

/* ---- what is done ---- */

static enum pm_status find_filling(struct pm_cli *cli, int64_t *id, struct pm_error *err)
{
    enum pm_status status = pm_decimal_read(cli->operands[0], 0, "The filling's number", id, err);
    return status == PM_OK ? pm_cli_open(cli, false, err) : status;
}

static enum pm_status run_done(struct pm_cli *cli, struct pm_error *err)
{
    struct pm_filling_event event = {.day = PM_NO_DAY, .note = pm_cli_value(cli, "note")};
    if (!pm_filling_event_from_word(cli->operands[1], &event.kind) ||
        event.kind >= PM_FILLING_FILTER_ON)
        return pm_cli_usage(cli, err, "Say what was done: filtered, or matured.");
    enum pm_status status = find_filling(cli, &event.filling, err);
    if (status == PM_OK)
        status = pm_filling_happen(cli->studio, &event, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Filling %lld: %s.", (long long)event.filling,
                   pm_filling_event_word(event.kind));
    return status;
}

/* "none" takes the day away. */
static enum pm_status remind(struct pm_cli *cli, int64_t id, const char *option,
                             enum pm_filling_event_kind kind, struct pm_error *err)
{
    const char *text = pm_cli_value(cli, option);
    struct pm_filling_event event = {
        .filling = id, .kind = kind, .day = PM_NO_DAY, .note = pm_cli_value(cli, "note")};
    enum pm_status status = PM_OK;
    if (text == NULL)
        return PM_OK;
    if (strcmp(text, "none") != 0)
        status = pm_day_read(text, &event.day, err);
    if (status == PM_OK)
        status = pm_filling_happen(cli->studio, &event, err);
    if (status == PM_OK)
        pm_cli_say(cli, "Filling %lld: %s %s.", (long long)id, pm_filling_event_word(kind), text);
    return status;
}

static enum pm_status run_remind(struct pm_cli *cli, struct pm_error *err)
{
    int64_t id;
    if (pm_cli_value(cli, "filter-on") == NULL && pm_cli_value(cli, "ready-on") == NULL)
        return pm_cli_usage(cli, err, "Say --filter-on or --ready-on, a day or none.");
    enum pm_status status = find_filling(cli, &id, err);
    if (status == PM_OK)
        status = remind(cli, id, "filter-on", PM_FILLING_FILTER_ON, err);
    return status == PM_OK ? remind(cli, id, "ready-on", PM_FILLING_READY_ON, err) : status;
}

/* ---- the table ---- */

static const struct pm_cli_option done_options[] = {
    {.name = "note", .value = "TEXT", .help = "anything worth knowing"},
    {.name = NULL},
};
static const struct pm_cli_option remind_options[] = {
    {.name = "filter-on", .value = "DATE", .help = "when it is to be filtered; none: not any more"},
    {.name = "ready-on", .value = "DATE", .help = "until when it matures; none: not any more"},
    {.name = "note", .value = "TEXT", .help = "why"},
    {.name = NULL},
};

static const struct pm_cli_option keep_options[] = {
    {.name = "of-batch", .value = "N", .help = "the batch whose concentrate it is"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND("fill", "MASS DOSAGE", 2, 2, PM_CLI_JSON,
                   "a concentrate into ethanol and water, and into bottles",
                   .entity = &pm_filling_entity,
                   .without = "concentrate|dosage|filter_on|ready_on|note", .run = run_fill),
    PM_CLI_COMMAND("filling add", "MASS DOSAGE", 2, 2, PM_CLI_JSON,
                   "the same, put on record with days for filtering and maturing",
                   .options = keep_options, .entity = &pm_filling_entity,
                   .without = "concentrate|dosage", .run = run_fill_note, .changes = true),
    PM_CLI_COMMAND("filling done", "N filtered|matured", 2, 2, PM_CLI_TEXT,
                   "a filling was filtered, or has matured: its reminder ends",
                   .options = done_options, .run = run_done, .changes = true),
    PM_CLI_COMMAND("filling remind", "N", 1, 1, PM_CLI_TEXT,
                   "other days for filtering and maturing", .options = remind_options,
                   .run = run_remind, .changes = true),
    PM_CLI_COMMAND("filling list", "", 0, 0, PM_CLI_TABLE, "what was filled, the newest first",
                   .run = run_fill_list),
};

const struct pm_cli_topic pm_cli_topic_filling = {
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
