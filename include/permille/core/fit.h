/* SPDX-License-Identifier: MIT */
/*
 * Least squares, and how sure the result is.
 *
 * The normal equations are never formed: the design matrix is brought to triangular form by
 * Householder reflections (Golub 1965), which loses half as many digits. Statistics are those of
 * the usual linear model: independent errors of one unknown variance.
 */
#ifndef PERMILLE_CORE_FIT_H
#define PERMILLE_CORE_FIT_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>

#define PM_FIT_TERMS_MAX 25   /* a special cubic of five components */
#define PM_FIT_ROWS_MAX  5000 /* observations */

struct pm_fit {
    size_t rows, terms;
    double coefficient[PM_FIT_TERMS_MAX];
    double error[PM_FIT_TERMS_MAX]; /* standard error of each; 0 where freedom is 0 */
    double error_ss;                /* sum of squares left unexplained */
    size_t freedom;             /* rows - terms; 0: it goes through every point, nothing is known
                                   of its error */
    double variance;            /* error_ss / freedom; 0 where freedom is 0 */
    double total_ss;            /* about the mean */
    double r_squared, adjusted; /* about the mean; 0 where all observations are equal */
    bool replicated;            /* some observations share all their terms: see below */
    double pure_ss, lack_ss;    /* error_ss = pure_ss (between replicates) + lack_ss */
    size_t pure_freedom, lack_freedom;
    double lack_p; /* of a lack of fit at least as large by chance; 1 where it cannot be tested */
    double inverse[PM_FIT_TERMS_MAX][PM_FIT_TERMS_MAX]; /* (X'X)^-1 */
};

/*
 * Fits y[rows] by the columns of x (row after row, `terms` each). PM_REFUSED: fewer rows than
 * terms, or a term that the others already tell (its place from 0 in *term, which may be NULL).
 * PM_INVALID: a value that is not finite, too many rows or terms. PM_NOMEM.
 */
enum pm_status pm_fit(const double *x, const double *y, size_t rows, size_t terms,
                      struct pm_fit *out, size_t *term, struct pm_error *err);
/* What the fit says at a row of terms; *error (may be NULL): its standard error. */
double pm_fit_at(const struct pm_fit *fit, const double *terms, double *error);

/* ---- distributions --------------------------------------------------------------------------- */

/* P(|T| > t) of Student's distribution, freedom > 0. */
double pm_student_two_sided(double t, double freedom);
/* The t that is exceeded on either side together with probability p (0 < p < 1). */
double pm_student_limit(double p, double freedom);
/* P(F > f). */
double pm_f_tail(double f, double above, double below);

#endif
