/* SPDX-License-Identifier: MIT */
/* Commands that bring something in and take something out. */
#include "another.h"
#include "bench.h"
#include "cli.h"
#include "export.h"
#include "listing.h"
#include "shelf.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/studio/bench.h"
#include "permille/studio/bringing.h"
#include "permille/studio/paper.h"
#include "permille/studio/shelf.h"
#include "permille/studio/whole.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#define FILE_MOST (256u << 20)

enum pm_status pm_cli_read_file(const char *path, struct pm_text *out, struct pm_error *err)
{
    char block[65536];
    size_t got;
    FILE *file = strcmp(path, "-") == 0 ? stdin : fopen(path, "rb");
    if (file == NULL)
        return pm_fail(err, PM_IO, "%s cannot be read: %s.", path, strerror(errno));
    while ((got = fread(block, 1, sizeof block, file)) > 0 && out->length < FILE_MOST)
        pm_text_add_bytes(out, block, got);
    const bool broken = ferror(file) != 0, large = out->length >= FILE_MOST;
    const int why = errno;
    if (file != stdin)
        fclose(file);
    if (broken || large)
        return pm_fail(err, PM_IO, "%s cannot be read: %s.", path,
                       broken ? strerror(why) : "it is too large");
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

/* ---- formulas as they were understood ---- */

static void put_name(struct pm_json *json, const char *key, const char *name)
{
    pm_json_put_string(json, key, name);
}

static void put_line(struct pm_json *json, const struct pm_brought_line *line)
{
    const bool neat = line->strength == PM_NEAT;
    pm_json_open(json, '{');
    pm_json_put_int(json, "at", (int64_t)line->at);
    pm_json_put_string(json, "text", line->text);
    put_name(json, "material", line->accord == 0 ? line->matched : NULL);
    put_name(json, "accord", line->accord != 0 ? line->matched : NULL);
    pm_json_put_string(json, "match", pm_match_word(line->match));
    pm_json_put_decimal(json, "parts", line->parts, 6);
    pm_json_put_decimal(json, "strength_percent", line->strength, 7);
    put_name(json, "solvent", neat ? NULL : line->solvent_matched);
    pm_json_put_string(json, "comment", line->comment);
    pm_json_put_string(json, "doubt", line->doubt);
    pm_json_put_bool(json, "left_out", line->left_out);
    pm_json_close(json, '}');
}

static void put_formula(struct pm_json *json, const struct pm_bringing *bringing,
                        const struct pm_brought_formula *formula)
{
    pm_json_open(json, '{');
    pm_json_put_string(json, "formula", formula->name);
    pm_json_put_decimal(json, "base_parts", formula->base, 6);
    pm_json_put_decimal(json, "total_parts", formula->total, 6);
    pm_json_put_string(json, "remark", formula->remark);
    pm_json_put_open(json, "lines", '[');
    for (size_t i = formula->first; i < formula->first + formula->count; i++)
        put_line(json, &bringing->lines[i]);
    pm_json_close(json, ']');
    pm_json_close(json, '}');
}

static void put_bringing(struct pm_cli *cli, const struct pm_bringing *bringing, bool written)
{
    struct pm_json json;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_bool(&json, "written", written);
    pm_json_put_string(&json, "read_as", bringing->source);
    pm_json_put_int(&json, "doubts", (int64_t)bringing->doubts);
    pm_json_put_open(&json, "formulas", '[');
    for (size_t f = 0; f < bringing->formula_count; f++)
        put_formula(&json, bringing, &bringing->formulas[f]);
    pm_json_close(&json, ']');
    pm_json_close(&json, '}');
}

static const struct pm_listing_column line_columns[] = {
    {.title = "line", .kind = PM_LISTING_NUMBER},
    {.title = "becomes", .kind = PM_LISTING_TEXT},
    {.title = "match", .kind = PM_LISTING_TEXT},
    {.title = "parts", .kind = PM_LISTING_NUMBER, .scale = 6, .least = 2, .adds_up = true},
    {.title = "strength", .kind = PM_LISTING_TEXT},
    {.title = "in", .kind = PM_LISTING_TEXT},
    {.title = "doubt", .kind = PM_LISTING_TEXT},
};

static void add_row(struct pm_listing *table, const struct pm_brought_line *line)
{
    char strength[PM_AMOUNT_TEXT];
    const bool neat = line->strength == PM_NEAT;
    pm_listing_number(table, (int64_t)line->at);
    pm_listing_text(table, line->left_out ? "left out" : line->matched);
    pm_listing_text(table, line->left_out ? NULL : pm_match_word(line->match));
    pm_listing_number(table, line->parts);
    pm_listing_text(table,
                    neat ? NULL : pm_strength_format(line->strength, pm_decimal_sign(), strength));
    pm_listing_text(table, neat ? NULL : line->solvent_matched);
    pm_listing_text(table, line->doubt);
}

static enum pm_status show_formula(struct pm_cli *cli, const struct pm_bringing *bringing,
                                   const struct pm_brought_formula *formula, struct pm_error *err)
{
    struct pm_listing table;
    char base[PM_AMOUNT_TEXT];
    pm_cli_add_shown(&cli->out, formula->name);
    pm_text_addf(&cli->out, ", base %s",
                 pm_decimal_exact(formula->base, 6, pm_decimal_sign(), base));
    if (formula->remark != NULL) {
        pm_text_add(&cli->out, ": ");
        pm_cli_add_shown(&cli->out, formula->remark);
    }
    pm_text_add(&cli->out, "\n\n");
    pm_listing_init(&table, PM_LISTING_COLUMNS(line_columns));
    table.sums = "total";
    for (size_t i = formula->first; i < formula->first + formula->count; i++)
        add_row(&table, &bringing->lines[i]);
    const enum pm_status status = pm_listing_show(&table, cli, err);
    pm_listing_release(&table);
    return status;
}

static enum pm_status show_bringing(struct pm_cli *cli, const struct pm_bringing *bringing,
                                    bool written, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (cli->form == PM_CLI_JSON) {
        put_bringing(cli, bringing, written);
        return PM_OK;
    }
    for (size_t f = 0; status == PM_OK && !written && f < bringing->formula_count; f++) {
        if (f > 0)
            pm_text_add_char(&cli->out, '\n');
        status = show_formula(cli, bringing, &bringing->formulas[f], err);
    }
    return status;
}

static void say_bringing(struct pm_cli *cli, const struct pm_bringing *bringing, bool written)
{
    size_t out = 0;
    for (size_t i = 0; i < bringing->line_count; i++)
        out += bringing->lines[i].left_out;
    pm_cli_say(cli, "Read as %s: %zu formula%s, %zu line%s, %zu new material%s, %zu doubt%s%s.",
               bringing->source, bringing->formula_count, bringing->formula_count == 1 ? "" : "s",
               bringing->line_count - out, bringing->line_count - out == 1 ? "" : "s",
               bringing->fresh, bringing->fresh == 1 ? "" : "s", bringing->doubts,
               bringing->doubts == 1 ? "" : "s", written ? "" : "; nothing was written");
    for (size_t i = 0; written && i < bringing->line_count; i++)
        if (bringing->lines[i].doubt != NULL)
            pm_cli_say(cli, "Line %zu: %s.%s", bringing->lines[i].at, bringing->lines[i].doubt,
                       bringing->lines[i].left_out ? " It was left out." : "");
}

static enum pm_status import_formulas(struct pm_cli *cli, const struct pm_text *text, bool dry,
                                      struct pm_error *err)
{
    struct pm_bringing bringing;
    struct pm_bringing_options options = {.solvent = pm_cli_value(cli, "solvent"),
                                          .exact_only = pm_cli_has(cli, "exact"),
                                          .title = pm_cli_value(cli, "name")};
    const char *base = pm_cli_value(cli, "base");
    enum pm_status status = PM_OK;
    if (base != NULL)
        status = pm_parts_read(base, 0, PM_PART, &options.base, err);
    if (status == PM_OK && base != NULL && options.base < 1)
        status = pm_fail(err, PM_INVALID, "The base must be above nothing.");
    if (status == PM_OK)
        status = pm_cli_open(cli, true, err);
    if (status == PM_OK)
        status = pm_bringing_read(cli->studio, pm_text_get(text), text->length, &options, &bringing,
                                  err);
    if (status != PM_OK)
        return status;
    if (!dry)
        status = pm_bringing_commit(cli->studio, &bringing, NULL, err);
    if (status == PM_OK)
        status = show_bringing(cli, &bringing, !dry, err);
    if (status == PM_OK)
        say_bringing(cli, &bringing, !dry);
    pm_bringing_release(&bringing);
    return status;
}

/* ---- the shelf, and whole libraries ---- */

static void tell_table(struct pm_cli *cli, const struct pm_import_result *result, bool dry)
{
    pm_cli_say(cli, "%lld added, %lld brought up to date, %lld as they were%s.",
               (long long)result->added, (long long)result->updated, (long long)result->same,
               dry ? "; nothing was written" : "");
}

static void put_table(struct pm_cli *cli, const struct pm_import_result *result,
                      const struct pm_import_rows *rows)
{
    struct pm_json json;
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_put_bool(&json, "written", rows == NULL);
    pm_json_put_int(&json, "added", result->added);
    pm_json_put_int(&json, "updated", result->updated);
    pm_json_put_int(&json, "same", result->same);
    pm_json_put_open(&json, "rows", '[');
    for (size_t i = 0; rows != NULL && i < rows->count; i++) {
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "table", rows->items[i].what);
        pm_json_put_string(&json, "name", rows->items[i].name);
        pm_json_put_string(&json, "becomes", pm_import_word(rows->items[i].outcome));
        pm_json_put_string(&json, "changes", rows->items[i].changes);
        pm_json_close(&json, '}');
    }
    pm_json_close(&json, ']');
    pm_json_close(&json, '}');
}

