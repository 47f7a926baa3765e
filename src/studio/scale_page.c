/* SPDX-License-Identifier: MIT */
/* Sheets and records of the scale on paper: plain text, or a page of HTML that stands alone. */
#include "scale_page.h"

#include "permille/base/utf8.h"

#include <string.h>

void pm_scale_page_text(struct scale_page *print, const char *text)
{
    for (const char *at = text; *at;) {
        const struct pm_glyph glyph = pm_utf8_next(at);
        if (!glyph.shown)
            pm_text_add(print->out, print->html ? "&#xFFFD;" : "?");
        else if (print->html && (*at == '<' || *at == '>' || *at == '&' || *at == '"'))
            pm_text_addf(print->out, "&#%d;", *at);
        else
            pm_text_add_bytes(print->out, glyph.bytes, glyph.length);
        at += glyph.length;
    }
}

void pm_scale_page_begin(struct scale_page *print, const char *kind, const char *title)
{
    if (print->html) {
        pm_text_add(print->out,
                    "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n<title>");
        pm_scale_page_text(print, title);
        pm_text_add(print->out, "</title>\n<style>body{font:11pt sans-serif;margin:2em}"
                                "table{border-collapse:collapse;margin:1em 0}"
                                "th,td{border:1px solid #999;padding:.25em .6em;text-align:left}"
                                "td.n{text-align:right;font-variant-numeric:tabular-nums}"
                                "p.c{border-left:3px solid;padding-left:.7em}"
                                "@media print{body{margin:0}}</style></head><body>\n<h1>");
    }
    pm_text_addf(print->out, "%s: ", kind);
    pm_scale_page_text(print, title);
    pm_text_add(print->out, print->html ? "</h1>\n" : "\n\n");
}

void pm_scale_page_head(struct scale_page *print, const char *text)
{
    pm_text_add(print->out, print->html ? "<h2>" : "\n");
    pm_scale_page_text(print, text);
    pm_text_add(print->out, print->html ? "</h2>\n" : "\n");
}

void pm_scale_page_table(struct scale_page *print, bool begins)
{
    pm_text_add(print->out, !print->html ? begins ? "" : "\n"
                            : begins     ? "<table>\n"
                                         : "</table>\n");
}

void pm_scale_page_say(struct scale_page *print, const char *sentence)
{
    pm_text_add(print->out, print->html ? "<p>" : "");
    pm_scale_page_text(print, sentence);
    pm_text_add(print->out, print->html ? "</p>\n" : "\n");
}

void pm_scale_page_row(struct scale_page *print, const char *const *headings, const int *widths,
                       const char *const *cells, size_t count)
{
    const bool head = headings == cells;
    pm_text_add(print->out, print->html ? "<tr>" : "");
    for (size_t i = 0; i < count; i++) {
        const bool number = headings[i][0] == ' ';
        const char *cell = cells[i] != NULL ? cells[i] : "";
        cell += head && number;
        if (print->html) {
            pm_text_add(print->out, head ? "<th>" : number ? "<td class=\"n\">" : "<td>");
            pm_scale_page_text(print, cell);
            pm_text_add(print->out, head ? "</th>" : "</td>");
            continue;
        }
        const int blanks = widths[i] - (int)pm_utf8_cells(cell);
        for (int k = 0; number && k < blanks; k++)
            pm_text_add(print->out, " ");
        pm_scale_page_text(print, cell);
        for (int k = 0; !number && k < blanks && i + 1 < count; k++)
            pm_text_add(print->out, " ");
        pm_text_add(print->out, i + 1 < count ? "  " : "");
    }
    pm_text_add(print->out, print->html ? "</tr>\n" : "\n");
}

const char *pm_scale_page_percent(struct scale_page *print, double share, char *buf)
{
    const int64_t scaled = (int64_t)(share * 1e8 + (share < 0 ? -0.5 : 0.5));
    char number[PM_AMOUNT_TEXT];
    return pm_print(buf, PM_AMOUNT_TEXT, "%s %%",
                    pm_decimal_format(scaled, 6, 1, print->sign, number));
}

void pm_scale_page_balance(struct scale_page *print, const char *name,
                           const struct pm_balance *balance, pm_strength tolerance)
{
    char step[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT], within[PM_AMOUNT_TEXT], text[300];
    pm_scale_page_say(
        print,
        pm_print(text, sizeof text,
                 "Balance: %s, reads %s; the least within %s is %s (USP <41>, k = 2).",
                 name != NULL ? name : "not named",
                 pm_mass_exact(balance->readability, print->sign, step),
                 pm_strength_format(tolerance, print->sign, within),
                 pm_mass_format(pm_balance_minimum(balance, tolerance), 2, print->sign, least)));
}

void pm_scale_page_bottle(const char *label, const char *lot, const char *store, char *buf,
                          size_t size)
{
    pm_print(buf, size, "%s%s%s%s%s", label != NULL ? label : "not on the shelf",
             lot != NULL ? ", lot " : "", lot != NULL ? lot : "", store != NULL ? ", " : "",
             store != NULL ? store : "");
}

int pm_scale_page_width(const char *name, int width)
{
    const int cells = (int)pm_utf8_cells(name);
    return cells > width ? cells : width;
}

enum pm_status pm_scale_page_end(struct scale_page *print, const char *caution,
                                 struct pm_error *err)
{
    pm_text_add(print->out, print->html ? "<p class=\"c\">" : "\n");
    pm_scale_page_text(print, caution);
    pm_text_add(print->out, print->html ? "</p>\n</body></html>\n" : "\n");
    return pm_text_ok(print->out) ? PM_OK : pm_fail_memory(err);
}
