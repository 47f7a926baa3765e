/* SPDX-License-Identifier: MIT */
/*
 * Formulas on paper and in files.
 */
#include "documents.h"
#include "page.h"

#include "permille/base/clock.h"
#include "permille/base/csv.h"
#include "permille/base/json.h"
#include "permille/base/mem.h"
#include "permille/core/column.h"

#include <string.h>

#define CAUTION                                                                                    \
    "Arithmetic, not approval: what goes on skin is decided by the current Standards, the law "    \
    "where it is sold, and a qualified assessor. Concentrates burn and sensitise: gloves, eyes, "  \
    "air; no flames near ethanol."

/* ---- JSON and CSV ---- */

static void put_json_line(struct pm_json *json, const struct pm_sheet_line *line, size_t place)
{
    char core[4];
    const struct pm_line *row = line->line;
    const bool accord = row->kind == PM_LINE_ACCORD;
    const bool resting = row->stance == PM_RESTING;
    pm_json_open(json, '{');
    pm_json_put_int(json, "line", (int64_t)place);
    pm_json_put_string(json, "material", accord ? NULL : line->name);
    pm_json_put_string(json, "accord", accord ? line->title : NULL);
    pm_json_put_decimal(json, "parts", row->parts, 6);
    pm_json_put_decimal(json, "strength_percent", row->strength, 7);
    pm_json_put_string(json, "solvent", line->solvent);
    pm_json_put_string(json, "stance", pm_stance_word(row->stance));
    pm_json_key(json, "resting_parts");
    if (resting)
        pm_json_decimal(json, row->rested, 6);
    else
        pm_json_null(json);
    pm_json_put_string(json, "resting_as", resting ? pm_stance_word(row->rested_as) : NULL);
    pm_json_put_string(json, "core", row->core > 0 ? pm_core_letter(row->core, core) : NULL);
    pm_json_key(json, "weight");
    if (row->core > 0)
        pm_json_int(json, row->weight);
    else
        pm_json_null(json);
    pm_json_put_string(json, "comment", row->comment);
    pm_json_close(json, '}');
}

static void put_json(const struct pm_sheet *const *sheets, size_t count, struct pm_text *out)
{
    struct pm_json json;
    pm_json_init(&json, out);
    pm_json_open(&json, '{');
    pm_document_head(&json, "formulas");
    pm_json_put_open(&json, "formulas", '[');
    for (size_t s = 0; s < count; s++) {
        const struct pm_sheet *sheet = sheets[s];
        pm_json_open(&json, '{');
        pm_json_put_string(&json, "formula", sheet->name);
        pm_json_key(&json, "trial");
        if (sheet->number > 0)
            pm_json_int(&json, sheet->number);
        else
            pm_json_null(&json);
        pm_json_put_decimal(&json, "base_parts", sheet->trial.base, 6);
        pm_json_put_decimal(&json, "total_parts", sheet->total, 6);
        pm_json_put_string(&json, "mode", pm_mode_word(sheet->trial.mode));
        pm_json_put_bool(&json, "accord", sheet->accord);
        pm_json_put_string(&json, "note", sheet->note);
        pm_json_put_open(&json, "lines", '[');
        for (size_t i = 0; i < sheet->trial.count; i++)
            put_json_line(&json, &sheet->lines[i], i + 1);
        pm_json_close(&json, ']');
        pm_json_close(&json, '}');
    }
    pm_json_close(&json, ']');
    pm_json_close(&json, '}');
    pm_text_add_char(out, '\n');
}

static void put_csv_row(const char *const *cells, size_t count, struct pm_text *out)
{
    for (size_t i = 0; i < count; i++)
        pm_csv_field(out, cells[i] != NULL ? cells[i] : "", i == 0);
    pm_csv_end(out);
}

