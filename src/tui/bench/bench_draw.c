/* SPDX-License-Identifier: MIT */
/* The Bench: painting the heading, the facts, the lines and their total. */
#include "bench.h"

#include "kit/list.h"

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
    int covered;  /* rows of the pane under an overlay */
    size_t first; /* line in the first row */
    struct bench_layout at;
};

/* ---- heading and facts ---- */

static void draw_heading(const struct bench *bench, const struct pm_pane *pane)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    char rest[96], date[PM_TIME_TEXT];
    if (!sheet) {
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
    if (sheet->solvent_share == 0) {
        put_fact(paint->pane, column, PM_ROLE_NORMAL, "no solvent");
        return;
    }
    snprintf(text, sizeof text, "solvent %s", pm_share_format(sheet->solvent_share, sign, number));
    column = put_fact(paint->pane, column, PM_ROLE_NORMAL, text);
    snprintf(text, sizeof text, "strength %s", pm_share_format(sheet->strength, sign, number));
    put_fact(paint->pane, column, PM_ROLE_NORMAL, text);
}

/* ---- column headings ---- */

static void put_heading(const struct paint *paint, struct bench_span at, bool right,
                        const char *text)
{
    if (at.cells < 1)
        return;
    if (right)
        pm_pane_put_right(paint->pane, ROW_HEADINGS, at.at, at.cells, PM_ROLE_FAINT, text);
    else
        pm_pane_put_left(paint->pane, ROW_HEADINGS, at.at, at.cells, PM_ROLE_FAINT, text);
}

/* The bars' scale: a tick per decade, words where a unit begins. */
static void draw_scale(const struct paint *paint)
{
    static const char *const narrow[] = {"ppm", "", "\xC2\xB7", "\xE2\x80\xB0", "%", "\xC2\xB7"};
    static const char *const roomy[] = {"1ppm",          "\xC2\xB7", "\xC2\xB7",
                                        "1\xE2\x80\xB0", "1%",       "10%"};
    struct bench_span bar = paint->at.bar;
    int decade = bar.cells / 6;
    for (int i = 0; i < 6; i++) {
        /* "1ppm" reaches into the next decade of short bars. */
        if (decade == 3 && i == 1)
            continue;
        pm_pane_put(paint->pane, ROW_HEADINGS, bar.at + i * decade, PM_ROLE_FAINT,
                    decade < 3 ? narrow[i] : roomy[i]);
    }
}

static void draw_headings(const struct paint *paint)
{
    const struct bench_layout *at = &paint->at;
    put_heading(paint, at->number, true, "#");
    put_heading(paint, at->core, false, "core");
    put_heading(paint, at->name, false, "material");
    if (at->solvent.cells > 0)
        pm_pane_put_left(paint->pane, ROW_HEADINGS, at->strength.at,
                         at->solvent.at + at->solvent.cells - at->strength.at, PM_ROLE_FAINT,
                         "strength in");
    put_heading(paint, at->parts, true, "parts");
    put_heading(paint, at->neat, true, "neat");
    put_heading(paint, at->becomes, true, paint->bench->previewing ? "becomes" : "");
    put_heading(paint, at->percent, true, "share");
    draw_scale(paint);
}

/* ---- one line ---- */

static enum pm_role name_role(const struct pm_sheet_line *line)
{
    return line->accord_formula ? PM_ROLE_ACCORD : PM_ROLE_NORMAL;
}

static void put_number(const struct paint *paint, int row, struct bench_span at, enum pm_role role,
                       const struct bench_column *column, int64_t value)
{
    char text[PM_AMOUNT_TEXT];
    if (at.cells > 0)
        pm_pane_put_right(
            paint->pane, row, at.at, at.cells, role,
            pm_column_row_text(&column->total, value, paint->bench->house->sign, text));
}