static const struct pm_listing_column row_columns[] = {
    {.title = "table", .kind = PM_LISTING_TEXT},
    {.title = "name", .kind = PM_LISTING_TEXT},
    {.title = "becomes", .kind = PM_LISTING_TEXT},
    {.title = "what changes", .kind = PM_LISTING_TEXT},
};

/* What would become of each row. */
static enum pm_status show_rows(struct pm_cli *cli, const struct pm_import_rows *rows,
                                struct pm_error *err)
{
    struct pm_listing table;
    pm_listing_init(&table, PM_LISTING_COLUMNS(row_columns));
    for (size_t i = 0; i < rows->count; i++) {
        pm_listing_text(&table, rows->items[i].what);
        pm_listing_text(&table, rows->items[i].name);
        pm_listing_text(&table, pm_import_word(rows->items[i].outcome));
        pm_listing_text(&table, rows->items[i].changes);
    }
    const enum pm_status status = pm_listing_show(&table, cli, err);
    pm_listing_release(&table);
    return status;
}

static enum pm_status try_table(struct pm_cli *cli, const struct pm_text *text,
                                struct pm_error *err)
{
    struct pm_import_rows rows;
    struct pm_import_result result = {0, 0, 0};
    enum pm_status status =
        pm_shelf_import_try(cli->studio, pm_text_get(text), text->length, &rows, err);
    for (size_t i = 0; i < rows.count; i++) {
        result.added += rows.items[i].outcome == PM_IMPORT_NEW;
        result.updated += rows.items[i].outcome == PM_IMPORT_CHANGED;
        result.same += rows.items[i].outcome == PM_IMPORT_SAME;
    }
    if (status == PM_OK && cli->form == PM_CLI_JSON)
        put_table(cli, &result, &rows);
    else if (status == PM_OK)
        status = show_rows(cli, &rows, err);
    if (status == PM_OK)
        tell_table(cli, &result, true);
    pm_list_release(&rows);
    return status;
}