static void put_csv(const struct pm_sheet *const *sheets, size_t count, struct pm_text *out)
{
    static const char *const heads[] = {"formula",          "base_parts", "material", "parts",
                                        "strength_percent", "solvent",    "comment"};
    put_csv_row(heads, sizeof heads / sizeof heads[0], out);
    for (size_t s = 0; s < count; s++) {
        char base[PM_AMOUNT_TEXT], parts[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
        const struct pm_sheet *sheet = sheets[s];
        pm_decimal_exact(sheet->trial.base, 6, '.', base);
        for (size_t i = 0; i < sheet->trial.count; i++) {
            const struct pm_sheet_line *line = &sheet->lines[i];
            const char *cells[] = {sheet->name,
                                   base,
                                   line->title,
                                   pm_decimal_exact(line->line->parts, 6, '.', parts),
                                   pm_decimal_exact(line->line->strength, 7, '.', strength),
                                   line->solvent,
                                   line->line->comment};
            put_csv_row(cells, sizeof cells / sizeof cells[0], out);
        }
    }
}

/* ---- what people read ---- */

/* A column of amounts as it is printed everywhere (core/column.h). */
struct amounts {
    int64_t *values; /* owned */
    struct pm_column_total total;
};

static enum pm_status amounts_round(struct amounts *amounts, size_t count, int scale,
                                    struct pm_error *err)
{
    amounts->total = pm_column_measure(amounts->values, count, scale, PM_LEAST_PLACES);
    return pm_round_column(amounts->values, count, scale, PM_LEAST_PLACES, amounts->values,
                           &amounts->total, err);
}

static bool amounts_begin(struct amounts *amounts, size_t count)
{
    amounts->values = pm_alloc_array(count + 1, sizeof *amounts->values);
    return amounts->values != NULL;
}

struct card {
    struct amounts parts, shares;
};

static enum pm_status card_begin(struct card *card, const struct pm_sheet *sheet,
                                 struct pm_error *err)
{
    const size_t count = sheet->trial.count;
    if (!amounts_begin(&card->parts, count) || !amounts_begin(&card->shares, count))
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        card->parts.values[i] = sheet->lines[i].line->parts;
        card->shares.values[i] = sheet->lines[i].share;
    }
    const enum pm_status status = amounts_round(&card->parts, count, 6, err);
    return status == PM_OK ? amounts_round(&card->shares, count, 10, err) : status;
}

static void card_release(struct card *card)
{
    pm_free(card->parts.values);
    pm_free(card->shares.values);
}

static void put_line(struct pm_page *page, const struct pm_sheet *sheet, const struct card *card,
                     size_t i)
{
    const struct pm_sheet_line *line = &sheet->lines[i];
    char number[24], parts[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT], share[PM_AMOUNT_TEXT];
    char bar[PM_AMOUNT_TEXT];
    const bool neat = line->line->strength == PM_NEAT;
    pm_page_row(
        page,
        (const char *const[]){
            pm_print(number, sizeof number, "%zu", i + 1), line->title,
            pm_column_row_text(&card->parts.total, card->parts.values[i], page->sign, parts),
            neat ? "" : pm_strength_format(line->line->strength, page->sign, strength),
            neat ? "" : line->solvent,
            pm_column_row_text(&card->shares.total, card->shares.values[i], page->sign, share),
            pm_decimal_format(line->share, 10, 2, '.', bar), line->line->comment});
}

static void put_total(struct pm_page *page, const struct card *card)
{
    char parts[PM_AMOUNT_TEXT], share[PM_AMOUNT_TEXT];
    pm_page_row(page,
                (const char *const[]){
                    "", "total", pm_column_total_text(&card->parts.total, page->sign, parts), "",
                    "", pm_column_total_text(&card->shares.total, page->sign, share), "", ""});
}

