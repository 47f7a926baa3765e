/* SPDX-License-Identifier: MIT */
/* Keys while parts are typed, and those that begin it. */
#include "bench.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

/* Enter: one gesture. False when the text is wrong or refused; then it stays open. */
static bool commit(struct bench *bench)
{
    struct pm_error err = {0};
    const struct pm_sheet_line *line = bench_line(bench);
    struct pm_gesture gesture = {.kind = PM_SET, .line = bench->line};
    struct pm_plan *plan;
    bool untouched = bench->field.whole || pm_is_blank(bench->field.text);
    if (line == NULL || untouched) {
        bench_edit_stop(bench);
        return true;
    }
    const struct pm_sheet *sheet = bench_sheet(bench);
    enum pm_status status = pm_parts_read(bench->field.text, line->line->parts, sheet->trial.base,
                                          &gesture.parts, &err);
    if (status == PM_OK)
        status = pm_plan_gesture(bench->house->studio, sheet, &gesture, &plan, &err);
    if (status != PM_OK) {
        pm_app_error(bench->app, &err);
        return false;
    }
    bench_write(bench, plan, bench->field.text);
    return true;
}

unsigned bench_edit_act(struct bench *bench, int code)
{
    switch (code) {
    case PM_ACT_ACCEPT:
        commit(bench);
        return PM_REDRAW;
    case PM_ACT_CANCEL:
        bench_edit_stop(bench);
        return PM_REDRAW;
    case PM_ACT_UP:
    case PM_ACT_PREV:
        if (commit(bench) && bench->at > 0)
            bench_select(bench, bench->at - 1);
        return PM_REDRAW;
    case PM_ACT_DOWN:
    case PM_ACT_NEXT:
        if (commit(bench))
            bench_select(bench, bench->at + 1);
        return PM_REDRAW;
    default:
        break;
    }
    if (pm_field_act(&bench->field, code) == PM_FIELD_IGNORED)
        return PM_UNHANDLED;
    bench_edit_judge(bench);
    return PM_REDRAW;
}

/* Characters that begin a number while nothing is being typed. */
static bool begins(const char *text)
{
    return *text && strchr(PM_NUMBER_BEGINS, *text) != NULL;
}

/* Pasted, one line: more than what could be typed as the parts of a line. */
static bool is_formula(const char *text)
{
    pm_parts parts;
    return strpbrk(text, " \t") != NULL &&
           pm_parts_read(text, PM_PART, PM_PART, &parts, NULL) != PM_OK;
}

unsigned bench_edit_text(struct bench *bench, const char *text, bool pasted)
{
    if (!bench->typing) {
        if (pasted && is_formula(text)) {
            pm_bringing_paste(bench->app, text);
            return PM_REDRAW;
        }
        if (!begins(text) && !pasted)
            return PM_UNHANDLED;
        if (!bench_editable(bench))
            return PM_REDRAW;
        if (bench_line(bench) == NULL)
            return PM_UNHANDLED;
        bench_edit_start(bench, "", false);
        /* The sign that opens an empty field is not part of what is calculated. */
        text += *text == '=';
    }
    if (pm_field_insert(&bench->field, text) == PM_FIELD_FULL) {
        pm_app_warn(bench->app, PM_FIELD_FULL_SENTENCE);
        return PM_REDRAW;
    }
    bench_edit_judge(bench);
    return PM_REDRAW;
}

void bench_edit(void *state)
{
    struct bench *bench = state;
    char text[PM_AMOUNT_TEXT];
    if (bench_editable(bench) && bench_line(bench) != NULL)
        bench_edit_start(bench, bench_parts_text(bench, bench_line(bench)->line->parts, text),
                         true);
}