static enum pm_status import_starter(struct pm_cli *cli, struct pm_import_result *result,
                                     struct pm_error *err)
{
    return pm_shelf_import_named(cli->studio, cli->operands, cli->operand_count, result, err);
}

static enum pm_status import_shelf(struct pm_cli *cli, const struct pm_text *text, bool starter,
                                   bool dry, struct pm_error *err)
{
    struct pm_import_result result = {0, 0, 0};
    enum pm_status status = pm_cli_open(cli, true, err);
    if (status == PM_OK && dry && !starter)
        return try_table(cli, text, err);
    if (status == PM_OK)
        status = starter
                     ? import_starter(cli, &result, err)
                     : pm_shelf_import(cli->studio, pm_text_get(text), text->length, &result, err);
    if (status == PM_OK)
        tell_table(cli, &result, dry);
    if (status == PM_OK && cli->form == PM_CLI_JSON)
        put_table(cli, &result, NULL);
    return status;
}

static enum pm_status import_whole(struct pm_cli *cli, const struct pm_text *text, bool dry,
                                   struct pm_error *err)
{
    struct pm_json json;
    const enum pm_status status =
        pm_studio_read_whole(cli->studio, pm_text_get(text), text->length, err);
    if (status != PM_OK)
        return status;
    pm_cli_say(cli, dry ? "A whole library; it would come in as it was. Nothing was written."
                        : "The whole library came in as it was.");
    if (cli->form == PM_CLI_JSON) {
        pm_json_init(&json, &cli->out);
        pm_json_open(&json, '{');
        pm_json_put_bool(&json, "written", !dry);
        pm_json_put_string(&json, "read_as", "library");
        pm_json_close(&json, '}');
    }
    return PM_OK;
}

