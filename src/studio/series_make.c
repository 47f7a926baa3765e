/* SPDX-License-Identifier: MIT */
/* Making a series: contents worked out first, then kept one after the other, in one transaction. */
#include "permille/studio/series.h"
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/store/series.h"
#include "permille/studio/blind.h"
#include "permille/studio/trials.h"

#include <stdio.h>
#include <string.h>

struct step {
    struct pm_trial content;
    struct pm_series_trial row;
    const char *sentence;
};
struct laying {
    struct pm_studio *studio;
    const struct pm_series_form *form;
    struct pm_sheet *sheet; /* the draft as it is now; owned */
    struct pm_series_row row;
    struct step *steps; /* in the arena; their contents are owned */
    size_t count;
    struct pm_trial original; /* owned */
    int64_t parent;           /* the kept trial that all of them go on from; 0: none */
    struct pm_arena arena;
};

void pm_series_made_release(struct pm_series_made *made)
{
    pm_free(made->sentence);
    *made = (struct pm_series_made){.id = 0};
}

/* A text kept by the arena; empties it. */
static const char *keep(struct laying *laying, struct pm_text *text)
{
    const char *kept = pm_text_ok(text) ? pm_arena_text(&laying->arena, pm_text_get(text)) : NULL;
    laying->arena.failed = laying->arena.failed || kept == NULL;
    pm_text_release(text);
    return kept;
}

static const char *name_of(const struct laying *laying, int64_t line)
{
    const long place = pm_trial_find(&laying->original, line);
    return laying->sheet->lines[place].title;
}

/* ---- keeping the trials ---- */

/* Makes the content the draft, going on from the common parent. */
static enum pm_status show(struct laying *laying, const struct pm_trial *content,
                           const char *sentence, struct pm_error *err)
{
    struct pm_plan *plan;
    struct pm_sheet *after = NULL;
    enum pm_status status = pm_plan_content(laying->studio, laying->sheet, content, laying->parent,
                                            "series", sentence, &plan, err);
    if (status != PM_OK)
        return status;
    status = pm_plan_commit(laying->studio, plan, &after, err);
    pm_plan_free(plan);
    if (status != PM_OK)
        return status;
    pm_sheet_free(laying->sheet);
    laying->sheet = after;
    return PM_OK;
}

static enum pm_status reopen(struct laying *laying, struct pm_error *err)
{
    struct pm_sheet *again;
    const enum pm_status status =
        pm_sheet_open_draft(laying->studio, laying->form->formula, &again, err);
    if (status != PM_OK)
        return status;
    pm_sheet_free(laying->sheet);
    laying->sheet = again;
    return PM_OK;
}

/* What is the parent already need not be kept again. */
static enum pm_status keep_step(struct laying *laying, struct step *step, struct pm_error *err)
{
    bool unchanged;
    int64_t number;
    enum pm_status status = show(laying, &step->content, step->sentence, err);
    if (status == PM_OK)
        status = pm_sheet_unchanged(laying->studio, laying->sheet, &unchanged, err);
    if (status != PM_OK)
        return status;
    if (unchanged) {
        step->row.trial = laying->sheet->trial.parent;
        return PM_OK;
    }
    status = pm_trial_keep(laying->studio, laying->sheet, step->sentence, &number, err);
    if (status == PM_OK)
        status = pm_trial_by_number(laying->studio->library, laying->form->formula, number,
                                    &step->row.trial, err);
    if (status == PM_OK && laying->parent == 0)
        laying->parent = step->row.trial;
    return status == PM_OK ? reopen(laying, err) : status;
}

/* ---- blind tests ---- */

static enum pm_status new_test(struct laying *laying, const char *name, enum pm_panel_kind kind,
                               const int64_t *trials, size_t count, int64_t *id,
                               struct pm_error *err)
{
    struct pm_blind_made made;
    const struct pm_blind_form form = {.values = {[PM_PANEL_NAME] = name,
                                                  [PM_PANEL_KIND] = pm_panel_word(kind),
                                                  [PM_PANEL_ROUNDS] = laying->form->rounds},
                                       .trials = trials,
                                       .trial_count = count};
    const enum pm_status status = pm_blind_new(laying->studio, &form, &made, err);
    if (status == PM_OK) {
        *id = made.id;
        pm_blind_made_release(&made);
    }
    return status;
}

