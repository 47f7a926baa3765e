/* SPDX-License-Identifier: MIT */
/* The Blotter room: what is running and when to smell it, the smell log, blind tests. */
#include "blotter.h"

#include "kit/list.h"

#include "permille/base/mem.h"
#include "permille/studio/bench.h"

#include <stdio.h>
#include <string.h>

/* ---- reading ---- */

static void forget(struct blotter *blotter)
{
    pm_session_entries_release(&blotter->running);
    pm_smell_entries_release(&blotter->notes);
    blotter_forget_picture(blotter);
    pm_free(blotter->name);
    blotter->name = NULL;
}

static enum pm_status read_all(struct blotter *blotter, struct pm_error *err)
{
    struct pm_studio *studio = blotter->house->studio;
    enum pm_status status = pm_session_list(studio, false, &blotter->running, err);
    if (status != PM_OK || blotter->formula == 0)
        return status;
    status = pm_house_name(blotter->house, &blotter->name, err);
    if (status == PM_OK)
        status = pm_smells_list(studio, blotter->formula, blotter->only, blotter->corrected_too,
                                &blotter->notes, err);
    return status;
}

static size_t rows(const struct blotter *blotter)
{
    return blotter->running.count + blotter->notes.count;
}

static void select_again(struct blotter *blotter, int64_t application, int64_t note)
{
    for (size_t i = 0; i < blotter->running.count; i++)
        if (application != 0 && blotter->running.items[i].id == application)
            blotter->at = i;
    for (size_t i = 0; i < blotter->notes.count; i++)
        if (note != 0 && blotter->notes.items[i].id == note)
            blotter->at = blotter->running.count + i;
    if (blotter->at >= rows(blotter))
        blotter->at = rows(blotter) > 0 ? rows(blotter) - 1 : 0;
}

void blotter_read(struct blotter *blotter)
{
    struct pm_error err = {0};
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell_entry *note = blotter_note(blotter);
    int64_t application = running ? running->id : 0, selected = note ? note->id : 0;
    if (blotter->formula != blotter->house->formula) {
        blotter->only = 0;
        selected = 0;
    }
    forget(blotter);
    blotter->formula = blotter->house->formula;
    blotter->version = blotter->house->version;
    blotter->read_at = pm_app_now(blotter->app);
    if (read_all(blotter, &err) != PM_OK) {
        forget(blotter);
        pm_app_error(blotter->app, &err);
    }
    select_again(blotter, application, selected);
    if (blotter->testing)
        tests_read(blotter);
}

static void catch_up(struct blotter *blotter)
{
    pm_house_look(blotter->house);
    if (blotter->version != blotter->house->version || blotter->formula != blotter->house->formula)
        blotter_read(blotter);
}

static enum pm_status read_job(void *context, struct pm_error *err)
{
    (void)err;
    blotter_read(context);
    return PM_OK;
}

void blotter_said(struct blotter *blotter, struct pm_smell_done *done)
{
    blotter->house->version++;
    if (done->remark)
        pm_app_say(blotter->app, "%s. Saved. %s", done->sentence, done->remark);
    else
        pm_app_say(blotter->app, "%s. Saved.", done->sentence);
    pm_smell_done_release(done);
}

void blotter_done(struct blotter *blotter, struct pm_smell_done *done)
{
    const struct pm_job job = {.run = read_job, .context = blotter};
    blotter_said(blotter, done);
    pm_app_later(blotter->app, &job);
}

const struct pm_session_entry *blotter_running(const struct blotter *blotter)
{
    return blotter->at < blotter->running.count ? &blotter->running.items[blotter->at] : NULL;
}

const struct pm_smell_entry *blotter_note(const struct blotter *blotter)
{
    const size_t place = blotter->at - blotter->running.count;
    return blotter->at >= blotter->running.count && place < blotter->notes.count
               ? &blotter->notes.items[place]
               : NULL;
}

void blotter_title(const struct blotter *blotter, int64_t number, struct pm_text *out)
{
    pm_text_addf(out, "%s/%lld", blotter->name ? blotter->name : "?", (long long)number);
}

/* ---- the room ---- */

static enum pm_status blotter_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct blotter *blotter = pm_alloc_array(1, sizeof *blotter);
    if (!blotter)
        return pm_fail_memory(err);
    blotter->app = app;
    blotter->house = pm_app_host(app);
    blotter->version = -1;
    *state = blotter;
    return PM_OK;
}

static void blotter_close(void *state)
{
    struct blotter *blotter = state;
    if (!blotter)
        return;
    forget(blotter);
    blotter_note_release(blotter);
    tests_release(blotter);
    pm_free(blotter);
}

static void blotter_enter(void *state)
{
    struct blotter *blotter = state;
    pm_house_look(blotter->house);
    blotter_read(blotter);
}

static unsigned blotter_mode(const void *state)
{
    const struct blotter *blotter = state;
    return blotter->testing ? MODE_TESTS : PM_MODE_SHEET;
}

