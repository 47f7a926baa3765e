/* SPDX-License-Identifier: MIT */
/* Least squares by Householder reflections, and the distributions that judge them. */
#include "permille/core/fit.h"

#include "permille/base/mem.h"

#include <math.h>
#include <string.h>

/* Below this share of its own length a column is what the others already tell. */
#define DEPENDENT 1e-10
#define TINY      1e-300

/* ---- distributions --------------------------------------------------------------------------- */

/* The continued fraction of the incomplete beta function, right where x < (a + 1) / (a + b + 2). */
static double beta_fraction(double x, double a, double b)
{
    double c = 1, d = 1 - (a + b) * x / (a + 1);
    d = 1 / (fabs(d) < TINY ? TINY : d);
    double value = d;
    for (int m = 1; m < 100000; m++) {
        for (int half = 0; half < 2; half++) {
            double factor = half == 0
                                ? m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
                                : -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
            d = 1 + factor * d;
            d = 1 / (fabs(d) < TINY ? TINY : d);
            c = 1 + factor / c;
            c = fabs(c) < TINY ? TINY : c;
            value *= c * d;
        }
        if (fabs(c * d - 1) < 1e-16)
            break;
    }
    return value;
}

/* The regularised incomplete beta function I_x(a, b) for a, b > 0 and x in 0..1, by its continued
 * fraction (Abramowitz and Stegun 26.5.8, evaluated after Lentz); 1e-13 relative or better for
 * a, b up to 1e5. */
static double beta_tail(double x, double a, double b)
{
    if (!(x > 0))
        return 0;
    if (x >= 1)
        return 1;
    double scale = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x));
    if (x < (a + 1) / (a + b + 2))
        return scale * beta_fraction(x, a, b) / a;
    return 1 - scale * beta_fraction(1 - x, b, a) / b;
}

double pm_student_two_sided(double t, double freedom)
{
    return beta_tail(freedom / (freedom + t * t), freedom / 2, 0.5);
}

