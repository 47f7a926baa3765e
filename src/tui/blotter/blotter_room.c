/* SPDX-License-Identifier: MIT */
/* The Blotter as a room: what the application calls. */
#include "blotter.h"

#include "kit/list.h"

#include "permille/base/mem.h"
#include "permille/studio/bench.h"

#include <stdio.h>
#include <string.h>

static enum pm_status blotter_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct blotter *blotter = pm_alloc_array(1, sizeof *blotter);
    if (blotter == NULL)
        return pm_fail_memory(err);
    blotter->app = app;
    blotter->house = pm_app_host(app);
    *state = blotter;
    return PM_OK;
}

static void blotter_close(void *state)
{
    struct blotter *blotter = state;
    if (blotter == NULL)
        return;
    blotter_forget(blotter);
    blotter_forget_picture(blotter);
    blotter_note_release(blotter);
    tests_release(blotter);
    pm_free(blotter);
}

/* What is to be smelled now is under the hand: the next digit begins its note. */
static void blotter_enter(void *state)
{
    struct blotter *blotter = state;
    const struct pm_session_entry *running = blotter_running(blotter);
    if (blotter->testing || (running != NULL && running->due.now))
        return;
    for (size_t i = 0; i < blotter->running.count; i++)
        if (blotter->running.items[i].due.now) {
            blotter->at = i;
            return;
        }
}

static unsigned blotter_mode(const void *state)
{
    const struct blotter *blotter = state;
    return blotter->testing ? MODE_TESTS : PM_MODE_SHEET;
}

static void blotter_draw(void *state, const struct pm_canvas *canvas)
{
    struct blotter *blotter = state;
    if (blotter->testing)
        tests_paint(blotter, canvas);
    else
        blotter_paint(blotter, canvas);
}

/* While something runs, its times are told anew every minute. */
static int64_t blotter_wake(const void *state)
{
    const struct blotter *blotter = state;
    return blotter->running.count > 0 ? blotter->read_at + 60 : INT64_MAX;
}

static unsigned blotter_tick(void *state, int64_t now)
{
    struct blotter *blotter = state;
    (void)now;
    if (!blotter->testing)
        blotter_read(blotter);
    else
        blotter->read_at = pm_app_now(blotter->app);
    return PM_REDRAW;
}

static void move(struct blotter *blotter, int code)
{
    /* Curves and words are no rows: only what is running is gone through beside them. */
    const size_t count = blotter->view == VIEW_LOG ? blotter_rows(blotter) : blotter->running.count;
    blotter->at = pm_list_move(blotter->at, count, blotter->note_list.page, code);
}

/* Esc: back to the log, to all trials, to the Bench. */
static void leave(struct blotter *blotter)
{
    if (blotter->view != VIEW_LOG)
        blotter->view = VIEW_LOG;
    else if (blotter->only != 0)
        blotter_one_trial(blotter);
    else
        pm_app_go(blotter->app, PM_ROOM_BENCH);
}

static unsigned blotter_act(void *state, int code)
{
    struct blotter *blotter = state;
    if (blotter->testing)
        return tests_act(blotter, code);
    if (code == PM_ACT_CANCEL)
        leave(blotter);
    else if (pm_list_moves(code))
        move(blotter, code);
    else
        return PM_UNHANDLED;
    return PM_REDRAW;
}

/* A digit is the intensity of a new note; in a test it begins a code. */
static unsigned blotter_text(void *state, const char *text, bool pasted)
{
    struct blotter *blotter = state;
    if (pasted || text[0] < '0' || text[0] > '9' || text[1] != '\0')
        return PM_UNHANDLED;
    if (blotter->testing)
        return tests_text(blotter, text);
    blotter_smell(blotter, text);
    return PM_REDRAW;
}

enum { HINT_RUNNING, HINT_NOTE, HINT_NOTHING, HINT_TESTS, HINT_TEST, HINT_CLOSED };

static const char *const hints[] = {
    [HINT_RUNNING] = "smell-note put-on take-note-back blotter-view write-note blind-tests",
    [HINT_NOTE] = "smell-note put-on correct-note blotter-view one-trial blind-tests",
    [HINT_NOTHING] = "put-on blind-tests formulas find-action",
    [HINT_TESTS] = "open-test new-test back",
    [HINT_TEST] = "answer-test test-codes fill-page close-test back",
    [HINT_CLOSED] = "test-codes fill-page back",
    NULL,
};

static size_t blotter_hint(const void *state)
{
    const struct blotter *blotter = state;
    if (blotter->one)
        return blotter->test.row.closed_at != 0 ? HINT_CLOSED : HINT_TEST;
    return blotter->testing                   ? HINT_TESTS
           : blotter_note(blotter) != NULL    ? HINT_NOTE
           : blotter_running(blotter) != NULL ? HINT_RUNNING
                                              : HINT_NOTHING;
}

/* More about the selected one; the details pane shows it as well. */
static enum pm_role blotter_remark(const void *state, bool details, struct pm_text *out)
{
    const struct blotter *blotter = state;
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    if (blotter->testing || details)
        return PM_ROLE_FAINT;
    if (running != NULL && running->remark != NULL) {
        pm_text_add(out, running->remark);
        return PM_ROLE_WARNING;
    }
    if (running != NULL && running->row.note != NULL)
        pm_text_add(out, running->row.note);
    else if (note != NULL && note->note != NULL && blotter->view == VIEW_LOG)
        pm_text_add(out, note->note);
    else if (blotter->odd != NULL)
        pm_text_add(out, blotter->odd);
    return PM_ROLE_FAINT;
}

const struct pm_room pm_room_blotter = {
    .id = "blotter",
    .name = "Blotter",
    .keys = "P F5",
    .help = "Smelling over time: what is running and due, the log, curves, words, blind tests.",
    .details = true,
    .open = blotter_open,
    .enter = blotter_enter,
    .read = blotter_read_again,
    .prepare = blotter_prepare,
    .draw = blotter_draw,
    .mode = blotter_mode,
    .mode_heading = "While blind tests are shown",
    .actions = &blotter_actions,
    .act = blotter_act,
    .text = blotter_text,
    .hints = hints,
    .hint = blotter_hint,
    .remark = blotter_remark,
    .wake = blotter_wake,
    .tick = blotter_tick,
    .close = blotter_close,
};
