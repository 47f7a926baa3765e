/* SPDX-License-Identifier: MIT */
/* The Bench: painting the heading, the facts, and what stands there without any lines. */
#include "bench.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define ROW_FACTS    0
#define ROW_HEADINGS 1
#define ROW_LINES    2

#define DOT " \xC2\xB7 "

/* One paint of the sheet. */
struct paint {
    struct bench *bench;
    const struct pm_sheet *sheet;
    const struct pm_pane *pane;
};

/* ---- heading and facts ---- */

/* At the right end: whole, or as many of its parts, from the left, as there is room for; at least
 * the share, or not at all. */
static void draw_limits(const struct bench *bench, const struct pm_pane *pane, int from)
{
    char text[sizeof bench->limits.text];
    snprintf(text, sizeof text, "%s", bench->limits.read ? bench->limits.text : "");
    int cells = (int)pm_utf8_cells(text);
    static const char *const parts[] = {", some unknown", " of limit"};
    for (size_t i = 0; i < sizeof parts / sizeof *parts && from + cells > pane->columns; i++) {
        char *rest = strstr(text, parts[i]);
        if (rest != NULL)
            *rest = '\0';
        cells = (int)pm_utf8_cells(text);
    }
    if (cells > 0 && from + cells <= pane->columns)
        pm_pane_put(pane, 0, pane->columns - cells, bench->limits.role, text);
}

static void draw_heading(const struct bench *bench, const struct pm_pane *pane)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    char rest[96], date[PM_TIME_TEXT];
    if (sheet == NULL) {
        pm_pane_put(pane, 0, 0, PM_ROLE_FAINT, "no formula is open");
        return;
    }
    if (bench->looked_at)
        snprintf(rest, sizeof rest, DOT "revision %lld, %s, read only",
                 (long long)bench->looked_number, pm_time_format(bench->looked_time, date));
    else if (sheet->number > 0)
        snprintf(rest, sizeof rest, DOT "trial %lld, kept %s, read only", (long long)sheet->number,
                 pm_time_date(sheet->kept_at, date));
    else if (sheet->parent_number > 0)
        snprintf(rest, sizeof rest, DOT "draft after trial %lld", (long long)sheet->parent_number);
    else
        snprintf(rest, sizeof rest, DOT "draft");
    const char *accord = sheet->accord ? DOT "accord" : "";
    const char *locked =
        pm_studio_read_only(bench->house->studio) ? DOT "the file is read only" : "";
    int cells = (int)(pm_utf8_cells(rest) + pm_utf8_cells(accord) + pm_utf8_cells(locked));
    int name = (int)pm_utf8_cells(sheet->name);
    if (name > pane->columns - cells)
        name = pane->columns - cells;
    pm_pane_put_left(pane, 0, 0, name, PM_ROLE_HEADING, sheet->name);
    pm_pane_putf(pane, 0, name, PM_ROLE_NORMAL, "%s%s", rest, accord);
    pm_pane_put(pane, 0, name + cells - (int)pm_utf8_cells(locked), PM_ROLE_WARNING, locked);
    draw_limits(bench, pane, name + cells + 2);
}

/* Puts one fact behind the others, a dot between them; one that does not fit is left out. */
static int put_fact(const struct pm_pane *pane, int column, enum pm_role role, const char *text)
{
    if (column + 3 + (int)pm_utf8_cells(text) > pane->columns)
        return column;
    if (column > 0)
        column += pm_pane_put(pane, ROW_FACTS, column, PM_ROLE_FAINT, DOT);
    return column + pm_pane_put(pane, ROW_FACTS, column, role, text);
}

static pm_parts previewed_total(const struct bench *bench)
{
    pm_parts total = 0;
    if (!bench->previewing)
        return bench_sheet(bench)->total;
    for (size_t i = 0; i < bench_rows(bench); i++)
        total += bench->preview[i];
    return total;
}

static int put_balance(const struct paint *paint, int column)
{
    const struct pm_sheet *sheet = paint->sheet;
    char sign = paint->bench->house->sign;
    char total[PM_AMOUNT_TEXT], off[PM_AMOUNT_TEXT], text[PM_AMOUNT_TEXT * 3];
    const struct pm_column_total *foot = &paint->bench->figures.parts.total;
    int64_t distance = sheet->off < 0 ? -sheet->off : sheet->off;
    int places = pm_decimal_places(distance, 6, foot->places);
    pm_decimal_format(sheet->total, 6, foot->places, sign, total);
    pm_decimal_format(distance, 6, places, sign, off);
    const pm_parts becomes = previewed_total(paint->bench);
    if (becomes != sheet->total) {
        pm_decimal_format(becomes, 6, pm_decimal_places(becomes, 6, foot->places), sign, off);
        snprintf(text, sizeof text, "total %s \xE2\x86\x92 %s", total, off);
        return put_fact(paint->pane, column, PM_ROLE_PREVIEW, text);
    }
    if (sheet->off == 0) {
        snprintf(text, sizeof text, "total %s%s", total, sheet->trial.settled ? " settled" : "");
        return put_fact(paint->pane, column, PM_ROLE_NORMAL, text);
    }
    snprintf(text, sizeof text, "total %s", total);
    column = put_fact(paint->pane, column, PM_ROLE_NORMAL, text);
    if (sheet->trial.settled || sheet->off > 0)
        snprintf(text, sizeof text, "off by %c%s", sheet->off < 0 ? '-' : '+', off);
    else
        snprintf(text, sizeof text, "%s still missing", off);
    return put_fact(paint->pane, column, PM_ROLE_WARNING, text);
}

