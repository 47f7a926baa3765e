/* SPDX-License-Identifier: MIT */
/* The Bench: the lines of a sheet as a table, and their total. */
#include "bench.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define DOT " \xC2\xB7 "

#define WIDE_FROM 100 /* cells of a sheet with more room between its columns */
#define BOTH_FROM                                                                                  \
    BENCH_WEIGH_FROM    /* that holds neat parts beside what would become, and masses              \
                         */
#define MARGIN        2 /* a table's, left of its first column */
#define STRENGTH_MOST 8
#define SOLVENT_GAP   1 /* the solvent belongs to its strength */
#define FIRST_TO_GO   6 /* columns of this rank and above say what names need not be cut for */
#define NAME_LEAST    8
#define BAR_LEAST     4 /* with halves enough to see 4:3:2 */
#define BAR_MOST      24
#define LEAVES_CELLS  6 /* "heart?" */
#define ERROR_CELLS   7 /* "0.037 %", "1200 %" */
#define BELOW_CELLS   6 /* " below" */
#define TIE_CELLS     7 /* "carrier", "resting", "A:2 h": the place is kept, so that nothing shifts */
#define TIE_WIDE      8 /* "A:2 held" */

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

/* What a line is called, with what dilutes it. */
static int whole_name(const struct bench_figures *figures)
{
    return at_least(figures->name_cells, figures->dilution_cells);
}

/* What a line is, left of the amounts. One column says the stance and the core. Names of lines that
 * are not diluted run on over the strength and the solvent, so the column of names need only hold
 * those of the others. */
static void name_columns(const struct bench_figures *figures, int cells, struct pm_column *columns)
{
    const bool wide = cells >= WIDE_FROM;
    const int strength = at_most(figures->strength_cells, STRENGTH_MOST);
    const int dilution =
        strength == 0 ? 0 : strength + figures->solvent_cells + (wide ? 2 : 1) + SOLVENT_GAP;
    const int alone = whole_name(figures) - dilution;
    columns[BENCH_NUMBER] = (struct pm_column){
        .heading = "#", .wish = at_least(digits(figures->count), 2), .align = PM_ALIGN_RIGHT};
    columns[BENCH_STANCE] =
        (struct pm_column){.heading = "stance",
                           .wish = wide ? at_least(figures->core_cells, TIE_WIDE) : TIE_CELLS,
                           .rank = 1};
    columns[BENCH_NAME] = (struct pm_column){
        .heading = "material",
        .wish = at_least(at_least(figures->diluted_cells, alone), wide ? 20 : 18),
        .least = NAME_LEAST,
        .yields = 2};
    columns[BENCH_STRENGTH] = (struct pm_column){.heading = "strength in",
                                                 .wish = strength,
                                                 .align = PM_ALIGN_RIGHT,
                                                 .hidden = figures->strength_cells == 0,
                                                 .rank = 3};
    columns[BENCH_SOLVENT] =
        (struct pm_column){.wish = figures->solvent_cells,
                           .least = at_most(figures->solvent_cells, at_least(cells / 12, 4)),
                           .hidden = figures->solvent_cells == 0,
                           .yields = 3,
                           .gap = SOLVENT_GAP,
                           .rank = 4};
}

/* Names, strengths and solvents are read whole before anything that a line says besides is shown:
 * the bar only repeats the shares and goes first. What no room can be made for is cut. */
static void names_first(const struct bench_figures *figures, int cells,
                        struct pm_column columns[BENCH_COLUMNS])
{
    const int gap = cells >= WIDE_FROM ? 2 : 1;
    struct pm_column *name = &columns[BENCH_NAME], *solvent = &columns[BENCH_SOLVENT];
    const int strength = columns[BENCH_STRENGTH].hidden ? 0 : columns[BENCH_STRENGTH].wish + gap;
    int needed = whole_name(figures), room = cells - MARGIN;
    for (size_t i = 0; i < BENCH_COLUMNS; i++)
        if (!columns[i].hidden && columns[i].rank < FIRST_TO_GO && cells >= columns[i].from &&
            i != BENCH_NAME && i != BENCH_STRENGTH && i != BENCH_SOLVENT)
            room -= columns[i].wish + gap;
    needed = at_most(needed, room) - strength;
    if (!solvent->hidden) {
        needed -= SOLVENT_GAP;
        solvent->least = at_most(at_least(needed - name->wish, solvent->least), solvent->wish);
        needed -= solvent->least;
    }
    name->least = at_most(at_least(needed, name->least), name->wish);
}

