/* SPDX-License-Identifier: MIT */
/* Bringing in: the table of what was understood. */
#include "bringing_room.h"

#include "permille/base/amount.h"

static const struct pm_column columns[BRINGING_COLUMNS] = {
    [BRINGING_AT] = {"at", "line", PM_ALIGN_RIGHT, .wish = 4, .fixed = true},
    [BRINGING_NAME] = {"name", "becomes", .wish = 14, .least = 14, .most = 40, .measured = true,
                       .yields = 1, .fixed = true, .edited = true},
    [BRINGING_MATCH] = {"match", "match", .wish = 5},
    [BRINGING_PARTS] = {"parts", "parts", PM_ALIGN_POINT, .wish = 6, .measured = true,
                        .edited = true},
    [BRINGING_STRENGTH] = {"strength", "at", PM_ALIGN_RIGHT, .wish = 5, .measured = true,
                           .edited = true},
    [BRINGING_SOLVENT] = {"solvent", "in", .wish = 10, .least = 6, .gap = 1, .most = 26,
                          .measured = true, .yields = 2, .edited = true},
    [BRINGING_WRITTEN] = {"written", "as written", .wish = 24, .most = 40, .from = 110},
    [BRINGING_DOUBT] = {"doubt", "to look at", .wish = 10, .least = 10, .measured = true,
                        .optional = true, .yields = 3, .grows = true},
};

size_t bringing_rows(const struct bringing_room *room)
{
    return room->some ? room->bringing.formula_count + room->bringing.line_count : 0;
}

struct bringing_row bringing_row_at(const struct bringing_room *room, size_t row)
{
    for (size_t f = 0; f < room->bringing.formula_count; f++) {
        const struct pm_brought_formula *formula = &room->bringing.formulas[f];
        if (row == 0)
            return (struct bringing_row){.formula = f};
        if (row <= formula->count)
            return (struct bringing_row){f, true, formula->first + row - 1};
        row -= formula->count + 1;
    }
    return (struct bringing_row){.formula = 0};
}

static bool out_of_it(const struct bringing_room *room, const struct bringing_row *row)
{
    return room->bringing.formulas[row->formula].left_out ||
           (row->is_line && room->bringing.lines[row->line].left_out);
}

bool bringing_doubtful(const struct bringing_room *room, size_t at)
{
    const struct bringing_row row = bringing_row_at(room, at);
    if (out_of_it(room, &row))
        return false;
    return row.is_line ? room->bringing.lines[row.line].doubt != NULL
                       : room->bringing.formulas[row.formula].remark != NULL;
}

void bringing_written(const struct pm_brought_line *line, struct pm_text *out)
{
    for (const char *at = line->text; at != NULL && *at; at++)
        pm_text_add_char(out, *at == '\t' ? ' ' : *at);
}

static void add_parts(const struct bringing_room *room, pm_parts parts, struct pm_text *out)
{
    char buf[PM_AMOUNT_TEXT];
    pm_text_add(out, pm_decimal_exact(parts, 6, room->house->sign, buf));
}

static enum pm_role formula_cell(const struct bringing_room *room,
                                 const struct pm_brought_formula *formula, size_t column,
                                 struct pm_text *out)
{
    switch (column) {
    case BRINGING_NAME:
        pm_text_add(out, formula->name);
        return formula->left_out ? PM_ROLE_FAINT : PM_ROLE_HEADING;
    case BRINGING_PARTS:
        add_parts(room, formula->total, out);
        return formula->left_out ? PM_ROLE_FAINT : PM_ROLE_HEADING;
    case BRINGING_DOUBT:
        if (formula->left_out)
            pm_text_add(out, "left out");
        else if (formula->remark != NULL)
            pm_text_add(out, formula->remark);
        return formula->left_out ? PM_ROLE_FAINT : PM_ROLE_WARNING;
    default:
        return PM_ROLE_NORMAL;
    }
}