/* What the balance does to the batch; where there is no room for it the total says how many lines
 * are too little. */
static void put_weighing(const struct paint *paint, int column)
{
    struct pm_text text = PM_TEXT_EMPTY;
    if (paint->pane->columns < BENCH_WEIGH_FROM)
        return;
    bench_weigh_sum(paint->bench, &text);
    if (text.length > 0)
        column = put_fact(paint->pane, column, PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_clear(&text);
    bench_weigh_count(paint->bench, false, &text);
    if (text.length > 0)
        put_fact(paint->pane, column, PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&text);
}

/* A broken ceiling stands before what can do without: it is to be seen on narrow screens, too. */
static int put_ceiling(const struct paint *paint, int column)
{
    struct pm_text text = PM_TEXT_EMPTY;
    const enum pm_role role = bench_profile_sign(paint->bench, &text);
    if (text.length > 0)
        column = put_fact(paint->pane, column, role, pm_text_get(&text));
    pm_text_release(&text);
    return column;
}

static void draw_facts(const struct paint *paint)
{
    const struct pm_sheet *sheet = paint->sheet;
    char sign = paint->bench->house->sign;
    char number[PM_AMOUNT_TEXT + 8], text[PM_AMOUNT_TEXT * 2];
    snprintf(text, sizeof text, "base %s", pm_decimal_exact(sheet->trial.base, 6, sign, number));
    int column = put_fact(paint->pane, 0, PM_ROLE_NORMAL, text);
    column = put_fact(paint->pane, column, PM_ROLE_NORMAL, pm_mode_word(sheet->trial.mode));
    column = put_balance(paint, column);
    if (sheet->total == 0)
        return;
    column = put_ceiling(paint, column);
    if (sheet->solvent_share == 0) {
        column = put_fact(paint->pane, column, PM_ROLE_NORMAL, "no solvent");
        put_weighing(paint, column);
        return;
    }
    snprintf(text, sizeof text, "solvent %s", pm_share_format(sheet->solvent_share, sign, number));
    column = put_fact(paint->pane, column, PM_ROLE_NORMAL, text);
    snprintf(text, sizeof text, "strength %s", pm_share_format(sheet->strength, sign, number));
    column = put_fact(paint->pane, column, PM_ROLE_NORMAL, text);
    put_weighing(paint, column);
}

/* ---- the whole sheet ---- */

static void draw_nothing_open(const struct bench *bench, const struct pm_pane *pane)
{
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL, "The bench is clear: no formula is open.");
    pm_app_invite(bench->app, pane, 3, "new-formula", "begins a new formula: give it a name");
    pm_app_invite(bench->app, pane, 4, "formulas", "opens one that is in the library");
    pm_app_invite(bench->app, pane, 5, "tuck-in",
                  "then tucks in materials: part of a name, its parts");
    pm_app_invite(bench->app, pane, 6, "room-shelf",
                  "goes to the shelf: materials, bottles, a starter set");
    pm_pane_cursor(pane, 3, 2);
}

static void draw_no_lines(const struct bench *bench, const struct pm_pane *pane)
{
    if (bench_sheet(bench)->read_only) {
        pm_pane_put(pane, ROW_LINES + 1, 2, PM_ROLE_NORMAL, "There were no lines yet.");
    } else {
        pm_pane_put(
            pane, ROW_LINES + 1, 2, PM_ROLE_NORMAL,
            "Nothing in it yet. It fills up to its base; from then on the others give way.");
        pm_app_invite(bench->app, pane, ROW_LINES + 3, "tuck-in", "tucks in a material");
        pm_app_invite(bench->app, pane, ROW_LINES + 4, "tuck-in-accord", "tucks in an accord");
    }
    pm_pane_cursor(pane, ROW_LINES + 3, 2);
}

void bench_draw(struct bench *bench, const struct pm_canvas *canvas)
{
    struct paint paint = {.bench = bench, .sheet = bench_sheet(bench), .pane = &canvas->sheet};
    draw_heading(bench, &canvas->heading);
    if (paint.sheet == NULL) {
        draw_nothing_open(bench, &canvas->sheet);
        return;
    }
    draw_facts(&paint);
    if (bench->figures.count == 0) {
        draw_no_lines(bench, &canvas->sheet);
        return;
    }
    const struct pm_pane lines = pm_pane_part(
        &canvas->sheet, ROW_HEADINGS, 0, canvas->sheet.rows - ROW_HEADINGS, canvas->sheet.columns);
    bench_draw_lines(bench, &lines, canvas->covered);
    bench_draw_details(bench, &canvas->details);
}
