/* SPDX-License-Identifier: MIT */
/*
 * Formulas on paper and in files.
 */
#include "permille/studio/paper.h"

#include "permille/base/clock.h"
#include "permille/base/csv.h"
#include "permille/base/json.h"
#include "permille/base/mem.h"

#include <string.h>

#define CAUTION                                                                                    \
    "Arithmetic, not approval: what goes on skin is decided by the current Standards, the law "    \
    "where it is sold, and a qualified assessor. Concentrates burn and sensitise: gloves, eyes, "  \
    "air; no flames near ethanol."

bool pm_paper_from_word(const char *word, enum pm_paper *out)
{
    static const char *const words[] = {"json", "csv", "markdown", "html"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcmp(word, words[i]) == 0) {
            *out = (enum pm_paper)i;
            return true;
        }
    return false;
}

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
    pm_json_key(&json, "formulas");
    pm_json_open(&json, '[');
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
        pm_json_key(&json, "lines");
        pm_json_open(&json, '[');
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

/* Text in HTML, or in a cell of a Markdown table; line ends become blanks. */
static void put_text(struct pm_text *out, bool html, const char *text)
{
    for (; text != NULL && *text; text++) {
        const char byte = *text;
        if (html && (byte == '<' || byte == '>' || byte == '&' || byte == '"'))
            pm_text_add(out, byte == '<'   ? "&lt;"
                             : byte == '>' ? "&gt;"
                             : byte == '&' ? "&amp;"
                                           : "&quot;");
        else if (!html && byte != '\n' && strchr("\\|*_`<>[]#", byte) != NULL)
            pm_text_addf(out, "\\%c", byte);
        else
            pm_text_add_char(out, (unsigned char)byte < 0x20 ? ' ' : byte);
    }
}

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

static void put_cell(struct pm_text *out, bool html, bool number, const char *text)
{
    pm_text_add(out, html ? (number ? "<td class=\"n\">" : "<td>") : "| ");
    put_text(out, html, text);
    pm_text_add(out, html ? "</td>" : " ");
}

/* A bar of the line's share, drawn; Markdown has none. */
static void put_bar(struct pm_text *out, int64_t share)
{
    char width[PM_AMOUNT_TEXT];
    pm_text_addf(
        out,
        "<td><svg viewBox=\"0 0 100 8\" role=\"img\" aria-label=\"share\"><rect width=\"%s\" "
        "height=\"8\"/></svg></td>",
        pm_decimal_format(share, 10, 2, '.', width));
}

static void put_line(struct pm_text *out, bool html, const struct pm_sheet_line *line, size_t place,
                     int places, char sign)
{
    char buf[PM_AMOUNT_TEXT];
    const bool neat = line->line->strength == PM_NEAT;
    pm_text_add(out, html ? "<tr>" : "");
    put_cell(out, html, true, pm_print(buf, sizeof buf, "%zu", place));
    put_cell(out, html, false, line->title);
    put_cell(out, html, true, pm_decimal_format(line->line->parts, 6, places, sign, buf));
    put_cell(out, html, true, neat ? "" : pm_strength_format(line->line->strength, sign, buf));
    put_cell(out, html, false, neat ? "" : line->solvent);
    put_cell(out, html, true, pm_decimal_format(line->share, 10, 2, sign, buf));
    if (html)
        put_bar(out, line->share);
    put_cell(out, html, false, line->line->comment);
    pm_text_add(out, html ? "</tr>\n" : "|\n");
}

static void put_title(struct pm_text *out, bool html, const struct pm_sheet *sheet)
{
    char day[PM_TIME_TEXT];
    pm_text_add(out, html ? "<h1>" : "# ");
    put_text(out, html, sheet->name);
    if (sheet->number > 0)
        pm_text_addf(out, "/%lld", (long long)sheet->number);
    else
        pm_text_add(out, ", draft");
    pm_text_add(out, html ? "</h1>\n<p>" : "\n\n");
    if (sheet->kept_at > 0)
        pm_text_addf(out, "Kept %s. ", pm_time_date(sheet->kept_at, day));
    if (sheet->label != NULL) {
        put_text(out, html, sheet->label);
        pm_text_add(out, ". ");
    }
    put_text(out, html, sheet->note);
    pm_text_add(out, html ? "</p>\n" : "\n\n");
}