double pm_student_limit(double p, double freedom)
{
    double low = 0, high = 1;
    while (pm_student_two_sided(high, freedom) > p && high < 1e150)
        high *= 2;
    for (int step = 0; step < 200 && high - low > 1e-14 * high; step++) {
        double middle = (low + high) / 2;
        if (pm_student_two_sided(middle, freedom) > p)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

double pm_f_tail(double f, double above, double below)
{
    return f > 0 ? beta_tail(below / (below + above * f), below / 2, above / 2) : 1;
}

/* ---- the fit --------------------------------------------------------------------------------- */

static enum pm_status check(const double *x, const double *y, size_t rows, size_t terms,
                            struct pm_error *err)
{
    if (terms < 1 || terms > PM_FIT_TERMS_MAX || rows > PM_FIT_ROWS_MAX)
        return pm_fail(err, PM_INVALID, "A fit takes 1 to %d terms and up to %d observations.",
                       PM_FIT_TERMS_MAX, PM_FIT_ROWS_MAX);
    if (rows < terms)
        return pm_fail(err, PM_REFUSED,
                       "%zu observations cannot tell %zu terms apart; at least %zu are needed.",
                       rows, terms, terms);
    for (size_t i = 0; i < rows * terms; i++)
        if (!isfinite(x[i]))
            return pm_fail(err, PM_INVALID, "Observation %zu has a term that is no number.",
                           i / terms + 1);
    for (size_t i = 0; i < rows; i++)
        if (!isfinite(y[i]))
            return pm_fail(err, PM_INVALID, "Observation %zu is no number.", i + 1);
    return PM_OK;
}

static double column_length(const double *x, size_t rows, size_t terms, size_t column, size_t from)
{
    double length = 0;
    for (size_t i = from; i < rows; i++)
        length = hypot(length, x[i * terms + column]);
    return length;
}

/* Reflects rows from `at` on so that column `at` is zero below the diagonal; y follows. */
static bool reflect(double *x, double *y, size_t rows, size_t terms, size_t at, double whole)
{
    double length = column_length(x, rows, terms, at, at);
    if (!(length > DEPENDENT * whole))
        return false;
    double diagonal = x[at * terms + at] > 0 ? -length : length;
    double first = x[at * terms + at] - diagonal, norm = first * first;
    for (size_t i = at + 1; i < rows; i++)
        norm += x[i * terms + at] * x[i * terms + at];
    x[at * terms + at] = first;
    for (size_t column = at + 1; column <= terms; column++) {
        double dot = 0;
        for (size_t i = at; i < rows; i++)
            dot += x[i * terms + at] * (column < terms ? x[i * terms + column] : y[i]);
        dot *= 2 / norm;
        for (size_t i = at; i < rows; i++) {
            double *cell = column < terms ? &x[i * terms + column] : &y[i];
            *cell -= dot * x[i * terms + at];
        }
    }
    x[at * terms + at] = diagonal;
    return true;
}

/* The inverse of the upper triangle, column by column, then (X'X)^-1 = R^-1 R^-T. */
static void invert(const double *r, size_t terms, double out[][PM_FIT_TERMS_MAX])
{
    double inverse[PM_FIT_TERMS_MAX][PM_FIT_TERMS_MAX] = {{0}};
    for (size_t column = 0; column < terms; column++) {
        for (size_t row = column + 1; row-- > 0;) {
            double sum = row == column ? 1 : 0;
            for (size_t k = row + 1; k <= column; k++)
                sum -= r[row * terms + k] * inverse[k][column];
            inverse[row][column] = sum / r[row * terms + row];
        }
    }
    for (size_t i = 0; i < terms; i++)
        for (size_t j = 0; j < terms; j++) {
            out[i][j] = 0;
            for (size_t k = i > j ? i : j; k < terms; k++)
                out[i][j] += inverse[i][k] * inverse[j][k];
        }
}

static void solve(const double *r, const double *y, size_t terms, double *out)
{
    for (size_t row = terms; row-- > 0;) {
        double sum = y[row];
        for (size_t k = row + 1; k < terms; k++)
            sum -= r[row * terms + k] * out[k];
        out[row] = sum / r[row * terms + row];
    }
}

static double mean_of(const double *y, size_t rows)
{
    double sum = 0;
    for (size_t i = 0; i < rows; i++)
        sum += y[i];
    return sum / (double)rows;
}

static bool same_row(const double *x, size_t terms, size_t a, size_t b)
{
    for (size_t i = 0; i < terms; i++) {
        double one = x[a * terms + i], other = x[b * terms + i];
        if (fabs(one - other) > 1e-9 * (fabs(one) + fabs(other)))
            return false;
    }
    return true;
}

/* Divides what is left unexplained into what replicates differ by and the rest. */
static void lack_of_fit(const double *x, const double *y, struct pm_fit *fit, bool *seen)
{
    size_t distinct = 0;
    for (size_t i = 0; i < fit->rows; i++) {
        double sum = 0, squares = 0;
        size_t count = 0;
        if (seen[i])
            continue;
        for (size_t k = i; k < fit->rows; k++) {
            if (!same_row(x, fit->terms, i, k))
                continue;
            seen[k] = true;
            double delta = y[k] - sum / (double)(count ? count : 1);
            delta = count ? delta : 0;
            squares += delta * delta * (double)count / (double)(count + 1);
            sum += y[k];
            count++;
        }
        distinct++;
        fit->pure_ss += squares;
        fit->replicated = fit->replicated || count > 1;
    }
    fit->pure_freedom = fit->rows - distinct;
    fit->lack_freedom = distinct > fit->terms ? distinct - fit->terms : 0;
    fit->lack_ss = fit->error_ss > fit->pure_ss ? fit->error_ss - fit->pure_ss : 0;
    if (fit->lack_freedom > 0 && fit->pure_freedom > 0 && fit->pure_ss > 0)
        fit->lack_p = pm_f_tail(fit->lack_ss / (double)fit->lack_freedom /
                                    (fit->pure_ss / (double)fit->pure_freedom),
                                (double)fit->lack_freedom, (double)fit->pure_freedom);
}

/* `r` is the triangle, `rest` the reflected observations. */
static void judge(const double *y, const double *r, const double *rest, struct pm_fit *fit)
{
    double mean = mean_of(y, fit->rows);
    for (size_t i = fit->terms; i < fit->rows; i++)
        fit->error_ss += rest[i] * rest[i];
    for (size_t i = 0; i < fit->rows; i++)
        fit->total_ss += (y[i] - mean) * (y[i] - mean);
    fit->freedom = fit->rows - fit->terms;
    fit->variance = fit->freedom > 0 ? fit->error_ss / (double)fit->freedom : 0;
    invert(r, fit->terms, fit->inverse);
    for (size_t i = 0; i < fit->terms; i++)
        fit->error[i] = sqrt(fit->variance * fit->inverse[i][i]);
    if (!(fit->total_ss > 0))
        return;
    fit->r_squared = 1 - fit->error_ss / fit->total_ss;
    if (fit->freedom > 0)
        fit->adjusted = 1 - fit->variance / (fit->total_ss / (double)(fit->rows - 1));
}

enum pm_status pm_fit(const double *x, const double *y, size_t rows, size_t terms,
                      struct pm_fit *out, size_t *term, struct pm_error *err)
{
    enum pm_status status = check(x, y, rows, terms, err);
    if (status != PM_OK)
        return status;
    struct pm_fit fit = {.rows = rows, .terms = terms, .lack_p = 1};
    double *work = pm_alloc_array(rows * (terms + 1), sizeof *work);
    bool *seen = pm_alloc_array(rows, sizeof *seen);
    if (work == NULL || seen == NULL) {
        pm_free(work);
        pm_free(seen);
        return pm_fail_memory(err);
    }
    double *rest = work + rows * terms;
    memcpy(work, x, rows * terms * sizeof *x);
    memcpy(rest, y, rows * sizeof *y);
    for (size_t at = 0; at < terms && status == PM_OK; at++) {
        if (reflect(work, rest, rows, terms, at, column_length(x, rows, terms, at, 0)))
            continue;
        if (term != NULL)
            *term = at;
        status =
            pm_fail(err, PM_REFUSED,
                    "These observations cannot tell term %zu from the ones before it.", at + 1);
    }
    if (status == PM_OK) {
        solve(work, rest, terms, fit.coefficient);
        judge(y, work, rest, &fit);
        lack_of_fit(x, y, &fit, seen);
        *out = fit;
    }
    pm_free(work);
    pm_free(seen);
    return status;
}

double pm_fit_at(const struct pm_fit *fit, const double *terms, double *error)
{
    double value = 0, spread = 0;
    for (size_t i = 0; i < fit->terms; i++) {
        value += fit->coefficient[i] * terms[i];
        for (size_t j = 0; j < fit->terms; j++)
            spread += terms[i] * fit->inverse[i][j] * terms[j];
    }
    if (error != NULL)
        *error = sqrt(fit->variance * (spread > 0 ? spread : 0));
    return value;
}
