/* SPDX-License-Identifier: MIT */
/* The Bench: typing parts, and the preview that moves with every key. */
#include "bench.h"

#include "permille/base/utf8.h"

#include "permille/base/mem.h"
#include "permille/core/gesture.h"

#include <stdio.h>
#include <string.h>

#define DOT " \xC2\xB7 "

/* ---- preview ---- */

static void preview_end(struct bench *bench)
{
    if (bench->previewing) {
        bench->previewing = bench->has_fresh = false;
        bench_limits_forget(bench);
        bench_profile_forget(bench);
        bench_weigh_masses(bench);
    }
}

static bool preview_room(struct bench *bench)
{
    void *preview = bench->preview;
    size_t count = bench_sheet(bench)->trial.count;
    bool ok = pm_grow(&preview, &bench->preview_capacity, count + 1, sizeof *bench->preview);
    bench->preview = preview;
    return ok;
}

static void preview_show(struct bench *bench)
{
    bench->previewing = true;
    bench_limits_forget(bench);
    bench_profile_forget(bench);
    bench_figures_preview(&bench->figures, bench->preview, bench_rows(bench));
    bench_figures_weigh(&bench->figures, bench->preview, bench_rows(bench),
                        pm_house_batch(bench->house), bench->house->sign);
    bench_weigh_preview(bench);
}

size_t bench_row_line(const struct bench *bench, size_t row)
{
    if (!bench->has_fresh || row < bench->fresh.place)
        return row;
    return row == bench->fresh.place ? BENCH_FRESH : row - 1;
}

size_t bench_place(const struct bench *bench, size_t line)
{
    return line == BENCH_FRESH ? bench->figures.count : line;
}

/* The line that a gesture would bring in, with what is known of it. */
static void preview_fresh(struct bench *bench, const struct pm_gesture *gesture,
                          const struct pm_preview *seen)
{
    struct bench_fresh *fresh = &bench->fresh;
    if (gesture->kind != PM_ADD)
        return;
    fresh->line = gesture->fresh;
    fresh->line.comment = NULL;
    fresh->line.parts = seen->now;
    fresh->place = seen->place;
    bench->preview[bench->figures.count] = seen->now;
    bench->has_fresh = true;
}

static void say_moved(const struct bench *bench, struct pm_text *out, size_t moved)
{
    if (moved == 0)
        pm_text_add(out, "no other line changes");
    else
        pm_text_addf(out, "%zu other line%s", moved, moved == 1 ? " gives way" : "s give way");
    bench_weigh_changes(bench, out);
    bench_drydown_preview(bench, out);
}

enum pm_role bench_preview(struct bench *bench, const struct pm_gesture *gesture,
                           struct pm_text *out)
{
    struct pm_preview seen;
    struct pm_error err = {0};
    char parts[PM_AMOUNT_TEXT], share[PM_AMOUNT_TEXT + 8];
    const struct pm_sheet *sheet = bench_sheet(bench);
    preview_end(bench);
    if (gesture == NULL || sheet == NULL || !preview_room(bench))
        return PM_ROLE_NORMAL;
    if (pm_plan_preview(bench->house->studio, sheet, gesture, bench->preview, &seen, &err) !=
        PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    preview_fresh(bench, gesture, &seen);
    preview_show(bench);
    int64_t of_whole = 0;
    if (seen.total > 0)
        pm_muldiv(seen.now, INT64_C(1000000000000), seen.total, &of_whole);
    pm_text_addf(out, "%s parts", bench_parts_about(bench, seen.now, parts));
    if (of_whole > 0)
        pm_text_addf(out, DOT "%s of the whole", bench_share_text(bench->house, of_whole, share));
    pm_text_add(out, DOT);
    say_moved(bench, out, seen.gave_way);
    return PM_ROLE_PREVIEW;
}

/* ---- what is typed ---- */

/* Text that is not wrong yet: something that can still be typed would make a number of it. */
static bool is_unfinished(const char *text, pm_parts current, pm_parts base)
{
    static const char *const rest[] = {"1", "1)", "1))", ")", "))", "m", "pm", "ppm"};
    char whole[256];
    pm_parts parts;
    if (pm_is_blank(text))
        return true;
    for (size_t i = 0; i < sizeof rest / sizeof *rest; i++) {
        int length = snprintf(whole, sizeof whole, "%s%s", text, rest[i]);
        if (length < (int)sizeof whole &&
            pm_parts_read(whole, current, base, &parts, NULL) == PM_OK)
            return true;
    }
    return false;
}

static void check(struct bench *bench, enum pm_role role, const char *sentence)
{
    pm_text_clear(&bench->check);
    pm_text_add(&bench->check, sentence);
    bench->check_role = role;
}

static void check_preview(struct bench *bench, const struct pm_line *line, size_t moved)
{
    char was[PM_AMOUNT_TEXT], now[PM_AMOUNT_TEXT];
    pm_text_clear(&bench->check);
    bench_parts_text(bench, bench->typed, now);
    bench_parts_about(bench, bench->figures.parts.values[bench->at], was);
    /* What only looks the same is told to the last digit. */
    if (line->parts != bench->typed && strcmp(was, now) == 0)
        bench_parts_text(bench, line->parts, was);
    pm_text_addf(&bench->check, "%s \xE2\x86\x92 %s" DOT, was, now);
    say_moved(bench, &bench->check, moved);
    bench->check_role = PM_ROLE_PREVIEW;
}

void bench_edit_judge(struct bench *bench)
{
    struct pm_error err = {0};
    struct pm_preview seen;
    const struct pm_sheet_line *line = bench_line(bench);
    preview_end(bench);
    check(bench, PM_ROLE_NORMAL, "");
    if (!bench->typing || line == NULL)
        return;
    const struct pm_trial *trial = &bench_sheet(bench)->trial;
    pm_parts current = line->line->parts;
    if (pm_parts_read(bench->field.text, current, trial->base, &bench->typed, &err) != PM_OK) {
        if (!is_unfinished(bench->field.text, current, trial->base))
            check(bench, PM_ROLE_ERROR, err.text);
        return;
    }
    if (!preview_room(bench)) {
        check(bench, PM_ROLE_WARNING, "No memory is left for the preview; Enter still works.");
        return;
    }
    const struct pm_gesture gesture = {.kind = PM_SET, .line = bench->line, .parts = bench->typed};
    if (pm_plan_preview(bench->house->studio, bench_sheet(bench), &gesture, bench->preview, &seen,
                        &err) != PM_OK) {
        check(bench, PM_ROLE_ERROR, err.text);
        return;
    }
    preview_show(bench);
    check_preview(bench, line->line, seen.gave_way);
}

void bench_edit_start(struct bench *bench, const char *text, bool whole)
{
    if (whole)
        pm_field_offer(&bench->field, text);
    else
        pm_field_set(&bench->field, text);
    bench->typing = true;
    bench_edit_judge(bench);
}

void bench_edit_stop(struct bench *bench)
{
    bench->typing = false;
    bench->field.whole = false;
    preview_end(bench);
    check(bench, PM_ROLE_NORMAL, "");
}
