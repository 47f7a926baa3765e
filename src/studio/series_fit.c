/* SPDX-License-Identifier: MIT */
/* What a series tells: the fit of a design of ratios, the dose response of a ladder. */
#include "permille/studio/series.h"
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"
#include "permille/store/series.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CONFIDENCE 0.05
#define GRID       20 /* steps of a share in which mixtures are held against the best */

/* ---- observations ---- */

static enum pm_status add_observation(struct pm_series_fit *fit, const char *ratio, double value,
                                      struct pm_error *err)
{
    const enum pm_status status = pm_mix_point_read(ratio != NULL ? ratio : "", fit->components,
                                                    &fit->points[fit->observations], err);
    if (status == PM_OK)
        fit->values[fit->observations++] = value;
    return status;
}

static enum pm_status from_ratings(const struct pm_series_sheet *sheet,
                                   const struct pm_ratings *ratings, struct pm_series_fit *fit,
                                   struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t r = 0; status == PM_OK && r < ratings->count; r++)
        for (size_t i = 0; status == PM_OK && i < sheet->count; i++)
            if (sheet->steps[i].row.trial == ratings->items[r].trial)
                status = add_observation(fit, sheet->steps[i].row.ratio,
                                         (double)ratings->items[r].value / 1e6, err);
    return status;
}

static enum pm_status from_smells(const struct pm_series_sheet *sheet,
                                  const struct pm_smells *smells, struct pm_series_fit *fit,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t s = 0; status == PM_OK && s < smells->count; s++)
        for (size_t i = 0; status == PM_OK && i < sheet->count; i++)
            if (sheet->steps[i].row.trial == smells->items[s].trial &&
                smells->items[s].liking >= 0 && smells->items[s].assessor == NULL)
                status =
                    add_observation(fit, sheet->steps[i].row.ratio, smells->items[s].liking, err);
    return status;
}

static enum pm_status room_for(struct pm_series_fit *fit, size_t most, struct pm_error *err)
{
    fit->points = pm_arena_array(&fit->arena, most + 1, sizeof *fit->points);
    fit->values = pm_arena_array(&fit->arena, most + 1, sizeof *fit->values);
    return pm_arena_status(&fit->arena, err);
}

/* Ratings that were entered; where there are none, the likings of the smell log. */
static enum pm_status observe(struct pm_studio *studio, const struct pm_series_sheet *sheet,
                              struct pm_series_fit *fit, struct pm_error *err)
{
    struct pm_ratings ratings;
    struct pm_smells smells;
    enum pm_status status = pm_rating_list(studio->library, sheet->row.id, &ratings, err);
    if (status != PM_OK)
        return status;
    status = room_for(fit, ratings.count * sheet->count, err);
    if (status == PM_OK)
        status = from_ratings(sheet, &ratings, fit, err);
    pm_list_release(&ratings);
    if (status != PM_OK || fit->observations > 0)
        return status;
    fit->from_smells = true;
    status = pm_smells_list(studio, sheet->row.formula, 0, false, &smells, NULL, err);
    if (status != PM_OK)
        return status;
    status = room_for(fit, smells.count * sheet->count, err);
    if (status == PM_OK)
        status = from_smells(sheet, &smells, fit, err);
    pm_list_release(&smells);
    return status;
}

/* ---- the fit ---- */

static void read_bounds(const char *text, size_t count, struct pm_mix_bounds *out)
{
    pm_mix_unbounded(out);
    for (size_t i = 0; text != NULL && i < count; i++) {
        char *end;
        const long long least = strtoll(text, &end, 10);
        const long long most = *end == '-' ? strtoll(end + 1, &end, 10) : PM_NEAT;
        out->least[i] = least >= 0 && least <= PM_NEAT ? least : 0;
        out->most[i] = most >= out->least[i] && most <= PM_NEAT ? most : PM_NEAT;
        text = *end == ' ' ? end + 1 : NULL;
    }
}

