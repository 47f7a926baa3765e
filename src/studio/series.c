/* SPDX-License-Identifier: MIT */
/* Series: finding, looking, rating. */
#include "permille/studio/series.h"
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/store/series.h"
#include "permille/studio/blind.h"

#include <string.h>

/* ---- finding ---- */

static enum pm_status nearest(struct pm_studio *studio, const char *text, struct pm_error *err)
{
    struct pm_series_rows rows;
    struct pm_nearest near;
    char hint[PM_ERROR_TEXT];
    char *wanted = pm_fold(text);
    if (wanted == NULL || !pm_nearest_init(&near, wanted)) {
        pm_free(wanted);
        return pm_fail_memory(err);
    }
    if (pm_series_list(studio->library, 0, &rows, NULL) == PM_OK) {
        for (size_t i = 0; i < rows.count; i++)
            pm_nearest_offer(&near, rows.items[i].name, rows.items[i].name);
        pm_list_release(&rows);
    }
    pm_fail(err, PM_MISSING, "There is no series \"%s\"%s", text,
            pm_nearest_hint(&near, hint, sizeof hint));
    pm_nearest_release(&near);
    pm_free(wanted);
    return PM_MISSING;
}

static enum pm_status find(struct pm_studio *studio, const char *text, int64_t *id,
                           struct pm_error *err)
{
    struct pm_series_row row;
    int64_t number;
    *id = 0;
    if (text[0] != '\0' && strspn(text, "0123456789") == strlen(text) &&
        pm_decimal_read(text, 0, "The series", &number, NULL) == PM_OK) {
        *id = number;
        return pm_series_get(studio->library, number, NULL, &row, err);
    }
    const enum pm_status status = pm_series_by_name(studio->library, text, id, err);
    return status == PM_OK && *id == 0 ? nearest(studio, text, err) : status;
}

enum pm_status pm_series_find(struct pm_studio *studio, const char *text, int64_t *id,
                              struct pm_error *err)
{
    const enum pm_status status = pm_studio_look_begin(studio, err);
    return status == PM_OK ? pm_look_over(studio, find(studio, text, id, err)) : status;
}

enum pm_status pm_series_all(struct pm_studio *studio, int64_t formula, struct pm_series_rows *out,
                             struct pm_error *err)
{
    return pm_series_list(studio->library, formula, out, err);
}

/* ---- looking ---- */

void pm_series_say_what(const struct pm_series_trial *row, char sign, struct pm_text *out)
{
    char amount[PM_AMOUNT_TEXT];
    if (row->amount >= 0)
        pm_text_addf(out, row->amount == PM_PART ? "%s part" : "%s parts",
                     pm_decimal_exact(row->amount, 6, sign, amount));
    else if (row->ratio != NULL)
        pm_text_add(out, row->ratio);
    else if (row->omitted != NULL)
        pm_text_addf(out, "without %s", row->omitted);
    else
        pm_text_add(out, "all of it");
}

static enum pm_status fill_step(struct pm_studio *studio, const struct pm_series_trial *row,
                                struct pm_arena *arena, struct pm_series_step *step,
                                struct pm_error *err)
{
    struct pm_kept *kept;
    char *title;
    enum pm_status status = pm_studio_kept(studio, row->trial, false, &kept, err);
    if (status == PM_OK)
        status = pm_kept_title(studio, kept, &title, err);
    if (status != PM_OK)
        return status;
    step->row = *row;
    step->row.ratio = pm_arena_text(arena, row->ratio);
    step->row.omitted = pm_arena_text(arena, row->omitted);
    step->title = pm_arena_text(arena, title);
    pm_free(title);
    return pm_arena_status(arena, err);
}

static enum pm_status add_test(struct pm_studio *studio, struct pm_series_step *step,
                               struct pm_error *err)
{
    struct pm_blind_sheet test;
    if (step->row.panel == 0)
        return PM_OK;
    const enum pm_status status = pm_blind_open(studio, step->row.panel, &test, err);
    if (status != PM_OK)
        return status;
    step->answered = test.row.answered;
    step->planned = test.row.rounds;
    step->closed = test.row.closed_at != 0 && test.has_result;
    if (step->closed) {
        step->correct = test.result.correct;
        step->p = test.result.p;
        step->shown = test.result.shown;
    }
    pm_blind_sheet_release(&test);
    return PM_OK;
}

