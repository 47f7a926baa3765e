/* SPDX-License-Identifier: MIT */
/* The Bench: the lines of a sheet as a table, and their total. */
#include "bench.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define DOT " \xC2\xB7 "

#define DECADES    6   /* of the bars: 1 ppm to the whole */
#define WIDE_FROM  100 /* cells of a sheet with more room between its columns, and shares */
#define BOTH_FROM  128 /* that holds neat parts beside what would become, and names uncut */
#define NAME_LEAST 8

/* ---- columns ---- */

static int digits(size_t number)
{
    int count = 1;
    while (number >= 10) {
        number /= 10;
        count++;
    }
    return count;
}

static int at_least(int cells, int least)
{
    return cells < least ? least : cells;
}

static int at_most(int cells, int most)
{
    return cells > most ? most : cells;
}

/* What a line is, left of the amounts. Where both do not fit, the core's column holds the stance as
 * well. Names share what is left; a solvent is told by its beginning sooner than a material. */
static void name_columns(const struct bench_figures *figures, int cells, struct pm_column *columns)
{
    const bool tied = cells < BOTH_FROM && figures->stance_cells > 0 && figures->core_cells > 0;
    const int core = tied ? figures->tie_cells : figures->core_cells;
    columns[BENCH_NUMBER] = (struct pm_column){
        .heading = "#", .wish = at_least(digits(figures->count), 2), .align = PM_ALIGN_RIGHT};
    columns[BENCH_STANCE] = (struct pm_column){.heading = "",
                                               .wish = figures->stance_cells,
                                               .hidden = tied || figures->stance_cells == 0,
                                               .rank = 2};
    columns[BENCH_CORE] = (struct pm_column){.heading = "core",
                                             .wish = at_least(core, 4),
                                             .hidden = figures->core_cells == 0,
                                             .rank = 1};
    columns[BENCH_NAME] =
        (struct pm_column){.heading = "material",
                           .wish = at_least(figures->name_cells, cells >= WIDE_FROM ? 28 : 20),
                           .least = NAME_LEAST,
                           .yields = 2};
    columns[BENCH_STRENGTH] = (struct pm_column){.heading = "strength in",
                                                 .wish = at_most(figures->strength_cells, 8),
                                                 .align = PM_ALIGN_RIGHT,
                                                 .hidden = figures->strength_cells == 0,
                                                 .rank = 3};
    columns[BENCH_SOLVENT] =
        (struct pm_column){.wish = figures->solvent_cells,
                           .least = at_most(figures->solvent_cells, at_least(cells / 12, 4)),
                           .hidden = figures->solvent_cells == 0,
                           .yields = 3,
                           .rank = 4};
}

/* Where both fit, the place for what lines would become is kept free, so that nothing jumps when
 * typing begins; otherwise it takes turns with the neat parts. Numbers of a million parts with
 * traces take much room: then what can be seen elsewhere goes, the least needed first. */
void bench_columns(const struct bench_figures *figures, int cells, bool typing,
                   struct pm_column columns[BENCH_COLUMNS])
{
    const bool both = cells >= BOTH_FROM;
    const int amount = at_least(figures->parts.cells, 7), neat = at_least(figures->neat.cells, 7);
    const int becomes = at_least(typing ? figures->becomes.cells : 0, amount);
    name_columns(figures, cells, columns);
    columns[BENCH_PARTS] = (struct pm_column){
        .heading = "parts", .wish = amount, .align = PM_ALIGN_RIGHT, .summed = true};
    columns[BENCH_NEAT] = (struct pm_column){.heading = "neat",
                                             .wish = both ? neat : at_least(neat, amount),
                                             .align = PM_ALIGN_RIGHT,
                                             .summed = true,
                                             .hidden = !both && typing,
                                             .rank = 5};
    columns[BENCH_BECOMES] = (struct pm_column){.heading = typing ? "becomes" : "",
                                                .wish = both ? becomes : at_least(becomes, neat),
                                                .align = PM_ALIGN_RIGHT,
                                                .summed = typing,
                                                .hidden = !both && !typing};
    columns[BENCH_BAR] = (struct pm_column){.heading = "",
                                            .wish = 2 * DECADES,
                                            .least = DECADES,
                                            .most = 6 * DECADES,
                                            .step = DECADES,
                                            .yields = 1,
                                            .bare = true};
    columns[BENCH_SHARE] = (struct pm_column){
        .heading = "share", .wish = 9, .align = PM_ALIGN_RIGHT, .from = WIDE_FROM};
}

/* ---- cells ---- */

static const struct pm_sheet_line *line_at(const struct bench *bench, size_t place)
{
    return &bench_sheet(bench)->lines[place];
}

static enum pm_role stance_role(const struct pm_line *line)
{
    return line->stance == PM_CARRIER ? PM_ROLE_CARRIER : PM_ROLE_HELD;
}

