/* SPDX-License-Identifier: MIT */
/* The Blotter room: what is running and when to smell it, the smell log, blind tests. */
#include "blotter.h"

#include "kit/list.h"

#include "permille/base/mem.h"
#include "permille/studio/bench.h"

#include <stdio.h>
#include <string.h>

/* ---- reading ---- */

void blotter_forget(struct blotter *blotter)
{
    pm_list_release(&blotter->running);
    pm_list_release(&blotter->notes);
    blotter->odd = NULL;
    pm_free(blotter->name);
    blotter->name = NULL;
}

void tests_forget_one(struct blotter *blotter)
{
    if (blotter->one)
        pm_blind_sheet_release(&blotter->test);
    blotter->one = false;
}

enum pm_status tests_read_one(struct blotter *blotter, int64_t id, struct pm_error *err)
{
    struct pm_blind_sheet sheet;
    enum pm_status status = pm_blind_open(blotter->house->studio, id, &sheet, err);
    if (status != PM_OK)
        return status;
    tests_forget_one(blotter);
    blotter->test = sheet;
    pm_table_changed(&blotter->round_list);
    blotter->one = true;
    if (blotter->round_list.row >= (size_t)sheet.row.rounds)
        blotter->round_list.row = 0;
    return PM_OK;
}

enum pm_status tests_read(struct blotter *blotter, struct pm_error *err)
{
    struct pm_panel_rows tests = {0};
    enum pm_status status = pm_blind_list(blotter->house->studio, &tests, err);
    if (status != PM_OK)
        return status;
    pm_list_release(&blotter->tests);
    blotter->tests = tests;
    if (blotter->test_list.row >= blotter->tests.count)
        blotter->test_list.row = 0;
    return blotter->one ? tests_read_one(blotter, blotter->test.row.id, err) : PM_OK;
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

static void select_again(struct blotter *blotter, int64_t application, int64_t note)
{
    for (size_t i = 0; i < blotter->running.count; i++)
        if (application != 0 && blotter->running.items[i].row.id == application)
            blotter->at = i;
    for (size_t i = 0; i < blotter->notes.count; i++)
        if (note != 0 && blotter->notes.items[i].id == note)
            blotter->at = blotter->running.count + i;
    if (blotter->at >= blotter_rows(blotter))
        blotter->at = blotter_rows(blotter) > 0 ? blotter_rows(blotter) - 1 : 0;
}

static void take(struct blotter *blotter, const struct blotter *read)
{
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    const int64_t application = running != NULL ? running->row.id : 0;
    const int64_t selected = note != NULL && blotter->formula == read->formula ? note->id : 0;
    blotter_forget(blotter);
    blotter_forget_picture(blotter);
    blotter->formula = read->formula;
    blotter->only = read->only;
    blotter->name = read->name;
    blotter->running = read->running;
    blotter->notes = read->notes;
    blotter->odd = read->odd;
    blotter->read_at = pm_app_now(blotter->app);
    pm_table_changed(&blotter->running_list);
    pm_table_changed(&blotter->note_list);
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
        blotter_forget(&read);
        return status;
    }
    take(blotter, &read);
    return blotter->testing ? tests_read(blotter, err) : PM_OK;
}

void blotter_read(struct blotter *blotter)
{
    pm_app_read(blotter->app, PM_ROOM_BLOTTER);
}

/* What the next key would act on. */
static int64_t under_hand(const struct blotter *blotter)
{
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    if (blotter->testing)
        return blotter->one ? blotter->test.row.answered + blotter->test.row.closed_at : 0;
    return running != NULL ? running->row.id : note != NULL ? -note->id : 0;
}

enum pm_status blotter_read_again(void *state, const char **what, struct pm_error *err)
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

/* ---- keys ---- */

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
