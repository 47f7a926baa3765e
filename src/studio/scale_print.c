/* SPDX-License-Identifier: MIT */
/*
 * The weigh sheet and the batch record on paper: plain text, or a page of HTML that stands alone.
 */
#include "permille/studio/scale.h"

#include "permille/base/utf8.h"

#include <string.h>

/* schema/reference/cautions.md, 10, 13, 14 and 1 */
const char pm_weigh_caution[] =
    "Neat materials burn, irritate and sensitise: gloves, eye protection, ventilation; do not stir "
    "up dust, never neat on skin. The supplier's safety data sheets decide.";
/* the same, 20 and 21 */
const char pm_fill_caution[] =
    "Ethanol gives off vapour that a spark can light: no flames, no smoking, no heating on an open "
    "plate, ventilation. Duty, denaturing and storage follow local law and its licensed assessors.";

struct print {
    struct pm_text *out;
    bool html;
    char sign;
};

static void add_text(struct print *print, const char *text)
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

static void begin(struct print *print, const char *kind, const char *title)
{
    if (print->html) {
        pm_text_add(print->out,
                    "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n<title>");
        add_text(print, title);
        pm_text_add(print->out, "</title>\n<style>body{font:11pt sans-serif;margin:2em}"
                                "table{border-collapse:collapse;margin:1em 0}"
                                "th,td{border:1px solid #999;padding:.25em .6em;text-align:left}"
                                "td.n{text-align:right;font-variant-numeric:tabular-nums}"
                                "p.c{border-left:3px solid;padding-left:.7em}"
                                "@media print{body{margin:0}}</style></head><body>\n<h1>");
    }
    pm_text_addf(print->out, "%s: ", kind);
    add_text(print, title);
    pm_text_add(print->out, print->html ? "</h1>\n" : "\n\n");
}

static void say(struct print *print, const char *sentence)
{
    pm_text_add(print->out, print->html ? "<p>" : "");
    add_text(print, sentence);
    pm_text_add(print->out, print->html ? "</p>\n" : "\n");
}

/* A row; numbers are those cells whose heading begins with a blank. */
static void row(struct print *print, const char *const *headings, const int *widths,
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
            add_text(print, cell);
            pm_text_add(print->out, head ? "</th>" : "</td>");
            continue;
        }
        const int blanks = widths[i] - (int)pm_utf8_cells(cell);
        for (int k = 0; number && k < blanks; k++)
            pm_text_add(print->out, " ");
        add_text(print, cell);
        for (int k = 0; !number && k < blanks && i + 1 < count; k++)
            pm_text_add(print->out, " ");
        pm_text_add(print->out, i + 1 < count ? "  " : "");
    }
    pm_text_add(print->out, print->html ? "</tr>\n" : "\n");
}

static const char *percent(struct print *print, double share, char *buf)
{
    const int64_t scaled = (int64_t)(share * 1e8 + (share < 0 ? -0.5 : 0.5));
    char number[PM_AMOUNT_TEXT];
    return pm_print(buf, PM_AMOUNT_TEXT, "%s %%",
                    pm_decimal_format(scaled, 6, 1, print->sign, number));
}

static void balance_line(struct print *print, const char *name, const struct pm_balance *balance,
                         pm_strength tolerance)
{
    char step[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT], within[PM_AMOUNT_TEXT], text[300];
    say(print,
        pm_print(text, sizeof text,
                 "Balance: %s, reads %s; the least within %s is %s (USP <41>, k = 2).",
                 name != NULL ? name : "not named",
                 pm_mass_exact(balance->readability, print->sign, step),
                 pm_strength_format(tolerance, print->sign, within),
                 pm_mass_format(pm_balance_minimum(balance, tolerance), 2, print->sign, least)));
}

static void bottle_text(const char *label, const char *lot, const char *store, char *buf,
                        size_t size)
{
    pm_print(buf, size, "%s%s%s%s%s", label != NULL ? label : "not on the shelf",
             lot != NULL ? ", lot " : "", lot != NULL ? lot : "", store != NULL ? ", " : "",
             store != NULL ? store : "");
}

static int name_width(const char *name, int width)
{
    const int cells = (int)pm_utf8_cells(name);
    return cells > width ? cells : width;
}

static enum pm_status end(struct print *print, const char *caution, struct pm_error *err)
{
    pm_text_add(print->out, print->html ? "<p class=\"c\">" : "\n");
    add_text(print, caution);
    pm_text_add(print->out, print->html ? "</p>\n</body></html>\n" : "\n");
    return pm_text_ok(print->out) ? PM_OK : pm_fail_memory(err);
}

static void makings(struct print *print, const struct pm_weighing *weighing)
{
    if (weighing->making_count > 0)
        say(print, "Make first:");
    for (size_t i = 0; i < weighing->making_count; i++) {
        const struct pm_weigh_making_line *line = &weighing->makings[i];
        char text[600], strength[PM_AMOUNT_TEXT], target[PM_AMOUNT_TEXT], stock[PM_AMOUNT_TEXT];
        char solvent[PM_AMOUNT_TEXT];
        say(print,
            pm_print(text, sizeof text, "  %s at %s: %s from %s and %s of %s make %s", line->name,
                     pm_strength_format(line->strength, print->sign, strength),
                     pm_mass_format(line->of_stock, 2, print->sign, stock), line->from,
                     pm_mass_format(line->target - line->of_stock, 2, print->sign, solvent),
                     line->solvent_name, pm_mass_format(line->target, 2, print->sign, target)));
    }
}