static enum pm_status test_each(struct laying *laying, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 1; status == PM_OK && i < laying->count; i++) {
        struct step *step = &laying->steps[i];
        const int64_t pair[] = {laying->steps[0].row.trial, step->row.trial};
        struct pm_text name = PM_TEXT_EMPTY;
        pm_text_addf(&name, "%s: %s", laying->row.name, step->row.omitted);
        const char *kept = keep(laying, &name);
        status = kept != NULL ? new_test(laying, kept, PM_TRIANGLE, pair, 2, &step->row.panel, err)
                              : pm_fail_memory(err);
    }
    return status;
}

static enum pm_status test_all(struct laying *laying, struct pm_error *err)
{
    int64_t trials[PM_PANEL_SAMPLES_MAX];
    if (laying->count > PM_PANEL_SAMPLES_MAX)
        return pm_fail(err, PM_REFUSED, "A ranking takes at most %d trials, not %zu.",
                       PM_PANEL_SAMPLES_MAX, laying->count);
    for (size_t i = 0; i < laying->count; i++)
        trials[i] = laying->steps[i].row.trial;
    return new_test(laying, laying->row.name, PM_RANKING, trials, laying->count, &laying->row.panel,
                    err);
}

/* ---- one transaction ---- */

static enum pm_status write_series(struct laying *laying, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct pm_text back = PM_TEXT_EMPTY;
    for (size_t i = 0; status == PM_OK && i < laying->count; i++)
        status = keep_step(laying, &laying->steps[i], err);
    pm_text_addf(&back, "Back to the draft as it was before \"%s\"", laying->row.name);
    if (status == PM_OK && !pm_text_ok(&back))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = show(laying, &laying->original, pm_text_get(&back), err);
    pm_text_release(&back);
    if (status == PM_OK && laying->form->blind)
        status = laying->row.kind == PM_SERIES_LEAVE_OUT ? test_each(laying, err)
                                                         : test_all(laying, err);
    struct pm_series_trial *rows = pm_arena_array(&laying->arena, laying->count, sizeof *rows);
    if (status == PM_OK && rows == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < laying->count; i++)
        rows[i] = laying->steps[i].row;
    if (status == PM_OK)
        status = pm_series_insert(laying->studio->library, &laying->row, rows, laying->count,
                                  &laying->row.id, err);
    return status;
}

/* The name given, or one that is free: "Indole in Quay", "Indole in Quay 2". */
static enum pm_status name_series(struct laying *laying, const char *about, struct pm_error *err)
{
    int64_t taken = 1;
    enum pm_status status = PM_OK;
    if (pm_given(laying->form->name)) {
        char *clean;
        status = pm_name_clean(laying->form->name, "The name of the series", &clean, err);
        if (status == PM_OK && strspn(clean, "0123456789") == strlen(clean))
            status = pm_fail(err, PM_INVALID, "The name of a series is more than a number.");
        if (status == PM_OK)
            laying->row.name = pm_arena_text(&laying->arena, clean);
        pm_free(clean);
        return status == PM_OK ? pm_arena_status(&laying->arena, err)
                               : pm_error_at(err, "name", status);
    }
    for (int n = 1; status == PM_OK && taken != 0; n++) {
        struct pm_text text = PM_TEXT_EMPTY;
        pm_text_addf(&text, "%s in %s", about, laying->sheet->name);
        if (n > 1)
            pm_text_addf(&text, " %d", n);
        laying->row.name = keep(laying, &text);
        status = pm_arena_status(&laying->arena, err);
        if (status == PM_OK)
            status = pm_series_by_name(laying->studio->library, laying->row.name, &taken, err);
    }
    return status;
}

static enum pm_status begin(struct laying *laying, struct pm_error *err)
{
    enum pm_status status =
        pm_sheet_open_draft(laying->studio, laying->form->formula, &laying->sheet, err);
    if (status == PM_OK)
        status = pm_trial_copy(&laying->sheet->trial, &laying->original, err);
    laying->row.formula = laying->form->formula;
    laying->parent = status == PM_OK ? laying->sheet->trial.parent : 0;
    return status;
}

static struct step *add_step(struct laying *laying)
{
    struct step *step = &laying->steps[laying->count];
    *step = (struct step){.row = {.amount = -1}};
    return step;
}

