/* SPDX-License-Identifier: MIT */
/* The Bench: gestures that need no material. */
#include "bench.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

/* ---- on the selected line ---- */

bool bench_on_line(void *state)
{
    struct bench *bench = state;
    if (!bench_editable(bench))
        return false;
    if (bench_line(bench) == NULL)
        pm_app_say(bench->app, "There is no line yet.");
    return bench_line(bench) != NULL;
}

/* A gesture on the selected line; the rest of it is filled in by the caller. */
static void on_line(void *state, struct pm_gesture gesture)
{
    struct bench *bench = state;
    gesture.line = bench->line;
    bench_gesture(bench, &gesture);
}

void bench_drop(void *state)
{
    on_line(state, (struct pm_gesture){.kind = PM_DROP});
}

void bench_more(void *state)
{
    on_line(state, (struct pm_gesture){.kind = PM_NUDGE, .steps = 1});
}

void bench_less(void *state)
{
    on_line(state, (struct pm_gesture){.kind = PM_NUDGE, .steps = -1});
}

void bench_unfold(void *state)
{
    on_line(state, (struct pm_gesture){.kind = PM_UNFOLD});
}

static void set_stance(struct bench *bench, enum pm_stance stance)
{
    bool on = bench_line(bench)->line->stance == stance;
    on_line(bench, (struct pm_gesture){.kind = PM_SET_STANCE,
                                       .stance = on ? PM_FREE : stance,
                                       .as_it_was = on && stance == PM_RESTING});
}

void bench_hold(void *state)
{
    set_stance(state, PM_HELD);
}

void bench_rest(void *state)
{
    set_stance(state, PM_RESTING);
}

void bench_carry(void *state)
{
    set_stance(state, PM_CARRIER);
}

void bench_raise(void *state)
{
    const struct bench *bench = state;
    if (bench->at > 0)
        on_line(state, (struct pm_gesture){.kind = PM_MOVE, .place = bench->at - 1});
}

void bench_lower(void *state)
{
    const struct bench *bench = state;
    if (bench->at + 1 < bench_sheet(bench)->trial.count)
        on_line(state, (struct pm_gesture){.kind = PM_MOVE, .place = bench->at + 1});
}

void bench_next_mode(void *state)
{
    struct bench *bench = state;
    enum pm_mode mode = bench_sheet(bench)->trial.mode;
    struct pm_gesture gesture = {.kind = PM_SET_MODE,
                                 .mode = mode == PM_OPEN ? PM_CORE_MODE : mode + 1};
    bench_gesture(bench, &gesture);
}

void bench_settle(void *state)
{
    bench_gesture(state, &(struct pm_gesture){.kind = PM_SETTLE});
}

/* ---- prompts ---- */

#define NUMBER_LIMIT 40 /* bytes; a number to begin with is replaced by the first digit */

/* One prompt at a time is open, so its context is the bench. */
static void ask(struct bench *bench, const char *title, const char *label, const char *text,
                size_t limit, pm_check_fn check,
                enum pm_status (*accept)(void *, const char *, struct pm_error *),
                void (*closed)(void *))
{
    bench->asked = bench->line;
    const struct pm_prompt_spec spec = {.title = title,
                                        .label = label,
                                        .text = text,
                                        .limit = limit,
                                        .replace = limit == NUMBER_LIMIT,
                                        .check = check,
                                        .accept = accept,
                                        .closed = closed,
                                        .context = bench};
    pm_prompt_open(bench->app, &spec);
}

static void end_preview(void *context)
{
    bench_preview(context, NULL, NULL);
}

/* "1.5", "2/3", "110%" as a fraction. */
static enum pm_status read_factor(const char *text, struct pm_gesture *gesture,
                                  struct pm_error *err)
{
    gesture->kind = PM_SCALE;
    return pm_factor_read(text, &gesture->numerator, &gesture->denominator, err);
}