static enum pm_role line_cell(const struct bringing_room *room, const struct pm_brought_line *line,
                              size_t column, struct pm_text *out)
{
    char buf[PM_AMOUNT_TEXT];
    const bool neat = line->strength == PM_NEAT;
    switch (column) {
    case BRINGING_AT:
        pm_text_addf(out, "%zu", line->at);
        return PM_ROLE_FAINT;
    case BRINGING_NAME:
        pm_text_add(out, line->matched != NULL ? line->matched : "?");
        return line->accord != 0 ? PM_ROLE_ACCORD : PM_ROLE_NORMAL;
    case BRINGING_MATCH:
        pm_text_add(out, line->name != NULL ? pm_match_word(line->match) : "");
        return line->match == PM_MATCH_EXACT  ? PM_ROLE_FAINT
               : line->match == PM_MATCH_NEAR ? PM_ROLE_WARNING
                                              : PM_ROLE_PREVIEW;
    case BRINGING_PARTS:
        add_parts(room, line->parts, out);
        return PM_ROLE_NORMAL;
    case BRINGING_STRENGTH:
        pm_text_add(out, neat ? "" : pm_strength_format(line->strength, room->house->sign, buf));
        return PM_ROLE_NORMAL;
    case BRINGING_SOLVENT:
        pm_text_add(out, neat ? "" : line->solvent_matched);
        return line->solvent_match == PM_MATCH_EXACT ? PM_ROLE_NORMAL : PM_ROLE_PREVIEW;
    case BRINGING_WRITTEN:
        bringing_written(line, out);
        return PM_ROLE_FAINT;
    default:
        pm_text_add(out, line->left_out ? "left out" : line->doubt != NULL ? line->doubt : "");
        return line->left_out ? PM_ROLE_FAINT : PM_ROLE_WARNING;
    }
}

static enum pm_role cell(void *context, size_t at, size_t column, struct pm_text *out)
{
    const struct bringing_room *room = context;
    const struct bringing_row row = bringing_row_at(room, at);
    const enum pm_role role =
        row.is_line ? line_cell(room, &room->bringing.lines[row.line], column, out)
                    : formula_cell(room, &room->bringing.formulas[row.formula], column, out);
    return out_of_it(room, &row) ? PM_ROLE_FAINT : role;
}

/* A sign beside the colour: "?" where to look, "-" what stays outside. */
static enum pm_role mark(void *context, size_t at, struct pm_text *out)
{
    const struct bringing_room *room = context;
    const struct bringing_row row = bringing_row_at(room, at);
    if (out_of_it(room, &row))
        pm_text_add(out, "-");
    else if (bringing_doubtful(room, at))
        pm_text_add(out, "?");
    return PM_ROLE_WARNING;
}

static enum pm_status open_cell(void *context, size_t at, size_t column, struct pm_text *out,
                                struct pm_error *err)
{
    const struct bringing_room *room = context;
    const struct bringing_row row = bringing_row_at(room, at);
    if (!row.is_line && column != BRINGING_NAME)
        return pm_fail(err, PM_REFUSED, "Only the name of a formula can be typed here.");
    if (row.is_line && column == BRINGING_SOLVENT &&
        room->bringing.lines[row.line].strength == PM_NEAT)
        return pm_fail(err, PM_REFUSED, "It is neat: give it a strength first.");
    cell(context, at, column, out);
    return PM_OK;
}

static enum pm_status write_cell(void *context, size_t at, size_t column, const char *text,
                                 struct pm_error *err)
{
    struct bringing_room *room = context;
    const struct bringing_row row = bringing_row_at(room, at);
    struct pm_studio *studio = room->house->studio;
    const enum pm_brought_field field = column == BRINGING_PARTS      ? PM_BROUGHT_PARTS
                                        : column == BRINGING_STRENGTH ? PM_BROUGHT_STRENGTH
                                        : column == BRINGING_SOLVENT  ? PM_BROUGHT_SOLVENT
                                                                      : PM_BROUGHT_NAME;
    const enum pm_status status =
        row.is_line ? pm_bringing_set(studio, &room->bringing, row.line, field, text, err)
                    : pm_bringing_title(studio, &room->bringing, row.formula, text, err);
    pm_table_changed(&room->view);
    return status;
}

struct pm_table bringing_table(struct bringing_room *room)
{
    return (struct pm_table){.columns = columns,
                             .column_count = BRINGING_COLUMNS,
                             .rows = bringing_rows(room),
                             .context = room,
                             .cell = cell,
                             .mark = mark,
                             .open = open_cell,
                             .write = write_cell,
                             .by_cell = true,
                             .above = 2};
}
