/* SPDX-License-Identifier: MIT */
/* Dose response: a line through what was noted, and back from it to a dose. */
#include "permille/core/dose.h"

#include "permille/base/mem.h"

#include <math.h>

#define CONFIDENCE  0.95
#define NOTES_LEAST 3

static enum pm_status check(const struct pm_dose_note *notes, size_t count, struct pm_error *err)
{
    for (size_t i = 0; i < count; i++) {
        if (!(notes[i].dose > 0) || !isfinite(notes[i].dose))
            return pm_fail(err, PM_INVALID, "Note %zu is of no dose; doses lie above 0.", i + 1);
        if (!(notes[i].intensity >= 0) || !isfinite(notes[i].intensity))
            return pm_fail(err, PM_INVALID, "Note %zu has no intensity.", i + 1);
    }
    return PM_OK;
}

/* The rows of the fit; returns how many. */
static size_t rows_of(const struct pm_dose_note *notes, size_t count, double *x, double *y,
                      struct pm_dose *dose)
{
    size_t rows = 0;
    for (size_t i = 0; i < count; i++) {
        if (dose->model == PM_DOSE_POWER && notes[i].intensity == 0) {
            dose->left_out++;
            continue;
        }
        x[2 * rows] = 1;
        x[2 * rows + 1] = log10(notes[i].dose);
        y[rows] = dose->model == PM_DOSE_POWER ? log10(notes[i].intensity) : notes[i].intensity;
        dose->least = rows == 0 || notes[i].dose < dose->least ? notes[i].dose : dose->least;
        dose->most = rows == 0 || notes[i].dose > dose->most ? notes[i].dose : dose->most;
        rows++;
    }
    return rows;
}

static double limit_of(const struct pm_dose *dose)
{
    return pm_student_limit(1 - dose->confidence, (double)dose->fit.freedom);
}

static void judge_slope(struct pm_dose *dose)
{
    double room = limit_of(dose) * dose->fit.error[1];
    dose->slope = dose->fit.coefficient[1];
    dose->slope_low = dose->slope - room;
    dose->slope_high = dose->slope + room;
    dose->supported = dose->slope_low > 0 || dose->slope_high < 0;
}

enum pm_status pm_dose_fit(enum pm_dose_model model, const struct pm_dose_note *notes, size_t count,
                           struct pm_dose *out, struct pm_error *err)
{
    struct pm_dose dose = {.model = model, .confidence = CONFIDENCE};
    enum pm_status status = check(notes, count, err);
    if (status != PM_OK)
        return status;
    double *x = pm_alloc_array(count + 1, 3 * sizeof *x);
    if (x == NULL)
        return pm_fail_memory(err);
    size_t rows = rows_of(notes, count, x, x + 2 * count, &dose), term = 0;
    if (rows < NOTES_LEAST)
        status = pm_fail(err, PM_REFUSED,
                         "A dose response takes at least %d notes with an intensity; there %s %zu.",
                         NOTES_LEAST, rows == 1 ? "is" : "are", rows);
    else
        status = pm_fit(x, x + 2 * count, rows, 2, &dose.fit, &term, err);
    if (status == PM_REFUSED && rows >= NOTES_LEAST)
        status =
            pm_fail(err, PM_REFUSED, "All these notes are of one dose; smell another one too.");
    pm_free(x);
    if (status != PM_OK)
        return status;
    judge_slope(&dose);
    *out = dose;
    return PM_OK;
}

static double noted(const struct pm_dose *dose, double value)
{
    if (dose->model == PM_DOSE_POWER)
        return pow(10, value);
    return value > 0 ? value : 0;
}

void pm_dose_at(const struct pm_dose *dose, double at, double *value, double *low, double *high)
{
    const double terms[2] = {1, log10(at)};
    double error, line = pm_fit_at(&dose->fit, terms, &error), room = limit_of(dose) * error;
    *value = noted(dose, line);
    *low = noted(dose, line - room);
    *high = noted(dose, line + room);
}

/*
 * Fieller: the x for which the line's value minus the wanted one is not told from 0, that is
 * (a + b x - y)^2 <= t^2 (v_aa + 2 v_ab x + v_bb x^2): between the roots of a quadratic, whose
 * leading coefficient b^2 - t^2 v_bb is above 0 exactly when the slope is told from none.
 */
enum pm_status pm_dose_for(const struct pm_dose *dose, double intensity, double *value, double *low,
                           double *high, struct pm_error *err)
{
    if (!isfinite(intensity) || intensity < 0 || (dose->model == PM_DOSE_POWER && intensity == 0))
        return pm_fail(err, PM_INVALID, "No dose is asked for by that intensity.");
    double wanted = dose->model == PM_DOSE_POWER ? log10(intensity) : intensity;
    double a = dose->fit.coefficient[0] - wanted, b = dose->fit.coefficient[1];
    double t = limit_of(dose), scale = t * t * dose->fit.variance;
    double square = b * b - scale * dose->fit.inverse[1][1];
    double half = a * b - scale * dose->fit.inverse[0][1];
    double rest = a * a - scale * dose->fit.inverse[0][0];
    double root = half * half - square * rest;
    if (root < 0 && root > -1e-9 * half * half)
        root = 0; /* notes that lie on the line: what is below nothing is rounding */
    if (!dose->supported || !(square > 0) || !(root >= 0))
        return pm_fail(err, PM_REFUSED,
                       "The notes do not tell its dose response from none; smell doses that lie "
                       "further apart, or more often.");
    double at = pow(10, -a / b), from = pow(10, (-half - sqrt(root)) / square);
    double to = pow(10, (-half + sqrt(root)) / square);
    if (!isfinite(at) || !isfinite(from) || !isfinite(to))
        return pm_fail(err, PM_REFUSED, "That intensity lies too far from what was noted.");
    *value = at;
    *low = from;
    *high = to;
    return PM_OK;
}
