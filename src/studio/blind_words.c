/* SPDX-License-Identifier: MIT */
/*
 * What a blind test shows and does not show, in plain words.
 */
#include "blinding.h"

#include "permille/base/rounded.h"

#include <math.h>

/* ---- chances ---- */

/* Decimals that show two significant digits of x. */
static int places(double x)
{
    int count = 1;
    while (x < 1 && count < 6 && x > 0) {
        x *= 10;
        count++;
    }
    return x > 0 ? count : 1;
}

static void say_chance(struct pm_text *out, double p)
{
    if (p < 0.0001)
        pm_text_add(out, "below 0.0001");
    else
        pm_text_add(out, pm_rounded_places(p, places(p), pm_decimal_sign()).text);
}

/* 0.0039 as "0.0039", 0.368 as "0.37": two significant digits; times 100 "0.39 %", "37 %". */
static void say_percent(struct pm_text *out, double p)
{
    const double percent = 100 * p;
    if (percent < 0.01)
        pm_text_add(out, "less than 0.01 %");
    else if (percent > 99.5 && percent < 100)
        pm_text_add(out, "more than 99 %");
    else
        pm_text_addf(
            out, "%s %%",
            pm_rounded_places(percent, percent >= 9.95 ? 0 : places(percent), pm_decimal_sign())
                .text);
}

/* As it was chosen: no digits made up. */
static void say_alpha(struct pm_text *out, double alpha)
{
    pm_text_addf(out, "%s %%", pm_rounded(100 * alpha, 6, pm_decimal_sign()).text);
}

/* ---- what so many answers can show ---- */

/* The chance that noses who cannot tell anything apart agree as well as noses can. */
static double best_p(enum pm_panel_kind kind, size_t samples, int64_t answers)
{
    if (kind != PM_RANKING)
        return pm_panel_p_value(kind, (int)answers, (int)answers);
    /* All answers alike: one of samples! orders, met by each of the others. */
    double orders = 1;
    for (size_t i = 2; i <= samples; i++)
        orders *= (double)i;
    return pow(orders, 1 - (double)answers);
}

/* The fewest answers that reach alpha at all; 0: none do. */
static int64_t fewest(enum pm_panel_kind kind, size_t samples, double alpha)
{
    int64_t answers = kind == PM_RANKING ? 2 : 1;
    while (answers <= PM_PANEL_ANSWERS_MAX && best_p(kind, samples, answers) > alpha)
        answers++;
    return answers <= PM_PANEL_ANSWERS_MAX ? answers : 0;
}

/* In whole blocks, so that the orders are balanced as well. */
static int64_t enough(enum pm_panel_kind kind, double alpha)
{
    const int64_t block = (int64_t)pm_blind_block(kind, 2);
    int64_t answers = block;
    while (answers < PM_PANEL_ANSWERS_MAX && pm_blind_few(kind, answers, alpha))
        answers += block;
    return answers;
}

static const char *answers_word(int64_t answers)
{
    return answers == 1 ? "answer" : "answers";
}

/* The end of a sentence: how often the test finds a clear difference. "Every other time" is true of
 * half of all noses as well as of one nose that answers all rounds. */
static void say_found(struct pm_text *out, enum pm_panel_kind kind, int64_t answers, double alpha)
{
    pm_text_add(out, "a difference really smelled every other time would be found in ");
    say_percent(out, pm_panel_power(kind, (int)answers, alpha, 0.5));
    pm_text_add(out, " of such tests.");
}

void pm_say_power(struct pm_text *out, enum pm_panel_kind kind, size_t samples, int64_t answers,
                  double alpha)
{
    const double best = best_p(kind, samples, answers);
    if (answers < 2 && kind == PM_RANKING) {
        pm_text_add(out, "One ranking cannot be tested; it takes at least two.");
        return;
    }
    if (best > alpha) {
        pm_text_addf(out, "%lld %s can show nothing at ", (long long)answers,
                     answers_word(answers));
        say_alpha(out, alpha);
        pm_text_addf(out, ": even %s comes about by chance in ",
                     kind == PM_RANKING ? "full agreement" : "all of them right");
        say_percent(out, best);
        pm_text_addf(out, " of such tests. It takes at least %lld.",
                     (long long)fewest(kind, samples, alpha));
        return;
    }
    if (kind == PM_RANKING) {
        if (answers < PM_RANKING_FEW)
            pm_text_addf(out,
                         "%lld answers can only show that the trials rank very differently: "
                         "call the result exploratory.",
                         (long long)answers);
        else
            pm_text_addf(out,
                         "%lld answers: Friedman's test will say whether the trials rank "
                         "alike.",
                         (long long)answers);
        return;
    }
    const int least = pm_panel_least_correct(kind, (int)answers, alpha);
    pm_text_addf(out, "%lld %s can only show a difference when %d or more are %s; ",
                 (long long)answers, answers_word(answers), least,
                 kind == PM_PAIRED_TWO_SIDED ? "for the same one" : "right");
    say_found(out, kind, answers, alpha);
    if (pm_blind_few(kind, answers, alpha))
        pm_text_addf(out, " Call the result exploratory: %lld answers would do.",
                     (long long)enough(kind, alpha));
}

