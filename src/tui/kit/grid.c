/* SPDX-License-Identifier: MIT */
/* The screen in memory: cells, and painting into them. */
#include "grid.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/entity.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define CELL_CODES 5 /* code points a cell may hold: what curses can show */

static const char mark[] = "\xEF\xBF\xBD";     /* U+FFFD, for what must not be shown */
static const char ellipsis[] = "\xE2\x80\xA6"; /* U+2026 */
static const char rule[] = "\xE2\x94\x80";     /* U+2500 */

static const char role_letters[PM_ROLE_COUNT] = {
    [PM_ROLE_NORMAL] = '.',  [PM_ROLE_HEADING] = 'h',  [PM_ROLE_FAINT] = 'f',
    [PM_ROLE_RULE] = 'r',    [PM_ROLE_SELECTED] = 's', [PM_ROLE_EDITING] = 'e',
    [PM_ROLE_PREVIEW] = 'p', [PM_ROLE_GOOD] = 'g',     [PM_ROLE_WARNING] = 'w',
    [PM_ROLE_ERROR] = 'x',   [PM_ROLE_TRACE] = 't',    [PM_ROLE_HELD] = 'l',
    [PM_ROLE_CORE] = 'c',    [PM_ROLE_CARRIER] = 'v',  [PM_ROLE_ACCORD] = 'a',
    [PM_ROLE_BAR] = 'b',     [PM_ROLE_KEY] = 'k',      [PM_ROLE_ROW] = 'u',
};

static char role_letter(enum pm_role role)
{
    return role < PM_ROLE_COUNT ? role_letters[role] : '?';
}

/* ---- the grid -------------------------------------------------------------------------------- */

static void cell_blank(struct pm_cell *cell, uint8_t role)
{
    memset(cell, 0, sizeof *cell);
    cell->bytes[0] = ' ';
    cell->length = 1;
    cell->width = 1;
    cell->role = role;
}

static struct pm_cell *cells_new(int rows, int columns)
{
    return pm_alloc_array((size_t)rows * (size_t)columns, sizeof(struct pm_cell));
}

bool pm_grid_init(struct pm_grid *grid, int rows, int columns)
{
    *grid = (struct pm_grid){0};
    return pm_grid_resize(grid, rows, columns);
}

void pm_grid_release(struct pm_grid *grid)
{
    pm_free(grid->cells);
    *grid = (struct pm_grid){0};
}

bool pm_grid_resize(struct pm_grid *grid, int rows, int columns)
{
    if (rows < 1)
        rows = 1;
    if (columns < 1)
        columns = 1;
    struct pm_cell *cells = cells_new(rows, columns);
    if (cells == NULL)
        return false;
    pm_free(grid->cells);
    grid->rows = rows;
    grid->columns = columns;
    grid->cells = cells;
    pm_grid_clear(grid);
    return true;
}

void pm_grid_clear(struct pm_grid *grid)
{
    size_t count = (size_t)grid->rows * (size_t)grid->columns;
    for (size_t i = 0; i < count; i++)
        cell_blank(&grid->cells[i], PM_ROLE_NORMAL);
    grid->cursor_row = grid->cursor_column = -1;
}

static struct pm_cell *cell_at(const struct pm_grid *grid, int row, int column)
{
    if (row < 0 || column < 0 || row >= grid->rows || column >= grid->columns)
        return NULL;
    return &grid->cells[(size_t)row * (size_t)grid->columns + (size_t)column];
}

const struct pm_cell *pm_grid_cell(const struct pm_grid *grid, int row, int column)
{
    return cell_at(grid, row, column);
}

/* Before a cell is overwritten: the other half of a wide glyph would be left without its partner.
 */
static void cell_split(struct pm_grid *grid, int row, int column)
{
    struct pm_cell *cell = cell_at(grid, row, column);
    if (cell == NULL || cell->width == 1)
        return;
    struct pm_cell *other = cell_at(grid, row, cell->width == 2 ? column + 1 : column - 1);
    if (other != NULL)
        cell_blank(other, other->role);
    cell_blank(cell, cell->role);
}

/* Variation selectors make terminals disagree about widths, and so do pictures that are joined into
 * one: the first of them stands for all. The rest of a glyph is kept as far as a cell holds it. */
static void cell_fill(struct pm_cell *cell, const char *bytes, size_t length)
{
    size_t codes = 0;
    memset(cell->bytes, 0, sizeof cell->bytes);
    cell->length = 0;
    for (size_t at = 0; at < length && codes < CELL_CODES;) {
        uint32_t code;
        size_t step = pm_utf8_decode(bytes + at, length - at, &code);
        if (code == 0x200D)
            break;
        bool selector = code == 0x200C || (code >= 0xFE00 && code <= 0xFE0F);
        if (!selector && cell->length + step <= PM_CELL_BYTES) {
            memcpy(cell->bytes + cell->length, bytes + at, step);
            cell->length = (uint8_t)(cell->length + step);
            codes++;
        }
        at += step;
    }
}

