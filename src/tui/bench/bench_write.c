/* SPDX-License-Identifier: MIT */
/*
 * The Bench: writing. A plan is shown at once and written after the screen has been painted; what
 * could not be written goes back to what the file holds, and nothing typed is lost.
 */
#include "bench.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"

#include <string.h>

static void remember(struct bench *bench, const char *sentence)
{
    char *copy = pm_strdup(sentence);
    if (copy == NULL)
        return;
    pm_free(bench->past[BENCH_PAST - 1]);
    memmove(&bench->past[1], &bench->past[0], (BENCH_PAST - 1) * sizeof *bench->past);
    bench->past[0] = copy;
}

static bool can_be_tried_again(enum pm_status status)
{
    return status == PM_BUSY || status == PM_FULL || status == PM_IO || status == PM_NOMEM;
}

/* The sheet as the file has it is shown again, and what was typed with it. */
static void take_back(struct bench *bench, enum pm_status status)
{
    struct pm_error err = {0};
    char *retyped = bench->retyped;
    const int64_t meant = bench->line;
    bench->retyped = NULL;
    bench->writing = false;
    if (!can_be_tried_again(status)) {
        pm_plan_free(bench->plan);
        bench->plan = NULL;
    }
    if (status == PM_STALE || status == PM_MISSING || status == PM_UNSURE) {
        if (bench_reload(bench, &err) != PM_OK)
            pm_app_error(bench->app, &err);
    }
    bench_refresh(bench);
    if (retyped != NULL && status != PM_UNSURE && bench->line == meant &&
        bench_sheet(bench) != NULL && !bench_sheet(bench)->read_only)
        bench_edit_start(bench, retyped, false);
    pm_free(retyped);
}

static enum pm_status written(struct bench *bench, struct pm_sheet *sheet, struct pm_error *err)
{
    pm_free(bench->retyped);
    bench->retyped = NULL;
    bench->writing = false;
    remember(bench, pm_plan_sentence(bench->plan));
    pm_app_changed(bench->app, PM_ROOM_BENCH);
    pm_plan_free(bench->plan);
    bench->plan = NULL;
    pm_text_clear(&bench->check);
    return bench_take_sheet(bench, sheet, err);
}

static enum pm_status run(void *context, struct pm_error *err)
{
    struct bench *bench = context;
    struct pm_sheet *sheet;
    enum pm_status status = pm_plan_commit(bench->house->studio, bench->plan, &sheet, err);
    if (status == PM_OK)
        return written(bench, sheet, err);
    pm_text_clear(&bench->check);
    take_back(bench, status);
    if (bench->plan != NULL) {
        struct pm_error why = *err;
        char key[PM_KEY_TEXT];
        pm_app_key(bench->app, "save-again", key);
        pm_fail(err, status, "Not saved: %s%s %s tries again.", why.text,
                bench->typing ? " Enter or, after Esc," : " The key", key);
    } else if (status == PM_UNSURE) {
        struct pm_error why = *err;
        char key[PM_KEY_TEXT];
        pm_fail(err, status, "%s %s asks the disk again.", why.text,
                pm_app_key(bench->app, "save-again", key));
    } else if (status == PM_STALE) {
        pm_fail(err, status,
                "Another window changed this draft meanwhile: it was read again, and "
                "nothing of yours was written.");
    }
    return status;
}

static void start(struct bench *bench)
{
    const char *sentence = pm_plan_sentence(bench->plan);
    const char *remark = pm_plan_remark(bench->plan);
    bench->writing = true;
    pm_text_clear(&bench->saved);
    pm_text_addf(&bench->saved, "%s. %s%sSaved.", sentence, remark != NULL ? remark : "",
                 remark != NULL ? ". " : "");
    pm_text_clear(&bench->check);
    pm_text_add(&bench->check, sentence);
    bench->check_role = PM_ROLE_NORMAL;
    const struct pm_effect *effect = pm_plan_effect(bench->plan);
    bench_refresh(bench);
    if (effect->line)
        bench_select_line(bench, effect->line);
    const struct pm_job job = {
        .run = run,
        .context = bench,
        .saved = pm_text_ok(&bench->saved) ? pm_text_get(&bench->saved) : "Saved.",
    };
    pm_app_later(bench->app, &job);
}