/* The core; without a column of its own for the stance that as well. */
static enum pm_role core_cell(const struct bench *bench, const struct pm_line *line,
                              struct pm_text *out)
{
    char text[BENCH_CORE_TEXT];
    if (bench->list.spans[BENCH_STANCE].cells > 0 || bench->figures.stance_cells == 0)
        pm_text_add(out, bench_core_text(line, text));
    else
        pm_text_add(out, bench_tie_text(line, text));
    return line->core ? PM_ROLE_CORE : stance_role(line);
}

static enum pm_role amount_cell(const struct bench *bench, size_t place, size_t column,
                                struct pm_text *out)
{
    const struct bench_figures *figures = &bench->figures;
    const struct bench_column *of = column == BENCH_PARTS  ? &figures->parts
                                    : column == BENCH_NEAT ? &figures->neat
                                                           : &figures->becomes;
    char text[PM_AMOUNT_TEXT];
    /* Of what is neat the parts say it. */
    if ((column == BENCH_NEAT && !line_at(bench, place)->solvent) ||
        (column == BENCH_BECOMES && !bench->previewing))
        return PM_ROLE_NORMAL;
    pm_text_add(out, pm_column_row_text(&of->total, of->values[place], bench->house->sign, text));
    if (column == BENCH_PARTS)
        return PM_ROLE_NORMAL;
    return column == BENCH_BECOMES && bench->preview[place] != line_at(bench, place)->line->parts
               ? PM_ROLE_PREVIEW
               : PM_ROLE_FAINT;
}

static enum pm_role line_cell(void *context, size_t place, size_t column, struct pm_text *out)
{
    const struct bench *bench = context;
    const struct pm_sheet_line *line = line_at(bench, place);
    char text[PM_AMOUNT_TEXT + 8];
    switch (column) {
    case BENCH_NUMBER:
        pm_text_addf(out, "%zu", place + 1);
        return PM_ROLE_FAINT;
    case BENCH_STANCE:
        pm_text_add(out, bench_stance_text(line->line));
        return stance_role(line->line);
    case BENCH_CORE:
        return core_cell(bench, line->line, out);
    case BENCH_STRENGTH:
        if (line->solvent)
            pm_text_add(out, pm_strength_format(line->line->strength, bench->house->sign, text));
        return PM_ROLE_NORMAL;
    case BENCH_SOLVENT:
        pm_text_add(out, line->solvent ? line->solvent : "");
        return PM_ROLE_FAINT;
    case BENCH_SHARE:
        pm_text_add(out, bench_share_text(line->share, bench->house->sign, text));
        return PM_ROLE_NORMAL;
    default:
        return amount_cell(bench, place, column, out);
    }
}

static enum pm_role line_mark(void *context, size_t place, struct pm_text *out)
{
    const struct bench *bench = context;
    pm_text_add(out, bench_is_marked(bench, line_at(bench, place)->line->id) ? "*" : "");
    return PM_ROLE_KEY;
}

/* ---- cells of more than one role ---- */

static void draw_bar(const struct bench *bench, const struct pm_pane *pane, int row, int64_t share)
{
    static const char *const parts[] = {"",
                                        "\xE2\x96\x8F",
                                        "\xE2\x96\x8E",
                                        "\xE2\x96\x8D",
                                        "\xE2\x96\x8C",
                                        "\xE2\x96\x8B",
                                        "\xE2\x96\x8A",
                                        "\xE2\x96\x89"};
    const struct pm_span bar = bench->list.spans[BENCH_BAR];
    int eighths = bench_bar_eighths(share, bar.cells);
    bool trace = share > 0 && share < INT64_C(1000000000); /* below 1 in 1000 */
    enum pm_role role = trace ? PM_ROLE_TRACE : PM_ROLE_BAR;
    if (bench->house->utf8) {
        pm_pane_repeat(pane, row, bar.at, eighths / 8, role, "\xE2\x96\x88");
        pm_pane_put(pane, row, bar.at + eighths / 8, role, parts[eighths % 8]);
    } else {
        pm_pane_repeat(pane, row, bar.at, (eighths + 7) / 8, role, "=");
    }
    if (trace)
        pm_pane_put_right(pane, row, bar.at + bar.cells - 5, 5, PM_ROLE_TRACE, "trace");
}

/* Accords have no strength and solvent, so they say there which kept trial is newer than theirs. */
static bool draw_newer(const struct bench *bench, const struct pm_pane *pane, int row,
                       const struct pm_sheet_line *line)
{
    char text[40];
    if (line->accord_newest <= line->accord_number || bench->list.spans[BENCH_SOLVENT].cells == 0)
        return false;
    snprintf(text, sizeof text, "/%lld is newer", (long long)line->accord_newest);
    pm_span_put(pane, row, pm_table_span(&bench->list, BENCH_STRENGTH, BENCH_SOLVENT),
                PM_ALIGN_LEFT, PM_ROLE_WARNING, text);
    return true;
}

/* The name, and behind it as far as there is room: a newer trial of the accord, what is lacking of
 * it on the shelf, a comment. */
