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
    pm_list_release(&blotter->running);
    pm_list_release(&blotter->notes);
    blotter->odd = NULL;
    pm_free(blotter->name);
    blotter->name = NULL;
}

/* What runs, and the notes of the formula that is open, into `out`. */
static enum pm_status read_into(struct blotter *out, struct pm_error *err)
{
    struct pm_studio *studio = out->house->studio;
    enum pm_status status = pm_session_list(studio, false, &out->running, err);
    if (status != PM_OK || out->formula == 0)
        return status;
    status = pm_house_name(out->house, &out->name, err);
    if (status == PM_OK)
        status = pm_smells_list(studio, out->formula, out->only, out->corrected_too, &out->notes,
                                &out->odd, err);
    return status;
}

static size_t rows(const struct blotter *blotter)
{
    return blotter->running.count + blotter->notes.count;
}

static void select_again(struct blotter *blotter, int64_t application, int64_t note)
{
    for (size_t i = 0; i < blotter->running.count; i++)
        if (application != 0 && blotter->running.items[i].row.id == application)
            blotter->at = i;
    for (size_t i = 0; i < blotter->notes.count; i++)
        if (note != 0 && blotter->notes.items[i].id == note)
            blotter->at = blotter->running.count + i;
    if (blotter->at >= rows(blotter))
        blotter->at = rows(blotter) > 0 ? rows(blotter) - 1 : 0;
}

static void take(struct blotter *blotter, const struct blotter *read)
{
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    const int64_t application = running != NULL ? running->row.id : 0;
    const int64_t selected = note != NULL && blotter->formula == read->formula ? note->id : 0;
    forget(blotter);
    blotter_forget_picture(blotter);
    blotter->formula = read->formula;
    blotter->only = read->only;
    blotter->name = read->name;
    blotter->running = read->running;
    blotter->notes = read->notes;
    blotter->odd = read->odd;
    blotter->read_at = pm_app_now(blotter->app);
    pm_table_changed(&blotter->running_list);
    select_again(blotter, application, selected);
}

static enum pm_status read_all(struct blotter *blotter, struct pm_error *err)
{
    struct blotter read = {.house = blotter->house,
                           .formula = blotter->house->formula,
                           .corrected_too = blotter->corrected_too};
    if (blotter->formula == read.formula)
        read.only = blotter->only;
    enum pm_status status = read_into(&read, err);
    if (status != PM_OK) {
        forget(&read);
        return status;
    }
    take(blotter, &read);
    return blotter->testing ? tests_read(blotter, err) : PM_OK;
}

void blotter_read(struct blotter *blotter)
{
    struct pm_error err = {0};
    if (read_all(blotter, &err) != PM_OK)
        pm_app_error(blotter->app, &err);
}

/* What the next key would act on. */
static int64_t under_hand(const struct blotter *blotter)
{
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    if (blotter->testing)
        return blotter->one ? blotter->test.answered + blotter->test.closed_at : 0;
    return running != NULL ? running->row.id : note != NULL ? -note->id : 0;
}

static enum pm_status blotter_read_again(void *state, const char **what, struct pm_error *err)
{
    struct blotter *blotter = state;
    const int64_t formula = blotter->formula, before = under_hand(blotter);
    const enum pm_status status = read_all(blotter, err);
    if (status == PM_OK && formula == blotter->formula && before != under_hand(blotter))
        *what = blotter->testing ? "this blind test" : "the smell log";
    return status;
}

void blotter_done(struct blotter *blotter, struct pm_smell_done *done)
{
    pm_app_changed(blotter->app, PM_ROOM_BLOTTER);
    if (done->remark != NULL)
        pm_app_say(blotter->app, "%s. Saved. %s", done->sentence, done->remark);
    else
        pm_app_say(blotter->app, "%s. Saved.", done->sentence);
    pm_smell_done_release(done);
    blotter_read(blotter);
}

const struct pm_session_entry *blotter_running(const struct blotter *blotter)
{
    return blotter->at < blotter->running.count ? &blotter->running.items[blotter->at] : NULL;
}

const struct pm_smell *blotter_note(const struct blotter *blotter)
{
    const size_t place = blotter->at - blotter->running.count;
    return blotter->at >= blotter->running.count && place < blotter->notes.count
               ? &blotter->notes.items[place]
               : NULL;
}

void blotter_title(const struct blotter *blotter, int64_t number, struct pm_text *out)
{
    pm_text_addf(out, "%s/%lld", blotter->name != NULL ? blotter->name : "?", (long long)number);
}

/* ---- the room ---- */

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
    forget(blotter);
    blotter_forget_picture(blotter);
    blotter_note_release(blotter);
    tests_release(blotter);
    pm_free(blotter);
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
    blotter->at = pm_list_move(blotter->at, count, blotter->note_list.page, code);
}

void blotter_one_trial(void *state)
{
    struct blotter *blotter = state;
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    if (blotter->only != 0)
        blotter->only = 0;
    else if (note != NULL)
        blotter->only = note->number;
    else if (running != NULL && running->row.formula == blotter->formula)
        blotter->only = running->row.number;
    else
        pm_app_say(blotter->app, "Select a note, or one that runs of this formula.");
    blotter_read(blotter);
}

void blotter_next_view(void *state)
{
    struct blotter *blotter = state;
    blotter->view = (enum blotter_view)((blotter->view + 1) % VIEW_COUNT);
}

void blotter_show_corrected(void *state)
{
    struct blotter *blotter = state;
    blotter->corrected_too = !blotter->corrected_too;
    blotter_read(blotter);
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

enum { HINT_RUNNING, HINT_NOTE, HINT_TESTS, HINT_TEST, HINT_CLOSED };

static const char *const hints[] = {
    [HINT_RUNNING] = "smell-note put-on stop-smelling blotter-view write-note blind-tests",
    [HINT_NOTE] = "smell-note put-on correct-note blotter-view one-trial blind-tests",
    [HINT_TESTS] = "open-test new-test back",
    [HINT_TEST] = "answer-test test-codes fill-page close-test back",
    [HINT_CLOSED] = "test-codes fill-page back",
    NULL,
};

static size_t blotter_hint(const void *state)
{
    const struct blotter *blotter = state;
    if (blotter->one)
        return blotter->test.closed_at != 0 ? HINT_CLOSED : HINT_TEST;
    return blotter->testing ? HINT_TESTS : blotter_note(blotter) != NULL ? HINT_NOTE : HINT_RUNNING;
}

/* More about the selected one; the details pane shows it as well. */
static enum pm_role blotter_remark(const void *state, struct pm_text *out)
{
    const struct blotter *blotter = state;
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    if (blotter->testing || blotter->details)
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