/* Where both fit, the place for what lines would become is kept free, so that nothing jumps when
 * typing begins; otherwise it takes turns with the neat parts. Numbers of a million parts with
 * traces take much room: then what can be seen elsewhere goes, the least needed first. */
void bench_columns(const struct bench_figures *figures, int cells, bool typing,
                   struct pm_column columns[BENCH_COLUMNS])
{
    const bool both = cells >= BOTH_FROM;
    const int sign = figures->sign_cells, neat = at_least(figures->neat.cells, 7);
    const int amount = at_least(figures->parts.cells, 7) + sign;
    const int becomes = at_least(typing ? figures->becomes.cells + sign : 0, amount);
    name_columns(figures, cells, columns);
    columns[BENCH_COST] = columns[BENCH_LEAVES] = columns[BENCH_BEFORE] =
        (struct pm_column){.hidden = true};
    columns[BENCH_PARTS] = (struct pm_column){.heading = sign ? "parts " : "parts",
                                              .wish = amount,
                                              .align = PM_ALIGN_RIGHT,
                                              .summed = true};
    /* Where nothing is diluted the parts say it all; its place is kept for what lines become. */
    const bool diluted = figures->strength_cells > 0;
    columns[BENCH_NEAT] = (struct pm_column){.heading = diluted ? "neat" : "",
                                             .wish = both ? neat : at_least(neat, amount),
                                             .align = PM_ALIGN_RIGHT,
                                             .summed = diluted,
                                             .hidden = both ? !diluted : typing,
                                             .rank = 5};
    columns[BENCH_BECOMES] = (struct pm_column){.heading = !typing ? ""
                                                           : sign  ? "becomes "
                                                                   : "becomes",
                                                .wish = both ? becomes : at_least(becomes, neat),
                                                .align = PM_ALIGN_RIGHT,
                                                .summed = typing,
                                                .hidden = !both && !typing};
    columns[BENCH_MASS] = (struct pm_column){
        .heading = figures->masses_text,
        .wish = at_least(figures->masses.cells, (int)strlen(figures->masses_text)) + sign,
        .align = PM_ALIGN_RIGHT,
        .hidden = figures->masses.cells == 0,
        .summed = true,
        .from = BOTH_FROM,
        .rank = 6};
    columns[BENCH_ERROR] = (struct pm_column){.heading = "\xC2\xB1",
                                              .wish = ERROR_CELLS,
                                              .align = PM_ALIGN_RIGHT,
                                              .hidden = !sign || figures->masses.cells == 0,
                                              .from = BOTH_FROM,
                                              .rank = 7};
    columns[BENCH_SHARE] = (struct pm_column){
        .heading = "share",
        .wish = at_least(at_least(figures->share_cells, digits(figures->count) + BELOW_CELLS),
                         BENCH_SHARE_CELLS)};
    columns[BENCH_BAR] = (struct pm_column){.heading = figures->scale_text,
                                            .align = PM_ALIGN_RIGHT,
                                            .wish = BAR_MOST / 2,
                                            .least = BAR_LEAST,
                                            .most = BAR_MOST,
                                            .yields = 4,
                                            .rank = 11,
                                            .bare = true};
    names_first(figures, cells, columns);
}

/* ---- cells ---- */

static const struct pm_sheet_line *line_at(const struct bench *bench, size_t place)
{
    return &bench_sheet(bench)->lines[place];
}

/* Behind an amount: what cannot be weighed. The column that says what is weighed bears it. */
static void add_sign(const struct bench *bench, size_t place, size_t column, struct pm_text *out)
{
    const bool massed = bench->list.spans[BENCH_MASS].cells > 0;
    if (!bench_weighs(bench) || column == BENCH_NEAT)
        return;
    const bool here = column == BENCH_BECOMES || column == (massed ? BENCH_MASS : BENCH_PARTS);
    const bool previewed = bench->previewing && column != BENCH_PARTS;
    pm_text_add(out, here && bench_weigh_small(bench, place, previewed) ? PM_TOO_LITTLE : " ");
}

