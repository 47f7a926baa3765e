/* SPDX-License-Identifier: MIT */
/*
 * A small application with nothing of the trade in it, to exercise the toolkit: a sheet of names
 * and numbers that can be edited, a second room, every kind of overlay, and ways to crash.
 */
#ifndef PERMILLE_TESTS_SCREEN_SAMPLE_H
#define PERMILLE_TESTS_SCREEN_SAMPLE_H

#include "src/tui/kit/app.h"
#include "src/tui/kit/field.h"

#include <stdbool.h>
#include <stdint.h>

/* Called when the text was copied, unless NULL. */
extern void (*sample_on_copy)(void);

#define SAMPLE_ROWS 40

/* What the rooms of the sample share: the application's host. */
struct sample {
    struct pm_app *app;
    char names[SAMPLE_ROWS][120];
    int values[SAMPLE_ROWS], before[SAMPLE_ROWS];
    int count, row;
    bool editing;
    struct pm_field field;
    bool save_fails;
    int saves;        /* jobs run */
    int order;        /* of what happened, for tests: */
    int saved_at;     /*   when the last job ran */
    int key_at;       /*   when the last key was handled */
    int64_t due_time; /* when something is due, INT64_MAX for never */
    int64_t wake;     /* when the second room wants to be woken */
    int ticks;
    int picks, filters, rows_asked;
    char accepted[400]; /* what the last overlay accepted */
    int closed;         /* overlays that said goodbye */
    bool writes;        /* overlays write */
    bool refuse;        /* overlays' accept says no */
};

void sample_init(struct sample *sample);
void sample_release(struct sample *sample);
struct pm_app_spec sample_spec(struct sample *sample);

/* Runs it on the terminal, as a main function would: 0, 2 when there is no terminal. Dies of the
 * signal that ended it. `context` is unused. */
int sample_main(void *context);

#endif
