/* SPDX-License-Identifier: MIT */
/* A sheet as the answer: text, CSV and JSON (sheet.h). */
#include "sheet.h"
#include "listing.h"

#include "permille/core/column.h"
#include "permille/studio/settings.h"
#include "permille/studio/trials.h"

#include <stdio.h>

static void put_number(struct pm_json *json, const char *key, int64_t number)
{
    pm_json_key(json, key);
    if (number > 0)
        pm_json_int(json, number);
    else
        pm_json_null(json);
}

static void put_head(struct pm_json *json, const struct pm_sheet *sheet)
{
    char time[PM_TIME_TEXT];

    pm_json_put_string(json, "formula", sheet->name);
    put_number(json, "trial", sheet->number);
    pm_json_put_decimal(json, "base_parts", sheet->trial.base, 6);
    pm_json_put_decimal(json, "total_parts", sheet->total, 6);
    pm_json_put_string(json, "mode", pm_mode_word(sheet->trial.mode));
    pm_json_put_bool(json, "settled", sheet->trial.settled);
    pm_json_put_decimal(json, "off_parts", sheet->off, 6);
    pm_json_put_decimal(json, "held_parts", sheet->held, 6);
    pm_json_put_decimal(json, "solvent_percent", sheet->solvent_share, 10);
    pm_json_put_decimal(json, "overall_strength_percent", sheet->strength, 10);
    pm_json_put_bool(json, "accord", sheet->accord);
    put_number(json, "parent", sheet->parent_number);
    pm_json_put_string(json, "kept_at",
                       sheet->kept_at > 0 ? pm_time_iso(sheet->kept_at, time) : NULL);
    pm_json_put_string(json, "note", sheet->note);
    pm_json_put_string(json, "label", sheet->label);
}

/* ---- text above the table ---- */