static void glyph_put(struct pm_grid *grid, int row, int column, const struct pm_glyph *glyph,
                      enum pm_role role)
{
    struct pm_cell *cell = cell_at(grid, row, column);
    if (cell == NULL)
        return;
    for (int i = 0; i < glyph->cells; i++)
        cell_split(grid, row, column + i);
    cell_blank(cell, (uint8_t)role);
    if (glyph->shown)
        cell_fill(cell, glyph->bytes, glyph->length);
    else
        cell_fill(cell, mark, sizeof mark - 1);
    cell->width = (uint8_t)glyph->cells;
    if (glyph->cells == 2) {
        struct pm_cell *half = cell + 1;
        cell_blank(half, (uint8_t)role);
        memset(half->bytes, 0, sizeof half->bytes);
        half->length = 0;
        half->width = 0;
    }
}

/* ---- dumps ----------------------------------------------------------------------------------- */

void pm_grid_dump_text(const struct pm_grid *grid, struct pm_text *out)
{
    for (int row = 0; row < grid->rows; row++) {
        int end = grid->columns;
        const struct pm_cell *cell;
        while (end > 0 && (cell = cell_at(grid, row, end - 1))->length == 1 &&
               cell->bytes[0] == ' ')
            end--;
        for (int column = 0; column < end; column++) {
            cell = cell_at(grid, row, column);
            pm_text_add_bytes(out, cell->bytes, cell->length);
        }
        pm_text_add_char(out, '\n');
    }
}

static char cell_letter(const struct pm_cell *cell)
{
    return role_letter(cell->overlay ? cell->overlay : cell->role);
}

void pm_grid_dump_roles(const struct pm_grid *grid, struct pm_text *out)
{
    for (int row = 0; row < grid->rows; row++) {
        int end = grid->columns;
        while (end > 0 && cell_letter(cell_at(grid, row, end - 1)) == '.')
            end--;
        for (int column = 0; column < end; column++)
            pm_text_add_char(out, cell_letter(cell_at(grid, row, column)));
        pm_text_add_char(out, '\n');
    }
}

/* ---- panes ----------------------------------------------------------------------------------- */

struct pm_pane pm_pane_all(struct pm_grid *grid)
{
    return (struct pm_pane){grid, 0, 0, grid->rows, grid->columns};
}

/* The part of [at, at + size) inside [0, whole). */
static void span_cut(int *at, int *size, int whole)
{
    int end = *size > whole - *at ? whole : *at + *size;
    if (*at < 0)
        *at = 0;
    if (*at > whole)
        *at = whole;
    *size = end > *at ? end - *at : 0;
}

struct pm_pane pm_pane_part(const struct pm_pane *pane, int row, int column, int rows, int columns)
{
    span_cut(&row, &rows, pane->rows);
    span_cut(&column, &columns, pane->columns);
    return (struct pm_pane){pane->grid, pane->row + row, pane->column + column, rows, columns};
}

/* Paints `length` bytes of text into the cells from column up to end (relative to the pane, cut to
 * it). Returns the cells the text took, with what lay left of the pane. */
static int paint(const struct pm_pane *pane, int row, int column, int end, enum pm_role role,
                 const char *text, size_t length)
{
    int start = column;
    if (row < 0 || row >= pane->rows)
        return 0;
    if (end > pane->columns)
        end = pane->columns;
    for (const char *at = text; at < text + length && *at;) {
        struct pm_glyph glyph = pm_utf8_next(at);
        if (column + glyph.cells > end)
            break;
        /* A mark without a base, at the start of a text, has no cell to go to. */
        if (column >= 0 && glyph.cells > 0)
            glyph_put(pane->grid, pane->row + row, pane->column + column, &glyph, role);
        column += glyph.cells;
        at += glyph.length;
    }
    return column - start;
}

int pm_pane_put(const struct pm_pane *pane, int row, int column, enum pm_role role,
                const char *text)
{
    return paint(pane, row, column, pane->columns, role, text, strlen(text));
}

int pm_pane_putf(const struct pm_pane *pane, int row, int column, enum pm_role role,
                 const char *format, ...)
{
    char text[1024];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    return pm_pane_put(pane, row, column, role, text);
}

static void blank(const struct pm_pane *pane, int row, int column, int cells, enum pm_role role)
{
    span_cut(&column, &cells, pane->columns);
    if (row < 0 || row >= pane->rows)
        return;
    for (int i = column; i < column + cells; i++) {
        cell_split(pane->grid, pane->row + row, pane->column + i);
        struct pm_cell *cell = cell_at(pane->grid, pane->row + row, pane->column + i);
        if (cell != NULL)
            cell_blank(cell, (uint8_t)role);
    }
}