static void put_title(struct pm_page *page, const struct pm_sheet *sheet, struct pm_text *text)
{
    char day[PM_TIME_TEXT];
    pm_text_clear(text);
    pm_text_add(text, sheet->name);
    if (sheet->number > 0)
        pm_text_addf(text, "/%lld", (long long)sheet->number);
    else
        pm_text_add(text, ", draft");
    pm_page_heading(page, 1, pm_text_get(text));
    pm_text_clear(text);
    if (sheet->kept_at > 0)
        pm_text_addf(text, "Kept %s.", pm_time_date(sheet->kept_at, day));
    if (sheet->label != NULL)
        pm_text_addf(text, "%s%s.", text->length > 0 ? " " : "", sheet->label);
    if (sheet->note != NULL)
        pm_text_addf(text, "%s%s", text->length > 0 ? " " : "", sheet->note);
    pm_page_say(page, pm_text_get(text));
}

static enum pm_status put_sheet(struct pm_page *page, const struct pm_sheet *sheet,
                                struct pm_error *err)
{
    static const struct pm_page_column columns[] = {
        {.title = "#", .number = true},
        {.title = "Line"},
        {.title = "Parts", .number = true},
        {.title = "At", .number = true},
        {.title = "In"},
        {.title = "%", .number = true},
        {.title = "", .bar = true},
        {.title = "Comment", .second = true},
    };
    char base[PM_AMOUNT_TEXT], total[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    struct card card = {.parts = {.values = NULL}};
    const enum pm_status status = card_begin(&card, sheet, err);
    if (status != PM_OK) {
        card_release(&card);
        return status;
    }
    put_title(page, sheet, &text);
    pm_text_clear(&text);
    pm_text_addf(&text, "Base %s, total %s, strength %s %%.",
                 pm_decimal_exact(sheet->trial.base, 6, page->sign, base),
                 pm_decimal_exact(sheet->total, 6, page->sign, total),
                 pm_decimal_format(sheet->strength, 10, 2, page->sign, strength));
    pm_page_say(page, pm_text_get(&text));
    pm_page_table(page, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < sheet->trial.count; i++)
        put_line(page, sheet, &card, i);
    put_total(page, &card);
    pm_page_table_end(page);
    pm_page_caution(page, CAUTION);
    page->failed = page->failed || !pm_text_ok(&text);
    pm_text_release(&text);
    card_release(&card);
    return PM_OK;
}

static enum pm_status put_pages(const struct pm_sheet *const *sheets, size_t count,
                                enum pm_paper paper, char sign, struct pm_text *out,
                                struct pm_error *err)
{
    struct pm_page page;
    enum pm_status status = PM_OK;
    pm_page_begin(&page, out, paper, sign, count == 1 ? sheets[0]->name : "Formulas");
    for (size_t i = 0; i < count && status == PM_OK; i++) {
        if (i > 0)
            pm_page_turn(&page);
        status = put_sheet(&page, sheets[i], err);
    }
    const enum pm_status ended = pm_page_end(&page, status == PM_OK ? err : NULL);
    return status != PM_OK ? status : ended;
}

enum pm_status pm_paper_sheets(const struct pm_sheet *const *sheets, size_t count,
                               enum pm_paper paper, char sign, struct pm_text *out,
                               struct pm_error *err)
{
    if (paper == PM_PAPER_JSON)
        put_json(sheets, count, out);
    else if (paper == PM_PAPER_CSV)
        put_csv(sheets, count, out);
    else
        return put_pages(sheets, count, paper, sign, out, err);
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

/* ---- side by side ---- */

enum { SIDE_COLUMNS = 2 + 2 * PM_COMPARE_MAX };

/* Name, then the trials' amounts, each with its bar, then what happened to the line. */
static size_t side_columns(const struct pm_side_by_side *side, struct pm_page_column *columns)
{
    size_t count = 0;
    columns[count++] = (struct pm_page_column){.title = "Line"};
    for (size_t t = 0; t < side->trials; t++) {
        columns[count++] = (struct pm_page_column){.title = side->titles[t], .number = true};
        columns[count++] = (struct pm_page_column){.title = "", .bar = true};
    }
    columns[count++] = (struct pm_page_column){.title = "Change"};
    return count;
}

/* Every trial's amounts, rounded over all lines, in their order. */
static enum pm_status sides_begin(struct amounts *amounts, const struct pm_side_by_side *side,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t t = 0; t < side->trials && status == PM_OK; t++) {
        if (!amounts_begin(&amounts[t], side->count))
            return pm_fail_memory(err);
        for (size_t i = 0; i < side->count; i++)
            amounts[t].values[i] = pm_side_amount(side, &side->lines[i], t);
        status = amounts_round(&amounts[t], side->count, 12, err);
    }
    return status;
}

static int64_t largest(const struct pm_side_by_side *side, const struct amounts *amounts)
{
    int64_t most = 1;
    for (size_t t = 0; t < side->trials; t++)
        for (size_t i = 0; i < side->count; i++)
            most = amounts[t].values[i] > most ? amounts[t].values[i] : most;
    return most;
}

static void put_side_line(struct pm_page *page, const struct pm_side_by_side *side, size_t line,
                          const struct amounts *amounts, int64_t most)
{
    char texts[PM_COMPARE_MAX][PM_AMOUNT_TEXT], bars[PM_COMPARE_MAX][PM_AMOUNT_TEXT];
    const char *cells[SIDE_COLUMNS];
    const struct pm_compare_row *row = &side->lines[line].row;
    size_t count = 0;
    cells[count++] = side->lines[line].name;
    for (size_t t = 0; t < side->trials; t++) {
        const int64_t amount = amounts[t].values[line];
        cells[count++] = row->there[t]
                             ? pm_column_row_text(&amounts[t].total, amount, page->sign, texts[t])
                             : "";
        cells[count++] = pm_page_bar(row->there[t] ? (double)amount : 0, (double)most, bars[t]);
    }
    cells[count++] = side->trials > 1 ? pm_change_word_text(row->change[side->trials - 1]) : "";
    pm_page_row(page, cells);
}

static void put_side_totals(struct pm_page *page, const struct pm_side_by_side *side,
                            const struct amounts *amounts)
{
    char texts[PM_COMPARE_MAX][PM_AMOUNT_TEXT];
    const char *cells[SIDE_COLUMNS];
    size_t count = 0;
    cells[count++] = "total";
    for (size_t t = 0; t < side->trials; t++) {
        cells[count++] = pm_column_total_text(&amounts[t].total, page->sign, texts[t]);
        cells[count++] = "";
    }
    cells[count++] = "";
    pm_page_row(page, cells);
}

static void put_sides(struct pm_page *page, const struct pm_side_by_side *side,
                      const struct amounts *amounts)
{
    struct pm_page_column columns[SIDE_COLUMNS];
    pm_page_heading(page, 1, "Side by side");
    pm_page_table(page, columns, side_columns(side, columns));
    for (size_t i = 0; i < side->count; i++)
        put_side_line(page, side, i, amounts, largest(side, amounts));
    put_side_totals(page, side, amounts);
    pm_page_table_end(page);
    for (size_t t = 1; t < side->trials; t++)
        pm_page_say(page, side->sentences[t]);
    pm_page_caution(page, CAUTION);
}

enum pm_status pm_paper_comparison(const struct pm_side_by_side *side, enum pm_paper paper,
                                   char sign, struct pm_text *out, struct pm_error *err)
{
    struct pm_page page;
    struct amounts amounts[PM_COMPARE_MAX] = {{.values = NULL}};
    enum pm_status status = pm_page_can(paper, err);
    if (status == PM_OK)
        status = sides_begin(amounts, side, err);
    if (status == PM_OK) {
        pm_page_begin(&page, out, paper, sign, "Comparison");
        put_sides(&page, side, amounts);
        status = pm_page_end(&page, err);
    }
    for (size_t t = 0; t < side->trials; t++)
        pm_free(amounts[t].values);
    return status;
}