static enum pm_role stance_role(const struct pm_line *line)
{
    return line->stance == PM_CARRIER ? PM_ROLE_CARRIER : PM_ROLE_HELD;
}

/* The core and the stance. */
static enum pm_role tie_cell(const struct bench *bench, const struct pm_line *line,
                             struct pm_text *out)
{
    char text[BENCH_CORE_TEXT];
    pm_text_add(out, bench_tie_text(line, bench->list.cells >= WIDE_FROM, text));
    return line->core ? PM_ROLE_CORE : stance_role(line);
}

static enum pm_role amount_cell(const struct bench *bench, size_t place, size_t column,
                                struct pm_text *out)
{
    const struct bench_figures *figures = &bench->figures;
    const struct bench_column *of = column == BENCH_PARTS  ? &figures->parts
                                    : column == BENCH_NEAT ? &figures->neat
                                    : column == BENCH_MASS ? &figures->masses
                                                           : &figures->becomes;
    char text[PM_AMOUNT_TEXT];
    /* Of what is neat the parts say it. */
    if ((column == BENCH_NEAT && line_at(bench, place)->solvent == NULL) ||
        (column == BENCH_BECOMES && !bench->previewing))
        return PM_ROLE_NORMAL;
    const struct pm_line *line = line_at(bench, place)->line;
    if (line->stance == PM_RESTING) {
        /* What it had and will have again, told apart from what counts. */
        pm_column_row_text(&of->total, line->rested, bench->house->sign, text);
        if (column == BENCH_PARTS)
            pm_text_addf(out, "(%s)%s", text, bench_weighs(bench) ? " " : "");
        return PM_ROLE_FAINT;
    }
    pm_text_add(out, pm_column_row_text(&of->total, of->values[place], bench->house->sign, text));
    add_sign(bench, place, column, out);
    if (column == BENCH_PARTS)
        return PM_ROLE_NORMAL;
    return column == BENCH_BECOMES && bench->preview[place] != line_at(bench, place)->line->parts
               ? PM_ROLE_PREVIEW
               : PM_ROLE_FAINT;
}

/* In words what line_paint paints: the name, what dilutes it, nothing for the bar. False for a
 * column that is not painted. */
static bool painted_cell(const struct bench *bench, const struct pm_sheet_line *line, size_t column,
                         struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT];
    if (column == BENCH_NAME)
        pm_text_add(out, line->title);
    else if (column == BENCH_STRENGTH && line->solvent != NULL)
        pm_text_add(out, pm_strength_format(line->line->strength, bench->house->sign, text));
    else if (column == BENCH_SOLVENT && line->solvent != NULL)
        pm_text_add(out, line->solvent);
    return column == BENCH_NAME || column == BENCH_STRENGTH || column == BENCH_SOLVENT ||
           column == BENCH_BAR;
}

/* The line that a preview would bring in has its amount and what it is. */
static enum pm_role fresh_cell(const struct bench *bench, size_t column, struct pm_text *out)
{
    const struct bench_column *of =
        column == BENCH_MASS ? &bench->figures.masses : &bench->figures.becomes;
    const size_t place = bench_place(bench, BENCH_FRESH);
    char text[PM_AMOUNT_TEXT + 8];
    if (column == BENCH_NAME)
        pm_text_add(out, pm_text_get(&bench->fresh.title));
    if (column == BENCH_ERROR)
        pm_text_add(out, bench_weigh_error(bench, place, text));
    if (column != BENCH_BECOMES && column != BENCH_MASS)
        return PM_ROLE_FAINT;
    pm_text_add(out, pm_column_row_text(&of->total, of->values[place], bench->house->sign, text));
    add_sign(bench, place, column, out);
    return PM_ROLE_PREVIEW;
}