static void put_total(const struct paint *paint, int row, struct bench_span at, enum pm_role role,
                      const struct bench_column *column)
{
    char text[PM_AMOUNT_TEXT];
    if (at.cells > 0)
        pm_pane_put_right(paint->pane, row, at.at, at.cells, role,
                          pm_column_total_text(&column->total, paint->bench->house->sign, text));
}

static void draw_bar(const struct paint *paint, int row, int64_t share)
{
    static const char *const parts[] = {"",
                                        "\xE2\x96\x8F",
                                        "\xE2\x96\x8E",
                                        "\xE2\x96\x8D",
                                        "\xE2\x96\x8C",
                                        "\xE2\x96\x8B",
                                        "\xE2\x96\x8A",
                                        "\xE2\x96\x89"};
    struct bench_span bar = paint->at.bar;
    int eighths = bench_bar_eighths(share, bar.cells);
    bool trace = share > 0 && share < INT64_C(1000000000); /* below 1 in 1000 */
    enum pm_role role = trace ? PM_ROLE_TRACE : PM_ROLE_BAR;
    if (paint->bench->house->utf8) {
        pm_pane_repeat(paint->pane, row, bar.at, eighths / 8, role, "\xE2\x96\x88");
        pm_pane_put(paint->pane, row, bar.at + eighths / 8, role, parts[eighths % 8]);
    } else {
        pm_pane_repeat(paint->pane, row, bar.at, (eighths + 7) / 8, role, "=");
    }
    if (trace)
        pm_pane_put_right(paint->pane, row, bar.at + bar.cells - 5, 5, PM_ROLE_TRACE, "trace");
}

/* The strength and solvent of a dilution; accords have none, so they say there which kept trial is
 * newer than theirs. */
static void draw_strength(const struct paint *paint, int row, const struct pm_sheet_line *line)
{
    const struct bench_layout *at = &paint->at;
    char text[PM_AMOUNT_TEXT];
    if (line->accord_newest > line->accord_number && at->solvent.cells > 0) {
        snprintf(text, sizeof text, "/%lld is newer", (long long)line->accord_newest);
        pm_pane_put_left(paint->pane, row, at->strength.at,
                         at->solvent.at + at->solvent.cells - at->strength.at, PM_ROLE_WARNING,
                         text);
    }
    if (!line->solvent)
        return;
    pm_strength_format(line->line->strength, paint->bench->house->sign, text);
    pm_pane_put_right(paint->pane, row, at->strength.at, at->strength.cells, PM_ROLE_NORMAL, text);
    pm_pane_put_left(paint->pane, row, at->solvent.at, at->solvent.cells, PM_ROLE_FAINT,
                     line->solvent);
}

/* The name, and behind it as far as there is room: a newer trial of the accord, what is lacking of
 * it on the shelf, a comment. */
static void draw_name(const struct paint *paint, int row, const struct pm_sheet_line *line)
{
    struct bench_span at = paint->at.name;
    char newer[48] = "";
    if (line->accord_newest > line->accord_number && paint->at.solvent.cells == 0)
        snprintf(newer, sizeof newer, " (/%lld is newer)", (long long)line->accord_newest);
    /* No wider than the name: some roles can be seen on blanks as well. */
    int cells = (int)pm_utf8_cells(line->title), most = at.cells - (int)strlen(newer);
    int used = pm_pane_put_left(paint->pane, row, at.at, cells < most ? cells : most,
                                name_role(line), line->title);
    used += pm_pane_put(paint->pane, row, at.at + used, PM_ROLE_WARNING, newer);
    const char *stock = bench_stock_word(paint->bench, line->line);
    if (*stock && at.cells - used >= (int)strlen(stock) + 3) {
        used += pm_pane_put(paint->pane, row, at.at + used, PM_ROLE_FAINT, DOT);
        used += pm_pane_put(paint->pane, row, at.at + used, PM_ROLE_WARNING, stock);
    }
    if (line->line->comment && at.cells - used > 8)
        pm_pane_put_left(paint->pane, row, at.at + used + 2, at.cells - used - 2, PM_ROLE_FAINT,
                         line->line->comment);
}