void bench_write(struct bench *bench, struct pm_plan *plan, const char *typed)
{
    struct pm_error err = {0};
    char *retyped = pm_strdup(typed);
    /* The new sheet may have more lines than there is room for. */
    enum pm_status status =
        bench_figures_reserve(&bench->figures, pm_plan_sheet(plan)->trial.count, &err);
    if (status != PM_OK) {
        pm_plan_free(plan);
        pm_free(retyped);
        pm_app_error(bench->app, &err);
        return;
    }
    pm_free(bench->retyped);
    bench->retyped = retyped;
    bench_edit_stop(bench);
    pm_plan_free(bench->plan);
    bench->plan = plan;
    start(bench);
}

enum pm_status bench_do(struct bench *bench, const struct pm_gesture *gesture, struct pm_error *err)
{
    struct pm_plan *plan;
    enum pm_status status =
        pm_plan_gesture(bench->house->studio, bench->sheet, gesture, &plan, err);
    if (status == PM_OK)
        bench_write(bench, plan, NULL);
    return status;
}

void bench_gesture(struct bench *bench, const struct pm_gesture *gesture)
{
    struct pm_error err = {0};
    if (bench_do(bench, gesture, &err) != PM_OK)
        pm_app_error(bench->app, &err);
}

/* ---- what could not be written ---- */

static enum pm_status unwritten_accept(void *context, size_t option, struct pm_error *err)
{
    struct bench *bench = context;
    (void)err;
    if (!bench_unwritten(bench))
        return PM_OK;
    if (option == 0) {
        bench_retry(bench);
        return PM_OK;
    }
    pm_app_say(bench->app, "Given up: %s.", pm_plan_sentence(bench->plan));
    pm_plan_free(bench->plan);
    bench->plan = NULL;
    return PM_OK;
}

/* Asks which of the two. */
static void ask_unwritten(struct bench *bench)
{
    struct pm_text question = PM_TEXT_EMPTY;
    pm_text_addf(&question, "The change before could not be written: %s.",
                 pm_plan_sentence(bench->plan));
    const struct pm_choice_spec spec = {
        .title = "Not written yet",
        .question = pm_text_get(&question),
        .options = {{'w', "write it now; then go on"}, {'d', "drop it: it was never made"}},
        .option_count = 2,
        .accept = unwritten_accept,
        .context = bench,
    };
    pm_choice_open(bench->app, &spec);
    pm_text_release(&question);
}

void bench_retry(void *state)
{
    struct bench *bench = state;
    struct pm_error err = {0};
    if (bench->plan == NULL && pm_studio_confirm(bench->house->studio, &err) != PM_OK) {
        pm_app_error(bench->app, &err);
        return;
    }
    if (bench->plan == NULL) {
        pm_app_say(bench->app, "All is saved; there is nothing to write again.");
        return;
    }
    bench_edit_stop(bench);
    start(bench);
}

/* ---- whether anything can be ---- */

bool bench_editable(void *state)
{
    struct bench *bench = state;
    char key[PM_KEY_TEXT];
    const struct pm_sheet *sheet = bench_sheet(bench);
    const struct pm_keymap *keys = pm_app_keymap(bench->app);
    if (sheet == NULL) {
        pm_app_say(bench->app, "No formula is open: %s begins a new one.",
                   pm_keymap_key(keys, "new-formula", PM_MODE_SHEET, key));
        return false;
    }
    if (pm_studio_read_only(bench->house->studio)) {
        pm_app_say(bench->app, "The library's file is read only: nothing can be changed in it.");
        return false;
    }
    if (bench_unwritten(bench)) {
        ask_unwritten(bench);
        return false;
    }
    if (sheet->read_only) {
        pm_app_say(bench->app, "This is read only: %s branches from it, Esc shows the draft.",
                   pm_keymap_key(keys, "branch", PM_MODE_SHEET, key));
        return false;
    }
    return true;
}