static enum pm_status room_for(struct laying *laying, size_t count, struct pm_error *err)
{
    if (count > PM_SERIES_TRIALS_MOST)
        return pm_fail(err, PM_REFUSED, "A series has at most %d trials, not %zu.",
                       PM_SERIES_TRIALS_MOST, count);
    laying->steps = pm_arena_array(&laying->arena, count, sizeof *laying->steps);
    return laying->steps != NULL ? PM_OK : pm_fail_memory(err);
}

/* Ends what begin() began; `lay` worked out all the contents. */
static enum pm_status finish(struct laying *laying, enum pm_status status,
                             struct pm_series_made *out, struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    if (status == PM_OK)
        status = pm_arena_status(&laying->arena, err);
    if (status == PM_OK)
        status = write_series(laying, err);
    pm_text_addf(&sentence, "Series \"%s\" (%s): %zu trials of %s", laying->row.name,
                 pm_series_word(laying->row.kind), laying->count,
                 laying->sheet != NULL ? laying->sheet->name : "");
    if (status == PM_OK && laying->form->blind)
        pm_text_add(&sentence, laying->row.kind == PM_SERIES_LEAVE_OUT
                                   ? ", with a blind test of each"
                                   : ", with a blind ranking");
    struct pm_series_made made = {laying->row.id, pm_text_take(&sentence)};
    if (status == PM_OK && made.sentence == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; i < laying->count; i++)
        pm_trial_release(&laying->steps[i].content);
    pm_trial_release(&laying->original);
    pm_sheet_free(laying->sheet);
    pm_arena_release(&laying->arena);
    status = pm_studio_change_end(laying->studio, status, err);
    if (status == PM_OK)
        *out = made;
    else
        pm_free(made.sentence);
    return status;
}

/* ---- ladders ---- */

static enum pm_status read_list(const char *text, pm_parts base, pm_parts *out, size_t *count,
                                struct pm_error *err)
{
    char one[64];
    /* Where there is a semicolon commas may be decimal signs. */
    const char *separators = strchr(text, ';') != NULL ? ";" : ",";
    *count = 0;
    while (*text != '\0') {
        const size_t length = strcspn(text, separators);
        if (*count == PM_SERIES_TRIALS_MOST)
            return pm_fail(err, PM_INVALID, "A ladder has at most %d doses.",
                           PM_SERIES_TRIALS_MOST);
        (void)snprintf(one, sizeof one, "%.*s", (int)length, text);
        const enum pm_status status = pm_parts_read(one, 0, base, &out[*count], err);
        if (status != PM_OK)
            return status;
        for (size_t i = 0; i < *count; i++)
            if (out[i] == out[*count])
                return pm_fail(err, PM_INVALID, "The dose %s stands twice.", one);
        (*count)++;
        text += length;
        text += *text != '\0';
    }
    return *count >= 2 ? PM_OK : pm_fail(err, PM_INVALID, "A ladder has two doses at least.");
}

static enum pm_status read_doses(const struct pm_ladder_form *ladder, pm_parts base, pm_parts *out,
                                 size_t *count, struct pm_error *err)
{
    pm_parts from, to;
    int64_t steps = 5;
    if (pm_given(ladder->doses))
        return read_list(ladder->doses, base, out, count, err);
    if (!pm_given(ladder->from) || !pm_given(ladder->to))
        return pm_fail_at(err, pm_given(ladder->from) ? "to" : "from", PM_INVALID,
                          "Which doses? Say them (\"1, 2, 4, 8\"), or the least and the most.");
    enum pm_status status =
        pm_error_at(err, "from", pm_parts_read(ladder->from, 0, base, &from, err));
    if (status == PM_OK)
        status = pm_error_at(err, "to", pm_parts_read(ladder->to, 0, base, &to, err));
    if (status == PM_OK && pm_given(ladder->count))
        status = pm_error_at(err, "count",
                             pm_decimal_read(ladder->count, 0, "The number of doses", &steps, err));
    if (status != PM_OK)
        return status;
    *count = steps > 1000 ? 1000 : (size_t)steps;
    /* More of them than fit, or ends that do not rise. */
    return pm_error_at(err, to > from ? "count" : "to",
                       pm_ladder_doses(from, to, *count, ladder->equal_steps, out, err));
}