static enum pm_role scale_check(void *context, const char *text, struct pm_text *out)
{
    struct bench *bench = context;
    struct pm_gesture gesture = {.line = bench->asked};
    struct pm_error err = {0};
    bench_preview(bench, NULL, out);
    if (pm_is_blank(text))
        return PM_ROLE_NORMAL;
    if (read_factor(text, &gesture, &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    return bench_preview(bench, &gesture, out);
}

static enum pm_status scale_accept(void *context, const char *text, struct pm_error *err)
{
    struct bench *bench = context;
    struct pm_gesture gesture = {.line = bench->asked};
    enum pm_status status = read_factor(text, &gesture, err);
    return status != PM_OK ? status : bench_do(bench, &gesture, err);
}

static enum pm_status base_accept(void *context, const char *text, struct pm_error *err)
{
    struct bench *bench = context;
    struct pm_gesture gesture = {.kind = PM_SET_BASE};
    pm_parts base = bench->sheet->trial.base;
    enum pm_status status = pm_parts_read(text, base, base, &gesture.parts, err);
    return status != PM_OK ? status : bench_do(bench, &gesture, err);
}

static enum pm_status comment_accept(void *context, const char *text, struct pm_error *err)
{
    struct bench *bench = context;
    struct pm_gesture gesture = {.kind = PM_COMMENT, .line = bench->asked, .text = text};
    return bench_do(bench, &gesture, err);
}

void bench_base(void *state)
{
    struct bench *bench = state;
    char text[PM_AMOUNT_TEXT];
    ask(bench, "Change the base: every line is rescaled", "New base",
        bench_parts_text(bench, bench_sheet(bench)->trial.base, text), NUMBER_LIMIT, NULL,
        base_accept, NULL);
}

void bench_scale(void *state)
{
    struct bench *bench = state;
    struct pm_text title = PM_TEXT_EMPTY;
    pm_text_addf(&title, "Scale %s", bench_line(bench)->title);
    ask(bench, pm_text_get(&title), "Times", NULL, NUMBER_LIMIT, scale_check, scale_accept,
        end_preview);
    pm_text_release(&title);
}

void bench_comment(void *state)
{
    struct bench *bench = state;
    struct pm_text title = PM_TEXT_EMPTY;
    const struct pm_sheet_line *line = bench_line(bench);
    pm_text_addf(&title, "Comment on %s", line->title);
    ask(bench, pm_text_get(&title), "Comment", line->line->comment, 4096, NULL, comment_accept,
        NULL);
    pm_text_release(&title);
}

/* ---- marked lines: cores and folding ---- */

/* Ids of the marked lines in the sheet's order, for the caller to free; NULL without memory. */
static int64_t *marked_lines(const struct bench *bench, size_t *count)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    int64_t *lines = pm_alloc_array(bench->mark_count + 1, sizeof *lines);
    *count = 0;
    for (size_t i = 0; lines != NULL && i < sheet->trial.count; i++)
        if (bench_is_marked(bench, sheet->trial.lines[i].id) && *count < bench->mark_count)
            lines[(*count)++] = sheet->trial.lines[i].id;
    return lines;
}

/* What a core of the marked lines takes; the arrays are the caller's to free. */
struct core_wish {
    struct pm_gesture gesture;
    int64_t *lines, *weights;
};

static void core_wish_release(struct core_wish *wish)
{
    pm_free(wish->lines);
    pm_free(wish->weights);
}

static enum pm_status core_wish_read(const struct bench *bench, const char *text,
                                     struct core_wish *wish, struct pm_error *err)
{
    size_t count, given = 0;
    wish->lines = marked_lines(bench, &count);
    wish->weights = pm_alloc_array(count + 1, sizeof *wish->weights);
    wish->gesture =
        (struct pm_gesture){.kind = PM_FORM_CORE, .lines = wish->lines, .line_count = count};
    if (wish->lines == NULL || wish->weights == NULL)
        return pm_fail_memory(err);
    if (pm_is_blank(text))
        return PM_OK; /* as it stands */
    enum pm_status status = pm_ratio_read(text, wish->weights, count, &given, err);
    if (status == PM_OK && given != count)
        status = pm_fail(err, PM_INVALID, "%zu lines are marked, but the ratio names %zu.", count,
                         given);
    wish->gesture.weights = wish->weights;
    return status;
}

static enum pm_status core_accept(void *context, const char *text, struct pm_error *err)
{
    struct bench *bench = context;
    struct core_wish wish;
    enum pm_status status = core_wish_read(bench, text, &wish, err);
    if (status == PM_OK)
        status = bench_do(bench, &wish.gesture, err);
    core_wish_release(&wish);
    if (status == PM_OK)
        bench_unmark_all(bench);
    return status;
}

static enum pm_role core_check(void *context, const char *text, struct pm_text *out)
{
    struct bench *bench = context;
    struct core_wish wish;
    struct pm_text ignored = PM_TEXT_EMPTY;
    enum pm_role role = PM_ROLE_FAINT;
    bench_preview(bench, NULL, out);
    if (pm_is_blank(text)) {
        pm_text_addf(out, "%zu lines; left empty, their ratio stays as it is.", bench->mark_count);
        return role;
    }
    if (core_wish_read(bench, text, &wish, NULL) != PM_OK)
        pm_text_addf(out, "One number for each of the %zu lines.", bench->mark_count);
    else if ((role = bench_preview(bench, &wish.gesture, &ignored)) == PM_ROLE_ERROR)
        pm_text_add(out, pm_text_get(&ignored));
    else
        pm_text_add(out, "The sheet shows what the lines become.");
    pm_text_release(&ignored);
    core_wish_release(&wish);
    return role;
}

static enum pm_status fold_accept(void *context, const char *text, struct pm_error *err)
{
    struct bench *bench = context;
    size_t count;
    struct pm_plan *plan;
    int64_t *lines = marked_lines(bench, &count);
    if (lines == NULL)
        return pm_fail_memory(err);
    enum pm_status status =
        pm_plan_fold(bench->house->studio, bench->sheet, text, lines, count, &plan, err);
    pm_free(lines);
    if (status != PM_OK)
        return status;
    bench_unmark_all(bench);
    bench_write(bench, plan, NULL);
    return PM_OK;
}

/* "Core in the ratio of Coumarin : Vanillin : Linalool", so that nobody has to remember the order.
 */
static void ask_ratio(struct bench *bench)
{
    struct pm_text title = PM_TEXT_EMPTY;
    const struct pm_sheet *sheet = bench_sheet(bench);
    const char *between = "Core in the ratio of ";
    for (size_t i = 0; i < sheet->trial.count; i++) {
        if (!bench_is_marked(bench, sheet->trial.lines[i].id))
            continue;
        pm_text_addf(&title, "%s%s", between, sheet->lines[i].title);
        between = " : ";
    }
    ask(bench, pm_text_get(&title), "Ratio, such as 4:3:2", NULL, 0, core_check, core_accept,
        end_preview);
    pm_text_release(&title);
}

static enum pm_status break_accept(void *context, size_t option, struct pm_error *err)
{
    struct bench *bench = context;
    struct pm_gesture gesture = {.kind = option == 1 ? PM_LEAVE_CORE : PM_BREAK_CORE,
                                 .line = bench->asked};
    return option == 0 ? PM_OK : bench_do(bench, &gesture, err);
}

static void ask_break(struct bench *bench)
{
    char letter[4], question[128];
    bench->asked = bench->line;
    snprintf(question, sizeof question, "This line belongs to core %s, whose ratio is kept.",
             pm_core_letter(bench_line(bench)->line->core, letter));
    const struct pm_choice_spec spec = {
        .title = "Core",
        .question = question,
        .options = {{'k', "keep it as it is"},
                    {'l', "let this line alone leave it"},
                    {'b', "break it: every line goes its own way; parts stay"}},
        .option_count = 3,
        .accept = break_accept,
        .context = bench,
    };
    pm_choice_open(bench->app, &spec);
}

void bench_core(void *state)
{
    struct bench *bench = state;
    char key[PM_KEY_TEXT];
    pm_app_key(bench->app, "mark", key);
    if (bench->mark_count >= 2)
        ask_ratio(bench);
    else if (bench_line(bench)->line->core != 0 && bench->mark_count == 0)
        ask_break(bench);
    else
        pm_app_say(bench->app, "Mark the lines of the core first, two or more: %s marks one.", key);
}

void bench_fold(void *state)
{
    struct bench *bench = state;
    char key[PM_KEY_TEXT];
    struct pm_error err = {0};
    size_t count;
    int64_t *lines = marked_lines(bench, &count);
    /* What cannot be folded is said before a name is asked for. */
    const enum pm_status may =
        lines != NULL ? pm_plan_may_fold(bench->sheet, lines, count, &err) : pm_fail_memory(&err);
    pm_free(lines);
    if (bench->mark_count == 0)
        pm_app_say(bench->app, "Mark the lines that are to become an accord first: %s marks one.",
                   pm_app_key(bench->app, "mark", key));
    else if (may != PM_OK)
        pm_app_error(bench->app, &err);
    else
        ask(bench, "Fold the marked lines into a new accord", "Name of the accord", NULL, 0, NULL,
            fold_accept, NULL);
}

/* ---- undo and redo ---- */

static void step(struct bench *bench,
                 enum pm_status (*plan_step)(struct pm_studio *, const struct pm_sheet *,
                                             struct pm_plan **, struct pm_error *))
{
    struct pm_error err = {0};
    struct pm_plan *plan;
    if (plan_step(bench->house->studio, bench->sheet, &plan, &err) == PM_OK)
        bench_write(bench, plan, NULL);
    else if (err.status == PM_REFUSED)
        pm_app_say(bench->app, "%s", err.text);
    else
        pm_app_error(bench->app, &err);
}

void bench_undo(void *state)
{
    step(state, pm_plan_undo);
}

void bench_redo(void *state)
{
    step(state, pm_plan_redo);
}
