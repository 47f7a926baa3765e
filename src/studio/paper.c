/* SPDX-License-Identifier: MIT */
/*
 * Formulas on paper and in files.
 */
#include "page.h"

#include "permille/base/clock.h"
#include "permille/base/csv.h"
#include "permille/base/json.h"
#include "permille/base/mem.h"

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

static int places_of(const struct pm_sheet *sheet)
{
    int places = 0;
    for (size_t i = 0; i < sheet->trial.count; i++) {
        const int own = pm_decimal_places(sheet->lines[i].line->parts, 6, 0);
        int exact = 0;
        for (int64_t rest = sheet->lines[i].line->parts % PM_PART; rest != 0 && exact < 6;
             rest = rest * 10 % PM_PART)
            exact++;
        places = exact > places ? exact : places;
        places = own > places ? own : places;
    }
    return places;
}

static void put_line(struct pm_page *page, const struct pm_sheet_line *line, size_t place,
                     int places)
{
    char number[24], parts[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT], share[PM_AMOUNT_TEXT];
    char bar[PM_AMOUNT_TEXT];
    const bool neat = line->line->strength == PM_NEAT;
    pm_page_row(page,
                (const char *const[]){
                    pm_print(number, sizeof number, "%zu", place), line->title,
                    pm_decimal_format(line->line->parts, 6, places, page->sign, parts),
                    neat ? "" : pm_strength_format(line->line->strength, page->sign, strength),
                    neat ? "" : line->solvent,
                    pm_decimal_format(line->share, 10, 2, page->sign, share),
                    pm_decimal_format(line->share, 10, 2, '.', bar), line->line->comment});
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
        pm_text_addf(text, "Kept %s. ", pm_time_date(sheet->kept_at, day));
    if (sheet->label != NULL)
        pm_text_addf(text, "%s. ", sheet->label);
    pm_text_add(text, sheet->note != NULL ? sheet->note : "");
    pm_page_say(page, pm_text_get(text));
}

static void put_sheet(struct pm_page *page, const struct pm_sheet *sheet)
{
    static const struct pm_page_column columns[] = {
        {.title = "#", .number = true},  {.title = "Line"},    {.title = "Parts", .number = true},
        {.title = "At", .number = true}, {.title = "In"},      {.title = "%", .number = true},
        {.title = "", .bar = true},      {.title = "Comment"},
    };
    char base[PM_AMOUNT_TEXT], total[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    const int places = places_of(sheet);
    put_title(page, sheet, &text);
    pm_text_clear(&text);
    pm_text_addf(&text, "Base %s, total %s, strength %s %%.",
                 pm_decimal_exact(sheet->trial.base, 6, page->sign, base),
                 pm_decimal_exact(sheet->total, 6, page->sign, total),
                 pm_decimal_format(sheet->strength, 10, 2, page->sign, strength));
    pm_page_say(page, pm_text_get(&text));
    pm_page_table(page, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < sheet->trial.count; i++)
        put_line(page, &sheet->lines[i], i + 1, places);
    pm_page_table_end(page);
    pm_page_caution(page, CAUTION);
    page->failed = page->failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

static enum pm_status put_pages(const struct pm_sheet *const *sheets, size_t count,
                                enum pm_paper paper, char sign, struct pm_text *out,
                                struct pm_error *err)
{
    struct pm_page page;
    pm_page_begin(&page, out, paper, sign, count == 1 ? sheets[0]->name : "Formulas");
    for (size_t i = 0; i < count; i++) {
        if (i > 0)
            pm_page_turn(&page);
        put_sheet(&page, sheets[i]);
    }
    return pm_page_end(&page, err);
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

static pm_fine largest(const struct pm_side_by_side *side)
{
    pm_fine most = 1;
    for (size_t i = 0; i < side->count; i++)
        for (size_t t = 0; t < side->trials; t++)
            if (side->lines[i].row.there[t] && pm_side_amount(side, &side->lines[i], t) > most)
                most = pm_side_amount(side, &side->lines[i], t);
    return most;
}

static void put_side_line(struct pm_page *page, const struct pm_side_by_side *side,
                          const struct pm_side_line *line, pm_fine most)
{
    char amounts[PM_COMPARE_MAX][PM_AMOUNT_TEXT], bars[PM_COMPARE_MAX][PM_AMOUNT_TEXT];
    const char *cells[SIDE_COLUMNS];
    size_t count = 0;
    cells[count++] = line->name;
    for (size_t t = 0; t < side->trials; t++) {
        const pm_fine amount = line->row.there[t] ? pm_side_amount(side, line, t) : 0;
        cells[count++] = line->row.there[t]
                             ? pm_decimal_format(amount, 12, pm_decimal_places(amount, 12, 2),
                                                 page->sign, amounts[t])
                             : "";
        cells[count++] = pm_page_bar((double)amount, (double)most, bars[t]);
    }
    cells[count++] =
        side->trials > 1 ? pm_change_word_text(line->row.change[side->trials - 1]) : "";
    pm_page_row(page, cells);
}

enum pm_status pm_paper_comparison(const struct pm_side_by_side *side, enum pm_paper paper,
                                   char sign, struct pm_text *out, struct pm_error *err)
{
    struct pm_page page;
    struct pm_page_column columns[SIDE_COLUMNS];
    const enum pm_status status = pm_page_can(paper, err);
    if (status != PM_OK)
        return status;
    pm_page_begin(&page, out, paper, sign, "Comparison");
    pm_page_heading(&page, 1, "Side by side");
    pm_page_table(&page, columns, side_columns(side, columns));
    for (size_t i = 0; i < side->count; i++)
        put_side_line(&page, side, &side->lines[i], largest(side));
    pm_page_table_end(&page);
    for (size_t t = 1; t < side->trials; t++)
        pm_page_say(&page, side->sentences[t]);
    pm_page_caution(&page, CAUTION);
    return pm_page_end(&page, err);
}