static enum pm_status lay_ladder(struct laying *laying, const struct pm_ladder_form *ladder,
                                 struct pm_error *err)
{
    pm_parts doses[PM_SERIES_TRIALS_MOST];
    size_t count = 0;
    int64_t line = 0;
    enum pm_status status = begin(laying, err);
    if (status == PM_OK)
        status = pm_sheet_find_line(laying->sheet, ladder->line, &line, err);
    if (status == PM_OK)
        status = read_doses(ladder, laying->original.base, doses, &count, err);
    if (status == PM_OK)
        status = room_for(laying, count, err);
    if (status != PM_OK)
        return status;
    const char *name = name_of(laying, line);
    laying->row.what = pm_arena_text(&laying->arena, name);
    status = name_series(laying, name, err);
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        char amount[PM_AMOUNT_TEXT];
        struct pm_text sentence = PM_TEXT_EMPTY;
        struct step *step = add_step(laying);
        const struct pm_gesture gesture = {.kind = PM_SET, .line = line, .parts = doses[i]};
        status = pm_gesture_apply(&gesture, &laying->original, &step->content, NULL, err);
        if (status != PM_OK) {
            pm_rules_name_refusal(laying->studio, laying->sheet, &gesture, err);
            break;
        }
        laying->count++;
        step->row.amount = doses[i];
        pm_text_addf(&sentence, "%s at %s, for \"%s\"", name,
                     pm_decimal_exact(doses[i], 6, '.', amount), laying->row.name);
        step->sentence = keep(laying, &sentence);
    }
    return status;
}

enum pm_status pm_series_ladder(struct pm_studio *studio, const struct pm_series_form *form,
                                const struct pm_ladder_form *ladder, struct pm_series_made *out,
                                struct pm_error *err)
{
    struct laying laying = {.studio = studio, .form = form, .row = {.kind = PM_SERIES_LADDER}};
    const enum pm_status status = pm_studio_change_begin(studio, err);
    return status == PM_OK ? finish(&laying, lay_ladder(&laying, ladder, err), out, err) : status;
}

/* ---- one line left out ---- */

static enum pm_status lay_whole(struct laying *laying, struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct step *step = add_step(laying);
    const enum pm_status status = pm_trial_copy(&laying->original, &step->content, err);
    if (status != PM_OK)
        return status;
    laying->count++;
    pm_text_addf(&sentence, "All of it, for \"%s\"", laying->row.name);
    step->sentence = keep(laying, &sentence);
    return PM_OK;
}

static enum pm_status lay_without(struct laying *laying, int64_t line, struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct step *step = add_step(laying);
    const struct pm_gesture gesture = {.kind = PM_DROP, .line = line};
    const enum pm_status status =
        pm_gesture_apply(&gesture, &laying->original, &step->content, NULL, err);
    if (status != PM_OK) {
        pm_rules_name_refusal(laying->studio, laying->sheet, &gesture, err);
        return status;
    }
    laying->count++;
    step->row.omitted = pm_arena_text(&laying->arena, name_of(laying, line));
    pm_text_addf(&sentence, "Without %s, for \"%s\"", step->row.omitted, laying->row.name);
    step->sentence = keep(laying, &sentence);
    return PM_OK;
}

/* The lines meant, each once, and their names for the row. */
static enum pm_status find_lines(struct laying *laying, const char *const *names, size_t count,
                                 int64_t *lines, struct pm_error *err)
{
    struct pm_text what = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        status = pm_sheet_find_line(laying->sheet, names[i], &lines[i], err);
        for (size_t j = 0; status == PM_OK && j < i; j++)
            if (lines[j] == lines[i])
                status = pm_fail(err, PM_INVALID, "%s is named twice.", name_of(laying, lines[i]));
        if (status == PM_OK)
            pm_text_addf(&what, "%s%s", i > 0 ? "\n" : "", name_of(laying, lines[i]));
    }
    laying->row.what = keep(laying, &what);
    return status == PM_OK ? pm_arena_status(&laying->arena, err) : status;
}

static enum pm_status lay_leave_out(struct laying *laying, const char *const *names, size_t count,
                                    struct pm_error *err)
{
    int64_t lines[PM_SERIES_TRIALS_MOST];
    enum pm_status status = begin(laying, err);
    if (status == PM_OK && count == 0)
        status = pm_fail(err, PM_INVALID, "Which lines are left out, one at a time?");
    if (status == PM_OK)
        status = room_for(laying, count + 1, err);
    if (status == PM_OK)
        status = find_lines(laying, names, count, lines, err);
    if (status == PM_OK)
        status = name_series(laying, "Left out", err);
    if (status == PM_OK)
        status = lay_whole(laying, err);
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = lay_without(laying, lines[i], err);
    return status;
}