static enum pm_status check_values(const struct pm_series_fit *fit, struct pm_error *err)
{
    bool same = true;
    for (size_t i = 1; i < fit->observations; i++)
        same = same && fit->values[i] == fit->values[0];
    if (fit->observations == 0)
        return pm_fail(err, PM_REFUSED,
                       "Nothing of this series is rated yet, and no liking is in its smell notes.");
    if (same)
        return pm_fail(err, PM_REFUSED,
                       "All ratings are alike: they tell nothing of which ratio is better.");
    return PM_OK;
}

static enum pm_status try_model(struct pm_series_fit *fit, enum pm_mix_model model,
                                struct pm_error *err)
{
    fit->model = model;
    return pm_mix_fit(model, fit->components, fit->points, fit->values, fit->observations,
                      &fit->fit, err);
}

/* The largest model with an observation to spare; the smallest one's refusal where none has. */
static enum pm_status choose_model(struct pm_series_fit *fit, const char *word,
                                   struct pm_error *err)
{
    enum pm_mix_model model;
    if (pm_given(word)) {
        if (!pm_mix_model_from_word(word, &model))
            return pm_fail(err, PM_INVALID,
                           "A model is linear, quadratic or special cubic, not \"%s\".", word);
        return try_model(fit, model, err);
    }
    for (int m = PM_MIX_SPECIAL_CUBIC; m >= PM_MIX_LINEAR; m--) {
        const size_t terms = pm_mix_terms((enum pm_mix_model)m, fit->components);
        if (terms > 0 && terms < fit->observations &&
            try_model(fit, (enum pm_mix_model)m, NULL) == PM_OK)
            return PM_OK;
    }
    return try_model(fit, PM_MIX_LINEAR, err);
}

static bool within(const struct pm_series_fit *fit, const double *shares)
{
    for (size_t i = 0; i < fit->components; i++)
        if (shares[i] * (double)PM_NEAT < (double)fit->bounds.least[i] - 0.5 ||
            shares[i] * (double)PM_NEAT > (double)fit->bounds.most[i] + 0.5)
            return false;
    return true;
}

/* Whether a mixture's fitted value is not told from that of the best: the difference of the two
 * within its own error. */
static bool as_good(const struct pm_series_fit *fit, const double *shares, double limit)
{
    double best[PM_FIT_TERMS_MAX], other[PM_FIT_TERMS_MAX], error;
    pm_mix_expand(fit->model, fit->components, fit->best.shares, best);
    pm_mix_expand(fit->model, fit->components, shares, other);
    for (size_t t = 0; t < fit->fit.terms; t++)
        best[t] -= other[t];
    const double difference = pm_fit_at(&fit->fit, best, &error);
    return difference <= limit * error;
}

/* Goes through the mixtures of a grid. */
static void spread(struct pm_series_fit *fit, double limit)
{
    int part[PM_MIX_MOST] = {0};
    for (size_t i = 0; i < fit->components; i++)
        fit->from[i] = fit->to[i] = fit->best.shares[i];
    for (;;) {
        double shares[PM_MIX_MOST] = {0};
        int rest = GRID;
        size_t at = 0;
        for (size_t i = 0; i + 1 < fit->components; i++) {
            rest -= part[i];
            shares[i] = (double)part[i] / GRID;
        }
        shares[fit->components - 1] = (double)rest / GRID;
        if (rest >= 0 && within(fit, shares) && as_good(fit, shares, limit))
            for (size_t i = 0; i < fit->components; i++) {
                fit->from[i] = fmin(fit->from[i], shares[i]);
                fit->to[i] = fmax(fit->to[i], shares[i]);
            }
        while (at + 1 < fit->components && ++part[at] > GRID)
            part[at++] = 0;
        if (at + 1 >= fit->components)
            return;
    }
}