static enum pm_role line_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct bench *bench = context;
    const size_t place = bench_row_line(bench, row);
    if (place == BENCH_FRESH)
        return fresh_cell(bench, column, out);
    const struct pm_sheet_line *line = line_at(bench, place);
    char text[PM_AMOUNT_TEXT + 8];
    if (painted_cell(bench, line, column, out))
        return PM_ROLE_NORMAL;
    switch (column) {
    case BENCH_NUMBER:
        pm_text_addf(out, "%zu", place + 1);
        return PM_ROLE_FAINT;
    case BENCH_STANCE:
        return tie_cell(bench, line->line, out);
    case BENCH_ERROR:
        pm_text_add(out, bench_weigh_error(bench, place, text));
        return PM_ROLE_FAINT;
    case BENCH_COST:
        bench_cost_cell(bench, place, out);
        return PM_ROLE_FAINT;
    case BENCH_BEFORE:
        bench_before_say(bench, place, out);
        return PM_ROLE_FAINT;
    case BENCH_LEAVES:
        bench_drydown_cell(bench, place, out);
        return PM_ROLE_FAINT;
    case BENCH_SHARE:
        pm_text_add(out, bench_share_cell(bench->house, line->share, text));
        return bench_is_trace(line->share) ? PM_ROLE_TRACE : PM_ROLE_NORMAL;
    default:
        return amount_cell(bench, place, column, out);
    }
}

static enum pm_role line_mark(void *context, size_t row, struct pm_text *out)
{
    const struct bench *bench = context;
    const size_t place = bench_row_line(bench, row);
    if (place == BENCH_FRESH) {
        pm_text_add(out, "+");
        return PM_ROLE_PREVIEW;
    }
    bool over = bench_is_over(bench, place);
    pm_text_add(out, bench_is_marked(bench, line_at(bench, place)->line->id) ? "*"
                     : over                                                  ? "!"
                                                                             : "");
    return over ? PM_ROLE_ERROR : PM_ROLE_KEY;
}

/* ---- cells of more than one role ---- */

/* A thin line as long as the share is large, in the colour of words. What is less than half a cell
 * is a dot, so that it can be seen to be there; of which order it is says the share's unit. */
static void draw_bar(const struct bench *bench, const struct pm_pane *pane, int row, int64_t share)
{
    const struct pm_span bar = bench->list.spans[BENCH_BAR];
    const int halves = bench_bar_halves(share, bench->figures.scale, bar.cells);
    const bool utf8 = bench->house->utf8;
    if (share > 0 && halves == 0)
        pm_pane_put(pane, row, bar.at, bench_is_trace(share) ? PM_ROLE_TRACE : PM_ROLE_FAINT,
                    utf8 ? "\xC2\xB7" : ".");
    pm_pane_repeat(pane, row, bar.at, halves / 2, PM_ROLE_NORMAL, utf8 ? "\xE2\x94\x81" : "=");
    if (halves % 2 > 0)
        pm_pane_put(pane, row, bar.at + halves / 2, PM_ROLE_NORMAL, utf8 ? "\xE2\x95\xB8" : "-");
}

/* What lies in the name's, the strength's and the solvent's place of one row. */
struct identity {
    const struct bench *bench;
    const struct pm_pane *pane;
    int row;
    const struct pm_sheet_line *line;
};

/* The strength stands below the others, save where the solvent is cut and the name leaves room:
 * then both move to the left. Returns where they begin. */
static int draw_dilution(const struct identity *of)
{
    const struct pm_span *spans = of->bench->list.spans;
    struct pm_span solvent = spans[BENCH_SOLVENT];
    char text[PM_AMOUNT_TEXT];
    pm_strength_format(of->line->line->strength, of->bench->house->sign, text);
    const int strength = (int)pm_utf8_cells(text);
    const int lacking = (int)pm_utf8_cells(of->line->solvent) - solvent.cells;
    int at = spans[BENCH_STRENGTH].at + spans[BENCH_STRENGTH].cells - strength;
    const int room = at - spans[BENCH_NAME].at - (int)pm_utf8_cells(of->line->title) - 1;
    const int moved = solvent.cells == 0 || lacking < 0 || room < 0 ? 0 : at_most(lacking, room);
    at -= moved;
    solvent.at -= moved;
    solvent.cells += moved;
    pm_pane_put(of->pane, of->row, at, PM_ROLE_NORMAL, text);
    if (solvent.cells > 0)
        pm_span_put(of->pane, of->row, solvent, PM_ALIGN_LEFT, PM_ROLE_FAINT, of->line->solvent);
    return at;
}