static enum pm_status add_ratings(struct pm_studio *studio, struct pm_series_sheet *sheet,
                                  struct pm_error *err)
{
    struct pm_ratings ratings;
    const enum pm_status status = pm_rating_list(studio->library, sheet->row.id, &ratings, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < sheet->count; i++) {
        struct pm_series_step *step = &sheet->steps[i];
        for (size_t r = 0; r < ratings.count; r++)
            if (ratings.items[r].trial == step->row.trial) {
                step->rating += (double)ratings.items[r].value / 1e6;
                step->ratings++;
            }
        step->rating = step->ratings > 0 ? step->rating / (double)step->ratings : 0;
    }
    pm_list_release(&ratings);
    return PM_OK;
}

/* Only the person's own. */
static enum pm_status add_likings(struct pm_studio *studio, struct pm_series_sheet *sheet,
                                  struct pm_error *err)
{
    struct pm_smells smells;
    const enum pm_status status =
        pm_smells_list(studio, sheet->row.formula, 0, false, &smells, NULL, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < sheet->count; i++) {
        struct pm_series_step *step = &sheet->steps[i];
        for (size_t s = 0; s < smells.count; s++)
            if (smells.items[s].trial == step->row.trial && smells.items[s].liking >= 0 &&
                smells.items[s].assessor == NULL) {
                step->liking += smells.items[s].liking;
                step->likings++;
            }
        step->liking = step->likings > 0 ? step->liking / (double)step->likings : 0;
    }
    pm_list_release(&smells);
    return PM_OK;
}

static enum pm_status split_lines(struct pm_series_sheet *sheet, struct pm_error *err)
{
    const char *at = sheet->row.what;
    size_t count = 1;
    for (const char *c = at; *c != '\0'; c++)
        count += *c == '\n';
    sheet->lines = pm_arena_array(&sheet->arena, count, sizeof *sheet->lines);
    for (size_t i = 0; sheet->lines != NULL && i < count; i++) {
        const size_t length = strcspn(at, "\n");
        sheet->lines[i] = pm_arena_text_bytes(&sheet->arena, at, length);
        at += length + (at[length] != '\0');
    }
    sheet->line_count = count;
    return pm_arena_status(&sheet->arena, err);
}

static enum pm_status read_sheet(struct pm_studio *studio, int64_t id, struct pm_series_sheet *out,
                                 struct pm_error *err)
{
    struct pm_series_trials trials = {.count = 0};
    struct pm_card *card;
    enum pm_status status = pm_series_get(studio->library, id, &out->arena, &out->row, err);
    if (status == PM_OK)
        status = pm_arena_status(&out->arena, err);
    if (status == PM_OK)
        status = pm_studio_formula(studio, out->row.formula, &card, err);
    if (status == PM_OK) {
        out->formula = pm_arena_text(&out->arena, card->name);
        status = split_lines(out, err);
    }
    if (status == PM_OK)
        status = pm_series_trials_list(studio->library, id, &trials, err);
    if (status != PM_OK)
        return status;
    out->steps = pm_arena_array(&out->arena, trials.count, sizeof *out->steps);
    if (trials.count > 0 && out->steps == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < trials.count; i++, out->count++) {
        status = fill_step(studio, &trials.items[i], &out->arena, &out->steps[i], err);
        if (status == PM_OK)
            status = add_test(studio, &out->steps[i], err);
    }
    pm_list_release(&trials);
    if (status == PM_OK)
        status = add_ratings(studio, out, err);
    return status == PM_OK ? add_likings(studio, out, err) : status;
}

enum pm_status pm_series_open(struct pm_studio *studio, int64_t id, struct pm_series_sheet *out,
                              struct pm_error *err)
{
    struct pm_series_sheet made = {.count = 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, read_sheet(studio, id, &made, err));
    if (status == PM_OK)
        *out = made;
    else
        pm_series_sheet_release(&made);
    return status;
}

void pm_series_sheet_release(struct pm_series_sheet *sheet)
{
    pm_arena_release(&sheet->arena);
    *sheet = (struct pm_series_sheet){.count = 0};
}

/* ---- rating ---- */