static void add_parts(struct pm_text *out, const char *before, pm_parts parts, const char *after)
{
    char buf[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s%s%s", before, pm_decimal_exact(parts, 6, pm_decimal_sign(), buf), after);
}

static void add_percent(struct pm_text *out, const char *before, int64_t share)
{
    char buf[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s%s", before, pm_share_format(share, pm_decimal_sign(), buf));
}

static void add_title(struct pm_text *out, const struct pm_sheet *sheet)
{
    char time[PM_TIME_TEXT];

    pm_cli_add_shown(out, sheet->name);
    if (sheet->number > 0)
        pm_text_addf(out, "/%lld, kept %s", (long long)sheet->number,
                     pm_time_format(sheet->kept_at, time));
    else
        pm_text_add(out, sheet->read_only ? ", as it was" : ", draft");
    if (sheet->parent_number > 0)
        pm_text_addf(out, ", from %lld", (long long)sheet->parent_number);
    if (sheet->label != NULL) {
        pm_text_add(out, ": ");
        pm_cli_add_shown(out, sheet->label);
    }
    pm_text_add_char(out, '\n');
    if (sheet->note != NULL) {
        pm_cli_add_shown(out, sheet->note);
        pm_text_add_char(out, '\n');
    }
}

static void add_heading(struct pm_text *out, const struct pm_sheet *sheet)
{
    add_title(out, sheet);
    add_parts(out, "base ", sheet->trial.base, "");
    add_parts(out, ", total ", sheet->total, "");
    if (sheet->off < 0)
        add_parts(out, ", ", -sheet->off, " missing");
    else if (sheet->off > 0)
        add_parts(out, ", ", sheet->off, " over");
    pm_text_addf(out, ", mode %s", pm_mode_word(sheet->trial.mode));
    if (sheet->total > 0) {
        add_percent(out, ", solvent ", sheet->solvent_share);
        add_percent(out, ", strength ", sheet->strength);
    }
    pm_text_add(out, "\n\n");
}

/* ---- the lines ---- */

static const struct pm_listing_column line_columns[] = {
    {.key = "line", .title = "#", .kind = PM_LISTING_NUMBER},
    {.key = "material", .kind = PM_LISTING_TEXT},
    {.key = "accord", .kind = PM_LISTING_TEXT},
    {.title = "line", .kind = PM_LISTING_TEXT},
    {.key = "parts",
     .title = "parts",
     .kind = PM_LISTING_NUMBER,
     .scale = 6,
     .least = 2,
     .parts = true,
     .adds_up = true},
    {.key = "strength_percent", .kind = PM_LISTING_NUMBER, .scale = 7},
    {.title = "strength", .kind = PM_LISTING_TEXT},
    {.key = "solvent", .kind = PM_LISTING_TEXT},
    {.title = "in", .kind = PM_LISTING_TEXT},
    {.key = "neat_parts", .kind = PM_LISTING_NUMBER, .scale = 12},
    {.title = "neat",
     .kind = PM_LISTING_NUMBER,
     .scale = 12,
     .least = 2,
     .parts = true}, /* of dilutions */
    {.key = "percent",
     .title = "%",
     .kind = PM_LISTING_NUMBER,
     .scale = 10,
     .least = 2,
     .adds_up = true},
    {.key = "stance", .kind = PM_LISTING_TEXT},
    {.title = "stance", .kind = PM_LISTING_TEXT}, /* with what a resting line had */
    {.key = "resting_parts", .kind = PM_LISTING_NUMBER, .scale = 6},
    {.key = "resting_as", .kind = PM_LISTING_TEXT},
    {.key = "core", .kind = PM_LISTING_TEXT},
    {.key = "weight", .kind = PM_LISTING_NUMBER},
    {.title = "core", .kind = PM_LISTING_TEXT},
    {.key = "accord_trial", .kind = PM_LISTING_NUMBER},
    {.key = "accord_newest", .kind = PM_LISTING_NUMBER},
    {.key = "cas", .kind = PM_LISTING_TEXT},
    {.key = "family", .kind = PM_LISTING_TEXT},
    {.key = "comment", .kind = PM_LISTING_TEXT},
    {.title = "comment", .kind = PM_LISTING_TEXT},
};

static void add_core(struct pm_listing *table, const struct pm_line *line)
{
    char letter[4], both[PM_AMOUNT_TEXT];

    if (line->core == 0) {
        pm_listing_null(table);
        pm_listing_null(table);
        pm_listing_text(table, "");
        return;
    }
    pm_core_letter(line->core, letter);
    snprintf(both, sizeof both, "%s %lld", letter, (long long)line->weight);
    pm_listing_text(table, letter);
    pm_listing_number(table, line->weight);
    pm_listing_text(table, both);
}

static void add_accord(struct pm_listing *table, const struct pm_sheet_line *line)
{
    if (line->line->kind == PM_LINE_ACCORD) {
        pm_listing_number(table, line->accord_number);
        pm_listing_number(table, line->accord_newest);
    } else {
        pm_listing_null(table);
        pm_listing_null(table);
    }
}

static void add_stance(struct pm_listing *table, const struct pm_line *line)
{
    char both[PM_AMOUNT_TEXT * 2], parts[PM_AMOUNT_TEXT];
    if (line->stance == PM_RESTING)
        snprintf(both, sizeof both, "%s (%s)", pm_stance_word(line->stance),
                 pm_decimal_exact(line->rested, 6, pm_decimal_sign(), parts));
    pm_listing_text(table, line->stance == PM_RESTING ? both : pm_stance_word(line->stance));
}

static void add_line(struct pm_listing *table, const struct pm_sheet *sheet, size_t place)
{
    const struct pm_sheet_line *shown = &sheet->lines[place];
    const struct pm_line *line = shown->line;
    const bool accord = line->kind == PM_LINE_ACCORD;
    char strength[PM_AMOUNT_TEXT];

    pm_listing_number(table, (int64_t)place + 1);
    pm_listing_text(table, accord ? NULL : shown->name);
    pm_listing_text(table, accord ? shown->title : NULL);
    pm_listing_text(table, shown->title);
    pm_listing_number(table, line->parts);
    pm_listing_number(table, line->strength);
    pm_listing_text(table, pm_strength_format(line->strength, pm_decimal_sign(), strength));
    pm_listing_text(table, shown->solvent);
    pm_listing_text(table, shown->solvent != NULL ? shown->solvent : "");
    pm_listing_number(table, pm_line_neat_fine(line));
    /* Of what is neat the parts say it; rounded on its own it could differ in the last digit. */
    pm_listing_number_if(table, line->solvent != 0, pm_line_neat_fine(line));
    pm_listing_number(table, shown->share);
    pm_listing_text(table, pm_stance_word(line->stance));
    add_stance(table, line);
    pm_listing_number_if(table, line->stance == PM_RESTING, line->rested);
    pm_listing_text(table, line->stance == PM_RESTING ? pm_stance_word(line->rested_as) : NULL);
    add_core(table, line);
    add_accord(table, shown);
    pm_listing_text(table, shown->cas);
    pm_listing_text(table, shown->family);
    pm_listing_text(table, line->comment);
    pm_listing_text(table, line->comment != NULL ? line->comment : "");
}

/* The table below what is to be said about the sheet as a whole; key is the table's in JSON. */
static enum pm_status answer_table(struct pm_cli *cli, const struct pm_sheet *sheet,
                                   const struct pm_listing *table, const char *key,
                                   struct pm_error *err)
{
    struct pm_json json;

    if (cli->form == PM_CLI_CSV)
        return pm_listing_as_csv(table, &cli->out, err);
    if (cli->form == PM_CLI_TEXT) {
        add_heading(&cli->out, sheet);
        return pm_listing_show(table, cli, err);
    }
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    put_head(&json, sheet);
    pm_json_key(&json, key);
    const enum pm_status status = pm_listing_as_json(table, &json, err);
    pm_json_close(&json, '}');
    return status;
}

/* A newer trial of an accord is pointed out, never silently used. */
static void say_newer(struct pm_cli *cli, const struct pm_sheet *sheet)
{
    for (size_t i = 0; i < sheet->trial.count; i++) {
        const struct pm_sheet_line *line = &sheet->lines[i];
        if (line->accord_newest > line->accord_number)
            pm_cli_say(cli, "Line %zu uses %s; %s/%lld is newer.", i + 1, line->title, line->name,
                       (long long)line->accord_newest);
    }
}

enum pm_status pm_cli_show_sheet(struct pm_cli *cli, const struct pm_sheet *sheet,
                                 struct pm_error *err)
{
    struct pm_listing table;
    size_t columns = sizeof line_columns / sizeof line_columns[0];

    struct pm_settings settings;
    enum pm_status status = pm_settings_now(cli->studio, &settings, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, line_columns, columns);
    pm_listing_parts(&table, settings.decimals);
    table.sums = "total";
    for (size_t i = 0; i < sheet->trial.count; i++)
        add_line(&table, sheet, i);
    status = answer_table(cli, sheet, &table, "lines", err);
    pm_listing_release(&table);
    if (status == PM_OK)
        say_newer(cli, sheet);
    return status;
}

/* ---- the flat view ---- */

static const struct pm_listing_column flat_columns[] = {
    {.key = "material", .title = "material", .kind = PM_LISTING_TEXT},
    {.key = "neat_parts",
     .title = "neat",
     .kind = PM_LISTING_NUMBER,
     .scale = 12,
     .least = 2,
     .parts = true,
     .adds_up = true},
    {.key = "as_solvent_parts",
     .title = "as solvent",
     .kind = PM_LISTING_NUMBER,
     .scale = 12,
     .least = 2,
     .parts = true,
     .adds_up = true,
     .with_last = true},
    {.key = "percent",
     .title = "%",
     .kind = PM_LISTING_NUMBER,
     .scale = 10,
     .least = 2,
     .adds_up = true},
    {.key = "cas", .kind = PM_LISTING_TEXT},
    {.title = "CAS", .kind = PM_LISTING_TEXT},
    {.key = "is_solvent", .kind = PM_LISTING_BOOL},
    {.key = "resting", .kind = PM_LISTING_BOOL},
    {.title = "", .kind = PM_LISTING_TEXT},
};

enum pm_status pm_cli_show_flat(struct pm_cli *cli, const struct pm_sheet *sheet,
                                struct pm_error *err)
{
    struct pm_flat_sheet flat;
    struct pm_listing table;

    struct pm_settings settings;
    enum pm_status status = pm_settings_now(cli->studio, &settings, err);
    if (status == PM_OK)
        status = pm_sheet_flatten(cli->studio, sheet, &flat, err);
    if (status != PM_OK)
        return status;
    pm_listing_init(&table, PM_LISTING_COLUMNS(flat_columns));
    pm_listing_parts(&table, settings.decimals);
    table.sums = "total";
    for (size_t i = 0; i < flat.count; i++) {
        const struct pm_flat_line *line = &flat.lines[i];
        pm_listing_text(&table, line->name);
        pm_listing_number(&table, line->neat);
        pm_listing_number(&table, line->as_solvent);
        pm_listing_number(&table, line->share);
        pm_listing_text(&table, line->cas);
        pm_listing_text(&table, line->cas != NULL ? line->cas : "");
        pm_listing_bool(&table, line->is_solvent);
        pm_listing_bool(&table, line->resting);
        pm_listing_text(&table, line->resting ? pm_stance_word(PM_RESTING) : "");
    }
    status = answer_table(cli, sheet, &table, "materials", err);
    pm_listing_release(&table);
    pm_flat_sheet_release(&flat);
    return status;
}