static int put_field(const struct pm_pane *pane, int row, int column, int cells, enum pm_role role,
                     const char *text, bool right)
{
    size_t width = pm_utf8_cells(text);
    size_t length = strlen(text);
    bool cut = cells >= 0 && width > (size_t)cells;
    if (cells <= 0)
        return 0;
    blank(pane, row, column, cells, role);
    if (cut) {
        length = pm_utf8_fit(text, (size_t)cells - 1);
        int used = paint(pane, row, column, column + cells - 1, role, text, length);
        return used + paint(pane, row, column + used, column + cells, role, ellipsis, 3);
    }
    int at = right ? column + cells - (int)width : column;
    return paint(pane, row, at, column + cells, role, text, length);
}

int pm_pane_put_left(const struct pm_pane *pane, int row, int column, int cells, enum pm_role role,
                     const char *text)
{
    return put_field(pane, row, column, cells, role, text, false);
}

int pm_pane_put_right(const struct pm_pane *pane, int row, int column, int cells, enum pm_role role,
                      const char *text)
{
    return put_field(pane, row, column, cells, role, text, true);
}

void pm_pane_repeat(const struct pm_pane *pane, int row, int column, int cells, enum pm_role role,
                    const char *glyph)
{
    int end = cells < pane->columns - column ? column + cells : pane->columns;
    while (column < end) {
        int used = paint(pane, row, column, end, role, glyph, strlen(glyph));
        if (used == 0)
            return;
        column += used;
    }
}

void pm_pane_rule(const struct pm_pane *pane, int row, const char *title)
{
    pm_pane_repeat(pane, row, 0, pane->columns, PM_ROLE_RULE, rule);
    if (title != NULL && *title && pane->columns > 8) {
        size_t width = pm_utf8_cells(title);
        int cells = width > (size_t)pane->columns - 6 ? pane->columns - 6 : (int)width;
        blank(pane, row, 2, cells + 2, PM_ROLE_NORMAL);
        pm_pane_put_left(pane, row, 3, cells, PM_ROLE_HEADING, title);
    }
}

void pm_pane_blank(const struct pm_pane *pane, int row, int column, int rows, int columns)
{
    for (int i = 0; i < rows; i++)
        blank(pane, row + i, column, columns, PM_ROLE_NORMAL);
}

void pm_pane_overlay(const struct pm_pane *pane, int row, int column, int rows, int columns,
                     enum pm_role role)
{
    struct pm_pane part = pm_pane_part(pane, row, column, rows, columns);
    for (int y = 0; y < part.rows; y++) {
        for (int x = 0; x < part.columns; x++) {
            struct pm_cell *cell = cell_at(part.grid, part.row + y, part.column + x);
            if (cell != NULL)
                cell->overlay = (uint8_t)role;
        }
    }
}

static int clamp(int value, int least, int most)
{
    if (value > most)
        value = most;
    return value < least ? least : value;
}

void pm_pane_cursor(const struct pm_pane *pane, int row, int column)
{
    if (pane->rows < 1 || pane->columns < 1)
        return;
    pane->grid->cursor_row = pane->row + clamp(row, 0, pane->rows - 1);
    pane->grid->cursor_column = pane->column + clamp(column, 0, pane->columns - 1);
}

/* ---- wrapping -------------------------------------------------------------------------------- */

int pm_wrap_rows(const char *text, int cells)
{
    int rows = 0;
    for (size_t next = 0; cells > 0 && *text != '\0'; text += next, rows++)
        pm_wrap_next(text, cells, &next);
    return rows;
}

int pm_pane_wrap(const struct pm_pane *pane, int row, enum pm_role role, const char *text)
{
    int used = 0;
    if (pane->columns < 1)
        return 0;
    while (*text) {
        size_t next;
        size_t length = pm_wrap_next(text, pane->columns, &next);
        const int cells = paint(pane, row + used, 0, pane->columns, role, text, length);
        text += next;
        if (*text && row + used == pane->rows - 1)
            pm_pane_put(pane, row + used, cells < pane->columns ? cells : cells - 1, role,
                        ellipsis);
        used++;
    }
    return used;
}

int pm_pane_fact(const struct pm_pane *pane, int row, int cells, const char *label,
                 enum pm_role role, const char *text)
{
    if (text == NULL || !*text || row >= pane->rows)
        return row;
    const struct pm_pane rest =
        pm_pane_part(pane, row, cells, pane->rows - row, pane->columns - cells);
    pm_pane_put_left(pane, row, 0, cells - 1, PM_ROLE_FAINT, label);
    return row + pm_pane_wrap(&rest, 0, role, text);
}

int pm_pane_attribute(const struct pm_pane *pane, int row, int cells,
                      const struct pm_attribute *attribute, const void *of, char sign)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char brief[PM_OPTION_TEXT];
    pm_attribute_show(attribute, of, sign, &text);
    pm_attribute_brief(attribute, brief, sizeof brief);
    row = pm_pane_fact(pane, row, cells, brief, PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&text);
    return row;
}
