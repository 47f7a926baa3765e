/* SPDX-License-Identifier: MIT */
/*
 * The screen in memory: a grid of cells, each holding one glyph and the role it plays.
 *
 * Rooms and overlays paint into panes (rectangles of a grid) and know nothing of the terminal;
 * term.h puts the finished grid on it. Text is clipped by cells and never splits a wide or
 * combined glyph; whatever a terminal could take for a command is replaced by a mark.
 *
 * A role says what a text means, never how it looks; term_curses.c alone maps roles to attributes
 * and colours. Every role must also be recognisable by a word or a sign beside it.
 */
#ifndef PERMILLE_TUI_GRID_H
#define PERMILLE_TUI_GRID_H

#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_copy;
struct pm_speech;

enum pm_role {
    PM_ROLE_NORMAL,
    PM_ROLE_HEADING,  /* names of rooms, columns, panels */
    PM_ROLE_FAINT,    /* units, labels, what may be overlooked */
    PM_ROLE_RULE,     /* thin lines */
    PM_ROLE_SELECTED, /* overlay: the row, cell or entry with the focus */
    PM_ROLE_ROW,      /* overlay: the row that a cell with the focus is in */
    PM_ROLE_EDITING,  /* the text being typed */
    PM_ROLE_PREVIEW,  /* what a value would become */
    PM_ROLE_GOOD,     /* done, saved, within limits */
    PM_ROLE_WARNING,  /* look at this */
    PM_ROLE_ERROR,    /* refused, failed, over a limit */
    PM_ROLE_TRACE,    /* an amount so small that it is easily lost */
    PM_ROLE_HELD,     /* a line that does not move */
    PM_ROLE_CORE,     /* a line whose ratio is kept */
    PM_ROLE_CARRIER,  /* the line that takes up the difference */
    PM_ROLE_ACCORD,   /* a formula used inside another */
    PM_ROLE_BAR,      /* bars and plots */
    PM_ROLE_KEY,      /* the name of a key */
    PM_ROLE_COUNT
};

/* A base (4 bytes at most) and four combining marks: as much as curses keeps in a cell. */
#define PM_CELL_BYTES 20

/* All members are bytes, so that rows can be compared with memcmp. */
struct pm_cell {
    char bytes[PM_CELL_BYTES]; /* UTF-8, not terminated, zero-filled */
    uint8_t length;            /* bytes used; 0 in the second half of a wide glyph */
    uint8_t width;             /* 1 or 2; 0 in the second half of a wide glyph */
    uint8_t role;              /* enum pm_role */
    uint8_t overlay;           /* a role laid over it, PM_ROLE_NORMAL for none */
};

struct pm_grid {
    int rows, columns;
    struct pm_cell *cells; /* rows * columns, row after row; owned */
    /* Where the hardware cursor goes; -1, -1 when nobody has placed it. */
    int cursor_row, cursor_column;
    /* Borrowed, as a rule NULL: where what is in front is put instead of being painted (copy.h). */
    struct pm_copy *copy;
    /* The same: where it is told in words as well (speech.h). */
    struct pm_speech *speech;
};

/* Blank grid of at least 1x1. False when memory ran out (the grid is then empty but releasable). */
bool pm_grid_init(struct pm_grid *grid, int rows, int columns);
void pm_grid_release(struct pm_grid *grid);
/* Blank, in the new size. False when memory ran out: size and content stay. */
bool pm_grid_resize(struct pm_grid *grid, int rows, int columns);
/* All cells blank, cursor placed nowhere. */
void pm_grid_clear(struct pm_grid *grid);
/* Borrowed; NULL outside the grid. */
const struct pm_cell *pm_grid_cell(const struct pm_grid *grid, int row, int column);

/* The grid as text, one line per row, blanks at the ends of lines dropped. */
void pm_grid_dump_text(const struct pm_grid *grid, struct pm_text *out);
/* The second layer: role letters in the same places (a wide glyph gives two), trailing '.'
 * dropped. */
void pm_grid_dump_roles(const struct pm_grid *grid, struct pm_text *out);

/* A rectangle of a grid. Every call below takes rows and columns relative to the pane and leaves
 * cells outside the pane alone, so coordinates may be out of range. Passed by value or as const
 * pointer; owns nothing. */
struct pm_pane {
    struct pm_grid *grid;
    int row, column, rows, columns;
};

struct pm_pane pm_pane_all(struct pm_grid *grid);
/* A part of a pane, cut to what lies inside it (possibly empty). */
struct pm_pane pm_pane_part(const struct pm_pane *pane, int row, int column, int rows, int columns);

/* Text from (row, column) to the pane's edge. Returns the cells painted. */
int pm_pane_put(const struct pm_pane *pane, int row, int column, enum pm_role role,
                const char *text);
/* The same, formatted; the result is cut at 1 KiB. */
int pm_pane_putf(const struct pm_pane *pane, int row, int column, enum pm_role role,
                 const char *format, ...) __attribute__((format(printf, 5, 6)));
/* Text in a field of `cells`: text that is too long ends in an ellipsis, the rest of the field is
 * blanked. Returns the cells of text painted. */
int pm_pane_put_left(const struct pm_pane *pane, int row, int column, int cells, enum pm_role role,
                     const char *text);
int pm_pane_put_right(const struct pm_pane *pane, int row, int column, int cells, enum pm_role role,
                      const char *text);
/* One glyph again and again, for bars. */
void pm_pane_repeat(const struct pm_pane *pane, int row, int column, int cells, enum pm_role role,
                    const char *glyph);
/* A thin line over the whole width of the pane, with a title in it unless that is NULL. */
void pm_pane_rule(const struct pm_pane *pane, int row, const char *title);
/* Blanks a rectangle. */
void pm_pane_blank(const struct pm_pane *pane, int row, int column, int rows, int columns);
/* Lays a role over a rectangle, text stays (PM_ROLE_SELECTED for the row with the focus). */
void pm_pane_overlay(const struct pm_pane *pane, int row, int column, int rows, int columns,
                     enum pm_role role);
/* Places the hardware cursor; the last call before the paint counts. Kept inside the pane. */
void pm_pane_cursor(const struct pm_pane *pane, int row, int column);
/* The rows that the text takes as pm_wrap_next (base/utf8.h) breaks it. */
int pm_wrap_rows(const char *text, int cells);
/* Text wrapped at blanks to the pane's width, from `row` downwards; newlines begin a new row.
 * Returns the rows used (as many as the text needs, also when the pane is shorter; then the last
 * row that is seen ends in an ellipsis). */
int pm_pane_wrap(const struct pm_pane *pane, int row, enum pm_role role, const char *text);
/* A fact of a details pane: a label in a field of `cells`, beside it the text, wrapped. Nothing
 * when the text is NULL or empty, or the pane ends above `row`. Returns the row below. */
int pm_pane_fact(const struct pm_pane *pane, int row, int cells, const char *label,
                 enum pm_role role, const char *text);
struct pm_attribute;
/* The same of an attribute, as the entity's row has it. */
int pm_pane_attribute(const struct pm_pane *pane, int row, int cells,
                      const struct pm_attribute *attribute, const void *of, char sign);

#endif