enum pm_status pm_weighing_print(const struct pm_weighing *weighing, bool html, char sign,
                                 struct pm_text *out, struct pm_error *err)
{
    struct print print = {out, html, sign};
    char text[400], mass[PM_AMOUNT_TEXT];
    static const char *const headings[] = {" #",     "material", " strength", "bottle",
                                           " weigh", " display", " error",    "poured"};
    int widths[] = {3, 8, 8, 6, 10, 10, 7, 12};
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        widths[1] = name_width(line->tall, widths[1]);
        bottle_text(line->label, line->lot, line->store, text, sizeof text);
        widths[3] = name_width(text, widths[3]);
    }
    begin(&print, "Weigh sheet", weighing->title);
    say(&print,
        pm_print(text, sizeof text, "%s in all.", pm_mass_format(weighing->mass, 2, sign, mass)));
    balance_line(&print, weighing->balance_name, &weighing->balance, weighing->tolerance);
    makings(&print, weighing);
    pm_text_add(out, html ? "<table>\n" : "\n");
    row(&print, headings, widths, headings, 8);
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        char place[24], strength[PM_AMOUNT_TEXT], target[PM_AMOUNT_TEXT], reads[PM_AMOUNT_TEXT];
        char error[PM_AMOUNT_TEXT];
        bottle_text(line->label, line->lot, line->store, text, sizeof text);
        if (line->to_make)
            pm_print(text, sizeof text, "to be made");
        const char *cells[] = {pm_print(place, sizeof place, "%lld", (long long)line->place),
                               line->tall,
                               pm_strength_about(line->strength, sign, strength),
                               text,
                               pm_mass_format(line->target, 3, sign, target),
                               pm_mass_format(line->reads, 2, sign, reads),
                               percent(&print, line->error, error),
                               line->weighable ? "" : "too little"};
        row(&print, headings, widths, cells, 8);
    }
    pm_text_add(out, html ? "</table>\n" : "\n");
    say(&print, weighing->cumulative ? "The display is not tared between the pours."
                                     : "Tare before every pour.");
    return end(&print, pm_weigh_caution, err);
}

static void events(struct print *print, const struct pm_batch_record *record)
{
    for (size_t i = 0; i < record->events.count; i++) {
        const struct pm_batch_event *event = &record->events.items[i];
        char at[PM_TIME_TEXT], text[600];
        say(print, pm_print(text, sizeof text, "%s  %s%s%.400s", pm_time_format(event->at, at),
                            pm_batch_word(event->kind), event->text != NULL ? ": " : "",
                            event->text != NULL ? event->text : ""));
    }
}

static void corrections(struct print *print, const struct pm_batch_record *record)
{
    for (size_t i = 0; i < record->pours.count; i++) {
        const struct pm_batch_pour *pour = &record->pours.items[i];
        char text[600], mass[PM_AMOUNT_TEXT], at[PM_TIME_TEXT];
        if (pour->corrects != 0)
            say(print,
                pm_print(text, sizeof text, "%s  pour %lld corrects pour %lld: %s in truth%s%.300s",
                         pm_time_format(pour->at, at), (long long)pour->id,
                         (long long)pour->corrects, pm_mass_exact(pour->mass, print->sign, mass),
                         pour->note != NULL ? ": " : "", pour->note != NULL ? pour->note : ""));
    }
}

enum pm_status pm_batch_print(const struct pm_batch_record *record, bool html, char sign,
                              struct pm_text *out, struct pm_error *err)
{
    struct print print = {out, html, sign};
    char text[500], target[PM_AMOUNT_TEXT], poured[PM_AMOUNT_TEXT], title[300];
    static const char *const headings[] = {" #",      "material", " strength", "bottle",
                                           " target", " poured",  " off",      "when"};
    int widths[] = {3, 8, 8, 6, 12, 12, 8, 16};
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        widths[1] = name_width(line->tall, widths[1]);
        bottle_text(line->label, line->lot, NULL, text, sizeof text);
        widths[3] = name_width(text, widths[3]);
    }
    pm_print(title, sizeof title, "%lld, %s", (long long)record->batch.id, record->batch.title);
    begin(&print, "Batch", title);
    say(&print,
        pm_print(text, sizeof text, "%s; %s of %s poured; made by %s.",
                 pm_batch_word(record->batch.state), pm_mass_exact(record->poured, sign, poured),
                 pm_mass_exact(record->target, sign, target),
                 record->batch.made_by != NULL ? record->batch.made_by : "its owner"));
    balance_line(&print, record->plan.balance_name, &record->plan.balance, record->plan.tolerance);
    pm_text_add(out, html ? "<table>\n" : "\n");
    row(&print, headings, widths, headings, 8);
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        char place[24], strength[PM_AMOUNT_TEXT], off[PM_AMOUNT_TEXT], at[PM_TIME_TEXT];
        bottle_text(line->label, line->lot, NULL, text, sizeof text);
        const char *cells[] = {pm_print(place, sizeof place, "%lld", (long long)line->place),
                               line->tall,
                               pm_strength_about(line->strength, sign, strength),
                               text,
                               pm_mass_exact(line->target, sign, target),
                               line->pour != 0 ? pm_mass_exact(line->poured, sign, poured) : "",
                               line->pour != 0 ? percent(&print, line->deviation, off) : "",
                               line->pour != 0 ? pm_time_format(line->poured_at, at) : ""};
        row(&print, headings, widths, cells, 8);
    }
    pm_text_add(out, html ? "</table>\n" : "\n");
    events(&print, record);
    corrections(&print, record);
    return end(&print, pm_weigh_caution, err);
}