static void draw_amounts(const struct paint *paint, int row, size_t place)
{
    const struct bench *bench = paint->bench;
    const struct bench_figures *figures = &bench->figures;
    const struct bench_layout *at = &paint->at;
    put_number(paint, row, at->parts, PM_ROLE_NORMAL, &figures->parts,
               figures->parts.values[place]);
    /* Of what is neat the parts say it. */
    if (paint->sheet->lines[place].solvent)
        put_number(paint, row, at->neat, PM_ROLE_FAINT, &figures->neat,
                   figures->neat.values[place]);
    if (!bench->previewing)
        return;
    bool moved = bench->preview[place] != paint->sheet->lines[place].line->parts;
    put_number(paint, row, at->becomes, moved ? PM_ROLE_PREVIEW : PM_ROLE_FAINT, &figures->becomes,
               figures->becomes.values[place]);
}

/* Its stance and its core. */
static void draw_ties(const struct paint *paint, int row, const struct pm_line *line)
{
    const struct bench_layout *at = &paint->at;
    char text[BENCH_CORE_TEXT];
    enum pm_role stance = line->stance == PM_CARRIER ? PM_ROLE_CARRIER : PM_ROLE_HELD;
    pm_pane_put_left(paint->pane, row, at->stance.at, at->stance.cells, stance,
                     bench_stance_text(line));
    if (at->tied)
        pm_pane_put_left(paint->pane, row, at->core.at, at->core.cells,
                         line->core ? PM_ROLE_CORE : stance, bench_tie_text(line, text));
    else
        pm_pane_put_left(paint->pane, row, at->core.at, at->core.cells, PM_ROLE_CORE,
                         bench_core_text(line, text));
}

static void draw_line(const struct paint *paint, int row, size_t place)
{
    const struct bench *bench = paint->bench;
    const struct bench_layout *at = &paint->at;
    const struct pm_sheet_line *line = &paint->sheet->lines[place];
    const struct pm_line *data = line->line;
    char text[BENCH_CORE_TEXT], share[PM_AMOUNT_TEXT + 8];
    bool selected = place == bench->at;

    if (selected)
        pm_pane_put(paint->pane, row, 0, PM_ROLE_HEADING, "\xE2\x80\xBA");
    if (bench_is_marked(bench, data->id))
        pm_pane_put(paint->pane, row, 1, PM_ROLE_KEY, "*");
    snprintf(text, sizeof text, "%zu", place + 1);
    pm_pane_put_right(paint->pane, row, at->number.at, at->number.cells, PM_ROLE_FAINT, text);
    draw_ties(paint, row, data);
    draw_name(paint, row, line);
    draw_strength(paint, row, line);
    draw_amounts(paint, row, place);
    draw_bar(paint, row, line->share);
    if (at->percent.cells > 0)
        pm_pane_put_right(paint->pane, row, at->percent.at, at->percent.cells, PM_ROLE_NORMAL,
                          bench_share_text(line->share, bench->house->sign, share));
    if (selected && !bench->typing) {
        pm_pane_overlay(paint->pane, row, 0, 1, at->bar.at, PM_ROLE_SELECTED);
        pm_pane_cursor(paint->pane, row, at->parts.at + at->parts.cells - 1);
    }
}

/* The cell being typed into: the text needs not fit the column, it grows to the left over what
 * stands beside the number. */
static void draw_typing(const struct paint *paint, int row)
{
    struct bench *bench = paint->bench;
    struct bench_span at = paint->at.parts;
    int cells = (int)pm_utf8_cells(bench->field.text) + 1;
    if (cells < at.cells)
        cells = at.cells;
    if (cells > at.at + at.cells - paint->at.name.at)
        cells = at.at + at.cells - paint->at.name.at;
    int column = at.at + at.cells - cells;
    pm_field_draw(&bench->field, paint->pane, row, column, cells, true);
    if (bench->whole)
        pm_pane_overlay(paint->pane, row, column, 1, (int)pm_utf8_cells(bench->field.text),
                        PM_ROLE_SELECTED);
}