static enum pm_status work_out(struct pm_studio *studio, const struct pm_series_sheet *sheet,
                               const char *model, struct pm_series_fit *out, struct pm_error *err)
{
    if (sheet->row.kind != PM_SERIES_RATIOS)
        return pm_fail(err, PM_REFUSED, "\"%s\" is no design of ratios.", sheet->row.name);
    if (sheet->line_count < 2 || sheet->line_count > PM_MIX_MOST)
        return pm_fail(err, PM_DAMAGED, "The series \"%s\" is damaged.", sheet->row.name);
    out->components = sheet->line_count;
    for (size_t i = 0; i < out->components; i++)
        out->names[i] = pm_arena_text(&out->arena, sheet->lines[i]);
    read_bounds(sheet->row.bounds, out->components, &out->bounds);
    enum pm_status status = observe(studio, sheet, out, err);
    if (status == PM_OK)
        status = check_values(out, err);
    if (status == PM_OK)
        status = choose_model(out, model, err);
    if (status != PM_OK)
        return status;
    pm_mix_highest(out->model, out->components, &out->bounds, &out->fit, &out->best);
    out->sure = out->fit.freedom > 0;
    out->low = out->high = out->best.value;
    for (size_t i = 0; i < out->components; i++)
        out->to[i] = out->sure ? 0 : 1;
    if (out->sure) {
        const double limit = pm_student_limit(CONFIDENCE, (double)out->fit.freedom);
        out->low = out->best.value - limit * out->best.error;
        out->high = out->best.value + limit * out->best.error;
        spread(out, limit);
    }
    return pm_arena_status(&out->arena, err);
}

enum pm_status pm_series_fitted(struct pm_studio *studio, int64_t series, const char *model,
                                struct pm_series_fit *out, struct pm_error *err)
{
    struct pm_series_fit made = {.components = 0};
    struct pm_series_sheet sheet;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_series_open(studio, series, &sheet, err);
    if (status == PM_OK) {
        status = work_out(studio, &sheet, model, &made, err);
        pm_series_sheet_release(&sheet);
    }
    status = pm_look_over(studio, status);
    if (status == PM_OK)
        *out = made;
    else
        pm_series_fit_release(&made);
    return status;
}

void pm_series_fit_release(struct pm_series_fit *fit)
{
    pm_arena_release(&fit->arena);
    *fit = (struct pm_series_fit){.components = 0};
}

static void say_sureness(const struct pm_series_fit *fit, char sign, struct pm_text *out)
{
    if (!fit->sure) {
        pm_text_add(out, "The model goes through every rating: how sure this is cannot be told. "
                         "Rate trials again, or take a smaller model.\n");
        return;
    }
    pm_text_addf(out, "Fitted there: %s, between %s and %s with 95 %% confidence.\n",
                 pm_rounded(fit->best.value, 3, sign).text, pm_rounded(fit->low, 3, sign).text,
                 pm_rounded(fit->high, 3, sign).text);
    pm_text_add(out, "Not told from it: mixtures with ");
    for (size_t i = 0; i < fit->components; i++)
        pm_text_addf(out, "%s%.0f to %.0f %% %s", i > 0 ? ", " : "", 100 * fit->from[i],
                     100 * fit->to[i], fit->names[i]);
    pm_text_add(out, ".\n");
}

static void say_lack(const struct pm_series_fit *fit, char sign, struct pm_text *out)
{
    if (fit->fit.replicated && fit->fit.lack_freedom > 0 && fit->fit.pure_freedom > 0)
        pm_text_addf(out, "Lack of fit: p = %s; %s\n",
                     pm_rounded_places(fit->fit.lack_p, 3, sign).text,
                     fit->fit.lack_p < CONFIDENCE ? "the model does not describe the ratings well."
                                                  : "the ratings do not speak against the model.");
    else
        pm_text_add(out, "Lack of fit cannot be tested: no trial was rated twice, or nothing is "
                         "left over.\n");
}