enum pm_status pm_series_leave_out(struct pm_studio *studio, const struct pm_series_form *form,
                                   const char *const *lines, size_t count,
                                   struct pm_series_made *out, struct pm_error *err)
{
    struct laying laying = {.studio = studio, .form = form, .row = {.kind = PM_SERIES_LEAVE_OUT}};
    const enum pm_status status = pm_studio_change_begin(studio, err);
    return status == PM_OK ? finish(&laying, lay_leave_out(&laying, lines, count, err), out, err)
                           : status;
}

/* ---- ratios ---- */

/* "0%" is a bound, too, though no strength. */
static enum pm_status read_share(const char *text, pm_strength *out, struct pm_error *err)
{
    if (!pm_given(text))
        return PM_OK;
    if (strspn(text, "0%. ,") == strlen(text)) {
        *out = 0;
        return PM_OK;
    }
    return pm_strength_read(text, out, err);
}

static enum pm_status read_bounds(struct laying *laying, const struct pm_ratios_form *form,
                                  struct pm_mix_bounds *out, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    pm_mix_unbounded(out);
    for (size_t i = 0; status == PM_OK && i < form->count; i++) {
        status = pm_error_at(
            err, "least",
            read_share(form->least != NULL ? form->least[i] : NULL, &out->least[i], err));
        if (status == PM_OK)
            status = pm_error_at(
                err, "most",
                read_share(form->most != NULL ? form->most[i] : NULL, &out->most[i], err));
        pm_text_addf(&text, "%s%lld-%lld", i > 0 ? " " : "", (long long)out->least[i],
                     (long long)out->most[i]);
    }
    laying->row.bounds = keep(laying, &text);
    return status == PM_OK ? pm_arena_status(&laying->arena, err) : status;
}

static enum pm_status lay_point(struct laying *laying, const int64_t *lines, size_t count,
                                const struct pm_mix_point *point, struct pm_error *err)
{
    struct pm_text ratio = PM_TEXT_EMPTY, sentence = PM_TEXT_EMPTY;
    struct step *step = add_step(laying);
    const enum pm_status status =
        pm_ratio_content(&laying->original, lines, count, point->part, &step->content, err);
    if (status != PM_OK)
        return status;
    laying->count++;
    pm_mix_point_format(point, count, &ratio);
    step->row.ratio = keep(laying, &ratio);
    pm_text_addf(&sentence, "Ratio %s, for \"%s\"", step->row.ratio != NULL ? step->row.ratio : "",
                 laying->row.name);
    step->sentence = keep(laying, &sentence);
    return PM_OK;
}

static enum pm_status lay_ratios(struct laying *laying, const struct pm_ratios_form *form,
                                 struct pm_error *err)
{
    int64_t lines[PM_MIX_MOST];
    struct pm_mix_bounds bounds;
    struct pm_mix_design *design = pm_arena_alloc(&laying->arena, sizeof *design);
    enum pm_status status = design != NULL ? begin(laying, err) : pm_fail_memory(err);
    if (status == PM_OK && (form->count < 2 || form->count > PM_MIX_MOST))
        status = pm_fail(err, PM_REFUSED, "A design of ratios takes 2 to %d lines, not %zu.",
                         PM_MIX_MOST, form->count);
    if (status == PM_OK)
        status = find_lines(laying, form->lines, form->count, lines, err);
    if (status == PM_OK)
        status = read_bounds(laying, form, &bounds, err);
    if (status == PM_OK)
        status = pm_mix_design(form->count, form->degree, &bounds, design, err);
    if (status == PM_OK)
        status = room_for(laying, design->count, err);
    if (status == PM_OK)
        status = name_series(laying, "Ratios", err);
    for (size_t i = 0; status == PM_OK && i < design->count; i++)
        status = lay_point(laying, lines, form->count, &design->points[i], err);
    return status;
}

enum pm_status pm_series_ratios(struct pm_studio *studio, const struct pm_series_form *form,
                                const struct pm_ratios_form *ratios, struct pm_series_made *out,
                                struct pm_error *err)
{
    struct laying laying = {.studio = studio, .form = form, .row = {.kind = PM_SERIES_RATIOS}};
    const enum pm_status status = pm_studio_change_begin(studio, err);
    return status == PM_OK ? finish(&laying, lay_ratios(&laying, ratios, err), out, err) : status;
}