static void draw_name(const struct bench *bench, const struct pm_pane *pane, int row,
                      const struct pm_sheet_line *line)
{
    const struct pm_span at = bench->list.spans[BENCH_NAME];
    char newer[48] = "";
    if (line->accord_newest > line->accord_number && bench->list.spans[BENCH_SOLVENT].cells == 0)
        snprintf(newer, sizeof newer, " (/%lld is newer)", (long long)line->accord_newest);
    /* No wider than the name: some roles can be seen on blanks as well. */
    int cells = (int)pm_utf8_cells(line->title), most = at.cells - (int)strlen(newer);
    int used =
        pm_pane_put_left(pane, row, at.at, cells < most ? cells : most,
                         line->accord_formula ? PM_ROLE_ACCORD : PM_ROLE_NORMAL, line->title);
    used += pm_pane_put(pane, row, at.at + used, PM_ROLE_WARNING, newer);
    const char *stock = bench_stock_word(bench, line->line);
    if (*stock && at.cells - used >= (int)strlen(stock) + 3) {
        used += pm_pane_put(pane, row, at.at + used, PM_ROLE_FAINT, DOT);
        used += pm_pane_put(pane, row, at.at + used, PM_ROLE_WARNING, stock);
    }
    if (line->line->comment && at.cells - used > 8)
        pm_pane_put_left(pane, row, at.at + used + 2, at.cells - used - 2, PM_ROLE_FAINT,
                         line->line->comment);
}

static bool line_paint(void *context, const struct pm_pane *pane, int row, size_t place,
                       size_t column)
{
    const struct bench *bench = context;
    const struct pm_sheet_line *line = line_at(bench, place);
    if (column == BENCH_STRENGTH)
        return draw_newer(bench, pane, row, line);
    if (column == BENCH_NAME)
        draw_name(bench, pane, row, line);
    else if (column == BENCH_BAR)
        draw_bar(bench, pane, row, line->share);
    else
        return false;
    return true;
}

/* ---- the total ---- */

static enum pm_role total_amount(const struct bench *bench, const struct bench_column *column,
                                 enum pm_role role, struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT];
    pm_text_add(out, pm_column_total_text(&column->total, bench->house->sign, text));
    return role;
}

static enum pm_role total_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct bench *bench = context;
    const struct bench_figures *figures = &bench->figures;
    (void)row;
    switch (column) {
    case BENCH_NAME:
        pm_text_addf(out, "total of %zu line%s", figures->count, figures->count == 1 ? "" : "s");
        return PM_ROLE_HEADING;
    case BENCH_PARTS:
        return total_amount(bench, &figures->parts, PM_ROLE_HEADING, out);
    case BENCH_NEAT:
        return total_amount(bench, &figures->neat, PM_ROLE_FAINT, out);
    case BENCH_BECOMES:
        if (bench->previewing)
            return total_amount(bench, &figures->becomes, PM_ROLE_PREVIEW, out);
        return PM_ROLE_FAINT;
    case BENCH_BAR:
        if (bench->mark_count > 0)
            pm_text_addf(out, "%zu marked", bench->mark_count);
        else if (bench->list.below > 0)
            pm_text_addf(out, "%zu below", bench->list.below);
        return bench->mark_count > 0 ? PM_ROLE_KEY : PM_ROLE_FAINT;
    default:
        return PM_ROLE_FAINT;
    }
}

/* ---- together ---- */

/* The bars' scale: a tick per decade, words where a unit begins. */
static void draw_scale(const struct pm_pane *pane, struct pm_span bar)
{
    static const char *const narrow[] = {"ppm", "", "\xC2\xB7", "\xE2\x80\xB0", "%", "\xC2\xB7"};
    static const char *const roomy[] = {"1ppm",          "\xC2\xB7", "\xC2\xB7",
                                        "1\xE2\x80\xB0", "1%",       "10%"};
    const int decade = bar.cells / DECADES;
    for (int i = 0; i < DECADES && decade > 0; i++) {
        /* "1ppm" reaches into the next decade of short bars. */
        if (decade == 3 && i == 1)
            continue;
        pm_pane_put(pane, 0, bar.at + i * decade, PM_ROLE_FAINT, decade < 3 ? narrow[i] : roomy[i]);
    }
}

void bench_draw_lines(struct bench *bench, const struct pm_pane *pane, int covered)
{
    struct pm_column columns[BENCH_COLUMNS];
    const struct pm_table table = {.columns = columns,
                                   .column_count = BENCH_COLUMNS,
                                   .rows = bench->figures.count,
                                   .context = bench,
                                   .cell = line_cell,
                                   .paint = line_paint,
                                   .mark = line_mark,
                                   .foot = total_cell,
                                   .foot_rows = 1,
                                   .rule = PM_RULE_COLUMNS,
                                   .at = BENCH_PARTS,
                                   .gap = pane->columns >= WIDE_FROM ? 2 : 1,
                                   .covered = covered,
                                   .field = bench->typing ? &bench->field : NULL};
    bench_columns(&bench->figures, pane->columns, bench->previewing, columns);
    bench->list.row = bench->at;
    pm_table_draw(&table, &bench->list, pane);
    draw_scale(pane, bench->list.spans[BENCH_BAR]);
}
