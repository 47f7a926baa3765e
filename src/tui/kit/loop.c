/* SPDX-License-Identifier: MIT */
/* The loop: all waiting events, one paint, then the pending job. */
#include "loop.h"

#include "speech.h"

#include "permille/base/mem.h"

#include <time.h>

/* Events taken before the screen is painted: a stream that never ends must not keep it still. */
#define BURST 64
/* Milliseconds without a key after which nobody is typing ahead any more. */
#define REST 200

/* Events that came while something took long: 64 keys are more than anybody types ahead. */
#define HELD 64

struct loop {
    struct pm_app *app;
    struct pm_term *term;
    struct pm_grid grid;
    struct pm_event held[HELD];
    char *texts[HELD]; /* of pasted ones; owned */
    size_t first, count;
    char *text; /* of the event handed out last; owned */
};

static void paint(struct loop *loop)
{
    struct pm_grid *grid = &loop->grid;
    int rows, columns;
    pm_term_size(loop->term, &rows, &columns);
    /* Without memory for the new size the old one is shown, cut or with a margin. */
    if (rows != grid->rows || columns != grid->columns)
        pm_grid_resize(grid, rows, columns);
    pm_app_draw(loop->app, grid);
    pm_term_paint(loop->term, grid);
}

/* ---- while something takes long ---- */

static int64_t milliseconds(void *context)
{
    struct timespec now;
    (void)context;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Spoken lines tell what was done when it is done. */
static void show(void *context, const char *line)
{
    struct loop *loop = context;
    if (loop->grid.speech != NULL)
        return;
    pm_app_draw_waiting(&loop->grid, line);
    pm_term_paint(loop->term, &loop->grid);
}

/* Past what can be held the oldest stays: what was typed first is done first. */
static void hold(struct loop *loop, const struct pm_event *event)
{
    const size_t at = (loop->first + loop->count) % HELD;
    if (loop->count == HELD)
        return;
    loop->held[at] = *event;
    loop->texts[at] = event->kind == PM_EVENT_PASTE ? pm_strdup(event->text) : NULL;
    if (event->kind != PM_EVENT_PASTE || loop->texts[at] != NULL)
        loop->count++;
}

static bool gave_up(void *context)
{
    struct loop *loop = context;
    struct pm_event event;
    bool up = false;
    do {
        pm_term_next(loop->term, 0, &event);
        if (event.kind == PM_EVENT_KEY && event.key.code == PM_KEY_ESC)
            up = true;
        else if (event.kind != PM_EVENT_NONE && event.kind != PM_EVENT_RESIZE)
            hold(loop, &event);
        up = up || event.kind == PM_EVENT_END;
    } while (event.kind != PM_EVENT_NONE && event.kind != PM_EVENT_END);
    return up;
}

/* What was held comes first. */
static void next_event(struct loop *loop, int timeout, struct pm_event *event)
{
    pm_free(loop->text);
    loop->text = NULL;
    if (loop->count == 0) {
        pm_term_next(loop->term, timeout, event);
        return;
    }
    *event = loop->held[loop->first];
    loop->text = loop->texts[loop->first];
    if (event->kind == PM_EVENT_PASTE)
        event->text = loop->text;
    loop->first = (loop->first + 1) % HELD;
    loop->count--;
}

static void forget_held(struct loop *loop)
{
    struct pm_event event;
    while (loop->count > 0)
        next_event(loop, 0, &event);
    pm_free(loop->text);
    loop->text = NULL;
}

/* ---- the loop ---- */

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
static void drop_typed(struct loop *loop)
{
    struct pm_event event;
    do {
        next_event(loop, REST, &event);
        if (event.kind != PM_EVENT_KEY && event.kind != PM_EVENT_PASTE)
            pm_app_event(loop->app, &event);
    } while (event.kind == PM_EVENT_KEY || event.kind == PM_EVENT_PASTE ||
             event.kind == PM_EVENT_RESIZE);
}

static void take_events(struct loop *loop)
{
    struct pm_app *app = loop->app;
    struct pm_event event;
    next_event(loop, pm_app_timeout(app), &event);
    for (int i = 0; i < BURST; i++) {
        pm_app_event(app, &event);
        if (event.kind == PM_EVENT_NONE || event.kind == PM_EVENT_STOP ||
            event.kind == PM_EVENT_END || pm_app_job_is_away(app) || pm_app_drops(app))
            return;
        next_event(loop, 0, &event);
        if (event.kind == PM_EVENT_NONE)
            return;
    }
}

enum pm_status pm_loop_run(struct pm_app *app, struct pm_term *term, int *signal,
                           struct pm_error *err)
{
    struct loop loop = {.app = app, .term = term};
    const struct pm_app_waiting waiting = {milliseconds, show, gave_up, &loop};
    struct pm_speech speech = {.lines = PM_TEXT_EMPTY, .last = PM_TEXT_EMPTY};
    int rows, columns;
    pm_term_size(term, &rows, &columns);
    if (!pm_grid_init(&loop.grid, rows, columns))
        return pm_fail_memory(err);
    if (pm_term_lines(term))
        loop.grid.speech = &speech;
    pm_app_waits(app, &waiting);
    bool drop;
    while (grant(app, term, &drop, signal)) {
        if (pm_app_stale(app))
            paint(&loop);
        const bool pending = pm_app_job_pending(app);
        if (pending)
            work(app, term);
        if (drop)
            drop_typed(&loop);
        else if (!pending)
            take_events(&loop);
    }
    pm_app_waits(app, NULL);
    forget_held(&loop);
    pm_grid_release(&loop.grid);
    pm_speech_release(&speech);
    return PM_OK;
}