static void put_sheet(struct pm_text *out, bool html, const struct pm_sheet *sheet, char sign)
{
    char base[PM_AMOUNT_TEXT], total[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
    const int places = places_of(sheet);
    pm_text_add(out, html ? "<section>\n" : "");
    put_title(out, html, sheet);
    pm_text_addf(out, "%sBase %s, total %s, strength %s %%.%s", html ? "<p>" : "",
                 pm_decimal_exact(sheet->trial.base, 6, sign, base),
                 pm_decimal_exact(sheet->total, 6, sign, total),
                 pm_decimal_format(sheet->strength, 10, 2, sign, strength),
                 html ? "</p>\n" : "\n\n");
    pm_text_add(out, html ? "<table>\n<tr><th>#</th><th>Line</th><th>Parts</th><th>At</th><th>In"
                            "</th><th>%</th><th></th><th>Comment</th></tr>\n"
                          : "| # | Line | Parts | At | In | % | Comment |\n"
                            "|--:|------|------:|---:|----|--:|---------|\n");
    for (size_t i = 0; i < sheet->trial.count; i++)
        put_line(out, html, &sheet->lines[i], i + 1, places, sign);
    if (html)
        pm_text_add(out, "</table>\n");
    pm_text_addf(out, html ? "<p class=\"caution\">%s</p>\n</section>\n" : "\n%s\n\n", CAUTION);
}

static void begin_page(struct pm_text *out, const char *title)
{
    pm_text_add(out,
                "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>");
    put_text(out, true, title);
    pm_text_add(out,
                "</title>\n<style>@page{size:A4;margin:15mm}body{font:10pt sans-serif;margin:1em "
                "auto;max-width:180mm;color:#000;background:#fff}section{break-after:page}"
                "section:last-child{break-after:auto}table{border-collapse:collapse;width:100%}"
                "td,th{padding:1px 6px;text-align:left;border-bottom:1px solid #ccc;"
                "vertical-align:top}.n{text-align:right;font-variant-numeric:tabular-nums}"
                "svg{width:25mm;height:2.5mm}.caution{font-size:8pt}</style>\n</head>\n<body>\n");
}

static void end_page(struct pm_text *out)
{
    pm_text_add(out, "</body>\n</html>\n");
}

enum pm_status pm_paper_sheets(const struct pm_sheet *const *sheets, size_t count,
                               enum pm_paper paper, char sign, struct pm_text *out,
                               struct pm_error *err)
{
    const bool html = paper == PM_PAPER_HTML;
    if (paper == PM_PAPER_JSON)
        put_json(sheets, count, out);
    else if (paper == PM_PAPER_CSV)
        put_csv(sheets, count, out);
    if (html)
        begin_page(out, count == 1 ? sheets[0]->name : "Formulas");
    for (size_t i = 0; i < count && (html || paper == PM_PAPER_MARKDOWN); i++)
        put_sheet(out, html, sheets[i], sign);
    if (html)
        end_page(out);
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

/* ---- side by side ---- */

static void put_side_line(struct pm_text *out, bool html, const struct pm_side_by_side *side,
                          const struct pm_side_line *line, char sign)
{
    char buf[PM_AMOUNT_TEXT];
    pm_text_add(out, html ? "<tr>" : "");
    put_cell(out, html, false, line->name);
    for (size_t t = 0; t < side->trials; t++) {
        const pm_fine amount = line->row.there[t] ? pm_side_amount(side, line, t) : 0;
        put_cell(out, html, true,
                 line->row.there[t]
                     ? pm_decimal_format(amount, 12, pm_decimal_places(amount, 12, 2), sign, buf)
                     : "");
    }
    put_cell(out, html, false,
             side->trials > 1 ? pm_change_word_text(line->row.change[side->trials - 1]) : "");
    pm_text_add(out, html ? "</tr>\n" : "|\n");
}

enum pm_status pm_paper_comparison(const struct pm_side_by_side *side, enum pm_paper paper,
                                   char sign, struct pm_text *out, struct pm_error *err)
{
    const bool html = paper == PM_PAPER_HTML;
    if (!html && paper != PM_PAPER_MARKDOWN)
        return pm_fail(err, PM_INVALID,
                       "Several trials of one sheet are Markdown or HTML; "
                       "'compare' has CSV and JSON.");
    if (html)
        begin_page(out, "Comparison");
    pm_text_add(out, html ? "<h1>Side by side</h1>\n<table>\n<tr>" : "# Side by side\n\n");
    put_cell(out, html, false, "Line");
    for (size_t t = 0; t < side->trials; t++)
        put_cell(out, html, true, side->titles[t]);
    put_cell(out, html, false, "Change");
    pm_text_add(out, html ? "</tr>\n" : "|\n|---");
    for (size_t t = 0; !html && t < side->trials; t++)
        pm_text_add(out, "|---:");
    pm_text_add(out, html ? "" : "|---|\n");
    for (size_t i = 0; i < side->count; i++)
        put_side_line(out, html, side, &side->lines[i], sign);
    pm_text_add(out, html ? "</table>\n" : "\n");
    for (size_t t = 1; t < side->trials; t++) {
        pm_text_add(out, html ? "<p>" : "");
        put_text(out, html, side->sentences[t]);
        pm_text_add(out, html ? "</p>\n" : "\n\n");
    }
    pm_text_addf(out, html ? "<p class=\"caution\">%s</p>\n" : "%s\n", CAUTION);
    if (html)
        end_page(out);
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}