void pm_series_fit_say(const struct pm_series_fit *fit, char sign, struct pm_text *out)
{
    pm_text_addf(out, "%zu %s, %s model: R2 %s.\n", fit->observations,
                 fit->from_smells ? "likings of the smell log" : "ratings",
                 pm_mix_model_word(fit->model),
                 pm_rounded_places(fit->fit.r_squared, 3, sign).text);
    pm_text_add(out, "Highest at ");
    for (size_t i = 0; i < fit->components; i++)
        pm_text_addf(out, "%s%s %% %s", i > 0 ? ", " : "",
                     pm_rounded_places(100 * fit->best.shares[i], 1, sign).text, fit->names[i]);
    pm_text_add(out, fit->best.edge ? ", on the edge of what was tried: the best may lie beyond.\n"
                                    : ".\n");
    say_sureness(fit, sign, out);
    say_lack(fit, sign, out);
}

void pm_series_fit_say_terms(const struct pm_series_fit *fit, bool aloud, char sign,
                             struct pm_text *out)
{
    char name[8];
    for (size_t t = 0; t < fit->fit.terms; t++) {
        pm_text_addf(out, aloud ? "%s: %s" : "%-5s %9s",
                     pm_mix_term_name(fit->model, fit->components, t, name),
                     pm_rounded(fit->fit.coefficient[t], 4, sign).text);
        if (fit->sure)
            pm_text_addf(out, "  standard error %s", pm_rounded(fit->fit.error[t], 3, sign).text);
        if (t < fit->components)
            pm_text_addf(out, "  %s", fit->names[t]);
        pm_text_add_char(out, '\n');
    }
}

static double fitted(void *context, const double share[3])
{
    const struct pm_series_fit *fit = context;
    double terms[PM_FIT_TERMS_MAX];
    if (!within(fit, share))
        return NAN;
    pm_mix_expand(fit->model, 3, share, terms);
    return pm_fit_at(&fit->fit, terms, NULL);
}