static enum pm_status find_step(const struct pm_series_sheet *sheet, const char *text, size_t *out,
                                struct pm_error *err)
{
    for (size_t i = 0; i < sheet->count; i++) {
        const char *number = strrchr(sheet->steps[i].title, '/');
        if (pm_fold_equal(sheet->steps[i].title, text) ||
            (number != NULL && strcmp(number + 1, text) == 0)) {
            *out = i;
            return PM_OK;
        }
    }
    return pm_fail_at(err, "trial", PM_MISSING, "%s is no trial of the series \"%s\".", text,
                      sheet->row.name);
}

static enum pm_status write_rating(struct pm_studio *studio, const struct pm_series_sheet *sheet,
                                   size_t step, const struct pm_rating *rating,
                                   struct pm_text *sentence, struct pm_error *err)
{
    char text[PM_AMOUNT_TEXT];
    int64_t id;
    const enum pm_status status = pm_rating_insert(studio->library, rating, &id, err);
    if (status != PM_OK)
        return status;
    if (rating->value < 0) {
        pm_text_addf(sentence, "Took back the last rating of %s", sheet->steps[step].title);
    } else {
        pm_text_addf(sentence, "Rated %s (", sheet->steps[step].title);
        pm_series_say_what(&sheet->steps[step].row, '.', sentence);
        pm_text_addf(sentence, ") %s", pm_decimal_exact(rating->value, 6, '.', text));
    }
    return pm_text_ok(sentence) ? PM_OK : pm_fail_memory(err);
}

static enum pm_status last_rating(struct pm_studio *studio, int64_t series, int64_t trial,
                                  int64_t *out, struct pm_error *err)
{
    struct pm_ratings ratings;
    const enum pm_status status = pm_rating_list(studio->library, series, &ratings, err);
    if (status != PM_OK)
        return status;
    *out = 0;
    for (size_t i = 0; i < ratings.count; i++)
        if (ratings.items[i].trial == trial)
            *out = ratings.items[i].id;
    pm_list_release(&ratings);
    return *out != 0 ? PM_OK : pm_fail(err, PM_REFUSED, "This trial has no rating to take back.");
}

static enum pm_status rate(struct pm_studio *studio, int64_t series, const char *trial,
                           const char *value, struct pm_text *sentence, struct pm_error *err)
{
    struct pm_series_sheet sheet;
    size_t step = 0;
    struct pm_rating rating = {.series = series, .value = -1, .at = pm_studio_now(studio)};
    enum pm_status status = pm_series_open(studio, series, &sheet, err);
    if (status != PM_OK)
        return status;
    status = find_step(&sheet, trial, &step, err);
    rating.trial = status == PM_OK ? sheet.steps[step].row.trial : 0;
    if (status == PM_OK && value == NULL)
        status = last_rating(studio, series, rating.trial, &rating.corrects, err);
    else if (status == PM_OK)
        status =
            pm_error_at(err, "value", pm_decimal_read(value, 6, "The rating", &rating.value, err));
    if (status == PM_OK && rating.value > PM_RATING_MOST)
        status = pm_fail_at(err, "value", PM_INVALID, "A rating is a number from 0 to 1000.");
    if (status == PM_OK)
        status = write_rating(studio, &sheet, step, &rating, sentence, err);
    pm_series_sheet_release(&sheet);
    return status;
}

static enum pm_status rate_or_not(struct pm_studio *studio, int64_t series, const char *trial,
                                  const char *value, char **sentence, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, rate(studio, series, trial, value, &text, err), err);
    if (status == PM_OK && sentence != NULL)
        *sentence = pm_text_take(&text);
    pm_text_release(&text);
    return status;
}

enum pm_status pm_series_rate(struct pm_studio *studio, int64_t series, const char *trial,
                              const char *value, char **sentence, struct pm_error *err)
{
    if (!pm_given(value))
        return pm_fail_at(err, "value", PM_INVALID, "How good is it? A number from 0 to 1000.");
    return rate_or_not(studio, series, trial, value, sentence, err);
}

enum pm_status pm_series_unrate(struct pm_studio *studio, int64_t series, const char *trial,
                                char **sentence, struct pm_error *err)
{
    return rate_or_not(studio, series, trial, NULL, sentence, err);
}