/* Which kept trial of an accord is newer than the line's. Returns where it begins. */
static int draw_newer(const struct identity *of, int end)
{
    char text[40];
    if (of->line->accord_newest <= of->line->accord_number)
        return end;
    snprintf(text, sizeof text, "/%lld is newer", (long long)of->line->accord_newest);
    const struct pm_span at = {end - (int)strlen(text), (int)strlen(text)};
    pm_span_put(of->pane, of->row, at, PM_ALIGN_LEFT, PM_ROLE_WARNING, text);
    return at.at;
}

/* The name, what dilutes it or is newer, and between them as far as there is room what is lacking
 * of it on the shelf, and a comment. */
static void draw_identity(const struct identity *of)
{
    const struct pm_span *spans = of->bench->list.spans;
    const struct pm_sheet_line *line = of->line;
    const size_t last = spans[BENCH_SOLVENT].cells > 0    ? BENCH_SOLVENT
                        : spans[BENCH_STRENGTH].cells > 0 ? BENCH_STRENGTH
                                                          : BENCH_NAME;
    const int start = spans[BENCH_NAME].at;
    int end = spans[last].at + spans[last].cells;
    if (line->solvent != NULL && spans[BENCH_STRENGTH].cells > 0)
        end = draw_dilution(of) - 1;
    else if (line->accord_newest > line->accord_number)
        end = draw_newer(of, end) - 1;
    /* No wider than the name: some roles can be seen on blanks as well. */
    const int cells = (int)pm_utf8_cells(line->title);
    int at = start + pm_pane_put_left(of->pane, of->row, start, at_most(cells, end - start),
                                      line->accord_formula ? PM_ROLE_ACCORD : PM_ROLE_NORMAL,
                                      line->title);
    const char *stock = bench_stock_word(of->bench, line->line);
    if (*stock && end - at >= (int)strlen(stock) + 3) {
        at += pm_pane_put(of->pane, of->row, at, PM_ROLE_FAINT, DOT);
        at += pm_pane_put(of->pane, of->row, at, PM_ROLE_WARNING, stock);
    }
    if (line->line->comment != NULL && end - at > 8)
        pm_pane_put_left(of->pane, of->row, at + 2, end - at - 2, PM_ROLE_FAINT,
                         line->line->comment);
}

/* What comes in has no place of its own in the sheet yet: no share, and nothing the shelf says. */
static bool fresh_paint(const struct bench *bench, const struct pm_pane *pane, int row,
                        size_t column)
{
    const struct bench_fresh *fresh = &bench->fresh;
    const bool diluted = fresh->line.strength < PM_NEAT && fresh->solvent.length > 0;
    const struct pm_sheet_line line = {.line = &fresh->line,
                                       .title = pm_text_get(&fresh->title),
                                       .solvent = diluted ? pm_text_get(&fresh->solvent) : NULL};
    const struct identity of = {bench, pane, row, &line};
    if (column == BENCH_NAME)
        draw_identity(&of);
    return column == BENCH_NAME || column == BENCH_STRENGTH || column == BENCH_SOLVENT;
}

static bool line_paint(void *context, const struct pm_pane *pane, int y, size_t row, size_t column)
{
    const struct bench *bench = context;
    const size_t place = bench_row_line(bench, row);
    if (place == BENCH_FRESH)
        return fresh_paint(bench, pane, y, column);
    const struct pm_sheet_line *line = line_at(bench, place);
    const struct identity of = {bench, pane, y, line};
    if (column == BENCH_NAME)
        draw_identity(&of);
    else if (column == BENCH_BAR)
        draw_bar(bench, pane, y, line->share);
    else
        return column == BENCH_STRENGTH || column == BENCH_SOLVENT;
    return true;
}

/* ---- the total ---- */

