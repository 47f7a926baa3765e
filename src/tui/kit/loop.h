/* SPDX-License-Identifier: MIT */
/*
 * Joins an application to a terminal: all waiting events, one paint, then the pending job.
 */
#ifndef PERMILLE_TUI_LOOP_H
#define PERMILLE_TUI_LOOP_H

#include "app.h"
#include "term.h"

/* Runs until the person leaves or the process is told to end. *signal is then the signal to raise
 * again after everything is closed, or 0. PM_NOMEM when not even the grid fits into memory. */
enum pm_status pm_loop_run(struct pm_app *app, struct pm_term *term, int *signal,
                           struct pm_error *err);

#endif