/* Another library's file, which is only read, into an empty one. */
static enum pm_status import_file(struct pm_cli *cli, const char *path, bool dry,
                                  struct pm_error *err)
{
    struct pm_text whole = PM_TEXT_EMPTY;
    enum pm_status status = pm_studio_write_other(cli->studio, path, &whole, err);
    if (status == PM_OK)
        status = import_whole(cli, &whole, dry, err);
    pm_text_release(&whole);
    return status;
}

/* A library, as a document or (text NULL) as its file: into an empty one as it is, unless something
 * of it is chosen; else item by item. */
static enum pm_status import_library(struct pm_cli *cli, const struct pm_text *text, bool dry,
                                     struct pm_error *err)
{
    const char *path = cli->operands[0];
    bool empty = false;
    enum pm_status status = pm_cli_open(cli, true, err);
    if (status == PM_OK)
        status = pm_studio_is_empty(cli->studio, &empty, err);
    if (status != PM_OK)
        return status;
    if (!empty || pm_cli_chooses(cli) || pm_cli_has(cli, "plan"))
        return pm_cli_import_another(cli, path, text, dry, err);
    return text != NULL ? import_whole(cli, text, dry, err) : import_file(cli, path, dry, err);
}

/* ---- import ---- */

static enum pm_status import_text(struct pm_cli *cli, const struct pm_text *text, bool dry,
                                  struct pm_error *err)
{
    switch (pm_source_of(pm_text_get(text), text->length)) {
    case PM_SOURCE_FORMULAS:
        return import_formulas(cli, text, dry, err);
    case PM_SOURCE_TABLE:
        return import_shelf(cli, text, false, dry, err);
    case PM_SOURCE_WHOLE:
        return import_library(cli, text, dry, err);
    case PM_SOURCE_LIBRARY:
        return import_library(cli, NULL, dry, err);
    }
    return PM_OK;
}

static enum pm_status run_import(struct pm_cli *cli, struct pm_error *err)
{
    const bool starter = pm_cli_has(cli, "starter"),
               dry = pm_cli_has(cli, "dry-run") || pm_cli_has(cli, "plan");
    struct pm_text text = PM_TEXT_EMPTY;
    if (!starter && cli->operand_count != 1)
        return pm_cli_usage(cli, err, "Name one file, or say --starter.");
    enum pm_status status = starter ? PM_OK : pm_cli_read_file(cli->operands[0], &text, err);
    if (status == PM_OK)
        status =
            starter ? import_shelf(cli, &text, true, dry, err) : import_text(cli, &text, dry, err);
    pm_text_release(&text);
    return status;
}