/* ---- the result ---- */

static void say_p(struct pm_text *out, const struct pm_blind_sheet *sheet)
{
    pm_text_add(out, "p = ");
    say_chance(out, sheet->result.p);
    if (sheet->result.by == PM_BY_COUNTING) {
        pm_text_add(out, ", exact");
    } else if (sheet->result.by == PM_BY_CHI_SQUARE) {
        pm_text_add(out, ", by chi-square");
    } else {
        pm_text_add(out, " within ");
        say_chance(out, sheet->result.error);
        pm_text_addf(out, ", from %lld random orders of the answers",
                     (long long)sheet->result.permutations);
    }
}

static void say_count(struct pm_text *out, const struct pm_blind_sheet *sheet)
{
    const struct pm_blind_result *result = &sheet->result;
    const long long correct = (long long)result->correct, answers = (long long)result->answers;
    if (sheet->row.kind == PM_PAIRED)
        pm_text_addf(out, "%s was chosen, as expected, in %lld of %lld answers",
                     sheet->samples[sheet->row.expected], correct, answers);
    else if (sheet->row.kind != PM_PAIRED_TWO_SIDED)
        pm_text_addf(out, "%lld of %lld answers were right", correct, answers);
    else if (result->more_chosen < 0)
        pm_text_addf(out, "Both were chosen equally often in %lld answers", answers);
    else
        pm_text_addf(out, "%s was chosen in %lld of %lld answers",
                     sheet->samples[result->more_chosen], correct, answers);
}

static void say_difference(struct pm_text *out, const struct pm_blind_sheet *sheet)
{
    const struct pm_blind_result *result = &sheet->result;
    const double alpha = (double)sheet->row.alpha / (double)PM_NEAT;
    say_count(out, sheet);
    pm_text_add(out, ". Guessing alone does as well in ");
    say_percent(out, result->p);
    pm_text_add(out, " of such tests (");
    say_p(out, sheet);
    if (result->least > 0)
        pm_text_addf(out, "); %lld were needed at ", (long long)result->least);
    else
        pm_text_add(out, "); no number of these answers would do at ");
    say_alpha(out, alpha);
    pm_text_add(out, ". ");
    if (result->shown) {
        pm_text_add(out, "A difference was shown.");
        if (sheet->row.kind != PM_PAIRED && sheet->row.kind != PM_PAIRED_TWO_SIDED)
            pm_text_add(out, " Which trial is better it does not say.");
        return;
    }
    pm_text_add(out, "No difference was shown. That does not show that they are alike: with so "
                     "many answers ");
    say_found(out, sheet->row.kind, result->answers, alpha);
}

static void say_ranking(struct pm_text *out, const struct pm_blind_sheet *sheet)
{
    const struct pm_blind_result *result = &sheet->result;
    pm_text_addf(out, "Friedman's F is %s with %d degrees of freedom (",
                 pm_rounded_places(result->statistic, 2, pm_decimal_sign()).text, result->degrees);
    say_p(out, sheet);
    pm_text_add(out, ") from ");
    pm_text_addf(out, "%lld answers. ", (long long)result->answers);
    if (!result->shown) {
        pm_text_add(out, "It was not shown that the trials rank differently; nor does that show "
                         "that they are alike.");
        return;
    }
    pm_text_add(out, "The trials do not rank alike");
    bool some = false;
    for (size_t a = 0; a < sheet->sample_count; a++)
        for (size_t b = 0; b < sheet->sample_count; b++)
            if (result->rank_sums[b] - result->rank_sums[a] >= result->rank_difference) {
                pm_text_addf(out, "%s%s before %s", some ? ", " : ": ", sheet->samples[a],
                             sheet->samples[b]);
                some = true;
            }
    pm_text_addf(
        out, "%s (sums of ranks that differ by %s or more are told apart at 5 %%, pair by pair).",
        some ? "" : ", but no two of them are told apart",
        pm_rounded_places(result->rank_difference, 1, pm_decimal_sign()).text);
}

void pm_say_result(struct pm_text *out, const struct pm_blind_sheet *sheet, size_t assessors)
{
    if (sheet->row.kind == PM_RANKING)
        say_ranking(out, sheet);
    else
        say_difference(out, sheet);
    if (sheet->result.exploratory)
        pm_text_add(out, " Few answers: exploratory.");
    if (assessors == 1 && sheet->row.answered > 1)
        pm_text_add(out, " All answers are of one nose: they tell what this nose can, not what "
                         "others will.");
    else if ((int64_t)assessors < sheet->row.answered)
        pm_text_addf(out,
                     " The %lld answers are of %zu noses: they tell what these can, and less what "
                     "others will.",
                     (long long)sheet->row.answered, assessors);
}
