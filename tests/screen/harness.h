/* SPDX-License-Identifier: MIT */
/*
 * Two ways to test a screen.
 *
 * A play drives an application in the process, without a terminal: events in, a grid out, compared
 * with a text file. A stage runs a program on a pseudo-terminal and reads it back through libvterm,
 * as a person's terminal would. Neither ever sleeps: a stage waits for what it wants to see, with a
 * deadline, and shows the whole screen when it does not come.
 */
#ifndef PERMILLE_TESTS_SCREEN_HARNESS_H
#define PERMILLE_TESTS_SCREEN_HARNESS_H

#include "src/tui/kit/app.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>
#include <termios.h>

#include <cmocka.h>

/* ---- plays: in the process ------------------------------------------------------------------- */

struct play {
    struct pm_app *app;
    struct pm_grid grid;
    struct pm_clock clock;
    int64_t now;             /* what the application's clock says; tests move it */
    struct pm_wishes wishes; /* all that were made, added up (copy is owned) */
    int paints;              /* since the start */
};

/* Opens the application (its clock is the play's, beginning at 2026-03-02 14:05 UTC) and paints. */
void play_start(struct play *play, struct pm_app_spec spec, int rows, int columns);
void play_end(struct play *play);
/* Lets an event happen as the loop does: event, paint, pending job, paint. After every paint it
 * checks what always holds: the cursor is on the grid, wide glyphs have both halves. */
void play_event(struct play *play, const struct pm_event *event);
/* Key names separated by blanks: "Down Down Ctrl-Z Enter". */
void play_keys(struct play *play, const char *names);
/* Every character as a key. */
void play_type(struct play *play, const char *text);
void play_paste(struct play *play, const char *text);
void play_resize(struct play *play, int rows, int columns);
/* Time goes on; the application is woken as often as it wants to be. */
void play_wait(struct play *play, int64_t seconds);

/* The text of a row without blanks at its end; borrowed until the next call. */
const char *play_row(struct play *play, int row);
/* The row in which the text stands, or -1. */
int play_find(struct play *play, const char *text);
/* Fails with the whole screen unless the text is (not) to be seen. */
void play_sees(struct play *play, const char *text);
void play_misses(struct play *play, const char *text);
/* Fails unless the cursor stands on the first cell of that text. */
void play_cursor_on(struct play *play, const char *text);
/* Compares text and roles with tests/screen/golden/NAME.txt. With PERMILLE_GOLDEN=write in the
 * environment the file is written instead. */
void play_golden(struct play *play, const char *name);

/* ---- stages: on a pseudo-terminal ------------------------------------------------------------ */

#define STAGE_DEADLINE 20000 /* ms; generous, because only failures take that long */

struct stage_spec {
    int rows, columns;           /* columns >= 2: libvterm 0.1.4 needs them */
    const char *term;            /* NULL: xterm-256color; "" unsets TERM */
    const char *const *settings; /* "NAME=value", NULL-terminated; or NULL */
    /* What runs: a function in a forked child (its result is the exit status) or a program. */
    int (*run)(void *context);
    void *context;
    char *const *program; /* argv, NULL-terminated */
    bool shell; /* run it under job control, by a tiny shell: it writes "[stopped 1]" when the job
                   stops and continues it on the next line that it reads */
};

struct stage;

struct stage *stage_start(const struct stage_spec *spec);
/* Kills what still runs and frees everything. */
void stage_end(struct stage *stage);

/* Keys go through the emulated keyboard, so that the modes the program has set are honoured. */
void stage_keys(struct stage *stage, const char *names);
void stage_type(struct stage *stage, const char *text);
void stage_bytes(struct stage *stage, const char *bytes, size_t length);
/* With the brackets, if the program asked for them. */
void stage_paste(struct stage *stage, const char *text);
void stage_resize(struct stage *stage, int rows, int columns);
void stage_signal(struct stage *stage, int number);

/* Waits until the text stands somewhere on the screen (is gone from it). */
void stage_sees(struct stage *stage, const char *text);
void stage_misses(struct stage *stage, const char *text);
/* Waits until the program has read all keys sent so far. */
void stage_taken(struct stage *stage);
/* Waits until the cursor stands there and can be seen. */
void stage_cursor_at(struct stage *stage, int row, int column);
/* Waits until the condition holds; `what` is for the failure. */
void stage_until(struct stage *stage, bool (*holds)(struct stage *stage, void *context),
                 void *context, const char *what);
/* Waits for the end; the status as waitpid gives it. */
int stage_status(struct stage *stage);
bool stage_running(struct stage *stage);

const char *stage_row(struct stage *stage, int row); /* borrowed until the next call */
int stage_find(struct stage *stage, const char *text);
void stage_cursor(struct stage *stage, int *row, int *column, bool *visible);

struct stage_cell {
    uint32_t code; /* first code point, 0 for blank */
    int width;
    bool bold, underline, reverse;
    int foreground, background; /* palette number, -1 default, -2 given as RGB */
    unsigned char rgb[3];       /* of the foreground when it is a palette number */
};
struct stage_cell stage_cell(struct stage *stage, int row, int column);

bool stage_alternate(const struct stage *stage); /* the alternate screen is shown */
int stage_mouse(const struct stage *stage);      /* the mouse mode asked for, 0 for none */
bool stage_brackets(const struct stage *stage);  /* bracketed paste is on */
void stage_modes(struct stage *stage, struct termios *modes);
size_t stage_sent(const struct stage *stage); /* bytes the program has written so far */
/* Times the program has called write() so far; -1 where the system does not say. */
long stage_writes(const struct stage *stage);
/* The bytes it has written, for a search. */
bool stage_wrote(const struct stage *stage, const char *bytes);
/* Fails the test with the screen in the log. */
void stage_fail(struct stage *stage, const char *what);

#endif