/* ---- the table ---- */

static const struct pm_cli_option import_options[] = {
    {.name = "dry-run", .help = "show what was understood and write nothing", .dry = true},
    {.name = "base", .value = "N", .help = "bring formulas to this total"},
    {.name = "name", .value = "TEXT", .help = "for a formula without a title"},
    {.name = "solvent", .value = "S", .help = "of dilutions that name none"},
    {.name = "exact", .help = "a name that is only near one of the library is a new material"},
    {.name = "plan",
     .help = "of another library: list what is new, the same, different",
     .dry = true},
    {.name = "only", .value = "WHAT", .many = true, .help = "nothing else of that library"},
    {.name = "skip", .value = "WHAT", .many = true, .help = "all but this"},
    {.name = "also",
     .value = "WHAT",
     .many = true,
     .help = "also what is here but differs: as further trials, or as a second one"},
    {.name = "as", .value = "WHAT=NAME", .many = true, .help = "under another name or number"},
    {.name = "starter", .help = "the materials that came with the program, or those named"},
    {.name = NULL},
};

static const struct pm_cli_command commands[] = {
    PM_CLI_COMMAND(
        "import", "[FILE|NAME...]", 0, -1, PM_CLI_JSON,
        "bring in formulas, a table of the shelf, or a whole library; all of it or nothing",
        .more =
            "Formulas are read from text as people write it (name and amount in either order, "
            "'10% in DPG', percentages, grams, several formulas with their titles), from a table "
            "with a column of names and one of amounts, or from JSON as 'show --json' writes it. "
            "--dry-run shows each line as it was understood. 'shelf undo' takes an import of "
            "formulas or of a table back. A JSON document of 'export --all', or another library's "
            "file, comes "
            "into an empty library as it is. Into one that holds something it comes item by item: "
            "what is new, and what goes on from where yours ends (a formula with further trials, a "
            "bottle with further movements), with all it needs; nothing of yours is overwritten. "
            "--plan lists every item with a number and how it stands; WHAT is a kind (formulas), "
            "one of a kind (formula:NAME, bottle:B012) or a number of the plan (#17). A formula "
            "that went on in both is known by its history: --also adds their kept trials behind "
            "yours, --as makes it a second formula. Anything else that differs can only come as a "
            "second one. 'shelf undo' puts what came in out of sight again. "
            "Columns of materials: name; kind, cas, family, synonyms (a;b), note, and properties "
            "such as density, rating, low. Of bottles: material; strength, solvent, lot, "
            "supplier, bought, opened, best_before, place, tare, price (19.20 EUR), priced_mass, "
            "received, made_from, note; bottle is the number on its label, which it keeps. Of "
            "movements: bottle, kind, mass; at, into, batch, note. 'permille export' writes all "
            "three so that they come in again as they were; 'export shelf --as json' holds all of "
            "them. FILE '-' is standard input.",
        .options = import_options, .run = run_import, .changes = true),
    PM_CLI_COMMAND(
        "export", "[materials|bottles|movements|shelf|F[/N]...|BATCH]", 0, -1, PM_CLI_TEXT,
        "write formulas, sheets to print, tables of the shelf, or the whole library",
        .more = "Without a word the materials. The shelf is written as CSV and formulas as JSON, "
                "which import reads again, unless --as says otherwise. Sheets (--weigh, --record, "
                "--label, --compare) are HTML, Markdown or text; a page of HTML stands alone and "
                "prints "
                "on one sheet of paper, up to some seventy lines.",
        .options = pm_cli_export_options, .run = pm_cli_run_export),
};

const struct pm_cli_topic pm_cli_topic_inout = {
    .title = "In and out",
    .commands = commands,
    .count = sizeof commands / sizeof commands[0],
};
