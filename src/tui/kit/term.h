/* SPDX-License-Identifier: MIT */
/*
 * The terminal: puts grids on it and fetches events from it. term_curses.c implements this and is
 * the only file that knows curses.
 *
 * While a terminal is open, SIGWINCH, SIGTERM, SIGHUP, SIGINT, SIGTSTP and SIGCONT are blocked and
 * arrive as events; a crash restores the terminal before it takes its course. One at a time.
 */
#ifndef PERMILLE_TUI_TERM_H
#define PERMILLE_TUI_TERM_H

#include "event.h"
#include "grid.h"
#include "permille/base/status.h"
#include "permille/core/settings.h"

#include <stdbool.h>

struct pm_term;

/* How the terminal is used. */
struct pm_term_manner {
    enum pm_theme theme;
    /* In plain lines, for a screen reader: nothing is placed; whatever changed is written on lines
     * of its own (speech.h). The size is then PM_SPEECH_ROWS x PM_SPEECH_COLUMNS, and the
     * terminal's kind does not matter. */
    bool lines;
    bool mouse; /* asks for clicks and the wheel: the terminal's own selecting then needs Shift */
};

/* Takes the terminal over. PM_REFUSED with a sentence that says what to do when standard input or
 * output is no terminal, or TERM is missing, unknown or too simple: nothing was written then, and
 * the program should exit with 2. Also PM_NOMEM, PM_IO. */
enum pm_status pm_term_open(struct pm_term **out, const struct pm_term_manner *manner,
                            struct pm_error *err);
/* Gives it back as it was found. NULL is allowed. */
void pm_term_close(struct pm_term *term);

void pm_term_size(const struct pm_term *term, int *rows, int *columns);
/* False when the locale is not UTF-8: then everything is shown in ASCII, letters without accents,
 * anything else as '?'. */
bool pm_term_utf8(const struct pm_term *term);

/* Waits up to `timeout` milliseconds (-1: for ever) for the next event. */
void pm_term_next(struct pm_term *term, int timeout, struct pm_event *event);
/* Shows the grid: sends what changed, in one go, and leaves the cursor where the grid has it. */
void pm_term_paint(struct pm_term *term, const struct pm_grid *grid);
/* The next paint sends everything. */
void pm_term_repaint(struct pm_term *term);
/* Gives the terminal back for a while, and takes it again (size may have changed: read it). */
void pm_term_leave(struct pm_term *term);
void pm_term_return(struct pm_term *term);
/* Leaves, stops the process group as Ctrl-Z does in a shell, returns when continued. */
void pm_term_suspend(struct pm_term *term);
/* Other colours, from the next paint on. */
void pm_term_theme(struct pm_term *term, enum pm_theme theme);
/* Whether it writes plain lines: then grids are to carry a speech. */
bool pm_term_lines(const struct pm_term *term);
/* Asks the terminal to take text into its clipboard (OSC 52). */
void pm_term_copy(struct pm_term *term, const char *text);

#endif