static void blotter_draw(void *state, const struct pm_canvas *canvas)
{
    struct blotter *blotter = state;
    blotter->details = canvas->details.columns > 0;
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

/* ---- keys ---- */

static void move(struct blotter *blotter, int code)
{
    /* Curves and words are no rows: only what is running is gone through beside them. */
    const size_t count = blotter->view == VIEW_LOG ? rows(blotter) : blotter->running.count;
    blotter->at = pm_list_move(blotter->at, count, blotter->page, code);
}

/* The notes of the selected one's trial alone, or of all trials again. */
static void one_trial(struct blotter *blotter)
{
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell_entry *note = blotter_note(blotter);
    if (blotter->only != 0)
        blotter->only = 0;
    else if (note)
        blotter->only = note->number;
    else if (running && running->formula == blotter->formula)
        blotter->only = running->number;
    else
        pm_app_say(blotter->app, "Select a note, or one that runs of this formula.");
    blotter_read(blotter);
}

static unsigned act_on_sheet(struct blotter *blotter, int code)
{
    if (pm_list_moves(code)) {
        move(blotter, code);
        return PM_REDRAW;
    }
    switch (code) {
    case PM_ACT_BLOTTER_VIEW:
        blotter->view = (enum blotter_view)((blotter->view + 1) % VIEW_COUNT);
        return PM_REDRAW;
    case PM_ACT_ONE_TRIAL:
        one_trial(blotter);
        return PM_REDRAW;
    case PM_ACT_SHOW_CORRECTED:
        blotter->corrected_too = !blotter->corrected_too;
        blotter_read(blotter);
        return PM_REDRAW;
    case PM_ACT_TESTS:
        tests_open(blotter);
        return PM_REDRAW;
    case PM_ACT_FORMULAS:
        pm_formulas_open(blotter->app);
        return PM_REDRAW;
    case PM_ACT_CANCEL:
        if (blotter->view != VIEW_LOG)
            blotter->view = VIEW_LOG;
        else if (blotter->only != 0)
            one_trial(blotter);
        else
            pm_app_go(blotter->app, PM_ROOM_BENCH);
        return PM_REDRAW;
    default:
        return blotter_act_note(blotter, code);
    }
}

static unsigned blotter_act(void *state, const struct pm_action *action)
{
    struct blotter *blotter = state;
    catch_up(blotter);
    return blotter->testing ? tests_act(blotter, action->code)
                            : act_on_sheet(blotter, action->code);
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

static size_t blotter_hints(const void *state, int codes[PM_HINTS])
{
    static const int running[] = {PM_ACT_SMELL,        PM_ACT_PUT_ON,     PM_ACT_TAKE_OFF,
                                  PM_ACT_BLOTTER_VIEW, PM_ACT_WRITE_LONG, PM_ACT_TESTS};
    static const int note[] = {PM_ACT_SMELL,        PM_ACT_PUT_ON,    PM_ACT_CORRECT,
                               PM_ACT_BLOTTER_VIEW, PM_ACT_ONE_TRIAL, PM_ACT_TESTS};
    static const int list[] = {PM_ACT_TEST_OPEN, PM_ACT_TEST_NEW, PM_ACT_CANCEL};
    static const int one[] = {PM_ACT_TEST_ANSWER, PM_ACT_TEST_CODES, PM_ACT_TEST_FILL,
                              PM_ACT_TEST_CLOSE, PM_ACT_CANCEL};
    static const int closed[] = {PM_ACT_TEST_CODES, PM_ACT_TEST_FILL, PM_ACT_CANCEL};
    const struct blotter *blotter = state;
    const bool over = blotter->one && blotter->test.closed_at != 0;
    const int *from = over                    ? closed
                      : blotter->one          ? one
                      : blotter->testing      ? list
                      : blotter_note(blotter) ? note
                                              : running;
    const size_t count = over               ? sizeof closed / sizeof *closed
                         : blotter->one     ? sizeof one / sizeof *one
                         : blotter->testing ? sizeof list / sizeof *list
                                            : PM_HINTS;
    memcpy(codes, from, count * sizeof *codes);
    return count;
}

/* More about the selected one; the details pane shows it as well. */
static enum pm_role blotter_remark(const void *state, struct pm_text *out)
{
    const struct blotter *blotter = state;
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell_entry *note = blotter_note(blotter);
    if (blotter->testing || blotter->details)
        return PM_ROLE_FAINT;
    if (running && running->remark) {
        pm_text_add(out, running->remark);
        return PM_ROLE_WARNING;
    }
    if (running && running->note)
        pm_text_add(out, running->note);
    else if (note && note->note && blotter->view == VIEW_LOG)
        pm_text_add(out, note->note);
    else if (blotter->notes.remark)
        pm_text_add(out, blotter->notes.remark);
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
    .draw = blotter_draw,
    .mode = blotter_mode,
    .mode_heading = "While blind tests are shown",
    .act = blotter_act,
    .text = blotter_text,
    .hints = blotter_hints,
    .remark = blotter_remark,
    .wake = blotter_wake,
    .tick = blotter_tick,
    .close = blotter_close,
};
