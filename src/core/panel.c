/* SPDX-License-Identifier: MIT */
/*
 * Difference tests: binomial probabilities and what follows from them.
 */
#include "permille/core/panel.h"

#include "permille/base/word.h"

#include <math.h>

/* Levels such as 0.125 can be met exactly; rounding in the tail must not turn "met" into "missed".
 */
static const double level_slack = 1e-12;

static const char *const kind_words[] = {
    [PM_TRIANGLE] = "triangle", [PM_DUO_TRIO] = "duo-trio",
    [PM_PAIRED] = "paired",     [PM_PAIRED_TWO_SIDED] = "paired-two-sided",
    [PM_RANKING] = "ranking",
};
static const size_t kind_count = sizeof kind_words / sizeof *kind_words;

const char *pm_panel_word(enum pm_panel_kind kind)
{
    return (size_t)kind < kind_count ? kind_words[kind] : "?";
}

enum pm_status pm_panel_read(const char *word, enum pm_panel_kind *out, struct pm_error *err)
{
    const int place = pm_word_place(kind_words, kind_count, word);
    if (place >= 0) {
        *out = (enum pm_panel_kind)place;
        return PM_OK;
    }
    return pm_fail(err, PM_INVALID,
                   "\"%s\" is no kind of blind test; there are triangle, duo-trio, paired, "
                   "paired-two-sided and ranking.",
                   word);
}

double pm_panel_chance(enum pm_panel_kind kind)
{
    switch (kind) {
    case PM_TRIANGLE:
        return 1.0 / 3.0;
    case PM_DUO_TRIO:
    case PM_PAIRED:
    case PM_PAIRED_TWO_SIDED:
        return 0.5;
    case PM_RANKING:
        break;
    }
    return (double)NAN;
}

/* Terms are taken relative to the largest one and divided by their sum at the end: no factorials,
 * no logarithms, and no difference of nearly equal numbers anywhere. */
double pm_panel_upper_tail(int answers, int correct, double p0)
{
    if (answers < 0 || answers > PM_PANEL_ANSWERS_MAX || !(p0 >= 0 && p0 <= 1))
        return (double)NAN;
    if (correct <= 0)
        return 1;
    if (correct > answers)
        return 0;
    if (p0 <= 0 || p0 >= 1)
        return p0;
    int n = answers;
    int mode = (int)((n + 1) * p0);
    mode = mode > n ? n : mode;
    double odds = p0 / (1 - p0);
    double below = 0; /* terms under `correct` */
    double above = 0;

    double term = 1;
    for (int i = mode; i <= n; i++) {
        *(i >= correct ? &above : &below) += term;
        term *= (double)(n - i) / (i + 1) * odds;
    }
    term = 1;
    for (int i = mode; i > 0; i--) {
        term *= (double)i / (n - i + 1) / odds;
        *(i - 1 >= correct ? &above : &below) += term;
    }
    return above / (above + below);
}

double pm_panel_p_value(enum pm_panel_kind kind, int answers, int correct)
{
    double chance = pm_panel_chance(kind);

    if (isnan(chance) || answers < 1 || correct < 0 || correct > answers)
        return (double)NAN;
    if (kind != PM_PAIRED_TWO_SIDED)
        return pm_panel_upper_tail(answers, correct, chance);
    int larger = correct > answers - correct ? correct : answers - correct;
    double p = 2 * pm_panel_upper_tail(answers, larger, chance);
    return p > 1 ? 1 : p;
}

int pm_panel_least_correct(enum pm_panel_kind kind, int answers, double alpha)
{
    if (isnan(pm_panel_chance(kind)) || answers < 1 || answers > PM_PANEL_ANSWERS_MAX ||
        !(alpha > 0 && alpha < 1))
        return 0;
    double level = alpha * (1 + level_slack);

    if (pm_panel_p_value(kind, answers, answers) > level)
        return 0;
    /* p falls from `low` on: bisect for the first number that reaches the level. */
    int low = kind == PM_PAIRED_TWO_SIDED ? (answers + 1) / 2 : 1;
    int high = answers;
    while (low < high) {
        int middle = low + (high - low) / 2;
        if (pm_panel_p_value(kind, answers, middle) <= level)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

double pm_panel_power(enum pm_panel_kind kind, int answers, double alpha, double discriminators)
{
    double chance = pm_panel_chance(kind);

    if (isnan(chance) || answers < 1 || answers > PM_PANEL_ANSWERS_MAX ||
        !(discriminators >= 0 && discriminators <= 1))
        return (double)NAN;
    int least = pm_panel_least_correct(kind, answers, alpha);
    if (least == 0)
        return 0;
    double right = chance + discriminators * (1 - chance);
    double power = pm_panel_upper_tail(answers, least, right);

    /* A two-sided test also answers "different" when the other side wins. */
    if (kind == PM_PAIRED_TWO_SIDED)
        power += pm_panel_upper_tail(answers, least, 1 - right);
    return power;
}

/* The chance of a right answer at which `correct` or more come about with probability p: the tail
 * rises with the chance, so halving finds it, to the last bit. */
static double chance_for(int answers, int correct, double p)
{
    double low = 0, high = 1;
    for (int i = 0; i < 64; i++) {
        double middle = (low + high) / 2;
        if (middle <= low || middle >= high)
            break;
        *(pm_panel_upper_tail(answers, correct, middle) < p ? &low : &high) = middle;
    }
    return (low + high) / 2;
}

bool pm_panel_discriminators(enum pm_panel_kind kind, int answers, int correct, double confidence,
                             struct pm_panel_share *out)
{
    double chance = pm_panel_chance(kind);

    if (isnan(chance) || answers < 1 || answers > PM_PANEL_ANSWERS_MAX || correct < 0 ||
        correct > answers || !(confidence > 0 && confidence < 1))
        return false;
    double stretch = 1 / (1 - chance);
    double low = correct > 0 ? chance_for(answers, correct, 1 - confidence) : 0;
    double high = correct < answers ? chance_for(answers, correct + 1, confidence) : 1;

    out->share = stretch * correct / answers - (stretch - 1);
    out->low = stretch * low - (stretch - 1);
    out->high = stretch * high - (stretch - 1);
    return true;
}