/* ---- the whole sheet ---- */

static void draw_column_rule(const struct paint *paint, int row, struct bench_span at)
{
    pm_pane_repeat(paint->pane, row, at.at, at.cells, PM_ROLE_RULE, "\xE2\x94\x80");
}

/* Under the last line, as sums stand; in a sheet that scrolls in the last row. */
static void draw_total(const struct paint *paint)
{
    const struct bench *bench = paint->bench;
    const struct bench_figures *figures = &bench->figures;
    const struct bench_layout *at = &paint->at;
    int last = paint->pane->rows - 1;
    size_t shown = figures->count - paint->first;
    int row = shown + 1 < (size_t)(last - ROW_LINES) ? ROW_LINES + (int)shown + 1 : last;
    char text[64];
    if (row < last) {
        draw_column_rule(paint, row - 1, at->parts);
        draw_column_rule(paint, row - 1, at->neat);
        if (bench->previewing)
            draw_column_rule(paint, row - 1, at->becomes);
    }
    snprintf(text, sizeof text, "total of %zu line%s", figures->count,
             figures->count == 1 ? "" : "s");
    pm_pane_put_left(paint->pane, row, at->name.at, at->name.cells, PM_ROLE_HEADING, text);
    put_total(paint, row, at->parts, PM_ROLE_HEADING, &figures->parts);
    put_total(paint, row, at->neat, PM_ROLE_FAINT, &figures->neat);
    if (bench->previewing)
        put_total(paint, row, at->becomes, PM_ROLE_PREVIEW, &figures->becomes);
    size_t after = paint->first + (size_t)bench->page;
    after = after < figures->count ? figures->count - after : 0;
    if (bench->mark_count > 0)
        snprintf(text, sizeof text, "%zu marked", bench->mark_count);
    else
        snprintf(text, sizeof text, "%zu below", after);
    if (bench->mark_count > 0 || after > 0)
        pm_pane_put_left(paint->pane, row, at->bar.at, at->bar.cells,
                         bench->mark_count > 0 ? PM_ROLE_KEY : PM_ROLE_FAINT, text);
}

static void draw_lines(struct paint *paint)
{
    struct bench *bench = paint->bench;
    int rows = paint->pane->rows - ROW_LINES - 1;
    const int free = paint->pane->rows - paint->covered - ROW_LINES;
    bench->page = rows > 1 ? rows : 1;
    bench->first = pm_list_first(bench->first, bench->at, bench->figures.count, rows);
    /* While an overlay lies over the selected line, the lines stand higher; afterwards as before.
     */
    paint->first = pm_list_reach(bench->first, bench->at, free < rows ? free : rows);
    for (int y = 0; y < rows && paint->first + (size_t)y < bench->figures.count; y++) {
        size_t place = paint->first + (size_t)y;
        draw_line(paint, ROW_LINES + y, place);
        if (bench->typing && place == bench->at)
            draw_typing(paint, ROW_LINES + y);
    }
    draw_total(paint);
}

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
    struct paint paint = {.bench = bench,
                          .sheet = bench_sheet(bench),
                          .pane = &canvas->sheet,
                          .covered = canvas->covered};
    bench->details = canvas->details.columns > 0;
    draw_heading(bench, &canvas->heading);
    if (!paint.sheet) {
        draw_nothing_open(bench, &canvas->sheet);
        return;
    }
    draw_facts(&paint);
    if (bench->figures.count == 0) {
        draw_no_lines(bench, &canvas->sheet);
        return;
    }
    bench_lay_out(canvas->sheet.columns, &bench->figures, bench->previewing, &paint.at);
    draw_headings(&paint);
    draw_lines(&paint);
    bench_draw_details(bench, &canvas->details);
}
