/* SPDX-License-Identifier: MIT */
/* The loop: all waiting events, one paint, then the pending job. */
#include "loop.h"

#include "speech.h"

#include "permille/base/mem.h"

/* Events taken before the screen is painted: a stream that never ends must not keep it still. */
#define BURST 64
/* Milliseconds without a key after which nobody is typing ahead any more. */
#define REST 200

static void paint(struct pm_app *app, struct pm_term *term, struct pm_grid *grid)
{
    int rows, columns;
    pm_term_size(term, &rows, &columns);
    /* Without memory for the new size the old one is shown, cut or with a margin. */
    if (rows != grid->rows || columns != grid->columns)
        pm_grid_resize(grid, rows, columns);
    pm_app_draw(app, grid);
    pm_term_paint(term, grid);
}

/* Does what the application wishes of the terminal; *drop: what was typed ahead is to be dropped.
 * False when it wants to end. */
static bool grant(struct pm_app *app, struct pm_term *term, bool *drop, int *signal)
{
    struct pm_wishes wishes = pm_app_wishes(app);
    if (wishes.copy != NULL)
        pm_term_copy(term, wishes.copy);
    pm_free(wishes.copy);
    if (wishes.repaint)
        pm_term_repaint(term);
    if (wishes.themed)
        pm_term_theme(term, wishes.theme);
    if (wishes.suspend && !wishes.quit) {
        pm_term_suspend(term);
        struct pm_event back = {.kind = PM_EVENT_RESIZE};
        pm_app_event(app, &back);
    }
    *signal = wishes.signal;
    *drop = wishes.drop;
    return !wishes.quit;
}

static void work(struct pm_app *app, struct pm_term *term)
{
    if (!pm_app_job_is_away(app)) {
        pm_app_work(app);
        return;
    }
    pm_term_leave(term);
    pm_app_work(app);
    pm_term_return(term);
}

/* Drops keys and pasted text until the hand rests; everything else still happens. */
static void drop_typed(struct pm_app *app, struct pm_term *term)
{
    struct pm_event event;
    do {
        pm_term_next(term, REST, &event);
        if (event.kind != PM_EVENT_KEY && event.kind != PM_EVENT_PASTE)
            pm_app_event(app, &event);
    } while (event.kind == PM_EVENT_KEY || event.kind == PM_EVENT_PASTE ||
             event.kind == PM_EVENT_RESIZE);
}

static void take_events(struct pm_app *app, struct pm_term *term)
{
    struct pm_event event;
    pm_term_next(term, pm_app_timeout(app), &event);
    for (int i = 0; i < BURST; i++) {
        pm_app_event(app, &event);
        if (event.kind == PM_EVENT_NONE || event.kind == PM_EVENT_STOP ||
            event.kind == PM_EVENT_END || pm_app_job_is_away(app) || pm_app_drops(app))
            return;
        pm_term_next(term, 0, &event);
        if (event.kind == PM_EVENT_NONE)
            return;
    }
}

enum pm_status pm_loop_run(struct pm_app *app, struct pm_term *term, int *signal,
                           struct pm_error *err)
{
    struct pm_grid grid;
    struct pm_speech speech = {.lines = PM_TEXT_EMPTY, .last = PM_TEXT_EMPTY};
    int rows, columns;
    pm_term_size(term, &rows, &columns);
    if (!pm_grid_init(&grid, rows, columns))
        return pm_fail_memory(err);
    if (pm_term_lines(term))
        grid.speech = &speech;
    bool drop;
    while (grant(app, term, &drop, signal)) {
        if (pm_app_stale(app))
            paint(app, term, &grid);
        const bool pending = pm_app_job_pending(app);
        if (pending)
            work(app, term);
        if (drop)
            drop_typed(app, term);
        else if (!pending)
            take_events(app, term);
    }
    pm_grid_release(&grid);
    pm_speech_release(&speech);
    return PM_OK;
}