static enum pm_role total_amount(const struct bench *bench, const struct bench_column *column,
                                 enum pm_role role, struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT];
    pm_text_add(out, pm_column_total_text(&column->total, bench->house->sign, text));
    if (column != &bench->figures.neat && bench_weighs(bench))
        pm_text_add(out, " ");
    return role;
}

/* How many lines, and how many of them are marked; where the facts have no room for it, how many of
 * them the balance cannot weigh. */
static void total_name(const struct bench *bench, struct pm_text *out)
{
    const size_t count = bench_rows(bench), before = out->length;
    if (bench->mark_count > 0)
        pm_text_addf(out, "%zu marked of %zu", bench->mark_count, count);
    else if (bench->list.cells < BENCH_WEIGH_FROM)
        bench_weigh_total(bench, out);
    if (out->length == before)
        pm_text_addf(out, "total of %zu line%s", count, count == 1 ? "" : "s");
}

static enum pm_role total_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct bench *bench = context;
    const struct bench_figures *figures = &bench->figures;
    (void)row;
    switch (column) {
    case BENCH_NAME:
        total_name(bench, out);
        return PM_ROLE_HEADING;
    case BENCH_PARTS:
        return total_amount(bench, &figures->parts, PM_ROLE_HEADING, out);
    case BENCH_NEAT:
        if (figures->strength_cells > 0)
            return total_amount(bench, &figures->neat, PM_ROLE_FAINT, out);
        return PM_ROLE_FAINT;
    case BENCH_BECOMES:
        if (bench->previewing)
            return total_amount(bench, &figures->becomes, PM_ROLE_PREVIEW, out);
        return PM_ROLE_FAINT;
    case BENCH_MASS:
        return total_amount(bench, &figures->masses, PM_ROLE_FAINT, out);
    case BENCH_COST:
        if (bench->cost.currency[0] != '\0')
            bench_cost_total(bench, out);
        return PM_ROLE_FAINT;
    case BENCH_SHARE:
        if (bench->list.below > 0)
            pm_text_addf(out, "%zu below", bench->list.below);
        return PM_ROLE_FAINT;
    default:
        return PM_ROLE_FAINT;
    }
}

/* ---- together ---- */

/* What a wide sheet says besides. While something is typed the costs, which were read before it,
 * leave their place to what the lines would become. */
static void insight_columns(const struct bench *bench, const struct pm_pane *pane,
                            const char *before, struct pm_column columns[BENCH_COLUMNS])
{
    const int becomes = columns[BENCH_BECOMES].wish;
    columns[BENCH_COST] = (struct pm_column){.heading = bench_cost_heading(bench),
                                             .align = PM_ALIGN_POINT,
                                             .wish = becomes,
                                             .hidden = !bench_costs(bench) || bench->previewing,
                                             .summed = bench->cost.currency[0] != '\0',
                                             .from = BENCH_COST_FROM,
                                             .rank = 9};
    columns[BENCH_LEAVES] = (struct pm_column){.heading = "leaves",
                                               .wish = LEAVES_CELLS,
                                               .hidden = bench->drydown.lines.count == 0,
                                               .from = BENCH_COST_FROM,
                                               .rank = 8};
    columns[BENCH_BEFORE] = (struct pm_column){.heading = before,
                                               .align = PM_ALIGN_POINT,
                                               .optional = true,
                                               .hidden = *before == '\0',
                                               .from = BENCH_COST_FROM,
                                               .rank = 12};
    if (bench_costs(bench) && pane->columns >= BENCH_COST_FROM)
        columns[BENCH_BECOMES].hidden = !bench->previewing;
}

/* A line that would come in is what one looks at. */
static size_t selected_row(const struct bench *bench)
{
    return bench->has_fresh ? bench->fresh.place : bench->at;
}

void bench_draw_lines(struct bench *bench, const struct pm_pane *pane, int covered)
{
    struct pm_column columns[BENCH_COLUMNS];
    char before[PM_AMOUNT_TEXT];
    const struct pm_table table = {.columns = columns,
                                   .column_count = BENCH_COLUMNS,
                                   .rows = bench_rows(bench),
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
    insight_columns(bench, pane, bench_before_heading(bench, before), columns);
    bench->list.row = selected_row(bench);
    pm_table_draw(&table, &bench->list, pane);
}