enum pm_status pm_series_triangle(const struct pm_series_fit *fit, size_t width, size_t height,
                                  bool ascii, char sign, struct pm_plot *out, struct pm_text *words,
                                  struct pm_error *err)
{
    struct pm_triangle_point points[PM_MIX_POINTS_MOST + 1];
    struct pm_series_fit copy = *fit;
    size_t count = 0;
    if (fit->components != 3)
        return pm_fail(err, PM_REFUSED, "The triangle is for three materials, not %zu.",
                       fit->components);
    for (size_t i = 0; i < fit->observations && count < PM_MIX_POINTS_MOST; i++) {
        pm_mix_shares(&fit->points[i], 3, points[count].share);
        points[count++].mark = 'o';
    }
    points[count] = (struct pm_triangle_point){.mark = 'X'};
    memcpy(points[count++].share, fit->best.shares, 3 * sizeof(double));
    const struct pm_triangle_spec spec = {.width = width,
                                          .height = height,
                                          .names = {fit->names[0], fit->names[1], fit->names[2]},
                                          .value = fitted,
                                          .context = &copy,
                                          .title = "fitted rating (o tried, X highest)",
                                          .points = points,
                                          .point_count = count,
                                          .ascii = ascii,
                                          .sign = sign};
    char *sentence;
    const enum pm_status status = pm_triangle_say(&spec, &sentence, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(words, "Fitted rating: %s\n", sentence);
    pm_free(sentence);
    return pm_triangle_draw(&spec, out, err);
}

/* ---- dose response ---- */

static bool is_own_note(const struct pm_smell *smell, int64_t trial)
{
    return smell->trial == trial && smell->intensity >= 0 && smell->assessor == NULL;
}

/* The stage that has most notes. */
static enum pm_stage busiest(const struct pm_series_sheet *sheet, const struct pm_smells *smells)
{
    size_t counts[PM_STAGES] = {0};
    int best = 0;
    for (size_t s = 0; s < smells->count; s++)
        for (size_t i = 0; i < sheet->count; i++)
            if (is_own_note(&smells->items[s], sheet->steps[i].row.trial))
                counts[pm_stage_at(smells->items[s].since, NULL)]++;
    for (int s = 1; s < PM_STAGES; s++)
        best = counts[s] > counts[best] ? s : best;
    return (enum pm_stage)best;
}

static enum pm_status take_notes(const struct pm_series_sheet *sheet,
                                 const struct pm_smells *smells, struct pm_series_response *out,
                                 struct pm_error *err)
{
    out->notes = pm_arena_array(&out->arena, smells->count + 1, sizeof *out->notes);
    if (out->notes == NULL)
        return pm_fail_memory(err);
    for (size_t s = 0; s < smells->count; s++)
        for (size_t i = 0; i < sheet->count; i++)
            if (is_own_note(&smells->items[s], sheet->steps[i].row.trial) &&
                pm_stage_at(smells->items[s].since, NULL) == out->stage &&
                sheet->steps[i].row.amount > 0) {
                out->notes[out->count++] = (struct pm_dose_note){
                    (double)sheet->steps[i].row.amount / 1e6, (double)smells->items[s].intensity};
                break;
            }
    return PM_OK;
}

static enum pm_status read_stage(const char *text, const struct pm_series_sheet *sheet,
                                 const struct pm_smells *smells, enum pm_stage *out,
                                 struct pm_error *err)
{
    *out = busiest(sheet, smells);
    for (int s = 0; pm_given(text) && s < PM_STAGES; s++)
        if (strcmp(text, pm_stage_word((enum pm_stage)s)) == 0) {
            *out = (enum pm_stage)s;
            return PM_OK;
        }
    return pm_given(text)
               ? pm_fail(err, PM_INVALID, "A stage is top, heart or base, not \"%s\".", text)
               : PM_OK;
}

static enum pm_status respond(struct pm_studio *studio, const struct pm_series_sheet *sheet,
                              const char *stage, const char *model, const char *intensity,
                              struct pm_series_response *out, struct pm_error *err)
{
    const bool power = pm_given(model) && strcmp(model, "power") == 0;
    struct pm_smells smells;
    int64_t wanted = 0;
    if (sheet->row.kind != PM_SERIES_LADDER)
        return pm_fail(err, PM_REFUSED, "\"%s\" is no ladder of doses.", sheet->row.name);
    if (pm_given(model) && !power && strcmp(model, "log") != 0)
        return pm_fail(err, PM_INVALID, "A model is log or power, not \"%s\".", model);
    enum pm_status status =
        pm_smells_list(studio, sheet->row.formula, 0, false, &smells, NULL, err);
    if (status != PM_OK)
        return status;
    out->line = pm_arena_text(&out->arena, sheet->lines[0]);
    status = read_stage(stage, sheet, &smells, &out->stage, err);
    if (status == PM_OK)
        status = take_notes(sheet, &smells, out, err);
    pm_list_release(&smells);
    if (status == PM_OK)
        status = pm_dose_fit(power ? PM_DOSE_POWER : PM_DOSE_LOG, out->notes, out->count,
                             &out->dose, err);
    if (status != PM_OK || !pm_given(intensity))
        return status;
    status = pm_decimal_read(intensity, 6, "The intensity", &wanted, err);
    out->intensity = (double)wanted / 1e6;
    if (status == PM_OK)
        status = pm_dose_for(&out->dose, out->intensity, &out->value, &out->low, &out->high, err);
    out->wanted = status == PM_OK;
    return status;
}

enum pm_status pm_series_responded(struct pm_studio *studio, int64_t series, const char *stage,
                                   const char *model, const char *intensity,
                                   struct pm_series_response *out, struct pm_error *err)
{
    struct pm_series_response made = {.count = 0};
    struct pm_series_sheet sheet;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_series_open(studio, series, &sheet, err);
    if (status == PM_OK) {
        status = respond(studio, &sheet, stage, model, intensity, &made, err);
        pm_series_sheet_release(&sheet);
    }
    status = pm_look_over(studio, status == PM_OK ? pm_arena_status(&made.arena, err) : status);
    if (status == PM_OK)
        *out = made;
    else
        pm_series_response_release(&made);
    return status;
}

void pm_series_response_release(struct pm_series_response *response)
{
    pm_arena_release(&response->arena);
    *response = (struct pm_series_response){.count = 0};
}

void pm_series_response_say(const struct pm_series_response *response, char sign,
                            struct pm_text *out)
{
    const struct pm_dose *dose = &response->dose;
    const bool power = dose->model == PM_DOSE_POWER;
    pm_text_addf(out, "%zu of your own notes of the %s, %s of %s to %s parts.\n",
                 response->count - dose->left_out, pm_stage_word(response->stage), response->line,
                 pm_rounded(dose->least, 4, sign).text, pm_rounded(dose->most, 4, sign).text);
    if (dose->left_out > 0)
        pm_text_addf(out,
                     "%zu notes of nothing smelled are left out: the power law has no place "
                     "for them.\n",
                     dose->left_out);
    pm_text_addf(out,
                 power ? "The exponent is %s, between %s and %s with 95 %% confidence.\n"
                       : "Tenfold the dose is %s more intensity, between %s and %s with 95 "
                         "%% confidence.\n",
                 pm_rounded(dose->slope, 3, sign).text, pm_rounded(dose->slope_low, 3, sign).text,
                 pm_rounded(dose->slope_high, 3, sign).text);
    if (!dose->supported)
        pm_text_add(out, "A slope of nothing lies within that: the notes do not support a curve, "
                         "and none is drawn.\n");
    if (response->wanted)
        pm_text_addf(out, "For an intensity of %s: %s parts, between %s and %s.\n",
                     pm_rounded(response->intensity, 3, sign).text,
                     pm_rounded(response->value, 3, sign).text,
                     pm_rounded(response->low, 3, sign).text,
                     pm_rounded(response->high, 3, sign).text);
}

#define CURVE 40

enum pm_status pm_series_response_plot(const struct pm_series_response *response, size_t width,
                                       size_t height, bool ascii, char sign, struct pm_plot *out,
                                       struct pm_text *words, struct pm_error *err)
{
    const struct pm_dose *dose = &response->dose;
    struct pm_plot_point curve[CURVE + 1];
    struct pm_plot_point *notes = pm_alloc_array(response->count, sizeof *notes);
    if (notes == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < response->count; i++)
        notes[i] =
            (struct pm_plot_point){.x = response->notes[i].dose, .y = response->notes[i].intensity};
    for (int i = 0; i <= CURVE; i++) {
        struct pm_plot_point *point = &curve[i];
        *point = (struct pm_plot_point){
            .x = dose->least * pow(dose->most / dose->least, (double)i / CURVE), .range = true};
        pm_dose_at(dose, point->x, &point->y, &point->low, &point->high);
        point->range = isfinite(point->low) && isfinite(point->high);
    }
    const struct pm_plot_series series[] = {
        {.name = "noted", .points = notes, .count = response->count, .apart = true},
        {.name = "fitted", .points = curve, .count = CURVE + 1, .bare = true}};
    const struct pm_plot_spec spec = {
        .width = width,
        .height = height,
        .x = {.title = response->line, .unit = "parts", .scale = PM_PLOT_LOG},
        .y = {.title = "intensity"},
        .series = series,
        .series_count = dose->supported ? 2 : 1,
        .fine = !ascii,
        .ascii = ascii,
        .legend = true,
        .sign = sign};
    char *sentence;
    enum pm_status status = pm_plot_say(&spec, 0, &sentence, err);
    if (status == PM_OK) {
        pm_text_addf(words, "%s\n", sentence);
        pm_free(sentence);
        status = pm_plot_draw(&spec, out, err);
    }
    pm_free(notes);
    return status;
}
