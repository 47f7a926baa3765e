/* SPDX-License-Identifier: MIT */
/*
 * Mixture designs: which ratios of two to five components to try so as to learn most, and what the
 * ratings of the trials say about all the ratios between.
 *
 * Points are ratios of whole numbers in lowest terms, so that they can be the weights of a core and
 * nothing is rounded. Bounds are fractions of the mixture in 1e-9.
 *
 *   lattice   {q,m}: every ratio whose shares are multiples of 1/m; (q+m-1)!/(m!(q-1)!) points
 *   centroid  the equal blend of every subset; 2^q - 1 points
 *
 * (Scheffe 1958, 1963.) With lower bounds the same is laid out in what is free above them
 * (pseudo-components, Kurotori 1966). Where an upper bound cuts a corner off, the points are the
 * corners of what is left (extreme vertices, McLean and Anderson 1966), the middles of its edges
 * for a lattice of two or more, and its centroid.
 */
#ifndef PERMILLE_CORE_MIXTURE_H
#define PERMILLE_CORE_MIXTURE_H

#include "permille/base/amount.h"
#include "permille/base/status.h"
#include "permille/core/fit.h"

#include <stdbool.h>

#include <stddef.h>

#define PM_MIX_MOST        5   /* components */
#define PM_MIX_POINTS_MOST 200 /* of a design */

struct pm_mix_point {
    int64_t part[PM_MIX_MOST]; /* >= 0, in lowest terms; unused ones 0 */
};
struct pm_mix_bounds {
    pm_strength least[PM_MIX_MOST], most[PM_MIX_MOST]; /* 0..1e9 */
};
struct pm_mix_design {
    struct pm_mix_point points[PM_MIX_POINTS_MOST];
    size_t count;
};

/* No bounds at all. */
void pm_mix_unbounded(struct pm_mix_bounds *bounds);

/* degree: m of the lattice (1..10), or 0 for the centroid design. PM_REFUSED for other than 2 to 5
 * components, bounds that no mixture keeps (naming what their sum comes to), and too many points.
 */
enum pm_status pm_mix_design(size_t components, int degree, const struct pm_mix_bounds *bounds,
                             struct pm_mix_design *out, struct pm_error *err);
/* The corners of the region alone. */
enum pm_status pm_mix_vertices(size_t components, const struct pm_mix_bounds *bounds,
                               struct pm_mix_design *out, struct pm_error *err);
/* Shares adding up to 1. */
void pm_mix_shares(const struct pm_mix_point *point, size_t components, double *out);

/* ---- Scheffe's models ------------------------------------------------------------------------ */

enum pm_mix_model {
    PM_MIX_LINEAR,       /* sum b_i x_i */
    PM_MIX_QUADRATIC,    /* and b_ij x_i x_j */
    PM_MIX_SPECIAL_CUBIC /* and b_ijk x_i x_j x_k */
};
const char *pm_mix_model_word(enum pm_mix_model model); /* "linear" "quadratic" "special cubic" */
bool pm_mix_model_from_word(const char *word, enum pm_mix_model *out);
/* How many terms; 0 where a model asks for more components than there are. */
size_t pm_mix_terms(enum pm_mix_model model, size_t components);
/* The terms at a mixture, linear ones first, then pairs, then triples, each by rising numbers. */
void pm_mix_expand(enum pm_mix_model model, size_t components, const double *shares, double *out);
/* "b1", "b12", "b123" of a term, into buf[8]. */
char *pm_mix_term_name(enum pm_mix_model model, size_t components, size_t term, char *buf);

/* Fits ratings[count] of points by a model: pm_fit on the expanded shares. A refusal names the term
 * that the points cannot tell. */
enum pm_status pm_mix_fit(enum pm_mix_model model, size_t components,
                          const struct pm_mix_point *points, const double *ratings, size_t count,
                          struct pm_fit *out, struct pm_error *err);

struct pm_mix_best {
    double shares[PM_MIX_MOST];
    double value, error; /* of the fit there, and its standard error */
    bool edge;           /* it lies on a bound: the true best may lie beyond */
};
/* Where the fitted rating is highest within the bounds: a lattice is looked through and its best
 * points are climbed from, to 1e-7 of a share. */
void pm_mix_highest(enum pm_mix_model model, size_t components, const struct pm_mix_bounds *bounds,
                    const struct pm_fit *fit, struct pm_mix_best *out);

#endif
